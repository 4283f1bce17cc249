//! `brimwater cooldown` as scripts call it.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_relative_eq;
use assert_cmd::Command;
use predicates::str::contains;

fn brimwater(args: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("brimwater").unwrap().args(args).assert()
}

fn json(args: &[&str]) -> serde_json::Value {
    let mut all = vec!["cooldown", "--format", "json"];
    all.extend(args);
    let done = brimwater(&all).success();
    serde_json::from_slice(&done.get_output().stdout).unwrap()
}

const HANDBOOK: [&str; 14] = [
    "--pipe",
    "steel-40",
    "--size",
    "2",
    "--start",
    "42 F",
    "--insulation",
    "1.5 in",
    "--insulation-k",
    "0.30 Btu in/h ft2 F",
    "--ground",
    "none",
    "--no-film",
    "--no-metal",
];

#[test]
fn the_handbook_case_as_a_script_asks_it() {
    // X-Val: ASHRAE Handbook Fundamentals ch. 23, quoted by a forensic-engineering article of 2014: 1.4 h and 4.6 h
    // (formula 1.3785, 4.5829). 1 % for water of 999.84 kg/m³ and 4217.6 J/kgK in place of 62.4 lb/ft³ and 1 Btu/lb°F.
    for (air, hours) in [("-18 F", 1.3785), ("20 F", 4.5829)] {
        let mut args = HANDBOOK.to_vec();
        args.extend(["--air", air]);
        let answer = json(&args);
        assert_eq!(answer["schema"], "brimwater.cooldown/1");
        assert_relative_eq!(
            answer["hours_to_freezing"].as_f64().unwrap(),
            hours,
            max_relative = 0.01
        );
        assert!(answer["hours_to_solid"].as_f64().unwrap() > answer["hours_to_freezing"].as_f64().unwrap());
        assert_eq!(answer["first_part"], "pipe");
        assert!(answer["film"]["convection_w_m2k"].is_null());
    }
}

#[test]
fn never_reached_is_null() {
    let answer = json(&["--device", "RP", "--size", "1", "--air", "40 F"]);
    for key in ["hours_to_freezing", "hours_to_blocked", "hours_to_solid", "first_part"] {
        assert!(answer[key].is_null(), "{key}: {answer}");
    }
}

/// Gross errors only: hours to bulk 32 °F of the lumped sanity band (design references, practice section 2.5, estimates of
/// the trade: 50 °F start, film 1.8 and 5 Btu/h·ft²·°F, no ground). The network is finer: trim freezes earlier and the
/// body later than the lump, so the body must lie within a factor of two.
#[test]
fn assemblies_freeze_within_the_sanity_band() {
    for (device, size, film, air, hours) in [
        ("PVB", "1", "1.8 Btu/h ft2 F", "20 F", 0.8),
        ("RP", "1", "1.8 Btu/h ft2 F", "28 F", 1.5),
        ("RP", "1", "5 Btu/h ft2 F", "20 F", 0.3),
        ("RP", "2", "1.8 Btu/h ft2 F", "20 F", 1.5),
        ("RP", "4", "1.8 Btu/h ft2 F", "20 F", 3.4),
        ("RP", "8", "1.8 Btu/h ft2 F", "20 F", 6.0),
        ("RP", "8", "5 Btu/h ft2 F", "20 F", 2.2),
    ] {
        let answer = json(&[
            "--device", device, "--size", size, "--film", film, "--air", air, "--start", "50 F",
        ]);
        let body = answer["parts"]
            .as_array()
            .unwrap()
            .iter()
            .find(|part| part["name"].as_str().unwrap().starts_with("body"))
            .unwrap()["hours_to_freezing"]
            .as_f64()
            .unwrap();
        assert!(
            body > hours / 2.0 && body < hours * 2.0,
            "{size} in {device} at {air}, {film}: {body} h for {hours}"
        );
    }
}

#[test]
fn si_units_are_read_and_shown() {
    brimwater(&[
        "cooldown", "--pipe", "copper-L", "--size", "1", "--air=-7", "--start", "10", "--film", "20", "--units", "si",
    ])
    .success()
    .stdout(contains("°C"))
    .stdout(contains("planning aid"));
}

#[test]
fn all_faults_are_told_at_once() {
    brimwater(&[
        "cooldown", "--pipe", "lead", "--size", "7", "--air", "cold", "--film", "-3 W/m2K",
    ])
    .code(2)
    .stderr(contains("--air"))
    .stderr(contains("--size"))
    .stderr(contains("--film"));
}

#[test]
fn impossible_requests_are_refused() {
    brimwater(&["cooldown", "--size", "1", "--air", "20 F"])
        .code(2)
        .stderr(contains("--device"));
    brimwater(&[
        "cooldown",
        "--pipe",
        "copper-L",
        "--size",
        "1",
        "--air",
        "20 F",
        "--no-film",
    ])
    .code(2)
    .stderr(contains("insulation"));
    brimwater(&["cooldown", "--pipe", "copper-L", "--size", "1", "--air", "nan"]).code(2);
    brimwater(&["cooldown", "--pipe", "pex-sdr9", "--size", "8", "--air", "20 F"])
        .code(2)
        .stderr(contains("not made"));
}
