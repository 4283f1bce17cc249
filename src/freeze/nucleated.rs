//! Chances of damage at fixed nucleation temperatures: how each case hangs on the one constant that records can teach.
//!
//! Nothing but the temperature at which ice starts differs from one run to the next; site, wind, sky, strengths and shapes are drawn as
//! always. A chance under any mean and spread of nucleation is these, mixed (\[gilpin-1978\] gives the ends of the mean).
//!
//! The runs of a case share what comes before its first ice (`kernel/fork.rs`).
//!
//! Numbers without a tag of their own: none; the temperatures are the caller's.

use super::config::{EnsembleConfig, FreezeConfig};
use super::run::{Place, RunOptions, case_of, cases_of, members_of, offset_k, safe_bound_c, spells_of};
use super::simulate::damaged_members;
use crate::inventory::WinterUse;
use crate::weather::Series;
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// The cases of some places, each with its chance of damage at every temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Nucleated {
    /// The case of each place, `[places]`.
    pub case_of: Vec<usize>,
    /// Chance of damage, 0 to 1, `[cases][temperatures]`.
    pub chance: Vec<Vec<f64>>,
}

/// Runs every place with ice starting at each of some temperatures, °C, rising. `options.members` are run at each; with one there are no
/// chances, and all are 0. `progress` is told how many temperatures are done, counted over all cases.
pub fn by_nucleation(
    places: &[Place<'_>],
    series: &[Series],
    options: &RunOptions,
    freeze: &FreezeConfig,
    ensemble: &EnsembleConfig,
    nucleation_c: &[f64],
    progress: &(dyn Fn(usize) + Sync),
) -> Nucleated {
    let members = members_of(options, freeze, ensemble);
    let spells = spells_of(places, series, &members, options, freeze, ensemble);
    let cases = cases_of(places);
    let mut case_at = vec![0; places.len()];
    for (case, at) in cases.iter().enumerate() {
        for &at in at {
            case_at[at] = case;
        }
    }
    let done = AtomicUsize::new(0);
    let chance = cases
        .par_iter()
        .map(|case| {
            let place = &places[case[0]];
            let chance = match spells.get(place.series).and_then(Option::as_ref) {
                Some(spell) if members.count() > 1 => {
                    let setup = case_of(place, spell, &members, options, freeze);
                    let offset_k = offset_k(place);
                    let exposed = match place.assembly.winter_use {
                        WinterUse::Drained => freeze.drain_failed.clamp(0.0, 1.0),
                        _ => 1.0,
                    };
                    if exposed == 0.0 || safe_bound_c(&setup, spell, &members, offset_k).is_some() {
                        vec![0.0; nucleation_c.len()]
                    } else {
                        let damaged = damaged_members(&setup, spell, &members, offset_k, nucleation_c);
                        let share = |damaged: usize| exposed * damaged as f64 / members.count() as f64;
                        damaged.into_iter().map(share).collect()
                    }
                }
                _ => vec![0.0; nucleation_c.len()],
            };
            let done = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress(done * nucleation_c.len() / cases.len());
            chance
        })
        .collect();
    Nucleated {
        case_of: case_at,
        chance,
    }
}
