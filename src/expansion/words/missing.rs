//! Needed readings that are missing.

use super::slips::{Told, by_message};
use crate::language::Tongue;

/// A needed reading that was not told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[allow(missing_docs, reason = "each is the reading of its name")]
pub enum Missing {
    Heater,
    Cold,
    Hot,
    Static,
    Tank,
    Precharge,
    CutOut,
    Stagnation,
}

impl Missing {
    /// What is wrong, what was expected, what to do.
    pub(super) fn told(self, tongue: Tongue) -> Told {
        let missing = |english: &str, spanish: &str| {
            let what = tongue.pick("a needed reading is missing", "falta una lectura necesaria");
            [
                what.to_string(),
                tongue.pick(english, spanish).to_string(),
                String::new(),
            ]
        };
        match self {
            Missing::Heater => missing(
                "the heater's volume, such as \"40 gal\"",
                "el volumen del calentador, como \"40 gal\"",
            ),
            Missing::Cold => missing(
                "the coldest supply of the year, such as \"40 F\", or a climate record (--series)",
                "el suministro más frío del año, como \"40 F\"",
            ),
            Missing::Hot => missing(
                "the hottest storage, such as \"140 F\"",
                "el almacenamiento más caliente, como \"140 F\"",
            ),
            Missing::Static => missing(
                "the highest static gauge pressure, such as \"60 psi\"",
                "la presión estática más alta del manómetro, como \"60 psi\"",
            ),
            Missing::Tank => missing(
                "the volume of the tank that the precharge belongs to, such as \"2 gal\"",
                "el volumen del tanque de esa precarga, como \"2 gal\"",
            ),
            Missing::Precharge => missing(
                "the tank's precharge, read at its air valve with the tank isolated and drained, such as \"40 psi\"",
                "la precarga del tanque, leída en su válvula de aire con el tanque aislado y vacío, como \"40 psi\"",
            ),
            Missing::CutOut => by_message(tongue, "missing-cut-out", &[]),
            Missing::Stagnation => by_message(tongue, "missing-stagnation", &[]),
        }
    }
}
