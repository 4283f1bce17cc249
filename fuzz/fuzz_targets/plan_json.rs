//! Fuzzes the plan of yesterday that a plan of today reads.
#![no_main]

use brimwater::outreach::replan;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let _ = replan::read(data, "fuzz");
});
