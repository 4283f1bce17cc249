//! Documents of the US weather service: values invented, shapes as published (tests/data/weather-service).
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_abs_diff_eq;
use brimwater::faults::Faults;
use brimwater::weather::readers::{Found, read_reported};
use brimwater::weather::{Kind, ReadOptions};
use serde_json::{Value, json};

fn sample(name: &str) -> Value {
    serde_json::from_slice(&std::fs::read(format!("tests/data/weather-service/{name}.json")).unwrap()).unwrap()
}

fn read(value: &Value) -> (Vec<Found>, Faults) {
    read_reported(value.to_string().as_bytes(), "made.json", &ReadOptions::default())
}

#[test]
fn gridpoint_intervals_are_spread_to_hours() {
    let (found, faults) = read(&sample("nws-gridpoint"));
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.format, "nws-gridpoint");
    assert_eq!(series.station.station_id, "XYZ/41,77");
    assert_abs_diff_eq!(series.station.elevation_m.unwrap(), 168.2496, epsilon = 1e-9);
    assert_abs_diff_eq!(series.station.latitude_deg.unwrap(), 32.505, epsilon = 1e-9);
    // The layer runs from 15Z on the 23rd for 24 h and then P1DT6H: 54 hours without a hole.
    assert_eq!(series.start.to_rfc3339(), "2026-01-23T15:00:00+00:00");
    assert_eq!(series.hours(), 54);
    assert_eq!(found[0].report.missing_hours, 0);
    // 16:00/PT2H covers 16 and 17 and not 18.
    assert_abs_diff_eq!(series.air_c[1], 7.777_777_8, epsilon = 1e-6);
    assert_abs_diff_eq!(series.air_c[2], 7.777_777_8, epsilon = 1e-6);
    assert_abs_diff_eq!(series.air_c[3], 5.0, epsilon = 1e-9);
    assert_eq!(series.issued.unwrap().to_rfc3339(), "2026-01-23T21:12:31+00:00");
    assert!(series.kind.iter().all(|kind| *kind == Kind::Forecast));
    // 88 percent of the sky until midnight UTC.
    assert_eq!(series.sky_cover[0], Some(0.88));
    assert_eq!(faults.exit_status(), 0);
}

#[test]
fn a_nights_minimum_below_its_hours_is_reached_and_told() {
    let (found, faults) = read(&sample("nws-gridpoint"));
    let series = found[0].series.as_ref().unwrap();
    // First night 01Z to 15Z of the 24th: hours go to −9.44 °C, the minimum layer says −10.0. Second night: flat −2.78 and −11.11.
    let night = |from: usize, to: usize| series.air_c[from..to].iter().copied().fold(f64::INFINITY, f64::min);
    assert_abs_diff_eq!(night(10, 24), -10.0, epsilon = 1e-9);
    assert_abs_diff_eq!(night(34, 48), -100.0 / 9.0, epsilon = 1e-9);
    assert_eq!(faults.0.iter().filter(|fault| fault.code == "BW-S40").count(), 2);
    // Hours outside the nights are untouched.
    assert_abs_diff_eq!(series.air_c[24], -2.777_777_8, epsilon = 1e-6);
    // Nothing was warmed.
    let mut without = sample("nws-gridpoint");
    without["properties"].as_object_mut().unwrap().remove("minTemperature");
    let (plain, _) = read(&without);
    let plain = plain[0].series.as_ref().unwrap();
    assert!(
        series
            .air_c
            .iter()
            .zip(&plain.air_c)
            .all(|(lowered, before)| lowered <= before)
    );
    assert_abs_diff_eq!(plain.coldest().unwrap().1, -9.444_444, epsilon = 1e-5);
}

#[test]
fn older_unit_prefixes_and_layers_without_unit_are_taken() {
    let mut document = sample("nws-gridpoint");
    document["properties"]["temperature"]["uom"] = json!("unit:degC");
    document["properties"]["dewpoint"] = json!({"values": []});
    document["properties"]["windSpeed"] = json!({"values": []});
    let (found, faults) = read(&document);
    assert_eq!(found[0].series.as_ref().unwrap().wind_m_s[0], None);
    assert_eq!(faults.exit_status(), 0);
    document["properties"]["temperature"]["uom"] = json!("wmoUnit:degRankine");
    let (found, faults) = read(&document);
    assert!(found.is_empty());
    assert_eq!(faults.exit_status(), 2);
}

#[test]
fn hours_with_null_are_missing_and_not_zero() {
    let mut document = sample("nws-gridpoint");
    document["properties"]["temperature"]["values"][3]["value"] = Value::Null;
    let (found, _) = read(&document);
    assert_eq!(found[0].report.missing_hours, 1);
    let series = found[0].series.as_ref().unwrap();
    assert!(series.interpolated[6]);
    assert_abs_diff_eq!(series.air_c[6], 2.5, epsilon = 1e-9);
}

#[test]
fn hourly_forecast_is_read_in_both_value_shapes() {
    let plain = sample("nws-hourly");
    let (found, _) = read(&plain);
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.format, "nws-hourly");
    // First period: 16:00 at six hours behind UTC, 32 °F, wind "10 to 15 mph" = 15 mph.
    assert_eq!(series.start.to_rfc3339(), "2026-01-23T22:00:00+00:00");
    assert_abs_diff_eq!(series.air_c[0], 0.0, epsilon = 1e-9);
    assert_abs_diff_eq!(series.wind_m_s[0].unwrap(), 6.7056, epsilon = 1e-9);
    let mut quantities = plain.clone();
    for period in quantities["properties"]["periods"].as_array_mut().unwrap() {
        let fahrenheit = period["temperature"].as_f64().unwrap();
        period["temperature"] = json!({"unitCode": "wmoUnit:degC", "value": (fahrenheit - 32.0) / 1.8});
        period["windSpeed"] = json!({"unitCode": "wmoUnit:km_h-1", "minValue": 16.1, "maxValue": 24.14016});
    }
    let (again, _) = read(&quantities);
    let again = again[0].series.as_ref().unwrap();
    for (a, b) in series.air_c.iter().zip(&again.air_c) {
        assert_abs_diff_eq!(a, b, epsilon = 1e-9);
    }
    assert_abs_diff_eq!(again.wind_m_s[0].unwrap(), 6.7056, epsilon = 1e-6);
}

#[test]
fn hourly_forecast_over_a_change_of_clocks_has_no_hole_and_no_double() {
    let document = sample("nws-hourly-dst");
    let (found, faults) = read(&document);
    let periods = document["properties"]["periods"].as_array().unwrap().len();
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.hours(), periods);
    assert_eq!((found[0].report.missing_hours, found[0].report.duplicates), (0, 0));
    assert_eq!(faults.exit_status(), 0);
}

#[test]
fn observations_honor_quality_marks_and_null() {
    let mut document = sample("nws-observations");
    let (found, _) = read(&document);
    assert_eq!(found[0].station.station_id, "KXXA");
    // 02:53Z, 02:35Z (whole degrees) and a null at 01:53Z: one hour is left, 03:00Z, from the report nearest to it.
    let series = found[0].series.as_ref().unwrap();
    assert_eq!((found[0].report.readings, series.hours()), (3, 1));
    assert_abs_diff_eq!(series.air_c[0], -5.6, epsilon = 1e-9);
    assert!(found[0].report.set_aside.is_empty(), "null is missing, not set aside");
    for (mark, why) in [("X", "rejected"), ("Q", "questioned")] {
        document["features"][0]["properties"]["temperature"]["qualityControl"] = json!(mark);
        let (found, faults) = read(&document);
        assert_eq!(found[0].report.set_aside.len(), 1);
        assert_eq!(found[0].report.set_aside[0].value_c, -5.6);
        assert!(found[0].report.set_aside[0].why.contains(why));
        // The report in whole degrees, verified, stands for the hour instead.
        assert_abs_diff_eq!(found[0].series.as_ref().unwrap().air_c[0], -5.0, epsilon = 1e-9);
        assert_eq!(faults.exit_status(), 1);
    }
}

#[test]
fn documents_that_are_no_weather_say_what_they_are() {
    for (name, word) in [
        ("nws-points", "about a point"),
        ("nws-stations", "list of stations"),
        ("nws-alerts", "alerts"),
        ("nws-problem", "error message"),
        ("nws-problem-503", "error message"),
        ("nws-problem-400", "error message"),
    ] {
        let (found, faults) = read(&sample(name));
        assert!(found.is_empty());
        assert_eq!(faults.exit_status(), 2, "{name}");
        assert!(
            faults.0.iter().any(|fault| fault.what.contains(word)),
            "{name}: {:?}",
            faults.0
        );
    }
}

#[test]
fn a_cut_document_is_told_with_its_line() {
    let text = std::fs::read_to_string("tests/data/weather-service/nws-gridpoint.json").unwrap();
    let (found, faults) = read_reported(&text.as_bytes()[..text.len() / 2], "cut.json", &ReadOptions::default());
    assert!(found.is_empty());
    assert_eq!(faults.0[0].code, "BW-S30");
    assert!(faults.0[0].line.unwrap() > 50);
}

#[test]
fn a_bundle_is_observations_then_forecast() {
    let bundle = json!({
        "schema": "brimwater.fetched/1", "fetched": "2026-01-24T03:10:00+00:00", "stale": false,
        "documents": [
            {"role": "gridpoint", "url": "u", "retrieved": "2026-01-24T03:10:00+00:00", "stale": false, "body": sample("nws-gridpoint")},
            {"role": "observations", "url": "u", "retrieved": "2026-01-24T03:10:00+00:00", "stale": true, "body": sample("nws-observations")},
        ]
    });
    let (found, faults) = read(&bundle);
    let series = found[0].series.as_ref().unwrap();
    assert_eq!(series.format, "fetched-bundle");
    let observed: Vec<usize> = (0..series.hours())
        .filter(|hour| series.kind[*hour] == Kind::Observed)
        .collect();
    assert!(!observed.is_empty());
    // 02:53Z stands for 03Z: −5.6 °C measured, where the forecast had −5.56.
    let at = series.air_c.iter().position(|air| (*air + 5.6).abs() < 1e-9).unwrap();
    assert_eq!(series.time(at).to_rfc3339(), "2026-01-24T03:00:00+00:00");
    assert_eq!(series.kind.last(), Some(&Kind::Forecast));
    assert!(
        faults.0.iter().any(|fault| fault.code == "BW-S36"),
        "the stale document is told"
    );
    assert_eq!(faults.exit_status(), 1);
}

#[test]
fn an_hour_that_cannot_be_is_set_aside_and_never_pulled_to_the_nights_minimum() {
    // X-Val: the highest air temperature on record is 56.7 °C (WMO, Death Valley 1913), so that 900 °C is none.
    let mut value = sample("nws-gridpoint");
    let properties = &mut value["properties"];
    properties["temperature"] = json!({"uom": "wmoUnit:degC", "values": [
        {"validTime": "2026-01-24T00:00:00+00:00/PT6H", "value": 1},
        {"validTime": "2026-01-24T06:00:00+00:00/PT1H", "value": 900},
        {"validTime": "2026-01-24T07:00:00+00:00/PT5H", "value": 900},
        {"validTime": "2026-01-24T12:00:00+00:00/PT6H", "value": 2},
    ]});
    properties["minTemperature"] = json!({"uom": "wmoUnit:degC", "values": [
        {"validTime": "2026-01-24T00:00:00+00:00/PT14H", "value": -3},
        {"validTime": "2026-01-24T05:00:00+00:00/PT1H", "value": -400},
    ]});
    let options = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, faults) = read_reported(value.to_string().as_bytes(), "made.json", &options);
    let series = found[0].series.as_ref().unwrap();
    assert!(
        series.air_c.iter().all(|air| (-5.0..=5.0).contains(air)),
        "{:?}",
        series.air_c
    );
    assert_eq!(found[0].report.set_aside.len(), 6);
    assert!(found[0].report.set_aside.iter().all(|aside| aside.value_c == 900.0));
    assert!(
        faults
            .0
            .iter()
            .any(|fault| fault.code == "BW-S32" && fault.value.as_deref() == Some("-400.0 °C"))
    );
    // The night itself still reaches its minimum.
    assert!(
        series.air_c.iter().any(|air| (*air + 3.0).abs() < 1e-9),
        "{:?}",
        series.air_c
    );
}

#[test]
fn a_time_of_issue_that_cannot_be_read_is_told_as_stale() {
    let mut value = sample("nws-gridpoint");
    value["properties"]["updateTime"] = json!("soon");
    let (found, faults) = read(&value);
    assert!(found[0].series.as_ref().unwrap().issued.is_none());
    let told = faults.0.iter().find(|fault| fault.code == "BW-S71").unwrap();
    assert!(told.what.contains("stale") && faults.exit_status() == 1);
}
