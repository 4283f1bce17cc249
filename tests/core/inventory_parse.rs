//! Cells as people write them: sizes, types, words, dates, numbers, channels.
#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)]

use approx::assert_abs_diff_eq;
use brimwater::inventory::dates::{self, Dated};
use brimwater::inventory::parse::{self, is_blank};
use brimwater::inventory::{Channel, DeviceType, Language, NominalSize, Placement, RiserMaterial, Service, WinterUse};
use chrono::NaiveDate;
use proptest::prelude::*;

fn size(text: &str) -> Option<NominalSize> {
    parse::nominal_size(text).ok().flatten().map(|read| read.size)
}

fn device(text: &str) -> Option<DeviceType> {
    parse::device_type(text).ok().flatten().map(|read| read.device_type)
}

#[test]
fn sizes_are_read_however_they_are_written() {
    // common practice, no source: the spellings that lists show.
    for (texts, expected) in [
        (
            &[
                "3/4", "0.75", ".75", "0.75\"", "3/4\"", "3/4 in", "3/4-inch", "¾", "¾\"", "3 / 4", "0,75", "20 mm",
                "DN20", "dn 20", "19mm", " 3/4in. ", "4-Mar", "Mar-04",
            ][..],
            NominalSize::N0_75,
        ),
        (
            &[
                "2", "2.0", "2.00", "2\"", "2 in", "2''", "50 mm", "DN50", "51 mm", "2 inches",
            ],
            NominalSize::N2,
        ),
        (
            &[
                "1-1/2", "1 1/2", "1.5", "1-1/2 in", "1½", "1 ½", "1 - 1/2", "40mm", "38 mm", "1.50\"",
            ],
            NominalSize::N1_5,
        ),
        (&["1-1/4", "1.25", "32 mm", "1¼"], NominalSize::N1_25),
        (
            &["1/2", ".5", "0.50", "15 mm", "½", "13 mm", "2-Jan"],
            NominalSize::N0_5,
        ),
        (&["3/8", "0.375", ".38", "10 mm", "8-Mar", "⅜"], NominalSize::N0_375),
        (&["2-1/2", "2.5", "65 mm"], NominalSize::N2_5),
        (&["1", "1.00", "25 mm", "25.4 mm"], NominalSize::N1),
        (&["10", "10 in", "250 mm"], NominalSize::N10),
    ] {
        for text in texts {
            assert_eq!(size(text), Some(expected), "{text:?}");
        }
    }
}

#[test]
fn metric_sizes_follow_the_nominal_diameters() {
    // X-Val: ISO 6708 / ASME B36.10M: DN beside NPS (from memory of the tables).
    let table = [
        (10, "3/8"),
        (15, "1/2"),
        (20, "3/4"),
        (25, "1"),
        (32, "1-1/4"),
        (40, "1-1/2"),
        (50, "2"),
        (65, "2-1/2"),
        (80, "3"),
        (100, "4"),
        (150, "6"),
        (200, "8"),
        (250, "10"),
    ];
    for (dn, nps) in table {
        assert_eq!(size(&format!("{dn} mm")).unwrap().word(), nps);
        assert_eq!(size(&format!("DN{dn}")).unwrap().word(), nps);
        assert_eq!(size(nps).unwrap().word(), nps);
    }
}

#[test]
fn what_is_no_size_is_refused_with_what_was_expected() {
    for text in [
        "5", "0", "-1", "NaN", "inf", "1e0", "3/0", "4/3", "big", "17", "300", "1-1/2-3", "--", "1/2/3", "17 mm",
        "2x4", "5-Mar",
    ] {
        let read = parse::nominal_size(text);
        assert!(
            is_blank(text) || read.as_ref().is_err_and(|unread| unread.expected.contains("50 mm")),
            "{text:?}: {read:?}"
        );
    }
    assert_eq!(parse::nominal_size(" ").unwrap(), None);
}

#[test]
fn types_are_read_in_the_spellings_of_the_trade() {
    // common practice, no source: RP, RPZ and RPBA are one thing, as are DC and DCVA.
    for (texts, expected) in [
        (
            &[
                "RP",
                "rpz",
                "RPBA",
                "R.P.",
                "RPPA",
                "RP assembly",
                "Reduced Pressure",
                "Reduced Pressure Principle Assembly",
                "reduced-pressure zone",
            ][..],
            DeviceType::Rp,
        ),
        (
            &["RPDA", "rpda", "Reduced Pressure Detector Assembly"],
            DeviceType::Rpda,
        ),
        (
            &[
                "DC",
                "DCVA",
                "dcva",
                "Double Check",
                "Double Check Valve Assembly",
                "D.C.",
            ],
            DeviceType::Dc,
        ),
        (
            &[
                "DCDA",
                "DCDA-II",
                "Double Check Detector Assembly",
                "Double Detector Check",
            ],
            DeviceType::Dcda,
        ),
        (&["PVB", "pvb", "Pressure Vacuum Breaker", "P.V.B."], DeviceType::Pvb),
        (&["SVB", "SRVB", "Spill-Resistant Vacuum Breaker"], DeviceType::Svb),
        (&["AVB", "Atmospheric Vacuum Breaker"], DeviceType::Avb),
    ] {
        for text in texts {
            assert_eq!(device(text), Some(expected), "{text:?}");
        }
    }
    assert!(parse::device_type("DCDA bypass").unwrap().unwrap().bypass);
    assert!(!parse::device_type("DCDA").unwrap().unwrap().bypass);
}

#[test]
fn other_devices_are_refused_by_name() {
    for (text, word) in [("dual check", "dual check"), ("Air Gap", "air gap"), ("HBVB", "hose")] {
        let what = parse::device_type(text).unwrap_err().what.unwrap();
        assert!(what.contains(word), "{what}");
    }
    assert!(parse::device_type("RPX").unwrap_err().expected.contains("DCVA"));
}

#[test]
fn every_word_of_the_interface_reads_as_itself() {
    for one in DeviceType::ALL {
        assert_eq!(device(one.word()), Some(*one));
    }
    for one in NominalSize::ALL {
        assert_eq!(size(one.word()), Some(*one));
    }
    for one in Placement::ALL {
        assert_eq!(parse::placement(one.word()).unwrap(), Some(*one));
    }
    for one in RiserMaterial::ALL {
        assert_eq!(parse::riser_material(one.word()).unwrap(), Some(*one));
    }
    for one in WinterUse::ALL {
        assert_eq!(parse::winter_use(one.word()).unwrap(), Some(*one));
    }
    for one in Service::ALL {
        let expected = Some(*one).filter(|service| *service != Service::Unknown);
        assert_eq!(parse::service(one.word()).unwrap(), expected);
    }
    for one in Language::ALL {
        assert_eq!(parse::language(one.word()).unwrap(), Some(*one));
    }
    for one in Channel::ALL {
        assert_eq!(parse::channels(one.word()).unwrap(), Some(vec![*one]));
    }
}

#[test]
fn readings_that_could_go_either_way_go_the_cautious_way() {
    // A box without a word of heat has none; a line that is "off" may still be full.
    assert_eq!(
        parse::placement("Hot Box").unwrap(),
        Some(Placement::InsulatedEnclosure)
    );
    assert_eq!(
        parse::placement("enclosure").unwrap(),
        Some(Placement::InsulatedEnclosure)
    );
    assert_eq!(parse::winter_use("off").unwrap(), Some(WinterUse::Idle));
    assert_eq!(parse::winter_use("winterized").unwrap(), Some(WinterUse::Drained));
}

#[test]
fn channels_are_a_list_none_or_what_is_left() {
    use Channel::{Call, Email, Letter, Text};
    for (text, expected) in [
        ("call;text", Some(vec![Call, Text])),
        ("Text, Phone", Some(vec![Call, Text])),
        ("SMS|e-mail", Some(vec![Text, Email])),
        ("none", Some(vec![])),
        ("opted out", Some(vec![])),
        ("no texts", Some(vec![Call, Email, Letter])),
        ("call;call", Some(vec![Call])),
        ("", None),
        ("unknown", None),
        // Refusals and limits as offices write them (common practice, no source).
        ("DNC", Some(vec![])),
        ("STOP", Some(vec![])),
        ("unsubscribed", Some(vec![])),
        ("Refused", Some(vec![])),
        ("ninguno", Some(vec![])),
        ("No contactar", Some(vec![])),
        ("letter only", Some(vec![Letter])),
        ("email only", Some(vec![Email])),
        ("solo carta", Some(vec![Letter])),
        ("call (no text)", Some(vec![Call])),
        ("do not call", Some(vec![Text, Email, Letter])),
        ("llamada; correo electrónico", Some(vec![Call, Email])),
        ("sin llamadas", Some(vec![Text, Email, Letter])),
    ] {
        assert_eq!(parse::channels(text).unwrap(), expected, "{text:?}");
    }
    for text in [
        "carrier pigeon",
        "ask the wife first",
        "call; smoke",
        "no carrier pigeon",
        "only after 5",
    ] {
        assert!(parse::channels(text).is_err(), "{text}");
    }
}

#[test]
fn yes_and_no_in_two_languages() {
    for text in ["yes", "Y", "TRUE", "1", "x", "sí"] {
        assert_eq!(parse::yes_no(text).unwrap(), Some(true), "{text}");
    }
    for text in ["no", "N", "false", "0"] {
        assert_eq!(parse::yes_no(text).unwrap(), Some(false), "{text}");
    }
    assert_eq!(parse::yes_no("?").unwrap(), None);
    assert!(parse::yes_no("maybe").is_err());
}

#[test]
fn quantities_take_their_units() {
    // X-Val: NIST SP 811, appendix B: 1 in = 25.4 mm, 1 ft = 0.3048 m (exact); 1 h·ft²·°F/Btu = 0.1761102 m²·K/W.
    for text in ["24", "24 in", "24\"", "2 ft", "609.6 mm", "60.96 cm"] {
        assert_abs_diff_eq!(parse::height_m(text, false).unwrap().unwrap(), 0.6096, epsilon = 1e-12);
    }
    for text in ["1,250", "1250 ft", "381 m"] {
        assert_abs_diff_eq!(parse::elevation_m(text, false).unwrap().unwrap(), 381.0, epsilon = 1e-9);
    }
    for text in ["4", "R-4", "r4", "R 4"] {
        assert_abs_diff_eq!(
            parse::wrap_m2k_per_w(text, false).unwrap().unwrap(),
            0.704_440_7,
            epsilon = 1e-6
        );
    }
    assert_eq!(parse::wrap_m2k_per_w("none", false).unwrap(), Some(0.0));
    assert_abs_diff_eq!(
        parse::power_w("0.1 kW", false).unwrap().unwrap(),
        100.0,
        epsilon = 1e-12
    );
    assert_abs_diff_eq!(parse::number("3,5", true).unwrap().unwrap(), 3.5, epsilon = 0.0);
    assert_abs_diff_eq!(parse::number("1,250.5", false).unwrap().unwrap(), 1250.5, epsilon = 0.0);
}

#[test]
fn what_is_no_number_is_none() {
    for text in [
        "NaN", "inf", "-inf", "infinity", "1e999", "0x10", "1,2,3", "12,5", "twelve", "1 2", "--3", "3,50",
    ] {
        assert!(parse::number(text, false).is_err(), "{text}");
    }
    for text in ["NaN", "inf", "24 miles", "in", "2 ft 3 in"] {
        assert!(parse::height_m(text, false).is_err(), "{text}");
    }
}

#[test]
fn degrees_are_decimal_or_sexagesimal() {
    for text in ["-97.0403", "97.0403 W", "97.0403W", "-97.0403°"] {
        assert_abs_diff_eq!(parse::degrees(text, false).unwrap().unwrap(), -97.0403, epsilon = 1e-12);
    }
    // 36°06'30" = 36 + 6/60 + 30/3600.
    assert_abs_diff_eq!(
        parse::degrees("36°06'30\"N", false).unwrap().unwrap(),
        36.108_333_333_333,
        epsilon = 1e-9
    );
    assert_abs_diff_eq!(
        parse::degrees("-36 06 30", false).unwrap().unwrap(),
        -36.108_333_333_333,
        epsilon = 1e-9
    );
    for text in ["NaN", "36°61'", "north", "1 2 3 4", "°"] {
        assert!(parse::degrees(text, false).is_err(), "{text}");
    }
}

fn ymd(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

#[test]
fn dates_in_their_shapes() {
    for text in [
        "2025-03-14",
        "2025/3/14",
        "20250314",
        "14-Mar-2025",
        "14 March 2025",
        "Mar 14, 2025",
        "March 14th, 2025",
        "2025-03-14T08:30:00Z",
        "2025-03-14 08:30",
        "14-Mar-25",
        "2025-Mar-14",
        "45730",
    ] {
        assert_eq!(dates::parse(text), Some(Dated::Certain(ymd(2025, 3, 14))), "{text}");
    }
    assert_eq!(dates::parse("3/14/2025"), Some(Dated::MonthFirst(ymd(2025, 3, 14))));
    assert_eq!(
        dates::parse("3/14/25 8:30 AM"),
        Some(Dated::MonthFirst(ymd(2025, 3, 14)))
    );
    assert_eq!(dates::parse("14.3.2025"), Some(Dated::DayFirst(ymd(2025, 3, 14))));
    assert_eq!(dates::parse("3/3/2025"), Some(Dated::Certain(ymd(2025, 3, 3))));
    let either = Dated::Either {
        month_first: ymd(2025, 3, 4),
        day_first: ymd(2025, 4, 3),
    };
    assert_eq!(dates::parse("3/4/2025"), Some(either));
    for text in [
        "2025-02-30",
        "13/13/2025",
        "soon",
        "3/4",
        "2025",
        "99999",
        "",
        "1/2/3/4",
        "2025-3-14-x",
    ] {
        assert_eq!(dates::parse(text), None, "{text}");
    }
}

proptest! {
    #[test]
    fn no_text_makes_a_parser_panic_or_give_what_is_not_a_number(text in "\\PC{0,60}", comma in any::<bool>()) {
        let _ = (parse::device_type(&text), parse::nominal_size(&text), parse::placement(&text), parse::channels(&text));
        let _ = (parse::winter_use(&text), parse::language(&text), dates::parse(&text));
        for read in [
            parse::number(&text, comma), parse::height_m(&text, comma), parse::elevation_m(&text, comma), parse::power_w(&text, comma),
            parse::wrap_m2k_per_w(&text, comma), parse::degrees(&text, comma),
        ] {
            prop_assert!(read.ok().flatten().is_none_or(f64::is_finite));
        }
    }

    #[test]
    fn near_misses_of_cells_do_not_panic_either(text in "[-0-9a-zA-Z/.,'\"½¼°: ]{0,24}", comma in any::<bool>()) {
        let _ = (parse::device_type(&text), parse::nominal_size(&text), dates::parse(&text));
        prop_assert!(parse::degrees(&text, comma).ok().flatten().is_none_or(f64::is_finite));
        prop_assert!(parse::height_m(&text, comma).ok().flatten().is_none_or(f64::is_finite));
    }

    #[test]
    fn a_date_written_as_iso_is_read_back(days in 0i64..40_000) {
        let date = ymd(1970, 1, 1) + chrono::TimeDelta::days(days);
        prop_assert_eq!(dates::parse(&date.to_string()), Some(Dated::Certain(date)));
        prop_assert_eq!(dates::parse(&date.format("%d-%b-%Y").to_string()), Some(Dated::Certain(date)));
    }

    #[test]
    fn a_number_is_read_back_with_and_without_grouping(value in 1_000u32..999_999) {
        let grouped = format!("{},{:03}", value / 1000, value % 1000);
        prop_assert_eq!(parse::number(&grouped, false).unwrap(), Some(f64::from(value)));
        prop_assert_eq!(parse::number(&value.to_string(), true).unwrap(), Some(f64::from(value)));
    }
}
