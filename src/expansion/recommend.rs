//! Which measure, and why.

use super::assessment::Measure;
use super::closed::Closed;
use super::existing::{ExistingAnswer, has_failed};
use super::relief::ReliefAnswer;
use super::system::System;
use super::tank::{AfterLowering, POOR_ACCEPTANCE, TankAnswer, taken_up, why_no_tank};
use super::volume::Demand;
use super::words::Note;
use serde::Serialize;

/// The measure with its reasons.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Recommendation {
    /// What to do.
    pub measure: Measure,
    /// Why, a sentence each, the weightiest first.
    pub why: Vec<String>,
}

/// What the rooms found, which the recommendation weighs.
pub struct Findings<'a> {
    /// Closed or not.
    pub closed: &'a Closed,
    /// The room needed.
    pub demand: &'a Demand,
    /// A new tank.
    pub tank: &'a TankAnswer,
    /// The tank that is there.
    pub existing: Option<&'a ExistingAnswer>,
    /// Whether the tank that is there would do after the supply pressure is lowered and its precharge set.
    pub existing_after_lowering: bool,
    /// A relief.
    pub relief: &'a ReliefAnswer,
}

/// Weighs what was found.
///
/// In order: nothing to do when the plumbing is open or nothing expands; a tank that is there and works, or works once
/// its precharge is set, stays; a relief that was asked about and holds the limit; then a tank, unless static is so near the
/// limit that the supply pressure comes first; a relief where there is no room for the tank.
pub fn recommend(system: &System, found: &Findings<'_>) -> Recommendation {
    let (measure, why) = weigh(system, found);
    Recommendation {
        measure,
        why: why.into_iter().map(|note| note.say(system.tongue())).collect(),
    }
}

fn weigh(system: &System, found: &Findings<'_>) -> (Measure, Vec<Note>) {
    let (static_pa, limit_pa) = (system.static_gauge_pa, system.limit_gauge_pa);
    let open = found.closed.is_closed == Some(false);
    if open || found.demand.volume_l <= 0.0 {
        let nothing = if open { Note::PlumbingOpen } else { Note::DoesNotExpand };
        if static_pa > limit_pa {
            let over = Note::StaticOverLimit { static_pa, limit_pa };
            return (Measure::LowerSupplyPressure, vec![over, nothing, Note::AssessAgain]);
        }
        return (Measure::NoneNeeded, vec![nothing]);
    }

    let closed = if found.closed.is_closed == Some(true) {
        Note::PlumbingClosed
    } else {
        Note::ClosedUnsettled
    };
    let mut why = vec![closed];

    if let (Some(tank), Some(answer)) = (&system.existing, found.existing) {
        if answer.adequate {
            why.insert(
                0,
                Note::TankIsEnough {
                    usable_l: answer.usable_l,
                    limit_pa,
                    demand_l: found.demand.volume_l,
                },
            );
            return (Measure::KeepExistingTank, why);
        }
        if answer.adequate_when_reset && !has_failed(tank) {
            why.insert(0, Note::TankEnoughWhenSet { static_pa });
            return (Measure::KeepExistingTank, why);
        }
    }

    let new_tank = taken_up(system, found.tank);
    if let (Some(at_pa), Some(true)) = (system.relief_at_gauge_pa, found.relief.asked_setting_fits)
        && at_pa <= limit_pa + 1.0
        && system.existing.is_none()
    {
        why.insert(0, Note::ReliefFits { at_pa, limit_pa });
        if let Some(Note::TankTakesUp {
            volume_l,
            share,
            static_pa,
            limit_pa,
        }) = new_tank
        {
            why.push(Note::SavesWater {
                volume_l,
                share,
                static_pa,
                limit_pa,
            });
        }
        return (Measure::Relief, why);
    }

    let poor = found
        .tank
        .acceptance_factor
        .is_none_or(|factor| factor < POOR_ACCEPTANCE);
    if poor {
        return lower_first(system, found, why);
    }

    // A tank works. Is there room for it?
    let needed_l = found.tank.min_volume_l.unwrap_or(f64::INFINITY);
    if let Some(room_l) = system.room_for_tank_l
        && needed_l > room_l
    {
        why.insert(0, Note::TooLargeForRoom { needed_l, room_l });
        if let Some([lo_kpa, hi_kpa]) = found.relief.window_within_limit_gauge_kpa {
            why.push(Note::ReliefInstead {
                lo_pa: lo_kpa * 1e3,
                hi_pa: hi_kpa * 1e3,
            });
            return (Measure::Relief, why);
        }
        if let Some(after) = lowered_for_room(system, found.demand, room_l) {
            why.push(after_lowering(system, &after));
            return (Measure::LowerSupplyPressureThenTank, why);
        }
        why.push(Note::MakeRoom);
    }
    if let Some(note) = new_tank {
        why.insert(0, note);
    }
    if system.existing.is_some() {
        why.insert(0, Note::TankThereFails);
        return (Measure::ReplaceExistingTank, why);
    }
    (Measure::Tank, why)
}

fn lower_first(system: &System, found: &Findings<'_>, mut why: Vec<Note>) -> (Measure, Vec<Note>) {
    let (static_pa, limit_pa) = (system.static_gauge_pa, system.limit_gauge_pa);
    why.insert(
        0,
        why_no_tank(system).unwrap_or(Note::StaticTooNear {
            static_pa,
            limit_pa,
            share: found.tank.acceptance_factor.unwrap_or(0.0),
        }),
    );
    let Some(after) = found.tank.after_lowering else {
        // Static is already so low that no lower setting is of use: the limit itself is what is tight.
        if found.tank.feasible {
            why.extend(taken_up(system, found.tank));
            let measure = if system.existing.is_some() {
                Measure::ReplaceExistingTank
            } else {
                Measure::Tank
            };
            return (measure, why);
        }
        why.push(Note::LookAtLimit);
        return (Measure::LowerSupplyPressure, why);
    };
    if found.existing_after_lowering {
        why.push(Note::TankThereEnoughAfter {
            regulator_pa: after.regulator_gauge_kpa * 1e3,
        });
        return (Measure::LowerSupplyPressure, why);
    }
    why.push(after_lowering(system, &after));
    if let Some([lo_kpa, hi_kpa]) = found.relief.window_within_limit_gauge_kpa {
        why.push(Note::ReliefWhereNotLowered {
            lo_pa: lo_kpa * 1e3,
            hi_pa: hi_kpa * 1e3,
        });
    }
    (Measure::LowerSupplyPressureThenTank, why)
}

/// The highest regulator setting, in whole 5 psi at or below the usual one, at which the tank fits the room (L).
fn lowered_for_room(system: &System, demand: &Demand, room_l: f64) -> Option<AfterLowering> {
    use super::tank::{acceptance_factor, at_tank_abs_pa, diaphragm_tank_l, regulator_setting_pa};
    use crate::units::PA_PER_PSI;
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let shift = static_abs_pa - system.static_gauge_pa;
    let mut setting_pa = regulator_setting_pa(system.limit_gauge_pa);
    // 40 psi is the least that a house is usually given.
    while setting_pa >= 40.0 * PA_PER_PSI * 0.999 {
        if setting_pa < system.static_gauge_pa
            && let (Some(min_volume_l), Some(acceptance_factor)) = (
                diaphragm_tank_l(demand.volume_l, setting_pa + shift, limit_abs_pa),
                acceptance_factor(setting_pa + shift, limit_abs_pa),
            )
            && min_volume_l <= room_l
        {
            return Some(AfterLowering {
                regulator_gauge_kpa: setting_pa / 1e3,
                min_volume_l,
                acceptance_factor,
            });
        }
        setting_pa -= 5.0 * PA_PER_PSI;
    }
    None
}

fn after_lowering(system: &System, after: &AfterLowering) -> Note {
    use super::closed::ClosingDevice::{Prv, PrvWithBypass};
    Note::AfterLowering {
        has_regulator: system
            .closed_by
            .iter()
            .any(|device| matches!(device, Prv | PrvWithBypass)),
        regulator_pa: after.regulator_gauge_kpa * 1e3,
        volume_l: after.min_volume_l,
        share: after.acceptance_factor,
    }
}
