//! What the findings say of the mean nucleation temperature: a posterior on a grid.
//!
//! A case's chance at fixed nucleation, mixed over a normal of mean μ and spread σ, is its chance under them; that covers any σ and
//! needs no stored members. What all findings of one spell have in common beside the model (station, wind, sky) is a spell effect in
//! kelvin on the mean, integrated out: without it a hundred findings of one night look like a hundred nights.

use super::math::{density, hermite, ln_phi, phi};
use rayon::prelude::*;
use std::sync::Arc;

/// Nodes over the spell effect.
const NODES: usize = 21;

/// Chance of damage of one case at fixed nucleation temperatures.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Nucleation temperatures, °C, rising.
    pub nucleation_c: Vec<f64>,
    /// Chance of damage at each.
    pub chance: Vec<f64>,
    /// Members behind each chance.
    pub members: usize,
}

/// How a case's chance hangs on nucleation.
#[derive(Debug, Clone, PartialEq)]
pub enum Case {
    /// Φ((μ + x)/√(σ² + local²)): a stand-in where only chances are known.
    Probit {
        /// Kelvin by which the case is worse than its nucleation.
        x_k: f64,
        /// Spread that is the assembly's own, K.
        local_k: f64,
    },
    /// Simulated.
    Curve(Arc<Curve>),
}

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
        }
    }
}

const STEP_K: f64 = 0.05;
const SPREADS: usize = 41;
const SPREAD_FROM_K: f64 = 0.5;
const SPREAD_TO_K: f64 = 3.0;
const REPORTS: usize = 40;

/// The posterior.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    prior: Prior,
    means_c: Vec<f64>,
    spreads_k: Vec<f64>,
    /// `[mean][spread]`, sums to 1.
    weight: Vec<Vec<f64>>,
    /// Mean of the chance that a break is reported, where that was asked for.
    pub report_chance: Option<f64>,
}

/// Shares of a normal that fall to each temperature of a curve by straight lines between them.
fn shares(nucleation_c: &[f64], mean: f64, sd: f64, warmest: f64) -> Vec<f64> {
    let n = nucleation_c.len();
    let mut shares = vec![0.0; n];
    let z = |t: f64| (t - mean) / sd;
    let (Some(first), Some(last)) = (nucleation_c.first(), nucleation_c.last()) else {
        return shares;
    };
    shares[0] += phi(z(*first));
    // What would start warmer than the model allows starts at its edge.
    let top = last.min(warmest.max(*first));
    for i in 1..n {
        let (a, b) = (nucleation_c[i - 1], nucleation_c[i]);
        let end = b.min(top);
        if end <= a {
            continue;
        }
        let mass = phi(z(end)) - phi(z(a));
        // First moment of the piece about a.
        let moment = (mean - a) * mass - sd * (density(z(end)) - density(z(a)));
        let up = (moment / (b - a)).clamp(0.0, mass);
        shares[i] += up;
        shares[i - 1] += mass - up;
    }
    let above = 1.0 - phi(z(top));
    let at = nucleation_c.partition_point(|t| *t < top);
    if at == 0 || (nucleation_c[at.min(n - 1)] - top).abs() < 1e-12 {
        shares[at.min(n - 1)] += above;
    } else {
        let t = (top - nucleation_c[at - 1]) / (nucleation_c[at] - nucleation_c[at - 1]);
        shares[at] += above * t;
        shares[at - 1] += above * (1.0 - t);
    }
    shares
}

/// Chance of a case under a mean and a spread.
pub fn chance(case: &Case, mean_c: f64, spread_k: f64, warmest_c: f64) -> f64 {
    match case {
        Case::Probit { x_k, local_k } => phi((mean_c + x_k) / spread_k.hypot(*local_k)),
        Case::Curve(curve) => dot(&shares(&curve.nucleation_c, mean_c, spread_k, warmest_c), &curve.chance),
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Logarithms of a case's chance and of its complement.
fn logs(case: &Case, mean: f64, spread: f64, shared: Option<&[f64]>, warmest: f64) -> (f64, f64) {
    match case {
        Case::Probit { x_k, local_k } => {
            let z = (mean + x_k) / spread.hypot(*local_k);
            (ln_phi(z), ln_phi(-z))
        }
        Case::Curve(curve) => {
            let p = match shared {
                Some(shares) => dot(shares, &curve.chance),
                None => chance(case, mean, spread, warmest),
            };
            let p = super::scores::clipped(p, curve.members);
            (p.ln(), (1.0 - p).ln())
        }
    }
}

impl Prior {
    /// About the nucleation of a config: its mean, °C, its spread, K (a tenth at least), and the warmest that is allowed, °C.
    pub fn about(mean_c: f64, spread_k: f64, warmest_c: f64) -> Self {
        Self {
            mean_c,
            spread_k: spread_k.max(0.1),
            warmest_c,
            ..Self::default()
        }
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

    fn ln(&self, mean: f64, spread: f64) -> f64 {
        let a = (mean - self.mean_c) / self.sd_k;
        let b = (spread / self.spread_k).ln() / self.spread_log_sd;
        -0.5 * (a * a + b * b)
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
    // One column a spread: [delta][mean].
    let columns: Vec<Vec<Vec<f64>>> = spreads_k
        .par_iter()
        .map(|&spread| {
            let tables = spell_tables(evidence, spells, prior, spread, pad, means_c.len(), &deltas, reports);
            (0..deltas.len())
                .map(|d| {
                    (0..means_c.len())
                        .map(|at| {
                            tables
                                .iter()
                                .map(|table| shifted(&table[d], at + pad, prior.spell_k, &nodes, &weights))
                                .sum::<f64>()
                        })
                        .collect()
                })
                .collect()
        })
        .collect();
    let ln = |m: usize, s: usize, d: usize| {
        let beta = if reports { (2.0 * deltas[d]).ln() } else { 0.0 };
        columns[s][d][m] + prior.ln(means_c[m], spreads_k[s]) + beta
    };
    let mut most = f64::NEG_INFINITY;
    for m in 0..means_c.len() {
        for s in 0..spreads_k.len() {
            for d in 0..deltas.len() {
                most = most.max(ln(m, s, d));
            }
        }
    }
    let (mut all, mut by_report) = (0.0, 0.0);
    let mut weight = vec![vec![0.0; spreads_k.len()]; means_c.len()];
    for (m, row) in weight.iter_mut().enumerate() {
        for (s, cell) in row.iter_mut().enumerate() {
            for (d, delta) in deltas.iter().enumerate() {
                let w = (ln(m, s, d) - most).exp();
                *cell += w;
                all += w;
                by_report += w * delta;
            }
        }
    }
    weight.iter_mut().flatten().for_each(|w| *w /= all);
    Posterior {
        prior: *prior,
        means_c,
        spreads_k,
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
    spread: f64,
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
        let shared = curve.map(|curve| shares(&curve.nucleation_c, mean, spread, prior.warmest_c));
        for one in evidence {
            let same = match (&one.case, curve) {
                (Case::Curve(own), Some(first)) => own.nucleation_c == first.nucleation_c,
                _ => false,
            };
            let shared = if same { shared.as_deref() } else { None };
            let (broke, held) = logs(&one.case, mean, spread, shared, prior.warmest_c);
            let mut seen = 0.0;
            // Nothing times minus infinity is nothing.
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
                    sum += one.silent * (-delta * broke.exp()).ln_1p();
                }
                tables[one.spell][d][at] += sum;
            }
        }
    }
    tables
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
        self.weight.iter().map(|row| row.iter().sum()).collect()
    }

    /// Mean of the mean nucleation temperature, °C.
    pub fn mean_c(&self) -> f64 {
        dot(&self.of_mean(), &self.means_c)
    }

    /// Its standard deviation, K.
    pub fn sd_k(&self) -> f64 {
        let mean = self.mean_c();
        self.of_mean()
            .iter()
            .zip(&self.means_c)
            .map(|(w, m)| w * (m - mean).powi(2))
            .sum::<f64>()
            .sqrt()
    }

    /// Mean of the spread of nucleation, K.
    pub fn spread_k(&self) -> f64 {
        self.weight.iter().map(|row| dot(row, &self.spreads_k)).sum()
    }

    /// Values between which the mean lies with 90 in 100, °C.
    pub fn interval90_c(&self) -> (f64, f64) {
        let weights = self.of_mean();
        let at = |share: f64| {
            let mut sum = 0.0;
            for (w, m) in weights.iter().zip(&self.means_c) {
                // Each cell holds its weight evenly around its middle.
                if sum + w >= share && *w > 0.0 {
                    return m - 0.5 * STEP_K + STEP_K * (share - sum) / w;
                }
                sum += w;
            }
            self.prior.tried_c.1
        };
        (at(0.05), at(0.95))
    }

    /// Whether what was tried ends before the answer does.
    pub fn touches_edge(&self) -> bool {
        let weights = self.of_mean();
        let edge = |w: Option<&f64>| w.copied().unwrap_or(0.0);
        let peak = weights.iter().copied().fold(0.0, f64::max);
        edge(weights.first()).max(edge(weights.last())) > 0.05 * peak
    }

    /// Chance of a case, averaged over the posterior.
    pub fn chance(&self, case: &Case) -> f64 {
        let mut sum = 0.0;
        for (row, mean) in self.weight.iter().zip(&self.means_c) {
            for (w, spread) in row.iter().zip(&self.spreads_k) {
                if *w > 1e-9 {
                    sum += w * chance(case, *mean, *spread, self.prior.warmest_c);
                }
            }
        }
        sum
    }

    /// Band of a case's chance from 5 to 95 in 100 of the posterior.
    pub fn chance_band(&self, case: &Case) -> (f64, f64) {
        let mut cells: Vec<(f64, f64)> = Vec::new();
        for (row, mean) in self.weight.iter().zip(&self.means_c) {
            for (w, spread) in row.iter().zip(&self.spreads_k) {
                if *w > 1e-9 {
                    cells.push((chance(case, *mean, *spread, self.prior.warmest_c), *w));
                }
            }
        }
        cells.sort_by(|a, b| a.0.total_cmp(&b.0));
        let all: f64 = cells.iter().map(|cell| cell.1).sum();
        let at = |share: f64| {
            let mut sum = 0.0;
            for (p, w) in &cells {
                sum += w;
                if sum >= share * all {
                    return *p;
                }
            }
            cells.last().map_or(0.0, |cell| cell.0)
        };
        (at(0.05), at(0.95))
    }
}

/// What one finding tells of the mean, 1/K²: most at a coin-flip.
pub fn information(p: f64, spread_k: f64) -> f64 {
    let p = p.clamp(1e-9, 1.0 - 1e-9);
    density(super::math::probit(p)).powi(2) / (p * (1.0 - p)) / (spread_k * spread_k)
}

/// Standard deviation of the mean that so many findings at a coin-flip in so many spells would leave, K.
pub fn sd_after(findings: f64, spells: f64, spread_k: f64, prior: &Prior) -> f64 {
    let own = 1.0 / (findings * information(0.5, spread_k)).max(1e-300);
    let shared = prior.spell_k * prior.spell_k / spells.max(1.0);
    1.0 / (1.0 / (prior.sd_k * prior.sd_k) + 1.0 / (own + shared)).sqrt()
}

/// What a look at this chance of damage teaches, as a share of what a look at a coin-flip does: it does not hang on the spread.
pub fn teaches(p: f64) -> f64 {
    information(p, 1.0) / information(0.5, 1.0)
}

/// How many looks at coin-flips, in the fewest spells in which any number can, would halve what is not known of the mean nucleation
/// temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Learning {
    /// Spells that they are spread over.
    pub spells: usize,
    /// Looks in all.
    pub looks: usize,
}

/// Most spells that are asked about (judgement: more winters than a programme plans for).
const MOST_SPELLS: usize = 20;

impl Learning {
    /// Under a prior, with a spread of the assembly's own, K. `None` where not even many spells can.
    pub fn to_halve(prior: &Prior, local_k: f64) -> Option<Self> {
        (1..=MOST_SPELLS).find_map(|spells| {
            let looks = looks_to_halve(spells as f64, prior.spread_k.hypot(local_k), prior)?;
            Some(Self { spells, looks })
        })
    }
}

/// Findings at a coin-flip, spread over so many spells, that halve the standard deviation of the prior; `None` where the spell effect
/// alone is larger than that, whatever the number.
pub fn looks_to_halve(spells: f64, spread_k: f64, prior: &Prior) -> Option<usize> {
    // Variance the data must have: prior precision p0, wanted 4 p0, so data precision 3 p0.
    let data = prior.sd_k * prior.sd_k / 3.0;
    let own = data - prior.spell_k * prior.spell_k / spells.max(1.0);
    (own > 0.0).then(|| (1.0 / (own * information(0.5, spread_k))).ceil() as usize)
}
