//! `brimwater expansion` as a script or a plumber calls it: the form of the answer, bad input, lists, record, charts.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use assert_cmd::Command;
use predicates::prelude::*;
use serde_json::Value;
use std::fs;

fn brimwater() -> Command {
    let mut command = Command::cargo_bin("brimwater").unwrap();
    command.arg("expansion");
    command
}

const USUAL: [&str; 8] = [
    "--heater", "40 gal", "--cold", "50 F", "--hot", "120 F", "--static", "60 psi",
];

/// The usual system with one option set anew.
fn with(option: &str, value: &str) -> Command {
    let mut command = brimwater();
    for pair in USUAL.chunks(2) {
        if pair[0] != option {
            command.args(pair);
        }
    }
    command.arg(format!("{option}={value}"));
    command
}

fn json(command: &mut Command) -> Value {
    let out = command.args(["--format", "json"]).output().unwrap();
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    serde_json::from_slice(&out.stdout).unwrap()
}

#[test]
fn json_has_the_keys_of_the_interface() {
    let answer = json(
        with("--existing-tank", "2 gal")
            .args([
                "--precharge",
                "40 psi",
                "--heat-input",
                "40000 Btu/h",
                "--efficiency",
                "0.8",
            ])
            .args(["--daily-draw", "64 gal"]),
    );
    for (part, keys) in [
        ("closed", vec!["is_closed", "because"]),
        ("expansion", vec!["fraction", "volume_l"]),
        (
            "unprotected",
            vec!["final_gauge_kpa", "rise_per_k_kpa", "heating_to_limit_k"],
        ),
        (
            "tank",
            vec![
                "feasible",
                "min_volume_l",
                "acceptance_factor",
                "precharge_gauge_kpa",
                "why_not",
            ],
        ),
        (
            "existing_tank",
            vec!["usable_l", "water_at_rest_l", "final_gauge_kpa", "adequate", "findings"],
        ),
        (
            "relief",
            vec![
                "feasible",
                "window_gauge_kpa",
                "per_heatup_l",
                "per_year_l",
                "peak_l_per_min",
                "why_not",
            ],
        ),
        ("recommendation", vec!["measure", "why"]),
    ] {
        let part_value = answer[part].as_object().unwrap_or_else(|| panic!("{part} is missing"));
        for key in keys {
            assert!(part_value.contains_key(key), "{part}.{key} is missing");
        }
    }
    assert_eq!(answer["schema"], "brimwater.expansion/1");
    assert!(answer["cautions"].as_array().unwrap().len() >= 5);
    // X-Val: IF97 and Boyle worked apart: 0.0113063; 2.1413 gal; 0.2112; usable 0.3093 gal; 93.38 psi; 264 gal a year; 61.3 mL/min.
    let number = |value: &Value| value.as_f64().unwrap();
    assert_abs_diff_eq!(number(&answer["expansion"]["fraction"]), 0.011_306_3, epsilon = 2e-5);
    assert_relative_eq!(
        number(&answer["tank"]["min_volume_l"]),
        2.1413 * 3.785_411_784,
        max_relative = 2e-3
    );
    assert_abs_diff_eq!(number(&answer["tank"]["acceptance_factor"]), 0.2112, epsilon = 1e-4);
    assert_relative_eq!(
        number(&answer["existing_tank"]["usable_l"]),
        0.3093 * 3.785_411_784,
        max_relative = 1e-3
    );
    assert_abs_diff_eq!(
        number(&answer["existing_tank"]["final_gauge_kpa"]),
        93.38 * 6.894_757,
        epsilon = 0.3
    );
    assert_relative_eq!(
        number(&answer["relief"]["per_year_l"]),
        264.0 * 3.785_411_784,
        max_relative = 5e-3
    );
    assert_relative_eq!(number(&answer["relief"]["peak_l_per_min"]), 0.0613, max_relative = 5e-3);
}

#[test]
fn what_does_not_apply_is_null() {
    let answer = json(&mut with("--static", "85 psi"));
    assert_eq!(answer["as_found"]["tank_feasible"], false);
    assert!(answer["as_found"]["tank_min_volume_l"].is_null());
    assert!(
        answer["as_found"]["why_no_tank"]
            .as_str()
            .unwrap()
            .contains("lower the supply pressure")
    );
    assert!(answer["existing_tank"].is_null());
    assert!(answer["relief"]["per_year_l"].is_null());
    assert_eq!(answer["recommendation"]["measure"], "lower_supply_pressure_then_tank");
}

// X-Val: unit conversions by definition: the same system in SI gives the same answer.
#[test]
fn the_same_system_in_si_gives_the_same_answer() {
    let us = json(&mut with("--limit", "80 psi"));
    let si = json(brimwater().args([
        "--units",
        "si",
        "--heater",
        "151.41647136",
        "--cold",
        "10",
        "--hot",
        "48.888888889",
        "--static",
        "413.685437588",
        "--limit",
        "551.580583453",
    ]));
    let near = |path: [&str; 2]| {
        assert_relative_eq!(
            us[path[0]][path[1]].as_f64().unwrap(),
            si[path[0]][path[1]].as_f64().unwrap(),
            max_relative = 1e-7
        );
    };
    near(["tank", "min_volume_l"]);
    near(["expansion", "volume_l"]);
    near(["unprotected", "final_gauge_kpa"]);
}

/// Refused with exit 2, and the words that must be told.
fn refused(command: &mut Command, words: &[&str]) {
    let out = command.output().unwrap();
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(2), "{told}");
    assert!(out.stdout.is_empty(), "an answer was printed beside the refusal");
    for word in words {
        assert!(told.contains(word), "{word:?} is not told in: {told}");
    }
}

/// Answered with exit 0, and warned in words.
fn warned(command: &mut Command, words: &[&str]) {
    let out = command.output().unwrap();
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(0), "{told}");
    for word in words {
        assert!(told.contains(word), "{word:?} is not told in: {told}");
    }
}

#[test]
fn implausible_static_pressures_are_refused_with_the_likely_reason() {
    refused(&mut with("--static", "4"), &["static", "bar", "10 to 300 psi"]);
    refused(&mut with("--static", "414"), &["static", "kPa"]);
    refused(&mut with("--static", "9.9 psi"), &["static"]);
    refused(&mut with("--static", "301 psi"), &["static"]);
    refused(&mut with("--static", "0"), &["static", "above zero"]);
    refused(&mut with("--static", "-20 psi"), &["static"]);
    refused(&mut with("--static", "74.7 psia"), &["absolute", "gauge"]);
    warned(with("--static", "8 psi").arg("--accept-unusual"), &["static"]);
}

#[test]
fn cold_above_hot_is_refused() {
    refused(&mut with("--hot", "45 F"), &["below the cold one", "swapped"]);
}

#[test]
fn litres_typed_as_gallons_draw_a_warning() {
    warned(&mut with("--heater", "190 gal"), &["warning", "heater", "190 L"]);
    let answer = json(&mut with("--heater", "190 gal"));
    assert_eq!(answer["warnings"][0]["column"], "heater");
}

#[test]
fn us_and_imperial_gallons_are_told_apart() {
    let us = json(&mut with("--heater", "40 gal"));
    let imperial = json(&mut with("--heater", "40 imp gal"));
    // X-Val: 4.54609 L and 3.785411784 L by definition.
    assert_relative_eq!(
        imperial["expansion"]["volume_l"].as_f64().unwrap() / us["expansion"]["volume_l"].as_f64().unwrap(),
        4.546_09 / 3.785_411_784,
        max_relative = 1e-9
    );
    warned(&mut with("--heater", "40 imp gal"), &["imperial"]);
    warned(with("--heater", "40 gal").args(["--units", "si"]), &["US gallons"]);
}

#[test]
fn zero_and_negative_and_missing_are_refused() {
    refused(&mut with("--heater", "0 gal"), &["heater", "zero"]);
    refused(&mut with("--heater", "-40 gal"), &["negative"]);
    refused(&mut with("--heater", "forty"), &["heater", "number"]);
    refused(&mut with("--heater", "40 gl"), &["heater", "gl", "not known"]);
    refused(&mut with("--limit", "0 psi"), &["limit"]);
    refused(&mut with("--efficiency", "80"), &["efficiency", "80 %"]);
    refused(&mut with("--daily-draw", "-4 gal"), &["negative"]);
    refused(&mut with("--cold", "-5 C"), &["cold", "freezing"]);
    refused(&mut with("--elevation", "52800 ft"), &["elevation"]);
    refused(&mut with("--existing-tank", "2 gal"), &["precharge"]);
    refused(&mut with("--precharge", "40 psi"), &["existing-tank"]);
    refused(
        with("--existing-tank", "2 gal").args(["--precharge=-4 psi"]),
        &["precharge"],
    );
    refused(
        with("--existing-tank", "2 gal").args(["--precharge", "40", "--max-acceptance", "3 gal"]),
        &["max-acceptance"],
    );
    refused(&mut with("--closed-by", "gate"), &["closed-by", "backflow-assembly"]);
    refused(&mut with("--pipe", "copper-L 7/8 in 60 ft"), &["pipe", "not made in"]);
    refused(&mut with("--pipe", "lead 3/4 in 60 ft"), &["lead", "not known"]);
    refused(&mut with("--pipe", "copper-L"), &["size"]);
}

#[test]
fn all_faults_are_told_at_once() {
    refused(&mut brimwater(), &["[heater]", "[cold]", "[hot]", "[static]"]);
    refused(
        brimwater().args(["--heater", "x", "--cold", "y", "--hot", "z", "--static", "60 psia"]),
        &["[heater]", "[cold]", "[hot]", "[static]"],
    );
}

#[test]
fn what_cannot_be_read_and_what_cannot_be_are_told_in_one_go() {
    let mut command = brimwater();
    command.args([
        "--heater",
        "40 gal",
        "--cold",
        "140 F",
        "--hot",
        "45 F",
        "--static",
        "4 psi",
        "--pipe",
        "lead 1 in",
        "--precharge",
        "40 psi",
    ]);
    // Unreadable pipe, missing tank, swapped temperatures, unbelievable static.
    refused(&mut command, &["BW-X23", "BW-X21", "BW-X06", "BW-X11"]);
    // A reading that was not read is not weighed: no second complaint about the same field.
    let told = brimwater()
        .args(["--heater", "x", "--cold", "40 F", "--hot", "y", "--static", "60 psi"])
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&told.stderr).into_owned();
    assert_eq!(told.matches("BW-X").count(), 2, "{told}");
}

#[test]
fn a_relief_valve_above_210_f_is_refused() {
    refused(&mut with("--heater-relief-temperature", "220 F"), &["210 °F"]);
}

#[test]
fn storage_at_the_relief_valves_temperature_draws_a_warning_and_boiling_is_refused() {
    warned(&mut with("--hot", "212 F"), &["hot", "hazard"]);
    refused(&mut with("--hot", "400 F"), &["boil"]);
}

#[test]
fn an_impossible_tank_is_an_answer_and_not_a_failure() {
    with("--static", "90 psi")
        .assert()
        .code(0)
        .stdout(predicate::str::contains("lower the supply pressure"))
        .stdout(predicate::str::starts_with(
            "Do             Fit a pressure regulator set to 60.0 psi.",
        ));
}

#[test]
fn stacking_adds_to_the_hot_end() {
    let plain = json(&mut with("--hot", "150 F"));
    let stacked = json(with("--hot", "120 F").args(["--stacking", "30 F"]));
    assert_relative_eq!(
        plain["expansion"]["fraction"].as_f64().unwrap(),
        stacked["expansion"]["fraction"].as_f64().unwrap(),
        max_relative = 1e-9
    );
}

// X-Val: ASTM B88: 3/4 in type L holds 0.02514 gal a foot: 60 ft hold 1.508 gal.
#[test]
fn hot_pipe_is_read_and_adds_its_water() {
    let plain = json(&mut with("--limit", "80 psi"));
    let piped = json(&mut with("--pipe", "copper-L 3/4 in 60 ft"));
    let ratio = piped["expansion"]["volume_l"].as_f64().unwrap() / plain["expansion"]["volume_l"].as_f64().unwrap();
    assert_relative_eq!(ratio, (40.0 + 60.0 * 0.02514) / 40.0, max_relative = 1e-4);
    for same in ["copper-l 3/4 60", "copper-L, 0.75 in, 60 ft", "Copper-L 20 mm 18.288 m"] {
        let again = json(&mut with("--pipe", same));
        assert_relative_eq!(
            again["expansion"]["volume_l"].as_f64().unwrap(),
            piped["expansion"]["volume_l"].as_f64().unwrap(),
            max_relative = 1e-9
        );
    }
}

#[test]
fn help_has_a_worked_example_that_runs() {
    let out = brimwater().arg("--help").output().unwrap();
    let help = String::from_utf8(out.stdout).unwrap();
    assert!(
        help.contains("brimwater expansion --heater \"40 gal\" --cold \"50 F\" --hot \"120 F\" --static \"60 psi\"")
    );
    with("--closed-by", "backflow-assembly").assert().code(0);
}

#[test]
fn text_for_people_is_at_most_100_columns_wide_and_20_lines_long() {
    let out = with("--existing-tank", "2 gal")
        .args(["--precharge", "20"])
        .output()
        .unwrap();
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(text.lines().all(|line| line.chars().count() <= 100));
    assert!(text.lines().count() <= 20, "{text}");
    assert!(text.starts_with("Do "), "{text}");
    // The most steps and reasons that one house can have.
    let out = with("--hot", "230 F")
        .args(["--closed-by", "softener,recirculation-check", "--street", "120"])
        .args([
            "--existing-tank",
            "1",
            "--precharge",
            "20",
            "--room-for-tank",
            "0.5",
            "--rating",
            "60",
        ])
        .output()
        .unwrap();
    let many = String::from_utf8(out.stdout).unwrap();
    assert!(many.lines().count() <= 20 && many.starts_with("Do "), "{many}");
    assert!(
        text.split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("never the control")
    );
}

const LIST: &str = "system_id,use,heater_gal,cold_f,hot_f,static_psi,closed_by,existing_tank_gal,precharge_psi\n\
A,house,40,50,120,60,backflow-assembly,,\n\
B,house,40,120,50,60,backflow-assembly,,\n\
,house,40,50,120,60,,,\n\
A,twin,40,50,120,60,,,\n\
C,=1+1,150 L,10 C,60 C,4 bar,meter-check,2,40\n\
D,house,40,50,120,4,,,\n";

#[test]
fn a_list_answers_the_good_rows_and_rejects_the_others_with_reasons() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("systems.csv");
    let rejects = folder.path().join("rejects.csv");
    fs::write(&list, LIST).unwrap();
    let out = brimwater()
        .args(["--format", "csv", "--systems"])
        .arg(&list)
        .arg("--rejects")
        .arg(&rejects)
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(1));
    let told = String::from_utf8(out.stderr).unwrap();
    assert!(told.contains("6 systems: 2 answered, 4 rejected"), "{told}");
    let text = String::from_utf8(out.stdout).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows: Vec<_> = reader.records().map(|row| row.unwrap()).collect();
    let cell = |row: usize, name: &str| {
        rows[row]
            .get(header.iter().position(|h| h == name).unwrap())
            .unwrap()
            .to_string()
    };
    assert_eq!(
        (rows.len(), cell(0, "system_id"), cell(1, "system_id")),
        (2, "A".into(), "C".into())
    );
    assert_eq!(cell(0, "measure"), "tank");
    // X-Val: 2.1413 gal, worked apart.
    assert_relative_eq!(
        cell(0, "tank_min_l").parse::<f64>().unwrap(),
        2.1413 * 3.785_411_784,
        max_relative = 2e-3
    );
    // Columns that are not ours pass through, and a spreadsheet's formula is defused.
    assert_eq!(cell(0, "use"), "house");
    assert_eq!(cell(1, "use"), "'=1+1");
    let kept = fs::read_to_string(&rejects).unwrap();
    for (line, code) in [("3", "BW-X06"), ("4", "BW-X40"), ("5", "BW-X41"), ("7", "BW-X11")] {
        assert!(
            kept.lines().any(|row| row.starts_with(&format!("{line},{code}"))),
            "{line} {code}: {kept}"
        );
    }
}

#[test]
fn a_list_as_json_carries_every_answer_and_every_reject() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("systems.csv");
    fs::write(&list, LIST).unwrap();
    let out = brimwater()
        .args(["--format", "json", "--quiet", "--systems"])
        .arg(&list)
        .output()
        .unwrap();
    let answer: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(answer["systems"].as_array().unwrap().len(), 2);
    assert_eq!(answer["rejects"].as_array().unwrap().len(), 4);
    assert_eq!(answer["systems"][0]["recommendation"]["measure"], "tank");
}

#[test]
fn options_fill_what_the_list_leaves_blank() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("systems.csv");
    fs::write(&list, "system_id;heater_gal;static_psi\nA;40,0;60\nB;40;\n").unwrap();
    let out = brimwater()
        .args(["--format", "json", "--cold", "50 F", "--hot", "120 F", "--systems"])
        .arg(&list)
        .output()
        .unwrap();
    let answer: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(answer["systems"].as_array().unwrap().len(), 1);
    assert_relative_eq!(
        answer["systems"][0]["tank"]["min_volume_l"].as_f64().unwrap(),
        2.1413 * 3.785_411_784,
        max_relative = 2e-3
    );
    assert_eq!(answer["rejects"][0]["faults"][0]["column"], "static");
}

#[test]
fn a_list_as_a_table_says_what_to_do_and_to_set_and_counts_at_the_end() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("systems.csv");
    fs::write(
        &list,
        "system_id,heater_gal,cold_f,hot_f,static_psi\nA,40,50,120,60\nB,40,50,120,90\nC,40,50,120,\n",
    )
    .unwrap();
    let out = brimwater().arg("--systems").arg(&list).output().unwrap();
    assert_eq!(out.status.code(), Some(1));
    let text = String::from_utf8(out.stdout).unwrap();
    // X-Val: 2.1413 gal, worked apart, rounded up; 60 psi is static for A and the regulator's setting for B.
    for must in ["2.15 gal", "precharge 60.0 psi", "supply to 60.0 psi, precharge"] {
        assert!(text.contains(must), "{must:?} is missing in: {text}");
    }
    assert!(text.ends_with("3 systems: 2 answered, 1 rejected\n"), "{text}");
}

#[test]
fn a_list_gives_the_same_bytes_on_one_thread_and_on_many() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("systems.csv");
    let mut text = String::from("system_id,heater_gal,cold_f,hot_f,static_psi\n");
    for at in 0..500 {
        text.push_str(&format!(
            "S{at},{},{},{},{}\n",
            30 + at % 90,
            40 + at % 21,
            120 + at % 31,
            45 + at % 45
        ));
    }
    fs::write(&list, text).unwrap();
    let run = |threads: &str| {
        brimwater()
            .env("RAYON_NUM_THREADS", threads)
            .args(["--format", "csv", "--systems"])
            .arg(&list)
            .output()
            .unwrap()
            .stdout
    };
    let one = run("1");
    assert_eq!(one, run("4"));
    assert_eq!(one.iter().filter(|byte| **byte == b'\n').count(), 501);
}

#[test]
fn a_list_that_is_no_list_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("systems.csv");
    refused(brimwater().arg("--systems").arg(&list), &["no such file"]);
    fs::write(&list, "name,heater_gal\nA,40\n").unwrap();
    refused(brimwater().arg("--systems").arg(&list), &["system_id"]);
    fs::write(&list, "system_id,heater_gal,heater_l\nA,40,150\n").unwrap();
    refused(brimwater().arg("--systems").arg(&list), &["two columns"]);
    fs::write(&list, "system_id,heater_gal\n").unwrap();
    refused(brimwater().arg("--systems").arg(&list), &["no systems"]);
}

#[test]
fn the_sample_list_and_catalogue_are_read_whole() {
    let root = env!("CARGO_MANIFEST_DIR");
    let out = brimwater()
        .args([
            "--format",
            "json",
            "--systems",
            &format!("{root}/climate-samples/systems.csv"),
        ])
        .args(["--catalogue", &format!("{root}/climate-samples/tank-catalogue.csv")])
        .output()
        .unwrap();
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    let answer: Value = serde_json::from_slice(&out.stdout).unwrap();
    let systems = answer["systems"].as_array().unwrap();
    assert!(systems.len() >= 40);
    for system in systems {
        if system["tank"]["from_catalogue"].is_object() {
            assert!(system["tank"]["from_catalogue"]["volume_l"].as_f64() >= system["tank"]["min_volume_l"].as_f64());
        }
    }
}

#[test]
fn a_catalogue_names_the_smallest_tank_that_fits() {
    let root = env!("CARGO_MANIFEST_DIR");
    let answer = json(&mut with(
        "--catalogue",
        &format!("{root}/climate-samples/tank-catalogue.csv"),
    ));
    // X-Val: the list: 2.1 gal is under the 2.14 gal needed, 3.2 gal is the next.
    assert_eq!(answer["tank"]["from_catalogue"]["name"], "diaphragm 3");
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("tanks.csv");
    fs::write(
        &list,
        "name,volume_gal,max_acceptance_gal,max_pressure_psi\nodd,2,3,150\n",
    )
    .unwrap();
    refused(
        with("--catalogue", list.to_str().unwrap()).arg("--quiet"),
        &["no tank accepts more"],
    );
    fs::write(&list, "name,volume_gal\nodd,2\n").unwrap();
    refused(
        &mut with("--catalogue", list.to_str().unwrap()),
        &["max_acceptance_gal"],
    );
}

// X-Val: by hand: 80 gal from 50 to 140 °F gain 1.3433 gal (IF97, references 1.5), 60 to 80 psi leave 0.2112: 6.36 gal. Of 2.1 and 4.4 gal
// tanks two of 4.4 gal are the fewest: 0.2112 × 8.8 = 1.86 gal, and 4.4 + 2.1 would do, too, with less. A wrong program names them at one
// door and not at the other.
#[test]
fn factory_sizes_are_combined_at_every_door() {
    let folder = tempfile::tempdir().unwrap();
    let sizes = folder.path().join("sizes.csv");
    fs::write(
        &sizes,
        "name,volume_gal,max_acceptance_gal,max_pressure_psi\nsmall,2.1,0.9,150\nlarge,4.4,2.5,150\n",
    )
    .unwrap();
    let list = folder.path().join("list.csv");
    fs::write(
        &list,
        "system_id,heater_gal,cold_f,hot_f,static_psi,closed_by\nA,80,50,140,60,backflow-assembly\n",
    )
    .unwrap();
    let record = folder.path().join("record.html");
    let sizes = sizes.to_str().unwrap();
    let one = [
        "--heater",
        "80 gal",
        "--cold",
        "50 F",
        "--hot",
        "140 F",
        "--static",
        "60 psi",
        "--closed-by",
        "backflow-assembly",
        "--catalogue",
        sizes,
    ];
    let both = "large + small";
    let alone = json(brimwater().args(one));
    assert_eq!(alone["tank"]["from_catalogue"]["name"], both);
    assert_eq!(alone["tank"]["from_catalogue"]["pieces"].as_array().unwrap().len(), 2);
    let says = |command: &mut Command| {
        let out = command.output().unwrap();
        String::from_utf8(out.stdout).unwrap()
    };
    let text = says(brimwater().args(one).args(["--record", record.to_str().unwrap()]));
    assert!(text.contains(both), "{text}");
    assert!(fs::read_to_string(&record).unwrap().contains(both));
    let of_list = ["--systems", list.to_str().unwrap(), "--catalogue", sizes];
    let listed = json(brimwater().args(of_list));
    assert_eq!(
        listed["systems"][0]["tank"]["from_catalogue"],
        alone["tank"]["from_catalogue"]
    );
    let cells = says(brimwater().args(of_list).args(["--format", "csv"]));
    assert!(cells.contains(both), "{cells}");
    let table = says(brimwater().args(of_list));
    assert!(table.contains(both), "{table}");
}

#[test]
fn the_record_has_inputs_formula_result_cautions_and_room_to_sign() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("record.html");
    with("--existing-tank", "2 gal")
        .args(["--precharge", "40", "--closed-by", "backflow-assembly", "--record"])
        .arg(&record)
        .assert()
        .code(0);
    let page = fs::read_to_string(&record).unwrap();
    for must in [
        "Replace the tank that is there",
        "40.0 gal",
        "precharge 40.0 psi",
        "IAPWS-IF97",
        "ASHRAE",
        "as adopted locally",
        "Check on site",
        "never the control",
        "license number",
        "Date",
        "A planning aid",
        "@media print",
        "name=\"viewport\"",
        "<svg",
    ] {
        assert!(page.contains(must), "{must:?} is missing from the record");
    }
    assert!(!page.contains("<script") && !page.contains("http://") || page.contains("http://www.w3.org/2000/svg"));
    assert!(!page.contains("NaN"));
}

#[test]
fn charts_are_written_and_say_what_they_show() {
    let folder = tempfile::tempdir().unwrap();
    for (static_pressure, hot) in [("60 psi", "120 F"), ("85 psi", "140 F"), ("60 psi", "50 F")] {
        let (one, two) = (folder.path().join("pressure.svg"), folder.path().join("tank.svg"));
        let mut command = brimwater();
        command
            .args([
                "--heater",
                "40",
                "--cold",
                "50 F",
                "--hot",
                hot,
                "--static",
                static_pressure,
                "--accept-unusual",
                "--chart",
            ])
            .arg(&one)
            .arg("--chart-tank")
            .arg(&two)
            .assert()
            .code(0);
        let (pressure, tank) = (fs::read_to_string(&one).unwrap(), fs::read_to_string(&two).unwrap());
        assert!(
            pressure.contains("with nothing") && pressure.contains("limit 80.0 psi") && pressure.contains("<desc>")
        );
        assert!(tank.contains("supply pressure") && !tank.contains("NaN") && !pressure.contains("NaN"));
    }
}

#[test]
fn a_place_that_cannot_be_written_is_told() {
    refused(
        &mut with("--record", "/nowhere/at/all/record.html"),
        &["cannot be written"],
    );
}

/// A year of made days: a cosine between -2 °C in January and 24 °C in July.
fn year_of_days() -> String {
    let mut text = String::from("time,air_temp_c\n");
    let start = chrono::NaiveDate::from_ymd_opt(2021, 1, 1).unwrap();
    for hour in 0..(365 * 24) {
        let day = f64::from(hour) / 24.0;
        let air = 11.0 - 13.0 * (2.0 * std::f64::consts::PI * (day - 15.0) / 365.0).cos();
        let time = start.and_hms_opt(0, 0, 0).unwrap() + chrono::TimeDelta::hours(i64::from(hour));
        text.push_str(&format!("{}Z,{air:.2}\n", time.format("%Y-%m-%dT%H:%M:%S")));
    }
    text
}

#[test]
fn the_coldest_supply_comes_from_a_climate_record() {
    let folder = tempfile::tempdir().unwrap();
    let series = folder.path().join("series.csv");
    fs::write(&series, year_of_days()).unwrap();
    let answer = json(
        brimwater()
            .args(["--heater", "40 gal", "--hot", "120 F", "--static", "60 psi", "--series"])
            .arg(&series),
    );
    // X-Val: Burch and Christensen 2007 by hand: mean 11 °C = 51.8 °F, monthly range about 25.7 K = 46.3 °F: ratio 0.478, offset 6 °F:
    // coldest 57.8 - 0.478 · 23.1 = 46.7 °F. IF97 from there to 120 °F at 80 psi: about 0.01139. Tolerance 1 %: half a degree.
    assert_relative_eq!(
        answer["expansion"]["fraction"].as_f64().unwrap(),
        0.01139,
        max_relative = 0.01
    );
    assert!(
        answer["relief"]["findings"]
            .as_array()
            .unwrap()
            .iter()
            .any(|text| text.as_str().unwrap().contains("ices shut"))
    );
    // A cold typed beside it goes before.
    let typed = json(with("--cold", "50 F").arg("--series").arg(&series));
    assert_abs_diff_eq!(
        typed["expansion"]["fraction"].as_f64().unwrap(),
        0.011_306_3,
        epsilon = 2e-5
    );
    // Too short a record is refused in words.
    fs::write(
        &series,
        year_of_days().lines().take(24 * 30).collect::<Vec<_>>().join("\n"),
    )
    .unwrap();
    refused(
        brimwater()
            .args(["--heater", "40 gal", "--hot", "120 F", "--static", "60 psi", "--series"])
            .arg(&series),
        &["year"],
    );
}

// A wrong program shows the figures of the house as found beside the advice to change it: "4.28 gal, precharge 70 psi".
#[test]
fn no_line_carries_a_figure_of_the_state_that_is_not_advised() {
    let folder = tempfile::tempdir().unwrap();
    let record = folder.path().join("record.html");
    let mut near = with("--static", "70 psi");
    near.args(["--closed-by", "backflow-assembly", "--explain", "--record"])
        .arg(&record);
    let out = near.output().unwrap();
    let text = String::from_utf8(out.stdout).unwrap();
    let page = fs::read_to_string(&record).unwrap();
    for told in [&text, &page] {
        // X-Val: Boyle by hand: 0.4523 gal / (1 - 84.696/94.696) = 4.28 gal as found, 2.1413 gal at 60 psi.
        assert!(!told.contains("4.28 gal") && !told.contains("4.29 gal"), "{told}");
        assert!(told.contains("2.15 gal"), "{told}");
        assert!(!told.contains("recharge 70"), "{told}");
    }
    let answer = json(with("--static", "70 psi").args(["--closed-by", "backflow-assembly"]));
    assert_relative_eq!(
        answer["tank"]["min_volume_l"].as_f64().unwrap(),
        2.1413 * 3.785_411_784,
        max_relative = 2e-3
    );
    assert_relative_eq!(
        answer["tank"]["precharge_gauge_kpa"].as_f64().unwrap(),
        60.0 * 6.894_757,
        max_relative = 1e-6
    );
}

#[test]
fn the_street_without_a_regulator_leads_the_answer() {
    for device in ["backflow-assembly", "nothing"] {
        let out = with("--closed-by", device).args(["--street", "110"]).output().unwrap();
        let text = String::from_utf8(out.stdout).unwrap();
        let first = text.lines().next().unwrap();
        assert!(first.contains("Fit a pressure regulator set to 60.0 psi"), "{text}");
    }
}

#[test]
fn celsius_typed_as_fahrenheit_is_asked_about() {
    refused(&mut with("--hot", "60 F"), &["BW-X17", "140 °F", "--accept-unusual"]);
    refused(
        brimwater().args(["--heater", "40", "--cold", "95", "--hot", "105", "--static", "60"]),
        &["BW-X17", "rise"],
    );
    warned(with("--hot", "60 F").arg("--accept-unusual"), &["BW-X17"]);
}

#[test]
fn no_number_on_a_screen_has_more_than_seven_figures() {
    for (option, value) in [
        ("--heater", "1e300"),
        ("--static", "1e300"),
        ("--daily-draw", "1e200"),
        ("--heater", "123456789"),
    ] {
        let out = with(option, value).output().unwrap();
        assert_eq!(out.status.code(), Some(2));
        let told = String::from_utf8_lossy(&out.stderr).into_owned();
        let longest = told.split(|c: char| !c.is_ascii_digit()).map(str::len).max().unwrap();
        assert!(longest <= 7 || told.contains(value), "{told}");
        assert!(longest <= 9, "{told}");
    }
}

#[test]
fn a_swap_of_static_and_limit_is_hinted_at() {
    warned(with("--static", "80").args(["--limit", "60"]), &["BW-X36", "swapped"]);
    warned(&mut with("--limit", "140"), &["BW-X12", "within a tenth"]);
}

#[test]
fn storage_at_the_relief_temperature_has_one_answer() {
    let out = with("--hot", "230 F").output().unwrap();
    let text = String::from_utf8(out.stdout).unwrap();
    assert!(
        text.lines().next().unwrap().contains("Shut the heater's energy off"),
        "{text}"
    );
}

#[test]
fn an_answer_carries_what_it_takes_to_make_it_again() {
    let first = json(with("--street", "75 psi").args(["--closed-by", "prv"]));
    let inputs = &first["inputs"];
    let again = json(brimwater().args([
        "--heater",
        inputs["heaters"][0].as_str().unwrap(),
        "--cold",
        inputs["cold"].as_str().unwrap(),
        "--hot",
        inputs["hot"].as_str().unwrap(),
        "--static",
        inputs["static_pressure"].as_str().unwrap(),
        "--street",
        inputs["street"].as_str().unwrap(),
        "--closed-by",
        inputs["closed_by"][0].as_str().unwrap(),
        "--units",
        first["units"].as_str().unwrap(),
    ]));
    assert_eq!(first, again);
}

#[test]
fn a_list_tells_its_unread_columns_once_and_reads_what_it_used_to_pass_by() {
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("systems.csv");
    fs::write(
        &list,
        "system_id,heater_gal,cold_f,hot_f,static_psi,street_pressure_psi,rating_psi\nA,40,50,120,50,110,65\nB,40,50,120,50,110,\n",
    )
    .unwrap();
    let out = brimwater()
        .args(["--format", "json", "--systems"])
        .arg(&list)
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(told.matches("BW-X47").count(), 1, "{told}");
    assert!(told.contains("name it street"), "{told}");
    let answer: Value = serde_json::from_slice(&out.stdout).unwrap();
    // The rating of 65 psi is the limit that counts.
    let supply = &answer["systems"][0]["as_found"]["supply"];
    assert_eq!(supply["limit_from"], "rating");
    assert_relative_eq!(
        supply["limit_gauge_kpa"].as_f64().unwrap(),
        65.0 * 6.894_757,
        max_relative = 1e-6
    );
    assert!(answer["systems"][0].get("sensitivity").is_none());
    let out = brimwater()
        .args(["--format", "json", "--sensitivity", "--systems"])
        .arg(&list)
        .output()
        .unwrap();
    let answer: Value = serde_json::from_slice(&out.stdout).unwrap();
    assert!(!answer["systems"][1]["sensitivity"].as_array().unwrap().is_empty());
    // The same in the form that most lists are read in: a wrong program looks for the turns and shows them nowhere.
    let of_list = |format: &str| {
        let args = ["--quiet", "--format", format, "--sensitivity", "--systems"];
        let out = brimwater().args(args).arg(&list).output().unwrap();
        String::from_utf8(out.stdout).unwrap()
    };
    let cells = of_list("csv");
    let mut reader = csv::Reader::from_reader(cells.as_bytes());
    let header = reader.headers().unwrap().clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let cell = |row: usize, name: &str| &rows[row][header.iter().position(|cell| cell == name).unwrap()];
    let turn = &answer["systems"][1]["sensitivity"][0];
    assert_eq!(cell(1, "turns_reading"), turn["reading"].as_str().unwrap());
    assert_eq!(cell(1, "turns_becomes"), turn["becomes"].as_str().unwrap());
    assert_relative_eq!(
        cell(1, "turns_at").parse::<f64>().unwrap(),
        turn["turns_at"].as_f64().unwrap(),
        epsilon = 0.006
    );
    assert!(of_list("table").contains("turns at"));
    // Without it no column promises what was not computed.
    let plain = brimwater()
        .args(["--quiet", "--format", "csv", "--systems"])
        .arg(&list)
        .output()
        .unwrap();
    assert!(!String::from_utf8(plain.stdout).unwrap().contains("turns_"));
}
