//! The one place that knows °F, psi and gallons.
//!
//! Quantities are SI `f64` inside; here they are parsed from what people type ("50 gal", "4 bar",
//! "-7 C") and turned into what people read. Exact factors: inch 25.4 mm, US gallon 231 in³, pound
//! 0.45359237 kg, standard gravity 9.80665 m/s² (NIST SP 811).

pub mod flow;
mod kind;
mod number;
pub mod parse;
pub mod parse_heat;
pub mod refusal;
pub mod show;

pub use flow::{FlowRange, parse_flow_l_per_h};
pub use parse::{
    UnitError, parse_gauge_pa, parse_length_m, parse_small_length_m, parse_temperature_c,
    parse_temperature_difference_k, parse_volume_l, parse_wind_m_s,
};
pub use parse_heat::{
    parse_conductivity_w_mk, parse_electric_power_w, parse_film_w_m2k, parse_power_w, parse_r_value_m2k_per_w,
};
pub use show::{
    show_conductivity, show_film, show_flow, show_gauge, show_length, show_power, show_r_value, show_small_length,
    show_temperature, show_temperature_difference, show_volume, show_volume_at_least, show_wind,
};

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

/// Which units people read, and which unit a bare number takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum UnitSystem {
    /// US customary: °F, psi, US gallon, foot, inch, mph, Btu/h.
    #[default]
    Us,
    /// SI and units used with it: °C, kPa, litre, metre, millimetre, m/s, W.
    Si,
    /// SI with gauge pressures in bar.
    Bar,
}

impl UnitSystem {
    /// The word that files, cookies and the command line use.
    pub fn word(self) -> &'static str {
        match self {
            Self::Us => "us",
            Self::Si => "si",
            Self::Bar => "bar",
        }
    }

    /// The system of a word; US customary for one that is not known.
    pub fn from_word(word: &str) -> Self {
        match word {
            "si" => Self::Si,
            "bar" => Self::Bar,
            _ => Self::Us,
        }
    }
}

/// Cubic metre per litre.
pub const M3_PER_L: f64 = 1e-3;
/// Litre per imperial gallon (UK Weights and Measures Act 1985: exact).
pub const L_PER_IMPERIAL_GAL: f64 = 4.546_09;
/// Litre per US cup (half a US pint, 1/16 gallon).
pub const L_PER_US_CUP: f64 = L_PER_US_GAL / 16.0;
/// Litre per cubic foot.
pub const L_PER_FT3: f64 = M_PER_FT * M_PER_FT * M_PER_FT * 1000.0;
/// Pascal per bar.
pub const PA_PER_BAR: f64 = 1e5;
/// Pascal per conventional foot of water (NIST SP 811, appendix B).
pub const PA_PER_FT_WATER: f64 = 2_989.067;
/// W/(m·K) per Btu·in/(h·ft²·°F).
pub const W_MK_PER_BTU_IN: f64 = W_PER_BTU_H / (M_PER_FT * M_PER_FT) * M_PER_IN * 1.8;
/// W/(m·K) per Btu/(h·ft·°F).
pub const W_MK_PER_BTU_FT: f64 = W_MK_PER_BTU_IN * 12.0;
/// W/(m²·K) per Btu/(h·ft²·°F).
pub const W_M2K_PER_BTU: f64 = 1.0 / M2K_PER_W_PER_R_US;

/// psi from Pa.
pub fn psi_from_pa(pascal: f64) -> f64 {
    pascal / PA_PER_PSI
}

/// US gallons from litres.
pub fn gal_from_l(litre: f64) -> f64 {
    litre / L_PER_US_GAL
}
