//! Yearly loss from winters: mean over the record, interval by resampling winters, how much hangs on few of them; worth over years.

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};

/// Resamples of an interval (judgement: its ends move by less than a hundredth of its width).
pub const REPLICATES: usize = 4_000;
/// Tail outside the interval on either side: a 90 % interval.
pub const TAIL: f64 = 0.05;

/// Mean; 0 for no winter.
pub fn mean(by_winter: &[f64]) -> f64 {
    if by_winter.is_empty() {
        0.0
    } else {
        by_winter.iter().sum::<f64>() / by_winter.len() as f64
    }
}

/// Draws of winters: `[replicates][winters]` how often each winter of the record is drawn. A stream of the seed: the same
/// record and seed give the same bytes.
pub fn resamples(winters: usize, replicates: usize, seed: u64) -> Vec<Vec<u32>> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    (0..replicates)
        .map(|_| {
            let mut counts = vec![0; winters];
            for _ in 0..winters {
                // The high half of a 64-bit product: below the range's own rounding for any record.
                let at = ((u128::from(random.next_u64()) * winters as u128) >> 64) as usize;
                counts[at] += 1;
            }
            counts
        })
        .collect()
}

/// 90 % interval of the mean by resampling whole winters, which are the blocks of the record; `None` below two winters.
pub fn interval(by_winter: &[f64], seed: u64) -> Option<(f64, f64)> {
    if by_winter.len() < 2 {
        return None;
    }
    let mut means: Vec<f64> = resamples(by_winter.len(), REPLICATES, seed)
        .iter()
        .map(|counts| weighted_mean(by_winter, counts))
        .collect();
    means.sort_by(f64::total_cmp);
    let at = |q| crate::weather::gev::sorted_quantile(&means, q);
    Some((at(TAIL), at(1.0 - TAIL)))
}

/// Mean of winters drawn so often each.
pub fn weighted_mean(by_winter: &[f64], counts: &[u32]) -> f64 {
    let sum: f64 = by_winter.iter().zip(counts).map(|(usd, n)| usd * f64::from(*n)).sum();
    sum / by_winter.len().max(1) as f64
}

/// Share of the whole loss that the two worst winters bring, 0 to 1; 0 where there is no loss.
pub fn share_of_two_worst(by_winter: &[f64]) -> f64 {
    let total: f64 = by_winter.iter().sum();
    if total <= 0.0 {
        return 0.0;
    }
    let mut sorted = by_winter.to_vec();
    sorted.sort_by(|a, b| b.total_cmp(a));
    sorted.iter().take(2).sum::<f64>() / total
}

/// Worth today of one dollar a year for `years` years at `rate` a year: `(1 − (1 + r)^−n)/r`; the years themselves at rate 0.
pub fn annuity(rate: f64, years: f64) -> f64 {
    let years = years.max(0.0);
    if rate.abs() < 1e-9 {
        years
    } else {
        -(-years * rate.ln_1p()).exp_m1() / rate
    }
}
