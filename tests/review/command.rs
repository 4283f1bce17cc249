//! `brimwater review` as a user runs it.

use crate::backtest::{close, expected, path};
use assert_cmd::Command;
use serde_json::Value;

fn review() -> Command {
    let mut command = Command::cargo_bin("brimwater").unwrap();
    command.arg("review");
    command
}

fn json(command: &mut Command, status: i32) -> Value {
    let out = command
        .args(["--format", "json"])
        .assert()
        .code(status)
        .get_output()
        .stdout
        .clone();
    serde_json::from_slice(&out).unwrap()
}

// X-Val: tests/data/learning/expected.json, as in `scores.rs`: the same figures come out of the door that users have.
#[test]
fn rows_give_the_contract_and_the_reference_figures() {
    let folder = tempfile::tempdir().unwrap();
    let (out, page) = (folder.path().join("proposal.toml"), folder.path().join("review.html"));
    let told = json(
        review()
            .arg("--rows")
            .arg(path("backtest.csv"))
            .arg("--calibrate")
            .arg("--out")
            .arg(&out)
            .arg("--page")
            .arg(&page),
        0,
    );
    assert_eq!(told["schema"], "brimwater.review/1");
    let counts = &told["counts"];
    assert_eq!(
        [
            &counts["looked_at"],
            &counts["damaged"],
            &counts["whole"],
            &counts["reported"],
            &counts["unknown"]
        ]
        .map(|count| count.as_u64().unwrap()),
        [442, 140, 302, 47, 111]
    );
    let reference = expected("expected.json");
    for (set, name) in [
        ("as_issued", "A1 as issued"),
        ("hindcast", "A1 hindcast, ignoring what was done"),
        ("hindcast_as_done", "A1 hindcast, under what was done"),
    ] {
        let figure = |key: &str, theirs: &str| {
            close(
                told[set][key].as_f64().unwrap(),
                &reference[name][theirs],
                1e-9,
                &format!("{set} {key}"),
            );
        };
        figure("n", "n");
        figure("brier", "brier");
        figure("brier_weighted", "brier_weighted");
        figure("log_score", "log_score_clipped");
        figure("auc", "auc");
        figure("auc_se", "auc_se_hanley_mcneil");
        let p = told[set]["corp"]["p_value"].as_f64().unwrap();
        assert!(p > 0.0 && p < 0.05, "{set}: the chances are off, p {p}");
    }
    let fifth = &told["as_issued"]["captured"][1];
    close(
        fifth["loss"].as_f64().unwrap(),
        &reference["A3 rules"]["rules"]["stake (the list)"]["captured_share_of_loss_at_20pct"],
        1e-9,
        "loss",
    );
    assert!((told["proposal"]["nucleation_mean_c"].as_f64().unwrap() + 6.2256).abs() < 0.02);
    let lines = std::fs::read_to_string(&out).unwrap();
    let config: toml::Value = toml::from_str(&lines).unwrap();
    assert!((config["ensemble"]["nucleation_mean_c"].as_float().unwrap() + 6.23).abs() < 0.02);
    let page = std::fs::read_to_string(&page).unwrap();
    // Personal data never leave: neither assemblies nor addresses stand on the page.
    assert!(page.contains("442") && !page.contains("T0000") && page.contains("planning aid"));
}

// Wrong program: one that guesses from free text, or goes on in silence with a row set aside.
#[test]
fn bad_tables_are_told_and_little_is_said_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("rows.csv");
    std::fs::write(&file, "p_issued,found\n0.3,no damage\n0.2,it dripped a bit\n").unwrap();
    let out = review().arg("--rows").arg(&file).assert().code(1).get_output().clone();
    let (text, told) = (
        String::from_utf8(out.stdout).unwrap(),
        String::from_utf8(out.stderr).unwrap(),
    );
    assert!(
        text.contains("0 broke of 1 looked at") && text.contains("One cold night cannot say"),
        "{text}"
    );
    assert!(told.contains("BW-R03"), "{told}");
    std::fs::write(&file, "a\n1\n").unwrap();
    review().arg("--rows").arg(&file).assert().code(2);
    review().assert().code(2);
    let spanish = review()
        .arg("--rows")
        .arg(path("backtest.csv"))
        .args(["--language", "es"])
        .assert()
        .code(0)
        .get_output()
        .stdout
        .clone();
    let spanish = String::from_utf8(spanish).unwrap();
    assert!(
        spanish.contains("Se rompieron 140 de 442") && !spanish.contains("{review"),
        "{spanish}"
    );
}
