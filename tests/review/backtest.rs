//! The invented back-test and what reference libraries make of it: `tests/data/learning`, generators beside the data.

use brimwater::review::posterior::Prior;
use brimwater::review::{Row, assess::Settings, table};
use serde_json::Value;
use std::path::Path;

pub fn path(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data/learning")
        .join(name)
}

pub fn rows() -> Vec<Row> {
    let (rows, faults) = table::rows(&std::fs::read_to_string(path("backtest.csv")).unwrap(), "backtest.csv");
    assert!(faults.0.is_empty(), "{faults:?}");
    assert_eq!(rows.len(), 600);
    rows
}

pub fn expected(name: &str) -> Value {
    serde_json::from_str(&std::fs::read_to_string(path(name)).unwrap()).unwrap()
}

pub fn settings() -> Settings {
    Settings {
        members: 256,
        prior: Prior::default(),
        strength_factor: 1.0,
        local_k: 1.0,
        shared_issued: 0.67,
        acts: 0.5,
        calibrate: true,
        seed: 1,
    }
}

pub fn close(is: f64, value: &Value, within: f64, what: &str) {
    let wanted = value
        .as_f64()
        .unwrap_or_else(|| panic!("{what} is not in the reference"));
    assert!((is - wanted).abs() <= within, "{what}: {is} against {wanted}");
}
