//! A case, by how its chance of damage hangs on what records can teach: nucleation, and one strength factor.

use super::math::{density, phi};
use std::sync::Arc;

/// Chance of damage of one case at fixed nucleation temperatures, and at fixed strength factors where they were tried.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    /// Nucleation temperatures, °C, rising.
    pub nucleation_c: Vec<f64>,
    /// Logarithms of the strength factors beside the config's, rising; `[0.0]` where only that was run.
    pub ln_strength: Vec<f64>,
    /// Chance of damage at each, `[strengths][temperatures]`.
    pub chance: Vec<Vec<f64>>,
    /// Members behind each chance.
    pub members: usize,
}

impl Curve {
    /// As configured alone.
    pub fn plain(nucleation_c: Vec<f64>, chance: Vec<f64>, members: usize) -> Self {
        Self {
            nucleation_c,
            ln_strength: vec![0.0],
            chance: vec![chance],
            members,
        }
    }

    /// The chance of somebody who acts with the chance `acts`: this case or, if so, the other; at the strengths at which both were run.
    pub fn partly(&self, other: &Self, acts: f64) -> Self {
        let mix = |bare: &[f64], with: &[f64]| {
            let both = bare.iter().zip(with);
            both.map(|(bare, with)| (1.0 - acts) * bare + acts * with).collect()
        };
        let at_both = (self.ln_strength.iter().zip(&self.chance)).filter_map(|(ln, bare)| {
            let at = other.ln_strength.iter().position(|one| one == ln)?;
            Some((*ln, mix(bare, other.chance.get(at)?)))
        });
        let (ln_strength, chance) = at_both.unzip();
        Self {
            ln_strength,
            chance,
            ..self.clone()
        }
    }

    /// The chance over shares of the temperatures, at a strength between those that were run by a straight line, beyond them as at the last.
    pub(super) fn mixed(&self, shares: &[f64], ln_strength: f64) -> f64 {
        let of = |at: usize| self.chance.get(at).map_or(0.0, |chance| dot(shares, chance));
        let above = self.ln_strength.partition_point(|one| *one <= ln_strength);
        match (above.checked_sub(1), self.ln_strength.get(above)) {
            (None, _) => of(0),
            (Some(below), None) => of(below),
            (Some(below), Some(next)) => {
                let share = (ln_strength - self.ln_strength[below]) / (next - self.ln_strength[below]);
                if share == 0.0 {
                    of(below)
                } else {
                    (1.0 - share) * of(below) + share * of(above)
                }
            }
        }
    }
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

/// Spread of a strength factor that is let free, of its logarithm (judgement: the ends of seepage, a factor of 2.5 either way, taken as two to
/// each side, as those of nucleation are; the trade's band for bodies, 700 to 2,000 psi, is narrower, 1.7 either way).
pub(super) const STRENGTH_LOG_SD: f64 = 0.46;
/// Strength factors at which a case is run, as logarithms in standard deviations: between them the chance goes by straight lines.
const STRENGTHS_RUN_SD: [f64; 5] = [-2.0, -1.0, 0.0, 1.0, 2.0];

/// Logarithms of the strength factors at which cases are run where the factor may be let free, rising.
pub fn strengths_run() -> [f64; 5] {
    STRENGTHS_RUN_SD.map(|sd| sd * STRENGTH_LOG_SD)
}

/// Shares of a normal that fall to each temperature of a curve by straight lines between them.
pub(super) fn shares(nucleation_c: &[f64], mean: f64, sd: f64, warmest: f64) -> Vec<f64> {
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

/// Chance of a case under a mean and a spread, with the strength as configured.
pub fn chance(case: &Case, mean_c: f64, spread_k: f64, warmest_c: f64) -> f64 {
    chance_at(case, 0.0, mean_c, spread_k, warmest_c)
}

/// Chance of a case under a strength factor's logarithm, a mean and a spread; a stand-in does not know of strength.
pub fn chance_at(case: &Case, ln_strength: f64, mean_c: f64, spread_k: f64, warmest_c: f64) -> f64 {
    match case {
        Case::Probit { x_k, local_k } => phi((mean_c + x_k) / spread_k.hypot(*local_k)),
        Case::Curve(curve) => curve.mixed(&shares(&curve.nucleation_c, mean_c, spread_k, warmest_c), ln_strength),
    }
}

pub(super) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
