//! What the room says: every finding is a kind with its numbers, and here it becomes a sentence in either language.

mod closing;
mod missing;
mod notes;
mod pipes;
mod pressures;
mod reliefs;
mod slips;
mod steps;
mod tank_slips;
mod tanks;

pub use closing::Closing;
pub use missing::Missing;
pub use notes::Note;
pub use pipes::OfPipe;
pub use pressures::OfPressure;
pub use reliefs::OfRelief;
pub use slips::Slip;
pub use tank_slips::TankSlip;
pub use tanks::{Charge, OfTank, There, Which};

use super::assessment::Measure;
use crate::language::{Language, Tongue};

/// Findings as sentences.
pub fn say_all(notes: Vec<Note>, tongue: Tongue) -> Vec<String> {
    notes.into_iter().map(|note| note.say(tongue)).collect()
}

impl Measure {
    /// What to do, for people, in a language, where so many tanks are there.
    pub fn words_in(self, language: Language, tanks: usize) -> &'static str {
        match (self, tanks) {
            (Self::KeepExistingTank, 2..) => {
                return language.pick("keep the tanks that are there", "conservar los tanques que ya están");
            }
            (Self::ReplaceExistingTank, 2..) => {
                return language.pick("replace the tanks that are there", "cambiar los tanques que ya están");
            }
            _ => {}
        }
        match language {
            Language::English => self.words(),
            Language::Spanish => match self {
                Self::Tank => "poner un tanque de expansión",
                Self::Relief => "poner una válvula de alivio de expansión",
                Self::LowerSupplyPressure => "bajar la presión del suministro",
                Self::LowerSupplyPressureThenTank => {
                    "bajar la presión del suministro y luego poner un tanque de expansión"
                }
                Self::LowerSupplyPressureThenRelief => {
                    "bajar la presión del suministro y luego poner una válvula de alivio de expansión"
                }
                Self::NoneNeeded => "no hace falta nada",
                Self::KeepExistingTank => "conservar el tanque que ya está",
                Self::ReplaceExistingTank => "cambiar el tanque que ya está",
            },
        }
    }
}

/// A reading as a sentence calls it: English as the command line names it, Spanish as people say it.
pub fn reading_words(reading: &'static str, language: Language) -> &'static str {
    let spanish = match reading {
        "static" => "la presión estática",
        "cold" => "el suministro más frío",
        "hot" => "el almacenamiento más caliente",
        "heater" => "el volumen del calentador",
        "street" => "la presión más alta de la calle",
        "precharge" => "la precarga",
        "existing-tank" => "el volumen del tanque que ya está",
        other => other,
    };
    language.pick(reading, spanish)
}
