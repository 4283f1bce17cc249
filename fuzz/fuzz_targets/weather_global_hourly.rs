//! Fuzzes the reader of the older hourly file with one column a group.
#![no_main]

use brimwater::weather::readers::ghcn_hourly;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = ghcn_hourly::read_groups(data, "fuzz", &options(data));
    sound(&found, &faults);
});
