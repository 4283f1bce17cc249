//! What `check` found, for programs: JSON (SI) and CSV.

use crate::faults::{Fault, Faults, Severity};
use crate::input::load::{Loaded, Taken};
use crate::inventory::columns::Column;
use crate::inventory::defaults::RULES;
use crate::inventory::place::FAR_KM;
use crate::output::defuse::defuse;
use crate::weather::Series;
use crate::weather::stations::differences;
use serde::Serialize;

/// Air below which water freezes, °C.
const FREEZING_C: f64 = 0.0;

/// How many of the usable rows leave a column blank, and what is then taken.
#[derive(Debug, Serialize)]
pub struct Blank {
    /// Column.
    pub column: &'static str,
    /// Usable rows without it.
    pub blank: usize,
    /// Their share, 0 to 1.
    pub share: f64,
    /// What is taken; `None` where nothing has to be.
    pub taken: Option<&'static str>,
    /// `cautious` or `neutral`.
    pub direction: Option<&'static str>,
    /// Whence the default comes.
    pub source: Option<&'static str>,
}

/// Blanks of each column, in the order of the interface.
pub fn blanks(loaded: &Loaded) -> Vec<Blank> {
    let rows = loaded.inventory.assemblies.len();
    Column::ALL
        .iter()
        .map(|column| {
            let blank = loaded.inventory.blanks.get(column).copied().unwrap_or(0);
            let rule = RULES.iter().find(|rule| rule.field == column.name());
            Blank {
                column: column.name(),
                blank,
                share: if rows == 0 { 0.0 } else { blank as f64 / rows as f64 },
                taken: rule.map(|rule| rule.taken),
                direction: rule.map(|rule| rule.direction),
                source: rule.map(|rule| rule.source),
            }
        })
        .collect()
}

#[derive(Serialize)]
struct Answer<'l> {
    schema: &'static str,
    files: &'l [Taken],
    assemblies: Assemblies<'l>,
    series: Vec<SeriesLine<'l>>,
    /// Pairs of near stations; `spread` holds the first thousand of them.
    spread_pairs: usize,
    spread: Vec<SpreadLine<'l>>,
    counts: Counts,
    exit_status: u8,
    faults: &'l [Fault],
}

#[derive(Serialize)]
struct Assemblies<'l> {
    rows: usize,
    used: usize,
    rejected: usize,
    without_series: usize,
    unread_columns: &'l [String],
    blanks: Vec<Blank>,
}

#[derive(Serialize)]
struct SeriesLine<'l> {
    station: &'l str,
    format: &'static str,
    hours: usize,
    start: String,
    end: String,
    min_air_c: Option<f64>,
    hours_below_0c: usize,
    interpolated_hours: usize,
    serves: usize,
}

#[derive(Serialize)]
struct SpreadLine<'l> {
    stations: [&'l str; 2],
    distance_km: f64,
    hours: usize,
    mean_difference_k: f64,
    largest_difference_k: f64,
    coldest_difference_k: f64,
}

#[derive(Serialize)]
struct Counts {
    note: usize,
    warning: usize,
    rejected: usize,
    fatal: usize,
}

/// Most pairs of stations that are compared in full (judgement: more than anybody reads, and thousands of stations make millions).
const MOST_PAIRS: usize = 1_000;

/// Hours below freezing.
pub fn hours_below_freezing(series: &Series) -> usize {
    series.air_c.iter().filter(|air| **air < FREEZING_C).count()
}

/// How many assemblies a series serves.
pub fn serves(loaded: &Loaded) -> Vec<usize> {
    let mut counts = vec![0; loaded.series.len()];
    for choice in loaded.choices.iter().flatten() {
        if let Some(count) = counts.get_mut(choice.series) {
            *count += 1;
        }
    }
    counts
}

/// Assemblies for which no series could be chosen.
pub fn without_series(loaded: &Loaded) -> usize {
    loaded.choices.iter().filter(|choice| choice.is_none()).count()
}

/// Everything as one JSON object, SI.
pub fn json(loaded: &Loaded) -> String {
    let name = |index: usize| {
        loaded
            .series
            .get(index)
            .map_or("", |one| one.station.station_id.as_str())
    };
    let serves = serves(loaded);
    let (spread, spread_pairs) = differences(&loaded.series, FAR_KM, MOST_PAIRS);
    let answer = Answer {
        schema: "brimwater.check/1",
        files: &loaded.taken,
        assemblies: Assemblies {
            rows: loaded.inventory.rows,
            used: loaded.inventory.assemblies.len() - without_series(loaded),
            rejected: loaded.inventory.rejects.len() + without_series(loaded),
            without_series: without_series(loaded),
            unread_columns: &loaded.inventory.unread_columns,
            blanks: blanks(loaded),
        },
        series: loaded
            .series
            .iter()
            .enumerate()
            .map(|(index, one)| SeriesLine {
                station: &one.station.station_id,
                format: one.format,
                hours: one.hours(),
                start: one.start.to_rfc3339(),
                end: one.end().to_rfc3339(),
                min_air_c: one.coldest().map(|(_, air)| air),
                hours_below_0c: hours_below_freezing(one),
                interpolated_hours: one.interpolated.iter().filter(|filled| **filled).count(),
                serves: serves.get(index).copied().unwrap_or(0),
            })
            .collect(),
        spread_pairs,
        spread: spread
            .iter()
            .map(|one| SpreadLine {
                stations: [name(one.pair.0), name(one.pair.1)],
                distance_km: one.distance_km,
                hours: one.hours,
                mean_difference_k: one.mean_k,
                largest_difference_k: one.largest_k,
                coldest_difference_k: one.coldest_k,
            })
            .collect(),
        counts: Counts {
            note: loaded.faults.count(Severity::Note),
            warning: loaded.faults.count(Severity::Warning),
            rejected: loaded.faults.count(Severity::Rejected),
            fatal: loaded.faults.count(Severity::Fatal),
        },
        exit_status: loaded.faults.exit_status(),
        faults: &loaded.faults.0,
    };
    // Plain strings and finite numbers: there is nothing that could fail.
    let mut text = serde_json::to_string_pretty(&answer).unwrap_or_default();
    text.push('\n');
    text
}

/// Every fault as one row.
pub fn csv(faults: &Faults) -> String {
    let mut out = csv::Writer::from_writer(Vec::new());
    // Writing into memory cannot fail.
    let _ = out.write_record([
        "code", "severity", "file", "line", "column", "value", "what", "expected", "remedy",
    ]);
    for fault in &faults.0 {
        let line = fault.line.map(|line| line.to_string()).unwrap_or_default();
        let cells = [
            fault.code,
            severity_word(fault.severity),
            &fault.file,
            &line,
            fault.column.as_deref().unwrap_or_default(),
            fault.value.as_deref().unwrap_or_default(),
            &fault.what,
            &fault.expected,
            &fault.remedy,
        ];
        let _ = out.write_record(cells.iter().map(|cell| defuse(cell).into_owned()));
    }
    String::from_utf8(out.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// The word of a severity.
pub fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Rejected => "rejected",
        Severity::Fatal => "error",
    }
}
