//! Every number of the config against its ranges: no setting that cannot be is taken in silence.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use brimwater::config::{Config, keys};
use brimwater::faults::{Fault, Severity};
use serde_json::Value;

/// Every fault of a config, whether it is refused or only doubted.
fn faults(text: &str) -> Vec<Fault> {
    match Config::read(text, "c.toml") {
        Ok((_, doubts)) => doubts.0,
        Err(faults) => faults.0,
    }
}

fn leaves(value: &Value, path: &mut Vec<String>, found: &mut Vec<(Vec<String>, Value)>) {
    match value {
        Value::Object(map) => {
            for (key, inner) in map {
                path.push(key.clone());
                leaves(inner, path, found);
                path.pop();
            }
        }
        other => found.push((path.clone(), other.clone())),
    }
}

/// Catches: a key that is added to a section without a range, which then takes any number in silence.
#[test]
fn every_key_has_a_row_and_every_default_is_inside_its_usual_range() {
    let mut found = Vec::new();
    leaves(&keys::defaults(), &mut Vec::new(), &mut found);
    assert!(found.len() > 180);
    for (path, value) in found {
        let parts: Vec<&str> = path.iter().map(String::as_str).collect();
        let row = keys::of(&parts);
        let name = path.join(".");
        // Lists of tables are empty by default; their rows are found by the names inside.
        if matches!(&value, Value::Array(items) if items.is_empty()) {
            continue;
        }
        let row = row.unwrap_or_else(|| panic!("{name} has no row in src/config/keys"));
        assert!(!row.meaning.is_empty() && !row.unit.is_empty(), "{name}");
        let numbers: Vec<f64> = match &value {
            Value::Array(items) => items.iter().filter_map(Value::as_f64).collect(),
            other => other.as_f64().into_iter().collect(),
        };
        for number in numbers {
            let range = row
                .range
                .unwrap_or_else(|| panic!("{name} is a number without a range"));
            assert!(
                range.plausible[0] <= number && number <= range.plausible[1],
                "{name} = {number}"
            );
            assert!(
                range.possible[0] <= range.plausible[0] && range.plausible[1] <= range.possible[1],
                "{name}"
            );
        }
    }
}

/// Catches: a range that is left out of the walk (nested tables, lists of numbers, whole numbers, names of one's own).
#[test]
fn six_hostile_values_of_every_number_are_refused_with_key_and_line() {
    let defaults = keys::defaults();
    let mut walked = 0;
    for key in keys::all().filter(|key| key.range.is_some()) {
        let mut parts: Vec<String> = key.path.split('.').map(str::to_owned).collect();
        let stars = parts.iter().filter(|part| *part == "*").count();
        for (at, part) in parts.iter_mut().filter(|part| *part == "*").enumerate() {
            *part = match (stars, at) {
                (2, 0) => "RP",
                (2, _) => "1",
                _ => "RP 1",
            }
            .to_owned();
        }
        let quoted: Vec<String> = parts.iter().map(|part| format!("\"{part}\"")).collect();
        let many = key.path.split('.').try_fold(&defaults, |value, part| value.get(part));
        let many = matches!(many, Some(Value::Array(_)));
        for (hostile, code) in [
            ("-1e12", "BW-C07"),
            ("1e12", "BW-C07"),
            ("-9000000000000000000", "BW-C07"),
            ("1e308", "BW-C07"),
            ("nan", "BW-C04"),
            ("\"many\"", "BW-C03"),
        ] {
            let value = if many {
                format!("[{hostile}]")
            } else {
                hostile.to_owned()
            };
            let text = format!("# one\n# two\n{} = {value}\n", quoted.join("."));
            let told = faults(&text);
            let hit = told.iter().find(|fault| fault.code == code);
            let hit = hit.unwrap_or_else(|| panic!("{text} told {told:?}"));
            assert_eq!((hit.severity, hit.line), (Severity::Fatal, Some(3)), "{text}");
            if code == "BW-C07" {
                assert_eq!(hit.column.as_deref(), Some(parts.join(".").as_str()));
            }
            walked += 1;
        }
    }
    assert!(walked > 800, "{walked}");
}

fn one(text: &str) -> Fault {
    let told = faults(text);
    assert_eq!(told.len(), 1, "{told:?}");
    told[0].clone()
}

/// Catches: a value in the unit of another system taken as it stands. 65 °F is 18.3 °C and 1,700 psi is 11.7 MPa by the definitions of
/// the units (NIST SP 811).
#[test]
fn other_units_and_percentages_are_recognised() {
    let fahrenheit = one("[freeze.climate]\nannual_mean_air_c = 65\n");
    assert!(
        fahrenheit.severity == Severity::Fatal && fahrenheit.remedy.contains("65 °F is 18.3 °C"),
        "{fahrenheit}"
    );
    let percent = one("[ranking.tiers]\ncall_chance = 30\n");
    assert!(
        percent.severity == Severity::Fatal && percent.remedy.contains("30 percent is 0.3"),
        "{percent}"
    );
    let psi = one("[freeze.damage]\nsmall_body_mpa = 1700\n");
    assert!(
        psi.severity == Severity::Fatal && psi.remedy.contains("1700 psi is 11.7 MPa"),
        "{psi}"
    );
    assert_eq!(one("[ensemble]\nnucleation_mean_c = -55\n").code, "BW-C07");
    assert_eq!(one("[freeze.damage]\nslack_fraction = 1\n").code, "BW-C07");
    assert_eq!(one("[freeze]\nstep_s = 0.0\n").code, "BW-C07");
    assert_eq!(one("[outreach.reach]\nletter_days = 100000000\n").code, "BW-C07");
    assert_eq!(one("[ensemble]\ndraws_log_sd = 1e9\n").code, "BW-C07");
}

/// Catches: an unusual number that is refused, or taken without a word.
#[test]
fn an_unusual_number_is_used_and_told() {
    let (config, doubts) = Config::read("[freeze.damage]\nslack_fraction = 0.1\n", "c.toml").unwrap();
    assert!((config.freeze.damage.slack_fraction - 0.1).abs() < 1e-12);
    assert_eq!(
        (doubts.0[0].code, doubts.0[0].severity, doubts.0[0].line),
        ("BW-C08", Severity::Warning, Some(2))
    );
}

/// Catches: numbers that are each possible and together are not.
#[test]
fn numbers_that_contradict_each_other_are_refused() {
    for text in [
        "[ensemble]\nerror_lead_h = [0, 48, 24, 72, 96, 120, 144, 168]\n",
        "[ensemble]\nerror_k = [1.0, 2.0]\n",
        "[freeze.drip_device]\nopens_c = 6.0\n",
        "[ranking.tiers]\nmessage_chance = 0.2\n",
        "[ranking.tiers]\ncall_next_usd = 2000\n",
        "[freeze.dimensions.\"RP one\"]\nwater_kg = 2\n",
        "[ensemble]\nnucleation_max_c = -8\nnucleation_mean_c = -6\n",
    ] {
        let fault = faults(text)
            .into_iter()
            .find(|fault| fault.severity == Severity::Fatal)
            .unwrap();
        assert_eq!(fault.code, "BW-C09", "{text}");
    }
    assert!(faults("[freeze.dimensions.\"RP 1\"]\nwater_kg = 2\n").is_empty());
}
