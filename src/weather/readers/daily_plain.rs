//! A plain daily table: `date`, `tmin_f` and `tmax_f` (or `_c`), one row a day, with or without `station_id`, latitude and longitude.
//!
//! The shape that people make who keep a record in a spreadsheet, and our own; the unit is in the name of the column, so that nothing has
//! to be guessed.

use super::{Found, ReadOptions};
use crate::faults::{Fault, Faults, Severity};
use crate::input::{Record, Records};
use crate::units::c_from_f;
use crate::weather::assemble::SetAside;
use crate::weather::daily::{DailyDay, DailyRecord};
use crate::weather::readers::common::{COLDEST_C, WARMEST_C, believed};
use crate::weather::series::Station;
use chrono::{Datelike, NaiveDate};
use std::collections::BTreeMap;

/// Name of the format.
pub const FORMAT: &str = "daily-plain";

const COLUMNS: [&str; 9] = [
    "date",
    "station_id",
    "tmin_c",
    "tmax_c",
    "tmin_f",
    "tmax_f",
    "latitude",
    "longitude",
    "elevation_m",
];

fn normal(header: &str) -> String {
    header.trim().to_ascii_lowercase().replace([' ', '-'], "_")
}

fn is_known(header: &str) -> bool {
    COLUMNS.contains(&normal(header).as_str())
}

/// Whether the first bytes are such a table: a header with a date and a minimum whose name tells its unit.
pub fn recognises(bytes: &[u8]) -> bool {
    let head = bytes.get(..64 * 1024).unwrap_or(bytes);
    Records::open(head, "", is_known).is_ok_and(|records| {
        let has = |name: &str| records.header().iter().any(|cell| normal(cell) == name);
        has("date") && (has("tmin_c") || has("tmin_f"))
    })
}

/// What became of the lines of a file: all of them are one of these.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Lines {
    /// Lines of the file.
    pub lines: u64,
    /// Lines above and of the header.
    pub header: u64,
    /// Lines without a cell filled.
    pub blank: u64,
    /// Rows of which something was used.
    pub used: u64,
    /// Rows of which nothing was used: their date or every value cannot be read, or nothing is told.
    pub rejected: u64,
}

/// Reads such a table: one [`Found`] a station, in the order of their names.
///
/// Faults: `BW-S01` a needed column is missing (fatal), `BW-S04` no date, `BW-S05` no number, `BW-S06` a value that cannot be (all: not used),
/// `BW-S10` no row is usable (fatal), `BW-S15` values set aside (warning).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let (found, _, faults) = read_counted(bytes, file_name, options);
    (found, faults)
}

/// The same with what became of the lines.
pub fn read_counted(bytes: &[u8], file_name: &str, _options: &ReadOptions) -> (Vec<Found>, Lines, Faults) {
    let mut faults = Faults::new();
    let mut lines = Lines::default();
    let mut records = match Records::open(bytes, file_name, is_known) {
        Ok(records) => records,
        Err(fault) => return (Vec::new(), lines, fault.into()),
    };
    let mut table = Table::of(records.header(), file_name);
    if !(table.has("date") && (table.has("tmin_c") || table.has("tmin_f"))) {
        faults.push(
            Fault::new("BW-S01", Severity::Fatal, "the table lacks a date or a minimum")
                .file(file_name)
                .line(records.header_line())
                .value(&records.header().join(" | "))
                .expected("date, tmin_f and tmax_f, or tmin_c and tmax_c"),
        );
        return (Vec::new(), lines, faults);
    }
    let mut stations: BTreeMap<String, (Station, Vec<DailyDay>, Vec<SetAside>)> = BTreeMap::new();
    let mut record = Record::default();
    loop {
        match records.read(&mut record, &mut faults) {
            Ok(true) => {}
            Ok(false) => break,
            Err(fault) => {
                faults.push(fault);
                return (Vec::new(), lines, faults);
            }
        }
        table.decimal_comma = records.decimal_comma_likely();
        let id = table.cell("station_id", &record).to_owned();
        let (station, days, aside) = stations.entry(id.clone()).or_insert_with(|| {
            let station = Station {
                station_id: id,
                ..Station::default()
            };
            (station, Vec::new(), Vec::new())
        });
        table.place(station, &record);
        match table.day(&record, aside, &mut faults) {
            Some(day) => {
                lines.used += 1;
                days.push(day);
            }
            None => lines.rejected += 1,
        }
    }
    let ledger = records.ledger();
    (lines.lines, lines.header, lines.blank) = (ledger.lines, ledger.header, ledger.blank);
    (finish(stations, file_name, &mut faults), lines, faults)
}

fn finish(
    stations: BTreeMap<String, (Station, Vec<DailyDay>, Vec<SetAside>)>,
    file_name: &str,
    faults: &mut Faults,
) -> Vec<Found> {
    let mut found = Vec::new();
    for (station, days, aside) in stations.into_values() {
        let record = DailyRecord::new(FORMAT, station, days, aside);
        if record.days.is_empty() {
            continue;
        }
        if !record.set_aside.is_empty() {
            let whose = match record.station.station_id.as_str() {
                "" => String::new(),
                id => format!("station {id}: "),
            };
            faults.push(
                Fault::new(
                    "BW-S15",
                    Severity::Warning,
                    format!("{whose}{} values were set aside", record.set_aside.len()),
                )
                .file(file_name)
                .remedy("`weather show` lists each with its reason."),
            );
        }
        found.push(Found::of_days(record));
    }
    if found.is_empty() {
        faults.push(
            Fault::new("BW-S10", Severity::Fatal, "the file has no usable daily temperature")
                .file(file_name)
                .expected("a date and a minimum in each row"),
        );
    }
    found
}

/// The columns of the table.
struct Table<'a> {
    at: BTreeMap<&'static str, usize>,
    file_name: &'a str,
    decimal_comma: bool,
}

impl<'a> Table<'a> {
    fn of(header: &[String], file_name: &'a str) -> Self {
        let mut at = BTreeMap::new();
        for (index, cell) in header.iter().enumerate() {
            if let Some(name) = COLUMNS.iter().find(|name| **name == normal(cell)) {
                at.entry(*name).or_insert(index);
            }
        }
        Self {
            at,
            file_name,
            decimal_comma: false,
        }
    }

    fn has(&self, name: &str) -> bool {
        self.at.contains_key(name)
    }

    fn cell<'r>(&self, name: &str, record: &'r Record) -> &'r str {
        let index = self.at.get(name);
        index
            .and_then(|index| record.fields.get(*index))
            .map_or("", String::as_str)
    }

    fn fault(&self, code: &'static str, column: &'static str, record: &Record, what: &str) -> Fault {
        Fault::new(code, Severity::Rejected, what)
            .file(self.file_name)
            .line(record.line)
            .column(column)
            .value(self.cell(column, record))
    }

    fn number(&self, text: &str) -> Option<f64> {
        let parsed = if self.decimal_comma {
            text.replace(',', ".").parse::<f64>()
        } else {
            text.parse::<f64>()
        };
        parsed.ok().filter(|value| value.is_finite())
    }

    /// Where the station stands, from the first row that tells it.
    fn place(&self, station: &mut Station, record: &Record) {
        let told = |name: &str, within: f64| {
            self.number(self.cell(name, record))
                .filter(|value| value.abs() <= within)
        };
        station.latitude_deg = station.latitude_deg.or_else(|| told("latitude", 90.0));
        station.longitude_deg = station.longitude_deg.or_else(|| told("longitude", 180.0));
        station.elevation_m = station.elevation_m.or_else(|| told("elevation_m", 9_000.0));
    }

    /// The day of a row; `None` when nothing of it is usable.
    fn day(&self, record: &Record, aside: &mut Vec<SetAside>, faults: &mut Faults) -> Option<DailyDay> {
        let Some(date) = date_of(self.cell("date", record)) else {
            faults.push(
                self.fault("BW-S04", "date", record, "this is not a date")
                    .expected("2016-01-31 or 20160131")
                    .remedy("The row was not used."),
            );
            return None;
        };
        let before = faults.0.len();
        let min_c = self.value(["tmin_c", "tmin_f"], date, record, aside, faults);
        let max_c = self.value(["tmax_c", "tmax_f"], date, record, aside, faults);
        if min_c.is_none() && max_c.is_none() {
            if faults.0.len() == before {
                let what = "the row has a date and no temperature";
                let mut fault = self
                    .fault("BW-S05", "date", record, what)
                    .remedy("The row was not used.");
                fault.severity = Severity::Note;
                faults.push(fault);
            }
            return None;
        }
        Some(DailyDay {
            date,
            min_c,
            max_c,
            observed_at_h: None,
        })
    }

    /// The value of the column in °C, or else of that in °F.
    fn value(
        &self,
        columns: [&'static str; 2],
        date: NaiveDate,
        record: &Record,
        aside: &mut Vec<SetAside>,
        faults: &mut Faults,
    ) -> Option<f64> {
        let column = columns
            .into_iter()
            .find(|column| !is_missing(self.cell(column, record)))?;
        let Some(number) = self.number(self.cell(column, record)) else {
            faults.push(
                self.fault("BW-S05", column, record, "this is not a number")
                    .expected("a number, or blank when it is not known")
                    .remedy("The value counts as missing."),
            );
            return None;
        };
        let celsius = if column.ends_with("_f") {
            c_from_f(number)
        } else {
            number
        };
        if believed(celsius) {
            return Some(celsius);
        }
        // Told with its place, and kept in the list of what was not used.
        aside.push(SetAside {
            time: date.and_time(chrono::NaiveTime::MIN).and_utc(),
            value_c: celsius,
            why: format!("outside {COLDEST_C:.0} to {WARMEST_C:.0} °C"),
        });
        faults.push(
            self.fault("BW-S06", column, record, "this value cannot be")
                .expected("a value that nature allows, or blank when it is not known")
                .remedy("The value counts as missing. Check the unit in the column's name."),
        );
        None
    }
}

/// A date with its year first: of the others some countries write the month first and some the day.
fn date_of(text: &str) -> Option<NaiveDate> {
    let text = text.trim();
    let parted = text.parse::<NaiveDate>().ok();
    let compact = || {
        let digits = text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit());
        digits.then(|| NaiveDate::parse_from_str(text, "%Y%m%d").ok()).flatten()
    };
    parted
        .or_else(compact)
        .filter(|date| (1700..=2200).contains(&date.year()))
}

/// Blank, or one of the words by which files say that a value is missing.
fn is_missing(text: &str) -> bool {
    text.is_empty()
        || ["na", "n/a", "nan", "null", "m", "-", "--", "-9999", "9999"].contains(&text.to_ascii_lowercase().as_str())
}
