//! The US weather service's raw gridpoint forecast: layers of values, each valid over an ISO 8601 interval.
//!
//! Equal hours are merged into one interval, which is spread back here (`[start, start + duration)`). Values are whole °F written
//! as °C. Empty layers have no unit. Past hours are kept as forecast. The night's minimum is a layer of its own and may lie below
//! the hourly values of that night; then the hours are lowered so that the coldest reaches it, and that is told: the risk is the
//! lower of the two \[nws-api\].

use super::common::{Reading, believed, reading};
use super::service_json::{Document, in_si, issued_at, place, quantity};
use crate::faults::Severity;
use crate::weather::assemble::RawReading;
use crate::weather::duration::parse_interval;
use crate::weather::series::{Kind, Station};
use chrono::DateTime;
use serde_json::Value;
use std::collections::BTreeMap;

/// Name of the format.
pub const FORMAT: &str = "nws-gridpoint";

/// Difference between a night's minimum and its coldest hour that rounding explains, K: both are whole °F.
const SAME_K: f64 = 0.3;
/// Most hours that a document's layers may span: the service's is 8 days, and this bounds what a wrong duration can ask for.
const MOST_HOURS: i64 = 24 * 40;

/// Value of each hour since the epoch.
type Hours = BTreeMap<i64, f64>;

/// Spreads a layer to hours.
fn layer(properties: &Value, name: &str, file: &mut Reading<'_>) -> Hours {
    let mut hours = Hours::new();
    for (start, end, value) in intervals(properties, name, file) {
        let first = start.div_euclid(3600);
        let last = (end + 3599).div_euclid(3600);
        if last - first > MOST_HOURS {
            continue;
        }
        for hour in first..last {
            hours.insert(hour, value);
        }
    }
    let first = hours.keys().next().copied().unwrap_or(0);
    hours.retain(|hour, _| hour - first < MOST_HOURS);
    hours
}

/// Intervals of a layer in seconds since the epoch, with their value in SI; null values are left out.
fn intervals(properties: &Value, name: &str, file: &mut Reading<'_>) -> Vec<(i64, i64, f64)> {
    let Some(layer) = properties.get(name) else {
        return Vec::new();
    };
    let unit = layer.get("uom").and_then(Value::as_str);
    let mut out = Vec::new();
    for entry in layer
        .get("values")
        .and_then(Value::as_array)
        .map_or(&[][..], Vec::as_slice)
    {
        let valid = entry.get("validTime").and_then(Value::as_str).unwrap_or("");
        let Some((start, end)) = parse_interval(valid) else {
            let fault = file
                .fault("BW-S32", Severity::Rejected, "this is not an interval")
                .column(name)
                .value(valid)
                .expected("a start and a duration, such as 2026-01-24T01:00:00+00:00/PT14H")
                .remedy("The value was not used.");
            file.push(fault);
            continue;
        };
        let Some(number) = entry
            .get("value")
            .and_then(Value::as_f64)
            .filter(|number| number.is_finite())
        else {
            continue;
        };
        let Some(value) = in_si(number, unit.unwrap_or("")) else {
            let fault = file
                .fault(
                    "BW-S32",
                    Severity::Rejected,
                    format!("the layer {name} has a unit that is not known"),
                )
                .column(name)
                .value(unit.unwrap_or("none"))
                .expected("degC, degF, km_h-1, m_s-1 or percent")
                .remedy("The layer was not used.");
            file.push(fault);
            break;
        };
        out.push((start.timestamp(), end.timestamp(), value));
    }
    out
}

/// Lowers the hours of a night whose stated minimum is below them: most at the coldest hour, less toward both ends of the night.
/// Returns by how much the coldest hour was lowered.
fn reach_minimum(air: &mut Hours, start: i64, end: i64, minimum_c: f64) -> Option<f64> {
    let (first, last) = (start.div_euclid(3600), (end + 3599).div_euclid(3600));
    let night: Vec<(i64, f64)> = air.range(first..last).map(|(hour, value)| (*hour, *value)).collect();
    // The last of equal hours: nights are coldest at their end.
    let (coldest_hour, coldest_c) = night.iter().rev().copied().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let short = coldest_c - minimum_c;
    if short <= SAME_K || night.len() as i64 * 2 < last - first {
        return None;
    }
    for (hour, value) in night {
        let room = if hour <= coldest_hour {
            coldest_hour - first + 1
        } else {
            last - coldest_hour
        };
        let share = 1.0 - (hour - coldest_hour).abs() as f64 / room as f64;
        air.insert(hour, value - short * share.max(0.0));
    }
    Some(short)
}

/// Reads the document.
///
/// Faults: `BW-S31` no usable temperature (fatal), `BW-S32` an interval or unit that cannot be read, `BW-S40` hours lowered to the
/// night's minimum (note).
pub(super) fn document(value: &Value, file: &mut Reading<'_>) -> Option<Document> {
    let properties = value.get("properties")?;
    let mut air = layer(properties, "temperature", file);
    if air.is_empty() {
        let fault = file
            .fault("BW-S31", Severity::Fatal, "the forecast has no temperature")
            .expected("properties.temperature.values with validTime and value");
        file.push(fault);
        return None;
    }
    // What cannot be is left as it is, to be set aside and told: pulled to the night's minimum it would pass for weather.
    let wild: Hours = air
        .iter()
        .filter(|(_, air)| !believed(**air))
        .map(|(hour, air)| (*hour, *air))
        .collect();
    air.retain(|_, air| believed(*air));
    for (start, end, minimum_c) in intervals(properties, "minTemperature", file) {
        if (end - start) / 3600 > 36 {
            continue;
        }
        if !believed(minimum_c) {
            let fault = file
                .fault("BW-S32", Severity::Rejected, "this minimum of a night cannot be")
                .column("minTemperature")
                .value(&format!("{minimum_c:.1} °C"))
                .remedy("It was not used; the hours stand as they are.");
            file.push(fault);
            continue;
        }
        if let Some(by_k) = reach_minimum(&mut air, start, end, minimum_c) {
            let until = DateTime::from_timestamp(end, 0).map_or_else(String::new, |end| end.to_rfc3339());
            let note = file
                .fault(
                    "BW-S40",
                    Severity::Note,
                    format!(
                        "the night that ends {until} has a stated minimum of {minimum_c:.1} °C, {by_k:.1} K below its hourly values; the hours were lowered to reach it"
                    ),
                )
                .column("minTemperature");
            file.push(note);
        }
    }
    air.extend(wild);
    let wind = layer(properties, "windSpeed", file);
    let dew = layer(properties, "dewpoint", file);
    let sky = layer(properties, "skyCover", file);
    let readings = air
        .iter()
        .filter_map(|(hour, air_c)| {
            Some(reading(RawReading {
                time_utc: DateTime::from_timestamp(hour.checked_mul(3600)?, 0)?,
                air_c: Some(*air_c),
                wind_m_s: wind.get(hour).copied(),
                dew_point_c: dew.get(hour).copied(),
                sky_cover: sky.get(hour).copied(),
                kind: Kind::Forecast,
                set_aside: None,
            }))
        })
        .collect();
    let text = |key: &str| match properties.get(key) {
        Some(Value::String(text)) => text.clone(),
        Some(Value::Number(number)) => number.to_string(),
        _ => String::new(),
    };
    let (latitude_deg, longitude_deg) = place(value);
    let grid = text("gridId");
    Some(Document {
        format: FORMAT,
        station: Station {
            station_id: if grid.is_empty() {
                grid
            } else {
                format!("{grid}/{},{}", text("gridX"), text("gridY"))
            },
            latitude_deg,
            longitude_deg,
            elevation_m: quantity(properties.get("elevation")),
        },
        readings,
        issued: issued_at(properties, &["updateTime"], file),
    })
}
