//! The utility's own choices, read from one TOML file.
//!
//! Each room defines the section it needs, with a default for every key; this file only joins
//! them. Unknown keys are faults, not silence.

pub mod keys;
mod ranges;
mod read;

pub use read::Mapping;

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The whole config. Every section and key may be left out.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Config {
    /// Who runs the programme: names and numbers that pages and messages show.
    pub utility: Utility,
    /// The utility's own header names: ours on the left, theirs on the right.
    pub columns: BTreeMap<String, String>,
    /// The utility's own words for cells: column, then theirs on the left, ours on the right.
    pub values: BTreeMap<String, BTreeMap<String, String>>,
    /// Freeze model: dimensions, draws, devices, damage.
    pub freeze: crate::freeze::config::FreezeConfig,
    /// Forecast error and the other distributions of the ensemble.
    pub ensemble: crate::freeze::config::EnsembleConfig,
    /// What a broken assembly costs and which service comes first.
    pub ranking: crate::ranking::config::RankingConfig,
    /// Callers, shifts, channels, words.
    pub outreach: crate::outreach::config::OutreachConfig,
    /// Priors and likelihoods of the drip questions.
    pub drip: crate::drip::config::DripConfig,
    /// The standing watch.
    pub watch: crate::watch::config::WatchConfig,
    /// Before the season: measures, costs, years.
    pub season: crate::season::config::SeasonConfig,
}

/// Who runs the programme.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Utility {
    /// Name shown on pages and messages.
    pub name: String,
    /// IANA time zone for everything people read.
    pub zone: String,
    /// Number customers call.
    pub phone: String,
    /// Emergency number of the utility.
    pub emergency_phone: String,
}

impl Default for Utility {
    fn default() -> Self {
        Self {
            name: "your water utility".into(),
            zone: "UTC".into(),
            phone: String::new(),
            emergency_phone: String::new(),
        }
    }
}
