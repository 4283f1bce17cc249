//! Members or percentiles of the forecast, from a CSV.
//!
//! Columns, in any order: `time`, optional `station_id` (blank or left out: all stations), and either
//! `member` with `air_temp_f` or `air_temp_c`, one row a member and time; or two or more of `air_temp_f_p10`, `air_temp_c_p50` and so
//! on, one row a time. Times as in the native series.

use super::ReadOptions;
use super::native::{COLDEST_BELIEVED_C, WARMEST_BELIEVED_C};
use crate::faults::{Fault, Faults, Severity};
use crate::input::{Record, Records};
use crate::units::c_from_f;
use crate::weather::local_time::{Resolver, Written, parse, runs_backwards};
use crate::weather::spread::{Spread, Told, When, score_of};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// A column of air temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Air {
    at: usize,
    fahrenheit: bool,
    /// Of a percentile column, 0 to 100.
    percentile: Option<f64>,
}

fn normal(header: &str) -> String {
    header.trim().to_ascii_lowercase().replace([' ', '-'], "_")
}

fn air_column(at: usize, header: &str) -> Option<Air> {
    let name = normal(header);
    let rest = name.strip_prefix("air_temp_")?;
    let (unit, percentile) = match rest.split_once("_p") {
        None => (rest, None),
        Some((unit, digits)) => {
            let percentile: f64 = digits.parse().ok().filter(|p| *p > 0.0 && *p < 100.0)?;
            (unit, Some(percentile))
        }
    };
    let fahrenheit = match unit {
        "f" => true,
        "c" => false,
        _ => return None,
    };
    Some(Air {
        at,
        fahrenheit,
        percentile,
    })
}

fn is_known(header: &str) -> bool {
    matches!(normal(header).as_str(), "time" | "station_id" | "member") || air_column(0, header).is_some()
}

/// Times of one station: what each member or percentile has there.
type Rows = BTreeMap<DateTime<Utc>, BTreeMap<String, f64>>;

/// A station's member; a station alone where the file holds percentiles.
fn key(station: &str, member: &str) -> String {
    format!("{station}\n{member}")
}

/// Whether the file runs from the newest row to the oldest.
fn newest_first(bytes: &[u8], time: usize, station: Option<usize>, member: Option<usize>) -> bool {
    let Ok(mut records) = Records::open(bytes, "", is_known) else {
        return false;
    };
    let (mut record, mut unheard) = (Record::default(), Faults::new());
    runs_backwards(std::iter::from_fn(|| {
        records.read(&mut record, &mut unheard).unwrap_or(false).then(|| {
            let cell = |at: Option<usize>| at.and_then(|at| record.fields.get(at)).map_or("", String::as_str);
            (key(cell(station), cell(member)), parse(cell(Some(time))))
        })
    }))
}

/// Reads what the forecaster says of the forecast's uncertainty.
///
/// Faults: `BW-S01` a needed column is missing, `BW-S10` no rows, `BW-S03` local times without a zone (all fatal); `BW-S04` unreadable time,
/// `BW-S05` unreadable number, `BW-S06` value out of range, `BW-S25` percentiles that fall (all: row not used); `BW-S26` members
/// that lack some of the times (warning: those members or times are left out).
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Spread, Faults) {
    let mut faults = Faults::new();
    let mut records = match Records::open(bytes, file_name, is_known) {
        Ok(records) => records,
        Err(fault) => {
            faults.push(fault);
            return (Spread::default(), faults);
        }
    };
    let find = |name: &str| records.header().iter().position(|cell| normal(cell) == name);
    let (time_at, station_at, member_at) = (find("time"), find("station_id"), find("member"));
    let mut air: Vec<Air> = records
        .header()
        .iter()
        .enumerate()
        .filter_map(|(at, cell)| air_column(at, cell))
        .filter(|air| air.percentile.is_some() == member_at.is_none())
        .collect();
    air.sort_by(|a, b| a.percentile.unwrap_or(0.0).total_cmp(&b.percentile.unwrap_or(0.0)));
    air.dedup_by(|b, a| a.percentile == b.percentile);
    let enough = if member_at.is_some() {
        !air.is_empty()
    } else {
        air.len() >= 2
    };
    let (Some(time_at), true) = (time_at, enough) else {
        faults.push(
            Fault::new("BW-S01", Severity::Fatal, "this is no file of members or percentiles")
                .file(file_name)
                .line(records.header_line())
                .value(&records.header().join(" | "))
                .expected("time, and either member with air_temp_f, or two or more of air_temp_f_p10, air_temp_f_p50, air_temp_f_p90")
                .remedy("Rename the columns."),
        );
        return (Spread::default(), faults);
    };
    let decimal_comma = records.decimal_comma_likely();
    let mut stations: BTreeMap<String, Rows> = BTreeMap::new();
    // Each member tells each hour, so each has a fold of its own.
    let mut resolvers: BTreeMap<String, Option<Resolver>> = BTreeMap::new();
    let newest_first = newest_first(bytes, time_at, station_at, member_at);
    let (mut record, mut rows, mut no_zone) = (Record::default(), 0_usize, 0_usize);
    loop {
        match records.read(&mut record, &mut faults) {
            Ok(true) => rows += 1,
            Ok(false) => break,
            Err(fault) => {
                faults.push(fault);
                return (Spread::default(), faults);
            }
        }
        let cell = |at: Option<usize>| at.and_then(|at| record.fields.get(at)).map_or("", String::as_str);
        let fault = |code: &'static str, column: &str, value: &str, what: &str| {
            Fault::new(code, Severity::Rejected, what)
                .file(file_name)
                .line(record.line)
                .column(column)
                .value(value)
                .remedy("The row was not used.")
        };
        let station = cell(station_at).to_owned();
        let resolver = resolvers.entry(key(&station, cell(member_at))).or_insert_with(|| {
            options
                .zone_of(&station)
                .map(|zone| Resolver::new(zone, options.fold, options.gap).newest_first(newest_first))
        });
        let text = cell(Some(time_at));
        let time = match (parse(text), resolver) {
            (Some(Written::Instant(time)), _) => time,
            (Some(Written::Local(_)), None) => {
                no_zone += 1;
                continue;
            }
            (Some(Written::Local(local)), Some(resolver)) => match resolver.resolve(local) {
                Ok(time) => time,
                Err(_) => {
                    faults.push(fault(
                        "BW-S07",
                        "time",
                        text,
                        "a local time that never was, or was told twice",
                    ));
                    continue;
                }
            },
            (None, _) => {
                faults.push(fault("BW-S04", "time", text, "this is not a time").expected("2026-01-20T05:00:00-06:00"));
                continue;
            }
        };
        let mut values = Vec::with_capacity(air.len());
        for column in &air {
            let text = cell(Some(column.at));
            let number = match decimal_comma {
                true => text.replace(',', ".").parse::<f64>(),
                false => text.parse::<f64>(),
            };
            let told = records.header().get(column.at).map_or("", String::as_str);
            match number.ok().filter(|n| n.is_finite()) {
                None => faults.push(fault("BW-S05", told, text, "this is not a number").expected("a temperature")),
                Some(n) => {
                    let c = if column.fahrenheit { c_from_f(n) } else { n };
                    if (COLDEST_BELIEVED_C..=WARMEST_BELIEVED_C).contains(&c) {
                        values.push(c);
                    } else {
                        faults.push(
                            fault("BW-S06", told, text, "this value cannot be")
                                .expected("a temperature that nature allows"),
                        );
                    }
                }
            }
        }
        if values.len() < air.len() {
            continue;
        }
        if values.windows(2).any(|pair| pair[1] < pair[0]) {
            faults.push(
                fault(
                    "BW-S25",
                    "air_temp",
                    "",
                    "a higher percentile is colder than a lower one",
                )
                .expected("temperatures that rise with the percentile"),
            );
            continue;
        }
        let row = stations.entry(station).or_default().entry(time).or_default();
        for (at, value) in values.into_iter().enumerate() {
            // Percentiles are told in the order of their columns.
            let name = match member_at {
                Some(_) => cell(member_at).to_owned(),
                None => format!("{at:03}"),
            };
            row.insert(name, value);
        }
    }
    if no_zone > 0 {
        faults.push(
            Fault::new(
                "BW-S03",
                Severity::Fatal,
                format!("{no_zone} times carry no offset and no zone was given"),
            )
            .file(file_name)
            .column("time")
            .expected("times with an offset, such as 2026-01-20T05:00:00-06:00")
            .remedy("Give --zone with the name of the time zone, such as America/Chicago."),
        );
    }
    if rows == 0 {
        faults.push(
            Fault::new(
                "BW-S10",
                Severity::Fatal,
                "the file of members or percentiles has a header and no rows",
            )
            .file(file_name)
            .remedy("Export it again."),
        );
    }
    let scores: Vec<f64> = air
        .iter()
        .filter_map(|column| column.percentile)
        .map(score_of)
        .collect();
    let stations = stations
        .into_iter()
        .filter_map(|(station, rows)| {
            let told = match member_at {
                Some(_) => Told::Members(whole_members(&station, rows, file_name, &mut faults)?),
                None => Told::Percentiles {
                    scores: scores.clone(),
                    nodes: rows
                        .into_iter()
                        .map(|(time, row)| (When::At(time), row.into_values().collect()))
                        .collect(),
                },
            };
            Some((station, told))
        })
        .collect();
    let spread = Spread {
        stations,
        own_only: false,
    };
    (spread, faults)
}

/// Times at which every member has a value. A member that lacks more than half of the times is left out first.
fn whole_members(
    station: &str,
    rows: Rows,
    file_name: &str,
    faults: &mut Faults,
) -> Option<Vec<(DateTime<Utc>, Vec<f64>)>> {
    let mut seen: BTreeMap<String, usize> = BTreeMap::new();
    for name in rows.values().flat_map(BTreeMap::keys) {
        *seen.entry(name.clone()).or_default() += 1;
    }
    let all = seen.len();
    let kept: Vec<String> = seen
        .into_iter()
        .filter(|(_, times)| times * 2 > rows.len())
        .map(|(name, _)| name)
        .collect();
    let times = rows.len();
    let nodes: Vec<(DateTime<Utc>, Vec<f64>)> = rows
        .into_iter()
        .filter_map(|(time, row)| {
            let air: Option<Vec<f64>> = kept.iter().map(|name| row.get(name).copied()).collect();
            air.filter(|air| !air.is_empty()).map(|air| (time, air))
        })
        .collect();
    let (members_out, times_out) = (all - kept.len(), times - nodes.len());
    if members_out + times_out > 0 {
        faults.push(
            Fault::new(
                "BW-S26",
                Severity::Warning,
                format!("members lack some of the times: {members_out} members and {times_out} times were left out"),
            )
            .file(file_name)
            .column("member")
            .value(station)
            .expected("every member at every time"),
        );
    }
    (!nodes.is_empty()).then_some(nodes)
}
