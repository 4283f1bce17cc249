//! The demonstration's assemblies on the real kernel: three spells whose hours have come, how each case hangs on nucleation, and records
//! drawn from a truth that differs from the judgement.

use brimwater::freeze::nucleated::{Nucleated, by_nucleation};
use brimwater::freeze::{Place, WhatIf, outlooks};
use brimwater::input::load::Files;
use brimwater::plan::{Programme, Run};
use brimwater::review::case::{Case, Curve, chance, strengths_run};
use brimwater::review::posterior::{Evidence, Prior, posterior};
use brimwater::weather::window::Stand;
use rand_pcg::Pcg64;
use rand_pcg::rand_core::Rng;
use std::path::Path;
use std::sync::Arc;

/// The temperatures at which ice starts, °C: −10 to −0.5.
pub fn grid() -> Vec<f64> {
    (0..20).map(|at| -10.0 + 0.5 * f64::from(at)).collect()
}

pub fn programme() -> Programme {
    let sample = |name: &str| Path::new(env!("CARGO_MANIFEST_DIR")).join("climate-samples").join(name);
    Programme::read(&Files {
        assemblies: Some(sample("assemblies.csv")),
        series: vec![sample("forecast.csv")],
        stations: Some(sample("stations.csv")),
        config: Some(sample("config.toml")),
        ..Files::default()
    })
}

/// Every `step`th place of the list with weather, its air shifted, K.
pub fn places(programme: &Programme, step: usize, shift_k: f64) -> Vec<Place<'_>> {
    let sites = programme.sites().into_iter().step_by(step);
    sites
        .map(|site| Place {
            offset_k: site.place.offset_k + shift_k,
            ..site.place
        })
        .collect()
}

fn run(members: usize) -> Run {
    Run {
        members,
        seed: 1,
        what_if: WhatIf::AsListed,
        advice_cases: 0,
        trace: false,
    }
}

/// All hours have come.
fn over(programme: &Programme) -> Stand {
    let end = programme.window().unwrap().1;
    Stand {
        now: end,
        reported_until: end,
        issued: None,
        over: true,
    }
}

pub fn hanging(programme: &Programme, places: &[Place<'_>], members: usize) -> Nucleated {
    let config = &programme.loaded.config;
    by_nucleation(
        places,
        &programme.loaded.series,
        &run(members).options(programme, over(programme)),
        &config.freeze,
        &config.ensemble,
        &grid(),
        &|_| {},
    )
}

/// Each place's case with several strength factors tried, `step` and `shift_k` as in `places`; the config stays as it was.
pub fn strengthened(programme: &mut Programme, step: usize, shift_k: f64, members: usize) -> Vec<Case> {
    let was = programme.loaded.config.freeze.damage.strength_factor;
    let runs = strengths_run().map(|ln| {
        programme.loaded.config.freeze.damage.strength_factor = was * ln.exp();
        hanging(programme, &places(programme, step, shift_k), members)
    });
    programme.loaded.config.freeze.damage.strength_factor = was;
    let curve = |case: usize| Curve {
        nucleation_c: grid(),
        ln_strength: strengths_run().to_vec(),
        chance: runs.iter().map(|run| run.chance[case].clone()).collect(),
        members,
    };
    let curves: Vec<Arc<Curve>> = (0..runs[0].chance.len()).map(curve).map(Arc::new).collect();
    let of = |case: &usize| Case::Curve(Arc::clone(&curves[*case]));
    runs[0].case_of.iter().map(of).collect()
}

/// Chances of a run as planned, with nucleation drawn.
pub fn plain(programme: &Programme, places: &[Place<'_>], members: usize) -> Vec<f64> {
    let config = &programme.loaded.config;
    let (found, _) = outlooks(
        places,
        &programme.loaded.series,
        &run(members).options(programme, over(programme)),
        &config.freeze,
        &config.ensemble,
        &|_| {},
    );
    found.iter().map(|outlook| outlook.p_damage.unwrap()).collect()
}

/// Each place's case.
pub fn cases(found: &Nucleated, members: usize) -> Vec<Case> {
    let curves: Vec<Arc<Curve>> = (found.chance.iter())
        .map(|chance| Arc::new(Curve::plain(grid(), chance.clone(), members)))
        .collect();
    let of = |case: &usize| Case::Curve(Arc::clone(&curves[*case]));
    found.case_of.iter().map(of).collect()
}

/// The share of repetitions in which the 90 % interval holds the truth, and the mean of the posterior's means.
///
/// In each repetition every assembly of every spell is looked at once; what is found is drawn with the mean `truth_c`, the spread `spread_k`
/// and a spell effect of its own.
pub fn covered(spells: &[Vec<Case>], truth_c: f64, prior: &Prior, repetitions: u64) -> (f64, f64) {
    let (mut held, mut sum) = (0, 0.0);
    for repetition in 0..repetitions {
        let mut random = Pcg64::new(u128::from(repetition), 0x7461_7567);
        let mut uniform = || (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
        let mut found: Vec<Evidence> = Vec::new();
        for (spell, cases) in spells.iter().enumerate() {
            // Box–Muller.
            let (u, v) = (uniform().max(1e-12), uniform());
            let effect_k = prior.spell_k * (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos();
            for case in cases {
                let broke = uniform() < chance(case, truth_c + effect_k, prior.spread_k, prior.warmest_c);
                found.push(Evidence {
                    spell,
                    case: case.clone(),
                    damaged: f64::from(u8::from(broke)),
                    whole: f64::from(u8::from(!broke)),
                    reported: 0.0,
                    silent: 0.0,
                });
            }
        }
        let found = posterior(&gathered(found), prior, false);
        let (low, high) = found.interval90_c();
        held += u64::from((low..=high).contains(&truth_c));
        sum += found.mean_c();
    }
    (held as f64 / repetitions as f64, sum / repetitions as f64)
}

/// Findings of one case in one spell together: the same likelihood for less work.
fn gathered(found: Vec<Evidence>) -> Vec<Evidence> {
    let mut known = std::collections::HashMap::new();
    let mut out: Vec<Evidence> = Vec::new();
    for one in found {
        let Case::Curve(curve) = &one.case else { continue };
        let at = *known.entry((one.spell, Arc::as_ptr(curve))).or_insert(out.len());
        match out.get_mut(at) {
            Some(same) => {
                same.damaged += one.damaged;
                same.whole += one.whole;
            }
            None => out.push(one),
        }
    }
    out
}
