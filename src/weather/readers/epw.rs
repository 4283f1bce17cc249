//! EPW, the hourly file of building energy programs: eight header lines, then rows of year, month, day, hour 1 to 24, minute,
//! flags, and the values; local standard time all year, hour-ending.
//!
//! Most are typical years whose months come from different years; such a file tells what a year is like and never how cold it
//! can get. Format: US Department of Energy, EnergyPlus Auxiliary Programs, weather file format \[epw-format\].

use super::common::{Reading, at_offset, number, reading, text_of};
use super::{Found, Nature, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::weather::assemble::RawReading;
use crate::weather::series::{Kind, Station};
use chrono::{FixedOffset, NaiveDate, NaiveDateTime, TimeDelta};
use std::collections::BTreeSet;

/// Name of the format.
pub const FORMAT: &str = "epw";
/// The year that a typical year is dated to: any year without a leap day would do (judgement).
pub const TYPICAL_YEAR_DATED: i32 = 2001;

/// Whether a first line is that of an EPW file.
pub fn recognises(first: &str) -> bool {
    first
        .get(..9)
        .is_some_and(|start| start.eq_ignore_ascii_case("LOCATION,"))
}

/// One row of a year file before it has its year.
pub(super) struct YearRow {
    pub year: i32,
    pub month: u32,
    pub day: u32,
    /// Hours from the day's midnight at which the hour ends, 1 to 24.
    pub ends_h: i64,
    pub reading: ReadingParts,
}

/// The values of a row.
#[derive(Clone, Copy)]
pub(super) struct ReadingParts {
    pub air_c: Option<f64>,
    pub dew_point_c: Option<f64>,
    pub wind_m_s: Option<f64>,
    pub sky_cover: Option<f64>,
}

/// Dates the rows, puts them in UTC and says whether they are a typical year: when the rows come from several years that
/// do not follow each other, or when the source calls it so. A typical year is dated to [`TYPICAL_YEAR_DATED`] and that is told.
pub(super) fn dated(
    file: &mut Reading<'_>,
    rows: Vec<YearRow>,
    offset: FixedOffset,
    called_typical: bool,
) -> (Vec<RawReading>, Nature) {
    let years: BTreeSet<i32> = rows.iter().map(|row| row.year).collect();
    // In a record time runs forward; in a typical year the year jumps back and forth from month to month.
    let backward = rows.windows(2).any(|pair| match pair {
        [a, b] => (b.year, b.month, b.day) < (a.year, a.month, a.day),
        _ => false,
    });
    let jumps = rows.windows(2).any(|pair| match pair {
        [a, b] => b.year > a.year && !(a.month == 12 && b.month == 1),
        _ => false,
    });
    let typical = called_typical || backward || jumps;
    if typical {
        let from = years.first().copied().unwrap_or(TYPICAL_YEAR_DATED);
        let to = years.last().copied().unwrap_or(TYPICAL_YEAR_DATED);
        let fault = file
            .fault(
                "BW-S34",
                Severity::Note,
                format!("this is a typical year (months from {from} to {to}), dated here to {TYPICAL_YEAR_DATED}"),
            )
            .remedy("It leaves extremes out on purpose: never use it for return periods or as a cold spell.");
        file.push(fault);
    }
    let readings = rows
        .into_iter()
        .filter_map(|row| {
            let year = if typical { TYPICAL_YEAR_DATED } else { row.year };
            let date = NaiveDate::from_ymd_opt(year, row.month, row.day)?;
            let local: NaiveDateTime = date.and_time(chrono::NaiveTime::MIN) + TimeDelta::hours(row.ends_h);
            Some(reading(RawReading {
                time_utc: at_offset(local, offset)?,
                air_c: row.reading.air_c,
                wind_m_s: row.reading.wind_m_s,
                dew_point_c: row.reading.dew_point_c,
                sky_cover: row.reading.sky_cover,
                kind: Kind::Observed,
                set_aside: None,
            }))
        })
        .collect();
    (readings, if typical { Nature::TypicalYear } else { Nature::Record })
}

/// Reads an EPW file.
///
/// Faults: `BW-S31` no usable LOCATION (fatal), `BW-S32` a row that cannot be read, `BW-S34` a typical year (note), and those of
/// [`assemble`](crate::weather::assemble()).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let mut lines = text.lines();
    let first = lines.next().unwrap_or("");
    let location: Vec<&str> = first.split(',').map(str::trim).collect();
    let place = |at: usize| location.get(at).copied().unwrap_or("");
    let zone_h = number(place(8)).filter(|hours| (-12.0..=14.0).contains(hours));
    let offset = zone_h.and_then(|hours| FixedOffset::east_opt((hours * 3600.0).round() as i32));
    let Some(offset) = offset else {
        let fault = file
            .fault("BW-S31", Severity::Fatal, "the LOCATION line has no time zone")
            .line(1)
            .value(first)
            .expected("LOCATION,city,region,country,source,number,latitude,longitude,hours from UTC,elevation");
        file.push(fault);
        return (Vec::new(), file.finish());
    };
    let station = Station {
        station_id: place(5).to_owned(),
        latitude_deg: number(place(6)).filter(|value| value.abs() <= 90.0),
        longitude_deg: number(place(7)).filter(|value| value.abs() <= 180.0),
        elevation_m: number(place(9)),
    };
    let source = place(4).to_ascii_uppercase();
    let mut called_typical = ["TMY", "IWEC", "TRY", "CTZ", "WYEC"]
        .iter()
        .any(|word| source.contains(word));
    let mut rows = Vec::new();
    for (at, line) in text.lines().enumerate().skip(1) {
        // Header lines begin with a word, rows with a year.
        if line.trim().is_empty() || line.starts_with(|first: char| first.is_ascii_alphabetic()) {
            called_typical |= line.starts_with("COMMENTS") && line.contains("TMY");
            continue;
        }
        let cells: Vec<&str> = line.split(',').map(str::trim).collect();
        let cell = |index: usize| cells.get(index).copied().unwrap_or("");
        match row_of(&cell) {
            Some(row) => rows.push(row),
            None => file.bad_row(
                at as u64 + 1,
                "row",
                line,
                "year, month, day, hour 1 to 24, minute, flags, dry bulb and the other values",
            ),
        }
    }
    let (readings, nature) = dated(&mut file, rows, offset, called_typical);
    let found = file.hourly(FORMAT, station, readings, None, nature);
    (vec![found], file.finish())
}

fn row_of<'c>(cell: &impl Fn(usize) -> &'c str) -> Option<YearRow> {
    let whole = |index: usize| cell(index).parse::<i64>().ok();
    let year = i32::try_from(whole(0)?)
        .ok()
        .filter(|year| (1800..=2200).contains(year))?;
    let month = u32::try_from(whole(1)?).ok()?;
    let day = u32::try_from(whole(2)?).ok()?;
    let ends_h = whole(3).filter(|hour| (1..=24).contains(hour))?;
    // A leap year stands in for the check of the day, so that a 29 February is read and later dropped where the year has none.
    NaiveDate::from_ymd_opt(2000, month, day)?;
    // The missing code is the least value that means missing; a cell that is no number is a bad row for the air only.
    let below = |index: usize, missing: f64| number(cell(index)).filter(|value| *value < missing);
    number(cell(6))?;
    Some(YearRow {
        year,
        month,
        day,
        ends_h,
        reading: ReadingParts {
            air_c: below(6, 99.9),
            dew_point_c: below(7, 99.9),
            wind_m_s: below(21, 999.0),
            sky_cover: below(22, 99.0).map(|tenths| tenths / 10.0),
        },
    })
}
