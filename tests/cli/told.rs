//! What is told and what is recorded: `--quiet`, a full standard output, old letters, every option in the record of the run.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use super::campaign::Campaign;
use assert_cmd::Command;
use predicates::prelude::*;
use std::collections::BTreeSet;
use std::fs;

const NOW: &str = "2031-01-08T14:00:00Z";

#[test]
fn quiet_hides_notes_and_nothing_that_changes_the_result() {
    let campaign = Campaign::new();
    let list = fs::read_to_string(campaign.path("list.csv")).unwrap();
    fs::write(campaign.path("list.csv"), list + "A-9,PVB,huge,31.5,-41.3\n").unwrap();
    let loud = campaign.plan(NOW, "loud", &[]).output().unwrap();
    let quiet = campaign.plan(NOW, "quiet", &["-q"]).output().unwrap();
    let lines = |bytes: &[u8]| -> BTreeSet<String> {
        let text = String::from_utf8_lossy(bytes).replace("loud", "quiet");
        text.lines().map(str::to_owned).collect()
    };
    let (loud, quiet) = (lines(&loud.stderr), lines(&quiet.stderr));
    let of = |told: &BTreeSet<String>, word: &str| -> BTreeSet<String> {
        told.iter().filter(|line| line.starts_with(word)).cloned().collect()
    };
    assert!(
        of(&quiet, "rejected: ").iter().any(|line| line.contains("list.csv:9")),
        "{quiet:?}"
    );
    for word in ["rejected: ", "warning: "] {
        assert_eq!(of(&quiet, word), of(&loud, word));
    }
    assert!(
        !of(&loud, "note: ").is_empty() && of(&quiet, "note: ").is_empty(),
        "{quiet:?}"
    );
    // And where nothing is wrong, nothing is said.
    let calm = "time,air_temp_c\n2031-01-06T12:00:00Z,3\n2031-01-06T13:00:00Z,2\n";
    fs::write(campaign.path("calm.csv"), calm).unwrap();
    campaign
        .command(&["weather", "show", "calm.csv", "-q"])
        .assert()
        .code(0)
        .stderr("");
    fs::write(campaign.path("wild.csv"), calm.replace(",2\n", ",200\n")).unwrap();
    campaign
        .command(&["weather", "show", "wild.csv", "-q"])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("BW-S06"));
}

#[cfg(target_os = "linux")]
#[test]
fn what_was_saved_is_not_called_undone_because_the_answer_could_not_be_shown() {
    let campaign = Campaign::new();
    let run = |arguments: &[&str]| {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let done = std::process::Command::new(assert_cmd::cargo::cargo_bin!("brimwater"))
            .current_dir(campaign.dir.path())
            .args(arguments)
            .stdout(full)
            .output()
            .unwrap();
        (done.status.code(), String::from_utf8_lossy(&done.stderr).into_owned())
    };
    let add = [
        "log",
        "--db",
        "calls.log",
        "--contact",
        "C-1",
        "--outcome",
        "reached",
        "--by",
        "Rosa",
    ];
    for format in ["table", "csv", "json"] {
        let (status, told) = run(&[&add[..], &["--format", format]].concat());
        assert_eq!(status, Some(1), "{told}");
        assert!(
            told.contains("BW-O01") && told.contains("saved") && !told.contains("error:"),
            "{told}"
        );
    }
    let list = campaign
        .command(&["log", "--db", "calls.log", "--list"])
        .output()
        .unwrap();
    assert!(String::from_utf8_lossy(&list.stdout).contains("3 events"));
    // Where the answer is all there is, it was not done.
    assert_eq!(run(&["log", "--db", "calls.log", "--list"]).0, Some(2));
    assert_eq!(run(&["demo", "--out", "town", "--assemblies", "5"]).0, Some(1));
    assert!(campaign.path("town/assemblies.csv").exists());
    drop(campaign.plan(NOW, "first", &[]).output().unwrap());
    let (status, told) = run(&[
        "plan",
        "--assemblies",
        "list.csv",
        "--series",
        "week.csv",
        "--now",
        NOW,
        "--members",
        "4",
        "--out",
        "out",
    ]);
    assert_eq!(status, Some(1), "{told}");
    assert!(
        told.contains("The plan was written") && campaign.path("out/plan.json").exists(),
        "{told}"
    );
}

#[test]
fn a_config_in_old_letters_keeps_the_name_in_the_review() {
    // X-Val: ISO 8859-1, in which ñ is the byte F1.
    let root = tempfile::tempdir().unwrap();
    let config = root.path().join("config.toml");
    fs::write(&config, b"[utility]\nname = \"Pe\xF1a Water\"\n").unwrap();
    let page = root.path().join("review.html");
    Command::cargo_bin("brimwater")
        .unwrap()
        .args(["review", "--rows", "tests/data/learning/backtest.csv", "--config"])
        .arg(&config)
        .arg("--page")
        .arg(&page)
        .assert()
        .code(predicate::in_iter([0, 1]));
    let text = fs::read_to_string(&page).unwrap();
    assert!(text.contains("Peña Water") && !text.contains('\u{fffd}'));
}

#[test]
fn the_record_of_a_run_names_every_option_of_plan() {
    let campaign = Campaign::new();
    fs::write(
        campaign.path("stations.csv"),
        "station_id,latitude,longitude\nX,31.5,-41.3\n",
    )
    .unwrap();
    drop(campaign.plan(NOW, "first", &[]).output().unwrap());
    campaign
        .command(&[
            "log",
            "--db",
            "calls.log",
            "--contact",
            "C-A-2",
            "--outcome",
            "reached",
            "--by",
            "Rosa",
            "--config",
            "config.toml",
        ])
        .assert()
        .success();
    let mut spread = String::from("time,air_temp_c_p10,air_temp_c_p50,air_temp_c_p90\n");
    for hour in 0..96 {
        spread.push_str(&format!(
            "2031-01-{:02}T{:02}:00:00Z,-6,-3,-1\n",
            8 + (14 + hour) / 24,
            (14 + hour) % 24
        ));
    }
    fs::write(campaign.path("spread.csv"), spread).unwrap();
    fs::write(campaign.path("fitted.csv"), "assembly_id,measure,outcome\n").unwrap();
    let mut climate = String::from("date,tmin_c,tmax_c\n");
    let mut day = chrono::NaiveDate::from_ymd_opt(2030, 1, 1).unwrap();
    while day < chrono::NaiveDate::from_ymd_opt(2031, 1, 1).unwrap() {
        climate.push_str(&format!("{day},{},15\n", 4 + chrono::Datelike::ordinal(&day) % 3));
        day = day.succ_opt().unwrap();
    }
    fs::write(campaign.path("climate.csv"), climate).unwrap();
    let given = [
        "--fitted",
        "fitted.csv",
        "--stations",
        "stations.csv",
        "--spread",
        "spread.csv",
        "--climate",
        "climate.csv",
        "--spell",
        "2031-01-06/2031-01-13",
        "--zone",
        "America/Chicago",
        "--allow-gaps",
        "--seed",
        "7",
        "--what-if",
        "power-out",
        "--threads",
        "1",
        "--since",
        "first",
        "--log",
        "calls.log",
        "--redact",
        "--parquet",
        "--top",
        "3",
    ];
    let done = campaign.plan(NOW, "out", &given).output().unwrap();
    assert!(
        done.status.code() < Some(2),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let record: serde_json::Value = serde_json::from_slice(&fs::read(campaign.path("out/run.json")).unwrap()).unwrap();
    let options = record["options"].as_object().unwrap();
    // What changes no byte of the plan, or is its place; and the options of the service, which stand there when it is asked.
    let elsewhere = [
        "threads",
        "out",
        "help",
        "fetch",
        "service",
        "contact",
        "cache",
        "tries",
        "retry_wait",
        "timeout",
    ];
    let command = brimwater::cli::command();
    let plan = command.find_subcommand("plan").unwrap();
    let mut seen = 0;
    for argument in plan.get_arguments() {
        let name = argument.get_id().as_str();
        if !elsewhere.contains(&name) {
            seen += 1;
            assert!(
                options
                    .get(name)
                    .is_some_and(|value| value.as_str().is_some_and(|text| !text.is_empty())),
                "{name}: {options:?}"
            );
        }
    }
    assert!(seen >= 17, "{seen}");
    assert_eq!(
        (options["advice_cases"].as_str(), options["seed"].as_str()),
        (Some("1"), Some("7"))
    );
}

#[test]
fn a_stray_mark_costs_no_review_and_no_choice_another_row() {
    let root = tempfile::tempdir().unwrap();
    let text = fs::read_to_string("tests/data/learning/backtest.csv").unwrap();
    let run = |text: &str, option: &str, more: &[&str]| {
        let path = root.path().join("table.csv");
        fs::write(&path, text).unwrap();
        let done = Command::cargo_bin("brimwater")
            .unwrap()
            .args(more)
            .arg(option)
            .arg(&path)
            .args(["--format", "json"])
            .output()
            .unwrap();
        let told = String::from_utf8_lossy(&done.stderr).into_owned();
        let answer: serde_json::Value = serde_json::from_slice(&done.stdout).unwrap_or_else(|_| panic!("{told}"));
        (answer, told)
    };
    let marked = |text: &str, line: usize| -> String {
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        lines[line].insert(0, '"');
        lines.join("\n") + "\n"
    };
    let (before, _) = run(&text, "--rows", &["review"]);
    let (after, told) = run(&marked(&text, 5), "--rows", &["review"]);
    assert_eq!(after["counts"], before["counts"], "{told}");
    assert!(told.contains("BW-I08") && told.contains("table.csv:6"), "{told}");
    let rows: String = (0..40).map(|n| format!("A-{n},north,no,10,{}\n", 100 + n)).collect();
    let choices = format!("assembly_id,district,critical,cost_wrap,benefit_wrap\n{rows}");
    let (before, _) = run(&choices, "--choices", &["season", "--budget", "10000"]);
    assert_eq!(before["chosen"].as_array().unwrap().len(), 40);
    let (after, told) = run(&marked(&choices, 3), "--choices", &["season", "--budget", "10000"]);
    assert_eq!(after["chosen"], before["chosen"], "{told}");
    assert!(told.contains("BW-I08"), "{told}");
}
