//! The US weather service's observations: a collection, newest first, each value with its quality-control letter.
//!
//! X (rejected) and Q (questioned) are set aside; null is missing, never zero. Five-minute reports are whole °C, the hourly ones
//! have tenths; both are read and the one nearest to the hour stands for it \[nws-api\].

use super::common::{Reading, reading};
use super::service_json::{Document, place, quantity, time_at};
use crate::faults::Severity;
use crate::weather::assemble::RawReading;
use crate::weather::series::{Kind, Station};
use serde_json::Value;
use std::collections::BTreeMap;

/// Name of the format.
pub const FORMAT: &str = "nws-observations";

/// Reads observations, one [`Document`] for each station.
///
/// Faults: `BW-S32` an observation without a time.
pub(super) fn documents(features: &[Value], file: &mut Reading<'_>) -> Vec<Document> {
    let mut stations: BTreeMap<String, Document> = BTreeMap::new();
    for (at, feature) in features.iter().enumerate() {
        let Some(properties) = feature.get("properties") else {
            continue;
        };
        let Some(time_utc) = time_at(properties, "timestamp") else {
            let fault = file
                .fault(
                    "BW-S32",
                    Severity::Rejected,
                    format!("observation {} has no time", at + 1),
                )
                .column("timestamp")
                .expected("a time such as 2026-01-24T02:53:00+00:00")
                .remedy("The observation was not used.");
            file.push(fault);
            continue;
        };
        let id = properties
            .get("station")
            .and_then(Value::as_str)
            .and_then(|url| url.rsplit('/').next())
            .unwrap_or("")
            .to_owned();
        let mark = |key: &str| {
            properties
                .get(key)
                .and_then(|value| value.get("qualityControl"))
                .and_then(Value::as_str)
        };
        let bad = |key: &str| matches!(mark(key), Some("X" | "Q"));
        let good = |key: &str| quantity(properties.get(key)).filter(|_| !bad(key));
        let one = reading(RawReading {
            time_utc,
            air_c: quantity(properties.get("temperature")),
            dew_point_c: good("dewpoint"),
            wind_m_s: good("windSpeed"),
            sky_cover: cover(properties.get("cloudLayers")),
            kind: Kind::Observed,
            set_aside: bad("temperature").then(|| {
                format!(
                    "quality control of the service: {}",
                    match mark("temperature") {
                        Some("X") => "X, rejected",
                        _ => "Q, questioned",
                    }
                )
            }),
        });
        let (latitude_deg, longitude_deg) = place(feature);
        let elevation_m = quantity(properties.get("elevation"));
        stations
            .entry(id.clone())
            .or_insert_with(|| Document {
                format: FORMAT,
                station: Station {
                    station_id: id,
                    latitude_deg,
                    longitude_deg,
                    elevation_m,
                },
                readings: Vec::new(),
                issued: None,
            })
            .readings
            .push(one);
    }
    stations.into_values().collect()
}

/// Cover of the most covered layer, middle of its code's eighths; `None` when no layer is told.
fn cover(layers: Option<&Value>) -> Option<f64> {
    layers?
        .as_array()?
        .iter()
        .filter_map(|layer| {
            Some(match layer.get("amount")?.as_str()? {
                "CLR" | "SKC" => 0.0,
                "FEW" => 1.5 / 8.0,
                "SCT" => 3.5 / 8.0,
                "BKN" => 6.0 / 8.0,
                "OVC" | "VV" => 1.0,
                _ => return None,
            })
        })
        .max_by(f64::total_cmp)
}
