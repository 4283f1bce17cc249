//! A person's work in the folder of a plan, at the command line: kept at a re-plan, told, and taken in by the command that is offered.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use super::campaign::Campaign;
use predicates::prelude::*;
use std::fs;
use std::path::PathBuf;

const NOW: &str = "2031-01-08T14:00:00Z";

/// The first sheet that has a call.
fn sheet(campaign: &Campaign) -> String {
    (1..=9)
        .map(|caller| format!("call_sheets/caller-{caller:02}.csv"))
        .find(|name| campaign.path(&format!("out/{name}")).exists())
        .unwrap()
}

/// The first sheet with its first row filled: reached by Rosa.
fn fill(campaign: &Campaign, note: &str) -> String {
    let path = campaign.path(&format!("out/{}", sheet(campaign)));
    let text = fs::read_to_string(&path).unwrap();
    let filled: Vec<String> = text
        .lines()
        .enumerate()
        .map(|(at, line)| match at {
            1 => line.replacen(",,,,", &format!(",reached,{note},Rosa,"), 1),
            _ => line.to_owned(),
        })
        .collect();
    let filled = filled.join("\n") + "\n";
    assert_ne!(filled, text);
    fs::write(&path, &filled).unwrap();
    filled
}

fn kept(campaign: &Campaign) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(campaign.path("out"))
        .unwrap()
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.file_name().unwrap().to_string_lossy().starts_with("kept-"))
        .collect();
    found.sort();
    found
}

#[test]
fn filled_call_sheets_outlive_the_third_replan_and_are_offered_to_the_log() {
    let campaign = Campaign::new();
    campaign.plan(NOW, "out", &[]).assert().code(predicate::in_iter([0, 1]));
    let mut sheets = Vec::new();
    for note in ["first", "second", "third"] {
        sheets.push(fill(&campaign, note));
        // `--quiet` hides notes; that a sheet was moved is none.
        campaign
            .plan(NOW, "out", &["--quiet"])
            .assert()
            .code(1)
            .stderr(predicate::str::contains("BW-O12"))
            .stderr(predicate::str::contains("1 file"))
            .stderr(predicate::str::contains(sheet(&campaign)))
            .stderr(predicate::str::contains("log --db LOG --import out/kept-"));
    }
    let folders = kept(&campaign);
    assert_eq!(folders.len(), 3);
    for (folder, text) in folders.iter().zip(&sheets) {
        let sheet = folder.join(sheet(&campaign));
        assert_eq!(fs::read_to_string(&sheet).unwrap(), *text);
        let sheet = sheet.to_string_lossy();
        campaign
            .command(&["log", "--db", "calls.log", "--import", &sheet])
            .assert()
            .success()
            .stdout(predicate::str::contains("1 events added"));
    }
    campaign.plan(NOW, "out", &[]).assert().code(predicate::in_iter([0, 1]));
    assert_eq!(kept(&campaign).len(), 3);
}

#[test]
fn an_inspection_record_outlives_the_next_plan() {
    let campaign = Campaign::new();
    let after = "2031-01-14T18:00:00Z";
    campaign
        .plan(after, "out", &[])
        .assert()
        .code(predicate::in_iter([0, 1]));
    let path = campaign.path("out/inspection_record.csv");
    let filled = fs::read_to_string(&path).unwrap() + "found by hand\n";
    fs::write(&path, &filled).unwrap();
    campaign
        .plan(after, "out", &[])
        .assert()
        .code(1)
        .stderr(predicate::str::contains("inspection_record.csv"))
        .stderr(predicate::str::contains("review --plan PLAN --record out/kept-"));
    assert_eq!(
        fs::read_to_string(kept(&campaign)[0].join("inspection_record.csv")).unwrap(),
        filled
    );
}

#[test]
fn the_demonstration_keeps_what_was_edited_too() {
    let campaign = Campaign::new();
    let demo = ["demo", "--out", "town", "--assemblies", "20"];
    campaign.command(&demo).assert().success();
    fs::write(campaign.path("town/config.toml"), "[utility]\nname = \"Mine\"\n").unwrap();
    campaign
        .command(&demo)
        .assert()
        .code(1)
        .stderr(predicate::str::contains("config.toml"));
    let kept = fs::read_dir(campaign.path("town")).unwrap().flatten();
    let kept = kept.filter(|entry| entry.file_name().to_string_lossy().starts_with("kept-"));
    let text = fs::read_to_string(kept.last().unwrap().path().join("config.toml")).unwrap();
    assert!(text.contains("Mine"));
}

#[cfg(unix)]
#[test]
fn a_plan_is_its_owners_alone_and_one_made_for_sharing_is_not() {
    use std::os::unix::fs::PermissionsExt;
    let campaign = Campaign::new();
    campaign
        .plan(NOW, "out", &["--parquet"])
        .assert()
        .code(predicate::in_iter([0, 1]));
    let mode = |name: &str| fs::metadata(campaign.path(name)).unwrap().permissions().mode() & 0o777;
    for name in ["out", "out/call_sheets", "out/charts"] {
        assert_eq!(mode(name), 0o700, "{name}");
    }
    let sheet = sheet(&campaign);
    for name in [
        "contacts.csv",
        "mail_merge.csv",
        "plan.json",
        "ranking.csv",
        "ranking.parquet",
        &sheet,
    ] {
        assert_eq!(mode(&format!("out/{name}")), 0o600, "{name}");
    }
    fs::write(campaign.path("plain"), "").unwrap();
    campaign
        .plan(NOW, "shared", &["--redact"])
        .assert()
        .code(predicate::in_iter([0, 1]));
    assert_eq!(mode("shared/contacts.csv"), mode("plain"));
}

#[cfg(unix)]
#[test]
fn a_plan_that_is_told_to_stop_leaves_nothing() {
    let campaign = Campaign::new();
    campaign
        .plan(NOW, "warm-up", &[])
        .assert()
        .code(predicate::in_iter([0, 1]));
    for (signal, status) in [("TERM", 143), ("INT", 130)] {
        let binary = assert_cmd::cargo::cargo_bin!("brimwater");
        let mut run = std::process::Command::new(binary)
            .current_dir(campaign.dir.path())
            .args([
                "plan",
                "--assemblies",
                "list.csv",
                "--series",
                "week.csv",
                "--config",
                "config.toml",
            ])
            .args(["--now", NOW, "--members", "16384", "--out", "out"])
            .stderr(std::process::Stdio::null())
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        let hidden = || {
            let names = fs::read_dir(campaign.dir.path()).unwrap().flatten();
            names
                .filter(|entry| entry.file_name().to_string_lossy().starts_with(".brimwater-"))
                .count()
        };
        while hidden() == 0 {
            assert!(
                run.try_wait().unwrap().is_none(),
                "the run was over before it could be stopped"
            );
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
        let sent = std::process::Command::new("kill")
            .args(["-s", signal, &run.id().to_string()])
            .status();
        assert!(sent.unwrap().success());
        assert_eq!(run.wait().unwrap().code(), Some(status));
        assert_eq!(hidden(), 0);
        assert!(!campaign.path("out").exists());
    }
}
