//! The files of a run, opened and read together: list, series, stations, config.
//!
//! The commands and the desk share this, so that a file means the same everywhere. Everything that
//! can be read is read before anybody decides, so that all faults are told at once.

use super::file;
use crate::config::{Config, Mapping};
use crate::faults::{Fault, Faults, Severity};
use crate::inventory::columns::Column;
use crate::inventory::{Choice, Inventory, Unranked, place_assemblies, read_mapped, synonyms};
use crate::weather::diurnal::Shape;
use crate::weather::readers::{Format, Found, read_reported, recognise, spread};
use crate::weather::spread::{Spread, Told};
use crate::weather::stations::{Stations, join, read_stations};
use crate::weather::stretch::Pick;
use crate::weather::{ReadOptions, Series};
use chrono_tz::Tz;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Which files, and how to read them.
#[derive(Debug, Clone, Default)]
pub struct Files {
    /// The list of assemblies.
    pub assemblies: Option<PathBuf>,
    /// Series, of one station or several each.
    pub series: Vec<PathBuf>,
    /// The list of stations.
    pub stations: Option<PathBuf>,
    /// The utility's config.
    pub config: Option<PathBuf>,
    /// A record of a year or more, for the climate of ground and supply water.
    pub climate: Option<PathBuf>,
    /// Members or percentiles of the forecast.
    pub spread: Option<PathBuf>,
    /// Zone of times that are written without an offset; the config's zone when `None`.
    pub zone: Option<Tz>,
    /// Whether gaps longer than 3 h are bridged.
    pub allow_gaps: bool,
    /// Which stretch of a long series is planned.
    pub spell: Option<Pick>,
}

/// A file that was read, for the record of the run.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Taken {
    /// What it is: `assemblies`, `series`, `climate`, `spread`, `stations`, `config`.
    pub role: &'static str,
    /// Its name as given.
    pub file: String,
    /// SHA-256 of its bytes, hexadecimal.
    pub sha256: String,
}

/// All that was read.
#[derive(Debug, Clone, Default)]
pub struct Loaded {
    /// The config; the default where it could not be read.
    pub config: Config,
    /// The list. Its faults have been moved to `faults`.
    pub inventory: Inventory,
    /// The list of stations.
    pub stations: Stations,
    /// One series a station, in the order of the names.
    pub series: Vec<Series>,
    /// What happened in each file of series, one entry a station and file.
    pub reports: Vec<(String, Found)>,
    /// The record of the climate, one entry a station.
    pub climate: Vec<Found>,
    /// For each assembly the series that stands for it; `None` where there is none. Empty when no series was read.
    pub choices: Vec<Option<Choice>>,
    /// What the series' own files tell of the uncertainty, until it is put into the config.
    spread: Spread,
    /// The files.
    pub taken: Vec<Taken>,
    /// All faults, in the order config, stations, series, assemblies, choice.
    pub faults: Faults,
}

/// Reads everything that is named. Look at [`Loaded::faults`] before using the rest.
pub fn load(files: &Files) -> Loaded {
    let mut out = Loaded::default();
    if let Some(path) = &files.config {
        load_config(path, &mut out);
    }
    if let Some(path) = &files.stations
        && let Some(bytes) = whole(path, "stations", &mut out)
    {
        let (stations, told) = read_stations(&bytes, &file::shown(path));
        out.faults.append(told);
        out.stations = stations;
    }
    load_series(files, &mut out);
    load_spread(files, &mut out);
    load_climate(files, &mut out);
    if let Some(path) = &files.assemblies {
        load_assemblies(path, &mut out);
        if !out.series.is_empty() && !out.inventory.assemblies.is_empty() {
            let (choices, told) = place_assemblies(&out.inventory.assemblies, &out.series, &file::shown(path));
            let lost = Unranked::without_weather(&out.inventory.assemblies, &choices);
            out.inventory.unranked.extend(lost);
            out.inventory.unranked.sort_by_key(|row| row.line);
            out.choices = choices;
            out.faults.append(told);
        }
    }
    out
}

fn load_config(path: &Path, out: &mut Loaded) {
    let Some(bytes) = whole(path, "config", out) else {
        return;
    };
    let (text, note) = file::text(&bytes, path);
    out.faults.0.extend(note);
    match Config::read(&text, &file::shown(path)) {
        Ok((config, doubts)) => {
            out.faults.append(doubts);
            let told = config.outreach.check().0.into_iter();
            out.faults.0.extend(told.map(|fault| fault.file(file::shown(path))));
            out.config = config;
        }
        Err(told) => {
            // The run stops at these faults; the list is still read by its own mapping, so that its faults are true ones.
            let (columns, values) = Config::mapping_of(&text);
            (out.config.columns, out.config.values) = usable(columns, values);
            out.faults.append(told);
        }
    }
}

/// A mapping without what names no column or gives a word that the column does not take: that has been told of the config, and would be told
/// again of the list.
fn usable(mut columns: BTreeMap<String, String>, mut values: BTreeMap<String, BTreeMap<String, String>>) -> Mapping {
    columns.retain(|ours, _| Column::named(ours).is_some());
    values.retain(|name, words| match Column::named(name) {
        None => false,
        Some(column) => {
            words.retain(|_, ours| ours.trim().is_empty() || synonyms::read(column, ours).is_some());
            true
        }
    });
    (columns, values)
}

fn load_series(files: &Files, out: &mut Loaded) {
    let mut parts = Vec::new();
    let options = read_options(files, out);
    for path in &files.series {
        let Some(bytes) = whole(path, "series", out) else {
            continue;
        };
        let name = file::shown(path);
        let (found, told) = read_reported(&bytes, &name, &options);
        out.faults.append(told);
        for mut one in found {
            if let Some(told) = one.told.take() {
                keep_told(&mut out.spread, one.station.station_id.clone(), told);
            }
            // A daily record is made into hours, which is told with the uncertainty that it carries.
            if let (None, Some(daily)) = (&one.series, &one.daily) {
                let (series, _, told) = daily.to_hourly(Shape::PartonLogan, &name, files.allow_gaps);
                out.faults.append(told);
                one.series = series;
            }
            parts.extend(one.series.clone());
            out.reports.push((name.clone(), one));
        }
    }
    if parts.is_empty() && !out.spread.stations.is_empty() && !out.faults.is_fatal() {
        out.faults.push(
            Fault::new(
                "BW-S49",
                Severity::Fatal,
                "percentiles of nights and days hold no hours to plan from",
            )
            .expected("an hourly or three-hourly series beside them")
            .remedy("Give the hours to --series too, such as the three-hourly bulletin."),
        );
    }
    let (mut series, told) = join(parts, files.allow_gaps);
    out.faults.append(told);
    if let Some(path) = &files.stations {
        out.faults.append(out.stations.locate(&mut series, &file::shown(path)));
    }
    out.series = series;
}

/// A record whose gaps cost nothing: it tells means.
fn load_climate(files: &Files, out: &mut Loaded) {
    let Some(path) = &files.climate else { return };
    let Some(bytes) = whole(path, "climate", out) else {
        return;
    };
    let options = ReadOptions {
        allow_gaps: true,
        ..read_options(files, out)
    };
    let (found, told) = read_reported(&bytes, &file::shown(path), &options);
    // What matters of it is whether it holds a year, which is told where it is used.
    out.faults
        .0
        .extend(told.0.into_iter().filter(|fault| fault.severity == Severity::Fatal));
    out.climate = found;
}

fn read_options(files: &Files, out: &Loaded) -> ReadOptions {
    ReadOptions {
        zone: files.zone.or_else(|| told_zone(&out.config)),
        station_zones: out.stations.zones.clone(),
        allow_gaps: files.allow_gaps,
        stations: out.stations.stations.iter().map(|one| one.station_id.clone()).collect(),
        ..ReadOptions::default()
    }
}

/// Keeps what a file tells of a station beside what others told: three-hourly spread goes on as nights and days.
fn keep_told(spread: &mut Spread, station: String, told: Told) {
    let whole = match spread.stations.remove(&station) {
        Some(before) if before.is_by_the_hour() => before.then(told),
        Some(before) => told.then(before),
        None => told,
    };
    spread.stations.insert(station, whole);
}

/// Members or percentiles, which go with the config's other distributions: those of a file of their own, else those that came with
/// the series.
fn load_spread(files: &Files, out: &mut Loaded) {
    let mut spread = std::mem::take(&mut out.spread);
    spread.own_only = true;
    let mut name = String::new();
    if let Some(path) = &files.spread {
        let Some(bytes) = whole(path, "spread", out) else {
            return;
        };
        name = file::shown(path);
        let options = read_options(files, out);
        let told;
        (spread, told) = match recognise(&bytes) {
            Some(Format::Blend | Format::Mosmix | Format::ServiceJson) => {
                let (found, told) = read_reported(&bytes, &name, &options);
                let mut spread = Spread::default();
                for one in found {
                    if let Some(told) = one.told {
                        keep_told(&mut spread, one.station.station_id, told);
                    }
                }
                (spread, told)
            }
            _ => spread::read(&bytes, &name, &options),
        };
        out.faults.append(told);
    }
    if spread.stations.is_empty() {
        return;
    }
    // A name that no series has is a slip that would leave the config's table at work without a word.
    for station in spread.stations.keys().filter(|name| !name.is_empty()) {
        if !out.series.iter().any(|series| series.station.station_id == *station) {
            out.faults.push(
                Fault::new("BW-S27", Severity::Warning, "no series is of this station")
                    .file(&name)
                    .column("station_id")
                    .value(station)
                    .expected("a station of the series")
                    .remedy("Its members or percentiles were not used."),
            );
        }
    }
    out.config.ensemble.told = Some(Arc::new(spread));
}

/// The config's zone, if it was set to something other than the default: a list that says nothing of zones must not be taken for UTC.
fn told_zone(config: &Config) -> Option<Tz> {
    config.utility.zone.parse().ok().filter(|zone| *zone != Tz::UTC)
}

fn load_assemblies(path: &Path, out: &mut Loaded) {
    let name = file::shown(path);
    let mut hashing = match file::open(path) {
        Ok(file) => Hashing {
            inner: file,
            hash: Sha256::new(),
        },
        Err(fault) => {
            out.faults.push(fault);
            return;
        }
    };
    let mut inventory = read_mapped(&mut hashing, &name, &out.config.columns, &out.config.values);
    // A list that was given up half way is hashed as far as it was read.
    out.taken.push(Taken {
        role: "assemblies",
        file: name,
        sha256: hex(hashing.hash),
    });
    out.faults.append(std::mem::take(&mut inventory.faults));
    out.inventory = inventory;
}

fn whole(path: &Path, role: &'static str, out: &mut Loaded) -> Option<Vec<u8>> {
    match file::read_whole(path) {
        Ok(bytes) => {
            out.taken.push(Taken {
                role,
                file: file::shown(path),
                sha256: hex(Sha256::new_with_prefix(&bytes)),
            });
            Some(bytes)
        }
        Err(fault) => {
            out.faults.push(fault);
            None
        }
    }
}

fn hex(hash: Sha256) -> String {
    hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

struct Hashing<R> {
    inner: R,
    hash: Sha256,
}

impl<R: Read> Read for Hashing<R> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let n = self.inner.read(out)?;
        self.hash.update(out.get(..n).unwrap_or_default());
        Ok(n)
    }
}
