//! Small numerical tools of the review: normal tails, quadrature, inverse distribution functions, a portable draw.

use statrs::function::beta::beta_reg;
use statrs::function::erf::erfc;
use statrs::function::gamma::gamma_lr;
use std::f64::consts::{PI, SQRT_2};

/// Density of the standard normal.
pub fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// Standard normal distribution function.
pub fn phi(z: f64) -> f64 {
    0.5 * erfc(-z / SQRT_2)
}

/// Logarithm of [`phi`], exact in the far lower tail too, where the function itself is 0.
pub fn ln_phi(z: f64) -> f64 {
    if z > -30.0 {
        return phi(z).max(f64::MIN_POSITIVE).ln();
    }
    // Asymptotic series of Mills' ratio.
    let q = 1.0 / (z * z);
    -0.5 * z * z - (-z).ln() - 0.5 * (2.0 * PI).ln() + (1.0 - q + 3.0 * q * q).ln()
}

/// Inverse of [`phi`]; `p` is kept off 0 and 1.
pub fn probit(p: f64) -> f64 {
    use statrs::distribution::{ContinuousCDF, Normal};
    Normal::standard().inverse_cdf(p.clamp(1e-15, 1.0 - 1e-15))
}

/// Nodes and weights of Gauss-Hermite quadrature against the standard normal density: the weights sum to 1.
///
/// Newton's method on the orthonormal recurrence (a textbook method, no source needed); exact for polynomials up to degree 2n − 1.
pub fn hermite(n: usize) -> (Vec<f64>, Vec<f64>) {
    let mut nodes = vec![0.0; n];
    let mut weights = vec![0.0; n];
    let order = n as f64;
    let mut z = 0.0;
    for i in 0..n.div_ceil(2) {
        z = match i {
            0 => (2.0 * order + 1.0).sqrt() - 1.85575 * (2.0 * order + 1.0).powf(-0.16667),
            1 => z - 1.14 * order.powf(0.426) / z,
            2 => 1.86 * z - 0.86 * nodes[0],
            3 => 1.91 * z - 0.91 * nodes[1],
            _ => 2.0 * z - nodes[i - 2],
        };
        let mut slope = 1.0;
        for _ in 0..200 {
            let (mut p1, mut p2) = (PI.powf(-0.25), 0.0);
            for j in 0..n {
                let j = j as f64;
                let p3 = p2;
                p2 = p1;
                p1 = z * (2.0 / (j + 1.0)).sqrt() * p2 - (j / (j + 1.0)).sqrt() * p3;
            }
            slope = (2.0 * order).sqrt() * p2;
            let step = p1 / slope;
            z -= step;
            if step.abs() < 1e-14 {
                break;
            }
        }
        nodes[i] = z;
        nodes[n - 1 - i] = -z;
        weights[i] = 2.0 / (slope * slope);
        weights[n - 1 - i] = weights[i];
    }
    let sum: f64 = weights.iter().sum();
    (
        nodes.iter().rev().map(|z| z * SQRT_2).collect(),
        weights.iter().map(|w| w / sum).collect(),
    )
}

/// The place at which a rising function passes `target`, by halving.
fn crossing(rising: &dyn Fn(f64) -> f64, target: f64, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if rising(middle) < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Quantile of the chi-squared distribution with `freedom` degrees of freedom.
pub fn chi_squared_quantile(q: f64, freedom: f64) -> f64 {
    let most = freedom + 40.0 * (2.0 * freedom).sqrt() + 200.0;
    crossing(&|x| gamma_lr(0.5 * freedom, (0.5 * x).max(1e-300)), q, 0.0, most)
}

/// Quantile of the beta distribution.
pub fn beta_quantile(q: f64, a: f64, b: f64) -> f64 {
    crossing(&|x| beta_reg(a, b, x.clamp(0.0, 1.0)), q, 0.0, 1.0)
}

/// Exact limits of the mean of a Poisson count at confidence `1 - alpha`.
pub fn poisson_limits(count: f64, alpha: f64) -> (f64, f64) {
    let low = if count > 0.0 {
        chi_squared_quantile(0.5 * alpha, 2.0 * count) / 2.0
    } else {
        0.0
    };
    (low, chi_squared_quantile(1.0 - 0.5 * alpha, 2.0 * count + 2.0) / 2.0)
}

/// A stream of uniform numbers that is the same on every machine.
pub struct Draws(rand_pcg::Pcg64);

impl Draws {
    /// The stream of a seed.
    pub fn new(seed: u64) -> Self {
        use rand_pcg::rand_core::SeedableRng;
        Self(rand_pcg::Pcg64::seed_from_u64(seed))
    }

    /// The next number, above 0 and below 1.
    pub fn uniform(&mut self) -> f64 {
        use rand_pcg::rand_core::Rng;
        ((self.0.next_u64() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// One of `0..n`; 0 where there is nothing to choose from.
    pub fn below(&mut self, n: usize) -> usize {
        ((self.uniform() * n as f64) as usize).min(n.saturating_sub(1))
    }

    /// The next standard normal number.
    pub fn normal(&mut self) -> f64 {
        probit(self.uniform())
    }
}

/// Value of sorted `values` at a share, straight between neighbours; `None` without values.
pub fn quantile(sorted: &[f64], share: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let at = share.clamp(0.0, 1.0) * last as f64;
    let low = at.floor() as usize;
    let high = (low + 1).min(last);
    Some(sorted[low] + (at - low as f64) * (sorted[high] - sorted[low]))
}
