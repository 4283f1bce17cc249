//! The ensemble forecast of Open-Meteo \[open-meteo-ensemble\], JSON: a control run and members, one array each beside the array of times; one
//! place, or a list of places. Whether the free service may be used for this purpose is for the utility to check.

use super::common::{Reading, believed, reading};
use super::service_json::number_at;
use super::{Found, Nature};
use crate::faults::Severity;
use crate::units::{M_S_PER_MPH, c_from_f};
use crate::weather::assemble::RawReading;
use crate::weather::series::{Kind, Station};
use crate::weather::spread::Told;
use chrono::{DateTime, NaiveDateTime, TimeDelta, Utc};
use serde_json::{Map, Value};

/// Name of the format.
pub const FORMAT: &str = "open-meteo-ensemble";
const AIR: &str = "temperature_2m";

fn is_one(value: &Value) -> bool {
    value.get("hourly").is_some_and(|hourly| hourly.get("time").is_some())
}

/// Whether this is such a forecast.
pub(super) fn recognises(value: &Value) -> bool {
    is_one(value) || value.as_array().and_then(|list| list.first()).is_some_and(is_one)
}

/// Reads the document or the list of documents.
pub(super) fn documents(value: &Value, file: &mut Reading<'_>) -> Vec<Found> {
    match value.as_array() {
        None => document(value, "", file).into_iter().collect(),
        Some(list) => {
            let many = list.len() > 1;
            let name = |at: usize| {
                if many {
                    format!("place-{}", at + 1)
                } else {
                    String::new()
                }
            };
            let found = list.iter().enumerate();
            found.filter_map(|(at, one)| document(one, &name(at), file)).collect()
        }
    }
}

/// A time as the document writes it: local of its own offset, or seconds.
fn time_of(value: &Value, offset_s: i64) -> Option<DateTime<Utc>> {
    if let Some(seconds) = value.as_i64() {
        return DateTime::from_timestamp(seconds, 0);
    }
    let local = NaiveDateTime::parse_from_str(value.as_str()?, "%Y-%m-%dT%H:%M").ok()?;
    Some(local.checked_sub_signed(TimeDelta::seconds(offset_s))?.and_utc())
}

/// How a unit becomes °C.
fn celsius(unit: &str) -> Option<fn(f64) -> f64> {
    match unit {
        "°C" => Some(|value| value),
        "°F" => Some(c_from_f),
        _ => None,
    }
}

/// How a unit becomes m/s.
fn m_per_s(unit: &str) -> Option<f64> {
    match unit {
        "m/s" => Some(1.0),
        "km/h" => Some(1.0 / 3.6),
        "mp/h" | "mph" => Some(M_S_PER_MPH),
        "kn" => Some(super::common::M_S_PER_KNOT),
        _ => None,
    }
}

/// Arrays of numbers as wide as the times. Others are told and left out (`BW-S45`).
fn column<'v>(hourly: &'v Map<String, Value>, name: &str, times: usize, file: &mut Reading<'_>) -> Option<&'v [Value]> {
    let values = hourly.get(name)?.as_array()?;
    if values.len() == times {
        return Some(values);
    }
    let fault = file
        .fault(
            "BW-S45",
            Severity::Rejected,
            "a member has more or fewer values than there are times",
        )
        .column(name)
        .value(&format!("{} values, {times} times", values.len()))
        .expected("one value a time in every array")
        .remedy("The member was not used.");
    file.push(fault);
    None
}

/// Reads one place.
///
/// Faults: `BW-S46` unit missing or unknown (fatal), `BW-S04` a time that is none (fatal, for then the arrays belong to nothing), `BW-S31` no
/// usable run (fatal), `BW-S45` arrays of unequal length (not used), `BW-S26` members that lack times (warning).
fn document(value: &Value, name: &str, file: &mut Reading<'_>) -> Option<Found> {
    let hourly = value.get("hourly")?.as_object()?;
    let unit = |name: &str| {
        let units = value.get("hourly_units")?;
        units.get(name).and_then(Value::as_str)
    };
    let Some(to_c) = unit(AIR).and_then(celsius) else {
        let fault = file
            .fault(
                "BW-S46",
                Severity::Fatal,
                "the unit of the air temperature is missing or not the expected one",
            )
            .column("hourly_units.temperature_2m")
            .value(unit(AIR).unwrap_or(""))
            .expected("°C or °F");
        file.push(fault);
        return None;
    };
    let offset_s = value.get("utc_offset_seconds").and_then(Value::as_i64).unwrap_or(0);
    let written = hourly
        .get("time")
        .and_then(Value::as_array)
        .map_or(&[][..], Vec::as_slice);
    let mut times = Vec::with_capacity(written.len());
    for text in written {
        let Some(time) = time_of(text, offset_s.clamp(-86_400, 86_400)) else {
            let fault = file
                .fault("BW-S04", Severity::Fatal, "this is not a time")
                .column("hourly.time")
                .value(&text.to_string())
                .expected("2026-01-20T05:00, in the offset that utc_offset_seconds tells");
            file.push(fault);
            return None;
        };
        times.push(time);
    }
    let mut runs: Vec<Vec<Option<f64>>> = Vec::new();
    let names: Vec<&String> = hourly
        .keys()
        .filter(|key| key.as_str() == AIR || key.strip_prefix(AIR).is_some_and(|rest| rest.starts_with("_member")))
        .collect();
    for key in &names {
        // The unit of a member is that of the control unless it tells its own.
        let to_c = unit(key).and_then(celsius).unwrap_or(to_c);
        if let Some(values) = column(hourly, key, times.len(), file) {
            let air = values
                .iter()
                .map(|value| value.as_f64().map(to_c).filter(|air| believed(*air)));
            runs.push(air.collect());
        }
    }
    let Some(control) = runs.first().filter(|run| run.iter().any(Option::is_some)) else {
        let fault = file
            .fault("BW-S31", Severity::Fatal, "the forecast has no usable run")
            .expected("hourly.temperature_2m as long as hourly.time");
        file.push(fault);
        return None;
    };
    let dew_to_c = unit("dew_point_2m").and_then(celsius);
    let to_m_s = unit("wind_speed_10m").and_then(m_per_s);
    let mut other = |name: &str| column(hourly, name, times.len(), file);
    let (wind, dew, sky) = (other("wind_speed_10m"), other("dew_point_2m"), other("cloud_cover"));
    let number = |values: Option<&[Value]>, at: usize| values.and_then(|values| values.get(at)).and_then(Value::as_f64);
    let readings = times
        .iter()
        .enumerate()
        .map(|(at, time)| {
            reading(RawReading {
                time_utc: *time,
                air_c: control.get(at).copied().flatten(),
                wind_m_s: number(wind, at).zip(to_m_s).map(|(wind, factor)| wind * factor),
                dew_point_c: number(dew, at).zip(dew_to_c).map(|(dew, to_c)| to_c(dew)),
                sky_cover: number(sky, at).map(|percent| percent / 100.0),
                kind: Kind::Forecast,
                set_aside: None,
            })
        })
        .collect();
    let station = Station {
        station_id: name.to_owned(),
        latitude_deg: number_at(value, "latitude").filter(|value| value.abs() <= 90.0),
        longitude_deg: number_at(value, "longitude").filter(|value| value.abs() <= 180.0),
        elevation_m: number_at(value, "elevation"),
    };
    let told = members(&times, &runs, file);
    let mut found = file.hourly(FORMAT, station, readings, None, Nature::Record);
    found.told = told;
    Some(found)
}

/// Times at which every member has a value; members that lack more than half of the times are left out first. One run alone tells no
/// spread.
fn members(times: &[DateTime<Utc>], runs: &[Vec<Option<f64>>], file: &mut Reading<'_>) -> Option<Told> {
    let whole = |run: &&Vec<Option<f64>>| run.iter().flatten().count() * 2 > times.len();
    let kept: Vec<&Vec<Option<f64>>> = runs.iter().filter(whole).collect();
    if kept.len() < 2 {
        return None;
    }
    let mut nodes: Vec<(DateTime<Utc>, Vec<f64>)> = Vec::new();
    for (at, time) in times.iter().enumerate() {
        let air: Option<Vec<f64>> = kept.iter().map(|run| run.get(at).copied().flatten()).collect();
        nodes.extend(air.map(|air| (*time, air)));
    }
    nodes.sort_by_key(|node| node.0);
    nodes.dedup_by_key(|node| node.0);
    let (members_out, times_out) = (runs.len() - kept.len(), times.len() - nodes.len());
    if members_out + times_out > 0 {
        let fault = file
            .fault(
                "BW-S26",
                Severity::Warning,
                format!("members lack some of the times: {members_out} members and {times_out} times were left out"),
            )
            .column(AIR)
            .expected("every member at every time");
        file.push(fault);
    }
    (!nodes.is_empty()).then_some(Told::Members(nodes))
}
