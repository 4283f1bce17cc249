//! How the chance of each assembly of the records hangs on what they can teach, on the hours that came and under what was done.

use super::common::Common;
use super::review_hours::{Found, Settings};
use crate::freeze::nucleated::{Nucleated, by_nucleation};
use crate::freeze::{Measure, Outlook, Place, RunOptions};
use crate::inventory::Assembly;
use crate::plan::{Programme, Run};
use crate::review::case::{Case, Curve, strengths_run};
use crate::review::{Contact, Row};
use crate::weather::window::Stand;
use indicatif::ProgressBar;
use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

/// Temperatures at which ice starts, °C: a grid of twenty covers any mean and spread that is tried, to 0.0087 in the root mean square
/// at 256 members (measured against plain runs, `tests/review/kernel.rs`).
const GRID_FROM_C: f64 = -10.0;
const GRID_STEP_K: f64 = 0.5;
const GRID: usize = 20;
/// Members at each temperature of the grid, at most: what is found at a hundred assemblies moves a posterior more than their noise does (measured,
/// `benches/learning.rs`: an interval of 90 % held the truth in 94 % of 200 repetitions).
const MOST_AT_EACH: usize = 128;
/// The temperatures of the grid, °C, rising.
fn grid() -> Vec<f64> {
    (0..GRID).map(|at| GRID_FROM_C + GRID_STEP_K * at as f64).collect()
}

/// The case of each row under what was done, by how its chance hangs on nucleation.
#[allow(clippy::too_many_arguments)]
pub fn hang(
    programme: &Programme,
    run: &Run,
    stand: Stand,
    found: &[Found<'_>],
    protected: &HashMap<usize, Arc<Outlook>>,
    rows: &mut [Row],
    settings: &Settings,
    common: &Common,
) {
    // Behind the places as listed stand those with the wrap that was advised, where a wrap is enough: what people fit.
    let wrapped: Vec<(usize, Assembly)> = found
        .iter()
        .enumerate()
        .filter_map(|(at, one)| Some((at, with_wrap(one.place.assembly, protected.get(&at)?)?)))
        .collect();
    let mut places: Vec<Place<'_>> = found.iter().map(|one| one.place).collect();
    places.extend(wrapped.iter().map(|(at, assembly)| Place {
        assembly,
        ..found[*at].place
    }));
    let members = settings.members.min(MOST_AT_EACH);
    let run = Run { members, ..*run };
    let wrapped_at: HashMap<usize, usize> = (found.len()..)
        .zip(&wrapped)
        .map(|(place, (at, _))| (*at, place))
        .collect();
    // Strength is asked of those alone that were looked at.
    let looked = |at: &usize| settings.strengths && rows.get(found[*at].row).is_some_and(|row| row.state.seen());
    let asked: Vec<usize> = (0..found.len())
        .filter(looked)
        .flat_map(|at| [Some(at), wrapped_at.get(&at).copied()])
        .flatten()
        .collect();
    let (case_of, curves) = curves_of(programme, &places, &asked, &run, stand, common);
    let known: Vec<Arc<Curve>> = curves.into_iter().map(Arc::new).collect();
    let of = |place: usize| case_of.get(place).and_then(|case| known.get(*case));
    let mut mixed: HashMap<(*const Curve, *const Curve), Arc<Curve>> = HashMap::new();
    for (at, one) in found.iter().enumerate() {
        let (Some(row), Some(bare)) = (rows.get_mut(one.row), of(at)) else {
            continue;
        };
        let with = wrapped_at.get(&at).and_then(|place| of(*place));
        row.case = match (row.protected, row.contact, with) {
            (Some(true), _, with) => with.map(|with| Case::Curve(Arc::clone(with))),
            (None, Contact::Reached, Some(with)) => {
                let both = mixed
                    .entry((Arc::as_ptr(bare), Arc::as_ptr(with)))
                    .or_insert_with(|| Arc::new(bare.partly(with, settings.acts)));
                Some(Case::Curve(Arc::clone(both)))
            }
            (None, Contact::Reached, None) => None,
            _ => Some(Case::Curve(Arc::clone(bare))),
        };
    }
}

/// The members' runs that curves are made of.
struct Grid<'a> {
    programme: &'a Programme,
    options: RunOptions,
    bar: ProgressBar,
}

impl Grid<'_> {
    /// Chances at every temperature, with castings a factor harder to break than the config says; `done` temperatures were run before.
    fn run(&self, places: &[Place<'_>], ln_strength: f64, done: usize) -> Nucleated {
        let config = &self.programme.loaded.config;
        let mut freeze = config.freeze.clone();
        freeze.damage.strength_factor *= ln_strength.exp();
        let progress = |now| self.bar.set_position((done + now) as u64);
        let series = &self.programme.loaded.series;
        by_nucleation(
            places,
            series,
            &self.options,
            &freeze,
            &config.ensemble,
            &grid(),
            &progress,
        )
    }
}

/// How the chance of each place hangs on nucleation, and for cases of `asked` places on the strength factor: the case of each place, and each case's
/// curve.
fn curves_of(
    programme: &Programme,
    places: &[Place<'_>],
    asked: &[usize],
    run: &Run,
    stand: Stand,
    common: &Common,
) -> (Vec<usize>, Vec<Curve>) {
    let others = strengths_run().into_iter().filter(|ln| *ln != 0.0);
    let others: Vec<f64> = if asked.is_empty() { Vec::new() } else { others.collect() };
    let grid = Grid {
        programme,
        options: run.options(programme, stand),
        bar: if common.progress() {
            ProgressBar::new(((1 + others.len()) * GRID) as u64)
        } else {
            ProgressBar::hidden()
        },
    };
    let Nucleated { case_of, chance } = grid.run(places, 0.0, 0);
    let mut curves: Vec<Curve> = (chance.into_iter())
        .map(|chance| Curve::plain(self::grid(), chance, run.members))
        .collect();
    // One place stands for all of its case.
    let standing: BTreeMap<usize, usize> = asked.iter().map(|at| (case_of[*at], *at)).collect();
    let stand_ins: Vec<Place<'_>> = standing.values().map(|at| places[*at]).collect();
    for (nth, ln) in others.into_iter().enumerate() {
        let found = grid.run(&stand_ins, ln, (1 + nth) * GRID);
        for (case, at) in standing.keys().zip(&found.case_of) {
            let curve = &mut curves[*case];
            let place = curve.ln_strength.partition_point(|one| *one < ln);
            curve.ln_strength.insert(place, ln);
            curve.chance.insert(place, found.chance[*at].clone());
        }
    }
    grid.bar.finish_and_clear();
    (case_of, curves)
}

/// The assembly with the wrap that was advised for it; `None` where a wrap is not enough or was not looked for.
fn with_wrap(assembly: &Assembly, outlook: &Outlook) -> Option<Assembly> {
    let wrap = (outlook.advice.iter()).find(|advice| advice.measure == Measure::Wrap && advice.enough)?;
    let mut wrapped = assembly.clone();
    wrapped.wrap_m2k_per_w = wrap.wrap_m2k_per_w?;
    Some(wrapped)
}
