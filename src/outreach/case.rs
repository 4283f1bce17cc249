//! Which wording an assembly needs.

use super::config::ByCase;
use crate::freeze::Outlook;
use crate::inventory::{Assembly, Service, WinterUse};
use serde::{Deserialize, Serialize};

/// The wording case of one assembly. What may be said differs in kind: a fire line is never shut, a line in use is never
/// drained, a drip device is left alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Case {
    /// A fire line that was seen with ice in it: never shut, its firm and the fire department are told.
    FireIced,
    /// Seen with ice in it: too late to protect, left as it is, looked at by somebody licensed.
    Iced,
    /// A fire line with a heater or in a building: never shut, keep heat on it.
    Fire,
    /// A fire line without heat: never shut, wrap it.
    FireBare,
    /// Premises where nobody is: the owner or agent is told.
    Vacant,
    /// A thermostatic drip device is fitted: it will drip, leave it.
    FreezeDrip,
    /// Irrigation only: shut and drain.
    Irrigation,
    /// A line that nobody needs now: drain or wrap.
    Idle,
    /// A line in use, or one of which the service is not known: wrap.
    Domestic,
}

impl Case {
    /// Every case, the one that takes precedence first.
    pub const ALL: [Case; 9] = [
        Case::FireIced,
        Case::Iced,
        Case::Fire,
        Case::FireBare,
        Case::Vacant,
        Case::FreezeDrip,
        Case::Irrigation,
        Case::Idle,
        Case::Domestic,
    ];

    /// The word that template names and files use.
    pub fn word(self) -> &'static str {
        match self {
            Case::FireIced => "fire_iced",
            Case::Iced => "iced",
            Case::Fire => "fire",
            Case::FireBare => "fire_bare",
            Case::Vacant => "vacant",
            Case::FreezeDrip => "freeze_drip",
            Case::Irrigation => "irrigation",
            Case::Idle => "idle",
            Case::Domestic => "domestic",
        }
    }

    /// The case of an assembly as it stands now: what was seen with ice or a break in it is past what would have protected it.
    pub fn now(assembly: &Assembly, outlook: &Outlook) -> Case {
        match (outlook.is_past_advice(), assembly.service) {
            (true, Service::Fire) => Case::FireIced,
            (true, _) => Case::Iced,
            (false, _) => Case::of(assembly),
        }
    }

    /// The case of an assembly of which nothing was seen. Fire comes before all; a critical customer's line and a line of unknown service are
    /// treated as in use, so that nobody is told to drain them.
    pub fn of(assembly: &Assembly) -> Case {
        if assembly.service == Service::Fire {
            return if assembly.has_heat() {
                Case::Fire
            } else {
                Case::FireBare
            };
        }
        // A drip device that is fitted needs its supply: nobody is told to have it shut off.
        if assembly.winter_use == WinterUse::Vacant && assembly.critical.is_none() && !assembly.freeze_drip {
            Case::Vacant
        } else if assembly.freeze_drip {
            Case::FreezeDrip
        } else if !assembly.may_be_drained() {
            Case::Domestic
        } else if assembly.service == Service::Irrigation {
            Case::Irrigation
        } else {
            Case::Idle
        }
    }

    /// Whether it is a fire line.
    pub fn is_fire(self) -> bool {
        matches!(self, Case::Fire | Case::FireBare | Case::FireIced)
    }

    /// Whether ice was seen in it.
    pub fn is_iced(self) -> bool {
        matches!(self, Case::Iced | Case::FireIced)
    }
}

impl ByCase {
    /// The number of this case.
    pub fn of(&self, case: Case) -> f64 {
        match case {
            Case::Iced | Case::FireIced => self.iced,
            Case::Fire | Case::FireBare => self.fire,
            Case::Vacant => self.vacant,
            Case::FreezeDrip => self.freeze_drip,
            Case::Irrigation => self.irrigation,
            Case::Idle | Case::Domestic => self.domestic,
        }
    }
}
