//! TMY2: a line of station facts in fixed columns, then a typical year with hours 1 to 24 in local standard time, hour-ending, each
//! value in fixed columns with its two flags behind it.
//!
//! Columns are counted from 1 as the manual counts them. Format: NREL, User's Manual for TMY2s, NREL/SP-463-7668, 1995, tables 3-1 and 3-2
//! \[tmy2-manual\].

use super::common::{Reading, number, text_of};
use super::epw::{ReadingParts, YearRow, dated};
use super::{Found, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::weather::series::Station;
use chrono::{FixedOffset, NaiveDate};

/// Name of the format.
pub const FORMAT: &str = "tmy2";
/// Fewest characters of a row that hold all that is read: the wind speed ends in column 98.
const LEAST_COLUMNS: usize = 98;
/// What a bad row should have been.
const ROW: &str = "year, month, day and hour 01 to 24 in columns 2 to 9, dry bulb in tenths of °C in columns 68 to 71";

/// The text between two columns, counted from 1, both included; `None` when the line is shorter or the columns cut a letter.
fn columns(line: &str, from: usize, to: usize) -> Option<&str> {
    line.get(from - 1..to)
}

/// Whether the first lines are those of this format: a station's facts, and a row of digits and flags.
pub fn recognises(head: &str) -> bool {
    let mut lines = head.lines();
    lines.next().is_some_and(|first| facts(first).is_some())
        && lines.next().is_some_and(|row| {
            row.starts_with(' ')
                && row.trim_end().len() >= LEAST_COLUMNS
                && columns(row, 2, 21).is_some_and(|digits| digits.bytes().all(|byte| byte.is_ascii_digit()))
        })
}

/// Station and hours from UTC of the first line.
fn facts(line: &str) -> Option<(Station, f64)> {
    let id = columns(line, 2, 6)?.trim();
    let wban = id.len() == 5 && id.bytes().all(|byte| byte.is_ascii_digit());
    let hours = number(columns(line, 34, 36)?).filter(|hours| (-12.0..=14.0).contains(hours))?;
    let angle = |side: &str, degrees: &str, minutes: &str| {
        let size = number(degrees)? + number(minutes).filter(|minutes| (0.0..60.0).contains(minutes))? / 60.0;
        match side {
            "N" | "E" => Some(size),
            "S" | "W" => Some(-size),
            _ => None,
        }
    };
    let latitude = angle(columns(line, 38, 38)?, columns(line, 40, 41)?, columns(line, 43, 44)?)?;
    let longitude = angle(columns(line, 46, 46)?, columns(line, 48, 50)?, columns(line, 52, 53)?)?;
    // The elevation is the last field and may be cut short of its columns.
    let elevation_m = number(line.get(55..59.min(line.len()))?);
    (wban && latitude.abs() <= 90.0 && longitude.abs() <= 180.0).then(|| {
        let station = Station {
            station_id: id.to_owned(),
            latitude_deg: Some(latitude),
            longitude_deg: Some(longitude),
            elevation_m,
        };
        (station, hours)
    })
}

/// Reads a TMY2 file.
///
/// Faults: `BW-S31` the first line has no station facts (fatal), `BW-S32` a row that cannot be read, with the column at fault, `BW-S34` a
/// typical year (note), and those of [`assemble`](crate::weather::assemble()).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let first = text.lines().next().unwrap_or("");
    let known = facts(first)
        .and_then(|(station, hours)| Some((station, FixedOffset::east_opt((hours * 3600.0).round() as i32)?)));
    let Some((station, offset)) = known else {
        let fault = file
            .fault("BW-S31", Severity::Fatal, "the first line has no station facts")
            .line(1)
            .value(first)
            .expected(
                "number in columns 2 to 6, hours from UTC in 34 to 36, latitude in 38 to 44, longitude in 46 to 53",
            );
        file.push(fault);
        return (Vec::new(), file.finish());
    };
    let mut rows = Vec::new();
    for (at, line) in text.lines().enumerate().skip(1) {
        // Old files end in a control-Z.
        if line
            .trim_matches(|letter: char| letter.is_whitespace() || letter == '\u{1a}')
            .is_empty()
        {
            continue;
        }
        match row_of(line) {
            Ok(row) => rows.push(row),
            Err(column) => file.bad_row(at as u64 + 1, column, line.trim_end(), ROW),
        }
    }
    let (readings, nature) = dated(&mut file, rows, offset, true);
    let found = file.hourly(FORMAT, station, readings, None, nature);
    (vec![found], file.finish())
}

/// One row, or the columns at fault.
fn row_of(line: &str) -> Result<YearRow, &'static str> {
    if line.trim_end().len() < LEAST_COLUMNS {
        return Err("whole line");
    }
    let whole = |from: usize, to: usize| columns(line, from, to).and_then(|text| text.trim().parse::<i64>().ok());
    let part = |from: usize, to: usize, missing: i64| whole(from, to).filter(|value| *value < missing);
    let year = whole(2, 3).filter(|year| *year >= 0).ok_or("2-3")?;
    let month = whole(4, 5).and_then(|month| u32::try_from(month).ok()).ok_or("4-5")?;
    let day = whole(6, 7).and_then(|day| u32::try_from(day).ok()).ok_or("6-7")?;
    // The days of a leap year: one is later dropped where the year has none.
    NaiveDate::from_ymd_opt(2000, month, day).ok_or("4-7")?;
    let ends_h = whole(8, 9).filter(|hour| (1..=24).contains(hour)).ok_or("8-9")?;
    whole(68, 71).ok_or("68-71")?;
    let tenths = |value: i64| value as f64 / 10.0;
    Ok(YearRow {
        // The months come from 1961 to 1990.
        year: 1900 + i32::try_from(year).unwrap_or(0),
        month,
        day,
        ends_h,
        reading: ReadingParts {
            // A value with every digit a nine is missing.
            air_c: part(68, 71, 9999).map(tenths),
            dew_point_c: part(74, 77, 9999).map(tenths),
            wind_m_s: part(96, 98, 999).map(tenths),
            sky_cover: part(60, 61, 99).map(tenths),
        },
    })
}
