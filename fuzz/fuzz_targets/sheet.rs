//! Fuzzes what people filled in: call sheets, the queue of calls, inspection records and the table of a review.
#![no_main]

use brimwater::review::{record, table};
use brimwater::store::import::{SheetOptions, read_queue, read_sheet};
use chrono::TimeZone;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let now = chrono::Utc.with_ymd_and_hms(2027, 1, 20, 12, 0, 0).unwrap();
    let options = SheetOptions {
        by: None,
        zone: chrono_tz::America::Chicago,
        now,
    };
    let sheet = read_sheet(data, "fuzz", &options);
    assert!(sheet.rejected.len() <= sheet.faults.0.len(), "a row was set aside without a word");
    assert!(sheet.events.iter().all(|event| event.at <= now), "an event of the future");
    let _ = read_queue(data, "fuzz");
    let text = String::from_utf8_lossy(data);
    let _ = record::read(&text, "fuzz");
    let (rows, _) = table::rows(&text, "fuzz");
    for row in &rows {
        assert!((0.0..=1.0).contains(&row.p_issued) && row.inclusion > 0.0 && row.inclusion <= 1.0);
    }
});
