//! The one place that knows °F, psi and gallons.
//!
//! Quantities are SI `f64` inside; here they are parsed from what people type ("50 gal", "4 bar",
//! "-7 C") and turned into what people read. Exact factors: inch 25.4 mm, US gallon 231 in³, pound
//! 0.45359237 kg, standard gravity 9.80665 m/s² (NIST SP 811).

/// Kelvin at 0 °C.
pub const ZERO_C_IN_K: f64 = 273.15;
/// Pascal per psi (pound-force per square inch).
pub const PA_PER_PSI: f64 = 6_894.757_293_168;
/// Metre per inch.
pub const M_PER_IN: f64 = 0.0254;
/// Metre per foot.
pub const M_PER_FT: f64 = 0.3048;
/// Litre per US gallon.
pub const L_PER_US_GAL: f64 = 3.785_411_784;
/// Metre per second per mile per hour.
pub const M_S_PER_MPH: f64 = 0.447_04;
/// m²K/W per h·ft²·°F/Btu.
pub const M2K_PER_W_PER_R_US: f64 = 0.176_110_183_682_306;
/// Kilogram per pound.
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Watt per Btu/h (International Table).
pub const W_PER_BTU_H: f64 = 0.293_071_070_172_222;

/// °C from °F.
pub fn c_from_f(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

/// °F from °C.
pub fn f_from_c(celsius: f64) -> f64 {
    celsius * 1.8 + 32.0
}

/// K from °C.
pub fn k_from_c(celsius: f64) -> f64 {
    celsius + ZERO_C_IN_K
}

/// °C from K.
pub fn c_from_k(kelvin: f64) -> f64 {
    kelvin - ZERO_C_IN_K
}
