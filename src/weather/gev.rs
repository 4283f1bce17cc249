//! Return levels of annual minima: the generalised extreme value distribution by L-moments, and the handbook's n-year formula.
//!
//! Everything works on `x = −minimum`, so that the coldest is the largest; what goes in and comes out is °C minima.

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};
use statrs::function::gamma::{gamma, ln_gamma};

/// Euler's constant.
const EULER: f64 = 0.577_215_664_901_532_9;
/// Below this the shape counts as zero and the distribution is Gumbel's: the two agree to rounding there.
const GUMBEL_BELOW: f64 = 1e-6;

/// Sample L-moments.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LMoments {
    /// First L-moment: the mean.
    pub l1: f64,
    /// Second L-moment: half the mean difference of two.
    pub l2: f64,
    /// L-skewness `l3/l2`.
    pub t3: f64,
    /// L-kurtosis `l4/l2`.
    pub t4: f64,
}

/// Unbiased sample L-moments \[hosking-1990\]; `None` for fewer than four values, values that are not finite, or values that are all equal.
///
/// `b_r = 1/n Σ (j−1)…(j−r)/((n−1)…(n−r)) x_j` of the sorted sample, then `l2 = 2b1 − b0`, `l3 = 6b2 − 6b1 + b0`,
/// `l4 = 20b3 − 30b2 + 12b1 − b0`.
pub fn l_moments(values: &[f64]) -> Option<LMoments> {
    if values.len() < 4 || values.iter().any(|value| !value.is_finite()) {
        return None;
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len() as f64;
    let mut b = [0.0_f64; 4];
    for (index, value) in sorted.iter().enumerate() {
        let j = index as f64;
        let mut weight = 1.0;
        for (r, moment) in b.iter_mut().enumerate() {
            let r = r as f64;
            if r > 0.0 {
                weight *= (j - (r - 1.0)) / (n - r);
            }
            *moment += weight * value / n;
        }
    }
    let [b0, b1, b2, b3] = b;
    let l2 = 2.0 * b1 - b0;
    if l2 <= 1e-9 * b0.abs().max(1.0) {
        return None;
    }
    Some(LMoments {
        l1: b0,
        l2,
        t3: (6.0 * b2 - 6.0 * b1 + b0) / l2,
        t4: (20.0 * b3 - 30.0 * b2 + 12.0 * b1 - b0) / l2,
    })
}

/// A generalised extreme value distribution of `x`: `F(x) = exp(−(1 − k (x − ξ)/α)^{1/k})`.
///
/// The sign of `k` is Hosking's: positive has an upper bound, negative a heavy tail, zero is Gumbel's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gev {
    /// Location ξ.
    pub location: f64,
    /// Scale α, above zero.
    pub scale: f64,
    /// Shape k.
    pub shape: f64,
}

/// Hosking's approximation of the shape from L-skewness \[hosking-1985\]: `c = 2/(3 + t3) − ln2/ln3`, `k = 7.8590c + 2.9554c²`;
/// error below 9e-4 for `|t3| ≤ 0.5`.
pub fn approximate_shape(t3: f64) -> f64 {
    let c = 2.0 / (3.0 + t3) - std::f64::consts::LN_2 / 3.0_f64.ln();
    7.8590 * c + 2.9554 * c * c
}

/// L-skewness of a shape: `2(1 − 3^{−k})/(1 − 2^{−k}) − 3`.
fn l_skewness(shape: f64) -> f64 {
    if shape.abs() < GUMBEL_BELOW {
        return 2.0 * 3.0_f64.ln() / std::f64::consts::LN_2 - 3.0;
    }
    2.0 * (-shape * 3.0_f64.ln()).exp_m1() / (-shape * std::f64::consts::LN_2).exp_m1() - 3.0
}

impl Gev {
    /// The distribution whose L-moments are these \[hosking-1990\].
    ///
    /// The shape solves the L-skewness equation by bisection around Hosking's approximation (it is monotone); location and
    /// scale follow. `None` when the L-skewness is outside −0.95 to 0.95: no such sample says anything about extremes.
    pub fn from_l_moments(moments: &LMoments) -> Option<Self> {
        if !(moments.t3.abs() <= 0.95 && moments.l2 > 0.0) {
            return None;
        }
        let guess = approximate_shape(moments.t3);
        let (mut low, mut high) = (guess - 0.3, guess + 0.3);
        // L-skewness falls as the shape grows; widen until the root is inside.
        while l_skewness(low) < moments.t3 && low > -0.999 {
            low = (low - 0.5).max(-0.999);
        }
        while l_skewness(high) > moments.t3 && high < 60.0 {
            high += 2.0;
        }
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if l_skewness(middle) > moments.t3 {
                low = middle;
            } else {
                high = middle;
            }
        }
        Self::with_shape(moments, 0.5 * (low + high))
    }

    /// The distribution of this shape that has the first two L-moments.
    pub fn with_shape(moments: &LMoments, shape: f64) -> Option<Self> {
        let gev = if shape.abs() < GUMBEL_BELOW {
            let scale = moments.l2 / std::f64::consts::LN_2;
            Self {
                location: moments.l1 - EULER * scale,
                scale,
                shape: 0.0,
            }
        } else {
            if shape <= -1.0 {
                return None;
            }
            let g = gamma(1.0 + shape);
            let scale = moments.l2 * shape / (-(-shape * std::f64::consts::LN_2).exp_m1() * g);
            // 1 − Γ(1+k) loses digits near zero: expm1 of the logarithm keeps them.
            let one_minus_g = -ln_gamma(1.0 + shape).exp_m1();
            Self {
                location: moments.l1 - scale * one_minus_g / shape,
                scale,
                shape,
            }
        };
        (gev.location.is_finite() && gev.scale.is_finite() && gev.scale > 0.0).then_some(gev)
    }

    /// Value not exceeded with probability `p`, 0 < p < 1: `ξ + α/k (1 − (−ln p)^k)`; `p` is clamped into the open range.
    pub fn quantile(&self, p: f64) -> f64 {
        let y = -(p.clamp(1e-12, 1.0 - 1e-12)).ln();
        if self.shape.abs() < GUMBEL_BELOW {
            self.location - self.scale * y.ln()
        } else {
            self.location - self.scale * (self.shape * y.ln()).exp_m1() / self.shape
        }
    }

    /// Coldest night that is reached or passed once in `years` on average, °C, when the distribution is of `−minimum`.
    pub fn minimum_c(&self, years: f64) -> f64 {
        -self.quantile(1.0 - 1.0 / years.max(1.01))
    }
}

/// Fits annual minima, °C, by L-moments of `−minimum`.
pub fn fit_minima(minima_c: &[f64]) -> Option<Gev> {
    let flipped: Vec<f64> = minima_c.iter().map(|value| -value).collect();
    Gev::from_l_moments(&l_moments(&flipped)?)
}

/// The handbook's factor of the n-year extreme: `F = −(√6/π)(0.5772 + ln ln(n/(n−1)))` \[ashrae-n-year\]; `n` above 1.
pub fn n_year_factor(years: f64) -> f64 {
    let n = years.max(1.01);
    -(6.0_f64.sqrt() / std::f64::consts::PI) * (0.5772 + (n / (n - 1.0)).ln().ln())
}

/// The handbook's n-year minimum `M − F s`, °C, from the mean and the standard deviation of annual minima \[ashrae-n-year\].
pub fn n_year_minimum_c(mean_c: f64, standard_deviation_k: f64, years: f64) -> f64 {
    mean_c - n_year_factor(years) * standard_deviation_k
}

/// Mean and standard deviation (divisor n − 1) of a sample; `None` below two values.
pub fn mean_and_sd(values: &[f64]) -> Option<(f64, f64)> {
    if values.len() < 2 {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Some((mean, (squares / (n - 1.0)).sqrt()))
}

/// Return-level bands by parametric bootstrap: samples of the same length are drawn from the fitted distribution, each is
/// fitted again, and the band runs between the `tail` and `1 − tail` quantiles of the levels.
///
/// Parametric and not by resampling, because resampled records hold no night colder than the record and their bands are
/// too narrow \[kysely-2008\]. Fits that fail are drawn again, at most twice as often as asked. The draws are a stream of
/// (seed): the same record and seed give the same bytes.
///
/// Returns `(low, high)` in °C for each of `years`, low being the colder; `None` when fewer than half the fits succeed.
pub fn bootstrap_bands(
    gev: &Gev,
    sample_size: usize,
    years: &[f64],
    replicates: usize,
    tail: f64,
    seed: u64,
) -> Option<Vec<(f64, f64)>> {
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut levels: Vec<Vec<f64>> = vec![Vec::with_capacity(replicates); years.len()];
    let mut kept = 0;
    for _ in 0..replicates.saturating_mul(2) {
        if kept == replicates {
            break;
        }
        let sample: Vec<f64> = (0..sample_size)
            .map(|_| {
                // 53 random bits, centered in their cell so that neither 0 nor 1 is drawn.
                let unit = ((random.next_u64() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64;
                gev.quantile(unit)
            })
            .collect();
        let Some(fit) = l_moments(&sample).and_then(|moments| Gev::from_l_moments(&moments)) else {
            continue;
        };
        kept += 1;
        for (level, years) in levels.iter_mut().zip(years) {
            level.push(fit.minimum_c(*years));
        }
    }
    if kept * 2 < replicates || kept < 20 {
        return None;
    }
    Some(
        levels
            .into_iter()
            .map(|mut level| {
                level.sort_by(f64::total_cmp);
                (sorted_quantile(&level, tail), sorted_quantile(&level, 1.0 - tail))
            })
            .collect(),
    )
}

/// Quantile of a sorted sample by linear interpolation between order statistics; 0 for an empty one.
pub fn sorted_quantile(sorted: &[f64], p: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else {
        return 0.0;
    };
    let position = p.clamp(0.0, 1.0) * last as f64;
    let below = position.floor() as usize;
    let value = |at: usize| sorted.get(at.min(last)).copied().unwrap_or(0.0);
    value(below) + (value(below + 1) - value(below)) * (position - below as f64)
}
