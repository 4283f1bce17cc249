//! What a look teaches, and how many of them halve what is not known.

use super::math::{density, probit};
use super::posterior::Prior;

/// What one finding tells of the mean, 1/K²: most at a coin-flip.
pub fn information(p: f64, spread_k: f64) -> f64 {
    let p = p.clamp(1e-9, 1.0 - 1e-9);
    density(probit(p)).powi(2) / (p * (1.0 - p)) / (spread_k * spread_k)
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
