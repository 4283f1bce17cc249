//! Fuzzes the reader of members and percentiles of a forecast.
#![no_main]

use brimwater::weather::readers::spread;
use brimwater_fuzz::options;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (read, faults) = spread::read(data, "fuzz", &options(data));
    assert!(!read.stations.is_empty() || !faults.0.is_empty());
});
