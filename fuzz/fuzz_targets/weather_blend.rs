//! Fuzzes the reader of the national blend's bulletins.
#![no_main]

use brimwater::weather::readers::blend;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = blend::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
