//! What others read of a watch's folder: its newest plan, when it is whole, and what was told last.
//!
//! A plan's folder takes its place in one step, so what stands under a plan's name is whole unless somebody copied or cut it; that is
//! looked at before it is believed. Nothing here writes or waits for the watch.

use super::decide::{About, Word};
use super::keep::{PLANS, STAMP, TOLD};
use crate::faults::{Fault, Severity};
use chrono::{DateTime, NaiveDateTime, Utc};
use serde::Deserialize;
use serde::de::{DeserializeOwned, IgnoredAny};
use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{BufReader, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Codes of a plan whose forecast is old, over, or the last good one of a service that no longer answers.
pub const STALE: [&str; 3] = ["BW-P03", "BW-P04", "BW-S36"];

/// Name under which a plan that fetched its forecast keeps it.
const FETCHED: &str = "forecast.json";
/// Bytes at the end of the record that are looked at for the last word: a word takes half a kilobyte.
const TAIL: u64 = 64 * 1024;
/// Plans that are looked through for a whole one: two days of hourly ones.
const MOST_NAMES: usize = 50;

/// A series that a plan was made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// Where it lies.
    pub path: PathBuf,
    /// SHA-256 of its bytes as the plan read them, hexadecimal; empty for one that lies in the plan's folder itself.
    pub sha256: String,
}

/// A plan that the watch keeps.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptPlan {
    /// Name of its folder: when the watch began to make it.
    pub name: String,
    /// The same as a time.
    pub made: DateTime<Utc>,
    /// Its series.
    pub series: Vec<Source>,
    /// Whether its forecast was old or over.
    pub stale: bool,
    /// Its sites to call first.
    pub call_first: BTreeSet<String>,
}

/// What tells that a plan's folder is another one or was changed: name, and length and time of change of its two files.
pub type Mark = (String, [Option<(u64, SystemTime)>; 2]);

#[derive(Deserialize)]
struct RunFile {
    schema: String,
    #[serde(default)]
    inputs: Vec<Input>,
    counts: Counts,
    #[serde(default)]
    faults: BTreeMap<String, IgnoredAny>,
}

#[derive(Deserialize)]
struct Input {
    role: String,
    file: PathBuf,
    sha256: String,
}

#[derive(Deserialize)]
struct Counts {
    used: usize,
}

#[derive(Deserialize)]
struct PlanFile {
    schema: String,
    assemblies: Vec<Listed>,
}

#[derive(Deserialize)]
struct Listed {
    assembly_id: String,
    tier: String,
}

/// The names of the newest plans, the newest first; nothing where there is no such folder. Folders that are being built have other names.
pub fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder.join(PLANS))
        .into_iter()
        .flatten()
        .flatten()
        .filter_map(|entry| entry.file_name().into_string().ok())
        .filter(|name| time_of(name).is_some())
        .collect();
    names.sort_unstable_by(|a, b| b.cmp(a));
    names.truncate(MOST_NAMES);
    names
}

fn time_of(name: &str) -> Option<DateTime<Utc>> {
    let time = NaiveDateTime::parse_from_str(name, STAMP).ok()?;
    Some(time.and_utc())
}

/// What tells a plan from itself after a change.
pub fn mark(folder: &Path, name: &str) -> Mark {
    let place = folder.join(PLANS).join(name);
    let of = |file: &str| {
        let meta = fs::metadata(place.join(file)).ok()?;
        Some((meta.len(), meta.modified().ok()?))
    };
    (name.to_owned(), [of("plan.json"), of("run.json")])
}

/// Reads a plan and looks that it is whole: both its files to their ends, the plan with as many rows as its run says, and its series
/// still there.
///
/// # Errors
/// `BW-W30` when it is not whole, `BW-W31` when its forecast is no longer there.
pub fn read(folder: &Path, name: &str) -> Result<KeptPlan, Fault> {
    let place = folder.join(PLANS).join(name);
    let broken = |path: &Path, why: String| {
        Fault::new(
            "BW-W30",
            Severity::Warning,
            format!("a plan of the watch is not whole: {why}"),
        )
        .file(path.display().to_string())
        .remedy("The plan before it stays in use; the next one that the watch makes takes its place.")
    };
    let run: RunFile = document(&place.join("run.json")).map_err(|why| broken(&place.join("run.json"), why))?;
    let path = place.join("plan.json");
    let plan: PlanFile = document(&path).map_err(|why| broken(&path, why))?;
    if run.schema != "brimwater.run/1" || plan.schema != "brimwater.plan/1" {
        return Err(broken(
            &path,
            format!("{} and {} are not known", run.schema, plan.schema),
        ));
    }
    if run.counts.used != plan.assemblies.len() {
        let (rows, used) = (plan.assemblies.len(), run.counts.used);
        return Err(broken(
            &path,
            format!("{rows} rows stand where run.json tells of {used}"),
        ));
    }
    let made = time_of(name).ok_or_else(|| broken(&place, "its name is no time".into()))?;
    let kept = place.join(FETCHED);
    let series: Vec<Source> = if kept.is_file() {
        vec![Source {
            path: kept,
            sha256: String::new(),
        }]
    } else {
        let inputs = run.inputs.into_iter().filter(|input| input.role == "series");
        inputs
            .map(|input| Source {
                path: input.file,
                sha256: input.sha256,
            })
            .collect()
    };
    if let Some(lost) = series.iter().find(|source| !source.path.is_file()) {
        return Err(Fault::new(
            "BW-W31",
            Severity::Warning,
            "the forecast of a plan of the watch is no longer there",
        )
        .file(lost.path.display().to_string())
        .remedy(
            "Start the desk in the folder in which the watch runs, or name the series in the config with whole paths.",
        ));
    }
    Ok(KeptPlan {
        name: name.to_owned(),
        made,
        series,
        stale: STALE.iter().any(|code| run.faults.contains_key(*code)),
        call_first: plan
            .assemblies
            .into_iter()
            .filter(|row| row.tier == "call first")
            .map(|row| row.assembly_id)
            .collect(),
    })
}

fn document<T: DeserializeOwned>(path: &Path) -> Result<T, String> {
    let file = File::open(path).map_err(|error| error.to_string())?;
    serde_json::from_reader(BufReader::new(file)).map_err(|error| error.to_string())
}

/// The record of what was told.
pub fn record(folder: &Path) -> PathBuf {
    folder.join(TOLD)
}

/// The word that was told last, as far as the record holds it: why there is no plan stands only in its sentence. `None` where nothing was told or
/// can be read; a line that is being written is passed over.
pub fn last_told(folder: &Path) -> Option<Word> {
    let mut file = File::open(record(folder)).ok()?;
    let length = file.metadata().ok()?.len();
    file.seek(SeekFrom::Start(length.saturating_sub(TAIL))).ok()?;
    let mut bytes = Vec::new();
    file.take(TAIL).read_to_end(&mut bytes).ok()?;
    bytes.split(|byte| *byte == b'\n').rev().find_map(word)
}

/// Every word of a record in its order, each number once, and how many lines hold none.
///
/// # Errors
/// As `file::read_whole`, when the record cannot be read.
pub fn words(record: &Path) -> Result<(Vec<Word>, usize), Fault> {
    let bytes = crate::input::file::read_whole(record)?;
    let (mut words, mut known, mut unread) = (Vec::new(), BTreeSet::new(), 0);
    for line in bytes
        .split(|byte| *byte == b'\n')
        .filter(|line| !line.trim_ascii().is_empty())
    {
        match word(line) {
            Some(word) if known.insert(word.id) => words.push(word),
            Some(_) => {}
            None => unread += 1,
        }
    }
    Ok((words, unread))
}

/// The document of a line of the record.
#[derive(Deserialize)]
struct Document {
    id: u64,
    time: DateTime<Utc>,
    about: About,
    reminder: bool,
    sites_to_call_first: usize,
    new: usize,
    first_ice: Option<DateTime<Utc>>,
    lowest_air_c: Option<f64>,
}

fn word(line: &[u8]) -> Option<Word> {
    let told: Document = serde_json::from_slice(line).ok()?;
    Some(Word {
        id: told.id,
        time: told.time,
        about: told.about,
        reminder: told.reminder,
        sites: told.sites_to_call_first,
        new: told.new,
        first_ice: told.first_ice,
        lowest_c: told.lowest_air_c,
        why: String::new(),
        to: BTreeSet::new(),
        mailed: BTreeSet::new(),
        after: None,
    })
}
