//! How much each member counts: all alike, or by what was reported.

use super::summary::{percentile, sorted};

/// Weights of members, 1 in the mean; all alike as long as nothing is known that parts them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Weights(Option<Vec<f64>>);

impl Weights {
    /// Every member counts the same.
    pub fn alike() -> Self {
        Self(None)
    }

    /// Weights in these ratios; all alike when they are no weights (none above 0, or not finite).
    pub fn of(ratios: Vec<f64>) -> Self {
        let sum: f64 = ratios.iter().sum();
        if !(sum > 0.0 && sum.is_finite()) || ratios.iter().any(|ratio| *ratio < 0.0) {
            return Self::alike();
        }
        let scale = ratios.len() as f64 / sum;
        Self(Some(ratios.into_iter().map(|ratio| ratio * scale).collect()))
    }

    /// The weight of a member.
    pub fn at(&self, member: usize) -> f64 {
        self.0
            .as_ref()
            .map_or(1.0, |weights| weights.get(member).copied().unwrap_or(0.0))
    }

    /// Those of the first `count` members.
    pub fn first(&self, count: usize) -> Self {
        match &self.0 {
            None => Self(None),
            Some(weights) => Self::of(weights.iter().copied().take(count).collect()),
        }
    }

    /// As many members of equal weight would say as much: (Σw)²/Σw² \[kish-1965\].
    pub fn effective(&self, count: usize) -> f64 {
        match &self.0 {
            None => count as f64,
            Some(weights) => {
                let sum: f64 = weights.iter().sum();
                let squares: f64 = weights.iter().map(|weight| weight * weight).sum();
                sum * sum / squares
            }
        }
    }

    /// Weighted share of `count` members of which something is true.
    pub fn share(&self, count: usize, happened: impl Fn(usize) -> bool) -> f64 {
        let members = (0..count).filter(|&member| happened(member));
        let sum = match &self.0 {
            None => members.count() as f64,
            Some(weights) => members.map(|member| weights[member]).sum(),
        };
        // An empty sum is -0.
        (sum / count.max(1) as f64).min(1.0) + 0.0
    }

    /// Weighted mean of values, `[members]`, and its standard error.
    pub fn mean(&self, values: &[f64]) -> (f64, f64) {
        let count = values.len() as f64;
        let mean = values
            .iter()
            .enumerate()
            .map(|(member, value)| value * self.at(member))
            .sum::<f64>()
            / count;
        if values.len() < 2 {
            return (mean, 0.0);
        }
        let squares: f64 = values
            .iter()
            .enumerate()
            .map(|(member, value)| (self.at(member) * (value - mean)).powi(2))
            .sum();
        // Of a ratio of sums; with equal weights the usual error of a mean.
        (mean, (squares / (count - 1.0) / count).sqrt())
    }

    /// Percentile of values, `[members]`. With equal weights straight lines between order statistics, as [`percentile`]; else as if each member stood
    /// there as often as its weight says.
    pub fn percentile(&self, values: &[f64], q: f64) -> f64 {
        match self.ordered(values.iter().copied().enumerate()) {
            None => percentile(&sorted(values), q),
            Some(ordered) => {
                let place = q.clamp(0.0, 1.0) * (values.len() as f64 - 1.0);
                let (lower, upper) = (nth(&ordered, place.floor()), nth(&ordered, place.floor() + 1.0));
                if lower == upper {
                    lower
                } else {
                    lower + (place - place.floor()) * (upper - lower)
                }
            }
        }
    }

    /// Percentile of the values that some members have, as `(member, value)`.
    pub fn percentile_of(&self, some: &[(usize, f64)], q: f64) -> f64 {
        let values: Vec<f64> = some.iter().map(|pair| pair.1).collect();
        match &self.0 {
            None => percentile(&sorted(&values), q),
            Some(_) => Self::of(some.iter().map(|pair| self.at(pair.0)).collect()).percentile(&values, q),
        }
    }

    /// Percentile of times of which some never come: the order statistic, `None` where that share never sees it.
    pub fn percentile_or_never(&self, values: &[f64], q: f64) -> Option<f64> {
        let last = values.len().checked_sub(1)?;
        let place = (q * last as f64).round();
        let at = match self.ordered(values.iter().copied().enumerate()) {
            None => sorted(values).get(place as usize).copied()?,
            Some(ordered) => nth(&ordered, place),
        };
        Some(at).filter(|time| time.is_finite())
    }

    /// Values in rising order with their weights; `None` where all count alike.
    fn ordered(&self, values: impl Iterator<Item = (usize, f64)>) -> Option<Vec<(f64, f64)>> {
        self.0.as_ref()?;
        let mut ordered: Vec<(f64, f64)> = values.map(|(member, value)| (value, self.at(member))).collect();
        ordered.sort_by(|a, b| a.0.total_cmp(&b.0));
        Some(ordered)
    }
}

/// The value at a place, from 0, of a list in which each value stands as often as its weight says.
fn nth(ordered: &[(f64, f64)], place: f64) -> f64 {
    let mut passed = 0.0;
    for (value, weight) in ordered {
        passed += weight;
        // Sums of weights miss whole numbers by their rounding.
        if passed > place + 1e-9 {
            return *value;
        }
    }
    ordered.last().map_or(0.0, |last| last.0)
}
