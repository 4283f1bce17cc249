//! Is the plumbing closed: does anything between the main and the heater stop water from going back?

use super::system::System;
use crate::units::{UnitSystem, show_gauge};
use serde::Serialize;

/// A device between the main and the heater, as the plumber finds it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ClosingDevice {
    /// A backflow prevention assembly (RP, DC, or a dual check).
    BackflowAssembly,
    /// A single check valve.
    CheckValve,
    /// A pressure reducing valve without a bypass.
    Prv,
    /// A pressure reducing valve with a built-in thermal bypass.
    PrvWithBypass,
    /// A check in the meter or its setter.
    MeterCheck,
    /// A water softener or filter whose check is not known.
    Softener,
    /// A water softener or filter with a check.
    SoftenerWithCheck,
    /// A check in a recirculation or mixing line.
    RecirculationCheck,
    /// Traced from the meter: there is nothing.
    Nothing,
}

impl ClosingDevice {
    /// All of them with the name that the command line and files use.
    pub const NAMES: [(&'static str, ClosingDevice); 9] = [
        ("backflow-assembly", ClosingDevice::BackflowAssembly),
        ("check-valve", ClosingDevice::CheckValve),
        ("prv", ClosingDevice::Prv),
        ("prv-with-bypass", ClosingDevice::PrvWithBypass),
        ("meter-check", ClosingDevice::MeterCheck),
        ("softener", ClosingDevice::Softener),
        ("softener-with-check", ClosingDevice::SoftenerWithCheck),
        ("recirculation-check", ClosingDevice::RecirculationCheck),
        ("nothing", ClosingDevice::Nothing),
    ];

    /// Reads the name; spaces and underscores stand for hyphens, "none" for nothing.
    pub fn parse(text: &str) -> Option<Self> {
        let name = text.trim().to_lowercase().replace(['_', ' '], "-");
        let name = match name.as_str() {
            "none" | "open" => "nothing",
            "dual-check" | "backflow" | "assembly" | "rp" | "dc" => "backflow-assembly",
            "check" => "check-valve",
            "regulator" | "pressure-reducing-valve" => "prv",
            "prv-bypass" => "prv-with-bypass",
            other => other,
        };
        Self::NAMES
            .iter()
            .find(|(known, _)| *known == name)
            .map(|(_, device)| *device)
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        Self::NAMES
            .iter()
            .find(|(_, device)| *device == self)
            .map_or("device", |(name, _)| name)
    }
}

/// Closed, open or unclear, and why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Closed {
    /// Whether water can not go back to the main; null when what was told does not settle it.
    pub is_closed: Option<bool>,
    /// The reasons, a sentence for each device.
    pub because: Vec<String>,
    /// The readings that would settle it, when it is unclear.
    pub settle_by: Vec<String>,
}

/// Judges a system.
///
/// One device that holds is enough. A regulator with a bypass lets expansion back only when nothing else holds upstream
/// and the main never stands above the limit, because the bypass opens only when the house is above the main.
/// `[asse-1003]` `[upc-608]` `[ipc-607]`
pub fn judge(system: &System) -> Closed {
    let words = system.words;
    let mut because = Vec::new();
    let (mut holds, mut lets_back, mut unclear, mut nothing) = (false, false, false, false);
    for device in &system.closed_by {
        match device {
            ClosingDevice::BackflowAssembly => {
                holds = true;
                because.push("a backflow prevention assembly lets no water back to the main".to_string());
            }
            ClosingDevice::CheckValve => {
                holds = true;
                because.push("a check valve lets no water back to the main".to_string());
            }
            ClosingDevice::MeterCheck => {
                holds = true;
                because.push("the check at the meter lets no water back to the main".to_string());
            }
            ClosingDevice::Prv => {
                holds = true;
                because
                    .push("a pressure reducing valve without a bypass shuts when the house pressure rises".to_string());
            }
            ClosingDevice::SoftenerWithCheck => {
                holds = true;
                because.push("the check in the softener or filter lets no water back to the main".to_string());
            }
            ClosingDevice::RecirculationCheck => {
                holds = true;
                because.push(
                    "a check in a recirculation or mixing line can shut the heater off from the main; taken as closed until it is traced"
                        .to_string(),
                );
            }
            ClosingDevice::Softener => {
                unclear = true;
                because.push("a softener or filter may have a check: look in its bypass head".to_string());
            }
            ClosingDevice::PrvWithBypass => {
                bypass(system, words, &mut because, &mut holds, &mut lets_back, &mut unclear)
            }
            ClosingDevice::Nothing => {
                nothing = true;
                because.push("nothing between the main and the heater stops water from going back".to_string());
            }
        }
    }
    let is_closed = if holds {
        Some(true)
    } else if unclear {
        None
    } else if lets_back || nothing {
        Some(false)
    } else {
        because.push("no device was told of, so it is not known; taken as closed to be on the safe side".to_string());
        None
    };
    if nothing && holds {
        because.push("\"nothing\" was told beside a device that holds; the device counts".to_string());
    }
    Closed {
        is_closed,
        because,
        settle_by: if is_closed.is_none() {
            settling(words)
        } else {
            Vec::new()
        },
    }
}

fn bypass(
    system: &System,
    words: UnitSystem,
    because: &mut Vec<String>,
    holds: &mut bool,
    lets_back: &mut bool,
    unclear: &mut bool,
) {
    let limit = show_gauge(system.limit_gauge_pa, words);
    match system.street_gauge_pa {
        Some(street_pa) if street_pa <= system.limit_gauge_pa => {
            *lets_back = true;
            because.push(format!(
                "the regulator's bypass opens when the house passes the main, and the main never passes {} (limit {limit})",
                show_gauge(street_pa, words)
            ));
        }
        Some(street_pa) => {
            *holds = true;
            because.push(format!(
                "the regulator's bypass opens only above the main's {}, which is over the limit of {limit}, so it protects nothing",
                show_gauge(street_pa, words)
            ));
        }
        None => {
            *unclear = true;
            because.push(format!(
                "a regulator's bypass helps only while the main stays at or below {limit}; the highest pressure of the main is not known"
            ));
        }
    }
}

/// What settles an unclear case.
fn settling(words: UnitSystem) -> Vec<String> {
    let few = match words {
        UnitSystem::Us => "a few psi",
        UnitSystem::Si => "some 20 kPa",
    };
    vec![
        "Ask the utility whether there is a check at the meter, and trace the pipe from the meter to the heater: one check is enough."
            .to_string(),
        "Leave a gauge with a maximum hand on a hose bibb for 24 hours, over a night: a closed system shows a maximum well above static after heating."
            .to_string(),
        format!(
            "Heat test: draw 5 to 10 gal (20 to 40 L) of hot water, shut everything, watch for 30 to 60 minutes. An open system stays within {few}; a closed one climbs steadily, and a quick opening of a tap drops it to static."
        ),
    ]
}
