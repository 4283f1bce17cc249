//! Fuzzes the reader of GHCN-Hourly.
#![no_main]

use brimwater::weather::ReadOptions;
use brimwater::weather::readers::ghcn_hourly;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let options = ReadOptions {
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let (found, _) = ghcn_hourly::read(data, "fuzz", &options);
    for one in found {
        if let Some(series) = one.series {
            assert!(series.air_c.iter().all(|air| air.is_finite()));
        }
    }
});
