//! What the findings say of the mean nucleation temperature, and of one strength factor where it is let free: a posterior on a grid.
//!
//! A case's chance at fixed nucleation, mixed over a normal of mean μ and spread σ, is its chance under them; that covers any σ and
//! needs no stored members. What all findings of one spell have in common beside the model (station, wind, sky) is a spell effect in
//! kelvin on the mean, integrated out: without it a hundred findings of one night look like a hundred nights.

use super::case::{Case, STRENGTH_LOG_SD, chance, chance_at, dot, shares};
use super::math::{hermite, ln_phi};
use rayon::prelude::*;

/// Nodes over the spell effect.
const NODES: usize = 21;

/// Findings of one case in one spell.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Index of the spell.
    pub spell: usize,
    /// The case.
    pub case: Case,
    /// Looked at and damaged.
    pub damaged: f64,
    /// Looked at and whole.
    pub whole: f64,
    /// Reported damaged, not looked at.
    pub reported: f64,
    /// Neither looked at nor reported.
    pub silent: f64,
}

/// The prior and the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Mean of the mean nucleation temperature, °C.
    pub mean_c: f64,
    /// Its standard deviation, K: the published band −4 to −7 °C \[gilpin-1978\] taken as two to each side.
    pub sd_k: f64,
    /// Middle of the spread of nucleation, K.
    pub spread_k: f64,
    /// Standard deviation of the spread's logarithm (judgement).
    pub spread_log_sd: f64,
    /// Spell effect, K (judgement; 0 takes findings as independent).
    pub spell_k: f64,
    /// Warmest nucleation that the model allows, °C.
    pub warmest_c: f64,
    /// Edges of the means tried, °C.
    pub tried_c: (f64, f64),
    /// Standard deviation of the strength factor's logarithm about the config's; 0 leaves it as it is.
    pub strength_log_sd: f64,
}

impl Default for Prior {
    fn default() -> Self {
        Self {
            mean_c: -5.5,
            sd_k: 0.75,
            spread_k: 1.2,
            spread_log_sd: 0.25,
            spell_k: 0.7,
            warmest_c: -0.5,
            tried_c: (-9.0, -2.5),
            strength_log_sd: 0.0,
        }
    }
}

const STEP_K: f64 = 0.05;
const SPREADS: usize = 41;
const SPREAD_FROM_K: f64 = 0.5;
const SPREAD_TO_K: f64 = 3.0;
const REPORTS: usize = 40;
/// Strength factors of the grid, to so many standard deviations either way.
const STRENGTHS: usize = 9;
const STRENGTH_TO_SD: f64 = 2.0;
/// Weight of a place of the grid that cannot be seen in a chance.
const NO_WEIGHT: f64 = 1e-9;

/// The posterior.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    prior: Prior,
    means_c: Vec<f64>,
    spreads_k: Vec<f64>,
    ln_strengths: Vec<f64>,
    /// `[strength][mean][spread]`, sums to 1.
    weight: Vec<Vec<Vec<f64>>>,
    /// Mean of the chance that a break is reported, where that was asked for.
    pub report_chance: Option<f64>,
}

/// Logarithms of a case's chance and of its complement, each where it is wanted, else 0.
fn logs(case: &Case, at: &At, mean: f64, shared: Option<&[f64]>, warmest: f64, wanted: (bool, bool)) -> (f64, f64) {
    let spread = at.spread_k;
    let both = |broke: f64, held: f64, ln: fn(f64) -> f64| {
        let of = |wanted: bool, of: f64| if wanted { ln(of) } else { 0.0 };
        (of(wanted.0, broke), of(wanted.1, held))
    };
    match case {
        Case::Probit { x_k, local_k } => {
            let z = (mean + x_k) / spread.hypot(*local_k);
            both(z, -z, ln_phi)
        }
        Case::Curve(curve) => {
            let p = match shared {
                Some(shares) => curve.mixed(shares, at.ln_strength),
                None => chance_at(case, at.ln_strength, mean, spread, warmest),
            };
            let p = super::scores::clipped(p, curve.members);
            both(p, 1.0 - p, f64::ln)
        }
    }
}

/// A place of the grid beside the mean.
#[derive(Clone, Copy)]
struct At {
    ln_strength: f64,
    spread_k: f64,
}

impl Prior {
    /// The same with the strength factor let free.
    pub fn with_strength(self) -> Self {
        Self {
            strength_log_sd: STRENGTH_LOG_SD,
            ..self
        }
    }

    /// About the nucleation of a config: its mean, °C, its spread, K (a tenth at least), and the warmest that is allowed, °C.
    pub fn about(mean_c: f64, spread_k: f64, warmest_c: f64) -> Self {
        Self {
            mean_c,
            spread_k: spread_k.max(0.1),
            warmest_c,
            ..Self::default()
        }
    }

    fn strengths(&self) -> Vec<f64> {
        if self.strength_log_sd <= 0.0 {
            return vec![0.0];
        }
        let step = 2.0 * STRENGTH_TO_SD / (STRENGTHS - 1) as f64;
        let at = |i: usize| self.strength_log_sd * (step * i as f64 - STRENGTH_TO_SD);
        (0..STRENGTHS).map(at).collect()
    }

    fn grid(&self) -> (Vec<f64>, Vec<f64>) {
        let (low, high) = self.tried_c;
        let n = ((high - low) / STEP_K).round().max(1.0) as usize;
        let means = (0..=n).map(|i| low + STEP_K * i as f64).collect();
        let (a, b) = (SPREAD_FROM_K.ln(), SPREAD_TO_K.ln());
        let spreads = (0..SPREADS)
            .map(|i| (a + (b - a) * i as f64 / (SPREADS - 1) as f64).exp())
            .collect();
        (means, spreads)
    }

    fn ln(&self, at: &At, mean: f64) -> f64 {
        let a = (mean - self.mean_c) / self.sd_k;
        let b = (at.spread_k / self.spread_k).ln() / self.spread_log_sd;
        let c = if self.strength_log_sd > 0.0 {
            at.ln_strength / self.strength_log_sd
        } else {
            0.0
        };
        -0.5 * (a * a + b * b + c * c)
    }
}

/// The posterior from what was looked at. With `reports`, rows that were reported or silent enter too, with a chance δ ~ Beta(2, 1)
/// that a break is reported, integrated out.
pub fn posterior(evidence: &[Evidence], prior: &Prior, reports: bool) -> Posterior {
    let (means_c, spreads_k) = prior.grid();
    let spells = evidence.iter().map(|one| one.spell + 1).max().unwrap_or(0);
    let (nodes, weights) = hermite(NODES);
    let reach = if prior.spell_k > 0.0 {
        nodes.iter().fold(0.0_f64, |most, b| most.max(b.abs())) * prior.spell_k + 3.0 * STEP_K
    } else {
        0.0
    };
    let pad = (reach / STEP_K).ceil() as usize;
    let deltas: Vec<f64> = if reports {
        (0..REPORTS).map(|k| (k as f64 + 0.5) / REPORTS as f64).collect()
    } else {
        vec![1.0]
    };
    let ln_strengths = prior.strengths();
    let places: Vec<At> = (ln_strengths.iter())
        .flat_map(|&ln_strength| spreads_k.iter().map(move |&spread_k| At { ln_strength, spread_k }))
        .collect();
    // One column a strength and spread: [delta][mean].
    let columns: Vec<Vec<Vec<f64>>> = places
        .par_iter()
        .map(|at| {
            let tables = spell_tables(evidence, spells, prior, at, pad, means_c.len(), &deltas, reports);
            let column = |(d, delta): (usize, &f64)| {
                let beta = if reports { (2.0 * delta).ln() } else { 0.0 };
                let ln = |(m, mean): (usize, &f64)| {
                    let told = tables
                        .iter()
                        .map(|table| shifted(&table[d], m + pad, prior.spell_k, &nodes, &weights));
                    told.sum::<f64>() + prior.ln(at, *mean) + beta
                };
                means_c.iter().enumerate().map(ln).collect()
            };
            deltas.iter().enumerate().map(column).collect()
        })
        .collect();
    let most = (columns.iter().flatten().flatten()).fold(f64::NEG_INFINITY, |most, ln| most.max(*ln));
    let (mut all, mut by_report) = (0.0, 0.0);
    let mut weight = vec![vec![vec![0.0; spreads_k.len()]; means_c.len()]; ln_strengths.len()];
    for (place, column) in columns.iter().enumerate() {
        let (strength, spread) = (place / spreads_k.len(), place % spreads_k.len());
        for (delta, column) in deltas.iter().zip(column) {
            for (row, ln) in weight[strength].iter_mut().zip(column) {
                let w = (ln - most).exp();
                row[spread] += w;
                all += w;
                by_report += w * delta;
            }
        }
    }
    weight.iter_mut().flatten().flatten().for_each(|w| *w /= all);
    Posterior {
        prior: *prior,
        means_c,
        spreads_k,
        ln_strengths,
        weight,
        report_chance: reports.then(|| by_report / all),
    }
}

/// Log likelihood of each spell on the widened grid of means, `[spell][delta][mean]`.
#[allow(clippy::too_many_arguments)]
fn spell_tables(
    evidence: &[Evidence],
    spells: usize,
    prior: &Prior,
    place: &At,
    pad: usize,
    means: usize,
    deltas: &[f64],
    reports: bool,
) -> Vec<Vec<Vec<f64>>> {
    let wide = means + 2 * pad;
    let mut tables = vec![vec![vec![0.0; wide]; deltas.len()]; spells];
    let curve = evidence.iter().find_map(|one| match &one.case {
        Case::Curve(curve) => Some(curve),
        Case::Probit { .. } => None,
    });
    for at in 0..wide {
        let mean = prior.tried_c.0 + STEP_K * (at as f64 - pad as f64);
        let shared = curve.map(|curve| shares(&curve.nucleation_c, mean, place.spread_k, prior.warmest_c));
        for one in evidence {
            let same = match (&one.case, curve) {
                (Case::Curve(own), Some(first)) => own.nucleation_c == first.nucleation_c,
                _ => false,
            };
            let shared = if same { shared.as_deref() } else { None };
            let told = reports && (one.reported > 0.0 || one.silent > 0.0);
            // Nothing times minus infinity is nothing.
            let wanted = (one.damaged > 0.0 || told, one.whole > 0.0);
            let (broke, held) = logs(&one.case, place, mean, shared, prior.warmest_c, wanted);
            let p = if told { broke.exp() } else { 0.0 };
            let mut seen = 0.0;
            if one.damaged > 0.0 {
                seen += one.damaged * broke;
            }
            if one.whole > 0.0 {
                seen += one.whole * held;
            }
            for (d, delta) in deltas.iter().enumerate() {
                let mut sum = seen;
                if reports && one.reported > 0.0 {
                    sum += one.reported * (broke + delta.ln());
                }
                if reports && one.silent > 0.0 {
                    sum += one.silent * ln_not(delta * p);
                }
                tables[one.spell][d][at] += sum;
            }
        }
    }
    tables
}

/// ln(1 − p). Where p is small, as for most silent rows, three terms of its series do: the fourth, p³/4 of the first, is below 2.5e-10 of it.
fn ln_not(p: f64) -> f64 {
    if p < 1e-3 {
        -p * (1.0 + p * (0.5 + p / 3.0))
    } else {
        (-p).ln_1p()
    }
}

/// Log of the likelihood with the spell effect integrated out, at a place of the widened grid.
fn shifted(table: &[f64], at: usize, spell_k: f64, nodes: &[f64], weights: &[f64]) -> f64 {
    if spell_k <= 0.0 {
        return table[at];
    }
    let values: Vec<f64> = nodes
        .iter()
        .map(|b| cubic(table, at as f64 + spell_k * b / STEP_K))
        .collect();
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    most + values
        .iter()
        .zip(weights)
        .map(|(value, w)| w * (value - most).exp())
        .sum::<f64>()
        .ln()
}

/// Value between places of a table, by the cubic through four neighbours.
fn cubic(table: &[f64], at: f64) -> f64 {
    let low = (at.floor() as usize).clamp(1, table.len().saturating_sub(3).max(1));
    let t = at - low as f64;
    let of = |i: usize| table[i.min(table.len() - 1)];
    let (a, b, c, d) = (of(low - 1), of(low), of(low + 1), of(low + 2));
    -t * (t - 1.0) * (t - 2.0) / 6.0 * a + (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0 * b
        - (t + 1.0) * t * (t - 2.0) / 2.0 * c
        + (t + 1.0) * t * (t - 1.0) / 6.0 * d
}

impl Posterior {
    fn of_mean(&self) -> Vec<f64> {
        let mut sums = vec![0.0; self.means_c.len()];
        for by_mean in &self.weight {
            for (sum, row) in sums.iter_mut().zip(by_mean) {
                *sum += row.iter().sum::<f64>();
            }
        }
        sums
    }

    fn of_strength(&self) -> Vec<f64> {
        self.weight
            .iter()
            .map(|by_mean| by_mean.iter().flatten().sum())
            .collect()
    }

    /// Mean of the mean nucleation temperature, °C.
    pub fn mean_c(&self) -> f64 {
        dot(&self.of_mean(), &self.means_c)
    }

    /// Its standard deviation, K.
    pub fn sd_k(&self) -> f64 {
        deviation(&self.of_mean(), &self.means_c)
    }

    /// Mean of the spread of nucleation, K.
    pub fn spread_k(&self) -> f64 {
        let rows = self.weight.iter().flatten();
        rows.map(|row| dot(row, &self.spreads_k)).sum()
    }

    /// Values between which the mean lies with 90 in 100, °C.
    pub fn interval90_c(&self) -> (f64, f64) {
        interval90(&self.of_mean(), &self.means_c, STEP_K)
    }

    /// Mean of the strength factor's logarithm.
    pub fn ln_strength(&self) -> f64 {
        dot(&self.of_strength(), &self.ln_strengths)
    }

    /// Its standard deviation; 0 where it was not let free.
    pub fn ln_strength_sd(&self) -> f64 {
        deviation(&self.of_strength(), &self.ln_strengths)
    }

    /// Its standard deviation beside that of the prior on the same grid: 1 where the findings say nothing of it.
    pub fn strength_open(&self) -> f64 {
        let ln = |at: &f64| (-0.5 * (at / self.prior.strength_log_sd.max(1e-9)).powi(2)).exp();
        let prior: Vec<f64> = self.ln_strengths.iter().map(ln).collect();
        let all: f64 = prior.iter().sum();
        let prior: Vec<f64> = prior.iter().map(|w| w / all).collect();
        self.ln_strength_sd() / deviation(&prior, &self.ln_strengths).max(1e-9)
    }

    /// Values between which the strength factor's logarithm lies with 90 in 100.
    pub fn ln_strength_interval90(&self) -> (f64, f64) {
        let step = match self.ln_strengths.as_slice() {
            [first, second, ..] => second - first,
            _ => 0.0,
        };
        interval90(&self.of_strength(), &self.ln_strengths, step)
    }

    /// Whether what was tried ends before the answer does.
    pub fn touches_edge(&self) -> bool {
        let weights = self.of_mean();
        let edge = |w: Option<&f64>| w.copied().unwrap_or(0.0);
        let peak = weights.iter().copied().fold(0.0, f64::max);
        edge(weights.first()).max(edge(weights.last())) > 0.05 * peak
    }

    /// Whether the likeliest strength factor is the last that was tried.
    pub fn strength_at_edge(&self) -> bool {
        let weights = self.of_strength();
        let peak = weights.iter().copied().fold(0.0, f64::max);
        weights.len() > 1 && (weights.first() == Some(&peak) || weights.last() == Some(&peak))
    }

    /// What the posterior makes of cases whose curves stand at these temperatures. A chance is linear in the shares of a curve, so they are
    /// averaged once for all cases.
    pub fn over(&self, nucleation_c: &[f64]) -> Averaged<'_> {
        let mut by_strength = vec![vec![0.0; nucleation_c.len()]; self.ln_strengths.len()];
        for (m, mean) in self.means_c.iter().enumerate() {
            for (s, spread) in self.spreads_k.iter().enumerate() {
                if self.weight.iter().all(|by_mean| by_mean[m][s] <= NO_WEIGHT) {
                    continue;
                }
                let here = shares(nucleation_c, *mean, *spread, self.prior.warmest_c);
                for (sums, by_mean) in by_strength.iter_mut().zip(&self.weight) {
                    let w = by_mean[m][s];
                    sums.iter_mut().zip(&here).for_each(|(sum, share)| *sum += w * share);
                }
            }
        }
        Averaged {
            posterior: self,
            nucleation_c: nucleation_c.to_vec(),
            by_strength,
        }
    }

    /// Chance of a case, averaged over the posterior.
    pub fn chance(&self, case: &Case) -> f64 {
        match case {
            Case::Curve(curve) => self.over(&curve.nucleation_c).chance(case),
            Case::Probit { .. } => self.stand_in(case),
        }
    }

    fn stand_in(&self, case: &Case) -> f64 {
        let mut sum = 0.0;
        for (m, mean) in self.means_c.iter().enumerate() {
            for (s, spread) in self.spreads_k.iter().enumerate() {
                let w: f64 = self.weight.iter().map(|by_mean| by_mean[m][s]).sum();
                if w > NO_WEIGHT {
                    sum += w * chance(case, *mean, *spread, self.prior.warmest_c);
                }
            }
        }
        sum
    }
}

/// A posterior's average over curves at the same temperatures.
pub struct Averaged<'a> {
    posterior: &'a Posterior,
    nucleation_c: Vec<f64>,
    /// Shares of the temperatures, times the weight of each strength, `[strengths][temperatures]`.
    by_strength: Vec<Vec<f64>>,
}

impl Averaged<'_> {
    /// Chance of a case, averaged over the posterior.
    pub fn chance(&self, case: &Case) -> f64 {
        match case {
            Case::Curve(curve) if curve.nucleation_c == self.nucleation_c => {
                let by_strength = self.posterior.ln_strengths.iter().zip(&self.by_strength);
                by_strength.map(|(ln, shares)| curve.mixed(shares, *ln)).sum()
            }
            _ => self.posterior.chance(case),
        }
    }
}

/// Standard deviation of values under weights that sum to 1.
fn deviation(weights: &[f64], values: &[f64]) -> f64 {
    let mean = dot(weights, values);
    let square = |(w, value): (&f64, &f64)| w * (value - mean).powi(2);
    weights.iter().zip(values).map(square).sum::<f64>().sqrt()
}

/// Values between which 90 in 100 of the weights lie; each cell holds its weight evenly around its middle.
fn interval90(weights: &[f64], values: &[f64], step: f64) -> (f64, f64) {
    let at = |share: f64| {
        let mut sum = 0.0;
        for (w, value) in weights.iter().zip(values) {
            if sum + w >= share && *w > 0.0 {
                return value - 0.5 * step + step * (share - sum) / w;
            }
            sum += w;
        }
        values.last().copied().unwrap_or(0.0)
    };
    (at(0.05), at(0.95))
}
