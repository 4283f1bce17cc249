//! Findings and reasons: kinds with their numbers, by subject, and the sentence of each.

use super::{Closing, OfPressure, OfRelief, OfTank, There, reading_words};
use crate::expansion::assessment::Measure;
use crate::expansion::sensitivity::Moved;
use crate::language::Tongue;

/// A finding or a reason.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Note {
    /// Whether the plumbing is closed.
    Closing(Closing),
    /// A tank.
    OfTank(OfTank),
    /// A relief in place of a tank.
    OfRelief(OfRelief),
    /// The pressures of the house.
    OfPressure(OfPressure),
    /// What the answer would be if a reading were another.
    Turns {
        /// The reading.
        moved: Moved,
        /// The value at which the answer changes, in the reading's own SI unit.
        turns_at: f64,
        /// The value told.
        told: f64,
        /// How many tanks are there.
        tanks: usize,
        /// What the answer becomes.
        becomes: Measure,
    },
}

impl Note {
    /// A finding of so many tanks that are there.
    pub fn there(tanks: usize, finding: There) -> Self {
        Self::OfTank(OfTank::There { tanks, finding })
    }

    /// Whether it is the same kind as another, whatever their numbers.
    pub fn same_kind(self, other: Note) -> bool {
        use std::mem::discriminant;
        match (self, other) {
            (Note::Closing(a), Note::Closing(b)) => discriminant(&a) == discriminant(&b),
            (Note::OfTank(OfTank::There { finding: a, .. }), Note::OfTank(OfTank::There { finding: b, .. })) => {
                discriminant(&a) == discriminant(&b)
            }
            (Note::OfTank(a), Note::OfTank(b)) => discriminant(&a) == discriminant(&b),
            (Note::OfRelief(a), Note::OfRelief(b)) => discriminant(&a) == discriminant(&b),
            (Note::OfPressure(a), Note::OfPressure(b)) => discriminant(&a) == discriminant(&b),
            (a, b) => discriminant(&a) == discriminant(&b),
        }
    }

    /// The sentence.
    pub fn say(self, tongue: Tongue) -> String {
        match self {
            Note::Closing(note) => note.say(tongue),
            Note::OfTank(note) => note.say(tongue),
            Note::OfRelief(note) => note.say(tongue),
            Note::OfPressure(note) => note.say(tongue),
            Note::Turns {
                moved,
                turns_at,
                told,
                tanks,
                becomes,
            } => turn_sentence(
                moved.name(),
                &moved.show(turns_at, tongue.units),
                &moved.show(told, tongue.units),
                becomes.words_in(tongue.language, tanks),
                tongue,
            ),
        }
    }
}

/// If a reading were another, what the answer would become.
fn turn_sentence(reading: &'static str, turns_at: &str, told: &str, measure: &str, tongue: Tongue) -> String {
    let name = reading_words(reading, tongue.language);
    tongue.pick(
        format!("if {name} were {turns_at} instead of {told}, the answer would be: {measure}"),
        format!("si {name} fuera {turns_at} en vez de {told}, la respuesta sería: {measure}"),
    )
}
