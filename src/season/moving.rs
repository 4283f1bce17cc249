//! Whether the coldest nights move with the years: extremes with a trend in their location, beside those without.
//!
//! Everything works on `x = −minimum`, so that the coldest is the largest. The generalised extreme value law has location
//! `μ₀ + μ₁ (season − 2000)/10`, constant scale and constant shape, fitted by maximum likelihood; the two are compared by the
//! likelihood ratio \[coles-2001\].

use super::minimise::minimise;
use crate::weather::extremes::LEAST_WINTERS;

/// A trend is used only below this p-value (the usual one, judgement); both answers are told then.
pub const TREND_P: f64 = 0.05;
/// Below this the shape counts as zero.
const GUMBEL_BELOW: f64 = 1e-9;
/// Season from which the trend is counted.
const ORIGIN: f64 = 2000.0;

/// A law of the winters' coldest nights; `x = −minimum`, °C.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Law {
    /// Location at the season 2000, °C of `−minimum`.
    pub location: f64,
    /// Change of the location in a decade, K; negative where minima rise. 0 in the law that stands still.
    pub trend_k_per_decade: f64,
    /// Scale, K, above zero.
    pub scale: f64,
    /// Shape ξ: positive has a heavy tail, negative an upper bound.
    pub shape: f64,
    /// Negative logarithm of the likelihood.
    pub nll: f64,
}

impl Law {
    /// Location in a season, °C of `−minimum`.
    pub fn location_in(&self, season: f64) -> f64 {
        self.location + self.trend_k_per_decade * (season - ORIGIN) / 10.0
    }

    /// Minimum that a winter like that of `season` falls below with chance `p`, °C; `p` is clamped into the open range 0 to 1.
    pub fn minimum_c(&self, season: f64, p: f64) -> f64 {
        let y = -(1.0 - p.clamp(1e-12, 1.0 - 1e-12)).ln();
        let reduced = if self.shape.abs() > GUMBEL_BELOW {
            (-self.shape * y.ln()).exp_m1() / self.shape
        } else {
            -y.ln()
        };
        -(self.location_in(season) + self.scale * reduced)
    }

    /// Coldest night of `years` winters like that of `season`, °C.
    pub fn coldest_of_c(&self, season: f64, years: f64) -> f64 {
        self.minimum_c(season, 1.0 / years.max(1.01))
    }

    /// Chance that a winter like that of `season` falls below `threshold_c`, 0 to 1.
    pub fn chance_below(&self, season: f64, threshold_c: f64) -> f64 {
        let y = (-threshold_c - self.location_in(season)) / self.scale;
        if self.shape.abs() <= GUMBEL_BELOW {
            return -(-(-y).exp()).exp_m1();
        }
        let t = 1.0 + self.shape * y;
        if t > 0.0 {
            -(-t.powf(-1.0 / self.shape)).exp_m1()
        } else if self.shape < 0.0 {
            0.0
        } else {
            1.0
        }
    }

    /// Mean of `f(minimum)` over the winters like that of `season`: the integral over the law by `nodes` midpoints of equal chance.
    pub fn mean_of(&self, season: f64, nodes: usize, f: &dyn Fn(f64) -> f64) -> f64 {
        let nodes = nodes.max(1);
        let each = |k: usize| f(self.minimum_c(season, (k as f64 + 0.5) / nodes as f64));
        (0..nodes).map(each).sum::<f64>() / nodes as f64
    }
}

/// The two laws and the test between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moving {
    /// Winters that were fitted.
    pub winters: usize,
    /// The law that stands still.
    pub still: Law,
    /// The law that moves.
    pub moving: Law,
    /// Twice the gain in log-likelihood.
    pub likelihood_ratio: f64,
    /// Chance of so much gain or more where nothing moves, 0 to 1.
    pub p_value: f64,
}

impl Moving {
    /// Fits both to `(season, minimum °C)` pairs. `None` for fewer than [`LEAST_WINTERS`] winters, for minima that are all alike or not
    /// finite, and for seasons that are all one.
    pub fn fit(winters: &[(i32, f64)]) -> Option<Self> {
        if winters.len() < LEAST_WINTERS || winters.iter().any(|winter| !winter.1.is_finite()) {
            return None;
        }
        let x: Vec<f64> = winters.iter().map(|winter| -winter.1).collect();
        let z: Vec<f64> = winters
            .iter()
            .map(|winter| (f64::from(winter.0) - ORIGIN) / 10.0)
            .collect();
        let n = x.len() as f64;
        let mean = x.iter().sum::<f64>() / n;
        let sd = (x.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n).sqrt();
        let moves = z.iter().any(|one| *one != z[0]);
        if !moves || sd < 1e-6 {
            return None;
        }
        let still = fit(&x, &z, mean, sd, false)?;
        let moving = fit(&x, &z, mean, sd, true)?;
        let likelihood_ratio = (2.0 * (still.nll - moving.nll)).max(0.0);
        Some(Self {
            winters: x.len(),
            still,
            moving,
            likelihood_ratio,
            // Chi-square with one degree of freedom.
            p_value: statrs::function::erf::erfc((0.5 * likelihood_ratio).sqrt()),
        })
    }

    /// Whether the trend may be used.
    pub fn is_moving(&self) -> bool {
        self.p_value < TREND_P
    }

    /// The law that the rule chooses.
    pub fn law(&self) -> Law {
        if self.is_moving() { self.moving } else { self.still }
    }

    /// Kelvin by which a night of `from` is to be raised to stand for one of `to`; 0 where the trend may not be used.
    pub fn shift_k(&self, from: i32, to: i32) -> f64 {
        if self.is_moving() {
            -self.moving.trend_k_per_decade * f64::from(to - from) / 10.0
        } else {
            0.0
        }
    }
}

fn fit(x: &[f64], z: &[f64], mean: f64, sd: f64, moves: bool) -> Option<Law> {
    let law = |t: &[f64]| Law {
        location: t[0],
        scale: t[1].exp(),
        shape: t[2],
        trend_k_per_decade: t.get(3).copied().unwrap_or(0.0),
        nll: 0.0,
    };
    let height = |t: &[f64]| nll(&law(t), x, z);
    let mut best: Option<(Vec<f64>, f64)> = None;
    // Three shapes to start from: the likelihood has side valleys near its edge of support.
    for shape in [-0.2, -0.05, 0.1] {
        let mut start = vec![
            mean - 0.45 * sd,
            (sd * 6.0_f64.sqrt() / std::f64::consts::PI).ln(),
            shape,
        ];
        let mut step = vec![0.3 * sd, 0.2, 0.1];
        if moves {
            start.push(0.0);
            step.push(0.1 * sd);
        }
        let found = minimise(&height, &start, &step);
        if found.1.is_finite() && best.as_ref().is_none_or(|best| found.1 < best.1) {
            best = Some(found);
        }
    }
    let (point, nll) = best?;
    Some(Law { nll, ..law(&point) })
}

fn nll(law: &Law, x: &[f64], z: &[f64]) -> f64 {
    // A shape of −1 or less has a likelihood without bound at the edge of its support.
    if law.shape <= -1.0 || !law.scale.is_finite() || law.scale <= 0.0 {
        return f64::INFINITY;
    }
    x.iter()
        .zip(z)
        .map(|(x, z)| {
            let y = (x - law.location - law.trend_k_per_decade * z) / law.scale;
            if law.shape.abs() < GUMBEL_BELOW {
                return law.scale.ln() + y + (-y).exp();
            }
            let t = 1.0 + law.shape * y;
            if t <= 0.0 {
                return f64::INFINITY;
            }
            law.scale.ln() + (1.0 + 1.0 / law.shape) * t.ln() + t.powf(-1.0 / law.shape)
        })
        .sum()
}
