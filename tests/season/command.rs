//! `brimwater season --choices` as a user runs it.

use super::tables::{expected, place};
use assert_cmd::Command;

fn season(table: &str, more: &[&str]) -> std::process::Output {
    let mut command = Command::cargo_bin("brimwater").unwrap();
    command
        .args(["season", "--choices", table, "--format", "json"])
        .args(more)
        .output()
        .unwrap()
}

fn told(output: &std::process::Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// X-Val: expected_knapsack.json (HiGHS). Catches: a command that leaves rules out, an answer that does not add up, a wrong field name.
#[test]
fn the_contract_holds_on_a_flat_table() {
    let file = place("instance_400.csv");
    let output = season(
        file.to_str().unwrap(),
        &["--budget", "$20,000", "--floor", "0.95", "--critical-first"],
    );
    assert_eq!(output.status.code(), Some(0), "{}", told(&output));
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answer["schema"], "brimwater.season/1");
    assert_eq!(answer["budget_usd"], 20_000);
    let chosen = answer["chosen"].as_array().unwrap();
    let sum = |key: &str| chosen.iter().map(|row| row[key].as_f64().unwrap()).sum::<f64>();
    assert!((sum("cost_usd") - answer["spent_usd"].as_f64().unwrap()).abs() < 1e-6);
    assert!((sum("benefit_usd") - answer["benefit_usd"].as_f64().unwrap()).abs() < 0.01);
    assert!((answer["upper_bound_usd"].as_f64().unwrap() - 745_670.18).abs() < 0.005);
    assert!((answer["shadow_price"].as_f64().unwrap() - 16.28).abs() < 0.005);
    let want = expected("expected_knapsack.json");
    let share = |at: usize| answer["price_of_rules"][at]["share"].as_f64().unwrap();
    assert!(
        (share(0)
            - want["fairness by district, n=400 budget=20000"]["price_of_fairness"]
                .as_f64()
                .unwrap())
        .abs()
            < 1e-6
    );
    assert!((share(1) - want["critical first, n=400 budget=20000"]["price"].as_f64().unwrap()).abs() < 1e-6);
    let curve = answer["curve"].as_array().unwrap();
    let rises = |key: &str| {
        curve
            .windows(2)
            .all(|pair| pair[0][key].as_f64() <= pair[1][key].as_f64())
    };
    assert!(curve.len() > 10 && rises("budget_usd") && rises("benefit_usd"));
}

/// Every fault at once, each with its place; budgets of nothing and of more than everything are answered.
#[test]
fn bad_input_is_told_and_nothing_is_lost() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("choices.csv");
    std::fs::write(
        &file,
        "assembly_id,critical,cost_wrap,benefit_wrap,cost_trace,benefit_trace\nA1,0,45,200,,\nA2,1,-5,10,100,500\nA3,0,12.5,10,,\nA1,0,1,1,,\nA4,no,60,NaN,,\n,0,1,1,,\nA5,yes,60,90,200,100\n",
    )
    .unwrap();
    let table = file.to_str().unwrap();
    let output = season(table, &["--budget", "100"]);
    assert_eq!(output.status.code(), Some(1));
    let text = told(&output);
    for word in ["BW-B04", "BW-B05", "cost_wrap", "benefit_wrap", ":3", ":4"] {
        assert!(text.contains(word), "{word} in {text}");
    }
    let answer: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(answer["chosen"].as_array().unwrap().len(), 1);
    for (budget, code, word) in [
        ("-1", 2, "BW-B01"),
        ("many", 2, "BW-B01"),
        ("NaN", 2, "BW-B01"),
        ("0", 1, ""),
        ("1000000", 1, "BW-B02"),
    ] {
        let output = season(table, &["--budget", budget]);
        assert_eq!(output.status.code(), Some(code), "{budget} {}", told(&output));
        assert!(told(&output).contains(word), "{budget} {}", told(&output));
    }
    let output = season(table, &["--budget", "10", "--critical-first"]);
    assert!(
        output.status.code() == Some(2) && told(&output).contains("BW-B07") && told(&output).contains("at least 60")
    );
    let output = season(table, &["--budget", "10", "--floor", "1.5"]);
    assert!(output.status.code() == Some(2) && told(&output).contains("BW-B09"));
    std::fs::write(&file, "assembly_id,cost_wrap\nA1,3\n").unwrap();
    let output = season(table, &["--budget", "10"]);
    assert!(
        output.status.code() == Some(2) && told(&output).contains("benefit_wrap"),
        "{}",
        told(&output)
    );
    std::fs::write(&file, "").unwrap();
    assert_eq!(season(table, &["--budget", "10"]).status.code(), Some(2));
}
