//! One file a format; all return the one [`Series`], or a [`DailyRecord`] that can be made into one.
//!
//! A reader turns bytes into [`RawReading`](super::RawReading)s and hands them to
//! [`assemble`](super::assemble()); it decides nothing about gaps and duplicates. Formats are recognised by content,
//! never by the name of the file.

pub mod asos;
pub mod blend;
mod common;
pub mod daily_plain;
pub mod epw;
pub mod ghcn_daily;
pub mod ghcn_hourly;
pub mod isd_lite;
pub mod lcd;
pub mod met_norway;
pub mod mosmix;
pub mod native;
pub mod nws_gridpoint;
pub mod nws_hourly;
pub mod nws_observations;
pub mod open_meteo;
mod service_json;
pub mod spread;
pub mod tmy2;
pub mod tmy3;

pub use service_json::BUNDLE_SCHEMA;

use super::assemble::Report;
use super::daily::DailyRecord;
use super::diurnal::Shape;
use super::local_time::{FoldPolicy, GapPolicy};
use super::series::{Series, Station};
use super::spread::Told;
use crate::faults::{Fault, Faults, Severity};
use chrono_tz::Tz;
use serde::Serialize;
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
    /// Stations that are wanted of a file that holds those of a whole country; all of them when empty.
    pub stations: Vec<String>,
}

impl ReadOptions {
    /// The zone of a station's local times.
    pub fn zone_of(&self, station_id: &str) -> Option<Tz> {
        self.station_zones.get(station_id).copied().or(self.zone)
    }
}

/// What kind of record it is: only a real one tells how often it freezes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Nature {
    /// Weather as it was or is forecast.
    #[default]
    Record,
    /// A typical year: months taken from different years, extremes left out on purpose.
    TypicalYear,
    /// Climate normals: averages over many years, smooth and without weather.
    Normals,
}

/// One station in a file: its series, if one could be made, and what happened on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The station.
    pub station: Station,
    /// The hourly series; `None` when the faults say why there is none, and for a daily record.
    pub series: Option<Series>,
    /// What happened.
    pub report: Report,
    /// The daily record, when the file holds one.
    pub daily: Option<DailyRecord>,
    /// What kind of record it is.
    pub nature: Nature,
    /// What the forecaster says of the uncertainty, where the format carries it.
    pub told: Option<Told>,
}

impl Found {
    /// A daily record of real weather.
    pub fn of_days(record: DailyRecord) -> Self {
        Self {
            station: record.station.clone(),
            series: None,
            report: Report {
                set_aside: record.set_aside.clone(),
                ..Report::default()
            },
            daily: Some(record),
            nature: Nature::Record,
            told: None,
        }
    }
}

/// A format, recognised by content.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// [`native`].
    NativeCsv,
    /// JSON of the weather service, or our bundle of its replies: [`nws_gridpoint`], [`nws_hourly`], [`nws_observations`].
    ServiceJson,
    /// [`blend`], bulletins of the national blend.
    Blend,
    /// [`mosmix`], a compressed or plain KML of point forecasts.
    Mosmix,
    /// [`ghcn_daily`], fixed width.
    GhcnDailyFixed,
    /// [`ghcn_daily`], one row a value.
    GhcnDailyLong,
    /// [`ghcn_daily`], one row a day.
    GhcnDailyWide,
    /// [`daily_plain`], minima and maxima with their unit in the header.
    DailyPlain,
    /// [`ghcn_hourly`], values parted by bars.
    GhcnHourly,
    /// [`ghcn_hourly`], the older comma-separated hourly file with one column a group.
    GlobalHourly,
    /// [`isd_lite`].
    IsdLite,
    /// [`lcd`].
    Lcd,
    /// [`asos`].
    Asos,
    /// [`epw`].
    Epw,
    /// [`tmy2`].
    Tmy2,
    /// [`tmy3`].
    Tmy3,
    /// Tables of climate normals, which are no weather.
    Normals,
}

/// The format of a file, judged by its content.
pub fn recognise(bytes: &[u8]) -> Option<Format> {
    if mosmix::recognises(bytes) {
        return Some(Format::Mosmix);
    }
    let head = common::head_of(bytes);
    if blend::recognises(&head) {
        return Some(Format::Blend);
    }
    let start = head.trim_start();
    if start.starts_with('{') || start.starts_with('[') {
        return Some(Format::ServiceJson);
    }
    let first = head
        .lines()
        .find(|line| !line.trim().is_empty() && !line.starts_with('#'))
        .unwrap_or("");
    let names: Vec<String> = first
        .split([',', '|', ';', '\t'])
        .map(|name| name.trim().trim_matches('"').trim().to_ascii_lowercase())
        .collect();
    let has = |name: &str| names.iter().any(|own| own == name);
    if epw::recognises(first) {
        Some(Format::Epw)
    } else if tmy3::recognises(&head) {
        Some(Format::Tmy3)
    } else if tmy2::recognises(&head) {
        Some(Format::Tmy2)
    } else if names.iter().any(|name| name.contains("-normal")) {
        Some(Format::Normals)
    } else if first.contains('|') && has("temperature") {
        Some(Format::GhcnHourly)
    } else if has("hourlydrybulbtemperature") {
        Some(Format::Lcd)
    } else if has("station") && has("date") && has("tmp") {
        Some(Format::GlobalHourly)
    } else if names.iter().any(|name| name.starts_with("valid")) && (has("tmpf") || has("tmpc")) {
        Some(Format::Asos)
    } else if native::recognises(bytes) {
        Some(Format::NativeCsv)
    } else if daily_plain::recognises(bytes) {
        Some(Format::DailyPlain)
    } else if has("date") && (has("tmin") || has("tmax")) {
        Some(Format::GhcnDailyWide)
    } else if ghcn_daily::recognises_long(&head) {
        Some(Format::GhcnDailyLong)
    } else if ghcn_daily::recognises_fixed(first) {
        Some(Format::GhcnDailyFixed)
    } else if isd_lite::recognises(first) {
        Some(Format::IsdLite)
    } else {
        None
    }
}

/// Reads a weather file with what happened on the way, one [`Found`] for each station.
///
/// Faults: `BW-S09` the format is not recognised (fatal), `BW-S35` climate normals (fatal), and those of the format's reader.
pub fn read_reported(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    match recognise(bytes) {
        Some(Format::NativeCsv) => native::read(bytes, file_name, options),
        Some(Format::ServiceJson) => service_json::read(bytes, file_name, options),
        Some(Format::Blend) => blend::read(bytes, file_name, options),
        Some(Format::Mosmix) => mosmix::read(bytes, file_name, options),
        Some(Format::GhcnDailyFixed) => ghcn_daily::read_fixed(bytes, file_name, options),
        Some(Format::GhcnDailyLong) => ghcn_daily::read_long(bytes, file_name, options),
        Some(Format::GhcnDailyWide) => ghcn_daily::read_wide(bytes, file_name, options),
        Some(Format::GhcnHourly) => ghcn_hourly::read(bytes, file_name, options),
        Some(Format::GlobalHourly) => ghcn_hourly::read_groups(bytes, file_name, options),
        Some(Format::IsdLite) => isd_lite::read(bytes, file_name, options),
        Some(Format::Lcd) => lcd::read(bytes, file_name, options),
        Some(Format::Asos) => asos::read(bytes, file_name, options),
        Some(Format::Epw) => epw::read(bytes, file_name, options),
        Some(Format::Tmy2) => tmy2::read(bytes, file_name, options),
        Some(Format::Tmy3) => tmy3::read(bytes, file_name, options),
        Some(Format::DailyPlain) => daily_plain::read(bytes, file_name, options),
        Some(Format::Normals) => {
            let mut faults = Faults::new();
            faults.push(
                Fault::new(
                    "BW-S35",
                    Severity::Fatal,
                    "these are climate normals, averages of many years: they hold no cold spell",
                )
                .file(file_name)
                .expected("observations or a forecast")
                .remedy("Get the station's daily or hourly record instead."),
            );
            (Vec::new(), faults)
        }
        None => {
            // The native reader tells best what a table lacks, and whether the file is empty or no text.
            let (found, mut faults) = native::read(bytes, file_name, options);
            if !faults.is_fatal() {
                faults.push(
                    Fault::new("BW-S09", Severity::Fatal, "the format of the series is not recognized")
                        .file(file_name)
                        .expected(
                            "a CSV with time and air_temp_f or air_temp_c, or one of the formats that the manual lists",
                        ),
                );
            }
            (found, faults)
        }
    }
}

/// Reads a file of weather: the hourly series that could be made, in the order of the stations' names.
///
/// Daily records are made into hours ([`DailyRecord::to_hourly`]) and that is told as a warning.
pub fn read_series(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Series>, Faults) {
    let (found, mut faults) = read_reported(bytes, file_name, options);
    let mut all = Vec::new();
    for one in found {
        match (one.series, one.daily) {
            (Some(series), _) => all.push(series),
            (None, Some(daily)) => {
                let (series, _, told) = daily.to_hourly(Shape::PartonLogan, file_name, options.allow_gaps);
                faults.append(told);
                all.extend(series);
            }
            (None, None) => {}
        }
    }
    (all, faults)
}
