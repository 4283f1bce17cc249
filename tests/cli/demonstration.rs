//! The demonstration and the words that plan it, for tests of the process itself.

use std::path::Path;
use std::process::{Command, Output};

/// Runs the program in a folder.
pub fn brimwater(folder: &Path, words: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_brimwater"))
        .current_dir(folder)
        .args(words)
        .output()
        .unwrap()
}

/// Writes the demonstration into `made`.
pub fn make(folder: &Path, assemblies: usize) {
    let count = assemblies.to_string();
    let done = brimwater(folder, &["demo", "--out", "made", "--assemblies", &count, "--quiet"]);
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
}

/// The words that plan it, with few members and little advice, and what comes behind them.
pub fn plan<'a>(more: &[&'a str]) -> Vec<&'a str> {
    let mut words = vec![
        "plan",
        "--assemblies",
        "made/assemblies.csv",
        "--series",
        "made/forecast.csv",
        "--stations",
        "made/stations.csv",
        "--config",
        "made/config.toml",
        "--now",
        "2027-01-18T15:00:00Z",
        "--quiet",
    ];
    words.extend(more);
    words
}
