//! The charts of a plan: well-formed, labelled, bounded, and telling tiers apart without colour.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::made::{ensemble, shared, single, start, trace};
use brimwater::freeze::Outlook;
use brimwater::output::charts::{Shape, spread_labels, ticks};
use brimwater::output::charts_plan::{self, Case, Dot};
use brimwater::ranking::{Tier, Words};
use brimwater::weather::{Kind, Series, Station};
use proptest::prelude::*;
use std::sync::Arc;

const US: Words = Words {
    zone: chrono_tz::America::Chicago,
    us: true,
    language: brimwater::language::Language::English,
};

fn series(id: &str, shift: f64) -> Series {
    let hours = 168;
    let air = trace(0.5).air_c;
    Series {
        format: "test",
        station: Station {
            station_id: id.into(),
            latitude_deg: Some(31.52),
            longitude_deg: Some(-41.22),
            elevation_m: Some(10.0),
        },
        start: start(),
        air_c: air.iter().map(|c| c + shift).collect(),
        wind_m_s: vec![None; hours],
        dew_point_c: vec![None; hours],
        sky_cover: vec![None; hours],
        kind: vec![Kind::Forecast; hours],
        interpolated: vec![false; hours],
        issued: None,
    }
}

fn traced(p: f64) -> Outlook {
    let mut outlook = ensemble(p, 55, 300.0 * p, 5.0);
    outlook.trace = Some(trace(p));
    outlook
}

fn keep(name: &str, svg: &str) {
    // BRIMWATER_KEEP_CHARTS=DIR keeps the pictures to be looked at.
    if let Ok(dir) = std::env::var("BRIMWATER_KEEP_CHARTS") {
        std::fs::write(std::path::Path::new(&dir).join(name), svg).unwrap();
    }
}

/// Every element that opens closes, attributes are quoted, nothing is left unescaped.
fn assert_well_formed(xml: &str) {
    let mut stack: Vec<String> = Vec::new();
    let mut rest = xml;
    while let Some(open) = rest.find('<') {
        assert!(!rest[..open].contains('>'), "stray > before: {}", &rest[..open.min(80)]);
        let close = rest[open..].find('>').unwrap() + open;
        let tag = &rest[open + 1..close];
        assert_eq!(tag.matches('"').count() % 2, 0, "unbalanced quotes in <{tag}>");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(stack.pop().as_deref(), Some(name.trim()));
        } else if !tag.ends_with('/') {
            stack.push(tag.split_whitespace().next().unwrap().to_owned());
        }
        rest = &rest[close + 1..];
    }
    assert!(stack.is_empty(), "never closed: {stack:?}");
}

fn cases(outlooks: &[Outlook]) -> Vec<Case<'_>> {
    outlooks
        .iter()
        .enumerate()
        .map(|(i, outlook)| Case {
            label: format!("{} · B-{:04}", i + 1, 142 + i),
            kind: "1 in PVB, open, idle".into(),
            outlook,
            alike: i * 7,
        })
        .collect()
}

#[test]
fn every_chart_is_well_formed_and_has_words_for_those_who_do_not_see_it() {
    let outlooks: Vec<Outlook> = [0.97, 0.9, 0.62, 0.55, 0.31, 0.1].iter().map(|p| traced(*p)).collect();
    let cases = cases(&outlooks);
    let list: Vec<Arc<Outlook>> = (0..400)
        .map(|i| {
            let p = f64::from((i * 37) % 100) / 100.0;
            shared(ensemble(
                if p < 0.3 { 0.0 } else { p },
                40 + i64::from((i * 13) % 40),
                100.0,
                1.0,
            ))
        })
        .collect();
    let dots: Vec<Dot> = (0..400)
        .map(|i| Dot {
            latitude_deg: 31.5 + f64::from((i * 71) % 97) * 0.0007,
            longitude_deg: -41.25 + f64::from((i * 53) % 89) * 0.0009,
            tier: Tier::ALL[[0, 1, 1, 2, 2, 3, 3, 3, 3][i as usize % 9]],
        })
        .collect();
    let stations = [series("QUARRY", 0.0), series("HARBOR", 2.0), series("MOOR", -2.0)];
    let places: Vec<Station> = stations.iter().map(|s| s.station.clone()).collect();
    let charts = [
        ("spell.svg", charts_plan::spell(&cases, &US).unwrap()),
        ("first-ice.svg", charts_plan::first_ice(&list, &US).unwrap()),
        ("map.svg", charts_plan::map(&dots, &places[..1], &US).unwrap()),
        ("thresholds.svg", charts_plan::thresholds(&stations, &US).unwrap()),
        ("damage.svg", charts_plan::damage(&cases, &US).unwrap()),
    ];
    for (name, svg) in &charts {
        keep(name, svg);
        assert_well_formed(svg);
        assert!(
            svg.contains("role=\"img\"") && svg.contains("<title>") && svg.contains("<desc>"),
            "{name}"
        );
        assert!(!svg.contains("NaN") && !svg.contains("inf\""), "{name}");
        assert!(svg.len() < 400_000, "{name} has {} bytes", svg.len());
    }
}

#[test]
fn hostile_names_are_text_in_a_chart() {
    let mut hostile = series("<script>&\"'</title>", 0.0);
    hostile.station.station_id.push('\u{1}');
    let svg = charts_plan::thresholds(&[hostile], &US).unwrap();
    assert_well_formed(&svg);
    assert!(!svg.contains("<script>"));
}

#[test]
fn tiers_differ_in_shape_and_in_lightness() {
    // X-Val: W3C WCAG 2.2, relative luminance (from memory): L = 0.2126 R + 0.7152 G + 0.0722 B of linear channels.
    let luminance = |ink: brimwater::output::charts::Ink| {
        let linear = |c: u8| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(ink.0) + 0.7152 * linear(ink.1) + 0.0722 * linear(ink.2)
    };
    let marks: Vec<_> = Tier::ALL.iter().map(|tier| charts_plan::tier_mark(*tier)).collect();
    for (i, a) in marks.iter().enumerate() {
        for b in &marks[i + 1..] {
            assert_ne!(a.0, b.0);
        }
    }
    assert_eq!(marks[0].0, Shape::Triangle);
    // The tier that must be found first is the darkest, the one to pass over the lightest.
    assert!(
        marks
            .iter()
            .skip(1)
            .all(|mark| luminance(mark.2) > luminance(marks[0].2))
    );
    assert!(marks[..3].iter().all(|mark| luminance(mark.2) < luminance(marks[3].2)));
    // Non-text contrast of 3 to 1 against white for what must be seen. X-Val: WCAG 2.2, success criterion 1.4.11 (from memory).
    assert!(marks[..3].iter().all(|mark| 1.05 / (luminance(mark.2) + 0.05) >= 3.0));
}

#[test]
fn a_deterministic_plan_has_no_chart_of_chances() {
    let mut outlook = single(0.9, 50);
    let mut flat = trace(0.0);
    flat.p_damage_by.clear();
    outlook.trace = Some(flat);
    let outlooks = [outlook];
    assert!(charts_plan::damage(&cases(&outlooks), &US).is_err());
    assert_well_formed(&charts_plan::spell(&cases(&outlooks), &US).unwrap());
}

#[test]
fn a_map_of_a_hundred_thousand_stays_small() {
    let dots: Vec<Dot> = (0..100_000u32)
        .map(|i| Dot {
            latitude_deg: 31.5 + f64::from(i.wrapping_mul(7919) % 10_007) * 1e-5,
            longitude_deg: -41.25 + f64::from(i.wrapping_mul(104_729) % 10_009) * 1e-5,
            tier: Tier::ALL[i as usize % 4],
        })
        .collect();
    let svg = charts_plan::map(&dots, &[], &US).unwrap();
    assert!(svg.len() < 3_000_000, "{} bytes", svg.len());
}

#[test]
fn hours_below_a_threshold_are_strictly_below_it() {
    let mut s = series("A", 0.0);
    s.air_c = vec![0.0, -0.1, -3.0, 5.0];
    assert_eq!(charts_plan::hours_below(&s, 0.0), 2);
}

#[test]
fn the_damage_chart_of_a_year_shows_the_days_about_the_coldest_hour() {
    use chrono::TimeDelta;
    let end = start() + TimeDelta::days(365);
    let coldest = start() + TimeDelta::days(100);
    let (from, to) = charts_plan::focus((start(), end), coldest);
    assert_eq!(to - from, TimeDelta::days(10));
    assert!(from < coldest && coldest < to);
    // At the edges the ten days stay inside the window.
    assert_eq!(charts_plan::focus((start(), end), start()).0, start());
    assert_eq!(charts_plan::focus((start(), end), end).1, end);
}

#[test]
fn ticks_are_round_numbers_inside_the_range() {
    assert_eq!(ticks(13.0, 58.0, 4), [20.0, 40.0]);
    assert_eq!(ticks(0.0, 1.0, 4), [0.0, 0.5, 1.0]);
    assert_eq!(ticks(-7.0, 7.0, 3), [-5.0, 0.0, 5.0]);
}

proptest! {
    #[test]
    fn labels_never_overlap_and_keep_their_order(ys in prop::collection::vec(0.0f64..300.0, 1..7)) {
        let placed = spread_labels(&ys, 20.0, 0.0, 300.0);
        let mut order: Vec<usize> = (0..ys.len()).collect();
        order.sort_by(|a, b| placed[*a].total_cmp(&placed[*b]));
        for pair in order.windows(2) {
            prop_assert!(placed[pair[1]] - placed[pair[0]] >= 20.0 - 1e-9);
            prop_assert!(ys[pair[1]] >= ys[pair[0]]);
        }
    }

    #[test]
    fn no_series_breaks_the_threshold_chart(air in prop::collection::vec(prop_oneof![-60.0f64..60.0, Just(f64::NAN), Just(f64::INFINITY)], 1..60)) {
        let mut s = series("A", 0.0);
        let n = air.len();
        s.air_c = air;
        s.wind_m_s = vec![None; n];
        s.kind = vec![Kind::Forecast; n];
        let svg = charts_plan::thresholds(&[s], &US).unwrap();
        assert_well_formed(&svg);
    }
}
