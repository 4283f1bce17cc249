//! Fuzzes the reader of Local Climatological Data.
#![no_main]

use brimwater::weather::readers::lcd;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = lcd::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
