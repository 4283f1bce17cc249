//! Hourly temperature from the daily minimum and maximum, against the published shapes worked outside.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_abs_diff_eq;
use brimwater::weather::diurnal::{Day, Shape, temperature_c};
use proptest::prelude::*;

const DAY: Day = Day {
    sunrise_h: 7.0,
    sunset_h: 17.5,
    min_c: -6.0,
    max_c: 8.0,
    previous_max_c: 10.0,
    next_min_c: -3.0,
};

#[test]
fn shapes_match_the_check_table() {
    // X-Val: weather notes section 5, formulas of Parton and Logan 1981, Goudriaan and van Laar 1994, Linvill 1990 and
    // de Wit 1978 worked in Python; printed to four decimals.
    let hours = [0.0, 6.0, 7.0, 12.0, 18.0, 23.0];
    for (shape, expected) in [
        (Shape::PartonLogan, [-2.1343, -4.5640, -5.4743, 6.7337, 3.3429, -0.2209]),
        (
            Shape::GoudriaanVanLaar,
            [-4.2675, -5.8965, -6.0000, 6.8550, 3.2104, -1.3994],
        ),
        (Shape::Linvill, [-2.9937, -5.6741, -6.0000, 6.3692, 3.5073, -0.6986]),
        (Shape::HalfCosines, [-0.1893, -5.8638, -6.0000, 5.3644, 6.5645, 1.9925]),
    ] {
        for (hour, celsius) in hours.iter().zip(expected) {
            assert_abs_diff_eq!(temperature_c(shape, &DAY, *hour), celsius, epsilon = 1e-4);
        }
    }
}

proptest! {
    #[test]
    fn every_shape_stays_near_the_readings(min_c in -40.0..20.0_f64, range in 0.0..25.0_f64, before in -10.0..10.0_f64, after in -10.0..10.0_f64, sunrise in 4.0..9.0_f64, length in 7.0..16.0_f64, hour in 0.0..24.0_f64) {
        let day = Day { sunrise_h: sunrise, sunset_h: sunrise + length, min_c, max_c: min_c + range,
            previous_max_c: min_c + range + before, next_min_c: min_c + after };
        let low = min_c.min(day.next_min_c).min(day.previous_max_c);
        let high = day.max_c.max(day.previous_max_c).max(day.next_min_c);
        for shape in Shape::ALL {
            let celsius = temperature_c(shape, &day, hour);
            prop_assert!(celsius.is_finite());
            // Exponentials run towards the goal and the sine lies between minimum and maximum; when the next minimum is above
            // this day's sunset temperature the curve bends upward, never past the readings by more than their difference.
            prop_assert!(celsius >= low - 10.0 && celsius <= high + 10.0, "{shape:?} {celsius}");
        }
    }
}
