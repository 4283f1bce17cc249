//! Ground temperature through the year.
//!
//! Numbers without a tag of their own: ends of the ranges that arguments are held to (judgement); the year of 365 days is the published form's
//! `[kusuda-achenbach-1965]`.

use super::hold;
use std::f64::consts::PI;

/// Days in the year of the annual wave.
const YEAR_D: f64 = 365.0;

/// Undisturbed ground temperature, °C, by Kusuda and Achenbach `[kusuda-achenbach-1965]`.
///
/// `mean_c` (°C) annual mean at the surface, `amplitude_k` (K, half the annual swing there), `coldest_day` (day of
/// the year of the surface's minimum), `diffusivity_m2_day` (m²/day, held to 0.005 to 0.5; about 0.05 for damp
/// soil), `depth_m` (m, held to 0 to 50), `day_of_year` (day). A long wave, not the cold spell itself: the top 0.3 m
/// also follows the day's weather, which this leaves out.
pub fn ground_temperature_c(
    mean_c: f64,
    amplitude_k: f64,
    coldest_day: f64,
    diffusivity_m2_day: f64,
    depth_m: f64,
    day_of_year: f64,
) -> f64 {
    let z = hold(depth_m, 0.0, 50.0);
    let damping = damping_depth_m(diffusivity_m2_day);
    let phase = 2.0 * PI / YEAR_D * (hold(day_of_year, 0.0, 1000.0) - hold(coldest_day, 0.0, 1000.0)) - z / damping;
    hold(mean_c, -60.0, 60.0) - hold(amplitude_k, 0.0, 60.0) * (-z / damping).exp() * phase.cos()
}

/// Depth at which the annual wave has fallen to 1/e, m, for a diffusivity in m²/day (held to 0.005 to 0.5): √(365·α/π).
pub fn damping_depth_m(diffusivity_m2_day: f64) -> f64 {
    (YEAR_D * hold(diffusivity_m2_day, 0.005, 0.5) / PI).sqrt()
}

/// Days by which the wave at `depth_m` (m) lags the surface, for a diffusivity in m²/day.
pub fn lag_days(diffusivity_m2_day: f64, depth_m: f64) -> f64 {
    hold(depth_m, 0.0, 50.0) / damping_depth_m(diffusivity_m2_day) * YEAR_D / (2.0 * PI)
}
