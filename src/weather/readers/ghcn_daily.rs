//! GHCN-Daily in its three shapes: fixed width with one line a month and element, long CSV with one row a value, and wide CSV
//! with one row a day.
//!
//! Values are tenths of °C, −9999 for missing; any quality flag means that a value failed a check, and it is set aside. There is
//! no time zone: a day is the observer's. Format: NOAA National Centers for Environmental Information, GHCN-Daily readme
//! \[ghcn-daily-format\].

use super::common::{Reading, Table, believed, number, text_of};
use super::{Found, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::units::c_from_f;
use crate::weather::assemble::SetAside;
use crate::weather::daily::{DailyDay, DailyRecord};
use crate::weather::series::Station;
use chrono::NaiveDate;
use std::collections::BTreeMap;

/// Name of the format.
pub const FORMAT: &str = "ghcn-daily";

/// What was read of one station.
type OfStation = (Station, BTreeMap<NaiveDate, DailyDay>, Vec<SetAside>);

/// Daily values of the stations of a file as they come.
#[derive(Default)]
struct Gathered {
    stations: BTreeMap<String, OfStation>,
}

/// One value of one day.
struct Value<'v> {
    station_id: &'v str,
    date: NaiveDate,
    minimum: bool,
    celsius: f64,
    flag: &'v str,
    observed_at_h: Option<f64>,
}

impl Gathered {
    fn station(&mut self, id: &str) -> &mut OfStation {
        self.stations.entry(id.to_owned()).or_insert_with(|| {
            let station = Station {
                station_id: id.to_owned(),
                ..Station::default()
            };
            (station, BTreeMap::new(), Vec::new())
        })
    }

    fn take(&mut self, value: Value<'_>) {
        let (_, days, set_aside) = self.station(value.station_id);
        let why = if !value.flag.trim().is_empty() {
            Some(format!(
                "failed the source's check {}: {}",
                value.flag.trim(),
                flag_words(value.flag.trim())
            ))
        } else if !believed(value.celsius) {
            Some("outside what air can be".into())
        } else {
            None
        };
        if let Some(why) = why {
            set_aside.push(SetAside {
                time: value.date.and_time(chrono::NaiveTime::MIN).and_utc(),
                value_c: value.celsius,
                why,
            });
            return;
        }
        let day = days.entry(value.date).or_insert_with(|| DailyDay {
            date: value.date,
            min_c: None,
            max_c: None,
            observed_at_h: None,
        });
        day.observed_at_h = day.observed_at_h.or(value.observed_at_h);
        let slot = if value.minimum { &mut day.min_c } else { &mut day.max_c };
        // Told twice: the colder minimum and the warmer maximum, so that no extreme is lost.
        *slot = Some(match *slot {
            Some(held) if value.minimum => held.min(value.celsius),
            Some(held) => held.max(value.celsius),
            None => value.celsius,
        });
    }

    fn finish(self, mut file: Reading<'_>) -> (Vec<Found>, Faults) {
        let mut found = Vec::new();
        for (_, (station, days, set_aside)) in self.stations {
            let record = DailyRecord::new(FORMAT, station, days.into_values().collect(), set_aside);
            if record.days.is_empty() {
                continue;
            }
            if !record.set_aside.is_empty() {
                let fault = file
                    .fault(
                        "BW-S15",
                        Severity::Warning,
                        format!(
                            "station {}: {} values were set aside",
                            record.station.station_id,
                            record.set_aside.len()
                        ),
                    )
                    .remedy("`weather show` lists each with its reason.");
                file.push(fault);
            }
            found.push(Found::of_days(record));
        }
        if found.is_empty() {
            let fault = file
                .fault("BW-S10", Severity::Fatal, "the file has no usable daily temperature")
                .expected("TMIN and TMAX values");
            file.push(fault);
        }
        (found, file.finish())
    }
}

/// What a quality flag of the source means, from memory of its readme.
fn flag_words(flag: &str) -> &'static str {
    match flag {
        "D" => "duplicate",
        "G" => "gap in the distribution",
        "I" => "inconsistent within itself",
        "K" => "streak of equal values",
        "L" => "total over several days",
        "M" => "beyond the world's records",
        "N" => "zero where there is none",
        "O" => "outlier of its climate",
        "R" => "lagged range",
        "S" => "differs from its neighbors",
        "T" => "jumps in time",
        "W" => "too warm for snow",
        "X" => "out of bounds",
        _ => "see the source's documentation",
    }
}

/// Whether a line is of the fixed-width shape: station, year, month, element, values.
pub fn recognises_fixed(line: &str) -> bool {
    fixed_head(line).is_some() && line.len() >= 29
}

fn fixed_head(line: &str) -> Option<(&str, i32, u32, &str)> {
    let id = line.get(..11)?;
    let year = line.get(11..15)?.parse().ok()?;
    let month = line
        .get(15..17)?
        .parse()
        .ok()
        .filter(|month| (1..=12).contains(month))?;
    let element = line.get(17..21)?;
    let named = id
        .bytes()
        .all(|byte| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_')
        && element
            .bytes()
            .all(|byte| byte.is_ascii_uppercase() || byte.is_ascii_digit());
    named.then_some((id, year, month, element))
}

/// Reads the fixed-width shape: 31 values of five columns with three flags each; days that do not exist are −9999.
///
/// Faults: `BW-S32` a line or value that cannot be read, `BW-S10` no temperature at all (fatal), `BW-S15` values set aside (warning).
pub fn read_fixed(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let mut all = Gathered::default();
    for (at, line) in text_of(bytes).lines().enumerate() {
        if line.trim().is_empty() {
            continue;
        }
        let line_number = at as u64 + 1;
        let Some((id, year, month, element)) = fixed_head(line) else {
            file.bad_row(
                line_number,
                "line",
                line,
                "station, year, month, element and 31 values in fixed columns",
            );
            continue;
        };
        let minimum = match element {
            "TMIN" => true,
            "TMAX" => false,
            _ => continue,
        };
        if line.len() < 29 {
            file.bad_row(
                line_number,
                element,
                line,
                "31 values of five columns with three flags each",
            );
        }
        for day in 0..31_usize {
            let from = 21 + day * 8;
            let Some(text) = line.get(from..from + 5) else { break };
            if text.trim() == "-9999" || text.trim().is_empty() {
                continue;
            }
            let Ok(tenths) = text.trim().parse::<i32>() else {
                file.bad_row(
                    line_number,
                    &format!("{element} day {}", day + 1),
                    text,
                    "tenths of a degree, or -9999",
                );
                continue;
            };
            let Some(date) = NaiveDate::from_ymd_opt(year, month, day as u32 + 1) else {
                file.bad_row(
                    line_number,
                    &format!("{element} day {}", day + 1),
                    text,
                    "-9999 on a day that the month does not have",
                );
                continue;
            };
            all.take(Value {
                station_id: id.trim(),
                date,
                minimum,
                celsius: f64::from(tenths) / 10.0,
                flag: line.get(from + 6..from + 7).unwrap_or(""),
                observed_at_h: None,
            });
        }
    }
    all.finish(file)
}

/// Whether the first lines are of the long shape: station, eight-digit date, element, whole number.
pub fn recognises_long(head: &str) -> bool {
    head.lines().take(2).any(|line| {
        let mut cells = line.split(',').map(str::trim);
        let id = cells.next().unwrap_or("");
        let date = cells.next().unwrap_or("");
        let element = cells.next().unwrap_or("");
        let value = cells.next().unwrap_or("");
        id.len() == 11
            && compact_date(date).is_some()
            && element.len() == 4
            && element.bytes().all(|byte| byte.is_ascii_alphanumeric())
            && value.parse::<i32>().is_ok()
    })
}

fn compact_date(text: &str) -> Option<NaiveDate> {
    if text.len() != 8 || !text.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    NaiveDate::from_ymd_opt(
        text.get(..4)?.parse().ok()?,
        text.get(4..6)?.parse().ok()?,
        text.get(6..8)?.parse().ok()?,
    )
}

/// Hours of a clock time written as four digits.
fn observed_at(text: &str) -> Option<f64> {
    let value: u32 = text.trim().parse().ok()?;
    (value <= 2400 && value % 100 < 60).then(|| f64::from(value / 100) + f64::from(value % 100) / 60.0)
}

/// Reads the long shape: `station,YYYYMMDD,element,value,M,Q,S,time`, with or without a header.
///
/// Faults as [`read_fixed`].
pub fn read_long(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let mut all = Gathered::default();
    for (at, line) in text_of(bytes).lines().enumerate() {
        let cells: Vec<&str> = line.split(',').map(|cell| cell.trim().trim_matches('"')).collect();
        let cell = |index: usize| cells.get(index).copied().unwrap_or("");
        if line.trim().is_empty()
            || (at == 0 && compact_date(cell(1)).is_none() && cell(1).eq_ignore_ascii_case("date"))
        {
            continue;
        }
        let minimum = match cell(2) {
            "TMIN" => true,
            "TMAX" => false,
            "" => {
                file.bad_row(
                    at as u64 + 1,
                    "element",
                    line,
                    "station,YYYYMMDD,element,value,M,Q,S,time",
                );
                continue;
            }
            _ => continue,
        };
        let (Some(date), Ok(tenths)) = (compact_date(cell(1)), cell(3).parse::<i32>()) else {
            file.bad_row(
                at as u64 + 1,
                cell(2),
                line,
                "a date of eight digits and tenths of a degree",
            );
            continue;
        };
        if tenths == -9999 {
            continue;
        }
        all.take(Value {
            station_id: cell(0),
            date,
            minimum,
            celsius: f64::from(tenths) / 10.0,
            flag: cell(5),
            observed_at_h: observed_at(cell(7)),
        });
    }
    all.finish(file)
}

/// Unit of a wide table, which its header does not tell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum WideUnit {
    Tenths,
    Celsius,
    Fahrenheit,
}

/// Reads the wide shape: one row a day with TMIN and TMAX, each perhaps with its flags in `TMIN_ATTRIBUTES` ("M,Q,S,time").
///
/// The unit is not in the header. Decimals mean °C; whole numbers whose largest is above 140 are tenths of °C, for no summer
/// stays below 14 °C and no air passes 140 °F; whole numbers whose largest is between 61 and 140 are °F. What is left is refused as
/// ambiguous (`BW-S38`); the choice is told as a note. Faults else as [`read_fixed`].
pub fn read_wide(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let Some(unit) = wide_unit(&text) else {
        let fault = file
            .fault(
                "BW-S38",
                Severity::Fatal,
                "the unit of TMIN and TMAX cannot be told: whole numbers, none above 60",
            )
            .expected("tenths of °C as the source publishes them, °C with decimals, or °F over at least a summer")
            .remedy("Export a whole year, or with decimals.");
        file.push(fault);
        return (Vec::new(), file.finish());
    };
    let words = match unit {
        WideUnit::Tenths => "tenths of °C",
        WideUnit::Celsius => "°C",
        WideUnit::Fahrenheit => "°F",
    };
    let note = file.fault(
        "BW-S39",
        Severity::Note,
        format!("TMIN and TMAX were read as {words}, judged by their size"),
    );
    file.push(note);
    let mut all = Gathered::default();
    let mut table = file.table(&text, delimiter(&text), 1);
    while table.next_row() {
        let line = table.line;
        let Ok(date) = table.cell("date").get(..10).unwrap_or("").parse::<NaiveDate>() else {
            file.bad_row(line, "date", table.cell("date"), "a date such as 2016-01-31");
            continue;
        };
        let id = table.cell("station").to_owned();
        let (station, _, _) = all.station(&id);
        let place = |name: &str| number(table.cell(name));
        station.latitude_deg = station.latitude_deg.or(place("latitude"));
        station.longitude_deg = station.longitude_deg.or(place("longitude"));
        station.elevation_m = station
            .elevation_m
            .or(place("elevation").filter(|value| *value > -900.0));
        for (name, flags, minimum) in [("tmin", "tmin_attributes", true), ("tmax", "tmax_attributes", false)] {
            let cell = table.cell(name);
            if cell.is_empty() || cell == "-9999" || cell == "9999" {
                continue;
            }
            let Some(value) = number(cell) else {
                file.bad_row(line, name, cell, "a number, or blank");
                continue;
            };
            let mut attributes = table.cell(flags).split(',');
            all.take(Value {
                station_id: &id,
                date,
                minimum,
                celsius: match unit {
                    WideUnit::Tenths => value / 10.0,
                    WideUnit::Celsius => value,
                    WideUnit::Fahrenheit => c_from_f(value),
                },
                flag: attributes.nth(1).unwrap_or(""),
                observed_at_h: attributes.nth(1).and_then(observed_at),
            });
        }
    }
    all.finish(file)
}

fn delimiter(text: &str) -> u8 {
    let first = text.lines().next().unwrap_or("");
    if first.matches(';').count() > first.matches(',').count() {
        b';'
    } else {
        b','
    }
}

fn wide_unit(text: &str) -> Option<WideUnit> {
    let mut table = Table::open(text, delimiter(text), 1);
    let (mut largest, mut decimals) = (f64::NEG_INFINITY, false);
    while table.next_row() {
        for name in ["tmin", "tmax"] {
            let cell = table.cell(name);
            if let Some(value) = number(cell).filter(|value| value.abs() < 9000.0) {
                largest = largest.max(value);
                decimals |= cell.contains('.') && value.fract() != 0.0;
            }
        }
    }
    if decimals {
        return Some(if largest > 60.0 {
            WideUnit::Fahrenheit
        } else {
            WideUnit::Celsius
        });
    }
    if largest > 140.0 {
        Some(WideUnit::Tenths)
    } else if largest > 60.0 {
        Some(WideUnit::Fahrenheit)
    } else {
        None
    }
}
