//! The whole answer for one system.

use super::advice::{self, State, Step};
use super::advised::Advice;
use super::cautions;
use super::closed::Closed;
use super::existing::{self, ExistingAnswer};
use super::pressure::{self, Unprotected};
use super::relief::{self, ReliefAnswer};
use super::sensitivity::{self, Turn};
use super::supply::{self, Supply};
use super::system::System;
use super::tank::{AfterLowering, TankAnswer};
use super::volume::Demand;
use super::words::{Note, say_all};
use crate::faults::{Fault, Faults, Severity};
use crate::physics::OutOfRange;
use serde::{Deserialize, Serialize};

/// What to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Fit an expansion tank.
    Tank,
    /// Fit an expansion relief valve.
    Relief,
    /// Lower the supply pressure; nothing else is needed after that.
    LowerSupplyPressure,
    /// Lower the supply pressure, then fit a tank.
    LowerSupplyPressureThenTank,
    /// Lower the supply pressure, then fit a relief, where there is no room for a tank.
    LowerSupplyPressureThenRelief,
    /// Nothing is needed.
    NoneNeeded,
    /// Keep the tank that is there, setting its precharge where that is said.
    KeepExistingTank,
    /// Replace the tank that is there.
    ReplaceExistingTank,
}

impl Measure {
    /// Its name in files.
    pub fn name(self) -> &'static str {
        match self {
            Self::Tank => "tank",
            Self::Relief => "relief",
            Self::LowerSupplyPressure => "lower_supply_pressure",
            Self::LowerSupplyPressureThenTank => "lower_supply_pressure_then_tank",
            Self::LowerSupplyPressureThenRelief => "lower_supply_pressure_then_relief",
            Self::NoneNeeded => "none_needed",
            Self::KeepExistingTank => "keep_existing_tank",
            Self::ReplaceExistingTank => "replace_existing_tank",
        }
    }

    /// What to do, for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Tank => "fit an expansion tank",
            Self::Relief => "fit an expansion relief valve",
            Self::LowerSupplyPressure => "lower the supply pressure",
            Self::LowerSupplyPressureThenTank => "lower the supply pressure, then fit an expansion tank",
            Self::LowerSupplyPressureThenRelief => "lower the supply pressure, then fit an expansion relief valve",
            Self::NoneNeeded => "nothing is needed",
            Self::KeepExistingTank => "keep the tank that is there",
            Self::ReplaceExistingTank => "replace the tank that is there",
        }
    }
}

/// The measure with its steps and reasons.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Recommendation<W = String> {
    /// What to do.
    pub measure: Measure,
    /// The steps, in their order; empty when nothing more is needed.
    pub steps: Vec<Step>,
    /// Why, a sentence each, the weightiest first.
    pub why: Vec<W>,
}

/// What the house as found gives, once, for comparison. Pressures kPa gauge.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AsFound<W = String> {
    /// Static pressure and limit that count, and which reading decided them.
    pub supply: Supply,
    /// Whether a tank alone could hold the limit.
    pub tank_feasible: bool,
    /// The tank that it would take, L.
    pub tank_min_volume_l: Option<f64>,
    /// Why no tank could.
    pub why_no_tank: Option<W>,
}

/// The house once the advice is followed. Pressures kPa gauge.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AsAdvised {
    /// Highest static pressure.
    pub static_gauge_kpa: f64,
    /// Pressure that must not be passed.
    pub limit_gauge_kpa: f64,
    /// Tanks on the system together, L; null without one.
    pub tank_volume_l: Option<f64>,
    /// Their precharge; null without a tank, or where several have different ones.
    pub precharge_gauge_kpa: Option<f64>,
    /// Temperature at which the precharge is meant, °C; null: where the tank stands.
    pub precharge_at_c: Option<f64>,
    /// Each of them.
    pub tanks: Vec<AdvisedTank>,
    /// Pressure after heating, the tank alone taking the water; with a relief its setting, in open plumbing static.
    pub final_gauge_kpa: Option<f64>,
}

/// A tank of the state that is advised.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AdvisedTank {
    /// Total volume, L.
    pub volume_l: f64,
    /// Precharge, kPa gauge.
    pub precharge_gauge_kpa: f64,
}

/// The answer for one system. Serializes to `brimwater.expansion/1`: SI, pressures kPa gauge.
///
/// `tank` and `relief` are of the state that is advised; `unprotected` and `existing_tank` tell what was found. `W` is what stands for a
/// sentence: [`Note`], a kind with its numbers, until somebody is to read it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assessment<W = String> {
    /// Name and version of this form.
    pub schema: &'static str,
    /// Closed or not.
    pub closed: Closed<W>,
    /// How much room the water needs.
    pub expansion: Demand,
    /// What happens, as found, with nothing to take it.
    pub unprotected: Unprotected<W>,
    /// A new tank, in the state that is advised.
    pub tank: TankAnswer<W>,
    /// The tank that is there, as found; null when there is none.
    pub existing_tank: Option<ExistingAnswer<W>>,
    /// A relief, in the state that is advised.
    pub relief: ReliefAnswer<W>,
    /// What to do.
    pub recommendation: Recommendation<W>,
    /// The house as found.
    pub as_found: AsFound<W>,
    /// The house once the advice is followed.
    pub as_advised: AsAdvised,
    /// Which wrong reading would overturn it, nearest first; absent when it was not computed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sensitivity: Option<Vec<Turn<W>>>,
    /// What is to be minded, always; empty until it is put into words.
    pub cautions: Vec<String>,
    /// Readings to look at again; they were used all the same.
    pub warnings: Vec<Fault>,
    /// The system once the advice is followed, for writers; not kept in long lists.
    #[serde(skip)]
    pub advised: Option<Box<System>>,
}

impl Assessment<Note> {
    /// With its words. `system` is the one that was assessed.
    pub fn said(self, system: &System) -> Assessment {
        let tongue = system.tongue();
        Assessment {
            schema: self.schema,
            cautions: cautions::all(&supply::counted(system), self.closed.is_closed),
            closed: self.closed.said(tongue),
            expansion: self.expansion,
            unprotected: self.unprotected.said(tongue),
            tank: self.tank.said(tongue),
            existing_tank: self.existing_tank.map(|answer| answer.said(tongue)),
            relief: self.relief.said(tongue),
            recommendation: Recommendation {
                measure: self.recommendation.measure,
                steps: self.recommendation.steps,
                why: say_all(self.recommendation.why, tongue),
            },
            as_found: AsFound {
                supply: self.as_found.supply,
                tank_feasible: self.as_found.tank_feasible,
                tank_min_volume_l: self.as_found.tank_min_volume_l,
                why_no_tank: self.as_found.why_no_tank.map(|note| note.say(tongue)),
            },
            as_advised: self.as_advised,
            sensitivity: self
                .sensitivity
                .map(|turns| turns.into_iter().map(|turn| turn.said(tongue)).collect()),
            warnings: self.warnings,
            advised: self.advised,
        }
    }
}

/// Assesses one system.
///
/// # Errors
/// All readings that make an answer impossible, at once.
pub fn assess(system: &System) -> Result<Assessment, Faults> {
    Ok(judge(system, true)?.said(system))
}

/// As [`assess`], without the search for readings that overturn it.
///
/// # Errors
/// All readings that make an answer impossible, at once.
pub fn assess_without_sensitivity(system: &System) -> Result<Assessment, Faults> {
    Ok(judge(system, false)?.said(system))
}

/// The answer as kinds and numbers, for long lists; `turns` says whether the readings that overturn it are looked for.
///
/// # Errors
/// All readings that make an answer impossible, at once.
pub fn judge(system: &System, turns: bool) -> Result<Assessment<Note>, Faults> {
    let checked = system.check();
    if checked.is_fatal() {
        return Err(checked);
    }
    let found = supply::counted(system);
    let now = advice::state(&found).map_err(out_of_range)?;
    let unprotected = pressure::unprotected(&found).map_err(out_of_range)?;
    let existing_tank = existing::check(&found, &now.demand).map_err(out_of_range)?;
    let advice = advice::advise(&found, &now).map_err(out_of_range)?;
    let advised = advice.advised();
    let then = advice::state(&advised).map_err(out_of_range)?;
    let as_advised = as_advised(&advice, &advised, &then);
    let relief = relief::judge(&advised, &then.demand).map_err(out_of_range)?;
    let mut tank = then.tank;
    tank.after_lowering = lowering(&advice, &tank);
    tank.beside_existing_l = advice.beside_l;
    Ok(Assessment {
        schema: "brimwater.expansion/1",
        cautions: Vec::new(),
        sensitivity: turns.then(|| sensitivity::turns(system, &advice)),
        closed: now.closed,
        expansion: now.demand,
        unprotected,
        as_found: AsFound {
            supply: supply::judge(system),
            tank_feasible: now.tank.feasible,
            tank_min_volume_l: now.tank.min_volume_l,
            why_no_tank: now.tank.why_not,
        },
        tank,
        existing_tank,
        relief,
        as_advised,
        warnings: checked.0,
        recommendation: Recommendation {
            measure: advice.measure,
            steps: advice.steps,
            why: advice.why,
        },
        advised: Some(Box::new(advised)),
    })
}

fn as_advised(advice: &Advice<'_>, system: &System, then: &State) -> AsAdvised {
    let open = then.closed.is_closed == Some(false) || then.demand.volume_l <= 0.0;
    let final_gauge_kpa = match (&then.existing, system.relief_at_gauge_pa) {
        _ if open => Some(system.static_gauge_pa / 1e3),
        (Some(tank), _) => tank.final_gauge_pa.map(|pascal| pascal / 1e3),
        (None, Some(at_pa)) if advice.measure != Measure::LowerSupplyPressure => Some(at_pa / 1e3),
        (None, _) => None,
    };
    AsAdvised {
        static_gauge_kpa: system.static_gauge_pa / 1e3,
        limit_gauge_kpa: system.limit_gauge_pa / 1e3,
        tank_volume_l: system.existing.iter().map(|tank| tank.volume_l).reduce(|a, b| a + b),
        precharge_gauge_kpa: match system.existing.split_first() {
            Some((first, rest))
                if rest
                    .iter()
                    .all(|tank| (tank.precharge_gauge_pa - first.precharge_gauge_pa).abs() < 1.0) =>
            {
                Some(first.precharge_gauge_pa / 1e3)
            }
            _ => None,
        },
        precharge_at_c: advice::precharge_at_c(system).filter(|_| !system.existing.is_empty()),
        tanks: system
            .existing
            .iter()
            .map(|tank| AdvisedTank {
                volume_l: tank.volume_l,
                precharge_gauge_kpa: tank.precharge_gauge_pa / 1e3,
            })
            .collect(),
        final_gauge_kpa,
    }
}

/// The lowered supply with the tank it makes possible, when lowering is advised.
fn lowering(advice: &Advice<'_>, tank: &TankAnswer<Note>) -> Option<AfterLowering> {
    advice.steps.iter().find_map(|step| match step {
        Step::LowerSupply { gauge_kpa, .. } => Some(AfterLowering {
            regulator_gauge_kpa: *gauge_kpa,
            min_volume_l: tank.min_volume_l?,
            acceptance_factor: tank.acceptance_factor?,
        }),
        _ => None,
    })
}

fn out_of_range(error: OutOfRange) -> Faults {
    let mut faults = Faults::new();
    faults.push(
        Fault::new("BW-X16", Severity::Fatal, error.to_string())
            .column(error.field)
            .expected(format!("{} to {} {}", error.lo, error.hi, error.unit))
            .remedy("Read the temperatures and pressures again."),
    );
    faults
}
