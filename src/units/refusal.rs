//! Why a text is no quantity: what was wanted and what is wrong, in both languages.

use crate::language::Language;
use std::fmt;

/// What was wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Wanted {
    /// A temperature.
    Temperature,
    /// A difference of temperatures.
    TemperatureDifference,
    /// A gauge pressure.
    Gauge,
    /// A volume.
    Volume,
    /// A length.
    Length,
    /// A size or thickness.
    Size,
    /// A wind speed.
    Wind,
    /// A heat input.
    HeatInput,
    /// An electric power.
    Power,
    /// A film coefficient.
    Film,
    /// A thermal conductivity.
    Conductivity,
    /// A thermal resistance.
    Resistance,
    /// A flow.
    Flow,
    /// A flow that a service line can pass.
    BelievableFlow,
    /// A share of one.
    Share,
}

impl Wanted {
    /// Its name with its article, such as "a temperature".
    pub fn name(self, language: Language) -> &'static str {
        self.words(language).0
    }

    /// What would have been right, with examples.
    pub fn expected(self, language: Language) -> &'static str {
        self.words(language).1
    }

    fn words(self, language: Language) -> (&'static str, &'static str) {
        // Units stay as they are typed in either language.
        let (english, spanish) = match self {
            Wanted::Temperature => (
                (
                    "a temperature",
                    "a number with F, C or K, such as \"120 F\" or \"49 C\"",
                ),
                ("una temperatura", "un número con F, C o K, como \"120 F\" o \"49 C\""),
            ),
            Wanted::TemperatureDifference => (
                (
                    "a temperature difference",
                    "a number with F, C or K, such as \"10 F\" or \"5 K\"",
                ),
                (
                    "una diferencia de temperatura",
                    "un número con F, C o K, como \"10 F\" o \"5 K\"",
                ),
            ),
            Wanted::Gauge => (
                (
                    "a gauge pressure",
                    "a number with psi, kPa, bar or MPa as a gauge shows it, such as \"60 psi\" or \"4 bar\"",
                ),
                (
                    "una presión de manómetro",
                    "un número con psi, kPa, bar o MPa como lo muestra el manómetro, como \"60 psi\" o \"4 bar\"",
                ),
            ),
            Wanted::Volume => (
                (
                    "a volume",
                    "a number with gal (US), imp gal, L or m3, such as \"50 gal\" or \"190 L\"",
                ),
                (
                    "un volumen",
                    "un número con gal (EE. UU.), imp gal, L o m3, como \"50 gal\" o \"190 L\"",
                ),
            ),
            Wanted::Length => (
                (
                    "a length",
                    "a number with ft, in, m or mm, such as \"60 ft\", \"5 ft 6 in\" or \"18 m\"",
                ),
                (
                    "una longitud",
                    "un número con ft, in, m o mm, como \"60 ft\", \"5 ft 6 in\" o \"18 m\"",
                ),
            ),
            Wanted::Size => (
                (
                    "a size or thickness",
                    "a number with in, mm or cm, such as \"3/4 in\", \"1-1/2 in\" or \"50 mm\"",
                ),
                (
                    "un diámetro o espesor",
                    "un número con in, mm o cm, como \"3/4 in\", \"1-1/2 in\" o \"50 mm\"",
                ),
            ),
            Wanted::Wind => (
                ("a wind speed", "a number with mph, m/s, km/h or kn, such as \"10 mph\""),
                (
                    "una velocidad del viento",
                    "un número con mph, m/s, km/h o kn, como \"10 mph\"",
                ),
            ),
            Wanted::HeatInput => (
                (
                    "a heat input",
                    "a number with Btu/h, W or kW, such as \"40000 Btu/h\" or \"4.5 kW\"",
                ),
                (
                    "una potencia de calentamiento",
                    "un número con Btu/h, W o kW, como \"40000 Btu/h\" o \"4.5 kW\"",
                ),
            ),
            Wanted::Power => (
                ("a power", "a number with W or kW, such as \"50 W\""),
                ("una potencia", "un número con W o kW, como \"50 W\""),
            ),
            Wanted::Film => (
                (
                    "a film coefficient",
                    "a number with W/m2K or Btu/h ft2 F, such as \"20 W/m2K\"",
                ),
                (
                    "un coeficiente de película",
                    "un número con W/m2K o Btu/h ft2 F, como \"20 W/m2K\"",
                ),
            ),
            Wanted::Conductivity => (
                (
                    "a thermal conductivity",
                    "a number with Btu in/h ft2 F, Btu/h ft F or W/m K, such as \"0.30 Btu in/h ft2 F\"",
                ),
                (
                    "una conductividad térmica",
                    "un número con Btu in/h ft2 F, Btu/h ft F o W/m K, como \"0.30 Btu in/h ft2 F\"",
                ),
            ),
            Wanted::Resistance => (
                (
                    "a thermal resistance",
                    "a number with ft2 h F/Btu or m2 K/W, such as \"R-4\" or \"0.7 m2K/W\"",
                ),
                (
                    "una resistencia térmica",
                    "un número con ft2 h F/Btu o m2 K/W, como \"R-4\" o \"0.7 m2K/W\"",
                ),
            ),
            Wanted::Flow => (
                (
                    "a flow",
                    "a flow such as \"1 cup in 6 min\", \"20 drops/min\", \"0.5 gal/h\", \"30 mL/min\" or \"steady stream\"",
                ),
                (
                    "un caudal",
                    "un caudal como \"1 taza en 6 min\", \"20 gotas/min\", \"0.5 gal/h\", \"30 mL/min\" o \"chorro\"",
                ),
            ),
            Wanted::BelievableFlow => (("a rate", "0 to 1000000 L/h"), ("un caudal", "de 0 a 1000000 L/h")),
            Wanted::Share => (
                (
                    "a share",
                    "a number above 0 and at most 1, or a percentage, such as \"0.8\" or \"80 %\"",
                ),
                (
                    "una fracción",
                    "un número mayor que 0 y hasta 1, o un porcentaje, como \"0.8\" o \"80 %\"",
                ),
            ),
        };
        language.pick(english, spanish)
    }
}

/// What is wrong with a text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Problem {
    /// Nothing was given.
    Nothing,
    /// It does not start with a number.
    NoNumber,
    /// It is not a number.
    NotANumber,
    /// A fraction with 0 below the line.
    ZeroBelow,
    /// The number is too large.
    TooLarge,
    /// More than one decimal point.
    Points,
    /// A comma where a point is wanted.
    Comma,
    /// The number cannot be read.
    Unreadable,
    /// A unit that is not known here.
    UnknownUnit(String),
    /// Less than zero.
    Negative,
    /// Below absolute zero.
    BelowAbsoluteZero,
    /// An absolute pressure.
    Absolute,
    /// A thousandth of a pascal.
    MilliPascal,
    /// An amount of heat instead of a rate.
    AmountOfHeat,
    /// A flow without a time.
    NoTime,
    /// A time that cannot be read.
    UnreadTime(String),
    /// A time of zero.
    ZeroTime,
    /// More than a service line passes.
    TooMuchFlow,
}

impl Problem {
    /// The problem in words.
    pub fn text(&self, language: Language) -> String {
        let (english, spanish) = match self {
            Problem::Nothing => ("nothing was given", "no se dio nada"),
            Problem::NoNumber => ("it does not start with a number", "no empieza con un número"),
            Problem::NotANumber => ("it is not a number", "no es un número"),
            Problem::ZeroBelow => (
                "a fraction cannot have 0 below the line",
                "una fracción no puede tener 0 abajo",
            ),
            Problem::TooLarge => ("the number is too large", "el número es demasiado grande"),
            Problem::Points => (
                "the number has more than one decimal point",
                "el número tiene más de un punto decimal",
            ),
            Problem::Comma => (
                "a comma is read as a thousands mark, so a decimal needs a point",
                "la coma se lee como separador de miles; los decimales llevan punto",
            ),
            Problem::Unreadable => ("the number cannot be read", "no se puede leer el número"),
            Problem::UnknownUnit(unit) => {
                return language.pick(
                    format!("the unit {unit:?} is not known here"),
                    format!("aquí no se conoce la unidad {unit:?}"),
                );
            }
            Problem::Negative => ("it cannot be negative", "no puede ser negativo"),
            Problem::BelowAbsoluteZero => ("it is below absolute zero", "está por debajo del cero absoluto"),
            Problem::Absolute => (
                "that unit is absolute, and pressures here are gauge readings; take off the pressure of the air (14.7 psi or 101 kPa at sea level)",
                "esa unidad es absoluta, y aquí las presiones son de manómetro; réstele la presión del aire (14.7 psi o 101 kPa al nivel del mar)",
            ),
            Problem::MilliPascal => (
                "mPa is a thousandth of a pascal; a megapascal is MPa",
                "mPa es una milésima de pascal; un megapascal es MPa",
            ),
            Problem::AmountOfHeat => (
                "that is an amount of heat, and a rate is wanted",
                "eso es una cantidad de calor, y se pide una potencia",
            ),
            Problem::NoTime => ("no time was told", "no se dijo en cuánto tiempo"),
            Problem::UnreadTime(time) => {
                return language.pick(
                    format!("the time {time:?} cannot be read"),
                    format!("no se puede leer el tiempo {time:?}"),
                );
            }
            Problem::ZeroTime => ("the time must be more than zero", "el tiempo debe ser mayor que cero"),
            Problem::TooMuchFlow => (
                "it is more than any service line passes",
                "es más de lo que pasa por cualquier toma de agua",
            ),
        };
        language.pick(english, spanish).to_string()
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text(Language::English))
    }
}

/// A text that is not a quantity of the wanted kind.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitError {
    /// What was wanted.
    pub wanted: Wanted,
    /// The text as it was read, cut to 60 characters.
    pub text: String,
    /// What is wrong with it.
    pub problem: Problem,
}

impl UnitError {
    /// An error about a text.
    pub fn new(wanted: Wanted, text: &str, problem: Problem) -> Self {
        let mut cut: String = text.chars().take(60).collect();
        if cut.len() < text.len() {
            cut.push('…');
        }
        Self {
            wanted,
            text: cut,
            problem,
        }
    }

    /// What would have been right, with examples, in English.
    pub fn expected(&self) -> &'static str {
        self.wanted.expected(Language::English)
    }

    /// Problem and remedy in one sentence for a form.
    pub fn sentence(&self, language: Language) -> String {
        let (problem, expected) = (self.problem.text(language), self.wanted.expected(language));
        language.pick(
            format!("{problem}; expected {expected}"),
            format!("{problem}; se espera {expected}"),
        )
    }
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let english = Language::English;
        write!(
            f,
            "{:?} is not {}: {}; expected {}",
            self.text,
            self.wanted.name(english),
            self.problem,
            self.wanted.expected(english)
        )
    }
}

impl std::error::Error for UnitError {}
