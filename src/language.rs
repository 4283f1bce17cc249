//! The two languages of answers and pages, and how a sentence reads numbers.

use crate::units::{UnitSystem, show_gauge, show_temperature, show_temperature_difference, show_volume};
use serde::{Deserialize, Serialize};

/// Language of an answer, a page or a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub enum Language {
    /// English.
    #[default]
    #[serde(rename = "en")]
    English,
    /// Spanish.
    #[serde(rename = "es")]
    Spanish,
}

impl Language {
    /// Every language, in the order of the interface.
    pub const ALL: &'static [Language] = &[Language::English, Language::Spanish];

    /// The word that files and pages use: the language's tag of BCP 47.
    pub fn word(self) -> &'static str {
        match self {
            Language::English => "en",
            Language::Spanish => "es",
        }
    }

    /// The one of two wordings that is in this language.
    pub fn pick<T>(self, english: T, spanish: T) -> T {
        match self {
            Language::English => english,
            Language::Spanish => spanish,
        }
    }
}

impl std::fmt::Display for Language {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}

/// A language and the units in which its sentences give numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tongue {
    /// Language.
    pub language: Language,
    /// Units.
    pub units: UnitSystem,
}

impl Tongue {
    /// A gauge pressure, from Pa.
    pub fn gauge(self, pascal: f64) -> String {
        show_gauge(pascal, self.units)
    }

    /// A volume, from L.
    pub fn volume(self, litre: f64) -> String {
        show_volume(litre, self.units)
    }

    /// A temperature, from °C.
    pub fn temperature(self, celsius: f64) -> String {
        show_temperature(celsius, self.units)
    }

    /// A difference of temperatures, from K.
    pub fn warming(self, kelvin: f64) -> String {
        show_temperature_difference(kelvin, self.units)
    }

    /// The one of two wordings that is in this language.
    pub fn pick<T>(self, english: T, spanish: T) -> T {
        self.language.pick(english, spanish)
    }
}

/// Day names as calendars shorten them, Monday first.
const DAYS_SHORT: [[&str; 7]; 2] = [
    ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"],
    ["lun", "mar", "mié", "jue", "vie", "sáb", "dom"],
];
/// Day names in full, Monday first.
const DAYS: [[&str; 7]; 2] = [
    [
        "Monday",
        "Tuesday",
        "Wednesday",
        "Thursday",
        "Friday",
        "Saturday",
        "Sunday",
    ],
    ["lunes", "martes", "miércoles", "jueves", "viernes", "sábado", "domingo"],
];
/// Month names as calendars shorten them.
const MONTHS_SHORT: [[&str; 12]; 2] = [
    [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ],
    [
        "ene", "feb", "mar", "abr", "may", "jun", "jul", "ago", "sep", "oct", "nov", "dic",
    ],
];

/// A name of a list of names for each language; empty beyond the list.
fn named<const N: usize>(names: &'static [[&'static str; N]; 2], language: Language, at: usize) -> &'static str {
    let [english, spanish] = names;
    language.pick(english, spanish).get(at).copied().unwrap_or("")
}

impl Language {
    /// A day of the week, shortened: `Fri`, `vie`.
    pub fn day_short(self, day: chrono::Weekday) -> &'static str {
        named(&DAYS_SHORT, self, day.num_days_from_monday() as usize)
    }

    /// A day of the week: `Friday`, `viernes`.
    pub fn day(self, day: chrono::Weekday) -> &'static str {
        named(&DAYS, self, day.num_days_from_monday() as usize)
    }

    /// Day and month: `Jan 5`, `5 ene`.
    pub fn date<T: chrono::Datelike>(self, date: &T) -> String {
        let month = named(&MONTHS_SHORT, self, date.month0() as usize);
        self.pick(format!("{month} {}", date.day()), format!("{} {month}", date.day()))
    }
}
