//! Is the plumbing closed: does anything between the main and the heater stop water from going back?

use super::existing::TankState;
use super::supply;
use super::system::System;
use super::tank::at_tank_abs_pa;
use super::volume::Demand;
use super::words::{Closing, Note, say_all};
use crate::language::Tongue;
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
pub struct Closed<W = String> {
    /// Whether water can not go back to the main; null when what was told does not settle it.
    pub is_closed: Option<bool>,
    /// The reasons, a sentence for each device.
    pub because: Vec<W>,
    /// The readings that would settle it, when it is unclear.
    pub settle_by: Vec<W>,
}

impl Closed<Note> {
    /// With its words.
    pub fn said(self, tongue: Tongue) -> Closed {
        Closed {
            is_closed: self.is_closed,
            because: say_all(self.because, tongue),
            settle_by: say_all(self.settle_by, tongue),
        }
    }
}

/// Whether a regulator is among the devices.
fn lists_regulator(system: &System) -> bool {
    system
        .closed_by
        .iter()
        .any(|device| matches!(device, ClosingDevice::Prv | ClosingDevice::PrvWithBypass))
}

/// Judges a system.
///
/// One device that holds is enough. A regulator with a bypass lets expansion back only when nothing else holds upstream
/// and the main never stands above the limit, because the bypass opens only when the house is above the main.
/// `[asse-1003]` `[upc-608]` `[ipc-607]`
pub fn judge(system: &System, demand: &Demand) -> Closed<Note> {
    let mut because = Vec::new();
    let (mut holds, mut lets_back, mut unclear, mut nothing) = (false, false, false, false);
    // Seen, but not between main and heater: it settles nothing by itself.
    let mut aside = false;
    // A regulator that was told by its own readings is one, listed or not.
    let untold = (supply::has_regulator(system) && !lists_regulator(system)).then_some(ClosingDevice::Prv);
    // Traced from the meter to the heater and found open: a check beside that line is no longer in question.
    let traced = system.closed_by.contains(&ClosingDevice::Nothing);
    for device in system.closed_by.iter().chain(&untold) {
        if traced && *device == ClosingDevice::RecirculationCheck {
            because.push(Note::Closing(Closing::RecirculationCheckAside));
            continue;
        }
        let (note, mark) = match device {
            ClosingDevice::BackflowAssembly => (Note::Closing(Closing::AssemblyHolds), &mut holds),
            ClosingDevice::CheckValve => (Note::Closing(Closing::CheckValveHolds), &mut holds),
            ClosingDevice::MeterCheck => (Note::Closing(Closing::MeterCheckHolds), &mut holds),
            ClosingDevice::Prv => (Note::Closing(Closing::RegulatorHolds), &mut holds),
            ClosingDevice::SoftenerWithCheck => (Note::Closing(Closing::SoftenerCheckHolds), &mut holds),
            ClosingDevice::RecirculationCheck => (Note::Closing(Closing::RecirculationCheckHolds), &mut aside),
            ClosingDevice::Softener => (Note::Closing(Closing::SoftenerMayHold), &mut unclear),
            ClosingDevice::Nothing => (Note::Closing(Closing::NothingHolds), &mut nothing),
            ClosingDevice::PrvWithBypass => {
                let limit_pa = system.limit_gauge_pa;
                match system.street_gauge_pa {
                    Some(street_pa) if street_pa <= limit_pa => (
                        Note::Closing(Closing::BypassLetsBack { street_pa, limit_pa }),
                        &mut lets_back,
                    ),
                    Some(street_pa) => (
                        Note::Closing(Closing::BypassUseless { street_pa, limit_pa }),
                        &mut holds,
                    ),
                    None => (Note::Closing(Closing::BypassUnsettled { limit_pa }), &mut unclear),
                }
            }
        };
        *mark = true;
        because.push(note);
    }
    if let Some(well) = &system.well
        && !holds
    {
        // The pump's check lies before the pressure tank, so the tank takes the water unless it is too small.
        let too_small = well.tank_l.and_then(|volume_l| {
            let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
            let state = TankState {
                volume_l,
                precharge_abs_pa: well.precharge_pa() + system.air_abs_pa(),
                most_water_l: volume_l,
            };
            let usable_l = state.usable_l(static_abs_pa, limit_abs_pa);
            (usable_l < demand.volume_l && static_abs_pa < limit_abs_pa).then_some(usable_l)
        });
        let (note, mark) = match too_small {
            Some(usable_l) => (
                Note::Closing(Closing::WellTankTooSmall {
                    usable_l,
                    demand_l: demand.volume_l,
                }),
                &mut holds,
            ),
            None => (Note::Closing(Closing::WellTankTakes), &mut lets_back),
        };
        *mark = true;
        because.push(note);
    }
    let is_closed = if holds {
        Some(true)
    } else if unclear {
        None
    } else if lets_back || nothing {
        Some(false)
    } else if aside {
        None
    } else {
        because.push(Note::Closing(Closing::NoDeviceTold));
        None
    };
    if nothing && holds {
        because.push(Note::Closing(Closing::NothingBesideDevice));
    }
    let settle_by = match is_closed {
        Some(_) => Vec::new(),
        None => vec![
            Note::Closing(Closing::SettleByTracing),
            Note::Closing(Closing::SettleByGauge),
            Note::Closing(Closing::SettleByHeating),
        ],
    };
    Closed {
        is_closed,
        because,
        settle_by,
    }
}
