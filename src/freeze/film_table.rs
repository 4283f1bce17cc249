//! Film coefficients by table, so that the ensemble pays one interpolation and not two powers.
//!
//! Forced convection is nearly straight in √V and free convection in ΔT^¼, so straight lines between
//! 96 nodes keep the correlations to 1e-3 (a test holds it).

use crate::physics::film;

const NODES: usize = 96;
/// Top of the wind table, √(m/s).
const ROOT_WIND_MAX: f64 = 7.0;
/// Top of the temperature table, K^¼.
const ROOT_DELTA_MAX: f64 = 3.2;

/// Convection of a cylinder of one diameter in air of one film temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmTable {
    /// Forced convection, W/m²K, at evenly spaced √V.
    forced: Vec<f64>,
    /// Free convection, W/m²K, at evenly spaced ΔT^¼.
    free: Vec<f64>,
}

impl FilmTable {
    /// Tables for a diameter, m, at a film temperature, K, and an absolute pressure, Pa.
    pub fn new(diameter_m: f64, film_k: f64, abs_pa: f64) -> Self {
        let node = |at: usize, top: f64| top * at as f64 / (NODES - 1) as f64;
        let forced = (0..NODES)
            .map(|at| film::forced_w_m2k(node(at, ROOT_WIND_MAX).powi(2), diameter_m, film_k, abs_pa))
            .collect();
        let free = (0..NODES)
            .map(|at| film::free_w_m2k(node(at, ROOT_DELTA_MAX).powi(4), diameter_m, film_k, abs_pa))
            .collect();
        Self { forced, free }
    }

    /// The nodes, W/m²K: forced convection at evenly spaced √V up to 7 √(m/s), free convection at evenly spaced ΔT^¼ up
    /// to 3.2 K^¼. For programs that check this one.
    pub fn nodes(&self) -> (&[f64], &[f64]) {
        (&self.forced, &self.free)
    }

    /// Forced convection at a wind speed, W/m²K.
    pub fn forced(&self, wind_m_s: f64) -> f64 {
        between(
            &self.forced,
            wind_m_s.max(0.0).sqrt() * ((NODES - 1) as f64 / ROOT_WIND_MAX),
        )
    }

    /// Free convection at a temperature difference, W/m²K.
    pub fn free(&self, delta_k: f64) -> f64 {
        between(
            &self.free,
            delta_k.abs().sqrt().sqrt() * ((NODES - 1) as f64 / ROOT_DELTA_MAX),
        )
    }

    /// Forced and free together by the fourth-power blend of cylinders in cross-flow \[incropera\], W/m²K.
    pub fn convection(&self, wind_m_s: f64, delta_k: f64) -> f64 {
        blend(self.forced(wind_m_s), self.free(delta_k))
    }
}

/// (a⁴ + b⁴)^¼.
pub fn blend(a: f64, b: f64) -> f64 {
    let (a2, b2) = (a * a, b * b);
    (a2 * a2 + b2 * b2).sqrt().sqrt()
}

fn between(table: &[f64], at: f64) -> f64 {
    let at = at.clamp(0.0, (NODES - 1) as f64 - 1e-9);
    let lower = at as usize;
    let t = at - lower as f64;
    let (a, b) = (table[lower], table[lower + 1]);
    a + t * (b - a)
}
