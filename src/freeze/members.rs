//! The draws of the ensemble: the same for every assembly, so that the ranking is about the
//! assemblies and not about luck.
//!
//! Quasi-random points of Owen-scrambled Sobol' sequences \[burley-2020\], turned into the stated
//! distributions by their inverse. A draw depends on seed, member and dimension only.
//!
//! Numbers without a tag of their own: exact: days, and the bits of a quasi-random point.

use super::config::EnsembleConfig;
use statrs::distribution::{Beta, ContinuousCDF, Normal};

/// Days between the knots of the forecast error.
const KNOT_H: f64 = 24.0;
/// Knots of the forecast error; beyond them the error stays as it is.
const KNOTS: u32 = 17;
/// Dimensions of the quasi-random points.
const NUCLEATION: u32 = 0;
const SITE: u32 = 1;
const SHELTER: u32 = 2;
const DRAWS: u32 = 3;
const ERROR: u32 = 4;
const STRENGTH: u32 = ERROR + KNOTS;
/// Parts that have a strength and a shape of their own.
pub const STRENGTHS: usize = 20;
const SHAPE: u32 = STRENGTH + STRENGTHS as u32;

/// Far behind the dimensions of the parts, so that a part more moves no cloud.
const SKY: u32 = 96;

/// Parts the scrambles of the areas (the golden ratio in 32 bits: odd, so that each area has its own).
const AREA_SCRAMBLE: u32 = 0x9e37_79b9;

/// The members' draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Members {
    /// Nucleation temperature, °C, `[members]`.
    pub nucleation_c: Vec<f64>,
    /// Site minus station, K, `[members]`.
    pub site_k: Vec<f64>,
    /// Relative wind shelter, `[members]`.
    pub shelter: Vec<f64>,
    /// Factor on draws, `[members]`.
    pub draws: Vec<f64>,
    /// Cloud cover where the series tells none, 0 to 1, `[members]`: the sky of the whole spell.
    pub sky_cover: Vec<f64>,
    /// Relative strength, `[STRENGTHS][members]`.
    pub strength: Vec<Vec<f64>>,
    /// Standard score of a casting's inner shape: how soon its narrows close, how much a closed cavity gives, `[STRENGTHS][members]`.
    pub shape: Vec<Vec<f64>>,
    /// Standardised forecast error at the knots, `[knots][members]`.
    error: Vec<Vec<f64>>,
    /// Correlation of neighbouring knots.
    rho: f64,
}

impl Members {
    /// One member without any error, with ice at 0 °C and parts of nominal strength: the cautious edge.
    pub fn deterministic() -> Self {
        Self {
            nucleation_c: vec![0.0],
            site_k: vec![0.0],
            shelter: vec![1.0],
            draws: vec![1.0],
            // The cautious edge: a clear sky.
            sky_cover: vec![0.0],
            strength: vec![vec![1.0]; STRENGTHS],
            shape: vec![vec![0.0]; STRENGTHS],
            error: Vec::new(),
            rho: 0.0,
        }
    }

    /// `count` members of a seed; 1 is the deterministic run. At most 65,536.
    pub fn new(count: usize, seed: u64, strength_log_sd: f64, config: &EnsembleConfig) -> Self {
        if count <= 1 {
            return Self::deterministic();
        }
        let count = count.min(1 << 16);
        let seed32 = folded(seed);
        Self::from_uniform(count, strength_log_sd, config, &|member, dimension| {
            uniform(member, dimension, seed32)
        })
    }

    /// Members from any source of uniform numbers: `uniform(member, dimension)` in 0 to 1.
    pub fn from_uniform(
        count: usize,
        strength_log_sd: f64,
        config: &EnsembleConfig,
        uniform: &dyn Fn(u32, u32) -> f64,
    ) -> Self {
        let count = count as u32;
        let uniform = |member: u32, dimension: u32| uniform(member, dimension).clamp(1e-7, 1.0 - 1e-7);
        let normal = |u: f64| Normal::standard().inverse_cdf(u);
        let all = |draw: &dyn Fn(u32) -> f64| (0..count).map(draw).collect::<Vec<f64>>();
        let (error, rho) = errors(count, config, &uniform);
        let away = config.away.clamp(0.0, 1.0);
        Self {
            nucleation_c: all(&|m| {
                (config.nucleation_mean_c + config.nucleation_sd_k * normal(uniform(m, NUCLEATION)))
                    .min(config.nucleation_max_c)
            }),
            site_k: all(&|m| config.site_k * normal(uniform(m, SITE))),
            shelter: all(&|m| (config.shelter_log_sd * normal(uniform(m, SHELTER))).exp()),
            draws: all(&|m| {
                let u = uniform(m, DRAWS);
                if u < away {
                    0.0
                } else {
                    (config.draws_log_sd * normal((u - away) / (1.0 - away))).exp()
                }
            }),
            sky_cover: all(&|m| cloud(uniform(m, SKY), config.sky_cover_mean)),
            strength: (0..STRENGTHS as u32)
                .map(|part| all(&|m| (strength_log_sd * normal(uniform(m, STRENGTH + part))).exp()))
                .collect(),
            shape: (0..STRENGTHS as u32)
                .map(|part| all(&|m| normal(uniform(m, SHAPE + part))))
                .collect(),
            error,
            rho,
        }
    }

    /// The members with forecast errors of their own in the place of these, drawn for another area.
    pub(super) fn with_errors_of(&self, seed: u64, area: u32, config: &EnsembleConfig) -> Self {
        let seed32 = folded(seed) ^ area.wrapping_mul(AREA_SCRAMBLE);
        let count = self.count().min(1 << 16) as u32;
        let (error, rho) = errors(count, config, &|member, dimension| {
            uniform(member, dimension, seed32).clamp(1e-7, 1.0 - 1e-7)
        });
        Self {
            error,
            rho,
            ..self.clone()
        }
    }

    /// The members with a weighted sum of these errors and those of `others` in the place of these: of unit variance where the squares of the
    /// weights sum to 1.
    pub(super) fn mixed(&self, weights: &[f64], others: &[Self]) -> Self {
        let mut mixed = self.clone();
        for (knot, values) in mixed.error.iter_mut().enumerate() {
            for (member, value) in values.iter_mut().enumerate() {
                let all = std::iter::once(self).chain(others);
                *value = weights
                    .iter()
                    .zip(all)
                    .map(|(weight, one)| weight * one.error[knot][member])
                    .sum();
            }
        }
        mixed
    }

    /// Members.
    pub fn count(&self) -> usize {
        self.nucleation_c.len()
    }

    /// The first `count` members: a coarser set of the same points.
    pub fn first(&self, count: usize) -> Self {
        let cut = |values: &Vec<f64>| values.iter().copied().take(count).collect::<Vec<f64>>();
        Self {
            nucleation_c: cut(&self.nucleation_c),
            site_k: cut(&self.site_k),
            shelter: cut(&self.shelter),
            draws: cut(&self.draws),
            sky_cover: cut(&self.sky_cover),
            strength: self.strength.iter().map(cut).collect(),
            shape: self.shape.iter().map(cut).collect(),
            error: self.error.iter().map(cut).collect(),
            rho: self.rho,
        }
    }

    /// Standardised forecast error of a member at a lead, h: unit variance at every lead, correlated in time.
    pub fn error(&self, member: usize, lead_h: f64) -> f64 {
        if self.error.is_empty() {
            return 0.0;
        }
        let at = (lead_h / KNOT_H).clamp(0.0, (self.error.len() - 1) as f64);
        let lower = (at as usize).min(self.error.len() - 2);
        let t = at - lower as f64;
        // Between knots the straight line, stretched back to unit variance.
        let variance = (1.0 - t) * (1.0 - t) + t * t + 2.0 * t * (1.0 - t) * self.rho;
        ((1.0 - t) * self.error[lower][member] + t * self.error[lower + 1][member]) / variance.sqrt()
    }
}

/// The scramble takes 32 bits of seed; folding keeps all 64 in play.
fn folded(seed: u64) -> u32 {
    (seed ^ (seed >> 32)) as u32
}

/// A quasi-random number. 24-bit points: the half step keeps them off 0 and 1.
fn uniform(member: u32, dimension: u32, seed32: u32) -> f64 {
    f64::from(sobol_burley::sample(member, dimension, seed32)) + 0.5 / 16_777_216.0
}

/// Standardised forecast error at the knots, `[knots][members]`, and the correlation of neighbouring ones.
fn errors(count: u32, config: &EnsembleConfig, uniform: &dyn Fn(u32, u32) -> f64) -> (Vec<Vec<f64>>, f64) {
    let rho = (-KNOT_H / config.error_correlation_h.max(1.0)).exp();
    let mut error: Vec<Vec<f64>> = Vec::with_capacity(KNOTS as usize);
    for knot in 0..KNOTS {
        let fresh: Vec<f64> = (0..count)
            .map(|m| Normal::standard().inverse_cdf(uniform(m, ERROR + knot)))
            .collect();
        let values = match error.last() {
            None => fresh,
            Some(before) => before
                .iter()
                .zip(&fresh)
                .map(|(b, f)| rho * b + (1.0 - rho * rho).sqrt() * f)
                .collect(),
        };
        error.push(values);
    }
    (error, rho)
}

/// Cloud cover at a quantile, 0 to 1: the sky is mostly clear or mostly overcast, as a beta distribution has it whose two shapes sum to 1
/// \[falls-1974\] (the shape of the distribution; the sum is judgement).
fn cloud(quantile: f64, mean: f64) -> f64 {
    let mean = mean.clamp(0.0, 1.0);
    match Beta::new(mean, 1.0 - mean) {
        Ok(beta) => beta.inverse_cdf(quantile).clamp(0.0, 1.0),
        // All clear or all overcast.
        Err(_) => mean,
    }
}

/// Root-mean-square forecast error at a lead, K: straight between the config's nodes, flat beyond.
pub fn error_size_k(config: &EnsembleConfig, lead_h: f64) -> f64 {
    let nodes: Vec<(f64, f64)> = config
        .error_lead_h
        .iter()
        .copied()
        .zip(config.error_k.iter().copied())
        .collect();
    let Some(first) = nodes.first() else { return 0.0 };
    if lead_h <= first.0 {
        return first.1;
    }
    for pair in nodes.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if lead_h <= x1 {
            return if x1 > x0 {
                y0 + (y1 - y0) * (lead_h - x0) / (x1 - x0)
            } else {
                y1
            };
        }
    }
    nodes.last().map_or(0.0, |node| node.1)
}
