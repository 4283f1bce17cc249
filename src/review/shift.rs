//! One shift of the log odds: an alarm beside the physics, and beta shares of what calls bring about.

use super::math::beta_quantile;
use super::scores::clipped;
use serde::Serialize;

fn logit(p: f64) -> f64 {
    (p / (1.0 - p)).ln()
}

/// The shifted chance.
pub fn shifted(p: f64, shift: f64, members: usize) -> f64 {
    1.0 / (1.0 + (-(logit(clipped(p, members)) + shift)).exp())
}

/// Most probable shift of the log odds under the prior N(0, 1), with its standard deviation by curvature.
pub fn log_odds_shift(rows: &[(f64, bool)], members: usize) -> (f64, f64) {
    let mut shift = 0.0;
    let mut curvature = 1.0;
    // Newton's method on a concave function; the step is kept short so that it cannot leap.
    for _ in 0..200 {
        let mut slope = -shift;
        curvature = 1.0;
        for (p, broke) in rows {
            let q = shifted(*p, shift, members);
            slope += f64::from(u8::from(*broke)) - q;
            curvature += q * (1.0 - q);
        }
        let step = (slope / curvature).clamp(-1.0, 1.0);
        shift += step;
        if step.abs() < 1e-12 {
            break;
        }
    }
    (shift, 1.0 / f64::sqrt(curvature))
}

/// A share learnt from counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rate {
    /// Times it happened.
    pub happened: usize,
    /// Times it could have.
    pub of: usize,
    /// Mean of the posterior.
    pub mean: f64,
    /// 90 % interval.
    pub interval: (f64, f64),
}

/// Posterior of a share under a beta prior of mean `prior` worth `weight` observations.
pub fn rate(happened: usize, of: usize, prior: f64, weight: f64) -> Rate {
    let a = prior * weight + happened as f64;
    let b = (1.0 - prior) * weight + (of - happened.min(of)) as f64;
    Rate {
        happened,
        of,
        mean: a / (a + b),
        interval: (beta_quantile(0.05, a, b), beta_quantile(0.95, a, b)),
    }
}
