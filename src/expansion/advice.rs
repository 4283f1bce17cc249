//! What to do, step by step, and the system as it stands once that is done.
//!
//! The state as found and the state as advised are two [`System`]s that the same functions compute; the advice is what turns one into
//! the other. Whoever follows it and asks again is told that nothing more is needed.

use super::advised::{Advice, Base, Lowered, New};
use super::assessment::Measure;
use super::closed::{self, Closed};
use super::existing::{self, Standing, Verdict, has_failed};
use super::lowering::{lowered, lowered_pa, setting_step_pa, usual_setting_pa};
use super::relief::{self, Window};
use super::supply::{self, RegulatorState};
use super::system::System;
use super::tank::{self, POOR_ACCEPTANCE, TankAnswer, taken_up, why_no_tank};
use super::volume::{self, Demand};
use super::words::{Closing, Note, OfPressure, OfRelief, OfTank, There};
use crate::physics::OutOfRange;
use crate::units::{PA_PER_PSI, UnitSystem};
use serde::Serialize;

/// How the supply is lowered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Means {
    /// Fit a pressure regulator.
    FitRegulator,
    /// Set the one that is there.
    SetRegulator,
    /// Mend or replace the one that is there.
    MendRegulator,
    /// Set the switch of the well pump.
    SetWellSwitch,
}

/// One thing to do. Pressures kPa gauge, volumes L.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Step {
    /// Shut off the heater's energy: the storage stands at the temperature at which its relief valve opens.
    ShutEnergyOff,
    /// Bring the highest static pressure of the house down to this.
    LowerSupply {
        /// How.
        means: Means,
        /// Setting.
        gauge_kpa: f64,
    },
    /// Fit a tank of at least this volume.
    FitTank {
        /// Volume.
        min_volume_l: f64,
        /// Precharge.
        precharge_gauge_kpa: f64,
        /// Temperature at which the precharge is meant, °C; null: where the tank stands.
        precharge_at_c: Option<f64>,
        /// Whether it takes the place of what is there.
        replaces: bool,
        /// How many are there.
        tanks_there: usize,
    },
    /// Take out the tanks that have failed; the others do.
    TakeOutTank {
        /// How many.
        count: usize,
    },
    /// Set the precharge of the tank that is there, of each where there are several.
    SetPrecharge {
        /// Precharge.
        precharge_gauge_kpa: f64,
        /// Temperature at which it is meant, °C; null: where the tank stands.
        precharge_at_c: Option<f64>,
        /// How many tanks it is set on.
        tanks: usize,
    },
    /// Fit a relief set between these.
    FitRelief {
        /// Lowest setting.
        low_gauge_kpa: f64,
        /// Highest setting.
        high_gauge_kpa: f64,
    },
    /// Make room for the tank.
    MakeRoom {
        /// Volume needed.
        min_volume_l: f64,
    },
    /// Have the limit looked at: it leaves no room above a usable supply.
    LookAtLimit,
}

/// Half a psi over the limit is the rounding of the settings on the page: no reason to send anybody up a ladder. `[judgement]`
pub(super) const HARDLY_OVER_PA: f64 = -0.5 * PA_PER_PSI;

/// One state of a system, all of it computed from that state alone.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// Closed or not.
    pub closed: Closed<Note>,
    /// The room needed.
    pub demand: Demand,
    /// A new tank.
    pub tank: TankAnswer<Note>,
    /// The tanks that are there.
    pub existing: Option<Standing>,
    /// A relief's settings.
    pub relief: Window,
}

/// Computes a state; the static pressure and limit of `system` are those that count.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn state(system: &System) -> Result<State, OutOfRange> {
    let demand = volume::demand(system)?;
    Ok(State {
        closed: closed::judge(system, &demand),
        demand,
        tank: tank::size(system, &demand),
        existing: existing::stand(system, &demand)?,
        relief: Window::of(system),
    })
}

/// Weighs a state as found.
///
/// In order: nothing to do when the plumbing is open or nothing expands; a tank that is there and works, or works once
/// its precharge is set, stays; a relief that was asked about and holds the limit; then a tank, unless static is so near the
/// limit that the supply pressure comes first; a relief where there is no room for the tank.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn advise<'a>(found: &'a System, now: &State) -> Result<Advice<'a>, OutOfRange> {
    let mut advice = weigh(found, now)?;
    if found.hot_c >= found.heater_relief_c - 1e-9 {
        advice.steps.insert(0, Step::ShutEnergyOff);
        advice.why.insert(
            0,
            Note::OfPressure(OfPressure::StorageAtRelief {
                hot_c: found.hot_c,
                relief_c: found.heater_relief_c,
            }),
        );
    }
    Ok(advice)
}

fn weigh<'a>(found: &'a System, now: &State) -> Result<Advice<'a>, OutOfRange> {
    let (static_pa, limit_pa) = (found.static_gauge_pa, found.limit_gauge_pa);
    let over = static_pa > limit_pa;
    let bad_regulator = supply::has_regulator(found) && found.regulator.state != RegulatorState::Holds;
    let open = now.closed.is_closed == Some(false);
    let mut why = Vec::new();
    if bad_regulator {
        why.push(Note::OfPressure(OfPressure::RegulatorDoesNotHold));
    } else if over {
        why.push(over_limit(found));
    }
    if open || now.demand.volume_l <= 0.0 {
        let nothing = match (open, found.well) {
            (true, Some(_)) => Note::Closing(Closing::WellTankTakes),
            (true, None) => Note::Closing(Closing::PlumbingOpen),
            (false, _) => Note::OfPressure(OfPressure::DoesNotExpand),
        };
        if !over && !bad_regulator {
            return Ok(done(Measure::NoneNeeded, Vec::new(), vec![nothing], Base::Found(found)));
        }
        let Some(setting_pa) = lowered_pa(found, bad_regulator) else {
            return Ok(done(
                Measure::LowerSupplyPressure,
                vec![Step::LookAtLimit],
                why,
                Base::Found(found),
            ));
        };
        let lowered = lowered(found, setting_pa);
        let then = state(&lowered)?;
        if then.closed.is_closed == Some(false) || then.demand.volume_l <= 0.0 {
            why.push(nothing);
            let steps = vec![lower_step(found, setting_pa)];
            return Ok(done(
                Measure::LowerSupplyPressure,
                steps,
                why,
                Base::Changed(Box::new(lowered)),
            ));
        }
        why.push(Note::OfPressure(OfPressure::RegulatorCloses));
        return lower_first(found, now, why, bad_regulator);
    }
    why.push(if now.closed.is_closed == Some(true) {
        Note::Closing(Closing::PlumbingClosed)
    } else {
        Note::Closing(Closing::ClosedUnsettled)
    });
    if over || bad_regulator {
        return lower_first(found, now, why, bad_regulator);
    }
    as_it_stands(found, now, why)
}

/// No lowering unless it cannot be done without.
fn as_it_stands<'a>(found: &'a System, now: &State, mut why: Vec<Note>) -> Result<Advice<'a>, OutOfRange> {
    let (static_pa, limit_pa) = (found.static_gauge_pa, found.limit_gauge_pa);
    if let Some(advice) = keep(found, now, &why)? {
        return Ok(advice);
    }
    if let (Some(at_pa), Some(true)) = (found.relief_at_gauge_pa, now.relief.asked_setting_fits)
        && at_pa <= limit_pa + relief::PRINTED_PA
        && found.existing.is_empty()
    {
        why.insert(0, Note::OfRelief(OfRelief::ReliefFits { at_pa, limit_pa }));
        if let Some(Note::OfTank(OfTank::TankTakesUp {
            volume_l,
            share,
            static_pa,
            limit_pa,
        })) = taken_up(found, &now.tank)
        {
            why.push(Note::OfTank(OfTank::SavesWater {
                volume_l,
                share,
                static_pa,
                limit_pa,
            }));
        }
        return Ok(done(Measure::Relief, Vec::new(), why, Base::Found(found)));
    }
    // Whoever asked about a setting that lets the house pass the limit is told so.
    if let Some(at_pa) = found.relief_at_gauge_pa
        && at_pa > limit_pa + relief::PRINTED_PA
    {
        why.insert(0, Note::OfRelief(OfRelief::SettingPassesLimit { at_pa, limit_pa }));
    }
    let share = now.tank.acceptance_factor;
    if share.is_none_or(|share| share < POOR_ACCEPTANCE) && lowered_pa(found, false).is_some() {
        why.insert(
            0,
            why_no_tank(found).unwrap_or(Note::OfPressure(OfPressure::StaticTooNear {
                static_pa,
                limit_pa,
                share: share.unwrap_or(0.0),
            })),
        );
        return lower_first(found, now, why, false);
    }
    let Some(needed_l) = now.tank.min_volume_l else {
        why.insert(
            0,
            why_no_tank(found).unwrap_or(Note::OfPressure(OfPressure::LookAtLimit)),
        );
        why.push(Note::OfPressure(OfPressure::LookAtLimit));
        return Ok(done(
            Measure::LowerSupplyPressure,
            vec![Step::LookAtLimit],
            why,
            Base::Found(found),
        ));
    };
    let mut make_room = false;
    if let Some(room_l) = found.room_for_tank_l
        && needed_l > room_l
    {
        why.insert(0, Note::OfTank(OfTank::TooLargeForRoom { needed_l, room_l }));
        if let Some(window) = now.relief.within_limit_gauge_pa {
            return Ok(with_relief(
                Measure::Relief,
                Vec::new(),
                why,
                Base::Found(found),
                window,
            ));
        }
        if let Some((setting_pa, lowered, then)) = lowered_for_room(found, room_l)? {
            let steps = vec![lower_step(found, setting_pa)];
            return with_tank(found, Base::Changed(Box::new(lowered)), &then, steps, why);
        }
        why.push(Note::OfTank(OfTank::MakeRoom));
        make_room = true;
    }
    let mut advice = with_tank(found, Base::Found(found), now, Vec::new(), why)?;
    if make_room {
        advice.steps.insert(0, Step::MakeRoom { min_volume_l: needed_l });
    }
    Ok(advice)
}

/// Takes out the tanks that have failed, as long as one is left.
fn without_failed(found: Base<'_>) -> (Base<'_>, Option<Step>) {
    let count = found.existing.iter().filter(|tank| has_failed(tank)).count();
    if count == 0 || count == found.existing.len() {
        return (found, None);
    }
    let mut sound = found.changed();
    sound.existing.retain(|tank| !has_failed(tank));
    (Base::Changed(sound), Some(Step::TakeOutTank { count }))
}

/// The tanks that are there, as they are or with their precharge set; `None` when neither will do.
fn keep<'a>(found: &'a System, now: &State, why: &[Note]) -> Result<Option<Advice<'a>>, OutOfRange> {
    if found.existing.iter().all(has_failed) {
        return Ok(None);
    }
    let mut why = why.to_vec();
    let (mut advised, out) = without_failed(Base::Found(found));
    let cleared;
    let then = match out {
        None => now,
        Some(_) => {
            cleared = state(&advised)?;
            &cleared
        }
    };
    let Some(answer) = &then.existing else {
        return Ok(None);
    };
    let mut steps: Vec<Step> = out.into_iter().collect();
    let hardly = answer.margin_pa.is_some_and(|margin| margin > HARDLY_OVER_PA);
    let reset_helps = answer.verdict_when_reset < answer.verdict && !answer.precharge_near_static() && !hardly;
    let tanks = advised.existing.len();
    match answer.verdict {
        Verdict::Enough => why.insert(
            0,
            Note::there(
                tanks,
                There::IsEnough {
                    usable_l: answer.usable_l,
                    limit_pa: found.limit_gauge_pa,
                    demand_l: then.demand.volume_l,
                },
            ),
        ),
        Verdict::Marginal if !reset_helps => why.insert(
            0,
            Note::there(
                tanks,
                There::IsMarginal {
                    over_pa: -answer.margin_pa.unwrap_or(0.0),
                    unsure_pa: answer.unsure_pa,
                    short_l: (then.demand.volume_l - answer.usable_l).max(0.0),
                    unsure_l: answer.unsure_l,
                },
            ),
        ),
        _ if reset_helps && does_when_set(answer) => {
            why.insert(0, when_set(answer, tanks, found.static_gauge_pa));
            let mut set = advised.changed();
            let Some(step) = set_precharge(&mut set, &then.tank) else {
                return Ok(None);
            };
            advised = Base::Changed(set);
            steps.push(step);
        }
        _ => return Ok(None),
    }
    Ok(Some(done(Measure::KeepExistingTank, steps, why, advised)))
}

/// By so much over the limit a tank is still set and kept: what one reads off a gauge, far within what all readings together are sure to.
/// `[judgement]`
pub(super) const SET_AND_KEPT_PA: f64 = -PA_PER_PSI;

/// Whether the tanks do with every precharge set to static: enough, or over the limit by less than one reads off a gauge.
fn does_when_set(answer: &Standing) -> bool {
    match answer.verdict_when_reset {
        Verdict::Enough => true,
        Verdict::Marginal => answer
            .margin_when_reset_pa
            .is_some_and(|margin| margin >= SET_AND_KEPT_PA),
        Verdict::NotEnough => false,
    }
}

/// Why setting the precharges is all there is to do.
fn when_set(answer: &Standing, tanks: usize, static_pa: f64) -> Note {
    let finding = match answer.verdict_when_reset {
        Verdict::Enough => There::EnoughOnceSet { static_pa },
        _ => There::MarginalOnceSet {
            static_pa,
            over_pa: -answer.margin_when_reset_pa.unwrap_or(0.0),
            unsure_pa: answer.unsure_when_reset_pa,
        },
    };
    Note::there(tanks, finding)
}

/// Sets the precharge of every tank that is there to what a new one would have.
fn set_precharge(advised: &mut System, tank: &TankAnswer<Note>) -> Option<Step> {
    let precharge_gauge_kpa = tank.precharge_gauge_kpa?;
    let precharge_at_c = precharge_at_c(advised);
    for tank in &mut advised.existing {
        tank.precharge_gauge_pa = precharge_gauge_kpa * 1e3;
    }
    Some(Step::SetPrecharge {
        precharge_gauge_kpa,
        precharge_at_c,
        tanks: advised.existing.len(),
    })
}

/// The smallest tank, L, that does beside those that are there once every precharge is set to static; `None` when there is none to keep,
/// or when they spare too little to be worth keeping.
fn beside_l(base: &System, then: &State) -> Option<f64> {
    let factor = then.tank.acceptance_factor?;
    let (static_abs_pa, limit_abs_pa) = tank::at_tank_abs_pa(base);
    let (sound, _) = without_failed(Base::Found(base));
    if sound.existing.is_empty() || sound.existing.iter().all(has_failed) {
        return None;
    }
    let reset = existing::states_when_reset(&existing::states(&sound), static_abs_pa);
    let spared_l = existing::usable_l(&reset, static_abs_pa, limit_abs_pa);
    let more_l = (then.demand.volume_l - spared_l) / factor;
    // A tenth saved is not worth an old tank.
    (more_l > 0.0 && more_l < 0.9 * then.tank.min_volume_l?).then_some(more_l)
}

/// The temperature at which a precharge is meant, when the tank stands at another.
pub(super) fn precharge_at_c(system: &System) -> Option<f64> {
    system.tank_ambient_c.map(|_| system.precharge_set_c)
}

/// Lowers the supply, then the tank that is there, a new one, or a relief where there is no room.
fn lower_first<'a>(
    found: &'a System,
    now: &State,
    mut why: Vec<Note>,
    bad_regulator: bool,
) -> Result<Advice<'a>, OutOfRange> {
    if let Some(no_tank) = why_no_tank(found)
        && !why.contains(&no_tank)
        && !why
            .iter()
            .any(|note| matches!(note, Note::OfPressure(OfPressure::NoRegulator { .. })))
    {
        why.push(no_tank);
    }
    let Some(setting_pa) = lowered_pa(found, bad_regulator) else {
        why.push(Note::OfPressure(OfPressure::LookAtLimit));
        return Ok(done(
            Measure::LowerSupplyPressure,
            vec![Step::LookAtLimit],
            why,
            Base::Found(found),
        ));
    };
    let step = lower_step(found, setting_pa);
    let low = lowered(found, setting_pa);
    let then = state(&low)?;
    let (sound, out) = without_failed(Base::Found(&low));
    let cleared;
    let sound_then = match out {
        None => &then,
        Some(_) => {
            cleared = state(&sound)?;
            &cleared
        }
    };
    let weighed = Lowered {
        standing: sound_then.existing,
        needed_l: then.tank.min_volume_l,
    };
    let advice = if let Some(answer) = &sound_then.existing
        && !sound.existing.iter().all(has_failed)
        && (answer.verdict == Verdict::Enough || does_when_set(answer))
    {
        let tanks = sound.existing.len();
        if answer.verdict == Verdict::Enough || answer.verdict_when_reset == Verdict::Enough {
            let regulator_pa = setting_pa;
            why.push(Note::there(tanks, There::EnoughAfter { regulator_pa }));
        } else {
            // That they end over the limit has to be read.
            why.insert(0, when_set(answer, tanks, setting_pa));
        }
        let mut steps = vec![step];
        steps.extend(out);
        let mut advised = (*sound).clone();
        if answer.verdict != Verdict::Enough {
            steps.extend(set_precharge(&mut advised, &sound_then.tank));
        }
        done(
            Measure::LowerSupplyPressure,
            steps,
            why,
            Base::Changed(Box::new(advised)),
        )
    } else {
        drop(sound);
        lowered_then_new(found, now, (step, low, then), why, bad_regulator)?
    };
    Ok(Advice {
        lowered: Some(weighed),
        ..advice
    })
}

/// The supply lowered by this step, then a new tank, or a relief where there is no room for one.
fn lowered_then_new<'a>(
    found: &'a System,
    now: &State,
    (step, low, then): (Step, System, State),
    mut why: Vec<Note>,
    bad_regulator: bool,
) -> Result<Advice<'a>, OutOfRange> {
    let room_l = found.room_for_tank_l.unwrap_or(f64::INFINITY);
    if then.tank.min_volume_l.is_some_and(|needed_l| needed_l <= room_l) {
        if let Some([lo_pa, hi_pa]) = now.relief.within_limit_gauge_pa
            && !bad_regulator
        {
            why.push(Note::OfRelief(OfRelief::ReliefWhereNotLowered { lo_pa, hi_pa }));
        }
        return with_tank(found, Base::Changed(Box::new(low)), &then, vec![step], why);
    }
    why.push(Note::OfTank(OfTank::TooLargeForRoom {
        needed_l: then.tank.min_volume_l.unwrap_or(0.0),
        room_l,
    }));
    if let Some((setting_pa, low, then)) = lowered_for_room(found, room_l)? {
        let steps = vec![lower_step(found, setting_pa)];
        return with_tank(found, Base::Changed(Box::new(low)), &then, steps, why);
    }
    if let Some(window) = then.relief.within_limit_gauge_pa {
        let measure = Measure::LowerSupplyPressureThenRelief;
        return Ok(with_relief(
            measure,
            vec![step],
            why,
            Base::Changed(Box::new(low)),
            window,
        ));
    }
    why.push(Note::OfTank(OfTank::MakeRoom));
    let room = Step::MakeRoom {
        min_volume_l: then.tank.min_volume_l.unwrap_or(0.0),
    };
    with_tank(found, Base::Changed(Box::new(low)), &then, vec![step, room], why)
}

/// A new tank in this state, after these steps.
fn with_tank<'a>(
    found: &System,
    base: Base<'a>,
    then: &State,
    mut steps: Vec<Step>,
    mut why: Vec<Note>,
) -> Result<Advice<'a>, OutOfRange> {
    let lowering = steps.iter().any(|step| matches!(step, Step::LowerSupply { .. }));
    let replaces = !found.existing.is_empty();
    let (Some(min_volume_l), Some(precharge_gauge_kpa)) = (then.tank.min_volume_l, then.tank.precharge_gauge_kpa)
    else {
        why.push(Note::OfPressure(OfPressure::LookAtLimit));
        steps.push(Step::LookAtLimit);
        return Ok(done(Measure::LowerSupplyPressure, steps, why, base));
    };
    if lowering {
        why.push(Note::OfPressure(OfPressure::AfterLowering {
            has_regulator: supply::has_regulator(found),
            regulator_pa: base.static_gauge_pa,
            volume_l: min_volume_l,
            share: then.tank.acceptance_factor.unwrap_or(0.0),
        }));
    } else {
        why.splice(0..0, taken_up(&base, &then.tank));
    }
    let beside_l = beside_l(&base, then);
    if replaces {
        let tanks = found.existing.len();
        let finding = if found.existing.iter().all(has_failed) {
            There::HaveFailed
        } else {
            There::Fails
        };
        why.insert(usize::from(lowering), Note::there(tanks, finding));
        if let Some(volume_l) = beside_l {
            why.insert(
                usize::from(lowering) + 1,
                Note::there(
                    tanks,
                    There::AddBeside {
                        volume_l,
                        precharge_pa: precharge_gauge_kpa * 1e3,
                    },
                ),
            );
        }
    }
    steps.push(Step::FitTank {
        min_volume_l,
        precharge_gauge_kpa,
        precharge_at_c: precharge_at_c(&base),
        replaces,
        tanks_there: found.existing.len(),
    });
    let measure = match (lowering, replaces) {
        (true, _) => Measure::LowerSupplyPressureThenTank,
        (false, true) => Measure::ReplaceExistingTank,
        (false, false) => Measure::Tank,
    };
    Ok(Advice {
        beside_l,
        new: New::Tank {
            volume_l: min_volume_l,
            precharge_gauge_pa: precharge_gauge_kpa * 1e3,
        },
        ..done(measure, steps, why, base)
    })
}

fn with_relief(
    measure: Measure,
    mut steps: Vec<Step>,
    mut why: Vec<Note>,
    base: Base<'_>,
    window: [f64; 2],
) -> Advice<'_> {
    let [low_gauge_kpa, high_gauge_kpa] = round_window_kpa(&base, window);
    why.push(Note::OfRelief(OfRelief::ReliefInstead {
        lo_pa: low_gauge_kpa * 1e3,
        hi_pa: high_gauge_kpa * 1e3,
    }));
    steps.push(Step::FitRelief {
        low_gauge_kpa,
        high_gauge_kpa,
    });
    Advice {
        new: New::Relief {
            at_gauge_pa: low_gauge_kpa * 1e3,
        },
        ..done(measure, steps, why, base)
    }
}

fn done(measure: Measure, steps: Vec<Step>, why: Vec<Note>, base: Base<'_>) -> Advice<'_> {
    Advice {
        measure,
        steps,
        why,
        base,
        new: New::Nothing,
        beside_l: None,
        lowered: None,
    }
}

/// A relief's window (Pa gauge) in round figures of the gauge in use, kPa gauge; as it is where no round figure lies in it.
fn round_window_kpa(base: &System, window_pa: [f64; 2]) -> [f64; 2] {
    let [low_kpa, high_kpa] = window_pa.map(|pascal| pascal / 1e3);
    let step_kpa = match base.words {
        UnitSystem::Us => 5.0 * PA_PER_PSI / 1e3,
        UnitSystem::Si | UnitSystem::Bar => 25.0,
    };
    // A thousandth of a step of slack keeps a round figure from being taken for one beyond it.
    let low = (low_kpa / step_kpa - 1e-3).ceil() * step_kpa;
    let high = (high_kpa / step_kpa + 1e-3).floor() * step_kpa;
    if low <= high { [low, high] } else { [low_kpa, high_kpa] }
}

/// Why the static pressure is too high, naming the street where nothing regulates it.
fn over_limit(found: &System) -> Note {
    let (static_pa, limit_pa) = (found.static_gauge_pa, found.limit_gauge_pa);
    if !supply::has_regulator(found) && found.well.is_none() && found.street_gauge_pa.is_some_and(|s| s >= static_pa) {
        Note::OfPressure(OfPressure::NoRegulator {
            street_pa: static_pa,
            limit_pa,
        })
    } else {
        Note::OfPressure(OfPressure::StaticOverLimit { static_pa, limit_pa })
    }
}

fn lower_step(found: &System, setting_pa: f64) -> Step {
    let means = if supply::has_regulator(found) {
        if found.regulator.state == RegulatorState::Holds {
            Means::SetRegulator
        } else {
            Means::MendRegulator
        }
    } else if found.well.is_some() {
        Means::SetWellSwitch
    } else {
        Means::FitRegulator
    };
    Step::LowerSupply {
        means,
        gauge_kpa: setting_pa / 1e3,
    }
}

/// The highest setting, in whole steps at or below the usual one, at which a tank fits the room (L).
fn lowered_for_room(found: &System, room_l: f64) -> Result<Option<(f64, System, State)>, OutOfRange> {
    let mut setting_pa = usual_setting_pa(found);
    let step_pa = setting_step_pa(found);
    // 40 psi is the least that a house is usually given. `[judgement]`
    while setting_pa >= 40.0 * PA_PER_PSI * 0.999 {
        if setting_pa < found.static_gauge_pa {
            let low = lowered(found, setting_pa);
            let then = state(&low)?;
            if then.tank.min_volume_l.is_some_and(|needed_l| needed_l <= room_l) {
                return Ok(Some((setting_pa, low, then)));
            }
        }
        setting_pa -= step_pa;
    }
    Ok(None)
}
