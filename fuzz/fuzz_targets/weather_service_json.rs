//! Fuzzes the reader of documents of the weather service and the fetched bundle: the data follows an opening brace.
#![no_main]

use brimwater::weather::ReadOptions;
use brimwater::weather::readers::read_reported;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let options = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, _) = read_reported(&[&b"{"[..], data].concat(), "fuzz", &options);
    for one in found {
        if let Some(series) = one.series {
            assert!(series.air_c.iter().all(|air| air.is_finite()));
        }
    }
});
