//! The whole answer for one system.

use super::cautions;
use super::closed::{self, Closed};
use super::existing::{self, ExistingAnswer};
use super::pressure::{self, Unprotected};
use super::recommend::{Findings, Recommendation, recommend};
use super::relief::{self, ReliefAnswer};
use super::sensitivity::{self, Turn};
use super::system::System;
use super::tank::{self, TankAnswer};
use super::volume::{self, Demand};
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
            Self::NoneNeeded => "nothing is needed",
            Self::KeepExistingTank => "keep the tank that is there",
            Self::ReplaceExistingTank => "replace the tank that is there",
        }
    }
}

/// The answer for one system. Serializes to `brimwater.expansion/1`: SI, pressures kPa gauge.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Assessment {
    /// Name and version of this form.
    pub schema: &'static str,
    /// Closed or not.
    pub closed: Closed,
    /// How much room the water needs.
    pub expansion: Demand,
    /// What happens with nothing to take it.
    pub unprotected: Unprotected,
    /// A new tank.
    pub tank: TankAnswer,
    /// The tank that is there; null when there is none.
    pub existing_tank: Option<ExistingAnswer>,
    /// A relief instead.
    pub relief: ReliefAnswer,
    /// What to do.
    pub recommendation: Recommendation,
    /// Which wrong reading would overturn it, nearest first.
    pub sensitivity: Vec<Turn>,
    /// What is to be minded, always.
    pub cautions: Vec<String>,
    /// Readings to look at again; they were used all the same.
    pub warnings: Vec<Fault>,
}

/// Assesses one system.
///
/// # Errors
/// All readings that make an answer impossible, at once.
pub fn assess(system: &System) -> Result<Assessment, Faults> {
    let mut assessment = assess_without_sensitivity(system)?;
    assessment.sensitivity = sensitivity::turns(system, assessment.recommendation.measure);
    Ok(assessment)
}

/// As [`assess`], without the search for readings that overturn it: for long lists.
///
/// # Errors
/// All readings that make an answer impossible, at once.
pub fn assess_without_sensitivity(system: &System) -> Result<Assessment, Faults> {
    let checked = system.check();
    if checked.is_fatal() {
        return Err(checked);
    }
    let parts = compute(system).map_err(out_of_range)?;
    let unprotected = pressure::unprotected(system).map_err(out_of_range)?;
    Ok(Assessment {
        schema: "brimwater.expansion/1",
        cautions: cautions::all(system, &parts.closed),
        closed: parts.closed,
        expansion: parts.demand,
        unprotected,
        tank: parts.tank,
        existing_tank: parts.existing,
        relief: parts.relief,
        recommendation: parts.recommendation,
        sensitivity: Vec::new(),
        warnings: checked.0,
    })
}

/// The recommended measure alone; `None` when the readings make an answer impossible.
pub(super) fn measure_of(system: &System) -> Option<Measure> {
    if system.check().is_fatal() {
        return None;
    }
    compute(system).ok().map(|parts| parts.recommendation.measure)
}

struct Parts {
    closed: Closed,
    demand: Demand,
    tank: TankAnswer,
    existing: Option<ExistingAnswer>,
    relief: ReliefAnswer,
    recommendation: Recommendation,
}

fn compute(system: &System) -> Result<Parts, OutOfRange> {
    let closed = closed::judge(system);
    let demand = volume::demand(system)?;
    let tank = tank::size(system, &demand);
    let existing = existing::check(system, &demand)?;
    let relief = relief::assess(system, &demand)?;
    let existing_after_lowering = match (&tank.after_lowering, &system.existing) {
        (Some(after), Some(there)) if !existing::has_failed(there) => {
            let mut lowered = system.clone();
            lowered.static_gauge_pa = after.regulator_gauge_kpa * 1e3;
            existing::check(&lowered, &demand)?.is_some_and(|answer| answer.adequate_when_reset)
        }
        _ => false,
    };
    let recommendation = recommend(
        system,
        &Findings {
            closed: &closed,
            demand: &demand,
            tank: &tank,
            existing: existing.as_ref(),
            existing_after_lowering,
            relief: &relief,
        },
    );
    Ok(Parts {
        closed,
        demand,
        tank,
        existing,
        relief,
        recommendation,
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
