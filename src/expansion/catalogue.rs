//! A list of tanks by volume, and the smallest that fits.

use super::advice::Step;
use super::assessment::Assessment;
use serde::Serialize;

/// One tank of a list.
#[derive(Debug, Clone, PartialEq)]
pub struct CatalogueTank {
    /// Name in the list.
    pub name: String,
    /// Total volume, L.
    pub volume_l: f64,
    /// Most water that the diaphragm lets in, L.
    pub max_acceptance_l: f64,
    /// Highest working pressure, Pa gauge.
    pub max_gauge_pa: f64,
}

/// The tanks chosen from a list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Choice {
    /// Name in the list; of several "2 × first + second".
    pub name: String,
    /// Total volume, L.
    pub volume_l: f64,
    /// Most water that they let in together, L.
    pub max_acceptance_l: f64,
    /// How many of each.
    pub pieces: Vec<Piece>,
}

/// Tanks of one kind in a choice.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Piece {
    /// Name in the list.
    pub name: String,
    /// How many.
    pub count: usize,
    /// Volume of each, L.
    pub volume_l: f64,
}

/// The smallest tank with at least `min_volume_l`, room for `demand_l` of water (L) and a rating of at least
/// `limit_gauge_pa` (Pa gauge); among equals the one that takes more.
///
/// With the precharge at static no water stands in the tank at rest, so the whole acceptance is for the demand.
pub fn smallest_that_fits(
    tanks: &[CatalogueTank],
    min_volume_l: f64,
    demand_l: f64,
    limit_gauge_pa: f64,
) -> Option<&CatalogueTank> {
    tanks
        .iter()
        .filter(|tank| {
            tank.volume_l >= min_volume_l - 1e-9
                && tank.max_acceptance_l >= demand_l - 1e-9
                && tank.max_gauge_pa >= limit_gauge_pa - 1.0
        })
        .min_by(|a, b| {
            a.volume_l
                .total_cmp(&b.volume_l)
                .then(b.max_acceptance_l.total_cmp(&a.max_acceptance_l))
                .then(a.name.cmp(&b.name))
        })
}

/// Most tanks that are set side by side: more is a job to design. `[judgement]`
pub const MOST_SIDE_BY_SIDE: usize = 4;

/// The fewest tanks that take up `demand_l` (L) side by side, each filling by `acceptance_factor` of its volume and no more than its
/// acceptance, each rated for `limit_gauge_pa` (Pa gauge); among as many the least total volume. `None` when four do not do.
pub fn fewest_that_fit(
    tanks: &[CatalogueTank],
    acceptance_factor: f64,
    demand_l: f64,
    limit_gauge_pa: f64,
) -> Option<Choice> {
    if acceptance_factor.is_nan() || acceptance_factor <= 0.0 {
        return None;
    }
    let takes_l = |tank: &CatalogueTank| (tank.volume_l * acceptance_factor).min(tank.max_acceptance_l);
    let mut able: Vec<&CatalogueTank> = tanks
        .iter()
        .filter(|tank| tank.max_gauge_pa >= limit_gauge_pa - 1.0)
        .collect();
    // Largest take first; a tank that takes no more than a smaller one is never wanted.
    able.sort_by(|a, b| {
        takes_l(b)
            .total_cmp(&takes_l(a))
            .then(a.volume_l.total_cmp(&b.volume_l))
            .then(a.name.cmp(&b.name))
    });
    let mut best_volume_l = f64::INFINITY;
    let mut wanted: Vec<&CatalogueTank> = Vec::new();
    for tank in able.iter().rev() {
        // From the smallest take up: keep those that are smaller than every one that takes as much or more.
        while wanted.last().is_some_and(|last| last.volume_l >= tank.volume_l) {
            wanted.pop();
        }
        wanted.push(tank);
    }
    wanted.reverse();
    let most_l = wanted.first().map(|tank| takes_l(tank))?;
    let count = (1..=MOST_SIDE_BY_SIDE).find(|count| *count as f64 * most_l >= demand_l - 1e-9)?;
    let mut best: Vec<usize> = Vec::new();
    let search = Search {
        takes_l: wanted.iter().map(|tank| takes_l(tank)).collect(),
        volumes_l: wanted.iter().map(|tank| tank.volume_l).collect(),
    };
    search.look(count, 0, demand_l, 0.0, &mut Vec::new(), &mut best_volume_l, &mut best);
    let chosen: Vec<&CatalogueTank> = best.iter().filter_map(|at| wanted.get(*at).copied()).collect();
    (!chosen.is_empty()).then(|| choice(&chosen))
}

/// Whether a new tank is advised: only then is one of a list named.
pub fn wants_tank<W>(answer: &Assessment<W>) -> bool {
    let fits = answer
        .recommendation
        .steps
        .iter()
        .any(|step| matches!(step, Step::FitTank { .. }));
    fits && answer.tank.min_volume_l.is_some() && answer.expansion.volume_l > 0.0
}

/// The smallest tank of a list that does what is advised, or the fewest that do it side by side; `None` when none do, or none is advised.
pub fn chosen<W>(tanks: &[CatalogueTank], answer: &Assessment<W>) -> Option<Choice> {
    let min_volume_l = answer.tank.min_volume_l.filter(|_| wants_tank(answer))?;
    let limit_pa = answer.as_advised.limit_gauge_kpa * 1e3;
    let demand_l = answer.expansion.volume_l;
    match smallest_that_fits(tanks, min_volume_l, demand_l, limit_pa) {
        Some(tank) => Some(choice(&[tank])),
        None => fewest_that_fit(tanks, answer.tank.acceptance_factor?, demand_l, limit_pa),
    }
}

/// The search for the least total volume among combinations of a given number.
struct Search {
    takes_l: Vec<f64>,
    volumes_l: Vec<f64>,
}

impl Search {
    /// Tries every combination in order of falling take, leaving what cannot do or is larger than the best.
    #[allow(clippy::too_many_arguments, reason = "the state of a search, passed down")]
    fn look(
        &self,
        left: usize,
        from: usize,
        demand_l: f64,
        volume_l: f64,
        taken: &mut Vec<usize>,
        best_volume_l: &mut f64,
        best: &mut Vec<usize>,
    ) {
        if left == 0 {
            if demand_l <= 1e-9 && volume_l < *best_volume_l - 1e-12 {
                *best_volume_l = volume_l;
                best.clone_from(taken);
            }
            return;
        }
        let pairs = self.takes_l.iter().zip(&self.volumes_l).enumerate().skip(from);
        for (at, (takes_l, tank_l)) in pairs {
            if left as f64 * takes_l < demand_l - 1e-9 {
                return;
            }
            if volume_l + tank_l < *best_volume_l {
                taken.push(at);
                self.look(
                    left - 1,
                    at,
                    demand_l - takes_l,
                    volume_l + tank_l,
                    taken,
                    best_volume_l,
                    best,
                );
                taken.pop();
            }
        }
    }
}

fn choice(chosen: &[&CatalogueTank]) -> Choice {
    let mut pieces: Vec<Piece> = Vec::new();
    for tank in chosen {
        match pieces.last_mut().filter(|piece| piece.name == tank.name) {
            Some(piece) => piece.count += 1,
            None => pieces.push(Piece {
                name: tank.name.clone(),
                count: 1,
                volume_l: tank.volume_l,
            }),
        }
    }
    let names: Vec<String> = pieces
        .iter()
        .map(|piece| match piece.count {
            1 => piece.name.clone(),
            count => format!("{count} × {}", piece.name),
        })
        .collect();
    Choice {
        name: names.join(" + "),
        volume_l: chosen.iter().map(|tank| tank.volume_l).sum(),
        max_acceptance_l: chosen.iter().map(|tank| tank.max_acceptance_l).sum(),
        pieces,
    }
}
