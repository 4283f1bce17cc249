//! Heat from text to SI: powers, film coefficients, conductivities, R-values.

use super::kind::{Kind, NOT_NEGATIVE, Unit, read, unit};
use super::refusal::{Problem, UnitError, Wanted};
use super::{M2K_PER_W_PER_R_US, UnitSystem, W_M2K_PER_BTU, W_MK_PER_BTU_FT, W_MK_PER_BTU_IN, W_PER_BTU_H};

const POWER_UNITS: &[Unit] = &[
    unit(
        &[
            "btu/h",
            "btu/hr",
            "btuh",
            "btuhr",
            "btuperhour",
            "btusperhour",
            "btus/h",
        ],
        W_PER_BTU_H,
    ),
    unit(&["mbh", "kbtu/h", "kbtuh", "kbtu/hr"], 1e3 * W_PER_BTU_H),
    unit(&["mmbtu/h", "mmbtuh", "mmbtu/hr"], 1e6 * W_PER_BTU_H),
    unit(&["w", "watt", "watts"], 1.0),
    unit(&["kw", "kilowatt", "kilowatts"], 1e3),
];
const POWER: Kind = Kind {
    wanted: Wanted::HeatInput,
    units: POWER_UNITS,
    bare: ("btu/h", "w"),
    refused: &[(&["btu", "btus", "kwh", "therm", "therms"], Problem::AmountOfHeat)],
    lowest: NOT_NEGATIVE,
};
const ELECTRIC: Kind = Kind {
    wanted: Wanted::Power,
    units: POWER_UNITS,
    bare: ("w", "w"),
    refused: POWER.refused,
    lowest: NOT_NEGATIVE,
};

/// A heat input, W, from text such as "40000 Btu/h", "199 MBH", "4.5 kW"; a bare number is Btu/h in US, W in SI.
///
/// # Errors
/// Not a number, an unknown unit, an amount instead of a rate, or negative.
pub fn parse_power_w(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    read(&POWER, text, system)
}

/// An electric power, W: as [`parse_power_w`], but a bare number is W in both systems (heat trace, lamps).
///
/// # Errors
/// As [`parse_power_w`].
pub fn parse_electric_power_w(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    read(&ELECTRIC, text, system)
}

const FILM: Kind = Kind {
    wanted: Wanted::Film,
    units: &[
        unit(&["w/m2k", "w/m2/k", "wm2k1", "w/m2c"], 1.0),
        unit(
            &[
                "btu/hft2f",
                "btu/hrft2f",
                "btu/h/ft2/f",
                "btu/ft2hf",
                "btu/ft2hrf",
                "btuh/ft2f",
            ],
            W_M2K_PER_BTU,
        ),
    ],
    bare: ("btu/hft2f", "w/m2k"),
    refused: &[],
    lowest: NOT_NEGATIVE,
};

/// A film coefficient, W/(m²·K), from text such as "20 W/m2K", "3.5 Btu/h ft2 F".
///
/// # Errors
/// Not a number, an unknown unit, or negative.
pub fn parse_film_w_m2k(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    read(&FILM, text, system)
}

const CONDUCTIVITY: Kind = Kind {
    wanted: Wanted::Conductivity,
    units: &[
        unit(
            &[
                "btuin/hft2f",
                "btuin/hrft2f",
                "btuinch/hft2f",
                "btuin/h/ft2/f",
                "btuin/ft2hf",
                "btuin/ft2hrf",
                "btuin/hrft2/f",
            ],
            W_MK_PER_BTU_IN,
        ),
        unit(&["btu/hftf", "btu/hrftf", "btu/h/ft/f"], W_MK_PER_BTU_FT),
        unit(&["w/mk", "w/m/k", "wm1k1", "w/mc"], 1.0),
        unit(&["mw/mk", "mw/m/k"], 1e-3),
    ],
    bare: ("btuin/hft2f", "w/mk"),
    refused: &[],
    lowest: NOT_NEGATIVE,
};

/// A thermal conductivity, W/(m·K), from text such as "0.30 Btu in/h ft2 F" or "0.04 W/m K";
/// a bare number is Btu·in/(h·ft²·°F) in US, W/(m·K) in SI.
///
/// # Errors
/// Not a number, an unknown unit, or negative.
pub fn parse_conductivity_w_mk(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    read(&CONDUCTIVITY, text, system)
}

const R_VALUE: Kind = Kind {
    wanted: Wanted::Resistance,
    units: &[
        unit(
            &["ft2hf/btu", "hft2f/btu", "hrft2f/btu", "ft2fh/btu", "ft2hrf/btu", "rus"],
            M2K_PER_W_PER_R_US,
        ),
        unit(&["m2k/w", "m2c/w", "rsi"], 1.0),
    ],
    bare: ("ft2hf/btu", "m2k/w"),
    refused: &[],
    lowest: NOT_NEGATIVE,
};

/// A thermal resistance, m²·K/W, from text such as "R-4", "4 ft2 h F/Btu", "RSI 0.7", "0.7 m2K/W";
/// "R" is the US unit whatever the system, a bare number is the US unit in US and m²·K/W in SI.
///
/// # Errors
/// Not a number, an unknown unit, or negative.
pub fn parse_r_value_m2k_per_w(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    let trimmed = text.trim();
    let lower = trimmed.to_ascii_lowercase();
    let (prefix, forced) = if lower.starts_with("rsi") {
        (3, Some(UnitSystem::Si))
    } else if lower.starts_with('r') {
        (1, Some(UnitSystem::Us))
    } else {
        (0, None)
    };
    let body = trimmed.get(prefix..).unwrap_or(trimmed).trim_start();
    let body = if prefix > 0 {
        body.strip_prefix('-').unwrap_or(body)
    } else {
        body
    };
    read(&R_VALUE, body, forced.unwrap_or(system)).map_err(|error| UnitError::new(error.wanted, text, error.problem))
}
