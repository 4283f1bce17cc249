//! Quantities as people type them, against NIST factors and the `uom` crate.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_relative_eq;
use brimwater::units::*;
use proptest::prelude::*;
use uom::si::f64::*;

const US: UnitSystem = UnitSystem::Us;
const SI: UnitSystem = UnitSystem::Si;

// X-Val: crate uom 0.38 (general-purpose units library). Tolerance 1e-6 relative: uom prints its own factors to
// seven figures.
#[test]
fn conversions_agree_with_the_uom_crate() {
    use uom::si::{length, power, pressure, thermodynamic_temperature as tt, velocity, volume};
    let near = |a: f64, b: f64| assert_relative_eq!(a, b, max_relative = 1e-6);
    near(
        parse_gauge_pa("60 psi", US).unwrap(),
        Pressure::new::<pressure::psi>(60.0).get::<pressure::pascal>(),
    );
    near(
        parse_gauge_pa("4 bar", US).unwrap(),
        Pressure::new::<pressure::bar>(4.0).get::<pressure::pascal>(),
    );
    near(
        parse_volume_l("50 gal", US).unwrap(),
        Volume::new::<volume::gallon>(50.0).get::<volume::liter>(),
    );
    near(
        parse_volume_l("50 imp gal", US).unwrap(),
        Volume::new::<volume::gallon_imperial>(50.0).get::<volume::liter>(),
    );
    near(
        parse_volume_l("1 cup", US).unwrap(),
        Volume::new::<volume::cup>(1.0).get::<volume::liter>(),
    );
    near(
        parse_volume_l("2 ft3", US).unwrap(),
        Volume::new::<volume::cubic_foot>(2.0).get::<volume::liter>(),
    );
    near(
        parse_length_m("60 ft", US).unwrap(),
        Length::new::<length::foot>(60.0).get::<length::meter>(),
    );
    near(
        parse_wind_m_s("10 mph", US).unwrap(),
        Velocity::new::<velocity::mile_per_hour>(10.0).get::<velocity::meter_per_second>(),
    );
    near(
        parse_wind_m_s("12 kn", US).unwrap(),
        Velocity::new::<velocity::knot>(12.0).get::<velocity::meter_per_second>(),
    );
    near(
        parse_power_w("40000 Btu/h", US).unwrap(),
        40_000.0 * Power::new::<power::watt>(0.293_071_1).get::<power::watt>(),
    );
    near(
        parse_temperature_c("-40 F", US).unwrap() + 273.15,
        ThermodynamicTemperature::new::<tt::degree_fahrenheit>(-40.0).get::<tt::kelvin>(),
    );
}

// X-Val: NIST SP 811 (2008), appendix B.8: conductivity Btu·in/(h·ft²·°F) = 1.442279e-1 W/(m·K),
// Btu/(h·ft·°F) = 1.730735, coefficient Btu/(h·ft²·°F) = 5.678263, R-value °F·h·ft²/Btu = 1.761102e-1,
// conventional foot of water = 2.989067e3 Pa, Btu/h = 2.930711e-1 W. Tolerance: the seven printed figures.
#[test]
fn heat_units_match_the_nist_factors() {
    let near = |a: f64, b: f64| assert_relative_eq!(a, b, max_relative = 4e-7);
    near(parse_conductivity_w_mk("1 Btu in/h ft2 F", US).unwrap(), 0.144_227_9);
    near(parse_conductivity_w_mk("1 Btu/(h·ft·°F)", US).unwrap(), 1.730_735);
    near(parse_film_w_m2k("1 Btu/h ft2 F", SI).unwrap(), 5.678_263);
    near(parse_r_value_m2k_per_w("1", US).unwrap(), 0.176_110_2);
    near(parse_gauge_pa("1 ft H2O", US).unwrap(), 2_989.067);
    near(parse_power_w("1 Btu/h", SI).unwrap(), 0.293_071_1);
    near(W_MK_PER_BTU_IN, 0.144_227_9);
}

#[test]
fn a_bare_number_takes_the_unit_of_the_system() {
    assert_relative_eq!(parse_temperature_c("212", US).unwrap(), 100.0, epsilon = 1e-12);
    assert_relative_eq!(parse_temperature_c("100", SI).unwrap(), 100.0);
    assert_relative_eq!(parse_gauge_pa("60", US).unwrap(), 60.0 * PA_PER_PSI);
    assert_relative_eq!(parse_gauge_pa("400", SI).unwrap(), 400e3);
    assert_relative_eq!(parse_volume_l("50", US).unwrap(), 189.270_589_2, epsilon = 1e-9);
    assert_relative_eq!(parse_volume_l("190", SI).unwrap(), 190.0);
    assert_relative_eq!(parse_length_m("10", US).unwrap(), 3.048);
    assert_relative_eq!(parse_length_m("10", SI).unwrap(), 10.0);
    assert_relative_eq!(parse_small_length_m("1-1/2", US).unwrap(), 0.0381);
    assert_relative_eq!(parse_small_length_m("50", SI).unwrap(), 0.05);
    assert_relative_eq!(parse_wind_m_s("5", SI).unwrap(), 5.0);
    assert_relative_eq!(parse_temperature_difference_k("18", US).unwrap(), 10.0);
    assert_relative_eq!(parse_electric_power_w("50", US).unwrap(), 50.0);
}

#[test]
fn numbers_are_read_as_people_write_them() {
    let length = |text| parse_small_length_m(text, US).unwrap() / M_PER_IN;
    for (text, inches) in [
        ("3/4", 0.75),
        ("3/4\"", 0.75),
        ("1 1/2 in", 1.5),
        ("1-1/2 in", 1.5),
        ("1½ in", 1.5),
        ("½", 0.5),
        ("2.5in", 2.5),
        ("+2", 2.0),
        ("1e1 in", 10.0),
    ] {
        assert_relative_eq!(length(text), inches, max_relative = 1e-12);
    }
    assert_relative_eq!(parse_volume_l("1,500 L", US).unwrap(), 1500.0);
    assert_relative_eq!(parse_temperature_c("−7 °C", US).unwrap(), -7.0);
    assert_relative_eq!(
        parse_length_m("5 ft 6 in", US).unwrap(),
        66.0 * M_PER_IN,
        max_relative = 1e-12
    );
    assert_relative_eq!(
        parse_length_m("5'6\"", SI).unwrap(),
        66.0 * M_PER_IN,
        max_relative = 1e-12
    );
    assert_relative_eq!(parse_r_value_m2k_per_w("R-11", SI).unwrap(), 11.0 * M2K_PER_W_PER_R_US);
    assert_relative_eq!(parse_r_value_m2k_per_w("RSI 1.9", US).unwrap(), 1.9);
}

#[test]
fn what_is_not_a_quantity_is_refused_with_what_was_expected() {
    let cases: Vec<(Result<f64, UnitError>, &str)> = vec![
        (parse_temperature_c("", US), "nothing was given"),
        (parse_temperature_c("warm", US), "start with a number"),
        (parse_temperature_c("120 psi", US), "\"psi\" is not known"),
        (parse_temperature_c("-300 C", US), "absolute zero"),
        (parse_temperature_c("NaN", US), "start with a number"),
        (parse_temperature_c("inf F", US), "start with a number"),
        (parse_gauge_pa("74.7 psia", US), "absolute"),
        (parse_gauge_pa("5 atm", US), "absolute"),
        (parse_gauge_pa("4 mPa", US), "megapascal"),
        (parse_volume_l("-5 gal", US), "negative"),
        (parse_volume_l("1,5 L", US), "thousands"),
        (parse_volume_l("1.2.3 L", US), "more than one decimal point"),
        (parse_volume_l("1e999 L", US), "cannot be read"),
        (parse_length_m("3/0 ft", US), "below the line"),
        (parse_power_w("40000 Btu", US), "rate"),
        (parse_flow_l_per_h("1 cup", US).map(|f| f.best_l_per_h), "no time"),
        (
            parse_flow_l_per_h("1 cup in 0 min", US).map(|f| f.best_l_per_h),
            "more than zero",
        ),
        (parse_flow_l_per_h("-1 gal/h", US).map(|f| f.best_l_per_h), "negative"),
        (
            parse_flow_l_per_h("3 buckets/h", US).map(|f| f.best_l_per_h),
            "not known",
        ),
    ];
    for (result, word) in cases {
        let error = result.unwrap_err().to_string();
        assert!(error.contains(word), "{error:?} lacks {word:?}");
        assert!(error.contains("expected"), "{error}");
    }
}

// X-Val: references of the trade: an 8-oz cup in 60, 6 and 1 min is about 0.06, 0.6 and 3.8 gal/h (common practice).
// Tolerance: the printed figures (0.0625, 0.625 and 3.75 exactly).
#[test]
fn cup_fill_times_give_the_rates_of_the_trade() {
    for (text, gal_h) in [
        ("1 cup in 60 min", 0.0625),
        ("1 cup in 6 min", 0.625),
        ("a cup in 1 min", 3.75),
        ("one cup every minute", 3.75),
    ] {
        let flow = parse_flow_l_per_h(text, US).unwrap();
        assert_relative_eq!(flow.best_l_per_h / L_PER_US_GAL, gal_h, max_relative = 1e-12);
        assert_eq!(flow.lo_l_per_h, flow.hi_l_per_h);
    }
}

// X-Val: USGS Water Science School convention of 0.25 mL a drip: 1 drip/s is 5.706 gal/day; at the 0.05 mL of 20
// drops a millilitre it is 1.141 gal/day; 10 drips/min at 0.25 mL is 0.951 gal/day. Tolerance: four printed figures.
#[test]
fn counted_drops_give_a_range_and_not_a_point() {
    let per_day = |l_h: f64| l_h * 24.0 / L_PER_US_GAL;
    let second = parse_flow_l_per_h("1 drop per second", US).unwrap();
    assert_relative_eq!(per_day(second.best_l_per_h), 5.706, epsilon = 6e-4);
    assert_relative_eq!(per_day(second.lo_l_per_h), 1.141, epsilon = 6e-4);
    assert!(second.hi_l_per_h > second.best_l_per_h);
    let ten = parse_flow_l_per_h("10 drips/min", US).unwrap();
    assert_relative_eq!(per_day(ten.best_l_per_h), 0.951, epsilon = 6e-4);
    // 1 per 2 s fills a gallon in 8.41 h.
    let two = parse_flow_l_per_h("a drop every 2 s", US).unwrap();
    assert_relative_eq!(L_PER_US_GAL / two.best_l_per_h, 8.41, epsilon = 6e-3);
}

#[test]
fn flows_are_read_in_every_way_that_callers_tell_them() {
    let best = |text| parse_flow_l_per_h(text, US).unwrap().best_l_per_h;
    assert_relative_eq!(best("0.5 gal/h"), 0.5 * L_PER_US_GAL);
    assert_relative_eq!(best("0.5"), 0.5 * L_PER_US_GAL);
    assert_relative_eq!(best("2 gpm"), 120.0 * L_PER_US_GAL);
    assert_relative_eq!(best("30 mL/min"), 1.8, max_relative = 1e-12);
    assert_relative_eq!(best("500 mL per hour"), 0.5);
    assert_relative_eq!(best("12 L/day"), 0.5, max_relative = 1e-12);
    assert_eq!(best("none"), 0.0);
    let stream = parse_flow_l_per_h("Steady stream", US).unwrap();
    assert!(stream.lo_l_per_h < stream.best_l_per_h && stream.best_l_per_h < stream.hi_l_per_h);
}

#[test]
fn people_read_rounded_values_with_their_unit() {
    // X-Val: arithmetic by hand from the exact factors.
    assert_eq!(show_temperature(48.888_888_9, US), "120 °F");
    assert_eq!(show_temperature(48.888_888_9, SI), "48.9 °C");
    assert_eq!(show_temperature(-0.001, SI), "0.0 °C");
    assert_eq!(show_gauge(413_685.4, US), "60.0 psi");
    assert_eq!(show_gauge(413_685.4, SI), "414 kPa");
    assert_eq!(show_volume(8.11, US), "2.14 gal");
    assert_eq!(show_volume(8.11, SI), "8.11 L");
    assert_eq!(show_power(11_722.84, US), "40,000 Btu/h");
    assert_eq!(show_r_value(0.704_440_7, US), "R-4.0");
    assert_eq!(show_small_length(0.0381, US), "1.50 in");
    assert_eq!(show_temperature_difference(38.888_889, US), "70.0 °F");
    assert_eq!(show_volume(f64::NAN, US), "unknown");
}

proptest! {
    #[test]
    fn no_text_makes_the_readers_panic(text in "\\PC{0,40}") {
        for system in [US, SI] {
            let _ = parse_temperature_c(&text, system);
            let _ = parse_gauge_pa(&text, system);
            let _ = parse_volume_l(&text, system);
            let _ = parse_length_m(&text, system);
            let _ = parse_small_length_m(&text, system);
            let _ = parse_r_value_m2k_per_w(&text, system);
            let _ = parse_flow_l_per_h(&text, system);
            let _ = parse_conductivity_w_mk(&text, system);
        }
    }

    #[test]
    fn number_like_text_gives_a_finite_value_or_a_refusal(text in "[-+0-9.,/e ½a-z']{0,16}") {
        for value in [parse_temperature_c(&text, US), parse_volume_l(&text, SI), parse_length_m(&text, US)].into_iter().flatten() {
            prop_assert!(value.is_finite());
        }
        if let Ok(flow) = parse_flow_l_per_h(&text, US) {
            prop_assert!(flow.lo_l_per_h >= 0.0 && flow.hi_l_per_h.is_finite());
            prop_assert!(flow.lo_l_per_h <= flow.best_l_per_h && flow.best_l_per_h <= flow.hi_l_per_h);
        }
    }
}
