//! TMY3: a line of station facts, a header, then a typical year with hours 01:00 to 24:00 in local standard time, hour-ending.
//!
//! The number of columns differs between editions, so that columns are found by name; 24:00 rolls to the next day. Format: NREL,
//! Users Manual for TMY3 Data Sets, NREL/TP-581-43156, 2008 \[tmy3-manual\].

use super::common::{Reading, Table, number, text_of};
use super::epw::{ReadingParts, YearRow, dated};
use super::{Found, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::weather::series::Station;
use chrono::{FixedOffset, NaiveDate};

/// Name of the format.
pub const FORMAT: &str = "tmy3";

/// Whether the second line is the header of this format.
pub fn recognises(head: &str) -> bool {
    head.lines().nth(1).is_some_and(|line| {
        let line = line.to_ascii_lowercase();
        line.starts_with("date (mm/dd/yyyy),time (hh:mm)") && line.contains("dry-bulb (c)")
    })
}

/// Reads a TMY3 file.
///
/// Faults: `BW-S31` the first line has no time zone (fatal), `BW-S32` a row that cannot be read, `BW-S34` a typical year (note), and
/// those of [`assemble`](crate::weather::assemble()).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let (first, rest) = text.split_once('\n').unwrap_or((&text, ""));
    // The facts stand where a header would; a header of our own makes them a row.
    let with_header = format!("facts\n{first}");
    let mut row = Table::open(&with_header, b',', 0);
    row.next_row();
    let offset = number(row.at(3))
        .filter(|hours| (-12.0..=14.0).contains(hours))
        .and_then(|hours| FixedOffset::east_opt((hours * 3600.0).round() as i32));
    let Some(offset) = offset else {
        let fault = file
            .fault("BW-S31", Severity::Fatal, "the first line has no time zone")
            .line(1)
            .value(first)
            .expected("number, \"name\", state, hours from UTC, latitude, longitude, elevation");
        file.push(fault);
        return (Vec::new(), file.finish());
    };
    let station = Station {
        station_id: row.at(0).to_owned(),
        latitude_deg: number(row.at(4)).filter(|value| value.abs() <= 90.0),
        longitude_deg: number(row.at(5)).filter(|value| value.abs() <= 180.0),
        elevation_m: number(row.at(6)),
    };
    let mut table = file.table(rest, b',', 2);
    let mut rows = Vec::new();
    while table.next_row() {
        match row_of(&table) {
            Some(row) => rows.push(row),
            None => {
                let shown = format!("{},{}", table.cell("date (mm/dd/yyyy)"), table.cell("time (hh:mm)"));
                file.bad_row(
                    table.line,
                    "row",
                    &shown,
                    "MM/DD/YYYY, an hour 01:00 to 24:00 and a dry bulb in °C",
                );
            }
        }
    }
    // A time series in this shape has one year and is a record; the typical year betrays itself by its years.
    let called_typical = first.contains("Typical");
    let (readings, nature) = dated(&mut file, rows, offset, called_typical);
    let found = file.hourly(FORMAT, station, readings, None, nature);
    (vec![found], file.finish())
}

fn row_of(table: &Table<'_>) -> Option<YearRow> {
    let mut date = table.cell("date (mm/dd/yyyy)").split('/');
    let month: u32 = date.next()?.trim().parse().ok()?;
    let day: u32 = date.next()?.trim().parse().ok()?;
    let year: i32 = date
        .next()?
        .trim()
        .parse()
        .ok()
        .filter(|year| (1800..=2200).contains(year))?;
    NaiveDate::from_ymd_opt(2000, month, day)?;
    let (hour, minute) = table.cell("time (hh:mm)").split_once(':')?;
    let ends_h: i64 = hour.trim().parse().ok().filter(|hour| (0..=24).contains(hour))?;
    if minute.trim().parse::<u32>().ok()? >= 60 {
        return None;
    }
    // Missing is −9900 or −99 depending on the column and edition.
    let above = |name: &str, least: f64| number(table.cell(name)).filter(|value| *value > least);
    number(table.cell("dry-bulb (c)"))?;
    Some(YearRow {
        year,
        month,
        day,
        ends_h,
        reading: ReadingParts {
            air_c: above("dry-bulb (c)", -95.0),
            dew_point_c: above("dew-point (c)", -95.0),
            wind_m_s: above("wspd (m/s)", -0.5),
            sky_cover: above("totcld (tenths)", -0.5).map(|tenths| tenths / 10.0),
        },
    })
}
