//! The options by which commands name their input files.

use crate::faults::{Fault, Severity};
use crate::input::load::Files;
use crate::weather::stretch::Pick;
use chrono_tz::Tz;
use std::path::PathBuf;

/// Series, stations, config and how to read them.
#[derive(clap::Args, Debug, Clone, Default)]
pub struct InputArgs {
    /// List of assemblies (CSV).
    #[arg(long, value_name = "FILE")]
    pub assemblies: Option<PathBuf>,
    /// Temperature series; may be given several times.
    #[arg(long, value_name = "FILE")]
    pub series: Vec<PathBuf>,
    /// Members or percentiles of the forecast (CSV), in the place of the config's table of forecast errors.
    #[arg(long, value_name = "FILE")]
    pub spread: Option<PathBuf>,
    /// Record of a year or more of the place, hourly or daily: ground and supply water are as cold as its climate makes them.
    #[arg(long, value_name = "FILE")]
    pub climate: Option<PathBuf>,
    /// List of weather stations (CSV).
    #[arg(long, value_name = "FILE")]
    pub stations: Option<PathBuf>,
    /// The utility's own choices (TOML).
    #[arg(long, value_name = "FILE")]
    pub config: Option<PathBuf>,
    /// Time zone of times written without an offset, such as America/Chicago.
    #[arg(long, value_name = "ZONE")]
    pub zone: Option<String>,
    /// Bridge gaps in a series that are longer than 3 hours instead of stopping.
    #[arg(long)]
    pub allow_gaps: bool,
    /// Which stretch of a series longer than three weeks is planned, as if it lay ahead: coldest, 2 for the second coldest, or two dates
    /// such as 2021-02-10/2021-02-18.
    #[arg(long, value_name = "WHICH")]
    pub spell: Option<String>,
}

impl InputArgs {
    /// What was typed, checked.
    ///
    /// # Errors
    /// `BW-C06` when the zone is not known, `BW-C11` when the spell names nothing.
    pub fn files(&self) -> Result<Files, Fault> {
        let zone = match &self.zone {
            None => None,
            Some(name) => Some(name.parse::<Tz>().map_err(|_| {
                Fault::new("BW-C06", Severity::Fatal, "this time zone is not known")
                    .column("--zone")
                    .value(name)
                    .expected("a name such as America/Chicago or UTC")
                    .remedy("Correct the name.")
            })?),
        };
        Ok(Files {
            assemblies: self.assemblies.clone(),
            series: self.series.clone(),
            spread: self.spread.clone(),
            climate: self.climate.clone(),
            stations: self.stations.clone(),
            config: self.config.clone(),
            zone,
            allow_gaps: self.allow_gaps,
            spell: self.spell.as_deref().map(Pick::read).transpose()?,
        })
    }
}
