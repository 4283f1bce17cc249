//! Fuzzes a list of expansion systems through the whole command: cells to answers.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("systems.csv");
    std::fs::write(&path, data).unwrap();
    let rejects = folder.path().join("rejects.csv");
    let words = ["brimwater", "expansion", "--format", "json", "--systems"];
    let words = words.into_iter().map(Into::into).chain([path.clone().into(), "--rejects".into(), rejects.into()]);
    let _ = brimwater::cli::run(words);
    assert_eq!(std::fs::read(&path).unwrap(), data, "the list was written to");
});
