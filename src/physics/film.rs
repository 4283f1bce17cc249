//! Heat between a surface and the air around it: forced, free and mixed convection, radiation, wind near the ground.
//!
//! Nusselt numbers are on the diameter (cylinders) or the height (plates), air properties at the film
//! temperature. Handbook correlations differ by 10 to 15 % among themselves at one point; that is their accuracy.
//!
//! Numbers without a tag of their own: coefficients and ranges of the correlation that the function or the kind beside them names, each with
//! its tag there; ends of the ranges that arguments are held to (judgement).

use super::{air, hold};
use std::f64::consts::PI;

/// Stefan-Boltzmann constant, W/(m²·K⁴) (CODATA 2018, exact digits cut) `[codata-2018]`.
pub const STEFAN_BOLTZMANN_W_M2K4: f64 = 5.670_374_419e-8;
/// Standard acceleration of gravity, m/s² (exact).
const GRAVITY_M_S2: f64 = 9.806_65;

/// Correlations for a cylinder in cross flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ForcedCylinder {
    /// Churchill and Bernstein 1977, all Re with Re·Pr over 0.2; a lower bound by its authors' word.
    ChurchillBernstein,
    /// Zukauskas 1972, Re from 1 to 1e6.
    Zukauskas,
    /// Sanitjai and Goldstein 2004, Re from 2e3 to 9e4.
    SanitjaiGoldstein,
}

/// Correlations for free convection around a horizontal cylinder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FreeCylinder {
    /// Churchill and Chu 1975, Ra from 1e-5 to 1e12.
    ChurchillChu,
    /// Churchill and Chu 1975, laminar form, Ra to 1e9.
    ChurchillChuLaminar,
    /// Kuehn and Goldstein 1976.
    KuehnGoldstein,
    /// Morgan 1975.
    Morgan,
}

/// Nusselt number (pure number) by the named correlation for cross flow at `re`, `pr`.
pub fn forced_cylinder_nu(method: ForcedCylinder, re: f64, pr: f64) -> f64 {
    match method {
        ForcedCylinder::ChurchillBernstein => churchill_bernstein_nu(re, pr),
        ForcedCylinder::Zukauskas => zukauskas_nu(re, pr, pr),
        ForcedCylinder::SanitjaiGoldstein => sanitjai_goldstein_nu(re, pr),
    }
}

/// The cross-flow correlations that were fitted at `re` and `pr` (pure numbers), the tool's default first.
pub fn forced_methods_for(re: f64, pr: f64) -> Vec<ForcedCylinder> {
    let mut methods = Vec::new();
    if re * pr > 0.2 {
        methods.push(ForcedCylinder::ChurchillBernstein);
    }
    if (1.0..=1.0e6).contains(&re) && (0.7..=500.0).contains(&pr) {
        methods.push(ForcedCylinder::Zukauskas);
    }
    if (2.0e3..=9.0e4).contains(&re) && (0.7..=176.0).contains(&pr) {
        methods.push(ForcedCylinder::SanitjaiGoldstein);
    }
    methods
}

/// Nusselt number (pure number) by the named free-convection correlation at `ra`, `pr`.
pub fn free_cylinder_nu(method: FreeCylinder, ra: f64, pr: f64) -> f64 {
    match method {
        FreeCylinder::ChurchillChu => churchill_chu_nu(ra, pr),
        FreeCylinder::ChurchillChuLaminar => churchill_chu_laminar_nu(ra, pr),
        FreeCylinder::KuehnGoldstein => kuehn_goldstein_nu(ra, pr),
        FreeCylinder::Morgan => morgan_nu(ra),
    }
}

/// The free-convection correlations that hold at `ra` (pure number), the tool's default first.
pub fn free_methods_for(ra: f64) -> Vec<FreeCylinder> {
    let mut methods = Vec::new();
    if (1.0e-5..=1.0e12).contains(&ra) {
        methods.push(FreeCylinder::ChurchillChu);
    }
    if (1.0e-6..=1.0e9).contains(&ra) {
        methods.push(FreeCylinder::ChurchillChuLaminar);
    }
    if (1.0e-5..=1.0e12).contains(&ra) {
        methods.push(FreeCylinder::KuehnGoldstein);
    }
    if (1.0e-10..=1.0e12).contains(&ra) {
        methods.push(FreeCylinder::Morgan);
    }
    methods
}

fn held_re(re: f64) -> f64 {
    hold(re, 0.0, 1.0e8)
}

fn held_ra(ra: f64) -> f64 {
    hold(ra, 0.0, 1.0e16)
}

fn held_pr(pr: f64) -> f64 {
    hold(pr, 1.0e-3, 1.0e4)
}

/// Nusselt number (pure number) of a cylinder in cross flow `[churchill-bernstein-1977]`.
///
/// `re` and `pr` at the film temperature; meant for Re·Pr over 0.2 and about 0.3 at rest.
pub fn churchill_bernstein_nu(re: f64, pr: f64) -> f64 {
    let (re, pr) = (held_re(re), held_pr(pr));
    let prandtl = (1.0 + (0.4 / pr).powf(2.0 / 3.0)).powf(0.25);
    0.3 + 0.62 * re.sqrt() * pr.cbrt() / prandtl * (1.0 + (re / 282_000.0).powf(0.625)).powf(0.8)
}

/// Nusselt number (pure number) of a cylinder in cross flow by Zukauskas `[zukauskas-1972]`.
///
/// `re`, `pr` at the stream's temperature, `pr_surface` at the surface's.
pub fn zukauskas_nu(re: f64, pr: f64, pr_surface: f64) -> f64 {
    let (re, pr) = (held_re(re), held_pr(pr));
    let (c, m) = if re < 40.0 {
        (0.75, 0.4)
    } else if re < 1.0e3 {
        (0.51, 0.5)
    } else if re < 2.0e5 {
        (0.26, 0.6)
    } else {
        (0.076, 0.7)
    };
    let n = if pr <= 10.0 { 0.37 } else { 0.36 };
    c * re.powf(m) * pr.powf(n) * (pr / held_pr(pr_surface)).powf(0.25)
}

/// Nusselt number (pure number) of a cylinder in cross flow by Sanitjai and Goldstein `[sanitjai-goldstein-2004]`.
pub fn sanitjai_goldstein_nu(re: f64, pr: f64) -> f64 {
    // Above 1e6 the exponential would leave the range of f64; the fit ends at 9e4.
    let (re, pr) = (hold(re, 1.0e-3, 1.0e6), held_pr(pr));
    let wake = (6.5 * (re / 5000.0).exp()).powi(-5) + (0.031 * re.powf(0.8)).powi(-5);
    0.446 * re.sqrt() * pr.powf(0.35) + 0.528 * wake.powf(-0.2) * pr.powf(0.42)
}

/// Nusselt number (pure number) of a horizontal cylinder in still air, Ra from 1e-5 to 1e12 `[churchill-chu-1975-cylinder]`.
pub fn churchill_chu_nu(ra: f64, pr: f64) -> f64 {
    let (ra, pr) = (held_ra(ra), held_pr(pr));
    let prandtl = (1.0 + (0.559 / pr).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.60 + 0.387 * ra.powf(1.0 / 6.0) / prandtl).powi(2)
}

/// Nusselt number (pure number) of a horizontal cylinder, laminar form for Ra under 1e9 `[churchill-chu-1975-cylinder]`.
pub fn churchill_chu_laminar_nu(ra: f64, pr: f64) -> f64 {
    let (ra, pr) = (held_ra(ra), held_pr(pr));
    0.36 + 0.518 * ra.powf(0.25) / (1.0 + (0.559 / pr).powf(9.0 / 16.0)).powf(4.0 / 9.0)
}

/// Nusselt number (pure number) of a horizontal cylinder by Kuehn and Goldstein `[kuehn-goldstein-1976]`.
pub fn kuehn_goldstein_nu(ra: f64, pr: f64) -> f64 {
    let (ra, pr) = (hold(ra, 1.0e-10, 1.0e16), held_pr(pr));
    let laminar = 0.518 * ra.powf(0.25) / (1.0 + (0.559 / pr).powf(0.6)).powf(5.0 / 12.0);
    let turbulent = 0.1 * ra.cbrt();
    let layer = (laminar.powi(15) + turbulent.powi(15)).powf(1.0 / 15.0);
    2.0 / (2.0 / layer).ln_1p()
}

/// Nusselt number (pure number) of a horizontal cylinder by Morgan's pieces, Ra held to 1e-10 to 1e12 `[morgan-1975]`.
pub fn morgan_nu(ra: f64) -> f64 {
    let ra = hold(ra, 1.0e-10, 1.0e12);
    let (c, n) = if ra < 1.0e-2 {
        (0.675, 0.058)
    } else if ra < 1.0e2 {
        (1.02, 0.148)
    } else if ra < 1.0e4 {
        (0.850, 0.188)
    } else if ra < 1.0e7 {
        (0.480, 0.250)
    } else {
        (0.125, 0.333)
    };
    c * ra.powf(n)
}

/// Nusselt number (pure number) of a vertical plate, all Ra `[churchill-chu-1975-plate]`.
pub fn vertical_plate_nu(ra: f64, pr: f64) -> f64 {
    let (ra, pr) = (held_ra(ra), held_pr(pr));
    let prandtl = (1.0 + (0.492 / pr).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    (0.825 + 0.387 * ra.powf(1.0 / 6.0) / prandtl).powi(2)
}

/// Rayleigh number (pure number) of air: `delta_k` (K, its size), `length_m` (m), `film_k` (K), `abs_pa` (Pa absolute).
pub fn rayleigh(delta_k: f64, length_m: f64, film_k: f64, abs_pa: f64) -> f64 {
    let t = hold(film_k, 150.0, 1000.0);
    let nu = air::kinematic_viscosity_m2_s(t, abs_pa);
    let length = held_length_m(length_m);
    GRAVITY_M_S2 / t * hold(delta_k.abs(), 0.0, 1000.0) * length.powi(3) / (nu * nu) * air::prandtl(t)
}

/// Reynolds number (pure number) of air: `wind_m_s` (m/s), `length_m` (m), `film_k` (K), `abs_pa` (Pa absolute).
pub fn reynolds(wind_m_s: f64, length_m: f64, film_k: f64, abs_pa: f64) -> f64 {
    hold(wind_m_s, 0.0, 150.0) * held_length_m(length_m) / air::kinematic_viscosity_m2_s(film_k, abs_pa)
}

fn held_length_m(length_m: f64) -> f64 {
    hold(length_m, 1.0e-4, 20.0)
}

/// Forced convection on a cylinder in cross flow, W/(m²·K): wind at the part `wind_m_s` (m/s), outside diameter
/// `diameter_m` (m), film temperature `film_k` (K), `abs_pa` (Pa absolute) `[churchill-bernstein-1977]`.
pub fn forced_w_m2k(wind_m_s: f64, diameter_m: f64, film_k: f64, abs_pa: f64) -> f64 {
    let re = reynolds(wind_m_s, diameter_m, film_k, abs_pa);
    churchill_bernstein_nu(re, air::prandtl(film_k)) * air::conductivity_w_mk(film_k) / held_length_m(diameter_m)
}

/// Free convection on a horizontal cylinder, W/(m²·K): surface less air `delta_k` (K, its size), `diameter_m` (m),
/// film temperature `film_k` (K), `abs_pa` (Pa absolute) `[churchill-chu-1975-cylinder]`.
pub fn free_w_m2k(delta_k: f64, diameter_m: f64, film_k: f64, abs_pa: f64) -> f64 {
    let ra = rayleigh(delta_k, diameter_m, film_k, abs_pa);
    churchill_chu_nu(ra, air::prandtl(film_k)) * air::conductivity_w_mk(film_k) / held_length_m(diameter_m)
}

/// Free convection on a vertical wall, W/(m²·K): surface less air `delta_k` (K), height `height_m` (m), film
/// temperature `film_k` (K), `abs_pa` (Pa absolute) `[churchill-chu-1975-plate]`.
pub fn free_vertical_w_m2k(delta_k: f64, height_m: f64, film_k: f64, abs_pa: f64) -> f64 {
    let ra = rayleigh(delta_k, height_m, film_k, abs_pa);
    vertical_plate_nu(ra, air::prandtl(film_k)) * air::conductivity_w_mk(film_k) / held_length_m(height_m)
}

/// Forced and free convection together, W/(m²·K): (forcedⁿ + freeⁿ)^(1/n) `[incropera]`.
///
/// `n` (held to 1 to 10) is 4 for cylinders in cross flow and 3 otherwise.
pub fn mixed_w_m2k(forced_w_m2k: f64, free_w_m2k: f64, n: f64) -> f64 {
    let n = hold(n, 1.0, 10.0);
    let (forced, free) = (hold(forced_w_m2k, 0.0, 1.0e6), hold(free_w_m2k, 0.0, 1.0e6));
    let (large, small) = (forced.max(free), forced.min(free));
    if large <= 0.0 {
        return 0.0;
    }
    large * (1.0 + (small / large).powf(n)).powf(1.0 / n)
}

/// Radiation between a small grey surface and its surroundings as a film coefficient, W/(m²·K).
///
/// `emissivity` 0 to 1, absolute temperatures `a_k` and `b_k` (K): ε·σ·(a² + b²)·(a + b), exact.
pub fn radiation_w_m2k(emissivity: f64, a_k: f64, b_k: f64) -> f64 {
    let (a, b) = (hold(a_k, 0.0, 2000.0), hold(b_k, 0.0, 2000.0));
    hold(emissivity, 0.0, 1.0) * STEFAN_BOLTZMANN_W_M2K4 * (a * a + b * b) * (a + b)
}

/// How wind speed falls toward the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WindLaw {
    /// (z/10 m)^exponent; 0.143 for open country `[wind-profile]`.
    Power {
        /// The exponent, a pure number.
        exponent: f64,
    },
    /// ln(z/z₀)/ln(10 m/z₀); 0.03 m for short grass `[wind-profile]`.
    Log {
        /// Roughness length z₀, m.
        roughness_m: f64,
    },
}

impl Default for WindLaw {
    fn default() -> Self {
        WindLaw::Power { exponent: 0.143 }
    }
}

/// Wind speed, m/s, at `height_m` (m, 0 to 10) from the speed `wind_10m_m_s` (m/s) at the station's 10 m `[wind-profile]`.
///
/// Never more than the speed at 10 m, and zero at or under the roughness length.
pub fn wind_at_height_m_s(wind_10m_m_s: f64, height_m: f64, law: WindLaw) -> f64 {
    let wind = hold(wind_10m_m_s, 0.0, 150.0);
    let z = hold(height_m, 0.0, 10.0);
    let factor = match law {
        WindLaw::Power { exponent } => (z / 10.0).powf(hold(exponent, 0.0, 1.0)),
        WindLaw::Log { roughness_m } => {
            let z0 = hold(roughness_m, 1.0e-5, 5.0);
            if z > z0 { (z / z0).ln() / (10.0 / z0).ln() } else { 0.0 }
        }
    };
    wind * hold(factor, 0.0, 1.0)
}

/// Outside area of a cylinder per length, m²/m, of diameter `diameter_m` (m).
pub fn area_m2_per_m(diameter_m: f64) -> f64 {
    PI * hold(diameter_m, 0.0, 100.0)
}
