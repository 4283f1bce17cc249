//! Fuzzes the reader of airport observations.
#![no_main]

use brimwater::weather::readers::asos;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = asos::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
