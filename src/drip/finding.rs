//! What an answer comes to, and how soon somebody must act.

use super::line::Line;
use serde::Serialize;

/// The findings of the interface.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Finding {
    /// Somebody or something is in danger now.
    Emergency,
    /// A fire line: valves stay open, the fire people decide.
    FireLine,
    /// The device does what it is there for.
    WorkingAsMeant,
    /// Heated water has no room.
    ExpansionSuspected,
    /// The device needs a tester or a plumber.
    DeviceFault,
    /// Frost has broken something.
    FreezeDamage,
    /// Ice is forming now.
    FreezingNow,
    /// A pipe or joint leaks.
    Leak,
    /// Not enough is known; one question would settle most.
    CannotTell,
}

impl Finding {
    /// Every finding.
    pub const ALL: &'static [Finding] = &[
        Finding::Emergency,
        Finding::FireLine,
        Finding::WorkingAsMeant,
        Finding::ExpansionSuspected,
        Finding::DeviceFault,
        Finding::FreezeDamage,
        Finding::FreezingNow,
        Finding::Leak,
        Finding::CannotTell,
    ];

    /// The word of the interface.
    pub fn word(self) -> &'static str {
        match self {
            Finding::Emergency => "emergency",
            Finding::FireLine => "fire-line",
            Finding::WorkingAsMeant => "working-as-meant",
            Finding::ExpansionSuspected => "expansion-suspected",
            Finding::DeviceFault => "device-fault",
            Finding::FreezeDamage => "freeze-damage",
            Finding::FreezingNow => "freezing-now",
            Finding::Leak => "leak",
            Finding::CannotTell => "cannot-tell",
        }
    }

    /// The finding with this word.
    pub fn parse(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|finding| finding.word() == word)
    }

    /// The finding as people read it.
    pub fn title(self) -> Line {
        match self {
            Finding::Emergency => Line::new("Emergency", "Emergencia"),
            Finding::FireLine => Line::new("Fire line: hand over", "Línea contra incendios: transfiera la llamada"),
            Finding::WorkingAsMeant => Line::new("Probably working as meant", "Probablemente funciona como debe"),
            Finding::ExpansionSuspected => Line::new("Thermal expansion suspected", "Se sospecha expansión térmica"),
            Finding::DeviceFault => Line::new("The device needs service", "El dispositivo necesita servicio"),
            Finding::FreezeDamage => Line::new("Freeze damage likely", "Daño por helada probable"),
            Finding::FreezingNow => Line::new("Freezing now", "Se está congelando"),
            Finding::Leak => Line::new("A leak", "Una fuga"),
            Finding::CannotTell => Line::new("Cannot tell yet", "Aún no se puede saber"),
        }
    }
}

/// How soon somebody must act, most urgent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Within {
    /// While the caller is on the line.
    Now,
    /// The same day.
    Today,
    /// Two days.
    Hours48,
    /// Three days.
    Hours72,
    /// Two weeks.
    Weeks2,
    /// The caller looks again in a day and calls back if it changed.
    Watch24,
}

impl Within {
    /// The words that people read.
    pub fn words(self) -> Line {
        match self {
            Within::Now => Line::new("now", "ahora"),
            Within::Today => Line::new("today", "hoy mismo"),
            Within::Hours48 => Line::new("within 48 hours", "en 48 horas"),
            Within::Hours72 => Line::new("within 72 hours", "en 72 horas"),
            Within::Weeks2 => Line::new("within 2 weeks", "en 2 semanas"),
            Within::Watch24 => Line::new(
                "look again in 24 hours, call back if it changes",
                "revise de nuevo en 24 horas y llame si cambia",
            ),
        }
    }
}
