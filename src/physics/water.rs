//! Liquid water: density, expansion, stiffness, heat and transport, from supercooled to 150 °C.
//!
//! Two families of density live here, for two users. [`density_kg_m3`] and its relatives follow IF97 region 1
//! `[iapws-r7-97]` with pressure, for thermal expansion. [`liquid_density_kg_m3`] follows Kell 1975
//! `[kell-1975]` at one atmosphere, is smooth from −30 °C to 150 °C and cheap, for deciding which of two
//! parcels is lighter. Against IAPWS-95 at one atmosphere both are within 15 ppm from 0 °C to 100 °C
//! (IF97 within 18 ppm up to 150 °C and 100 MPa); between them the join at 0 °C is 5 ppm.
//!
//! Numbers without a tag of their own: the range of the fits (judgement); 273.15 is exact.

use super::if97::{self, Liquid};
use super::{OutOfRange, check, hold};
use std::cell::RefCell;

pub use super::if97::saturation_pressure_pa;

/// Specific heat of water at 0 °C, J/(kg·K) `[crc-handbook]`; IAPWS-95 gives 4219.9.
pub const CP_0C_J_KGK: f64 = 4217.6;
/// Density of water at 0 °C and one atmosphere, kg/m³ `[crc-handbook]`.
pub const DENSITY_0C_KG_M3: f64 = 999.84;
/// Thermal conductivity of water at 0 °C, W/(m·K) `[crc-handbook]`; IAPWS gives 0.556.
pub const K_0C_W_MK: f64 = 0.561;
/// Temperature of the density maximum at one atmosphere, °C `[kell-1975]`.
pub const DENSITY_MAX_C: f64 = 3.983_035;
/// Density maximum at one atmosphere, kg/m³ `[kell-1975]`.
pub const DENSITY_MAX_KG_M3: f64 = 999.972;
/// Isothermal bulk modulus of water at 0 °C and one atmosphere, Pa: the inverse of Kell's 50.885e-6 per bar `[kell-1975]`.
pub const BULK_MODULUS_0C_PA: f64 = 1.965e9;
/// Standard atmosphere, kPa absolute (exact).
pub const ATMOSPHERE_KPA: f64 = 101.325;

/// Coldest liquid that the correlations here are used for, °C.
pub const COLDEST_LIQUID_C: f64 = -30.0;
/// Hottest liquid that they are used for, °C.
pub const HOTTEST_LIQUID_C: f64 = 150.0;

/// Share of the saturation pressure down to which water is let through as liquid.
const LOWEST_OF_SATURATION: f64 = 0.98;

/// State of liquid water at `t_c` (0 °C to 150 °C) and absolute pressure `abs_kpa` (kPa, up to 100 000).
///
/// The pressure must keep the water liquid; 2 % below saturation is let through, where IF97 continues
/// smoothly, so that water at 100 °C and one atmosphere has an answer `[iapws-r7-97]`.
///
/// # Errors
/// [`OutOfRange`] naming the temperature or the pressure.
pub fn liquid(t_c: f64, abs_kpa: f64) -> Result<Liquid, OutOfRange> {
    let t_k = check("water temperature", "°C", t_c, 0.0, HOTTEST_LIQUID_C)? + 273.15;
    let lowest_kpa = LOWEST_OF_SATURATION * 1e-3 * saturation_pressure_pa(t_k)?;
    let kpa = check("absolute pressure", "kPa", abs_kpa, lowest_kpa, if97::MAX_PA / 1000.0)?;
    Ok(if97::region_1(t_k, kpa * 1000.0))
}

/// Density of liquid water, kg/m³, at `t_c` (0 °C to 150 °C) and absolute `abs_kpa` (kPa) `[iapws-r7-97]`.
///
/// Within 15 ppm of IAPWS-95 from 4 °C to 100 °C at one atmosphere.
///
/// # Errors
/// [`OutOfRange`], as [`liquid`].
pub fn density_kg_m3(t_c: f64, abs_kpa: f64) -> Result<f64, OutOfRange> {
    Ok(1.0 / liquid(t_c, abs_kpa)?.specific_volume_m3_kg)
}

/// Specific volume of liquid water, m³/kg, at `t_c` (°C) and absolute `abs_kpa` (kPa) `[iapws-r7-97]`.
///
/// # Errors
/// [`OutOfRange`], as [`liquid`].
pub fn specific_volume_m3_kg(t_c: f64, abs_kpa: f64) -> Result<f64, OutOfRange> {
    Isotherm::remembered(t_c)?.specific_volume_m3_kg(abs_kpa)
}

/// How many isotherms a thread remembers: cold and hot of one system as it is told, and as a reading of it is moved.
const REMEMBERED: usize = 4;

thread_local! {
    /// The isotherms asked for last, each with the bits of its temperature, and the place of the next. A result is the same with and
    /// without them.
    static ISOTHERMS: RefCell<(usize, [Option<(u64, Isotherm)>; REMEMBERED])> = const { RefCell::new((0, [None; REMEMBERED])) };
}

/// Liquid water at one temperature, for its volume at many pressures: a tenth of the work of [`liquid`] each `[iapws-r7-97]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Isotherm {
    region: if97::Isotherm,
    lowest_kpa: f64,
}

impl Isotherm {
    /// As [`Isotherm::at`] at `t_c` (°C), for temperatures that are asked for again and again.
    ///
    /// # Errors
    /// [`OutOfRange`] naming the temperature.
    pub fn remembered(t_c: f64) -> Result<Self, OutOfRange> {
        ISOTHERMS.with_borrow_mut(|(next, isotherms)| {
            let known = isotherms.iter().flatten().find(|(bits, _)| *bits == t_c.to_bits());
            if let Some((_, isotherm)) = known {
                return Ok(*isotherm);
            }
            let isotherm = Self::at(t_c)?;
            if let Some(place) = isotherms.get_mut(*next) {
                *place = Some((t_c.to_bits(), isotherm));
            }
            *next = (*next + 1) % REMEMBERED;
            Ok(isotherm)
        })
    }

    /// At `t_c`, 0 °C to 150 °C.
    ///
    /// # Errors
    /// [`OutOfRange`] naming the temperature.
    pub fn at(t_c: f64) -> Result<Self, OutOfRange> {
        let t_k = check("water temperature", "°C", t_c, 0.0, HOTTEST_LIQUID_C)? + 273.15;
        Ok(Self {
            region: if97::Isotherm::at(t_k),
            lowest_kpa: LOWEST_OF_SATURATION * 1e-3 * saturation_pressure_pa(t_k)?,
        })
    }

    /// Specific volume, m³/kg, at absolute `abs_kpa` (kPa).
    ///
    /// # Errors
    /// [`OutOfRange`] naming the pressure, as [`liquid`].
    pub fn specific_volume_m3_kg(&self, abs_kpa: f64) -> Result<f64, OutOfRange> {
        Ok(self.region.volume(self.pressure_pa(abs_kpa)?))
    }

    /// Specific volume, m³/kg, and isothermal compressibility, 1/Pa, at absolute `abs_kpa` (kPa).
    ///
    /// # Errors
    /// [`OutOfRange`] naming the pressure, as [`liquid`].
    pub fn volume_and_compressibility(&self, abs_kpa: f64) -> Result<(f64, f64), OutOfRange> {
        Ok(self.region.volume_and_compressibility(self.pressure_pa(abs_kpa)?))
    }

    fn pressure_pa(&self, abs_kpa: f64) -> Result<f64, OutOfRange> {
        let highest_kpa = if97::MAX_PA / 1000.0;
        Ok(check("absolute pressure", "kPa", abs_kpa, self.lowest_kpa, highest_kpa)? * 1000.0)
    }
}

/// Isobaric expansivity, 1/K, at `t_c` (°C) and absolute `abs_kpa` (kPa); negative below about 4 °C `[iapws-r7-97]`.
///
/// # Errors
/// [`OutOfRange`], as [`liquid`].
pub fn expansivity_per_k(t_c: f64, abs_kpa: f64) -> Result<f64, OutOfRange> {
    Ok(liquid(t_c, abs_kpa)?.expansivity_per_k)
}

/// Isothermal compressibility, 1/Pa, at `t_c` (°C) and absolute `abs_kpa` (kPa) `[iapws-r7-97]`.
///
/// # Errors
/// [`OutOfRange`], as [`liquid`].
pub fn compressibility_per_pa(t_c: f64, abs_kpa: f64) -> Result<f64, OutOfRange> {
    Ok(liquid(t_c, abs_kpa)?.compressibility_per_pa)
}

/// Isobaric specific heat, J/(kg·K), at `t_c` (°C) and absolute `abs_kpa` (kPa) `[iapws-r7-97]`.
///
/// # Errors
/// [`OutOfRange`], as [`liquid`].
pub fn specific_heat_j_kgk(t_c: f64, abs_kpa: f64) -> Result<f64, OutOfRange> {
    Ok(liquid(t_c, abs_kpa)?.specific_heat_j_kgk)
}

/// Specific volume of saturated liquid, m³/kg, at `t_c` (0 °C to 150 °C): region 1 on the saturation line `[iapws-r7-97]`.
///
/// # Errors
/// [`OutOfRange`] for the temperature.
pub fn saturated_specific_volume_m3_kg(t_c: f64) -> Result<f64, OutOfRange> {
    let t_k = check("water temperature", "°C", t_c, 0.0, HOTTEST_LIQUID_C)? + 273.15;
    Ok(if97::region_1(t_k, saturation_pressure_pa(t_k)?).specific_volume_m3_kg)
}

/// Temperature (°C) and density (kg/m³) of the density maximum at one atmosphere `[kell-1975]`.
pub fn density_max() -> (f64, f64) {
    (DENSITY_MAX_C, DENSITY_MAX_KG_M3)
}

/// Density of air-free water at one atmosphere, kg/m³, `t_c` held to −30 °C to 150 °C `[kell-1975]`.
///
/// Kell fitted 0 °C to 150 °C and tabulated the same form below freezing. The denominator is 16.879850e-3; a web
/// copy of a later paper prints 16.897850e-3, which is wrong by 67 ppm at 4 °C.
pub fn kell_1975_density_kg_m3(t_c: f64) -> f64 {
    let t = hold(t_c, COLDEST_LIQUID_C, HOTTEST_LIQUID_C);
    let series = t.mul_add(-280.542_53e-12, 105.563_02e-9);
    let series = t.mul_add(series, -46.170_461e-6);
    let series = t.mul_add(series, -7.987_040_1e-3);
    let series = t.mul_add(series, 16.945_176);
    t.mul_add(series, 999.839_52) / t.mul_add(16.879_850e-3, 1.0)
}

/// Isothermal compressibility of water at one atmosphere, 1/Pa, `t_c` held to 0 °C to 150 °C `[kell-1975]`.
pub fn kell_1975_compressibility_per_pa(t_c: f64) -> f64 {
    let t = hold(t_c, 0.0, HOTTEST_LIQUID_C);
    let (c, d) = if t <= 100.0 {
        (
            [
                50.884_96,
                0.616_381_3,
                1.459_187e-3,
                20.084_38e-6,
                -58.477_27e-9,
                410.411_0e-12,
            ],
            19.673_48e-3,
        )
    } else {
        (
            [
                50.884_917,
                0.625_906_23,
                1.384_866_8e-3,
                21.603_427e-6,
                -72.087_667e-9,
                465.450_54e-12,
            ],
            19.859_983e-3,
        )
    };
    let per_bar = c.iter().rev().fold(0.0, |sum, term| sum * t + term) * 1.0e-6;
    per_bar / (1.0 + d * t) / 1.0e5
}

/// Density of liquid water, kg/m³, for deciding which parcel is lighter: `t_c` held to −30 °C to 150 °C `[kell-1975]`.
///
/// One smooth form through the freezing point, so supercooled and ordinary parcels compare without a step. The
/// slope is that of water: rising below 3.98 °C, falling above.
pub fn liquid_density_kg_m3(t_c: f64) -> f64 {
    kell_1975_density_kg_m3(t_c)
}

/// Density of supercooled water at one atmosphere, kg/m³, `t_c` held to −30 °C to 0 °C `[kell-1975]`.
///
/// The freezing-point end joins [`liquid_density_kg_m3`] exactly and [`density_kg_m3`] within 5 ppm. Against
/// IAPWS G12-15 it is within 17 ppm down to −25 °C and 37 ppm at −30 °C.
pub fn supercooled_density_kg_m3(t_c: f64) -> f64 {
    kell_1975_density_kg_m3(t_c.min(0.0))
}

/// Density of supercooled water by the polynomial of Hare and Sorensen, kg/m³, `t_c` held to −30 °C to 0 °C `[hare-sorensen-1987]`.
///
/// A second opinion on [`supercooled_density_kg_m3`].
pub fn hare_sorensen_1987_density_kg_m3(t_c: f64) -> f64 {
    let t = hold(t_c, COLDEST_LIQUID_C, 0.0);
    const C: [f64; 7] = [
        0.999_86,
        6.690e-5,
        -8.486e-6,
        1.518e-7,
        -6.948_4e-9,
        -3.644_9e-10,
        -7.497e-12,
    ];
    1000.0 * C.iter().rev().fold(0.0, |sum, term| sum * t + term)
}

/// Thermal conductivity of liquid water at 0.1 MPa, W/(m·K), `t_c` held to −20 °C to 110 °C `[iapws-sr6-08]`.
pub fn conductivity_w_mk(t_c: f64) -> f64 {
    let r = (hold(t_c, -20.0, 110.0) + 273.15) / 300.0;
    1.6630 * r.powf(-1.15) - 1.7781 * r.powf(-3.4) + 1.1567 * r.powf(-6.0) - 0.432_115 * r.powf(-7.6)
}

/// Dynamic viscosity of liquid water at 0.1 MPa, Pa·s, `t_c` held to −20 °C to 110 °C `[iapws-sr6-08]`.
pub fn viscosity_pa_s(t_c: f64) -> f64 {
    let r = (hold(t_c, -20.0, 110.0) + 273.15) / 300.0;
    1.0e-6 * (280.68 * r.powf(-1.9) + 511.45 * r.powf(-7.7) + 61.131 * r.powf(-19.6) + 0.459_03 * r.powf(-40.0))
}
