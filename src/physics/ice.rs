//! Ice Ih: constants, the melting line, and what confined water does when part of it freezes.
//!
//! Fronts that move (London-Seban, Stefan, Neumann) are in [`super::solidification`] and re-exported here.

use super::water::{BULK_MODULUS_0C_PA, CP_0C_J_KGK, DENSITY_0C_KG_M3};
use super::{OutOfRange, check, hold};

pub use super::solidification::{
    CylinderFreeze, NeumannFront, london_seban_time_s, neumann_front, plank_cylinder_time_s, stefan_plane_front_m,
    stefan_root,
};

/// Density of ice Ih at 0 °C, kg/m³ `[crc-handbook]`.
pub const DENSITY_KG_M3: f64 = 916.7;
/// Specific heat of ice Ih at 0 °C, J/(kg·K) `[crc-handbook]`; it falls to about 2030 at −10 °C.
pub const SPECIFIC_HEAT_J_KGK: f64 = 2100.0;
/// Thermal conductivity of ice Ih near 0 °C, W/(m·K): the engineering tables' value `[engineering-handbooks]`. The physicists' handbook prints
/// 2.14 `[crc-handbook]`, the fit of measurements is 2.07 `[yen-1981]`; ice that conducts better grows faster, which is the cautious side (judgement).
pub const CONDUCTIVITY_W_MK: f64 = 2.22;
/// Latent heat of fusion, J/kg `[crc-handbook]`; IAPWS-06 gives 333 430.
pub const LATENT_HEAT_J_KG: f64 = 333_550.0;
/// Growth in volume of water that freezes at 0 °C, as a fraction: 0.0907, from the two densities.
pub const EXPANSION_ON_FREEZING: f64 = DENSITY_0C_KG_M3 / DENSITY_KG_M3 - 1.0;
/// Lowest temperature of the ice Ih melting line, K `[iapws-r14-08]`.
pub const MELTING_LINE_COLDEST_K: f64 = 251.165;
/// Triple point of water, K.
pub const TRIPLE_POINT_K: f64 = 273.16;
/// Pressure of the triple point, Pa absolute `[iapws-r14-08]`.
pub const TRIPLE_POINT_PA: f64 = 611.657;

/// Thermal conductivity of ice, W/(m·K), at `t_k` (K, held to 173 to 273.15) `[yen-1981]`.
pub fn yen_conductivity_w_mk(t_k: f64) -> f64 {
    9.828 * (-0.0057 * hold(t_k, 173.0, 273.15)).exp()
}

/// Mass fraction that turns to ice at once when water supercooled by `supercooling_k` (K) jumps back to 0 °C, 0 to 1.
///
/// The heat of the jump comes from the water itself: c·ΔT/L, adiabatic `[gilpin-1977]`. Zero for none or negative.
pub fn dendritic_fraction(supercooling_k: f64) -> f64 {
    hold(CP_0C_J_KGK * supercooling_k / LATENT_HEAT_J_KG, 0.0, 1.0)
}

/// Volume fraction of ice for a mass fraction of ice `mass_fraction` (both 0 to 1), with the densities at 0 °C.
pub fn volume_fraction(mass_fraction: f64) -> f64 {
    let f = hold(mass_fraction, 0.0, 1.0);
    let ice = f / DENSITY_KG_M3;
    ice / (ice + (1.0 - f) / DENSITY_0C_KG_M3)
}

/// Pressure, Pa absolute, at which ice Ih and water are in balance at `t_k` (251.165 K to 273.16 K) `[iapws-r14-08]`.
///
/// Confined water at this temperature cannot freeze above this pressure.
///
/// # Errors
/// [`OutOfRange`] for a temperature off the line.
pub fn melting_pressure_pa(t_k: f64) -> Result<f64, OutOfRange> {
    let t = check("ice temperature", "K", t_k, MELTING_LINE_COLDEST_K, TRIPLE_POINT_K)?;
    Ok(melting_line_pa(t))
}

/// The line itself \[iapws-r14-08\].
fn melting_line_pa(t_k: f64) -> f64 {
    let theta = t_k / TRIPLE_POINT_K;
    TRIPLE_POINT_PA
        * (1.0
            + 0.119_539_337e7 * (1.0 - theta.powi(3))
            + 0.808_183_159e5 * (1.0 - theta.powf(25.75))
            + 0.333_826_860e4 * (1.0 - theta.powf(103.75)))
}

/// Temperature, °C, at which confined water at `pressure_pa` (Pa absolute) begins to freeze `[iapws-r14-08]`.
///
/// # Errors
/// [`OutOfRange`] for a pressure under the triple point's 611.657 Pa or over the line's end near 208.6 MPa.
pub fn melting_temperature_c(pressure_pa: f64) -> Result<f64, OutOfRange> {
    let target = check(
        "pressure on ice",
        "Pa",
        pressure_pa,
        TRIPLE_POINT_PA,
        melting_line_pa(MELTING_LINE_COLDEST_K),
    )?;
    // The line falls steadily with temperature, so bisection cannot miss; 60 halvings reach rounding.
    let (mut cold, mut warm) = (MELTING_LINE_COLDEST_K, TRIPLE_POINT_K);
    for _ in 0..60 {
        let middle = 0.5 * (cold + warm);
        if melting_line_pa(middle) > target {
            cold = middle;
        } else {
            warm = middle;
        }
    }
    Ok(0.5 * (cold + warm) - 273.15)
}

/// Fraction of trapped water that must freeze for the liquid beside it to reach `pressure_pa` (Pa, rise over the start).
///
/// p·(1/K + C)/0.0907, with K the bulk modulus of water at 0 °C and `wall_compliance_per_pa` (1/Pa) the wall's
/// relative growth in volume per pressure, 0 for a rigid wall; 0 to 1. Small-strain: the ice is taken as
/// incompressible and the walls elastic `[judgement]`.
pub fn trapped_fraction_to_pressure(pressure_pa: f64, wall_compliance_per_pa: f64) -> f64 {
    let give_per_pa = 1.0 / BULK_MODULUS_0C_PA + hold(wall_compliance_per_pa, 0.0, 1.0);
    hold(
        hold(pressure_pa, 0.0, 1.0e10) * give_per_pa / EXPANSION_ON_FREEZING,
        0.0,
        1.0,
    )
}
