//! What is assumed of the weather is told, recorded and printed: cloud and climate.
#![allow(clippy::indexing_slicing)]

use super::campaign::Campaign;
use serde_json::Value;
use std::fs;

const NOW: &str = "2031-01-08T14:00:00Z";

fn year(min_c: f64) -> String {
    let mut text = String::from("date,tmin_c,tmax_c\n");
    let mut day = chrono::NaiveDate::from_ymd_opt(2029, 1, 1).unwrap();
    while day < chrono::NaiveDate::from_ymd_opt(2030, 1, 1).unwrap() {
        use chrono::Datelike;
        let swing = 12.0 * (std::f64::consts::TAU * (f64::from(day.ordinal()) - 15.0) / 365.0).cos();
        text.push_str(&format!("{day},{:.2},{:.2}\n", min_c - swing, min_c + 10.0 - swing));
        day = day.succ_opt().unwrap();
    }
    text
}

fn run(campaign: &Campaign, out: &str, cloud: bool, more: &[&str]) -> (String, Value, String) {
    let mut command = campaign.plan(NOW, out, more);
    if !cloud {
        let week = fs::read_to_string(campaign.path("week.csv")).unwrap();
        fs::write(
            campaign.path("week.csv"),
            week.replace("sky_cover_percent", "something"),
        )
        .unwrap();
    }
    let done = command.output().unwrap();
    let told = String::from_utf8_lossy(&done.stderr).into_owned();
    assert!(done.status.code() < Some(2), "{told}");
    let record = serde_json::from_slice(&fs::read(campaign.path(&format!("{out}/run.json"))).unwrap()).unwrap();
    let page = fs::read_to_string(campaign.path(&format!("{out}/report.html"))).unwrap();
    (told, record, page)
}

#[test]
fn cloud_and_climate_that_nobody_tells_are_told_recorded_and_printed() {
    let campaign = Campaign::new();
    let (told, record, _) = run(&campaign, "told", true, &[]);
    assert_eq!(record["weather_assumed"]["sky_cover_from"], "series");
    assert!(!told.contains("BW-S86"));
    let (told, record, page) = run(&campaign, "out", false, &[]);
    let taken = &record["weather_assumed"];
    assert_eq!(taken["hours"], taken["hours_without_sky_cover"]);
    assert_eq!(taken["sky_cover_from"], "members");
    assert_eq!(taken["sky_cover_mean"], 0.4);
    assert_eq!(
        (&taken["climate_from"], &taken["annual_mean_air_c"]),
        (&"built_in".into(), &18.5.into())
    );
    for code in ["BW-S86", "BW-S88"] {
        assert!(told.contains(code), "{code}: {told}");
        assert_eq!(record["faults"][code], 1);
    }
    assert!(
        page.contains("tell no cloud") && page.contains("a mild one was taken"),
        "the report says so"
    );
}

#[test]
fn a_record_of_the_place_tells_its_climate_and_the_config_goes_before_a_long_series() {
    let campaign = Campaign::new();
    fs::write(campaign.path("year.csv"), year(2.0)).unwrap();
    let (told, record, page) = run(&campaign, "out", true, &["--climate", "year.csv"]);
    let taken = &record["weather_assumed"];
    assert_eq!(taken["climate_from"], "record");
    // X-Val: the mean of the swing over a year is nothing: 2 °C and 12 °C make 7 °C; its months lie within ±12 K, the coldest and the warmest
    // mean of a month 2·12·sinc(π/12) = 23.7 K apart.
    assert!((taken["annual_mean_air_c"].as_f64().unwrap() - 7.0).abs() < 0.02);
    assert!((taken["monthly_range_k"].as_f64().unwrap() - 23.73).abs() < 0.1);
    assert!(told.contains("BW-S87") && page.contains("from the record"));
    // A week is no climate.
    let done = campaign
        .plan(NOW, "short", &["--climate", "week.csv"])
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&done.stderr).into_owned();
    assert_eq!(done.status.code(), Some(2), "{told}");
    assert!(told.contains("BW-S89"), "{told}");
    // What the config tells is not told again.
    let config = fs::read_to_string(campaign.path("config.toml")).unwrap();
    fs::write(
        campaign.path("config.toml"),
        config + "\n[freeze.climate]\nannual_mean_air_c = 3.0\nmonthly_range_k = 30.0\n",
    )
    .unwrap();
    let (told, record, _) = run(&campaign, "set", true, &[]);
    assert_eq!(record["weather_assumed"]["climate_from"], "config");
    assert!(!told.contains("BW-S88"));
}
