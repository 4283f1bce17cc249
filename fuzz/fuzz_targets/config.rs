//! Fuzzes the reader of the config, and the checks of what it read.
#![no_main]

use brimwater::config::Config;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    match Config::from_toml(&String::from_utf8_lossy(data), "fuzz") {
        Ok(config) => drop(config.outreach.check()),
        Err(faults) => assert!(!faults.0.is_empty(), "refused without a word"),
    }
});
