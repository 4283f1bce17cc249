//! Fuzzes the reader of the native series.
#![no_main]

use brimwater::weather::readers::native;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = native::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
