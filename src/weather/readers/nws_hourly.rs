//! The US weather service's hourly forecast: periods with a local start time and its offset, whole °F and wind in words, or the same as
//! quantities when the request asked for them \[nws-api\].

use super::common::{Reading, reading};
use super::service_json::{Document, in_si, issued_at, place, quantity, time_at};
use crate::faults::Severity;
use crate::units::{M_S_PER_MPH, c_from_f};
use crate::weather::assemble::RawReading;
use crate::weather::series::{Kind, Station};
use chrono::TimeDelta;
use serde_json::Value;

/// Name of the format.
pub const FORMAT: &str = "nws-hourly";

/// Longest period that is spread to hours.
const MOST_HOURS: i64 = 48;

/// Wind in m/s from "15 mph", "10 to 15 mph" or "20 km/h": the larger number, for the layer is the prevailing wind's largest.
fn wind_m_s(text: &str) -> Option<f64> {
    let largest = text
        .split(|c: char| !(c.is_ascii_digit() || c == '.'))
        .filter_map(|part| part.parse::<f64>().ok())
        .max_by(f64::total_cmp)?;
    if text.contains("mph") {
        Some(largest * M_S_PER_MPH)
    } else if text.contains("km/h") {
        Some(largest / 3.6)
    } else {
        None
    }
}

/// Reads the document.
///
/// Faults: `BW-S31` no usable period (fatal), `BW-S32` a period that cannot be read.
pub(super) fn document(value: &Value, file: &mut Reading<'_>) -> Option<Document> {
    let properties = value.get("properties")?;
    let mut readings = Vec::new();
    for (at, period) in properties.get("periods").and_then(Value::as_array)?.iter().enumerate() {
        let start = time_at(period, "startTime");
        let air_c = match period.get("temperature") {
            Some(Value::Number(number)) => {
                let unit = period.get("temperatureUnit").and_then(Value::as_str).unwrap_or("F");
                number.as_f64().and_then(|number| match unit {
                    "F" => Some(c_from_f(number)),
                    "C" => Some(number),
                    other => in_si(number, other),
                })
            }
            other => quantity(other),
        };
        let (Some(start), Some(air_c)) = (start, air_c) else {
            let fault = file
                .fault(
                    "BW-S32",
                    Severity::Rejected,
                    format!("period {} has no time or no temperature", at + 1),
                )
                .column("periods")
                .expected("startTime with its offset, temperature and its unit")
                .remedy("The period was not used.");
            file.push(fault);
            continue;
        };
        let end = time_at(period, "endTime").unwrap_or(start + TimeDelta::hours(1));
        let wind = match period.get("windSpeed") {
            Some(Value::String(text)) => wind_m_s(text),
            other => quantity(other),
        };
        let hours = (end - start).num_hours().clamp(1, MOST_HOURS);
        for hour in 0..hours {
            readings.push(reading(RawReading {
                time_utc: start + TimeDelta::hours(hour),
                air_c: Some(air_c),
                wind_m_s: wind,
                dew_point_c: quantity(period.get("dewpoint")),
                sky_cover: None,
                kind: Kind::Forecast,
                set_aside: None,
            }));
        }
    }
    if readings.is_empty() {
        let fault = file
            .fault("BW-S31", Severity::Fatal, "the forecast has no usable period")
            .expected("properties.periods with startTime and temperature");
        file.push(fault);
        return None;
    }
    let (latitude_deg, longitude_deg) = place(value);
    Some(Document {
        format: FORMAT,
        station: Station {
            station_id: String::new(),
            latitude_deg,
            longitude_deg,
            elevation_m: quantity(properties.get("elevation")),
        },
        readings,
        issued: issued_at(properties, &["updateTime", "generatedAt"], file),
    })
}
