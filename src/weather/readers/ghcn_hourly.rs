//! GHCN-Hourly (values parted by bars, one column a value with its codes) and the older hourly CSV with one column a group
//! (`TMP` = "-0056,1"). Both in UTC, °C and m/s.
//!
//! Columns are bound by name, for their number and some names differ between builds. The meaning of a quality code depends on
//! the source of the value; the digits 2, 3, 6 and 7 mean suspect or erroneous wherever digits are used, and those are set aside;
//! letters are counted and told \[ghcnh-format\].

use super::common::{Reading, Table, number, reading, text_of};
use super::{Found, Nature, ReadOptions};
use crate::faults::{Faults, Severity};
use crate::weather::assemble::RawReading;
use crate::weather::local_time::{Written, parse};
use crate::weather::series::{Kind, Station};
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;

/// Name of the format.
pub const FORMAT: &str = "ghcn-hourly";
/// Name of the older format with one column a group.
pub const FORMAT_GROUPS: &str = "global-hourly";

/// Readings of each station as they come.
type Gathered = BTreeMap<String, (Station, Vec<RawReading>)>;

fn suspect(code: &str) -> Option<String> {
    ["2", "3", "6", "7"]
        .contains(&code)
        .then(|| format!("quality code {code} of the source: suspect or erroneous"))
}

fn take(all: &mut Gathered, id: &str, place: [Option<f64>; 3], one: RawReading) {
    let [latitude_deg, longitude_deg, elevation_m] = place;
    all.entry(id.to_owned())
        .or_insert_with(|| {
            let station = Station {
                station_id: id.to_owned(),
                latitude_deg,
                longitude_deg,
                elevation_m: elevation_m.filter(|value| *value > -900.0),
            };
            (station, Vec::new())
        })
        .1
        .push(one);
}

fn finish(mut file: Reading<'_>, all: Gathered, format: &'static str) -> (Vec<Found>, Faults) {
    if all.is_empty() && !file.faults.is_fatal() {
        let fault = file.fault("BW-S10", Severity::Fatal, "the file has a header and no usable rows");
        file.push(fault);
    }
    let found = all
        .into_values()
        .map(|(station, readings)| file.hourly(format, station, readings, None, Nature::Record))
        .collect();
    (found, file.finish())
}

/// Instant of a row from its DATE column, or from Year, Month, Day, Hour and Minute.
fn time_of(table: &Table<'_>) -> Option<DateTime<Utc>> {
    match parse(table.cell("date")) {
        Some(Written::Instant(time)) => Some(time),
        Some(Written::Local(local)) => Some(local.and_utc()),
        None => {
            let part = |name: &str| table.cell(name).parse::<u32>().ok();
            let year = i32::try_from(part("year")?)
                .ok()
                .filter(|year| (1700..=2200).contains(year))?;
            let date = NaiveDate::from_ymd_opt(year, part("month")?, part("day")?)?;
            Some(
                date.and_hms_opt(part("hour")?, part("minute").unwrap_or(0), 0)?
                    .and_utc(),
            )
        }
    }
}

/// Reads a GHCN-Hourly file.
///
/// Faults: `BW-S32` a row that cannot be read, `BW-S33` letters as quality codes (note), and those of
/// [`assemble`](crate::weather::assemble()).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let mut table = file.table(&text, b'|', 1);
    let mut all = Gathered::new();
    let mut letters = 0_usize;
    let id_column = ["station", "station_id"]
        .into_iter()
        .find(|name| table.has(name))
        .unwrap_or("station");
    while table.next_row() {
        let Some(time_utc) = time_of(&table) else {
            let shown = table.cell("date").to_owned();
            file.bad_row(table.line, "DATE", &shown, "DATE, or Year, Month, Day, Hour and Minute");
            continue;
        };
        let value = |name: &str| {
            let code = table.cell(&format!("{name}_quality_code"));
            number(table.cell(name))
                .filter(|value| *value > -999.0)
                .map(|value| (value, code))
        };
        let good = |name: &str| {
            value(name)
                .filter(|(_, code)| suspect(code).is_none())
                .map(|(value, _)| value)
        };
        let air = value("temperature");
        let cell = table.cell("temperature");
        if air.is_none() && !cell.is_empty() && number(cell).is_none() {
            file.bad_row(table.line, "temperature", cell, "degrees Celsius, or blank");
        }
        letters += usize::from(air.is_some_and(|(_, code)| code.bytes().any(|byte| byte.is_ascii_alphabetic())));
        let one = reading(RawReading {
            time_utc,
            air_c: air.map(|(value, _)| value),
            dew_point_c: good("dew_point_temperature"),
            wind_m_s: good("wind_speed"),
            sky_cover: None,
            kind: Kind::Observed,
            set_aside: air.and_then(|(_, code)| suspect(code)),
        });
        let place = ["latitude", "longitude", "elevation"].map(|name| number(table.cell(name)));
        take(&mut all, table.cell(id_column), place, one);
    }
    if letters > 0 {
        let note = file
            .fault(
                "BW-S33",
                Severity::Note,
                format!("{letters} temperatures carry a letter as quality code, whose meaning depends on their source; they were used"),
            )
            .remedy("See the source's documentation if the cold looks wrong.");
        file.push(note);
    }
    finish(file, all, FORMAT)
}

/// Reads the older hourly CSV with groups such as `TMP` = "-0056,1".
///
/// Faults: `BW-S32` a row that cannot be read, and those of [`assemble`](crate::weather::assemble()).
pub fn read_groups(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let text = text_of(bytes);
    let mut table = file.table(&text, b',', 1);
    let mut all = Gathered::new();
    while table.next_row() {
        // Summaries of the day and month are not reports of an hour.
        if ["SOD", "SOM"].contains(&table.cell("report_type")) {
            continue;
        }
        let Some(time_utc) = time_of(&table) else {
            let shown = table.cell("date").to_owned();
            file.bad_row(table.line, "DATE", &shown, "a time such as 2021-02-15T06:53:00");
            continue;
        };
        // Tenths with a sign and a quality code; all nines is missing.
        let tenths = |cell: &str, missing: &str| {
            let mut parts = cell.split(',');
            let value = parts.next().filter(|value| value.trim_start_matches('+') != missing)?;
            let code = parts.next().unwrap_or("").to_owned();
            number(value).map(|value| (value / 10.0, code))
        };
        let air = tenths(table.cell("tmp"), "9999");
        let dew = tenths(table.cell("dew"), "9999").filter(|(_, code)| suspect(code).is_none());
        let wind = table
            .cell("wnd")
            .split(',')
            .nth(3)
            .filter(|speed| *speed != "9999")
            .and_then(number);
        let one = reading(RawReading {
            time_utc,
            air_c: air.as_ref().map(|(value, _)| *value),
            dew_point_c: dew.map(|(value, _)| value),
            wind_m_s: wind.map(|speed| speed / 10.0),
            sky_cover: None,
            kind: Kind::Observed,
            set_aside: air.as_ref().and_then(|(_, code)| suspect(code)),
        });
        let place = ["latitude", "longitude", "elevation"].map(|name| number(table.cell(name)));
        take(&mut all, table.cell("station"), place, one);
    }
    finish(file, all, FORMAT_GROUPS)
}
