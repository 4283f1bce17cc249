//! The reliability diagram as a table: what was expected and found in each bin of chance, with the bars that chance alone allows.

use super::math::beta_quantile;
use super::scores::{EDGES, Scored, bin_of};
use super::total::{count_at, poisson_binomial};
use serde::Serialize;

/// One bin.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Bin {
    /// Lower edge of the chance.
    pub from: f64,
    /// Upper edge.
    pub to: f64,
    /// Rows.
    pub n: usize,
    /// Mean chance.
    pub mean_p: f64,
    /// Rows found damaged.
    pub damaged: usize,
    /// Share found damaged.
    pub share: f64,
    /// Counts between which 90 of 100 would fall if the chances were right, from the bin's own chances \[broecker-smith-2007\].
    pub consistency90: (usize, usize),
    /// Chance of fewer than were found, if the chances were right.
    pub below: f64,
    /// Chance of so many or fewer.
    pub at_or_below: f64,
    /// 95 % interval of the share, Jeffreys.
    pub jeffreys95: (f64, f64),
    /// 95 % interval of the share, Clopper and Pearson.
    pub exact95: (f64, f64),
}

/// The bins that hold rows, each row for itself.
pub fn table(rows: &[Scored]) -> Vec<Bin> {
    (0..EDGES.len())
        .filter_map(|bin| {
            let inside: Vec<&Scored> = rows.iter().filter(|row| bin_of(row.p) == bin).collect();
            let n = inside.len();
            if n == 0 {
                return None;
            }
            let chances: Vec<f64> = inside.iter().map(|row| row.p).collect();
            let damaged = inside.iter().filter(|row| row.broke).count();
            let pmf = poisson_binomial(&chances);
            let below: f64 = pmf[..damaged].iter().sum();
            let (k, rest) = (damaged as f64, (n - damaged) as f64);
            Some(Bin {
                from: EDGES[bin],
                to: EDGES.get(bin + 1).copied().unwrap_or(1.0),
                n,
                mean_p: chances.iter().sum::<f64>() / n as f64,
                damaged,
                share: k / n as f64,
                consistency90: (count_at(&pmf, 0.05), count_at(&pmf, 0.95)),
                below,
                at_or_below: below + pmf[damaged],
                jeffreys95: (
                    beta_quantile(0.025, k + 0.5, rest + 0.5),
                    beta_quantile(0.975, k + 0.5, rest + 0.5),
                ),
                exact95: (
                    if damaged == 0 {
                        0.0
                    } else {
                        beta_quantile(0.025, k, rest + 1.0)
                    },
                    if damaged == n {
                        1.0
                    } else {
                        beta_quantile(0.975, k + 1.0, rest)
                    },
                ),
            })
        })
        .collect()
}
