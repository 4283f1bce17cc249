//! Advice on which published sources disagree, so that the utility chooses.

use serde::{Deserialize, Serialize};

/// What is said about running water at a tap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RunWater {
    /// Nothing is said.
    SayNothing,
    /// A thin stream at an indoor tap is advised for lines in use.
    ThinStream,
    /// People are asked not to run water.
    DoNotRun,
}

/// How the shutoffs are left once the line is drained.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AfterDraining {
    /// As the maker's instructions say.
    AsMakerSays,
    /// Half open, at 45 degrees.
    HalfOpen,
    /// A quarter of the way from closed.
    QuarterOpen,
    /// Fully open.
    Open,
    /// Closed (test cocks only).
    Closed,
}

/// How ice may be thawed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Thaw {
    /// Wait for the day to warm it, or ask a plumber.
    LetItThaw,
    /// Warm air from a hair dryer on a protected outlet.
    WarmAir,
    /// Towels wetted with warm water.
    WarmTowels,
}

/// Who may blow a line out with air.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BlowOut {
    /// Nothing is said.
    SayNothing,
    /// A contractor only, connected past the assembly.
    ContractorOnly,
    /// Not at all.
    DoNot,
}

/// Whether customers may shut the valve at the meter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MeterValve {
    /// They call the utility.
    CallUs,
    /// They may when something has burst.
    IfBurst,
}

/// The `[outreach.advice]` section: published advice conflicts here, so the utility chooses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AdviceConfig {
    /// Running water at a tap.
    pub run_water: RunWater,
    /// Shutoffs once drained.
    pub shutoffs_after_draining: AfterDraining,
    /// Test cocks once drained.
    pub test_cocks_after_draining: AfterDraining,
    /// Thawing.
    pub thaw: Thaw,
    /// Compressed air.
    pub blow_out: BlowOut,
    /// Valve at the meter.
    pub meter_valve: MeterValve,
}

impl Default for AdviceConfig {
    fn default() -> Self {
        Self {
            run_water: RunWater::SayNothing,
            shutoffs_after_draining: AfterDraining::AsMakerSays,
            test_cocks_after_draining: AfterDraining::AsMakerSays,
            thaw: Thaw::LetItThaw,
            blow_out: BlowOut::SayNothing,
            meter_valve: MeterValve::CallUs,
        }
    }
}
