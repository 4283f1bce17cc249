//! The point forecast of MET Norway \[met-norway-locationforecast\], JSON, CC BY 4.0: hours, then six-hour steps, with the 10th and
//! 90th percentile of the air.
//!
//! Steps of six hours would flatten the night between them, so that their own minimum and maximum stand in the middle of the step.

use super::common::{Reading, reading};
use super::service_json::{number_at, place, time_at};
use super::{Found, Nature};
use crate::faults::Severity;
use crate::weather::assemble::RawReading;
use crate::weather::series::{Kind, Station};
use crate::weather::spread::{Told, When, score_of};
use chrono::{DateTime, TimeDelta, Utc};
use serde_json::Value;

/// Name of the format.
pub const FORMAT: &str = "met-norway";

/// Whether this is such a forecast.
pub(super) fn recognises(value: &Value) -> bool {
    value
        .get("properties")
        .and_then(|properties| properties.get("timeseries"))
        .is_some_and(Value::is_array)
}

/// A step of the forecast.
struct Step {
    time: DateTime<Utc>,
    air_c: f64,
    /// Lowest and highest of the six hours that follow.
    next_six: Option<(f64, f64)>,
}

/// Whether a named quantity has the unit that it is read in.
fn unit_is(units: Option<&Value>, name: &str, unit: &str) -> bool {
    units.and_then(|units| units.get(name)).and_then(Value::as_str) == Some(unit)
}

/// Reads the document.
///
/// Faults: `BW-S46` a unit is missing or another (fatal), `BW-S31` no usable step (fatal), `BW-S32` a step that cannot be read, `BW-S25`
/// percentiles that cross (the step's percentiles are not used).
pub(super) fn document(value: &Value, file: &mut Reading<'_>) -> Option<Found> {
    let properties = value.get("properties")?;
    let meta = properties.get("meta");
    let units = meta.and_then(|meta| meta.get("units"));
    if !unit_is(units, "air_temperature", "celsius") {
        let told = units
            .and_then(|units| units.get("air_temperature"))
            .and_then(Value::as_str);
        let fault = file
            .fault(
                "BW-S46",
                Severity::Fatal,
                "the unit of the air temperature is missing or not the expected one",
            )
            .column("properties.meta.units.air_temperature")
            .value(told.unwrap_or(""))
            .expected("celsius");
        file.push(fault);
        return None;
    }
    let known = |name: &str, unit: &str| unit_is(units, name, unit);
    let (wind, dew, sky) = (
        known("wind_speed", "m/s"),
        known("dew_point_temperature", "celsius"),
        known("cloud_area_fraction", "%"),
    );
    let banded = known("air_temperature_percentile_10", "celsius") && known("air_temperature_percentile_90", "celsius");
    let mut readings = Vec::new();
    let mut steps: Vec<Step> = Vec::new();
    let mut nodes = Vec::new();
    for (at, step) in properties
        .get("timeseries")
        .and_then(Value::as_array)?
        .iter()
        .enumerate()
    {
        let data = step.get("data");
        let details = data
            .and_then(|data| data.get("instant"))
            .and_then(|instant| instant.get("details"));
        let of = |name: &str| number_at(details?, name);
        let (Some(time), Some(air_c)) = (time_at(step, "time"), of("air_temperature")) else {
            let fault = file
                .fault(
                    "BW-S32",
                    Severity::Rejected,
                    format!("step {} has no time or no air temperature", at + 1),
                )
                .column("properties.timeseries")
                .remedy("The step was not used.");
            file.push(fault);
            continue;
        };
        readings.push(reading(RawReading {
            time_utc: time,
            air_c: Some(air_c),
            wind_m_s: of("wind_speed").filter(|_| wind),
            dew_point_c: of("dew_point_temperature").filter(|_| dew),
            sky_cover: of("cloud_area_fraction").filter(|_| sky).map(|percent| percent / 100.0),
            kind: Kind::Forecast,
            set_aside: None,
        }));
        let six = data
            .and_then(|data| data.get("next_6_hours"))
            .and_then(|next| next.get("details"));
        let next_six = six.and_then(|six| {
            Some((
                number_at(six, "air_temperature_min")?,
                number_at(six, "air_temperature_max")?,
            ))
        });
        steps.push(Step { time, air_c, next_six });
        let band = of("air_temperature_percentile_10").zip(of("air_temperature_percentile_90"));
        match band.filter(|_| banded) {
            Some((low, high)) if low > high => {
                let fault = file
                    .fault(
                        "BW-S25",
                        Severity::Rejected,
                        "a higher percentile is colder than a lower one",
                    )
                    .column("air_temperature_percentile_10")
                    .value(&format!("{low} and {high} at {time}"))
                    .remedy("The percentiles of this step were not used.");
                file.push(fault);
            }
            Some((low, high)) => nodes.push((When::At(time), vec![low, high])),
            None => {}
        }
    }
    if readings.is_empty() {
        let fault = file
            .fault("BW-S31", Severity::Fatal, "the forecast has no usable step")
            .expected("properties.timeseries with time and data.instant.details.air_temperature");
        file.push(fault);
        return None;
    }
    readings.extend(between(&steps));
    let (latitude_deg, longitude_deg) = place(value);
    let elevation_m = value
        .get("geometry")
        .and_then(|geometry| geometry.get("coordinates")?.get(2)?.as_f64());
    let station = Station {
        station_id: String::new(),
        latitude_deg,
        longitude_deg,
        elevation_m,
    };
    let issued = meta.and_then(|meta| time_at(meta, "updated_at"));
    let mut found = file.hourly(FORMAT, station, readings, issued, Nature::Record);
    nodes.sort_by_key(|node| node.0.latest());
    let scores = vec![score_of(10.0), score_of(90.0)];
    found.told = (!nodes.is_empty()).then_some(Told::Percentiles { scores, nodes });
    Some(found)
}

/// Readings in the middle of steps of six hours: the step's minimum or maximum where it goes beyond both ends, else the middle of the
/// ends. Which of the hours it is is not told; the middle is judgement.
fn between(steps: &[Step]) -> Vec<RawReading> {
    let mut made = Vec::new();
    for pair in steps.windows(2) {
        let [step, next] = pair else { continue };
        if next.time - step.time != TimeDelta::hours(6) {
            continue;
        }
        let Some((lowest, highest)) = step.next_six else {
            continue;
        };
        let (colder, warmer) = (step.air_c.min(next.air_c), step.air_c.max(next.air_c));
        // The cold side goes first: it is what harms.
        let air = if lowest < colder {
            lowest
        } else if highest > warmer {
            highest
        } else {
            (colder + warmer) / 2.0
        };
        made.push(reading(RawReading::of_air(
            step.time + TimeDelta::hours(3),
            air,
            Kind::Forecast,
        )));
    }
    made
}
