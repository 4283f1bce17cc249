//! Fuzzes the reader of the plain daily table.
#![no_main]

use brimwater::weather::readers::daily_plain;
use brimwater_fuzz::{options, sound};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (found, lines, faults) = daily_plain::read_counted(data, "fuzz", &options(data));
    sound(&found, &faults);
    // What is given up half way has no ledger.
    if !faults.is_fatal() {
        assert!(lines.used + lines.rejected + lines.header + lines.blank <= lines.lines);
    }
});
