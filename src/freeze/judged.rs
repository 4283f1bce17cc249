//! What the model's judged constants leave open: the chances again under other sets of them that are as good.
//!
//! Three constants that nobody has measured for these assemblies decide the level of every chance. They are drawn together, a few times, and
//! a sample of the cases is run again under each set. What a set does to the sample is told as one shift of the log-odds of every chance, so
//! that a headline, a list and a card carry the same band. The order of a list hardly moves with them; its level does.

use super::config::{EnsembleConfig, FreezeConfig};
use super::outlook::Outlook;
use super::run::{Place, RunOptions, outlooks};
use crate::weather::Series;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::sync::Arc;

/// Sets of constants (judgement: few enough to be quick, many enough to part the ends).
const SETS: u32 = 8;
/// Members of each case that is run again (judgement: its noise is shared with the run it is held against).
const MEMBERS: usize = 64;
/// Share of the cost of the whole run that the sets may take together, where there are more cases than the fewest (judgement).
const COST: f64 = 0.15;
/// Cases that are run again at least, and at most, where there are as many (judgement).
const CASES: std::ops::RangeInclusive<usize> = 12..=200;
/// Size of a case that is certain either way, beside p(1 − p) of an open one (judgement: it may still move).
const CERTAIN: f64 = 0.02;
/// Largest shift of log-odds that is told.
const MOST: f64 = 8.0;
/// Scramble of the draws of the sets: always the same ones.
const SCRAMBLE: u32 = 0x6a75_6467;

/// One judged constant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Constant {
    /// Mean temperature at which ice starts.
    Nucleation,
    /// Share of the sky that a part in the open sees.
    Sky,
    /// How well what ice pushes on seeps away, which sets how much ice it takes to break a part.
    Seepage,
}

impl Constant {
    /// All of them.
    pub const ALL: [Constant; 3] = [Constant::Nucleation, Constant::Sky, Constant::Seepage];

    /// Sets it to where it lies between its ends, 0 to 1.
    fn set(self, share: f64, freeze: &mut FreezeConfig, ensemble: &mut EnsembleConfig) {
        match self {
            // The published ends, −4 to −7 °C [gilpin-1978], about the mean in use.
            Constant::Nucleation => ensemble.nucleation_mean_c += 3.0 * (share - 0.5),
            // A quarter either way (judgement).
            Constant::Sky => freeze.sky_view = (freeze.sky_view + 0.5 * (share - 0.5)).clamp(0.0, 1.0),
            // A factor of 2.5 either way (judgement: a bare 1 in RP breaks in 15 to 34 % of winters where half of them are below 24 °F, in 24 % as it is;
            // held by tests/freeze/ladder.rs).
            Constant::Seepage => freeze.damage.seep_per_mpa_h *= 2.5_f64.powf(2.0 * share - 1.0),
        }
    }
}

/// What the judged constants leave open: shifts of the log-odds of every chance, the lowest and the highest of all sets.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Judged {
    /// Never above 0.
    pub low: f64,
    /// Never below 0.
    pub high: f64,
}

impl Judged {
    /// From the lowest to the highest of some shifts, and none.
    fn over(shifts: impl Iterator<Item = f64>) -> Self {
        shifts.fold(Self::default(), |band, shift| Self {
            low: band.low.min(shift),
            high: band.high.max(shift),
        })
    }

    /// The band of an outlook's chance of damage, 0 to 1; `None` in a deterministic run.
    pub fn chance(&self, outlook: &Outlook) -> Option<(f64, f64)> {
        let p = outlook.p_damage?;
        // What no member freezes no set freezes either, near enough.
        if outlook.p_ice.is_none_or(|p_ice| p_ice <= 0.0) {
            return Some((p, p));
        }
        let (low, high) = (
            shifted(p, self.low, outlook.members),
            shifted(p, self.high, outlook.members),
        );
        Some((low.min(p), high.max(p)))
    }
}

/// A chance of `members` with its log-odds shifted. A chance of none or all of them is that of half a member from there.
fn shifted(p: f64, shift: f64, members: usize) -> f64 {
    let edge = 0.5 / members.max(1) as f64;
    let p = p.clamp(edge, 1.0 - edge);
    1.0 / (1.0 + (1.0 - p) / p * (-shift).exp())
}

/// A case that is run again.
struct Sampled {
    /// Index of a place of it.
    at: usize,
    /// Places that it stands for.
    weight: f64,
}

/// A sample of the cases of a run, to be run again under other constants.
pub struct Sample<'a> {
    places: Vec<Place<'a>>,
    weights: Vec<f64>,
    /// Chances of the sample as configured.
    before: Vec<f64>,
    series: &'a [Series],
    options: RunOptions,
    freeze: &'a FreezeConfig,
    ensemble: &'a EnsembleConfig,
}

impl<'a> Sample<'a> {
    /// Of places with their outlooks, run with `options`. `None` in a deterministic run and where nothing can freeze.
    pub fn new(
        places: &[Place<'a>],
        found: &[Arc<Outlook>],
        series: &'a [Series],
        options: &RunOptions,
        freeze: &'a FreezeConfig,
        ensemble: &'a EnsembleConfig,
    ) -> Option<Self> {
        if options.members <= 1 {
            return None;
        }
        let members = options.members.min(MEMBERS);
        let sampled = sampled(found, options.members, members);
        if sampled.is_empty() {
            return None;
        }
        let mut runs = Self {
            places: sampled.iter().filter_map(|one| places.get(one.at).copied()).collect(),
            weights: sampled.iter().map(|one| one.weight).collect(),
            before: Vec::new(),
            series,
            options: RunOptions {
                members,
                advice: false,
                trace: false,
                ..options.clone()
            },
            freeze,
            ensemble,
        };
        runs.before = runs.chances(freeze, ensemble);
        Some(runs)
    }

    /// Members of cases that the band runs.
    pub fn runs(&self) -> usize {
        self.places.len() * self.options.members * (SETS as usize + 1)
    }

    /// Breaks that the sample expects of all places as configured: near their sum as it stands for them.
    pub fn breaks(&self) -> f64 {
        self.sum(&self.before)
    }

    fn sum(&self, chances: &[f64]) -> f64 {
        chances.iter().zip(&self.weights).map(|(p, weight)| p * weight).sum()
    }

    /// The band of all sets.
    pub fn band(&self) -> Judged {
        let shifts = (0..SETS).into_par_iter().map(|set| {
            self.shift(&|freeze, ensemble| {
                for (dimension, constant) in (0..).zip(Constant::ALL) {
                    constant.set(
                        f64::from(sobol_burley::sample(set, dimension, SCRAMBLE)),
                        freeze,
                        ensemble,
                    );
                }
            })
        });
        Judged::over(shifts.collect::<Vec<f64>>().into_iter())
    }

    /// What a constant does alone at its two ends: how much of the band is of it.
    pub fn alone(&self, constant: Constant) -> Judged {
        Judged::over(
            [0.0, 1.0]
                .map(|share| self.shift(&|freeze, ensemble| constant.set(share, freeze, ensemble)))
                .into_iter(),
        )
    }

    fn chances(&self, freeze: &FreezeConfig, ensemble: &EnsembleConfig) -> Vec<f64> {
        let (found, _) = outlooks(&self.places, self.series, &self.options, freeze, ensemble, &|_| {});
        found.iter().map(|outlook| outlook.p_damage.unwrap_or(0.0)).collect()
    }

    /// The shift of log-odds that gives the sample the sum that it has under a change of constants.
    fn shift(&self, change: &dyn Fn(&mut FreezeConfig, &mut EnsembleConfig)) -> f64 {
        let (mut freeze, mut ensemble) = (self.freeze.clone(), self.ensemble.clone());
        change(&mut freeze, &mut ensemble);
        let after = self.sum(&self.chances(&freeze, &ensemble));
        let sum_at = |shift: f64| -> f64 {
            let each = self.before.iter().zip(&self.weights);
            each.map(|(p, w)| w * shifted(*p, shift, self.options.members)).sum()
        };
        // Half a member at either end is no shift: what counts is the change from where it stands.
        let wanted = after - self.breaks() + sum_at(0.0);
        let (mut low, mut high) = (-MOST, MOST);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if sum_at(middle) < wanted {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }
}

/// Cases for the sets, by chance in proportion to how open they are and to the places that they stand for: a systematic sample along
/// their chances, the same for the same list.
fn sampled(found: &[Arc<Outlook>], members: usize, again: usize) -> Vec<Sampled> {
    let mut cases: Vec<(usize, f64)> = Vec::new();
    let mut known: HashMap<*const Outlook, usize> = HashMap::new();
    for (at, outlook) in found.iter().enumerate() {
        let case = *known.entry(Arc::as_ptr(outlook)).or_insert_with(|| {
            cases.push((at, 0.0));
            cases.len() - 1
        });
        cases[case].1 += 1.0;
    }
    let simulated = cases.len() as f64;
    let open = |at: usize| {
        let iced = found[at].p_ice.is_some_and(|p| p > 0.0);
        found[at]
            .p_damage
            .filter(|_| iced)
            .map_or(0.0, |p| p * (1.0 - p) + CERTAIN)
    };
    let mut sized: Vec<(usize, f64, f64)> = cases
        .iter()
        .map(|&(at, n)| (at, n, n * open(at)))
        .filter(|case| case.2 > 0.0)
        .collect();
    // Along the chances, so that low, open and high ones each have their share of the sample.
    let chance = |at: usize| found[at].p_damage.unwrap_or(0.0);
    sized.sort_by(|a, b| chance(a.0).total_cmp(&chance(b.0)).then(a.0.cmp(&b.0)));
    let whole: f64 = sized.iter().map(|case| case.2).sum();
    let affordable = COST * simulated * members as f64 / (again * (SETS as usize + 1)) as f64;
    let most = (affordable.ceil() as usize).clamp(*CASES.start(), *CASES.end());
    if sized.len() <= most {
        return sized.iter().map(|&(at, weight, _)| Sampled { at, weight }).collect();
    }
    let step = whole / most as f64;
    let (mut sampled, mut next, mut sum) = (Vec::new(), 0.5 * step, 0.0);
    for (at, n, size) in sized {
        sum += size;
        let mut hits = 0.0;
        while sum > next {
            hits += 1.0;
            next += step;
        }
        if hits > 0.0 {
            // One hit stands for `step` of size.
            sampled.push(Sampled {
                at,
                weight: n * hits * step / size,
            });
        }
    }
    sampled
}
