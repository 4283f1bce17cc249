//! L-moments, the extreme value distribution, the n-year formula and the trend, against outside values.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_abs_diff_eq;
use brimwater::weather::gev::{
    Gev, LMoments, approximate_shape, bootstrap_bands, fit_minima, l_moments, mean_and_sd, n_year_factor,
    n_year_minimum_c,
};
use brimwater::weather::trend::trend;

/// Twelve annual minima, °C, of the small check in the project's notes on extremes.
const TWELVE: [f64; 12] = [
    -12.2, -8.9, -10.6, -15.0, -7.8, -9.4, -11.1, -13.3, -6.7, -10.0, -8.3, -17.2,
];

struct Reference {
    name: String,
    minima_c: Vec<f64>,
    numbers: Vec<f64>,
}

/// Rows of tests/data/weather/gev_reference.csv, made by lmoments3, scipy and pymannkendall (generator beside it).
fn references() -> Vec<Reference> {
    let text = std::fs::read_to_string("tests/data/weather/gev_reference.csv").unwrap();
    text.lines()
        .skip(1)
        .map(|line| {
            let mut cells = line.split(',');
            Reference {
                name: cells.next().unwrap().to_owned(),
                minima_c: cells
                    .next()
                    .unwrap()
                    .split(';')
                    .map(|cell| cell.parse().unwrap())
                    .collect(),
                numbers: cells.map(|cell| cell.parse().unwrap()).collect(),
            }
        })
        .collect()
}

#[test]
fn l_moments_and_fit_match_lmoments3_and_scipy() {
    let references = references();
    assert_eq!(references.len(), 5);
    for reference in references {
        let flipped: Vec<f64> = reference.minima_c.iter().map(|value| -value).collect();
        let moments = l_moments(&flipped).unwrap();
        let n = &reference.numbers;
        // X-Val: lmoments3 lmom_ratios, printed with nine decimals.
        assert_abs_diff_eq!(moments.l1, n[0], epsilon = 2e-9);
        assert_abs_diff_eq!(moments.l2, n[1], epsilon = 2e-9);
        assert_abs_diff_eq!(moments.t3, n[2], epsilon = 2e-9);
        assert_abs_diff_eq!(moments.t4, n[3], epsilon = 2e-9);
        let gev = Gev::from_l_moments(&moments).unwrap();
        // X-Val: lmoments3 gev.lmom_fit; its own shape is a rational approximation good to 9e-7 (Hosking 1996).
        assert_abs_diff_eq!(gev.shape, n[4], epsilon = 2e-6);
        assert_abs_diff_eq!(gev.location, n[5], epsilon = 1e-5);
        assert_abs_diff_eq!(gev.scale, n[6], epsilon = 1e-5);
        // X-Val: scipy.stats.genextreme.ppf. The error of the shape grows with the return period: 1e-4 K is far below a reading.
        for (years, expected) in [2.0, 10.0, 50.0, 100.0].iter().zip(&n[7..11]) {
            assert_abs_diff_eq!(gev.minimum_c(*years), *expected, epsilon = 1e-4);
        }
        let points: Vec<(f64, f64)> = reference
            .minima_c
            .iter()
            .enumerate()
            .map(|(i, c)| (i as f64, *c))
            .collect();
        let found = trend(&points).unwrap();
        // X-Val: scipy.stats.theilslopes and pymannkendall.original_test.
        assert_abs_diff_eq!(found.slope, n[11], epsilon = 1e-9);
        assert_abs_diff_eq!(found.p_value, n[12], epsilon = 1e-7);
        assert!(!reference.name.is_empty());
    }
}

#[test]
fn hosking_approximation_gives_the_small_check() {
    let flipped: Vec<f64> = TWELVE.iter().map(|value| -value).collect();
    let moments = l_moments(&flipped).unwrap();
    // X-Val: weather notes section 7 (Hosking's approximate shape, printed to six decimals).
    let shape = approximate_shape(moments.t3);
    assert_abs_diff_eq!(shape, -0.039_279, epsilon = 1e-6);
    let gev = Gev::with_shape(&moments, shape).unwrap();
    assert_abs_diff_eq!(gev.scale, 2.499_945, epsilon = 1e-6);
    assert_abs_diff_eq!(gev.location, 9.331_218, epsilon = 1e-6);
    // X-Val: the same, minima of 2, 10 and 50 years, printed to four decimals.
    for (years, expected) in [(2.0, -10.2541), (10.0, -15.2131), (50.0, -19.8731)] {
        assert_abs_diff_eq!(gev.minimum_c(years), expected, epsilon = 6e-5);
    }
    // The exact root and the approximation differ by less than a hundredth of a kelvin at 50 years.
    assert_abs_diff_eq!(fit_minima(&TWELVE).unwrap().minimum_c(50.0), -19.8731, epsilon = 0.01);
}

#[test]
fn handbook_factor_and_minima_match_the_printed_values() {
    // X-Val: ASHRAE Handbook Fundamentals, climatic design information, formula of n-year extremes; factors as in weather notes 7.
    for (years, expected) in [
        (5.0, 0.71946),
        (10.0, 1.30456),
        (20.0, 1.86581),
        (50.0, 2.59229),
        (100.0, 3.13668),
    ] {
        assert_abs_diff_eq!(n_year_factor(years), expected, epsilon = 1e-5);
    }
    let (mean, sd) = mean_and_sd(&TWELVE).unwrap();
    assert_abs_diff_eq!(mean, -10.875, epsilon = 1e-9);
    assert_abs_diff_eq!(sd, 3.091_668, epsilon = 1e-6);
    for (years, expected) in [(5.0, -13.0993), (10.0, -14.9083), (20.0, -16.6435), (50.0, -18.8895)] {
        assert_abs_diff_eq!(n_year_minimum_c(mean, sd, years), expected, epsilon = 1e-4);
    }
}

/// Half of the last digit printed: mean, standard deviation and the extremes of a header stand to 0.1.
const HALF_DIGIT_K: f64 = 0.05;

/// Stations of the headers: name, mean and standard deviation of the annual minima, and the printed minima by their years.
fn design_conditions() -> Vec<(String, f64, f64, [(f64, f64); 4])> {
    let text = std::fs::read_to_string("tests/data/weather/design_conditions.csv").unwrap();
    let rows = text.lines().filter(|line| !line.starts_with('#')).skip(1);
    rows.map(|line| {
        let cells: Vec<&str> = line.split(',').collect();
        let number = |at: usize| cells[at].parse::<f64>().unwrap();
        let printed = [
            (5.0, number(3)),
            (10.0, number(4)),
            (20.0, number(5)),
            (50.0, number(6)),
        ];
        (cells[0].to_owned(), number(1), number(2), printed)
    })
    .collect()
}

#[test]
fn handbook_formula_reproduces_the_extremes_printed_in_real_design_condition_headers() {
    // X-Val: the extremes printed in the DESIGN CONDITIONS line of real EPW files (ASHRAE Handbook Fundamentals, climatic design information).
    let mut worst = (0.0, String::new());
    let mut checked = 0;
    for (station, mean, sd, printed) in design_conditions() {
        for (years, minimum) in printed {
            let off = (n_year_minimum_c(mean, sd, years) - minimum).abs();
            // All three numbers are rounded: mean by 0.05, the deviation by 0.05 a factor, the printed value by 0.05. That is 0.136 K
            // at 5 years and 0.230 K at 50.
            let bound = HALF_DIGIT_K * (2.0 + n_year_factor(years));
            assert!(
                off <= bound,
                "{station}: {off:.3} K off at {years} years, {bound:.3} can be rounding"
            );
            if off > worst.0 {
                worst = (off, format!("{station} at {years} years"));
            }
            checked += 1;
        }
    }
    assert_eq!(checked, 28);
    // The worst is 0.1716 K, of a deviation that is printed as 4.1 and must have been 4.15: 0.17 K to the digits that there are.
    assert!(worst.0 < 0.175, "{} K off: {}", worst.0, worst.1);
    assert!(
        worst.1.contains("ABERDEEN") && worst.1.ends_with("50 years"),
        "{}",
        worst.1
    );
}

#[test]
fn one_mean_and_deviation_within_rounding_give_all_printed_extremes_of_a_header() {
    // X-Val: as above. Sharper than a bound for each value: the same unrounded mean and deviation must serve all four, so that
    // what is left is the rounding of the printed minima alone.
    for (station, mean, sd, printed) in design_conditions() {
        let steps = || (-10..=10).map(|step| f64::from(step) * HALF_DIGIT_K / 10.0);
        let best = steps()
            .flat_map(|of_mean| steps().map(move |of_sd| (mean + of_mean, sd + of_sd)))
            .map(|(mean, sd)| {
                let off = |(years, minimum): (f64, f64)| (n_year_minimum_c(mean, sd, years) - minimum).abs();
                printed.into_iter().map(off).fold(0.0, f64::max)
            })
            .fold(f64::INFINITY, f64::min);
        assert!(best <= HALF_DIGIT_K, "{station}: at best {best:.3} K off");
    }
}

#[test]
fn gumbel_is_the_limit_of_small_shapes() {
    let moments = LMoments {
        l1: 10.0,
        l2: 2.0,
        t3: 0.169_925_001_442_312,
        t4: 0.15,
    };
    let gev = Gev::from_l_moments(&moments).unwrap();
    // X-Val: Hosking 1990: L-skewness of Gumbel's distribution is log2(9/8) = 0.1699; scale l2/ln 2; location l1 − 0.5772 scale.
    assert_abs_diff_eq!(gev.shape, 0.0, epsilon = 1e-6);
    assert_abs_diff_eq!(gev.scale, 2.0 / std::f64::consts::LN_2, epsilon = 1e-5);
    assert_abs_diff_eq!(gev.location, 10.0 - 0.577_215_664_9 * gev.scale, epsilon = 1e-5);
    // Continuity across the switch to the limit form.
    let near = Gev::with_shape(&moments, 1.1e-6).unwrap();
    let at = Gev::with_shape(&moments, 0.0).unwrap();
    assert_abs_diff_eq!(near.minimum_c(100.0), at.minimum_c(100.0), epsilon = 1e-4);
}

#[test]
fn bands_hold_the_true_level_about_nine_times_in_ten() {
    // Truth known by construction: records of 40 winters drawn from a distribution whose 50-year level is exact.
    let truth = Gev {
        location: 10.0,
        scale: 3.0,
        shape: 0.1,
    };
    let mut state = 12_345_u64;
    let mut unit = move || {
        // Splitmix: a generator other than the one under test.
        state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        (((z ^ (z >> 31)) >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    };
    let mut inside = 0;
    let records = 300;
    for record in 0..records {
        let sample: Vec<f64> = (0..40).map(|_| -truth.quantile(unit())).collect();
        let gev = fit_minima(&sample).unwrap();
        let bands = bootstrap_bands(&gev, 40, &[50.0], 200, 0.05, record).unwrap();
        if bands[0].0 <= truth.minimum_c(50.0) && truth.minimum_c(50.0) <= bands[0].1 {
            inside += 1;
        }
    }
    let share = f64::from(inside) / f64::from(records as u32);
    // Nominal 0.90; percentile bands of such short records are known to fall short by a few hundredths, and 300 records
    // have a standard error of 0.017.
    assert!((0.82..=0.97).contains(&share), "{share}");
}

#[test]
fn bands_are_the_same_bytes_for_the_same_seed_and_others_for_another() {
    let gev = fit_minima(&TWELVE).unwrap();
    let once = bootstrap_bands(&gev, 12, &[10.0, 100.0], 300, 0.05, 7).unwrap();
    assert_eq!(once, bootstrap_bands(&gev, 12, &[10.0, 100.0], 300, 0.05, 7).unwrap());
    assert_ne!(once, bootstrap_bands(&gev, 12, &[10.0, 100.0], 300, 0.05, 8).unwrap());
    assert!(once[1].0 < once[0].0, "the 100-year band reaches further down");
}

#[test]
fn samples_that_say_nothing_are_refused() {
    assert!(l_moments(&[1.0, 2.0, 3.0]).is_none());
    assert!(l_moments(&[5.0; 20]).is_none());
    assert!(l_moments(&[1.0, f64::NAN, 2.0, 3.0]).is_none());
    assert!(trend(&[(1.0, 1.0), (1.0, 2.0), (1.0, 3.0), (1.0, 4.0)]).is_none());
    assert!(trend(&[(1.0, 1.0), (2.0, 2.0)]).is_none());
}
