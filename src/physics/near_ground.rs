//! Air near the ground on calm, clear nights, and what evaporation takes from wet metal.

use super::{air, hold};

/// Height of the grass minimum thermometer, in m. \[wmo-8\]
pub const GRASS_M: f64 = 0.05;
/// Height of the screen, in m. The guide has 1.25 to 2 \[wmo-8\].
pub const SCREEN_M: f64 = 1.5;

/// Grass minimum to expect after a calm, clear night, °C, from the air and the dew point at three in the afternoon, °C \[smith-1973\]:
/// a third of (air + half the dew point), less 8 °C, or 9 °C in midwinter. Meant for wind under 3 m/s and hardly any low cloud.
pub fn grass_minimum_c(afternoon_air_c: f64, afternoon_dew_c: f64, midwinter: bool) -> f64 {
    let air = hold(afternoon_air_c, -60.0, 60.0);
    let dew = hold(afternoon_dew_c, -60.0, 60.0);
    (air + dew / 2.0) / 3.0 - if midwinter { 9.0 } else { 8.0 }
}

/// Share of the difference between screen and grass that is left at a height, 0 to 1: in still air over cooling ground the temperature goes
/// with the logarithm of the height \[wind-profile\]. 1 at the grass and under it, 0 at the screen and above.
pub fn near_ground_share(height_m: f64) -> f64 {
    let height = hold(height_m, GRASS_M, SCREEN_M);
    (SCREEN_M / height).ln() / (SCREEN_M / GRASS_M).ln()
}

/// How much a night has of a calm and clear one, 0 to 1: falls evenly with cloud, and with wind from 1 m/s to nothing at 4 m/s at 10 m
/// (judgement: night inversions break between those speeds).
pub fn calm_clear(wind_10m_m_s: f64, sky_cover_fraction: f64) -> f64 {
    let wind = hold(wind_10m_m_s, 0.0, 150.0);
    let cover = hold(sky_cover_fraction, 0.0, 1.0);
    (1.0 - cover) * hold((4.0 - wind) / 3.0, 0.0, 1.0)
}

/// Wet-bulb temperature, °C, of air at `air_c` (°C, held to −60 to 60) with the dew point `dew_c` (°C, held to no more), at `abs_pa` (Pa): where
/// evaporation takes as much heat as the air brings \[wmo-8\].
///
/// e = e_s(t_w) − 6.53e-4 (1 + 9.44e-4 t_w) p (t − t_w), the guide's formula for an aspirated wet bulb, solved by halving.
pub fn wet_bulb_c(air_c: f64, dew_c: f64, abs_pa: f64) -> f64 {
    let air = hold(air_c, -60.0, 60.0);
    let dew = hold(dew_c, -60.0, 60.0).min(air);
    let pressure = hold(abs_pa, 3.0e4, 1.2e5);
    let vapour = air::saturation_vapour_pressure_pa(dew);
    let left = |wet: f64| {
        air::saturation_vapour_pressure_pa(wet) - 6.53e-4 * (1.0 + 9.44e-4 * wet) * pressure * (air - wet) - vapour
    };
    // It lies between dew point and air, and the difference rises with it.
    let (mut low, mut high) = (dew, air);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if left(middle) > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    0.5 * (low + high)
}
