//! Air: transport properties, density, pressure with elevation, and moisture.
//!
//! Numbers without a tag of their own: ends of the ranges that arguments are held to, wide of all that is met (judgement).

use super::hold;

/// Specific gas constant of dry air, J/(kg·K) `[us-std-atm-1976]`.
pub const GAS_CONSTANT_J_KGK: f64 = 287.052_87;
/// Isobaric specific heat of dry air near 0 °C, J/(kg·K) `[incropera]`.
pub const SPECIFIC_HEAT_J_KGK: f64 = 1006.0;
/// Standard atmosphere at sea level, Pa absolute (exact).
pub const SEA_LEVEL_PA: f64 = 101_325.0;

/// The temperatures (K) that the property functions of this module are held to.
const T_RANGE_K: (f64, f64) = (150.0, 1000.0);

fn held_k(t_k: f64) -> f64 {
    hold(t_k, T_RANGE_K.0, T_RANGE_K.1)
}

/// Dynamic viscosity of air, Pa·s, at `t_k` (K, held to 150 to 1000) `[us-std-atm-1976]`.
pub fn viscosity_pa_s(t_k: f64) -> f64 {
    let t = held_k(t_k);
    1.458e-6 * t * t.sqrt() / (t + 110.4)
}

/// Thermal conductivity of air, W/(m·K), at `t_k` (K, held to 150 to 1000) `[us-std-atm-1976]`.
pub fn conductivity_w_mk(t_k: f64) -> f64 {
    let t = held_k(t_k);
    2.646_38e-3 * t * t.sqrt() / (t + 245.4 * 10.0_f64.powf(-12.0 / t))
}

/// Density of dry air as an ideal gas, kg/m³, at `t_k` (K) and absolute pressure `abs_pa` (Pa, held to 1e3 to 1e7).
pub fn density_kg_m3(t_k: f64, abs_pa: f64) -> f64 {
    hold(abs_pa, 1.0e3, 1.0e7) / (GAS_CONSTANT_J_KGK * held_k(t_k))
}

/// Kinematic viscosity of air, m²/s, at `t_k` (K) and absolute pressure `abs_pa` (Pa).
pub fn kinematic_viscosity_m2_s(t_k: f64, abs_pa: f64) -> f64 {
    viscosity_pa_s(t_k) / density_kg_m3(t_k, abs_pa)
}

/// Isobaric specific heat of air, J/(kg·K): 1006, right within 0.1 % from −70 °C to 60 °C `[incropera]`.
pub fn specific_heat_j_kgk() -> f64 {
    SPECIFIC_HEAT_J_KGK
}

/// Prandtl number of air, a pure number, at `t_k` (K).
pub fn prandtl(t_k: f64) -> f64 {
    SPECIFIC_HEAT_J_KGK * viscosity_pa_s(t_k) / conductivity_w_mk(t_k)
}

/// Pressure of the standard atmosphere, Pa absolute, at `elevation_m` (m, held to −500 to 11 000) `[us-std-atm-1976]`.
pub fn pressure_at_elevation_pa(elevation_m: f64) -> f64 {
    // The most usual height of all, and the power of one costs as much as any.
    if elevation_m == 0.0 {
        return SEA_LEVEL_PA;
    }
    SEA_LEVEL_PA * (1.0 - 2.255_77e-5 * hold(elevation_m, -500.0, 11_000.0)).powf(5.255_88)
}

/// Saturation vapour pressure over liquid water, Pa, at `t_c` (°C, held to −60 to 60): Magnus form `[wmo-8]`.
pub fn saturation_vapour_pressure_pa(t_c: f64) -> f64 {
    let t = hold(t_c, -60.0, 60.0);
    611.2 * (17.62 * t / (243.12 + t)).exp()
}

/// Dew point, °C, of air at `t_c` (°C, held to −60 to 60) and relative humidity `humidity_fraction` (held to 0.01 to 1) `[wmo-8]`.
pub fn dew_point_c(t_c: f64, humidity_fraction: f64) -> f64 {
    let t = hold(t_c, -60.0, 60.0);
    let log = hold(humidity_fraction, 0.01, 1.0).ln() + 17.62 * t / (243.12 + t);
    243.12 * log / (17.62 - log)
}
