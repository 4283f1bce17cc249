//! ISO 8601 durations and intervals as weather services write them.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::weather::duration::{parse_duration, parse_interval};
use proptest::prelude::*;

#[test]
fn durations_of_the_standard_are_read() {
    // X-Val: ISO 8601-1:2019 5.5.2, from memory; the forms are those seen in the service's documents.
    for (text, minutes) in [
        ("PT1H", 60),
        ("PT15H", 900),
        ("PT72H", 4320),
        ("P1D", 1440),
        ("P1DT6H", 1800),
        ("P8DT6H", 11_880),
        ("P2W", 20_160),
        ("PT1H30M", 90),
        ("PT3600S", 60),
    ] {
        assert_eq!(parse_duration(text).unwrap().num_minutes(), minutes, "{text}");
    }
}

#[test]
fn what_is_no_fixed_duration_is_refused() {
    for text in [
        "",
        "P",
        "PT",
        "P1",
        "1H",
        "PT1",
        "PTH",
        "P1M",
        "P1Y",
        "PT1M1H",
        "PT1H1H",
        "P-1D",
        "PT-1H",
        "PT0S",
        "P1DT",
        "pt1h",
        "P1H",
        "PT1D",
        "PT99999999999999999999H",
        "P400D",
        "PT1.5H",
        "P1Dé",
    ] {
        assert!(parse_duration(text).is_none(), "{text}");
    }
}

#[test]
fn intervals_are_half_open_and_forward() {
    let (start, end) = parse_interval("2026-01-24T01:00:00+00:00/PT14H").unwrap();
    assert_eq!((end - start).num_hours(), 14);
    assert!(parse_interval("2026-01-24T01:00:00+00:00/2026-01-24T15:00:00+00:00").is_some());
    assert!(parse_interval("2026-01-24T01:00:00+00:00/2026-01-23T15:00:00+00:00").is_none());
    assert!(parse_interval("2026-01-24T01:00:00/PT1H").is_none());
    assert!(parse_interval("PT1H").is_none());
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,40}") {
        let _ = parse_duration(&text);
        let _ = parse_interval(&text);
    }

    #[test]
    fn written_durations_are_read_back(days in 0_i64..300, hours in 0_i64..100, minutes in 0_i64..100) {
        prop_assume!(days + hours + minutes > 0);
        let text = format!("P{days}DT{hours}H{minutes}M");
        prop_assert_eq!(parse_duration(&text).unwrap().num_minutes(), days * 1440 + hours * 60 + minutes);
    }
}
