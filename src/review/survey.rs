//! How many broke in the town, from those that were looked at; and how well "probably froze" told them apart.

use serde::Serialize;
use std::collections::BTreeMap;

/// One assembly that was looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Looked {
    /// Where it was drawn: a spell and a list.
    pub stratum: String,
    /// Whether it was found damaged.
    pub broke: bool,
    /// One over the chance of having been looked at.
    pub weight: f64,
    /// Whether the plan had it as probably frozen.
    pub listed: bool,
}

/// An estimate with its standard error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// Value.
    pub value: f64,
    /// Standard error; `None` where a stratum holds one row only and its spread cannot be told.
    pub error: Option<f64>,
}

/// Broken in the town by the design: stratified Horvitz and Thompson with the correction for finite lists \[horvitz-thompson-1952\].
pub fn total_broken(rows: &[Looked]) -> Estimate {
    let mut strata: BTreeMap<&str, Vec<&Looked>> = BTreeMap::new();
    for row in rows {
        strata.entry(&row.stratum).or_default().push(row);
    }
    let (mut value, mut variance, mut known) = (0.0, 0.0, true);
    for rows in strata.values() {
        let n = rows.len() as f64;
        let population = rows.iter().map(|row| row.weight).sum::<f64>().round().max(n);
        let share = rows.iter().filter(|row| row.broke).count() as f64 / n;
        value += population * share;
        if rows.len() > 1 {
            let spread = share * (1.0 - share) * n / (n - 1.0);
            variance += population * population * (1.0 - n / population) * spread / n;
        } else if population > n {
            known = false;
        }
    }
    Estimate {
        value,
        error: known.then(|| variance.sqrt()),
    }
}

/// Sensitivity and specificity of a list, corrected for who was looked at \[begg-greenes-1983\]: `listed` and `unlisted` are how many
/// assemblies are on and off the list, looked at or not.
pub fn sensitivity(rows: &[Looked], listed: usize, unlisted: usize) -> Option<(f64, f64)> {
    let share = |on: bool| {
        let of: Vec<&Looked> = rows.iter().filter(|row| row.listed == on).collect();
        (!of.is_empty()).then(|| of.iter().filter(|row| row.broke).count() as f64 / of.len() as f64)
    };
    let (on, off) = (share(true)?, share(false)?);
    let (n1, n0) = (listed as f64, unlisted as f64);
    let broken = n1 * on + n0 * off;
    let whole = n1 * (1.0 - on) + n0 * (1.0 - off);
    (broken > 0.0 && whole > 0.0).then(|| (n1 * on / broken, n0 * (1.0 - off) / whole))
}
