//! Fuzzes the reader of a list of stations.
#![no_main]

use brimwater::weather::stations::{distance_km, read_stations};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|data: &[u8]| {
    let (read, faults) = read_stations(data, "fuzz");
    assert!(!read.stations.is_empty() || !faults.0.is_empty());
    for station in &read.stations {
        if let (Some(latitude), Some(longitude)) = (station.latitude_deg, station.longitude_deg) {
            assert!(distance_km((latitude, longitude), (30.0, -97.0)).is_finite());
        }
    }
});
