//! Warming in words, under its rule.

use super::tables::{expected, winters};
use brimwater::language::Language;
use brimwater::season::spells::RecordWinter;
use brimwater::season::warming::Warming;

fn record(minima: &[(i32, f64)]) -> Vec<RecordWinter> {
    let each = minima.iter().map(|(season, min_c)| RecordWinter {
        season: *season,
        min_c: *min_c,
        coverage: 1.0,
        complete: true,
        spells: Vec::new(),
    });
    each.collect()
}

/// The law of the reference: chance that a winter like that of `season` falls under 20 °F.
fn chance(law: &serde_json::Value, season: i32) -> f64 {
    let of = |key: &str| law[key].as_f64().unwrap();
    let y = (20.0 / 3.0 - of("location") - of("trend") * f64::from(season - 2000) / 10.0) / of("scale");
    1.0 - (-(1.0 + of("shape_xi") * y).powf(-1.0 / of("shape_xi"))).exp()
}

/// X-Val: expected_gev.json (direct maximum likelihood by two optimisers): p 0.015864, 0.491 K a decade; its laws give the tenths.
/// Catches: a trend told the wrong way round, one that is used where the record shows none, the other answer left out.
#[test]
fn a_trend_is_told_with_both_answers_and_moves_the_winters() {
    let minima = winters();
    let law = &expected("expected_gev.json")["invented winters (winters.csv)"];
    let warming = Warming::of("ZZ1", &record(&minima));
    assert!(warming.is_moving());
    // The middle of ten years after 2025 is 2030; a winter of 1980 is raised by five decades of it.
    assert_eq!(warming.target(10.0), Some(2030));
    assert!((warming.shift_k(1980, 10.0) - 5.0 * 0.491_412).abs() < 5e-3);
    assert!((warming.shift_k(2030, 10.0)).abs() < 1e-9);
    let tenths = |law: &serde_json::Value, season| format!("{:.0} in 10", 10.0 * chance(law, season));
    let told = warming.words(Language::English, true);
    let went = format!(
        "gone from {} (1976) to {} (2025)",
        tenths(&law["moving"], 1976),
        tenths(&law["moving"], 2025)
    );
    assert!(
        told.contains(&went) && told.contains("20 °F") && told.contains("p 0.016"),
        "{told}"
    );
    assert!(
        told.contains(&format!("it would be {}", tenths(&law["stationary"], 2025))),
        "{told}"
    );
    let spanish = warming.words(Language::Spanish, false);
    assert!(
        spanish.contains("de cada 10 (1976)") && spanish.contains("-6.7 °C"),
        "{spanish}"
    );
}

/// The same winters in an order that shows nothing, and a record too short to ask.
#[test]
fn no_trend_is_said_and_nothing_moves() {
    let mut minima = winters();
    // The order alternates from both ends: whatever trend there was is gone.
    let values: Vec<f64> = minima.iter().map(|winter| winter.1).collect();
    let n = values.len();
    for (at, winter) in minima.iter_mut().enumerate() {
        winter.1 = values[if at % 2 == 0 { at / 2 } else { n - 1 - at / 2 }];
    }
    let warming = Warming::of("", &record(&minima));
    let p = warming.moving.unwrap().p_value;
    assert!(p > 0.05, "{p}");
    assert!(!warming.is_moving() && warming.shift_k(1980, 10.0) == 0.0);
    let told = warming.words(Language::English, true);
    assert!(
        told.contains("no trend that this record can show") && told.contains("50 winters"),
        "{told}"
    );
    let short = Warming::of("ZZ1", &record(&minima[..3]));
    assert!(short.moving.is_none() && short.shift_k(1980, 10.0) == 0.0);
    assert!(
        short
            .words(Language::English, true)
            .contains("3 complete winters are too few")
    );
    assert!(Warming::of("ZZ1", &[]).target(10.0).is_none());
}
