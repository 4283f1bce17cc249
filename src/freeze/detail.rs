//! One assembly in full: the cautious run step by step, for `show` and the desk.

use super::config::{EnsembleConfig, FreezeConfig};
use super::kernel::Step;
use super::members::Members;
use super::run::{Place, RunOptions, offset_k};
use super::setup::Setup;
use super::simulate::simulate_recorded;
use super::spell::Spell;
use crate::weather::Series;
use chrono::{DateTime, Utc};

/// The network of an assembly and every step of its cautious run.
#[derive(Debug, Clone, PartialEq)]
pub struct Detail {
    /// The case.
    pub setup: Setup,
    /// Time of the first step.
    pub start: DateTime<Utc>,
    /// Length of a step, s.
    pub step_s: f64,
    /// The steps.
    pub steps: Vec<Step>,
}

/// Runs the cautious run of one place with every step recorded; `None` when its series is missing or empty.
pub fn detail(
    place: &Place<'_>,
    series: &[Series],
    options: &RunOptions,
    freeze: &FreezeConfig,
    ensemble: &EnsembleConfig,
) -> Option<Detail> {
    let members = Members::deterministic();
    let spell = Spell::new(
        series.get(place.series)?,
        &members,
        options.now,
        options.zone,
        freeze,
        ensemble,
    )?;
    let setup = Setup::new(place.assembly, spell.day_of_year, options.what_if, freeze);
    let (_, steps) = simulate_recorded(&setup, &spell, &members, offset_k(place));
    let per_hour = (3600.0 / setup.step_s).round().max(1.0);
    Some(Detail {
        setup,
        start: spell.start,
        step_s: 3600.0 / per_hour,
        steps,
    })
}
