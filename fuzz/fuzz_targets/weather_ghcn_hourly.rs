//! Fuzzes the reader of GHCN-Hourly.
#![no_main]

use brimwater::weather::readers::ghcn_hourly;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = ghcn_hourly::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
