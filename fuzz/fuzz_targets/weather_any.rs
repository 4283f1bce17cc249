//! Fuzzes the reader of any weather file, as the front door recognizes it.
#![no_main]

use brimwater::weather::ReadOptions;
use brimwater::weather::readers::read_reported;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let options = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, _) = read_reported(data, "fuzz", &options);
    for one in found {
        if let Some(series) = one.series {
            assert!(series.air_c.iter().all(|air| air.is_finite()));
        }
    }
});
