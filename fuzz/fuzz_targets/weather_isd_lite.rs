//! Fuzzes the reader of ISD-Lite.
#![no_main]

use brimwater::weather::readers::isd_lite;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = isd_lite::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
