//! Fuzzes the reader of MOSMIX, plain and in archives.
#![no_main]

use brimwater::weather::readers::mosmix;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = mosmix::read(data, "fuzz", &options(data));
    sound(&found, &faults);
});
