//! Fuzzes the reader of open meteo documents: whatever JSON, within the form by which the format is recognised.
#![no_main]

use brimwater::weather::readers::read_reported;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    // The seeds are documents of this format; what no longer is one goes to the other readers of JSON and must be sound too.
    if data.first() == Some(&b'{') {
        let (found, faults) = read_reported(data, "fuzz", &options(data));
        sound(&found, &faults);
    }
});
