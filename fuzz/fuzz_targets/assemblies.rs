//! Fuzzes the reader of the list of assemblies: bytes to cells, cells to values, and the checks of a row and of the whole list.
#![no_main]

use brimwater::inventory::read_inventory;
use libfuzzer_sys::fuzz_target;
use std::collections::{BTreeMap, BTreeSet};

fuzz_target!(|data: &[u8]| {
    let read = read_inventory(data, "fuzz", &BTreeMap::new());
    if !read.faults.is_fatal() {
        assert_eq!(read.assemblies.len() + read.rejects.len(), read.rows, "a row vanished");
    }
    assert!(read.rejects.iter().all(|reject| !reject.faults.is_empty()));
    let ids: BTreeSet<&str> = read.assemblies.iter().map(|one| one.assembly_id.as_str()).collect();
    assert_eq!(ids.len(), read.assemblies.len(), "an id is used twice");
    for one in &read.assemblies {
        assert!(!one.assembly_id.is_empty());
        assert!(one.latitude_deg.is_none_or(|value| (-90.0..=90.0).contains(&value)));
        assert!(one.longitude_deg.is_none_or(|value| (-180.0..=180.0).contains(&value)));
        assert!(one.elevation_m.is_none_or(f64::is_finite));
        assert!(one.wrap_m2k_per_w >= 0.0 && one.wrap_m2k_per_w.is_finite());
        assert!(one.riser_height_m >= 0.0 && one.riser_height_m.is_finite());
        assert!(one.heat_trace_w >= 0.0 && one.heat_trace_w.is_finite());
    }
});
