//! One file a format; all return the one [`Series`](super::Series).
//!
//! A reader turns bytes into [`RawReading`](super::RawReading)s and hands them to
//! [`assemble`](super::assemble()); it decides nothing about gaps and duplicates.

pub mod native;

use super::assemble::Report;
use super::local_time::{FoldPolicy, GapPolicy};
use super::series::{Series, Station};
use crate::faults::{Fault, Faults, Severity};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// What the user says about the files.
#[derive(Debug, Clone, Default)]
pub struct ReadOptions {
    /// Zone of times that are written without an offset.
    pub zone: Option<Tz>,
    /// Zones of single stations, from the list of stations; they go before `zone`.
    pub station_zones: BTreeMap<String, Tz>,
    /// Whether gaps longer than 3 h are bridged instead of being errors.
    pub allow_gaps: bool,
    /// What a local time that was told twice means.
    pub fold: FoldPolicy,
    /// What is done with a local time that never was.
    pub gap: GapPolicy,
}

impl ReadOptions {
    /// The zone of a station's local times.
    pub fn zone_of(&self, station_id: &str) -> Option<Tz> {
        self.station_zones.get(station_id).copied().or(self.zone)
    }
}

/// One station in a file: its series, if one could be made, and what happened on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The station.
    pub station: Station,
    /// The series; `None` when the faults say why there is none.
    pub series: Option<Series>,
    /// What happened.
    pub report: Report,
}

/// A format of hourly series.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// [`native`].
    NativeCsv,
}

/// The format of a file, judged by its content.
pub fn recognise(bytes: &[u8]) -> Option<Format> {
    native::recognises(bytes).then_some(Format::NativeCsv)
}

/// Reads a file of hourly series with what happened on the way, one [`Found`] for each station.
///
/// Faults: `BW-S09` the format is not recognised (fatal), and those of the format's reader.
pub fn read_reported(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    match recognise(bytes) {
        Some(Format::NativeCsv) => native::read(bytes, file_name, options),
        None => {
            // The native reader tells best what a table lacks, and whether the file is empty or no text.
            let (found, mut faults) = native::read(bytes, file_name, options);
            if !faults.is_fatal() {
                faults.push(
                    Fault::new("BW-S09", Severity::Fatal, "the format of the series is not recognized")
                        .file(file_name)
                        .expected("a CSV with time and air_temp_f or air_temp_c"),
                );
            }
            (found, faults)
        }
    }
}

/// Reads a file of hourly series: those that could be made, in the order of the stations' names.
pub fn read_series(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Series>, Faults) {
    let (found, faults) = read_reported(bytes, file_name, options);
    (found.into_iter().filter_map(|one| one.series).collect(), faults)
}
