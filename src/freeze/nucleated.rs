//! Chances of damage at fixed nucleation temperatures: how each case hangs on the one constant that records can teach.
//!
//! Nothing but the temperature at which ice starts differs from one run to the next; site, wind, sky, strengths and shapes are drawn as
//! always. A chance under any mean and spread of nucleation is these, mixed (\[gilpin-1978\] gives the ends of the mean).
//!
//! Numbers without a tag of their own: none; the temperatures are the caller's.

use super::config::{EnsembleConfig, FreezeConfig};
use super::run::{Place, RunOptions, outlooks};
use crate::weather::Series;
use std::collections::HashMap;

/// The cases of some places, each with its chance of damage at every temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct Nucleated {
    /// The case of each place, `[places]`.
    pub case_of: Vec<usize>,
    /// Chance of damage, 0 to 1, `[cases][temperatures]`.
    pub chance: Vec<Vec<f64>>,
}

/// Runs every place with ice starting at each of some temperatures, °C, rising. `options.members` are run at each; with one there are no
/// chances, and all are 0. `progress` is told how many temperatures are done.
pub fn by_nucleation(
    places: &[Place<'_>],
    series: &[Series],
    options: &RunOptions,
    freeze: &FreezeConfig,
    ensemble: &EnsembleConfig,
    nucleation_c: &[f64],
    progress: &(dyn Fn(usize) + Sync),
) -> Nucleated {
    let options = RunOptions {
        advice: false,
        trace: false,
        ..options.clone()
    };
    let mut found = Nucleated {
        case_of: Vec::new(),
        chance: Vec::new(),
    };
    for (done, at_c) in nucleation_c.iter().enumerate() {
        let fixed = EnsembleConfig {
            nucleation_mean_c: *at_c,
            nucleation_sd_k: 0.0,
            nucleation_max_c: ensemble.nucleation_max_c.max(*at_c),
            ..ensemble.clone()
        };
        let (outlooks, _) = outlooks(places, series, &options, freeze, &fixed, &|_| {});
        if found.case_of.is_empty() {
            // Places of one thermal case share one outlook: that tells the cases.
            let mut known = HashMap::new();
            for outlook in &outlooks {
                let next = known.len();
                let case = *known.entry(std::sync::Arc::as_ptr(outlook)).or_insert(next);
                found.case_of.push(case);
            }
            found.chance = vec![Vec::with_capacity(nucleation_c.len()); known.len()];
        }
        let mut told = vec![false; found.chance.len()];
        for (case, outlook) in found.case_of.iter().zip(&outlooks) {
            if let (Some(told), Some(chance)) = (told.get_mut(*case), found.chance.get_mut(*case))
                && !std::mem::replace(told, true)
            {
                chance.push(outlook.p_damage.unwrap_or(0.0));
            }
        }
        progress(done + 1);
    }
    found
}
