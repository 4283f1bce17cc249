//! Fuzzes the reader of documents of the weather service and the fetched bundle: the data follows an opening brace.
#![no_main]

use brimwater::weather::readers::read_reported;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, faults) = read_reported(&[&b"{"[..], data].concat(), "fuzz", &options(data));
    sound(&found, &faults);
});
