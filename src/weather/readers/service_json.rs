//! JSON of the US weather service, told apart by what is in it, and our own bundle of its replies.
//!
//! The bundle is what `weather fetch` writes: `{"schema":"brimwater.fetched/1","fetched":…,"stale":false,"documents":[{"role":
//! "gridpoint"|"hourly"|"observations","url":…,"retrieved":…,"stale":false,"body":{the reply as it came}}]}`. Its hours are the
//! observations of the nearest station as far as they go, then the forecast.

use super::common::{Reading, text_of};
use super::{Found, Nature, ReadOptions, met_norway, nws_gridpoint, nws_hourly, nws_observations, open_meteo};
use crate::faults::{Faults, Severity};
use crate::weather::assemble::RawReading;
use crate::weather::series::{Kind, Station};
use chrono::{DateTime, Utc};
use serde_json::Value;
use std::collections::BTreeSet;

/// Name of the bundle's format.
pub const FORMAT_BUNDLE: &str = "fetched-bundle";
/// Schema of the bundle.
pub const BUNDLE_SCHEMA: &str = "brimwater.fetched/1";

/// What one document holds.
pub(super) struct Document {
    pub format: &'static str,
    pub station: Station,
    pub readings: Vec<RawReading>,
    pub issued: Option<DateTime<Utc>>,
}

/// A number at a key, when it is there and finite.
pub(super) fn number_at(value: &Value, key: &str) -> Option<f64> {
    value
        .get(key)
        .and_then(Value::as_f64)
        .filter(|number| number.is_finite())
}

/// An instant at a key.
pub(super) fn time_at(value: &Value, key: &str) -> Option<DateTime<Utc>> {
    let text = value.get(key)?.as_str()?;
    Some(DateTime::parse_from_rfc3339(text).ok()?.to_utc())
}

/// When a forecast was made, by the first of these keys that can be read.
///
/// Faults: `BW-S71` (warning) one of them stands there and cannot be read, so that nobody knows how old the forecast is.
pub(super) fn issued_at(value: &Value, keys: &[&str], file: &mut Reading<'_>) -> Option<DateTime<Utc>> {
    let found = keys.iter().find_map(|key| time_at(value, key));
    let unread = keys
        .iter()
        .find_map(|key| Some((*key, value.get(key).filter(|_| time_at(value, key).is_none())?)));
    if let (None, Some((key, text))) = (found, unread) {
        let fault = file
            .fault(
                "BW-S71",
                Severity::Warning,
                "when the forecast was made cannot be read: it may be stale",
            )
            .column(key)
            .value(text.as_str().unwrap_or(&text.to_string()))
            .expected("a time such as 2026-01-24T02:53:00+00:00")
            .remedy("Fetch it again, or look at the weather service's own page before you act on it.");
        file.push(fault);
    }
    found
}

/// A quantity `{unitCode, value}` in SI: °C, m/s, m or fraction; `None` for null or an unknown unit.
pub(super) fn quantity(value: Option<&Value>) -> Option<f64> {
    let value = value?;
    let number = number_at(value, "value").or_else(|| number_at(value, "maxValue"))?;
    in_si(number, value.get("unitCode").and_then(Value::as_str).unwrap_or(""))
}

/// A number with the service's unit code, with or without its prefix, in SI.
pub(super) fn in_si(number: f64, unit: &str) -> Option<f64> {
    let unit = unit.rsplit(':').next().unwrap_or(unit);
    Some(match unit {
        "degC" | "m" | "m_s-1" => number,
        "degF" => crate::units::c_from_f(number),
        "K" => number - crate::units::ZERO_C_IN_K,
        "km_h-1" => number / 3.6,
        "percent" => number / 100.0,
        "ft" => number * crate::units::M_PER_FT,
        _ => return None,
    })
}

/// Middle of a polygon, or the point: latitude and longitude.
pub(super) fn place(feature: &Value) -> (Option<f64>, Option<f64>) {
    let coordinates = feature.get("geometry").and_then(|geometry| geometry.get("coordinates"));
    let mut points: Vec<(f64, f64)> = Vec::new();
    let mut open = vec![coordinates];
    // Nested lists down to pairs of numbers; longitude comes first in GeoJSON.
    while let Some(next) = open.pop() {
        let Some(list) = next.and_then(Value::as_array) else {
            continue;
        };
        match (
            list.first().and_then(Value::as_f64),
            list.get(1).and_then(Value::as_f64),
        ) {
            (Some(longitude), Some(latitude)) => points.push((latitude, longitude)),
            _ => open.extend(list.iter().map(Some)),
        }
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    points.dedup();
    if points.is_empty() {
        return (None, None);
    }
    let count = points.len() as f64;
    let middle = |pick: fn(&(f64, f64)) -> f64, most: f64| {
        Some(points.iter().map(pick).sum::<f64>() / count).filter(|value| value.abs() <= most)
    };
    (middle(|point| point.0, 90.0), middle(|point| point.1, 180.0))
}

/// What a JSON value is, in words for people.
fn what_it_is(value: &Value) -> &'static str {
    let properties = value.get("properties");
    let has = |key: &str| properties.is_some_and(|properties| properties.get(key).is_some());
    if value.get("title").is_some() && value.get("status").is_some() {
        "an error message of the service"
    } else if has("forecastGridData") {
        "the service's answer about a point, not a forecast"
    } else if value.get("observationStations").is_some() {
        "a list of stations, not their observations"
    } else if value.get("features").is_some() {
        "a collection without observations, perhaps alerts"
    } else {
        "JSON of another kind"
    }
}

/// Reads one document of the service.
///
/// Faults: `BW-S31` it is no weather document, or lacks what it needs (fatal).
pub(super) fn document(value: &Value, file: &mut Reading<'_>) -> Vec<Document> {
    let properties = value.get("properties").unwrap_or(&Value::Null);
    if properties.get("periods").is_some() {
        return nws_hourly::document(value, file).into_iter().collect();
    }
    if properties
        .get("temperature")
        .is_some_and(|layer| layer.get("values").is_some())
    {
        return nws_gridpoint::document(value, file).into_iter().collect();
    }
    let is_observation = |feature: &Value| {
        feature
            .get("properties")
            .is_some_and(|own| own.get("timestamp").is_some() && own.get("temperature").is_some())
    };
    if is_observation(value) {
        return nws_observations::documents(std::slice::from_ref(value), file);
    }
    if let Some(features) = value.get("features").and_then(Value::as_array)
        && features.iter().any(is_observation)
    {
        return nws_observations::documents(features, file);
    }
    let mut fault = file
        .fault("BW-S31", Severity::Fatal, format!("this is {}", what_it_is(value)))
        .expected("a gridpoint forecast, an hourly forecast or observations of the weather service, or what `weather fetch` wrote");
    if let Some(title) = value.get("title").and_then(Value::as_str) {
        fault = fault.value(title);
    }
    file.push(fault);
    Vec::new()
}

/// Reads a JSON document of the service, or a bundle of them.
///
/// Forecasts with their own spread go to [`met_norway`] and [`open_meteo`].
///
/// Faults: `BW-S30` no JSON (fatal), `BW-S31` no weather in it (fatal), `BW-S36` marked stale when it was fetched (warning), and those of
/// the documents.
pub fn read(bytes: &[u8], file_name: &str, options: &ReadOptions) -> (Vec<Found>, Faults) {
    let mut file = Reading::new(file_name, options);
    let value: Value = match serde_json::from_str(&text_of(bytes)) {
        Ok(value) => value,
        Err(error) => {
            let fault = file
                .fault(
                    "BW-S30",
                    Severity::Fatal,
                    format!("the file begins like JSON and is not: {error}"),
                )
                .line(error.line() as u64)
                .expected("a whole document")
                .remedy("Fetch it again; it may have been cut short.");
            file.push(fault);
            return (Vec::new(), file.finish());
        }
    };
    if value.get("schema").and_then(Value::as_str) == Some(BUNDLE_SCHEMA) {
        let found = bundle(&value, &mut file);
        return (found.into_iter().collect(), file.finish());
    }
    if met_norway::recognises(&value) {
        let found = met_norway::document(&value, &mut file);
        return (found.into_iter().collect(), file.finish());
    }
    if open_meteo::recognises(&value) {
        let found = open_meteo::documents(&value, &mut file);
        return (found, file.finish());
    }
    let mut found = Vec::new();
    for document in document(&value, &mut file) {
        found.push(file.hourly(
            document.format,
            document.station,
            document.readings,
            document.issued,
            Nature::Record,
        ));
    }
    (found, file.finish())
}

fn bundle(value: &Value, file: &mut Reading<'_>) -> Option<Found> {
    let documents = value.get("documents").and_then(Value::as_array);
    let stale = |value: &Value| value.get("stale").and_then(Value::as_bool) == Some(true);
    if stale(value) && !documents.is_some_and(|all| all.iter().any(stale)) {
        let fault = file
            .fault(
                "BW-S36",
                Severity::Warning,
                "the forecast was stale, or of no known age, when it was fetched",
            )
            .remedy("Fetch again before you act on it.");
        file.push(fault);
    }
    let mut forecast: Option<Document> = None;
    let mut observed: Vec<RawReading> = Vec::new();
    for entry in value
        .get("documents")
        .and_then(Value::as_array)
        .map_or(&[][..], Vec::as_slice)
    {
        let role = entry.get("role").and_then(Value::as_str).unwrap_or("");
        if entry.get("stale").and_then(Value::as_bool) == Some(true) {
            let retrieved = entry
                .get("retrieved")
                .and_then(Value::as_str)
                .unwrap_or("an unknown time");
            let fault = file
                .fault(
                    "BW-S36",
                    Severity::Warning,
                    format!("the {role} document is the last good one, retrieved {retrieved}: the service did not answer later"),
                )
                .remedy("Fetch again before you act on it.");
            file.push(fault);
        }
        let Some(body) = entry.get("body") else { continue };
        for one in document(body, file) {
            match role {
                "gridpoint" => forecast = Some(one),
                "hourly" if forecast.is_none() => forecast = Some(one),
                "observations" => observed.extend(one.readings),
                _ => {}
            }
        }
    }
    let Some(mut forecast) = forecast else {
        if !file.faults.is_fatal() {
            let fault = file
                .fault("BW-S31", Severity::Fatal, "the fetched file holds no forecast")
                .expected("a document whose role is gridpoint or hourly");
            file.push(fault);
        }
        return None;
    };
    observed.retain(|reading| reading.kind == Kind::Observed && reading.air_c.is_some() && reading.set_aside.is_none());
    // An observation goes before the forecast of its hour. Observations older than a gap before the forecast would leave a
    // hole, so that only those from three hours before its first hour count.
    let hour = |time: DateTime<Utc>| (time.timestamp() + 1800).div_euclid(3600);
    let first = forecast
        .readings
        .iter()
        .map(|reading| hour(reading.time_utc))
        .min()
        .unwrap_or(0);
    observed.retain(|reading| hour(reading.time_utc) >= first - 3);
    let hours: BTreeSet<i64> = observed.iter().map(|reading| hour(reading.time_utc)).collect();
    let covers: Vec<(i64, Option<f64>)> = forecast
        .readings
        .iter()
        .map(|reading| (hour(reading.time_utc), reading.sky_cover))
        .collect();
    for reading in &mut observed {
        // The sky is not in an observation's numbers: the forecast's cover of that hour stands in.
        reading.sky_cover = reading.sky_cover.or_else(|| {
            covers
                .iter()
                .find(|(at, _)| *at == hour(reading.time_utc))
                .and_then(|(_, cover)| *cover)
        });
    }
    forecast
        .readings
        .retain(|reading| !hours.contains(&hour(reading.time_utc)));
    forecast.readings.extend(observed);
    Some(file.hourly(
        FORMAT_BUNDLE,
        forecast.station,
        forecast.readings,
        forecast.issued,
        Nature::Record,
    ))
}
