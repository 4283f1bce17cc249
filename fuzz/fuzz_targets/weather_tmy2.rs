//! Fuzzes the reader of TMY2.
#![no_main]

use brimwater::weather::readers::tmy2;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = tmy2::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
