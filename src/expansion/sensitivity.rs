//! Which wrong reading would overturn the recommendation, and by how much.

use super::advice::{self, HARDLY_OVER_PA, SET_AND_KEPT_PA, State, Step};
use super::advised::{Advice, Lowered};
use super::assessment::Measure;
use super::existing::{LOST_PRECHARGE_PA, Standing};
use super::lowering::usual_setting_pa;
use super::supply;
use super::system::System;
use super::tank::{POOR_ACCEPTANCE, at_tank_abs_pa};
use super::words::Note;
use crate::language::Tongue;
use crate::units::{PA_PER_PSI, UnitSystem, show_gauge, show_temperature, show_volume};
use serde::Serialize;

/// A reading, and the nearest other value of it that changes the recommendation.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Turn<W = String> {
    /// Name of the reading, as the command line has it.
    pub reading: &'static str,
    /// The value told, SI: °C, kPa gauge or L.
    pub told: f64,
    /// The nearest value at which the recommendation changes, same unit.
    pub turns_at: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// What it becomes.
    pub becomes: Measure,
    /// The same in words.
    pub sentence: W,
}

impl Turn<Note> {
    /// With its words.
    pub fn said(self, tongue: Tongue) -> Turn {
        Turn {
            reading: self.reading,
            told: self.told,
            turns_at: self.turns_at,
            unit: self.unit,
            becomes: self.becomes,
            sentence: self.sentence.say(tongue),
        }
    }
}

/// A reading that may be wrong.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moved {
    /// Static pressure, Pa gauge.
    Static,
    /// Coldest supply, °C.
    Cold,
    /// Hottest storage, °C.
    Hot,
    /// The one heater's volume, L.
    Heater,
    /// Highest pressure of the main, Pa gauge.
    Street,
    /// Precharge of the one tank, Pa gauge.
    Precharge,
    /// Volume of the one tank, L.
    Tank,
}

impl Moved {
    /// Its name, as the command line has it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Static => "static",
            Self::Cold => "cold",
            Self::Hot => "hot",
            Self::Heater => "heater",
            Self::Street => "street",
            Self::Precharge => "precharge",
            Self::Tank => "existing-tank",
        }
    }

    /// Unit of the answer, and what the inner unit is multiplied by for it.
    fn unit(self) -> (&'static str, f64) {
        match self {
            Self::Static | Self::Street | Self::Precharge => ("kPa", 1e-3),
            Self::Cold | Self::Hot => ("C", 1.0),
            Self::Heater | Self::Tank => ("L", 1.0),
        }
    }

    /// A value for people.
    pub fn show(self, value: f64, units: UnitSystem) -> String {
        match self {
            Self::Static | Self::Street | Self::Precharge => show_gauge(value, units),
            Self::Cold | Self::Hot => show_temperature(value, units),
            Self::Heater | Self::Tank => show_volume(value, units),
        }
    }

    /// Sets it in a copy of the system that was told.
    fn set(self, copy: &mut System, told: &System, value: f64) {
        match self {
            Self::Static => copy.static_gauge_pa = value,
            Self::Cold => copy.cold_c = value,
            Self::Hot => copy.hot_c = value,
            Self::Heater => {
                for heater in &mut copy.heaters {
                    heater.volume_l = value;
                }
            }
            Self::Street => copy.street_gauge_pa = Some(value),
            Self::Precharge => {
                for tank in &mut copy.existing {
                    tank.precharge_gauge_pa = value;
                }
            }
            Self::Tank => {
                for (tank, told) in copy.existing.iter_mut().zip(&told.existing) {
                    // A label misread scales the whole tank.
                    let share = value / told.volume_l;
                    tank.max_acceptance_l = told.max_acceptance_l.map(|most| most * share);
                    tank.volume_l = value;
                }
            }
        }
    }
}

/// One reading that may be wrong, and how far it may plausibly be off.
struct Reading {
    moved: Moved,
    told: f64,
    lo: f64,
    hi: f64,
    /// Where what decides turns round as the reading moves: looked at closely, low and high.
    bend: Option<[f64; 2]>,
}

fn readings(system: &System) -> Vec<Reading> {
    let psi = PA_PER_PSI;
    let of = |moved: Moved, told: f64, lo: f64, hi: f64| Reading {
        moved,
        told,
        lo,
        hi,
        bend: None,
    };
    let (static_pa, cold_c, hot_c) = (system.static_gauge_pa, system.cold_c, system.hot_c);
    let highest_c = (hot_c + 25.0).min(system.heater_relief_c).max(hot_c);
    let mut list = vec![
        of(
            Moved::Static,
            static_pa,
            (static_pa - 30.0 * psi).max(10.0 * psi),
            static_pa + 30.0 * psi,
        ),
        of(
            Moved::Cold,
            cold_c,
            (cold_c - 15.0).max(0.0),
            (cold_c + 15.0).min(hot_c),
        ),
        of(Moved::Hot, hot_c, (hot_c - 20.0).max(cold_c), highest_c),
    ];
    if let [heater] = system.heaters.as_slice() {
        let litre = heater.volume_l;
        list.push(of(Moved::Heater, litre, 0.5 * litre, 2.0 * litre));
    }
    if let Some(street) = system.street_gauge_pa {
        let low = (street - 30.0 * psi).max(10.0 * psi);
        list.push(of(Moved::Street, street, low, street + 30.0 * psi));
    }
    if let [tank] = system.existing.as_slice() {
        let (precharge, litre) = (tank.precharge_gauge_pa, tank.volume_l);
        list.push(of(Moved::Precharge, precharge, 0.0, precharge + 40.0 * psi));
        list.push(of(Moved::Tank, litre, 0.4 * litre, 2.5 * litre));
    }
    // Water is densest just below 4 °C: colder or warmer supply brings less growth.
    for reading in list.iter_mut().filter(|reading| reading.moved == Moved::Cold) {
        reading.bend = Some([3.8, 4.0]);
    }
    // A precharge near static is not set anew, and one at static takes the most: both come and go within a few psi.
    let counted = supply::counted(system);
    let (at_tank_abs_pa, _) = at_tank_abs_pa(&counted);
    let counts_pa = counted.static_gauge_pa;
    for reading in &mut list {
        let states = super::existing::states(system);
        let charges = states.iter().map(|state| state.precharge_abs_pa);
        let off = |abs_pa: f64| abs_pa - at_tank_abs_pa;
        let lowest = charges.clone().map(off).reduce(f64::min);
        let highest = charges.map(off).reduce(f64::max);
        let (Some(lowest), Some(highest)) = (lowest, highest) else {
            continue;
        };
        reading.bend = match reading.moved {
            Moved::Static | Moved::Street => Some([counts_pa + lowest - 3.0 * psi, counts_pa + highest + 3.0 * psi]),
            // A tenth for a charge that was set at another temperature.
            Moved::Precharge => Some([
                reading.told - highest - 0.1 * highest.abs() - 3.0 * psi,
                reading.told - lowest + 0.1 * lowest.abs() + 3.0 * psi,
            ]),
            _ => reading.bend,
        };
    }
    list
}

/// The answer at one value of a reading: what is advised, the way it came about, and how far what decides it is from turning.
#[derive(Debug, Clone)]
struct Point {
    value: f64,
    measure: Measure,
    way: Way,
    deciding: [f64; DECIDING],
}

/// Steps and reasons.
type Way = (Vec<Step>, Vec<Note>);

/// How many figures are followed to a turn.
const DECIDING: usize = 19;
/// So many of them, the first, rise or fall steadily with a reading but for the known bends; the others help only to narrow a turn down.
const STEADY: usize = 7;

/// Figures of a state, and of the lowered one where that was weighed, that change sign where what is advised may change.
fn deciding(system: &System, state: &State, lowered: Option<&Lowered>) -> [f64; DECIDING] {
    let demand_l = state.demand.volume_l;
    let room_left = |needed_l: Option<f64>| match (needed_l, system.room_for_tank_l) {
        (Some(needed_l), Some(room_l)) => needed_l - room_l,
        _ => f64::NAN,
    };
    let of = |standing: Option<&Standing>, figure: fn(&Standing) -> Option<f64>| {
        standing.and_then(figure).unwrap_or(f64::NAN)
    };
    let within: fn(&Standing) -> Option<f64> = |tanks| Some(tanks.margin_pa? + tanks.unsure_pa);
    let set_and_kept: fn(&Standing) -> Option<f64> = |tanks| Some(tanks.margin_when_reset_pa? - SET_AND_KEPT_PA);
    let standing = state.existing.as_ref();
    let then = lowered.and_then(|lowered| lowered.standing.as_ref());
    [
        system.static_gauge_pa - system.limit_gauge_pa,
        state
            .tank
            .acceptance_factor
            .map_or(f64::NAN, |share| share - POOR_ACCEPTANCE),
        demand_l,
        room_left(state.tank.min_volume_l),
        usual_setting_pa(system) - system.static_gauge_pa,
        standing.map_or(f64::NAN, |tanks| tanks.usable_l - demand_l),
        standing.map_or(f64::NAN, |tanks| tanks.usable_when_reset_l - demand_l),
        of(standing, within),
        of(standing, set_and_kept),
        of(standing, |tanks| Some(tanks.margin_pa? - HARDLY_OVER_PA)),
        of(standing, |tanks| Some(tanks.off_static_pa)),
        system
            .street_gauge_pa
            .map_or(f64::NAN, |street_pa| street_pa - system.limit_gauge_pa),
        then.map_or(f64::NAN, |tanks| tanks.usable_l - demand_l),
        then.map_or(f64::NAN, |tanks| tanks.usable_when_reset_l - demand_l),
        of(then, within),
        of(then, set_and_kept),
        room_left(lowered.and_then(|lowered| lowered.needed_l)),
        system
            .existing
            .iter()
            .map(|tank| tank.precharge_gauge_pa - LOST_PRECHARGE_PA)
            .fold(f64::NAN, f64::min),
        system
            .relief_at_gauge_pa
            .map_or(f64::NAN, |at_pa| at_pa - state.relief.settings_gauge_pa[0]),
    ]
}

/// Moves one reading of a system and asks what is advised.
struct Mover<'a> {
    told: &'a System,
    copy: System,
    moved: Moved,
}

impl Mover<'_> {
    /// `None` beyond what can be computed.
    fn at(&mut self, value: f64) -> Option<Point> {
        self.set(value);
        if !self.copy.can_be_answered() {
            return None;
        }
        self.point(value)
    }

    /// As [`Mover::at`] between two values that can be answered: whatever makes a reading impossible does so beyond a bound.
    fn between(&mut self, value: f64) -> Option<Point> {
        self.set(value);
        self.point(value)
    }

    fn set(&mut self, value: f64) {
        // What counts was put in their place the last time.
        self.copy.static_gauge_pa = self.told.static_gauge_pa;
        self.copy.limit_gauge_pa = self.told.limit_gauge_pa;
        self.moved.set(&mut self.copy, self.told, value);
    }

    fn point(&mut self, value: f64) -> Option<Point> {
        supply::count(&mut self.copy);
        let state = advice::state(&self.copy).ok()?;
        let Advice {
            measure,
            steps,
            why,
            lowered,
            ..
        } = advice::advise(&self.copy, &state).ok()?;
        Some(Point {
            value,
            measure,
            way: (steps, why),
            deciding: deciding(&self.copy, &state, lowered.as_ref()),
        })
    }
}

impl Point {
    /// Whether two answers came about the same way, with what decides on the same sides.
    fn like(&self, other: &Self) -> bool {
        let same_side = |(a, b): (&f64, &f64)| a.is_nan() == b.is_nan() && (a.is_nan() || (*a < 0.0) == (*b < 0.0));
        let steady = self.deciding.iter().zip(&other.deciding).take(STEADY);
        steady.into_iter().all(same_side) && same_way(&self.way, &other.way)
    }
}

/// Whether two answers came about the same way; the figures in the reasons may differ.
fn same_way(a: &Way, b: &Way) -> bool {
    let same_step = |(a, b): (&Step, &Step)| std::mem::discriminant(a) == std::mem::discriminant(b);
    a.0.len() == b.0.len()
        && a.1.len() == b.1.len()
        && a.0.iter().zip(&b.0).all(same_step)
        && a.1.iter().zip(&b.1).all(|(a, b)| a.same_kind(*b))
}

/// Steps to either end of a reading's plausible range.
const STEPS: usize = 24;

/// The turning points of every reading, nearest first in share of the reading's plausible error.
///
/// Each reading is moved alone, in 24 steps to both ends of its plausible range. What decides an answer rises or falls steadily with a
/// reading, but for the few bends that are known; so a stretch of steps is passed at once where the answer at both ends of it came about
/// the same way with the deciding figures on the same sides, and halved where not. The first change is then narrowed down.
pub(super) fn turns(system: &System, advice: &Advice<'_>) -> Vec<Turn<Note>> {
    let mut found: Vec<(f64, Turn<Note>)> = Vec::new();
    let mut mover = Mover {
        told: system,
        copy: system.clone(),
        moved: Moved::Static,
    };
    let Some(base) = mover.at(system.static_gauge_pa) else {
        return Vec::new();
    };
    if base.measure != advice.measure {
        return Vec::new();
    }
    for reading in readings(system) {
        mover.copy.clone_from(system);
        mover.moved = reading.moved;
        for end in [reading.lo, reading.hi] {
            let span = end - reading.told;
            if span.abs() < 1e-9 {
                continue;
            }
            let Some((keep, turn)) = first_change(&mut mover, &reading, span, &base) else {
                continue;
            };
            let (turn, becomes) = narrowed(&mut mover, keep, turn, span);
            let (unit, scale) = reading.moved.unit();
            found.push((
                ((turn - reading.told) / span).abs(),
                Turn {
                    reading: reading.moved.name(),
                    told: reading.told * scale,
                    turns_at: turn * scale,
                    unit,
                    becomes,
                    sentence: Note::Turns {
                        tanks: system.existing.len(),
                        moved: reading.moved,
                        turns_at: turn,
                        told: reading.told,
                        becomes,
                    },
                },
            ));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    found.into_iter().map(|(_, turn)| turn).collect()
}

/// The last step at which the advice is as told and the first at which it is not; `None` without one, or beyond what can be computed.
fn first_change(mover: &mut Mover<'_>, reading: &Reading, span: f64, base: &Point) -> Option<(Point, Point)> {
    let mut walk = Walk {
        mover,
        reading,
        span,
        measure: base.measure,
    };
    let here = Point {
        value: reading.told,
        ..base.clone()
    };
    let end = walk.at(STEPS, false);
    match walk.stretch(here, [0, STEPS], end) {
        Err(Stop::Changed(bracket)) => Some(*bracket),
        Ok(_) | Err(Stop::Beyond) => None,
    }
}

/// Why a stretch of steps was not walked to its end.
enum Stop {
    /// The advice changes between these two, one step apart.
    Changed(Box<(Point, Point)>),
    /// It cannot be computed any further.
    Beyond,
}

/// One reading on its way to one end of its range.
struct Walk<'a, 'b> {
    mover: &'a mut Mover<'b>,
    reading: &'a Reading,
    span: f64,
    measure: Measure,
}

impl Walk<'_, '_> {
    fn value(&self, step: usize) -> f64 {
        self.reading.told + self.span * step as f64 / STEPS as f64
    }

    fn at(&mut self, step: usize, between: bool) -> Option<Point> {
        let value = self.value(step);
        if between {
            self.mover.between(value)
        } else {
            self.mover.at(value)
        }
    }

    /// Whether a stretch lies clear of where what decides may turn round.
    fn clear(&self, [from, to]: [usize; 2]) -> bool {
        self.reading.bend.is_none_or(|[low, high]| {
            let (from, to) = (self.value(from), self.value(to));
            from.max(to) <= low || from.min(to) >= high
        })
    }

    /// From the point at the first step to the other; `there` is the answer at that, `None` beyond what can be computed. The point at the
    /// end where the advice is the same all along.
    fn stretch(&mut self, here: Point, [from, to]: [usize; 2], there: Option<Point>) -> Result<Point, Stop> {
        if to - from <= 1 {
            return match there {
                None => Err(Stop::Beyond),
                Some(there) if there.measure != self.measure => Err(Stop::Changed(Box::new((here, there)))),
                Some(there) => Ok(there),
            };
        }
        let there = match there {
            Some(there) if self.clear([from, to]) && there.like(&here) => return Ok(there),
            other => other,
        };
        let half = from.midpoint(to);
        let midway = self.at(half, there.is_some());
        let midway = self.stretch(here, [from, half], midway)?;
        self.stretch(midway, [half, to], there)
    }
}

/// The value at which the advice changes, on its far side, and what it becomes there.
///
/// The bracket is narrowed by the secant of a figure that changes its sign in it (Illinois rule); the advice itself says which side a
/// value lies on, so that a figure that has nothing to do with the change costs time and no accuracy. `[judgement]`
fn narrowed(mover: &mut Mover<'_>, keep: Point, turn: Point, span: f64) -> (f64, Measure) {
    let told = keep.measure;
    let close = 1e-9 * span.abs();
    let (mut keep, mut turn) = (keep, turn);
    let (mut weight_keep, mut weight_turn) = (1.0, 1.0);
    let mut figure = None;
    // A figure that has nothing to do with the change is noticed by a bracket that two rounds have not halved.
    let mut widths = [f64::INFINITY; 2];
    for _ in 0..80 {
        let width = turn.value - keep.value;
        if width.abs() <= close {
            break;
        }
        let slow = width.abs() > 0.5 * widths[0];
        widths = [widths[1], width.abs()];
        let crosses = |at: usize| match (keep.deciding.get(at), turn.deciding.get(at)) {
            // A root that was hit to the last bit lies on either side.
            (Some(a), Some(b)) if a.is_finite() && b.is_finite() && (a * b < 0.0 || (*a == 0.0) != (*b == 0.0)) => {
                Some((*a, *b))
            }
            _ => None,
        };
        if figure.is_none_or(|at| crosses(at).is_none()) {
            figure = (0..DECIDING).find(|at| crosses(*at).is_some());
            (weight_keep, weight_turn) = (1.0, 1.0);
        }
        let share = match figure.and_then(crosses) {
            Some((a, b)) if !slow => {
                let (a, b) = (a.abs() * weight_keep, b.abs() * weight_turn);
                let share = a / (a + b);
                // A root that is found lies beside the value; half the closeness beyond it takes the other side in, too.
                let least = (0.5 * close / width.abs()).min(0.5);
                share.clamp(least, 1.0 - least)
            }
            _ => 0.5,
        };
        match mover.between(keep.value + share * width) {
            Some(point) if point.measure == told => {
                keep = point;
                (weight_keep, weight_turn) = (1.0, 0.5 * weight_turn);
            }
            Some(point) => {
                turn = point;
                (weight_keep, weight_turn) = (0.5 * weight_keep, 1.0);
            }
            None => break,
        }
    }
    (turn.value, turn.measure)
}
