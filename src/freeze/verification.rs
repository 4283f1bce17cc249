//! How good stated chances were, once it is known what happened: the scores by which past spells recalibrate the model.
//!
//! Brier score and its parts \[murphy-1973\], continuous ranked probability score \[gneiting-raftery-2007\].

/// The Brier score and its decomposition over distinct stated chances: `score = reliability − resolution + uncertainty`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Brier {
    /// Mean squared difference of chance and outcome.
    pub score: f64,
    /// How far observed frequencies are from stated chances (0 is best).
    pub reliability: f64,
    /// How far observed frequencies are from the overall one (more is better).
    pub resolution: f64,
    /// Variance of the outcomes.
    pub uncertainty: f64,
}

impl Brier {
    /// Skill against always stating the overall frequency; `None` when every outcome was the same.
    pub fn skill(&self) -> Option<f64> {
        (self.uncertainty > 0.0).then(|| 1.0 - self.score / self.uncertainty)
    }
}

/// The Brier score of chances (0 to 1) and outcomes, `[n]` each; `None` when empty or of different length.
///
/// Exact decomposition: outcomes are grouped by equal chances, not by bins.
pub fn brier(chance: &[f64], happened: &[bool]) -> Option<Brier> {
    if chance.is_empty() || chance.len() != happened.len() {
        return None;
    }
    let n = chance.len() as f64;
    let one = |yes: bool| if yes { 1.0 } else { 0.0 };
    let score = chance
        .iter()
        .zip(happened)
        .map(|(p, o)| (p - one(*o)).powi(2))
        .sum::<f64>()
        / n;
    let base = happened.iter().filter(|o| **o).count() as f64 / n;
    let mut pairs: Vec<(f64, bool)> = chance.iter().copied().zip(happened.iter().copied()).collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut reliability, mut resolution) = (0.0, 0.0);
    for group in pairs.chunk_by(|a, b| a.0 == b.0) {
        let size = group.len() as f64;
        let seen = group.iter().filter(|pair| pair.1).count() as f64 / size;
        reliability += size * (group[0].0 - seen).powi(2);
        resolution += size * (seen - base).powi(2);
    }
    Some(Brier {
        score,
        reliability: reliability / n,
        resolution: resolution / n,
        uncertainty: base * (1.0 - base),
    })
}

/// Continuous ranked probability score of an ensemble against what was observed, in the unit of the values; `None` when empty.
///
/// With `fair`, members count as a sample: the spread term is divided by m(m − 1).
pub fn crps(members: &[f64], observed: f64, fair: bool) -> Option<f64> {
    let m = members.len();
    if m == 0 || (fair && m < 2) {
        return None;
    }
    let miss = members.iter().map(|x| (x - observed).abs()).sum::<f64>() / m as f64;
    let mut sorted = members.to_vec();
    sorted.sort_by(f64::total_cmp);
    // Σ|xi − xj| over all pairs from the order statistics.
    let spread: f64 = sorted
        .iter()
        .enumerate()
        .map(|(i, x)| 2.0 * x * (2.0 * i as f64 + 1.0 - m as f64))
        .sum();
    let pairs = if fair { (m * (m - 1)) as f64 } else { (m * m) as f64 };
    Some(miss - 0.5 * spread / pairs)
}

/// Pinball loss of a quantile at level `q` (0 to 1) against what was observed.
pub fn pinball(quantile: f64, q: f64, observed: f64) -> f64 {
    let below = observed - quantile;
    if below >= 0.0 { q * below } else { (q - 1.0) * below }
}
