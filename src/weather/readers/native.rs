//! The native series: a CSV with a header, one row for each station and time.
//!
//! Columns, in any order: `time` (RFC 3339 with offset, or local when a zone is given), `air_temp_f` or
//! `air_temp_c`; optional `station_id`, `wind_mph` or `wind_m_s`, `dew_point_f` or `dew_point_c`,
//! `sky_cover_percent`, `kind` (`observed`, `forecast`; blank means forecast). Other columns are ignored.

use super::{Found, Nature, ReadOptions};
use crate::faults::{Fault, Faults, Severity};
use crate::input::{Record, Records};
use crate::units::{M_S_PER_MPH, c_from_f};
use crate::weather::assemble::{AssembleOptions, RawReading, assemble};
use crate::weather::local_time::{NoInstant, Resolver, Written, parse, runs_backwards};
use crate::weather::series::{Kind, Station};
use std::collections::BTreeMap;

/// Name of the format in [`Series::format`](crate::weather::Series::format).
pub const FORMAT: &str = "native-csv";

/// Coldest air that is believed, °C. The coldest surface air on record is −89.2 °C (judgement: with a margin).
pub const COLDEST_BELIEVED_C: f64 = -95.0;
/// Warmest air that is believed, °C. The warmest on record is 56.7 °C (judgement: with a margin).
pub const WARMEST_BELIEVED_C: f64 = 60.0;
/// Strongest hourly wind that is believed, m/s (judgement: above the strongest gust on record).
pub const STRONGEST_BELIEVED_M_S: f64 = 115.0;

const COLUMNS: [&str; 10] = [
    "time",
    "station_id",
    "air_temp_c",
    "air_temp_f",
    "wind_m_s",
    "wind_mph",
    "dew_point_c",
    "dew_point_f",
    "sky_cover_percent",
    "kind",
];

fn normal(header: &str) -> String {
    header.trim().to_ascii_lowercase().replace([' ', '-'], "_")
}

/// Whether the first bytes look like a native series: a header with a time and an air temperature.
pub fn recognises(bytes: &[u8]) -> bool {
    let head = bytes.get(..64 * 1024).unwrap_or(bytes);
    Records::open(head, "", is_known).is_ok_and(|records| {
        let has = |name: &str| records.header().iter().any(|cell| normal(cell) == name);
        has("time") && (has("air_temp_c") || has("air_temp_f"))
    })
}

fn is_known(header: &str) -> bool {
    COLUMNS.contains(&normal(header).as_str())
}

/// The cell of a column in a record.
struct Columns(BTreeMap<&'static str, usize>);

impl Columns {
    fn of(header: &[String]) -> Self {
        let mut at = BTreeMap::new();
        for (index, cell) in header.iter().enumerate() {
            if let Some(name) = COLUMNS.iter().find(|name| **name == normal(cell)) {
                at.entry(*name).or_insert(index);
            }
        }
        Self(at)
    }

    fn has(&self, name: &str) -> bool {
        self.0.contains_key(name)
    }

    fn get<'r>(&self, name: &str, record: &'r Record) -> &'r str {
        self.0
            .get(name)
            .and_then(|index| record.fields.get(*index))
            .map_or("", String::as_str)
    }
}

/// Whether the file runs from the newest row to the oldest.
fn newest_first(bytes: &[u8], columns: &Columns) -> bool {
    let Ok(mut records) = Records::open(bytes, "", is_known) else {
        return false;
    };
    let (mut record, mut unheard) = (Record::default(), Faults::new());
    runs_backwards(std::iter::from_fn(|| {
        records.read(&mut record, &mut unheard).unwrap_or(false).then(|| {
            let station = columns.get("station_id", &record).to_owned();
            (station, parse(columns.get("time", &record)))
        })
    }))
}

/// Readings of one station as they come.
struct Gathered {
    readings: Vec<RawReading>,
    resolver: Option<Resolver>,
}

/// Reads a native series: one [`Found`] for each station, in the order of their names.
///
/// Faults: `BW-S01` a needed column is missing (fatal), `BW-S03` local times without a zone (fatal), `BW-S04` unreadable time,
/// `BW-S05` unreadable number, `BW-S06` value out of range, `BW-S07` local time that never was or was told twice (all: row or value
/// not used), `BW-S08` times told twice resolved by the order of the file (note), and those of [`assemble`].
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut faults = Faults::new();
    let mut records = match Records::open(bytes, file_name, is_known) {
        Ok(records) => records,
        Err(fault) => {
            faults.push(fault);
            return (Vec::new(), faults);
        }
    };
    let columns = Columns::of(records.header());
    let newest_first = newest_first(bytes, &columns);
    missing_columns(&columns, &records, file_name, &mut faults);
    if faults.is_fatal() {
        return (Vec::new(), faults);
    }
    let mut stations: BTreeMap<String, Gathered> = BTreeMap::new();
    let mut no_zone: Option<(u64, String, usize)> = None;
    let mut rows = 0usize;
    let mut record = Record::default();
    loop {
        match records.read(&mut record, &mut faults) {
            Ok(true) => rows += 1,
            Ok(false) => break,
            Err(fault) => {
                faults.push(fault);
                return (Vec::new(), faults);
            }
        }
        let row = Row {
            columns: &columns,
            record: &record,
            file_name,
            decimal_comma: records.decimal_comma_likely(),
        };
        let station_id = columns.get("station_id", &record);
        let gathered = stations.entry(station_id.to_owned()).or_insert_with(|| Gathered {
            readings: Vec::new(),
            resolver: options
                .zone_of(station_id)
                .map(|zone| Resolver::new(zone, options.fold, options.gap).newest_first(newest_first)),
        });
        let text = columns.get("time", &record);
        let time_utc = match parse(text) {
            None => {
                faults.push(
                    row.fault("BW-S04", "time", "this is not a time")
                        .expected("2026-01-20T05:00:00-06:00, or 2026-01-20 05:00 with --zone")
                        .remedy("The row was not used."),
                );
                continue;
            }
            Some(Written::Instant(time)) => time,
            Some(Written::Local(local)) => {
                let Some(resolver) = gathered.resolver.as_mut() else {
                    let seen = no_zone.get_or_insert_with(|| (record.line, text.to_owned(), 0));
                    seen.2 += 1;
                    continue;
                };
                match resolver.resolve(local) {
                    Ok(time) => time,
                    Err(why) => {
                        faults.push(row.no_instant(why));
                        continue;
                    }
                }
            }
        };
        let reading = row.reading(time_utc, &mut faults);
        gathered.readings.push(reading);
    }
    if let Some((line, text, count)) = no_zone {
        faults.push(
            Fault::new(
                "BW-S03",
                Severity::Fatal,
                format!("{count} times carry no offset and no zone was given"),
            )
            .file(file_name)
            .line(line)
            .column("time")
            .value(&text)
            .expected("times with an offset, such as 2026-01-20T05:00:00-06:00")
            .remedy("Give --zone with the name of the time zone, such as America/Chicago."),
        );
        return (Vec::new(), faults);
    }
    if rows == 0 {
        faults.push(
            Fault::new("BW-S10", Severity::Fatal, "the series has a header and no rows")
                .file(file_name)
                .remedy("Export it again."),
        );
    }
    (finish(stations, file_name, options, &mut faults), faults)
}

fn finish(
    stations: BTreeMap<String, Gathered>,
    file_name: &str,
    options: &ReadOptions,
    faults: &mut Faults,
) -> Vec<Found> {
    let mut found = Vec::new();
    for (station_id, gathered) in stations {
        let fold_rows = gathered.resolver.as_ref().map_or(0, |resolver| resolver.fold_rows);
        if fold_rows > 0 {
            faults.push(
                Fault::new(
                    "BW-S08",
                    Severity::Note,
                    format!("{fold_rows} local times were told twice as the clocks went back"),
                )
                .file(file_name)
                .column("time")
                .remedy("The order of the file decided which is which."),
            );
        }
        let station = Station {
            station_id,
            ..Station::default()
        };
        let mut how = AssembleOptions::new(FORMAT, file_name);
        how.allow_gaps = options.allow_gaps;
        let (series, report, told) = assemble(station.clone(), gathered.readings, &how);
        faults.append(told);
        found.push(Found {
            station,
            series,
            report,
            daily: None,
            nature: Nature::Record,
            told: None,
        });
    }
    found
}

fn missing_columns(columns: &Columns, records: &Records<'_>, file_name: &str, faults: &mut Faults) {
    let mut missing = Vec::new();
    if !columns.has("time") {
        missing.push("time");
    }
    if !columns.has("air_temp_c") && !columns.has("air_temp_f") {
        missing.push("air_temp_f or air_temp_c");
    }
    if !missing.is_empty() {
        faults.push(
            Fault::new(
                "BW-S01",
                Severity::Fatal,
                format!("the series lacks the column {}", missing.join(" and ")),
            )
            .file(file_name)
            .line(records.header_line())
            .value(&records.header().join(" | "))
            .expected("time, air_temp_f or air_temp_c, and what else is known")
            .remedy(format!(
                "The header was read as {} columns separated by {}. Rename the columns, or check the delimiter.",
                records.header().len(),
                records.delimiter_word()
            )),
        );
    }
}

struct Row<'r> {
    columns: &'r Columns,
    record: &'r Record,
    file_name: &'r str,
    decimal_comma: bool,
}

impl Row<'_> {
    fn fault(&self, code: &'static str, column: &'static str, what: &str) -> Fault {
        Fault::new(code, Severity::Rejected, what)
            .file(self.file_name)
            .line(self.record.line)
            .column(column)
            .value(self.columns.get(column, self.record))
    }

    fn no_instant(&self, why: NoInstant) -> Fault {
        match why {
            NoInstant::InGap => self
                .fault("BW-S07", "time", "the clocks went forward past this time: it never was")
                .expected("a time that a local clock showed")
                .remedy(
                    "The row was not used. If the file keeps standard time all year, write the offset into the times.",
                ),
            NoInstant::InFold => self
                .fault("BW-S07", "time", "the clocks went back: this time was told twice")
                .expected("a time with an offset")
                .remedy("The row was not used."),
        }
    }

    fn reading(&self, time_utc: chrono::DateTime<chrono::Utc>, faults: &mut Faults) -> RawReading {
        let same = |value: f64| value;
        let air = self.either(("air_temp_c", &same), ("air_temp_f", &c_from_f), faults, |c| {
            (COLDEST_BELIEVED_C..=WARMEST_BELIEVED_C).contains(&c)
        });
        let wind_m_s = self.either(
            ("wind_m_s", &same),
            ("wind_mph", &|mph| mph * M_S_PER_MPH),
            faults,
            |speed| (0.0..=STRONGEST_BELIEVED_M_S).contains(&speed),
        );
        let dew_point_c = self.either(("dew_point_c", &same), ("dew_point_f", &c_from_f), faults, |c| {
            (COLDEST_BELIEVED_C..=WARMEST_BELIEVED_C).contains(&c)
        });
        let sky_cover = self
            .value("sky_cover_percent", faults, |percent| (0.0..=100.0).contains(&percent))
            .map(|percent| percent / 100.0);
        let kind = match self.columns.get("kind", self.record).to_ascii_lowercase().as_str() {
            "" | "forecast" => Kind::Forecast,
            "observed" | "observation" | "measured" => Kind::Observed,
            _ => {
                let mut told = self
                    .fault("BW-S05", "kind", "this is neither observed nor forecast")
                    .expected("observed or forecast")
                    .remedy("Taken as forecast.");
                told.severity = Severity::Warning;
                faults.push(told);
                Kind::Forecast
            }
        };
        RawReading {
            time_utc,
            air_c: air,
            wind_m_s,
            dew_point_c,
            sky_cover,
            kind,
            set_aside: None,
        }
    }

    /// The value of the SI column, or else of the US column turned into SI.
    fn either(
        &self,
        si: (&'static str, &dyn Fn(f64) -> f64),
        us: (&'static str, &dyn Fn(f64) -> f64),
        faults: &mut Faults,
        believed: impl Fn(f64) -> bool,
    ) -> Option<f64> {
        [si, us]
            .into_iter()
            .find_map(|(column, to_si)| self.value(column, faults, |value| believed(to_si(value))).map(to_si))
    }

    fn value(&self, column: &'static str, faults: &mut Faults, believed: impl Fn(f64) -> bool) -> Option<f64> {
        let text = self.columns.get(column, self.record);
        if is_missing(text) {
            return None;
        }
        let parsed = match self.decimal_comma {
            true => text.replace(',', ".").parse::<f64>(),
            false => text.parse::<f64>(),
        };
        match parsed.ok().filter(|number| number.is_finite()) {
            None => {
                faults.push(
                    self.fault("BW-S05", column, "this is not a number")
                        .expected("a number, or blank when it is not known")
                        .remedy("The value counts as missing."),
                );
                None
            }
            Some(number) if !believed(number) => {
                faults.push(
                    self.fault("BW-S06", column, "this value cannot be")
                        .expected("a value that nature allows, or blank when it is not known")
                        .remedy("The value counts as missing. Check the unit in the column's name."),
                );
                None
            }
            number => number,
        }
    }
}

/// Blank, or one of the words by which files say that a value is missing.
fn is_missing(text: &str) -> bool {
    text.is_empty() || ["na", "n/a", "null", "m", "-", "--"].contains(&text.to_ascii_lowercase().as_str())
}
