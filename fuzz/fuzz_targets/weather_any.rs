//! Fuzzes the reader of any weather file, as the front door recognizes it.
#![no_main]

use brimwater::weather::readers::read_reported;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = read_reported(data, "fuzz", &options(data));
    sound(&found, &faults);
});
