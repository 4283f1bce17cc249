//! From what people type to SI: "50 gal", "4 bar", "-7 C", "0.30 Btu in/h ft2 F".
//!
//! A bare number takes the unit that the [`UnitSystem`] implies. Every refusal says what was
//! expected. Numbers may carry thousands commas ("1,500"), a fraction ("3/4") or a whole number with
//! a fraction ("1 1/2", "1-1/2").

use super::kind::{Kind, NOT_NEGATIVE, Unit, read, unit};
use super::number::{leading_number, squeeze};
pub use super::refusal::{Problem, UnitError, Wanted};
use super::{
    L_PER_FT3, L_PER_IMPERIAL_GAL, L_PER_US_CUP, L_PER_US_GAL, M_PER_FT, M_PER_IN, M_S_PER_MPH, PA_PER_BAR,
    PA_PER_FT_WATER, PA_PER_PSI, UnitSystem, ZERO_C_IN_K, c_from_f,
};

const TEMPERATURE: Kind = Kind {
    wanted: Wanted::Temperature,
    units: &[
        Unit {
            spellings: &[
                "f",
                "degf",
                "fahrenheit",
                "degreesf",
                "degreefahrenheit",
                "degreesfahrenheit",
            ],
            factor: 1.0 / 1.8,
            offset: -32.0 / 1.8,
        },
        unit(
            &[
                "c",
                "degc",
                "celsius",
                "centigrade",
                "degreesc",
                "degreecelsius",
                "degreescelsius",
            ],
            1.0,
        ),
        Unit {
            spellings: &["k", "kelvin"],
            factor: 1.0,
            offset: -ZERO_C_IN_K,
        },
    ],
    bare: ("f", "c"),
    refused: &[],
    // A hair of slack so that "-459.67 F" itself is not refused for rounding.
    lowest: Some((-ZERO_C_IN_K - 1e-9, Problem::BelowAbsoluteZero)),
};

/// A temperature, °C, from text such as "120 F", "49 °C", "322 K"; a bare number is °F in US, °C in SI.
///
/// # Errors
/// Not a number, an unknown unit, or below absolute zero.
///
/// ```
/// use brimwater::units::{UnitSystem, parse_temperature_c};
/// // X-Val: definition of the Fahrenheit scale, 212 °F = 100 °C.
/// assert!((parse_temperature_c("212 F", UnitSystem::Si).unwrap() - 100.0).abs() < 1e-9);
/// ```
pub fn parse_temperature_c(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    let celsius = read(&TEMPERATURE, text, system)?;
    // Fahrenheit goes through the one formula that the rest of the program uses, so that both agree to the last bit.
    match leading_number(text) {
        Ok((value, rest)) if squeeze(rest).starts_with('f') || (rest.is_empty() && system == UnitSystem::Us) => {
            Ok(c_from_f(value))
        }
        _ => Ok(celsius),
    }
}

const TEMPERATURE_DIFFERENCE: Kind = Kind {
    wanted: Wanted::TemperatureDifference,
    units: &[
        unit(&["f", "degf", "fahrenheit", "deltaf", "fdeg"], 1.0 / 1.8),
        unit(&["c", "degc", "celsius", "k", "kelvin", "deltac"], 1.0),
    ],
    bare: ("f", "k"),
    refused: &[],
    lowest: None,
};

/// A temperature difference, K, from text such as "10 F" or "5 K"; no 32 is taken off.
///
/// # Errors
/// Not a number, or an unknown unit.
pub fn parse_temperature_difference_k(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    read(&TEMPERATURE_DIFFERENCE, text, system)
}

const GAUGE: Kind = Kind {
    wanted: Wanted::Gauge,
    units: &[
        unit(
            &["psi", "psig", "lb/in2", "lbf/in2", "pounds", "lb", "lbs", "#"],
            PA_PER_PSI,
        ),
        unit(&["kpa", "kpag", "kn/m2"], 1e3),
        unit(&["bar", "barg", "bars"], PA_PER_BAR),
        unit(&["mpa", "mpag"], 1e6),
        unit(&["pa", "pag"], 1.0),
        unit(&["mbar", "hpa"], 100.0),
        unit(&["kgf/cm2", "kg/cm2"], 98_066.5),
        unit(
            &["fth2o", "ftwater", "feetofwater", "feethead", "fthead", "ftofwater"],
            PA_PER_FT_WATER,
        ),
        unit(
            &["mh2o", "mwater", "mwc", "metresofwater", "metersofwater", "mhead"],
            9_806.65,
        ),
    ],
    bare: ("psi", "kpa"),
    refused: &[(
        &[
            "psia", "bara", "kpaa", "mpaa", "kpaabs", "barabs", "psiabs", "atm", "ata",
        ],
        Problem::Absolute,
    )],
    lowest: None,
};

/// A gauge pressure, Pa, from text such as "60 psi", "4 bar", "400 kPa"; a bare number is psi in US, kPa in SI.
///
/// # Errors
/// Not a number, an unknown unit, or a unit that is plainly absolute (psia, bara, atm).
pub fn parse_gauge_pa(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    // "mPa" would be a thousandth of a pascal; nobody means it, and it must not become a million.
    if let Ok((_, rest)) = leading_number(text)
        && rest.trim() == "mPa"
    {
        return Err(UnitError::new(GAUGE.wanted, text, Problem::MilliPascal));
    }
    read(&GAUGE, text, system)
}

const VOLUME: Kind = Kind {
    wanted: Wanted::Volume,
    units: &[
        unit(
            &[
                "gal",
                "gals",
                "gallon",
                "gallons",
                "galon",
                "galón",
                "galones",
                "usgal",
                "usgallon",
                "usgallons",
                "galus",
                "usg",
            ],
            L_PER_US_GAL,
        ),
        unit(
            &[
                "impgal",
                "impgallon",
                "impgallons",
                "imperialgal",
                "imperialgallon",
                "imperialgallons",
                "ukgal",
                "ukgallon",
                "ukgallons",
                "galuk",
                "galimp",
            ],
            L_PER_IMPERIAL_GAL,
        ),
        unit(
            &[
                "l", "liter", "liters", "litre", "litres", "litro", "litros", "lt", "ltr", "dm3", "ℓ",
            ],
            1.0,
        ),
        unit(
            &[
                "ml",
                "milliliter",
                "milliliters",
                "millilitre",
                "millilitres",
                "cc",
                "cm3",
            ],
            1e-3,
        ),
        unit(
            &["m3", "cum", "cubicmeter", "cubicmeters", "cubicmetre", "cubicmetres"],
            1e3,
        ),
        unit(&["ft3", "cuft", "cubicfoot", "cubicfeet", "cf"], L_PER_FT3),
        unit(&["in3", "cuin", "cubicinch", "cubicinches"], L_PER_US_GAL / 231.0),
        unit(&["qt", "quart", "quarts"], L_PER_US_GAL / 4.0),
        unit(&["pt", "pint", "pints"], L_PER_US_GAL / 8.0),
        unit(&["cup", "cups"], L_PER_US_CUP),
        unit(
            &["floz", "fluidounce", "fluidounces", "oz", "ounce", "ounces"],
            L_PER_US_GAL / 128.0,
        ),
    ],
    bare: ("gal", "l"),
    refused: &[],
    lowest: NOT_NEGATIVE,
};

/// A volume, L, from text such as "50 gal", "40 imp gal", "190 L"; a bare number is US gallons in US, litres in SI.
///
/// # Errors
/// Not a number, an unknown unit, or negative.
pub fn parse_volume_l(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    read(&VOLUME, text, system)
}

const LENGTH: Kind = Kind {
    wanted: Wanted::Length,
    units: &[
        unit(&["ft", "foot", "feet", "pie", "pies", "'"], M_PER_FT),
        unit(
            &["in", "inch", "inches", "pulg", "pulgada", "pulgadas", "\"", "''"],
            M_PER_IN,
        ),
        unit(&["m", "meter", "meters", "metre", "metres", "metro", "metros"], 1.0),
        unit(&["mm", "millimeter", "millimeters", "millimetre", "millimetres"], 1e-3),
        unit(&["cm", "centimeter", "centimeters", "centimetre", "centimetres"], 1e-2),
        unit(&["yd", "yard", "yards"], 3.0 * M_PER_FT),
        unit(&["km"], 1e3),
    ],
    bare: ("ft", "m"),
    refused: &[],
    lowest: None,
};

/// A length or elevation, m, from text such as "60 ft", "5 ft 6 in", "18 m"; a bare number is feet in US, metres in SI.
///
/// # Errors
/// Not a number, or an unknown unit.
pub fn parse_length_m(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    // "5 ft 6 in": a foot part and an inch part.
    if let Ok((feet, rest)) = leading_number(text) {
        let split = rest.find(|c: char| c.is_ascii_digit() && !rest.starts_with(c));
        if let Some(at) = split {
            let foot_unit = squeeze(&rest[..at]);
            if matches!(foot_unit.as_str(), "ft" | "foot" | "feet" | "'") {
                let inches = read(&LENGTH, &rest[at..], UnitSystem::Us);
                if let (Ok(inches_m), Ok((_, inch_unit))) = (inches, leading_number(&rest[at..]))
                    && matches!(squeeze(inch_unit).as_str(), "in" | "inch" | "inches" | "\"" | "''")
                {
                    let feet_m = feet * M_PER_FT;
                    return Ok(if feet < 0.0 {
                        feet_m - inches_m
                    } else {
                        feet_m + inches_m
                    });
                }
            }
        }
    }
    read(&LENGTH, text, system)
}

const SMALL_LENGTH: Kind = Kind {
    wanted: Wanted::Size,
    bare: ("in", "mm"),
    units: LENGTH.units,
    refused: &[],
    lowest: NOT_NEGATIVE,
};

/// A size or thickness, m, from text such as "3/4 in", "1-1/2", "50 mm"; a bare number is inches in US, millimetres in SI.
///
/// # Errors
/// Not a number, an unknown unit, or negative.
pub fn parse_small_length_m(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    read(&SMALL_LENGTH, text, system)
}

const WIND: Kind = Kind {
    wanted: Wanted::Wind,
    units: &[
        unit(&["mph", "mi/h", "miles/h", "milesperhour"], M_S_PER_MPH),
        unit(&["m/s", "ms1", "mps"], 1.0),
        unit(&["km/h", "kmh", "kph", "kmph"], 1.0 / 3.6),
        unit(&["kn", "kt", "kts", "knot", "knots"], 1852.0 / 3600.0),
        unit(&["ft/s", "fps"], M_PER_FT),
    ],
    bare: ("mph", "m/s"),
    refused: &[],
    lowest: NOT_NEGATIVE,
};

/// A wind speed, m/s, from text such as "10 mph", "5 m/s", "12 kn"; a bare number is mph in US, m/s in SI.
///
/// # Errors
/// Not a number, an unknown unit, or negative.
pub fn parse_wind_m_s(text: &str, system: UnitSystem) -> Result<f64, UnitError> {
    read(&WIND, text, system)
}
