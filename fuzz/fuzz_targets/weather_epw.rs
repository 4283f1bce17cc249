//! Fuzzes the reader of EPW.
#![no_main]

use brimwater::weather::readers::epw;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = epw::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
