//! Extremes that move, against direct maximum likelihood with two other optimisers.

use super::tables::{expected, winters};
use brimwater::season::moving::Moving;

/// X-Val: expected_gev.json: scipy Nelder-Mead and BFGS on the same likelihood, scipy.stats.genextreme for the law that stands still.
/// Catches: the sign of the shape or of the trend, minima taken as maxima, a p-value of the wrong degrees of freedom.
#[test]
fn laws_test_and_levels_are_those_of_other_optimisers() {
    let found = Moving::fit(&winters()).unwrap();
    let table = expected("expected_gev.json");
    let want = &table["invented winters (winters.csv)"];
    let near = |got: f64, value: &serde_json::Value, by: f64, what: &str| {
        let value = value.as_f64().unwrap();
        assert!((got - value).abs() < by, "{what}: {got} for {value}");
    };
    for (law, name) in [(found.still, "stationary"), (found.moving, "moving")] {
        near(law.location, &want[name]["location"], 5e-5, name);
        near(law.trend_k_per_decade, &want[name]["trend"], 5e-5, name);
        near(law.scale, &want[name]["scale"], 5e-5, name);
        near(law.shape, &want[name]["shape_xi"], 5e-5, name);
        near(law.nll, &want[name]["nll"], 5e-6, name);
    }
    near(found.likelihood_ratio, &want["likelihood_ratio"], 1e-5, "ratio");
    near(found.p_value, &want["p_value"], 1e-6, "p");
    assert!(found.is_moving());
    near(
        found.still.coldest_of_c(2000.0, 20.0),
        &want["coldest_of_20_years_c_stationary"],
        5e-4,
        "still",
    );
    for season in [1980, 2000, 2025, 2050] {
        let key = season.to_string();
        let at = f64::from(season);
        near(
            found.moving.coldest_of_c(at, 20.0),
            &want["coldest_of_20_years_c"][&key],
            5e-4,
            &key,
        );
        let chance = &want["chance_of_a_winter_below_minus_6_67"][&key];
        near(found.moving.chance_below(at, -20.0 / 3.0), chance, 5e-5, &key);
    }
    // A night of 1980 stands for a warmer one of 2025: 4.5 decades of 0.49 K.
    assert!((found.shift_k(1980, 2025) - 4.5 * 0.491412).abs() < 1e-3);
}

/// Seasons in another order say nothing of a trend: the rule then keeps the law that stands still.
/// Catches: a trend that is always used.
#[test]
fn a_record_without_a_trend_keeps_still() {
    let minima: Vec<f64> = winters().iter().map(|winter| winter.1).collect();
    // Every other season from the middle outward: old and new winters change places evenly.
    let mixed: Vec<(i32, f64)> = (0..50).map(|k| (1976 + k as i32, minima[(k * 21 + 7) % 50])).collect();
    let found = Moving::fit(&mixed).unwrap();
    assert!(!found.is_moving(), "p {}", found.p_value);
    assert_eq!(found.shift_k(1980, 2025), 0.0);
    assert_eq!(found.law(), found.still);
}

/// Three winters, equal winters and one season fit no law.
#[test]
fn too_little_is_refused() {
    let all = winters();
    assert!(Moving::fit(&all[..3]).is_none() && Moving::fit(&all[..9]).is_none());
    let alike: Vec<(i32, f64)> = (2000..2030).map(|season| (season, -5.0)).collect();
    assert!(Moving::fit(&alike).is_none());
    let one: Vec<(i32, f64)> = all.iter().map(|winter| (2000, winter.1)).collect();
    assert!(Moving::fit(&one).is_none());
    assert!(Moving::fit(&[(2000, f64::NAN); 12]).is_none());
}
