//! Ground and mains water through the year.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::tables::table;
use approx::assert_relative_eq;
use brimwater::physics::{ground, inlet};
use brimwater::units::{c_from_f, f_from_c};
use proptest::prelude::*;

#[test]
fn ground_follows_kusuda_and_achenbach() {
    for row in table("ground_kusuda.csv") {
        // X-Val: Kusuda & Achenbach, ASHRAE Trans. 71 (1965) 61 (from memory), evaluated apart from this program; three decimals.
        for day in [15.0, 35.0, 60.0, 100.0, 200.0] {
            let ours = ground::ground_temperature_c(15.0, 12.0, 35.0, 0.05, row.get("depth_m"), day);
            assert_relative_eq!(ours, row.get(&format!("day_{day}")), epsilon = 6e-4, max_relative = 0.0);
        }
    }
    // X-Val: the same: damping 2.4102 m, lag 24.10 days a metre.
    assert_relative_eq!(
        ground::damping_depth_m(0.05),
        2.4102,
        epsilon = 6e-5,
        max_relative = 0.0
    );
    assert_relative_eq!(ground::lag_days(0.05, 1.0), 24.10, epsilon = 6e-3, max_relative = 0.0);
    // X-Val: public documentation of the sine form: 1e-6 m²/s gives 3.17 m for the annual wave.
    assert_relative_eq!(
        ground::damping_depth_m(1e-6 * 86_400.0),
        3.17,
        epsilon = 6e-3,
        max_relative = 0.0
    );
}

#[test]
fn deep_ground_is_the_annual_mean() {
    // X-Val: the limit of the heat equation under a periodic surface: the wave dies out with depth.
    for day in [1.0, 100.0, 250.0] {
        let deep = ground::ground_temperature_c(15.0, 12.0, 35.0, 0.05, 40.0, day);
        assert_relative_eq!(deep, 15.0, epsilon = 1e-5, max_relative = 0.0);
    }
}

#[test]
fn ground_solves_the_heat_equation() {
    // X-Val: dT/dt = α d²T/dz² (Fourier), by central differences; 1 % of the largest rate covers the step's own error.
    let t = |z: f64, d: f64| ground::ground_temperature_c(15.0, 12.0, 35.0, 0.05, z, d);
    for (z, day) in [(0.5, 20.0), (1.0, 80.0), (2.0, 200.0), (3.0, 300.0)] {
        let rate = (t(z, day + 0.5) - t(z, day - 0.5)) / 1.0;
        let curve = (t(z + 0.05, day) - 2.0 * t(z, day) + t(z - 0.05, day)) / 0.0025;
        assert_relative_eq!(rate, 0.05 * curve, epsilon = 0.002, max_relative = 0.0);
    }
}

#[test]
fn mains_water_follows_burch_and_christensen() {
    for row in table("mains_water.csv") {
        // X-Val: Burch & Christensen, NREL 2007, in its own °F, evaluated apart from this program; three decimals.
        let (mean_c, range_k) = (c_from_f(row.get("mean_f")), row.get("range_f") / 1.8);
        for day in [1.0, 28.0, 50.0, 100.0, 200.0] {
            let ours = f_from_c(inlet::mains_temperature_c(mean_c, range_k, day, false));
            assert_relative_eq!(ours, row.get(&format!("day_{day}")), epsilon = 6e-4, max_relative = 0.0);
        }
        let (day, coldest) = inlet::coldest_mains(mean_c, range_k, false);
        let (_, warmest) = inlet::warmest_mains(mean_c, range_k, false);
        // Extremes printed to two decimals; a whole day misses the crest by under 0.002 °F.
        assert_relative_eq!(f_from_c(coldest), row.get("min_f"), epsilon = 7e-3, max_relative = 0.0);
        assert_relative_eq!(f_from_c(warmest), row.get("max_f"), epsilon = 7e-3, max_relative = 0.0);
        // The coldest day is 15 days and the lag into the year: 50 for 44 °F, 28 for 66 °F.
        assert_eq!(f64::from(day), (15.0 + 35.0 - (row.get("mean_f") - 44.0)).round());
    }
}

#[test]
fn seasons_turn_over_in_the_south() {
    // X-Val: the published form uses +90° in the southern hemisphere: half a year apart, the same extremes.
    let (north_day, north) = inlet::coldest_mains(15.0, 15.0, false);
    let (south_day, south) = inlet::coldest_mains(15.0, 15.0, true);
    assert_relative_eq!(north, south, epsilon = 2e-3, max_relative = 0.0);
    assert!(
        (180..=186).contains(&south_day.abs_diff(north_day)),
        "{north_day} {south_day}"
    );
}

#[test]
fn water_in_a_main_is_never_below_freezing() {
    // The bare formula gives 24.0 °F on the coldest day for a mean of 24 °F and a range of 60 °F; water in a main is liquid.
    assert_eq!(inlet::mains_temperature_c(c_from_f(24.0), 60.0 / 1.8, 70.0, false), 0.0);
}

proptest! {
    #[test]
    fn deeper_ground_swings_less(z in 0.0..5.0_f64, more in 0.05..2.0_f64) {
        let swing = |z: f64| {
            let days = (0..365).map(|d| ground::ground_temperature_c(15.0, 12.0, 35.0, 0.05, z, f64::from(d)));
            days.fold((f64::MAX, f64::MIN), |(lo, hi), t| (lo.min(t), hi.max(t)))
        };
        let (a, b) = (swing(z), swing(z + more));
        prop_assert!(b.1 - b.0 < a.1 - a.0);
    }

    #[test]
    fn nothing_is_ever_not_a_number(a in prop::num::f64::ANY, b in prop::num::f64::ANY, c in prop::num::f64::ANY, d in prop::num::f64::ANY) {
        prop_assert!(ground::ground_temperature_c(a, b, c, d, a, b).is_finite());
        let water = inlet::mains_temperature_c(a, b, c, a > b);
        prop_assert!((0.0..=45.0).contains(&water));
        let (day, coldest) = inlet::coldest_mains(a, b, false);
        prop_assert!((1..=365).contains(&day) && (0.0..=45.0).contains(&coldest));
    }
}
