//! Film coefficients in a form that members side by side evaluate without a table or a call.
//!
//! Free convection by Churchill and Chu is a square of a straight line in ΔT^(1/6), so two constants a diameter say it
//! (the sixth root is taken to 1e-4). Forced convection by Churchill and Bernstein, less its value at rest and over √V, is smooth in √V: a polynomial
//! through eight Chebyshev points keeps it to 1e-3 (the test below holds it).
//!
//! Numbers without a tag of their own: how the fit is laid out (judgement).

use super::lane::Lane;
use super::real::Real;
use crate::physics::film;

/// Points of the polynomial.
const POINTS: usize = 8;
/// Top of the fit, √(m/s): stronger wind is taken as 49 m/s.
const ROOT_WIND_MAX: f64 = 7.0;

/// Convection of a cylinder of one diameter in air of one film temperature.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmFit {
    /// Forced convection at rest, W/m²K.
    at_rest: f64,
    /// Where the polynomial goes through the correlation, √(m/s).
    points: [f64; POINTS],
    /// Divided differences over those points of (forced − at rest)/√V.
    differences: [f64; POINTS],
    /// Free convection is (a + b·ΔT^(1/6))²; a, √(W/m²K).
    free_a: f64,
    /// b, √(W/m²K) per K^(1/6).
    free_b: f64,
}

impl FilmFit {
    /// For a diameter, m, at a film temperature, K, and an absolute pressure, Pa.
    pub fn new(diameter_m: f64, film_k: f64, abs_pa: f64) -> Self {
        let at_rest = film::forced_w_m2k(0.0, diameter_m, film_k, abs_pa);
        let points: [f64; POINTS] = std::array::from_fn(|i| {
            let angle = std::f64::consts::PI * (i as f64 + 0.5) / POINTS as f64;
            0.5 * ROOT_WIND_MAX * (1.0 + angle.cos())
        });
        let mut differences =
            points.map(|root| (film::forced_w_m2k(root * root, diameter_m, film_k, abs_pa) - at_rest) / root);
        for order in 1..POINTS {
            for i in (order..POINTS).rev() {
                differences[i] = (differences[i] - differences[i - 1]) / (points[i] - points[i - order]);
            }
        }
        let free_a = film::free_w_m2k(0.0, diameter_m, film_k, abs_pa).sqrt();
        Self {
            at_rest,
            points,
            differences,
            free_a,
            free_b: film::free_w_m2k(1.0, diameter_m, film_k, abs_pa).sqrt() - free_a,
        }
    }

    /// All constants, for programs that check this one: at rest, points, divided differences, a and b of free convection.
    pub fn constants(&self) -> (f64, &[f64], &[f64], f64, f64) {
        (self.at_rest, &self.points, &self.differences, self.free_a, self.free_b)
    }

    /// Forced convection, W/m²K, at the root of the wind speed, √(m/s).
    #[inline(always)]
    pub fn forced<const W: usize, F: Real>(&self, root_wind: Lane<W, F>) -> Lane<W, F> {
        let root = root_wind.min(Lane::all(F::of(ROOT_WIND_MAX)));
        let mut sum = Lane::all(F::of(self.differences[POINTS - 1]));
        for i in (0..POINTS - 1).rev() {
            sum = sum * (root - F::of(self.points[i])) + F::of(self.differences[i]);
        }
        root * sum + F::of(self.at_rest)
    }

    /// Free convection, W/m²K, at a temperature difference, K.
    #[inline(always)]
    pub fn free<const W: usize, F: Real>(&self, delta_k: Lane<W, F>) -> Lane<W, F> {
        let root = delta_k.map(F::sixth_root) * F::of(self.free_b) + F::of(self.free_a);
        root * root
    }

    /// Forced and free together by the fourth-power blend of cylinders in cross-flow \[incropera\], W/m²K.
    pub fn convection(&self, wind_m_s: f64, delta_k: f64) -> f64 {
        let forced = self.forced(Lane([wind_m_s.max(0.0).sqrt()])).0[0];
        blend(forced, self.free(Lane([delta_k])).0[0])
    }
}

/// (a⁴ + b⁴)^¼.
#[inline(always)]
pub fn blend<F: Real>(a: F, b: F) -> F {
    let (a2, b2) = (a * a, b * b);
    (a2 * a2 + b2 * b2).sqrt().sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_fit_is_the_correlations_to_a_thousandth() {
        // X-Val: the correlations themselves as physics::film has them (their own checks against handbooks are in
        // tests/physics_film.rs), from test cocks to 10 in bodies. They differ from each other by 10 %.
        for diameter in [0.008, 0.022, 0.033, 0.06, 0.12, 0.3, 0.45] {
            let fit = FilmFit::new(diameter, 270.0, 101_325.0);
            for i in 0..=490 {
                let wind = 0.1 * f64::from(i);
                let told = film::forced_w_m2k(wind, diameter, 270.0, 101_325.0);
                let ours = fit.forced(Lane([wind.sqrt()])).0[0];
                assert_relative_eq!(ours, told, max_relative = 1e-3);
            }
            for i in 1..=600 {
                let delta = 0.1 * f64::from(i);
                let told = film::free_w_m2k(delta, diameter, 270.0, 101_325.0);
                assert_relative_eq!(fit.free(Lane([-delta])).0[0], told, max_relative = 3e-4);
            }
        }
    }
}
