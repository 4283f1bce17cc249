//! Fuzzes the log: bytes that lie where a log should. Opened, listed, read whole, written to again; whatever was set aside, an event that was
//! noted is there.
#![no_main]

use brimwater::store::{Filter, Log};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("calls.log");
    std::fs::write(&path, data).unwrap();
    if let Ok(log) = Log::open_to_read(&path, None) {
        let _ = log.list(&Filter::default());
    }
    assert_eq!(std::fs::read(&path).unwrap(), data, "reading changed the file");
    if let Ok((log, _)) = Log::open_whole(&path, None) {
        let before = log.list(&Filter::default()).map(|events| events.len());
        drop(log);
        if let (Ok(before), Ok((log, _))) = (before, Log::open(&path, None)) {
            assert!(log.list(&Filter::default()).unwrap().len() >= before, "an event vanished");
        }
    }
});
