//! Fuzzes the reader of GHCN-Daily, fixed width.
#![no_main]

use brimwater::weather::readers::ghcn_daily;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = ghcn_daily::read_fixed(data, "fuzz", &options(data));
    sound(&found, &faults);
});
