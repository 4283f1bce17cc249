//! Yearly loss of winters, against an independent computation on the same winters.

use super::tables::{expected, winters};
use brimwater::season::minimise::minimise;
use brimwater::season::moving::Moving;
use brimwater::season::yearly::{annuity, interval, mean, share_of_two_worst};
use statrs::distribution::{ContinuousCDF, Normal};

/// Chance of damage in a night, per cent, at 30, 28, 26, 24, 22, 20 and 15 °F, from the reference's generator.
const LADDERS: [(&str, [f64; 7], f64); 3] = [
    ("1 in PVB", [7.0, 19.0, 44.0, 71.0, 89.0, 97.0, 100.0], 310.0),
    ("1 in PVB R-1.5", [0.0, 0.0, 0.0, 2.0, 6.0, 14.0, 60.0], 310.0),
    ("8 in RP", [2.0, 6.0, 12.0, 22.0, 36.0, 54.0, 86.0], 26_225.0),
];

/// X-Val: expected_yearly_loss.json: scipy (least squares, genextreme by quantiles, NumPy bootstrap).
/// Catches: winters weighted by their order, a record's mean without its tail, an interval of the wrong width or of nights, an
/// integral over maxima.
#[test]
fn mean_interval_and_integral_are_those_of_the_reference() {
    let table = expected("expected_yearly_loss.json");
    let winters = winters();
    let laws = Moving::fit(&winters).unwrap();
    let normal = Normal::standard();
    for (name, ladder, usd) in LADDERS {
        let want = &table[name];
        let value = |key: &str| want[key].as_f64().unwrap();
        let at: Vec<f64> = [30.0, 28.0, 26.0, 24.0, 22.0, 20.0, 15.0]
            .iter()
            .map(|f| (f - 32.0) / 1.8)
            .collect();
        let squares = |t: &[f64]| -> f64 {
            let each = at.iter().zip(&ladder);
            each.map(|(c, p)| (normal.cdf((t[0] - c) / t[1].exp()) - p / 100.0).powi(2))
                .sum()
        };
        let (fit, _) = minimise(&squares, &[-4.0, 0.5], &[1.0, 0.3]);
        assert!((fit[0] - table["ladder as probit"][name]["half_at_c"].as_f64().unwrap()).abs() < 1e-3);
        let p = |c: f64| normal.cdf((fit[0] - c) / fit[1].exp());

        let losses: Vec<f64> = winters.iter().map(|winter| usd * p(winter.1)).collect();
        assert!(
            (mean(&losses) - value("mean_over_record")).abs() < 1e-3 * usd / 310.0,
            "{name} {}",
            mean(&losses)
        );
        let by_law = laws.still.mean_of(2000.0, 20_000, &|c| usd * p(c));
        assert!(
            (by_law - value("by_stationary_gev")).abs() < 5e-5 * value("by_stationary_gev"),
            "{name} {by_law}"
        );
        for season in [1980, 2000, 2025, 2035] {
            let moved = laws.moving.mean_of(f64::from(season), 20_000, &|c| usd * p(c));
            let key = format!("moving, {season}");
            assert!((moved - value(&key)).abs() < 2e-4 * value(&key), "{name} {key} {moved}");
        }
        // Resampling is luck on both sides: 4,000 draws put an end within some 2 % of the interval's width.
        let (low, high) = interval(&losses, 3).unwrap();
        let ends: Vec<f64> = want["bootstrap90"]
            .as_array()
            .unwrap()
            .iter()
            .map(|v| v.as_f64().unwrap())
            .collect();
        let width = ends[1] - ends[0];
        assert!(
            (low - ends[0]).abs() < 0.04 * width && (high - ends[1]).abs() < 0.04 * width,
            "{name} {low} {high}"
        );
        assert!(
            (share_of_two_worst(&losses) - value("share_from_the_two_coldest_winters")).abs() < 5e-5,
            "{name}"
        );
    }
    // The record's mean and the integral over the law that it was fitted by agree.
    let agree = |name: &str| {
        let (a, b) = (&table[name]["mean_over_record"], &table[name]["by_stationary_gev"]);
        (a.as_f64().unwrap() / b.as_f64().unwrap() - 1.0).abs()
    };
    assert!(LADDERS.iter().all(|(name, ..)| agree(name) < 0.03));
}

/// X-Val: the sum 1/1.03 + 1/1.03² + … of ten years, 8.530203 (any table of annuities).
#[test]
fn ten_years_at_three_per_cent() {
    assert!((annuity(0.03, 10.0) - 8.530_203).abs() < 1e-6);
    assert_eq!(annuity(0.0, 4.0), 4.0);
    assert_eq!(annuity(0.03, -1.0), 0.0);
}

/// One winter has no interval; no winter has no loss.
#[test]
fn little_record() {
    assert!(interval(&[5.0], 1).is_none() && mean(&[]) == 0.0 && share_of_two_worst(&[]) == 0.0);
    assert_eq!(interval(&[5.0, 5.0], 1), Some((5.0, 5.0)));
}
