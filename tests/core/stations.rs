//! Stations: distances, the elevation rule, and which series stands for a site.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use approx::assert_abs_diff_eq;
use brimwater::faults::Faults;
use brimwater::inventory::place::How;
use brimwater::inventory::{Assembly, place_assemblies, read_assemblies};
use brimwater::weather::stations::{differences, distance_km, elevation_offset_k, join, nearest, read_stations};
use brimwater::weather::{Kind, ReadOptions, Series, read_series};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn codes(faults: &Faults) -> Vec<&'static str> {
    faults.0.iter().map(|fault| fault.code).collect()
}

fn series(text: &str) -> Vec<Series> {
    let (all, faults) = read_series(text.as_bytes(), "s.csv", &ReadOptions::default());
    assert_eq!(faults.exit_status(), 0, "{faults:?}");
    all
}

fn assemblies(rows: &str) -> Vec<Assembly> {
    let text = format!("assembly_id,device_type,nominal_size_in,latitude,longitude,elevation_ft,station_id\n{rows}");
    read_assemblies(text.as_bytes(), "a.csv", &BTreeMap::new()).0
}

/// Three stations, one hour each.
fn three() -> Vec<Series> {
    let mut all =
        series("station_id,time,air_temp_c\nN,2026-01-20T00:00Z,1\nS,2026-01-20T00:00Z,2\nE,2026-01-20T00:00Z,3\n");
    let (stations, faults) = read_stations(
        b"station_id,latitude,longitude,elevation_ft\nN,33,-90,100\nS,32,-90,100\ne,32.5,-89,500\n",
        "st.csv",
    );
    assert_eq!(faults.exit_status(), 0);
    assert!(stations.locate(&mut all, "st.csv").0.is_empty());
    all
}

#[test]
fn great_circle_distances_match_an_independent_computation() {
    // X-Val: tests/data/distances.csv, geographiclib 2.0 (PyPI) on a sphere of 6371008.8 m; generator beside it.
    let text = include_str!("../data/distances.csv");
    let mut seen = 0;
    for line in text.lines().skip(1) {
        let v: Vec<f64> = line.split(',').map(|cell| cell.parse().unwrap()).collect();
        // 1e-6 km: the file carries six decimals of a km.
        assert_abs_diff_eq!(distance_km((v[0], v[1]), (v[2], v[3])), v[4], epsilon = 1.1e-6);
        seen += 1;
    }
    assert!(seen >= 40);
}

#[test]
fn antipodes_do_not_leave_the_domain_of_the_arcsine() {
    // X-Val: half the circumference, π·6371.0088 km = 20015.1145 km.
    assert_abs_diff_eq!(distance_km((0.0, 0.0), (0.0, 180.0)), 20_015.114_5, epsilon = 1e-4);
    assert_abs_diff_eq!(distance_km((90.0, 0.0), (-90.0, 77.0)), 20_015.114_5, epsilon = 1e-4);
    assert_eq!(distance_km((12.3, 45.6), (12.3, 45.6)), 0.0);
}

#[test]
fn a_higher_site_is_colder_and_a_lower_one_is_never_warmed() {
    // X-Val: ICAO standard atmosphere, 6.5 K/km: −5 °C at 100 m is −6.3 °C at 300 m.
    assert_abs_diff_eq!(
        -5.0 + elevation_offset_k(Some(300.0), Some(100.0)),
        -6.3,
        epsilon = 1e-12
    );
    assert_eq!(elevation_offset_k(Some(100.0), Some(300.0)), 0.0);
    assert_eq!(elevation_offset_k(None, Some(300.0)), 0.0);
    assert_eq!(elevation_offset_k(Some(300.0), None), 0.0);
}

#[test]
fn the_named_station_wins_then_the_nearest() {
    let all = three();
    let name = |index: usize| all[index].station.station_id.as_str();
    let list = assemblies("a,RP,1,32.9,-90,,\nb,RP,1,32.9,-90,,s\nc,RP,1,32.5,-89.1,900,\nd,RP,1,,,,N\n");
    let (choices, faults) = place_assemblies(&list, &all, "a.csv");
    let got: Vec<_> = choices
        .iter()
        .map(|c| c.unwrap())
        .map(|c| (name(c.series), c.how))
        .collect();
    assert_eq!(
        got,
        [
            ("N", How::Nearest),
            ("S", How::Named),
            ("e", How::Nearest),
            ("N", How::Named)
        ]
    );
    // 400 ft above station e: −6.5 K/km × 121.92 m.
    assert_abs_diff_eq!(choices[2].unwrap().offset_k, -0.792_48, epsilon = 1e-9);
    // Station S lies 0.9° of latitude from site b: 100 km, and that is said.
    assert_eq!(codes(&faults), ["BW-S19"]);
}

#[test]
fn one_series_without_a_place_serves_all() {
    let all = series("time,air_temp_c\n2026-01-20T00:00Z,1\n");
    let list = assemblies("a,RP,1,32.9,-90,,\nb,RP,1,,,,\n");
    let (choices, faults) = place_assemblies(&list, &all, "a.csv");
    assert!(choices.iter().all(|choice| choice.unwrap().how == How::Only));
    assert_eq!(faults.exit_status(), 0);
}

#[test]
fn an_assembly_without_place_and_station_is_rejected_when_there_are_several_series() {
    let (choices, faults) = place_assemblies(&assemblies("a,RP,1,,,,\nb,RP,1,32,-90,,\n"), &three(), "a.csv");
    assert!(choices[0].is_none() && choices[1].is_some());
    assert_eq!((codes(&faults), faults.exit_status()), (vec!["BW-S16"], 1));
    assert!(faults.0[0].expected.contains("N, S") || faults.0[0].expected.contains("station_id"));
}

#[test]
fn a_station_without_series_falls_back_to_the_nearest_and_says_so_once() {
    let list = assemblies("a,RP,1,32,-90,,QQ\nb,RP,1,33,-90,,QQ\n");
    let (choices, faults) = place_assemblies(&list, &three(), "a.csv");
    assert!(choices.iter().all(|choice| choice.unwrap().how == How::Nearest));
    assert_eq!(
        (codes(&faults), faults.0[0].value.as_deref()),
        (vec!["BW-S17"], Some("QQ"))
    );
}

#[test]
fn bad_rows_of_the_station_list_are_told_and_the_rest_used() {
    let (stations, faults) = read_stations(
        "station_id;latitude;longitude;elevation_ft;zone\nA;32,5;-90;x;Mars/Base\nA;32;-90;;\nB;-90.5;32;;\n;1;1;;\nC;32N;90W;10;America/Chicago\n"
            .as_bytes(),
        "st.csv",
    );
    let told: Vec<_> = faults.0.iter().map(|fault| (fault.code, fault.line.unwrap())).collect();
    assert_eq!(
        told,
        [
            ("BW-S83", 2),
            ("BW-S84", 2),
            ("BW-S22", 3),
            ("BW-S82", 4),
            ("BW-S81", 5)
        ]
    );
    let places: Vec<_> = stations
        .stations
        .iter()
        .map(|s| (s.latitude_deg.unwrap(), s.longitude_deg.unwrap()))
        .collect();
    assert_eq!(places, [(32.5, -90.0), (32.0, -90.0)]);
    assert_eq!(stations.zones["C"], chrono_tz::America::Chicago);
}

#[test]
fn observations_and_a_forecast_of_one_station_become_one_series() {
    let observed =
        series("station_id,time,air_temp_c,kind\nA,2026-01-20T00:00Z,1,observed\nA,2026-01-20T01:00Z,2,observed\n");
    let forecast = series("station_id,time,air_temp_c\na,2026-01-20T01:00Z,-5\na,2026-01-20T02:00Z,-6\n");
    for order in [[observed.clone(), forecast.clone()], [forecast, observed]] {
        let (joined, faults) = join(order.concat(), false);
        assert_eq!(faults.exit_status(), 0);
        assert_eq!(joined.len(), 1);
        assert_eq!(joined[0].air_c, [1.0, 2.0, -6.0]);
        assert_eq!(joined[0].kind, [Kind::Observed, Kind::Observed, Kind::Forecast]);
    }
}

#[test]
fn nameless_series_join_one_after_the_other_but_not_over_each_other() {
    let january = series("time,air_temp_c\n2026-01-20T00:00Z,1\n");
    let later = series("time,air_temp_c\n2026-01-20T01:00Z,2\n");
    let (joined, faults) = join([later, january.clone()].concat(), false);
    assert_eq!((joined[0].air_c.clone(), faults.exit_status()), (vec![1.0, 2.0], 0));
    let (joined, faults) = join([january.clone(), january].concat(), false);
    assert_eq!((joined.len(), codes(&faults)), (0, vec!["BW-S24"]));
}

proptest! {
    #[test]
    fn distance_is_symmetric_and_keeps_the_triangle(a in (-90.0..90.0, -180.0..180.0), b in (-90.0..90.0, -180.0..180.0), c in (-90.0..90.0, -180.0..180.0)) {
        prop_assert!((distance_km(a, b) - distance_km(b, a)).abs() < 1e-6);
        prop_assert!(distance_km(a, c) <= distance_km(a, b) + distance_km(b, c) + 1e-6);
    }

    #[test]
    fn no_other_station_is_nearer_than_the_nearest(lat in 30.0..35.0, lon in -92.0..-87.0) {
        let all = three();
        let (index, km) = nearest(&all, lat, lon).unwrap();
        for one in &all {
            let place = (one.station.latitude_deg.unwrap(), one.station.longitude_deg.unwrap());
            prop_assert!(distance_km((lat, lon), place) >= km);
        }
        prop_assert!(km >= 0.0 && index < all.len());
    }
}

fn at(name: &str, latitude_deg: f64, longitude_deg: f64) -> Series {
    let mut one = three().remove(0);
    one.station.station_id = name.into();
    one.station.latitude_deg = Some(latitude_deg);
    one.station.longitude_deg = Some(longitude_deg);
    one
}

proptest! {
    /// X-Val: looking at every station in turn, and the first name among those equally near.
    #[test]
    fn the_quick_way_to_the_nearest_station_is_the_slow_one(
        places in proptest::collection::vec((-8_i32..8, -8_i32..8), 1..40),
        site in (-9.0..9.0, -9.0..9.0),
        on_the_grid in any::<bool>(),
        far in any::<bool>(),
    ) {
        // Whole degrees near the pole and the date line, so that there are ties and the shortest way is not the plain one.
        let (north, east) = if far { (80.0, 176.0) } else { (0.0, 0.0) };
        let turned = |degrees: f64| if degrees > 180.0 { degrees - 360.0 } else { degrees };
        let all: Vec<Series> = places
            .iter()
            .enumerate()
            .map(|(n, (lat, lon))| at(&format!("S{:02}", (n * 17) % 41), north + f64::from(*lat), turned(east + f64::from(*lon))))
            .collect();
        let mut site: (f64, f64) = (north + site.0, turned(east + site.1));
        if on_the_grid {
            site = (site.0.round(), site.1.round());
        }
        let site = (site.0.clamp(-90.0, 90.0), site.1);
        let place = |one: &Series| (one.station.latitude_deg.unwrap(), one.station.longitude_deg.unwrap());
        let slow = all
            .iter()
            .enumerate()
            .map(|(index, one)| (distance_km(site, place(one)), one.station.station_id.clone(), index))
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)))
            .unwrap();
        let (index, km) = nearest(&all, site.0, site.1).unwrap();
        prop_assert_eq!((all[index].station.station_id.clone(), km), (slow.1, slow.0));
    }
}

#[test]
fn pairs_beyond_those_shown_are_counted() {
    let mut all = Vec::new();
    for n in 0..12 {
        all.push(at(&format!("A{n}"), 30.0 + 0.01 * f64::from(n), -90.0));
        all.push(at(&format!("B{n}"), 45.0, -90.0 + 0.01 * f64::from(n)));
    }
    let (whole, count) = differences(&all, 60.0, 1_000);
    // Two clusters of twelve: 66 pairs each.
    assert_eq!((whole.len(), count), (132, 132));
    let (some, count) = differences(&all, 60.0, 20);
    assert_eq!((some.as_slice(), count), (&whole[..20], 132));
}

#[test]
fn ten_thousand_stations_and_sites_are_matched_in_seconds() {
    // Looking at each station for each site would be a hundred million distances.
    let all: Vec<Series> = (0..10_000)
        .map(|n| {
            at(
                &format!("S{n:05}"),
                30.0 + f64::from(n % 100) * 0.05,
                -95.0 + f64::from(n / 100) * 0.05,
            )
        })
        .collect();
    let began = std::time::Instant::now();
    let near = brimwater::weather::near::Near::of(&all);
    for n in 0..10_000 {
        let (lat, lon) = (30.0 + f64::from(n % 97) * 0.051, -95.0 + f64::from(n / 104) * 0.05);
        assert!(near.nearest(lat, lon).unwrap().1 < 6.0);
        assert_eq!(near.named(&format!("s{n:05} ")), Some(n as usize));
    }
    assert!(began.elapsed().as_secs() < 20, "{:?}", began.elapsed());
}
