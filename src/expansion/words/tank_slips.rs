//! Readings of a tank that is there, or of the place of one, that cannot be used or are hard to believe.

use super::slips::{Told, by_message};
use crate::language::Tongue;

/// A slip in the readings of a tank.
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(missing_docs, reason = "the sentences below say what each is")]
pub enum TankSlip {
    NotAboveZero,
    NegativePrecharge,
    HighPrecharge,
    ImpossibleAcceptance,
    NoSuchPlace,
    NotOneBuilding,
    NotAsMany { tanks: String },
    WhichFailed,
}

impl TankSlip {
    /// What is wrong, what was expected, what to do.
    pub(super) fn told(&self, tongue: Tongue) -> Told {
        let both = |english: [&str; 3], spanish: [&str; 3]| tongue.pick(english, spanish).map(str::to_string);
        match self {
            TankSlip::NotAboveZero => both(
                [
                    "the tank's volume is not above zero",
                    "such as \"2 gal\"",
                    "Read the tank's label.",
                ],
                [
                    "el volumen del tanque no es mayor que cero",
                    "algo como \"2 gal\"",
                    "Lea la etiqueta del tanque.",
                ],
            ),
            TankSlip::NegativePrecharge => both(
                [
                    "a precharge cannot be negative",
                    "zero or more, as the gauge at the air valve shows it with the tank isolated and drained",
                    "Read it again.",
                ],
                [
                    "una precarga no puede ser negativa",
                    "cero o más, como la muestra el manómetro en la válvula de aire con el tanque aislado y vacío",
                    "Léala otra vez.",
                ],
            ),
            TankSlip::HighPrecharge => both(
                [
                    "is high for a domestic tank",
                    "40 to 80 psi (276 to 552 kPa)",
                    "Read it with the tank isolated and drained, in the unit you type.",
                ],
                [
                    "es alta para un tanque doméstico",
                    "de 40 a 80 psi (276 a 552 kPa)",
                    "Léala con el tanque aislado y vacío, en la unidad que escribe.",
                ],
            ),
            TankSlip::ImpossibleAcceptance => both(
                [
                    "the water that a tank may accept lies between zero and its volume",
                    "the figure on the tank's label",
                    "Read the label again.",
                ],
                [
                    "el agua que un tanque puede aceptar está entre cero y su volumen",
                    "la cifra de la etiqueta del tanque",
                    "Lea otra vez la etiqueta.",
                ],
            ),
            TankSlip::NoSuchPlace => both(
                [
                    "no tank stands in such a place",
                    "-40 to 212 °F (-40 to 100 °C)",
                    "Check °F against °C.",
                ],
                [
                    "ningún tanque está en un lugar así",
                    "de -40 a 212 °F (-40 a 100 °C)",
                    "Revise si son °F o °C.",
                ],
            ),
            TankSlip::NotOneBuilding => both(
                [
                    "is not within one building",
                    "within 1,000 ft (300 m) of the gauge",
                    "Check feet against metres.",
                ],
                [
                    "no cabe en un solo edificio",
                    "a menos de 1,000 ft (300 m) del manómetro",
                    "Revise si son pies o metros.",
                ],
            ),
            TankSlip::NotAsMany { tanks } => by_message(tongue, "not-as-many", &[("names", tanks.clone())]),
            TankSlip::WhichFailed => by_message(tongue, "which-tank", &[]),
        }
    }
}
