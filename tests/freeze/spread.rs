//! Members and percentiles of the forecast in the place of the config's table of errors.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::spells::{series, start};
use assert_cmd::Command;
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::members::Members;
use brimwater::freeze::spell::Spell;
use brimwater::weather::readers::spread::read;
use brimwater::weather::spread::Spread;
use brimwater::weather::{Kind, ReadOptions, Series};
use chrono::TimeDelta;
use proptest::prelude::*;
use std::fmt::Write;
use std::sync::Arc;

/// Three days around freezing, forecast from the start.
fn forecast() -> Series {
    let air = (0..72).map(|h| 2.0 + 5.0 * (f64::from(h) * 0.2618).sin()).collect();
    series(air, 2.0, 3.0, 0.0, Kind::Forecast)
}

fn told(text: &str) -> Spread {
    let (spread, faults) = read(text.as_bytes(), "spread.csv", &ReadOptions::default());
    assert!(faults.0.is_empty(), "{:?}", faults.0);
    spread
}

fn spell(spread: Spread, members: &Members) -> Spell {
    let ensemble = EnsembleConfig {
        told: Some(Arc::new(spread)),
        ..EnsembleConfig::default()
    };
    let freeze = FreezeConfig::default();
    Spell::new(&forecast(), members, start(), chrono_tz::UTC, &freeze, &ensemble).unwrap()
}

fn members() -> Members {
    Members::new(256, 5, 0.3, &EnsembleConfig::default())
}

#[test]
fn percentiles_come_back_as_told() {
    // X-Val: the definition of a percentile: a tenth of the members lies below the 10 % value, half below the middle, a tenth over the
    // 90 % value. 256 quasi-random members of a correlated error hold a share to 0.03 (binomial: 0.02 at 10 %).
    let series = forecast();
    let mut text = String::from("time,air_temp_c_p10,air_temp_c_p50,air_temp_c_p90\n");
    for hour in (6..72).step_by(6) {
        let time = (start() + TimeDelta::hours(hour)).to_rfc3339();
        let middle = series.air_c[hour as usize] - 1.0;
        writeln!(text, "{time},{:.3},{middle:.3},{:.3}", middle - 2.0, middle + 3.0).unwrap();
    }
    let members = members();
    let spell = spell(told(&text), &members);
    for hour in (6..66).step_by(3) {
        let base = series.air_c[hour] - 1.0;
        let node = spell.node(hour - spell.first);
        let below = |value: f64| node.iter().filter(|air| **air < value).count() as f64 / 256.0;
        for (value, share) in [(base - 2.0, 0.1), (base, 0.5), (base + 3.0, 0.9)] {
            assert!(
                (below(value) - share).abs() < 0.03,
                "hour {hour}: {} for {share}",
                below(value)
            );
        }
    }
}

#[test]
fn percentiles_of_a_normal_distribution_are_that_distribution() {
    // X-Val: scores of the normal distribution from tables: 10 % −1.2816, 25 % −0.6745, 75 % 0.6745, 90 % 1.2816 (four decimals, so
    // 1e-4 of the spread of 2 K, and outward twice that).
    let series = forecast();
    let mut text = String::from("time,air_temp_c_p25,air_temp_c_p10,air_temp_c_p90,air_temp_c_p75\n");
    for hour in [0, 71] {
        let time = (start() + TimeDelta::hours(hour)).to_rfc3339();
        let z = |z: f64| series.air_c[hour as usize] + 2.0 * z;
        writeln!(text, "{time},{},{},{},{}", z(-0.6745), z(-1.2816), z(1.2816), z(0.6745)).unwrap();
    }
    let spread = told(&text);
    let departures = spread.departures(&series).unwrap();
    for score in [-3.0, -1.0, -0.2, 0.0, 0.9, 2.5] {
        let at = departures.at(start() + TimeDelta::hours(30), 0, score).unwrap();
        assert!((at - 2.0 * score).abs() < 1e-3, "{score}: {at}");
    }
    assert_eq!(
        departures.at(start() + TimeDelta::hours(72), 0, 0.0),
        None,
        "beyond what was told"
    );
}

#[test]
fn members_of_a_file_are_taken_in_turn() {
    let series = forecast();
    let mut text = String::from("station_id,time,member,air_temp_f\n");
    for hour in (0..72).step_by(12) {
        let time = (start() + TimeDelta::hours(hour)).to_rfc3339();
        for member in 0..5 {
            let c = series.air_c[hour as usize] + f64::from(member) - 2.0;
            writeln!(text, "MADE,{time},m{member},{:.3}", c * 1.8 + 32.0).unwrap();
        }
    }
    let members = members();
    let spell = spell(told(&text), &members);
    for hour in 1..60 {
        for (member, air) in spell.node(hour - spell.first).iter().enumerate() {
            let expected = series.air_c[hour] + (member % 5) as f64 - 2.0;
            // °F with three decimals.
            assert!((air - expected).abs() < 1e-3, "hour {hour}, member {member}: {air}");
        }
    }
}

#[test]
fn beyond_what_was_told_the_config_s_table_goes_on() {
    let text = format!(
        "time,air_temp_c_p10,air_temp_c_p90\n{},1,3\n{},1,3\n",
        start().to_rfc3339(),
        (start() + TimeDelta::hours(24)).to_rfc3339()
    );
    let members = members();
    let with = spell(told(&text), &members);
    let without = spell(Spread::default(), &members);
    assert_ne!(with.node(12), without.node(12));
    assert_eq!(with.node(40), without.node(40));
}

#[test]
fn faults_of_the_file_are_told_with_their_lines() {
    let cases = [
        ("time,air_temp_f\n2031-01-14T12:00:00Z,30\n", "BW-S01"),
        ("time,air_temp_f_p10\n2031-01-14T12:00:00Z,30\n", "BW-S01"),
        ("time,air_temp_f_p10,air_temp_f_p90\n", "BW-S10"),
        (
            "time,air_temp_f_p10,air_temp_f_p90\n2031-01-14T12:00:00Z,30,20\n",
            "BW-S25",
        ),
        ("time,air_temp_f_p10,air_temp_f_p90\nsoon,20,30\n", "BW-S04"),
        ("time,air_temp_f_p10,air_temp_f_p90\n2031-01-14 12:00,20,30\n", "BW-S03"),
        (
            "time,air_temp_f_p10,air_temp_f_p90\n2031-01-14T12:00:00Z,cold,30\n",
            "BW-S05",
        ),
        (
            "time,air_temp_f_p10,air_temp_f_p90\n2031-01-14T12:00:00Z,20,3000\n",
            "BW-S06",
        ),
        (
            "time,member,air_temp_f\n2031-01-14T12:00:00Z,1,30\n2031-01-14T12:00:00Z,2,31\n2031-01-14T18:00:00Z,1,30\n",
            "BW-S26",
        ),
    ];
    for (text, code) in cases {
        let (_, faults) = read(text.as_bytes(), "spread.csv", &ReadOptions::default());
        assert!(faults.0.iter().any(|f| f.code == code), "{text}: {:?}", faults.0);
    }
}

#[test]
fn plan_takes_the_file() {
    let dir = tempfile::TempDir::new().unwrap();
    let list = "assembly_id,device_type,nominal_size_in,latitude,longitude,elevation_ft,placement\nA-1,PVB,1,31.5,-41.3,60,open\n";
    std::fs::write(dir.path().join("list.csv"), list).unwrap();
    let mut week = String::from("time,air_temp_c\n");
    let mut sure = String::from("time,air_temp_c_p5,air_temp_c_p95\n");
    let mut wide = sure.clone();
    for hour in 0..72 {
        let time = (start() + TimeDelta::hours(hour)).to_rfc3339();
        let c = 4.0 + 5.0 * (hour as f64 * 0.2618).sin();
        writeln!(week, "{time},{c:.2}").unwrap();
        writeln!(sure, "{time},{:.2},{:.2}", c - 0.1, c + 0.1).unwrap();
        writeln!(wide, "{time},{:.2},{:.2}", c - 12.0, c + 12.0).unwrap();
    }
    for (name, text) in [("week.csv", &week), ("sure.csv", &sure), ("wide.csv", &wide)] {
        std::fs::write(dir.path().join(name), text).unwrap();
    }
    let p_ice = |spread: &str, out: &str| -> f64 {
        Command::cargo_bin("brimwater")
            .unwrap()
            .current_dir(dir.path())
            .args([
                "plan",
                "--assemblies",
                "list.csv",
                "--series",
                "week.csv",
                "--spread",
                spread,
                "--members",
                "64",
            ])
            .args(["--now", &start().to_rfc3339(), "--out", out, "--quiet"])
            .assert()
            .success();
        let text = std::fs::read_to_string(dir.path().join(out).join("plan.json")).unwrap();
        let plan: serde_json::Value = serde_json::from_str(&text).unwrap();
        plan["assemblies"][0]["p_ice"].as_f64().unwrap()
    };
    // The series never freezes anything; a forecaster who is less sure gives it a chance.
    let (sure, wide) = (p_ice("sure.csv", "a"), p_ice("wide.csv", "b"));
    assert!(sure < 0.1 && wide > 0.3, "{sure} {wide}");
}

proptest! {
    #[test]
    fn no_bytes_make_the_reader_panic(bytes in proptest::collection::vec(any::<u8>(), 0..400), text in "[time,ar_mpcf0-9\n.\\-:TZ ]{0,300}") {
        let _ = read(&bytes, "x", &ReadOptions::default());
        let _ = read(text.as_bytes(), "x", &ReadOptions::default());
        let headed = format!("time,member,air_temp_c\n{text}");
        let _ = read(headed.as_bytes(), "x", &ReadOptions::default());
    }
}
