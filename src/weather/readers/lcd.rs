//! Local Climatological Data: one row a report with `HourlyDryBulbTemperature` and its fellows, in local standard time all year.
//!
//! Routine (FM-15) and special (FM-16) reports are read, summaries of the day and month are not. A trailing `s` marks a suspect
//! value, `*` a missing one, `T` a trace. The first edition has °F and mph and a station of digits, the second (2024) °C and m/s
//! and a station that begins with letters \[lcd-format\].

use super::common::{Reading, at_offset, number, reading, text_of};
use super::{Found, Nature, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::units::{M_S_PER_MPH, c_from_f};
use crate::weather::assemble::RawReading;
use crate::weather::local_time::{Written, parse};
use crate::weather::series::{Kind, Station};
use std::collections::BTreeMap;

/// Name of the format.
pub const FORMAT: &str = "lcd";

/// A value and whether it is marked suspect; `None` for missing.
fn value(cell: &str) -> Option<(f64, bool)> {
    let suspect = cell.ends_with('s');
    number(cell.trim_end_matches(['s', 'V'])).map(|value| (value, suspect))
}

/// Reads an LCD file.
///
/// Faults: `BW-S03` no zone known (fatal), `BW-S32` a row that cannot be read, `BW-S39` the unit chosen (note), and those of
/// [`assemble`](crate::weather::assemble()).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let mut table = file.table(&text, b',', 1);
    let mut stations: BTreeMap<String, (Station, Vec<RawReading>)> = BTreeMap::new();
    let mut offset = None;
    let mut metric = false;
    while table.next_row() {
        let report = table.cell("report_type");
        // An absent report type is read: some exports drop the column.
        if !(report.is_empty() || ["FM-15", "FM-16", "FM-12", "SAO", "SY-MT", "AUTO"].contains(&report)) {
            continue;
        }
        let id = table.cell("station").to_owned();
        if offset.is_none() {
            offset = file.standard_offset(&id, number(table.cell("longitude")));
            metric = id.starts_with(|first: char| first.is_ascii_alphabetic());
            let words = if metric { "°C and m/s" } else { "°F and mph" };
            let note = file.fault(
                "BW-S39",
                Severity::Note,
                format!("values were read as {words}, judged by the shape of the station"),
            );
            file.push(note);
        }
        let Some(offset) = offset else { break };
        let time_utc = match parse(table.cell("date")) {
            Some(Written::Local(local)) => at_offset(local, offset),
            Some(Written::Instant(time)) => Some(time),
            None => None,
        };
        let Some(time_utc) = time_utc else {
            file.bad_row(
                table.line,
                "DATE",
                table.cell("date"),
                "a date and time such as 2021-02-14T06:53:00",
            );
            continue;
        };
        let celsius = |value: f64| if metric { value } else { c_from_f(value) };
        let air_cell = table.cell("hourlydrybulbtemperature");
        let air = value(air_cell);
        if air.is_none() && !air_cell.is_empty() && air_cell != "*" && air_cell != "M" {
            file.bad_row(table.line, "HourlyDryBulbTemperature", air_cell, "a number, blank or *");
        }
        let good = |name: &str| {
            value(table.cell(name))
                .filter(|(_, suspect)| !suspect)
                .map(|(value, _)| value)
        };
        let one = reading(RawReading {
            time_utc,
            air_c: air.map(|(value, _)| celsius(value)),
            dew_point_c: good("hourlydewpointtemperature").map(celsius),
            wind_m_s: good("hourlywindspeed").map(|speed| if metric { speed } else { speed * M_S_PER_MPH }),
            sky_cover: cover(table.cell("hourlyskyconditions")),
            kind: Kind::Observed,
            set_aside: air
                .filter(|(_, suspect)| *suspect)
                .map(|_| "marked suspect by the source".into()),
        });
        let place = |name: &str| number(table.cell(name));
        stations
            .entry(id.clone())
            .or_insert_with(|| {
                let station = Station {
                    station_id: id,
                    latitude_deg: place("latitude"),
                    longitude_deg: place("longitude"),
                    elevation_m: place("elevation"),
                };
                (station, Vec::new())
            })
            .1
            .push(one);
    }
    if stations.is_empty() && !file.faults.is_fatal() {
        let fault = file
            .fault("BW-S10", Severity::Fatal, "the file has no hourly report")
            .expected("rows with REPORT_TYPE FM-15 or FM-16");
        file.push(fault);
    }
    let found = stations
        .into_values()
        .map(|(station, readings)| file.hourly(FORMAT, station, readings, None, Nature::Record))
        .collect();
    (found, file.finish())
}

/// Cover of the sky from layers such as `FEW:02 15 BKN:07 40`: the most covered layer, in eighths after the colon.
fn cover(text: &str) -> Option<f64> {
    text.split_ascii_whitespace()
        .filter_map(|word| word.split_once(':'))
        .filter_map(|(code, eighths)| {
            let eighths: f64 = number(eighths.get(..2).unwrap_or(eighths))?;
            (code.len() == 3 || code == "VV").then_some((eighths / 8.0).min(1.0))
        })
        .max_by(f64::total_cmp)
}
