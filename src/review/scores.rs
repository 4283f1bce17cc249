//! Scores of chances against what was found: Brier with both decompositions, log score, expected against observed, AUC.

use super::math::{Draws, phi, poisson_limits};
use serde::Serialize;

/// A chance, what was found, and how many assemblies the row stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scored {
    /// Chance of damage, 0 to 1.
    pub p: f64,
    /// Whether it was found damaged.
    pub broke: bool,
    /// One over the chance of having been looked at.
    pub weight: f64,
}

impl Scored {
    fn y(&self) -> f64 {
        f64::from(u8::from(self.broke))
    }
}

/// Lower edges of the bins of the reliability diagram; the last one ends at 1.
pub const EDGES: [f64; 7] = [0.0, 0.05, 0.1, 0.2, 0.4, 0.6, 0.8];

/// The bin of a chance.
pub fn bin_of(p: f64) -> usize {
    EDGES.iter().rposition(|edge| p >= *edge).unwrap_or(0)
}

/// Rows taken as they are, each for itself.
pub fn unweighted(rows: &[Scored]) -> Vec<Scored> {
    rows.iter().map(|row| Scored { weight: 1.0, ..*row }).collect()
}

fn mean(rows: &[Scored], value: impl Fn(&Scored) -> f64) -> f64 {
    let weight: f64 = rows.iter().map(|row| row.weight).sum();
    if weight > 0.0 {
        rows.iter().map(|row| row.weight * value(row)).sum::<f64>() / weight
    } else {
        0.0
    }
}

/// Brier score \[brier-1950\].
pub fn brier(rows: &[Scored]) -> f64 {
    mean(rows, |row| (row.p - row.y()).powi(2))
}

/// The Brier score taken apart in bins \[murphy-1973\], exact with the two terms inside bins \[stephenson-2008\]:
/// reliability − resolution + uncertainty + variance − covariance.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Bins {
    /// How far chances are off in their bins; 0 is best.
    pub reliability: f64,
    /// How far bins differ in what was found; more is better.
    pub resolution: f64,
    /// What the base rate alone leaves open.
    pub uncertainty: f64,
    /// Variance of chances inside bins.
    pub within_bin_variance: f64,
    /// Twice the covariance of chances and findings inside bins.
    pub within_bin_covariance: f64,
}

/// The decomposition in bins.
pub fn bins(rows: &[Scored]) -> Bins {
    let all: f64 = rows.iter().map(|row| row.weight).sum();
    if all <= 0.0 {
        return Bins::default();
    }
    let base = mean(rows, Scored::y);
    let mut told = Bins {
        uncertainty: base * (1.0 - base),
        ..Bins::default()
    };
    for bin in 0..EDGES.len() {
        let inside: Vec<Scored> = rows.iter().copied().filter(|row| bin_of(row.p) == bin).collect();
        let weight: f64 = inside.iter().map(|row| row.weight).sum();
        if weight <= 0.0 {
            continue;
        }
        let (p, o) = (mean(&inside, |row| row.p), mean(&inside, Scored::y));
        let share = weight / all;
        told.reliability += share * (p - o).powi(2);
        told.resolution += share * (o - base).powi(2);
        told.within_bin_variance += share * mean(&inside, |row| (row.p - p).powi(2));
        told.within_bin_covariance += share * 2.0 * mean(&inside, |row| (row.p - p) * (row.y() - o));
    }
    told
}

/// The Brier score taken apart without bins, by pool-adjacent-violators \[dimitriadis-2021\]:
/// miscalibration − discrimination + uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Corp {
    /// What recalibration on the same findings would gain. Above 0 even for perfect chances: see `p_value`.
    pub miscalibration: f64,
    /// What the order of the chances is worth.
    pub discrimination: f64,
    /// What the base rate alone leaves open.
    pub uncertainty: f64,
    /// Share of simulations from the chances themselves whose miscalibration is at least as large; `None` when not simulated.
    pub p_value: Option<f64>,
}

/// Chances made rising with the forecast, the best fit to what was found, in the order of `rows`. Equal chances stay equal.
pub fn pool_adjacent_violators(rows: &[Scored]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..rows.len()).collect();
    order.sort_by(|a, b| rows[*a].p.total_cmp(&rows[*b].p));
    // Blocks of weight, sum and members; equal chances begin as one block.
    let mut blocks: Vec<(f64, f64, usize)> = Vec::new();
    let mut at = 0;
    while at < order.len() {
        let p = rows[order[at]].p;
        let (mut weight, mut sum, mut count) = (0.0, 0.0, 0);
        while at < order.len() && rows[order[at]].p == p {
            let row = &rows[order[at]];
            weight += row.weight;
            sum += row.weight * row.y();
            count += 1;
            at += 1;
        }
        blocks.push((weight, sum, count));
        while let [.., before, last] = blocks.as_mut_slice() {
            if before.1 * last.0 < last.1 * before.0 {
                break;
            }
            *before = (before.0 + last.0, before.1 + last.1, before.2 + last.2);
            blocks.pop();
        }
    }
    let mut fitted = vec![0.0; rows.len()];
    let mut place = order.iter();
    for (weight, sum, count) in blocks {
        for row in place.by_ref().take(count) {
            fitted[*row] = if weight > 0.0 { sum / weight } else { 0.0 };
        }
    }
    fitted
}

/// The decomposition without bins. `simulations` above 0 adds the p-value.
pub fn corp(rows: &[Scored], simulations: usize, seed: u64) -> Corp {
    let score = brier(rows);
    let fitted = pool_adjacent_violators(rows);
    let weight: f64 = rows.iter().map(|row| row.weight).sum();
    let calibrated = rows
        .iter()
        .zip(&fitted)
        .map(|(row, c)| row.weight * (c - row.y()).powi(2))
        .sum::<f64>()
        / weight.max(f64::MIN_POSITIVE);
    let base = mean(rows, Scored::y);
    let uncertainty = base * (1.0 - base);
    let miscalibration = score - calibrated;
    let p_value = (simulations > 0).then(|| {
        let mut draws = Draws::new(seed);
        let mut worse = 0usize;
        for _ in 0..simulations {
            let drawn: Vec<Scored> = rows
                .iter()
                .map(|row| Scored {
                    broke: draws.uniform() < row.p,
                    ..*row
                })
                .collect();
            let there = corp(&drawn, 0, 0).miscalibration;
            worse += usize::from(there >= miscalibration);
        }
        (worse as f64 + 1.0) / (simulations as f64 + 1.0)
    });
    Corp {
        miscalibration,
        discrimination: uncertainty - calibrated,
        uncertainty,
        p_value,
    }
}

/// A chance as a share of `members` can carry it: members that all survive are not a chance of 0.
pub fn clipped(p: f64, members: usize) -> f64 {
    let edge = 0.5 / (members as f64 + 1.0);
    p.clamp(edge, 1.0 - edge)
}

/// Mean log score (natural logarithm, less is better) with chances kept inside what `members` can tell.
pub fn log_score(rows: &[Scored], members: usize) -> f64 {
    mean(rows, |row| {
        let p = clipped(row.p, members);
        if row.broke { -p.ln() } else { -(1.0 - p).ln() }
    })
}

/// Spiegelhalter's z and its two-sided p. Its weights change sign at one half: never shown alone.
pub fn spiegelhalter(rows: &[Scored]) -> Option<(f64, f64)> {
    let (mut sum, mut variance) = (0.0, 0.0);
    for row in rows {
        let slope = 1.0 - 2.0 * row.p;
        sum += (row.y() - row.p) * slope;
        variance += slope * slope * row.p * (1.0 - row.p);
    }
    (variance > 0.0).then(|| {
        let z = sum / variance.sqrt();
        (z, 2.0 * phi(-z.abs()))
    })
}

/// Observed over expected with exact Poisson limits at 95 %; `None` when nothing was expected.
pub fn observed_over_expected(rows: &[Scored]) -> Option<(f64, (f64, f64))> {
    let observed = rows.iter().filter(|row| row.broke).count() as f64;
    let expected: f64 = rows.iter().map(|row| row.p).sum();
    (expected > 0.0).then(|| {
        let (low, high) = poisson_limits(observed, 0.05);
        (observed / expected, (low / expected, high / expected))
    })
}

/// Area under the curve of hits against false alarms: the chance that a damaged one was given the higher chance, ties half.
pub fn auc(rows: &[Scored]) -> Option<f64> {
    let mut order: Vec<&Scored> = rows.iter().collect();
    order.sort_by(|a, b| a.p.total_cmp(&b.p));
    let (mut below, mut pairs, mut broke) = (0.0, 0.0, 0.0);
    for alike in order.chunk_by(|a, b| a.p == b.p) {
        let of = |broken: bool| -> f64 {
            alike
                .iter()
                .filter(|row| row.broke == broken)
                .map(|row| row.weight)
                .sum()
        };
        let (damaged, whole) = (of(true), of(false));
        pairs += damaged * (below + 0.5 * whole);
        below += whole;
        broke += damaged;
    }
    (broke > 0.0 && below > 0.0).then(|| pairs / (broke * below))
}

/// Standard error of the area \[hanley-mcneil-1982\].
pub fn auc_error(auc: f64, damaged: usize, whole: usize) -> f64 {
    let (d, w) = (damaged as f64, whole as f64);
    let q1 = auc / (2.0 - auc);
    let q2 = 2.0 * auc * auc / (1.0 + auc);
    let variance = auc * (1.0 - auc) + (d - 1.0) * (q1 - auc * auc) + (w - 1.0) * (q2 - auc * auc);
    (variance.max(0.0) / (d * w)).sqrt()
}

/// Mean of p(1 − p): how much the chances themselves leave open.
pub fn sharpness(rows: &[Scored]) -> f64 {
    mean(rows, |row| row.p * (1.0 - row.p))
}
