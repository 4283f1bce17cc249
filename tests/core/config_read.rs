//! The config file: defaults, unknown keys, wrong values, all told at once with their lines.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use brimwater::config::Config;

fn told(text: &str) -> Vec<(&'static str, Option<u64>)> {
    match Config::from_toml(text, "c.toml") {
        Ok(_) => Vec::new(),
        Err(faults) => {
            assert_eq!(faults.exit_status(), 2);
            faults.0.iter().map(|fault| (fault.code, fault.line)).collect()
        }
    }
}

#[test]
fn an_empty_config_is_the_default() {
    assert_eq!(Config::from_toml("", "c.toml").unwrap(), Config::default());
}

#[test]
fn what_is_told_is_taken_and_the_rest_keeps_its_default() {
    let config = Config::from_toml(
        "[utility]\nname = \"Town of Example\"\nzone = \"America/Chicago\"\n[columns]\ndevice_type = \"Kind\"\n",
        "c.toml",
    )
    .unwrap();
    assert_eq!(
        (config.utility.name.as_str(), config.utility.phone.as_str()),
        ("Town of Example", "")
    );
    assert_eq!(config.columns["device_type"], "Kind");
}

#[test]
fn every_unknown_key_and_wrong_value_is_told_with_its_line() {
    let text = "[utility]\nnmae = \"x\"\nzone = 5\nphone = \"555-0100\"\n\n[utilty]\nname = \"y\"\n\n[freeze]\nno_such_key = 1\n";
    let mut all = told(text);
    all.sort();
    assert_eq!(
        all,
        [
            ("BW-C02", Some(2)),
            ("BW-C02", Some(6)),
            ("BW-C02", Some(10)),
            ("BW-C03", Some(3))
        ]
    );
}

#[test]
fn a_near_miss_is_suggested() {
    let faults = Config::from_toml("[utility]\nnmae = \"x\"\n", "c.toml").unwrap_err();
    assert_eq!(faults.0[0].value.as_deref(), Some("nmae"));
    assert!(faults.0[0].remedy.contains("name"), "{faults:?}");
}

#[test]
fn syntax_numbers_columns_and_zone_are_checked() {
    assert_eq!(told("[utility\nname=1")[0], ("BW-C01", Some(1)));
    assert!(told("[ranking]\nx = nan\n").contains(&("BW-C04", Some(2))));
    assert_eq!(told("[columns]\nasembly = \"Nr\"\n"), [("BW-C05", Some(2))]);
    assert_eq!(told("[utility]\n\nzone = \"Mars/Base\"\n"), [("BW-C06", Some(3))]);
}
