//! Fuzzes the reader of TMY3.
#![no_main]

use brimwater::weather::readers::tmy3;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = tmy3::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
