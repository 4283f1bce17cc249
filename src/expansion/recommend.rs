//! Which measure, and why.

use super::assessment::Measure;
use super::closed::Closed;
use super::existing::{ExistingAnswer, has_failed};
use super::relief::ReliefAnswer;
use super::system::System;
use super::tank::{AfterLowering, POOR_ACCEPTANCE, TankAnswer, sentence};
use super::volume::Demand;
use crate::units::{show_gauge, show_volume};
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
    let words = system.words;
    let gauge = |pascal: f64| show_gauge(pascal, words);
    let mut why = Vec::new();
    let static_text = gauge(system.static_gauge_pa);
    let limit_text = gauge(system.limit_gauge_pa);
    let over = system.static_gauge_pa > system.limit_gauge_pa;

    if found.closed.is_closed == Some(false) || found.demand.volume_l <= 0.0 {
        if found.closed.is_closed == Some(false) {
            why.push("the plumbing is open: heated water goes back to the main".to_string());
        } else {
            why.push("the water does not expand between these temperatures".to_string());
        }
        if over {
            why.insert(
                0,
                format!("static {static_text} is above the limit of {limit_text}: fit a pressure reducing valve"),
            );
            why.push(
                "the valve closes the plumbing: assess again with it, because a tank is then needed where the water is heated"
                    .to_string(),
            );
            return done(Measure::LowerSupplyPressure, why);
        }
        return done(Measure::NoneNeeded, why);
    }

    if found.closed.is_closed == Some(true) {
        why.push("the plumbing is closed, so the heated water has nowhere to go".to_string());
    } else {
        why.push("it is not settled whether the plumbing is closed; this is the answer if it is".to_string());
    }

    if let (Some(tank), Some(answer)) = (&system.existing, found.existing) {
        if answer.adequate {
            why.insert(
                0,
                format!(
                    "the tank can take {} before {limit_text}, and heating brings {}",
                    show_volume(answer.usable_l, words),
                    show_volume(found.demand.volume_l, words)
                ),
            );
            return done(Measure::KeepExistingTank, why);
        }
        if answer.adequate_when_reset && !has_failed(tank) {
            why.insert(
                0,
                format!("the tank is large enough once its precharge is set to {static_text}; as it stands it is not"),
            );
            return done(Measure::KeepExistingTank, why);
        }
    }

    let poor = found
        .tank
        .acceptance_factor
        .is_none_or(|factor| factor < POOR_ACCEPTANCE);
    if let (Some(at), Some(true)) = (system.relief_at_gauge_pa, found.relief.asked_setting_fits)
        && at <= system.limit_gauge_pa + 1.0
        && system.existing.is_none()
    {
        why.insert(
            0,
            format!(
                "a relief set at {} fits between the highest static and every cap, and holds {limit_text}",
                gauge(at)
            ),
        );
        if let Some(text) = sentence(system, found.tank) {
            why.push(format!("to save the water, {text}"));
        }
        return done(Measure::Relief, why);
    }

    if poor {
        return lower_first(system, found, why, &static_text, &limit_text);
    }

    // A tank works. Is there room for it?
    let needed_l = found.tank.min_volume_l.unwrap_or(f64::INFINITY);
    if let Some(room_l) = system.room_for_tank_l
        && needed_l > room_l
    {
        why.insert(
            0,
            format!(
                "a tank of {} is needed and there is room for {}",
                show_volume(needed_l, words),
                show_volume(room_l, words)
            ),
        );
        if let Some([lo, hi]) = found.relief.window_within_limit_gauge_kpa {
            why.push(format!(
                "a relief set from {} to {} holds the limit; its water goes to the drain",
                gauge(lo * 1e3),
                gauge(hi * 1e3)
            ));
            return done(Measure::Relief, why);
        }
        if let Some(after) = lowered_for_room(system, found.demand, room_l) {
            why.push(lowering_sentence(system, &after));
            return done(Measure::LowerSupplyPressureThenTank, why);
        }
        why.push(
            "no relief holds the limit either, so room has to be made for the tank, or two tanks share it".to_string(),
        );
    }
    if let Some(text) = sentence(system, found.tank) {
        why.insert(0, text);
    }
    if system.existing.is_some() {
        why.insert(
            0,
            "the tank that is there does not hold the limit, and setting its precharge would not be enough".to_string(),
        );
        return done(Measure::ReplaceExistingTank, why);
    }
    done(Measure::Tank, why)
}

fn lower_first(
    system: &System,
    found: &Findings<'_>,
    mut why: Vec<String>,
    static_text: &str,
    limit_text: &str,
) -> Recommendation {
    let words = system.words;
    let first = match &found.tank.why_not {
        Some(text) => text.clone(),
        None => format!(
            "static {static_text} is so near the limit of {limit_text} that only {:.0} % of a tank would fill",
            100.0 * found.tank.acceptance_factor.unwrap_or(0.0)
        ),
    };
    why.insert(0, first);
    let Some(after) = found.tank.after_lowering else {
        // Static is already so low that no lower setting is of use: the limit itself is what is tight.
        if found.tank.feasible {
            if let Some(text) = sentence(system, found.tank) {
                why.push(text);
            }
            return done(
                if system.existing.is_some() {
                    Measure::ReplaceExistingTank
                } else {
                    Measure::Tank
                },
                why,
            );
        }
        why.push("ask for the pressure limit to be looked at: it leaves no room above a usable supply".to_string());
        return done(Measure::LowerSupplyPressure, why);
    };
    if found.existing_after_lowering {
        why.push(format!(
            "with the regulator at {} and the precharge set to the same, the tank that is there is enough",
            show_gauge(after.regulator_gauge_kpa * 1e3, words)
        ));
        return done(Measure::LowerSupplyPressure, why);
    }
    why.push(lowering_sentence(system, &after));
    if let Some([lo, hi]) = found.relief.window_within_limit_gauge_kpa {
        why.push(format!(
            "where the supply cannot be lowered, a relief set from {} to {} holds the limit, and its water goes to the drain",
            show_gauge(lo * 1e3, words),
            show_gauge(hi * 1e3, words)
        ));
    }
    done(Measure::LowerSupplyPressureThenTank, why)
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

fn lowering_sentence(system: &System, after: &AfterLowering) -> String {
    use super::closed::ClosingDevice::{Prv, PrvWithBypass};
    let there = system
        .closed_by
        .iter()
        .any(|device| matches!(device, Prv | PrvWithBypass));
    format!(
        "with {} set to {} a tank of at least {} does it ({:.0} % fills)",
        if there {
            "the pressure reducing valve (mended or replaced where it does not hold)"
        } else {
            "a pressure reducing valve"
        },
        show_gauge(after.regulator_gauge_kpa * 1e3, system.words),
        show_volume(after.min_volume_l, system.words),
        100.0 * after.acceptance_factor
    )
}

fn done(measure: Measure, why: Vec<String>) -> Recommendation {
    Recommendation { measure, why }
}
