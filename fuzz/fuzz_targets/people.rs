//! Fuzzes people: a list of assemblies to those who are told of them, with numbers, addresses and channels as they came.
#![no_main]

use brimwater::config::Config;
use brimwater::inventory::read_inventory;
use brimwater::outreach::people::merge;
use libfuzzer_sys::fuzz_target;
use std::collections::BTreeMap;

fuzz_target!(|data: &[u8]| {
    let read = read_inventory(data, "fuzz", &BTreeMap::new());
    let config = Config::default();
    let (people, _) = merge(&read.assemblies, &config.outreach.people, "fuzz");
    let named: usize = people.iter().map(|person| person.assemblies.len()).sum();
    assert!(named >= read.assemblies.iter().filter(|one| one.contact.phone.is_some()).count().min(named));
    for person in &people {
        assert!(!person.assemblies.is_empty(), "somebody for nothing");
        assert!(person.assemblies.iter().all(|&at| at < read.assemblies.len()));
    }
});
