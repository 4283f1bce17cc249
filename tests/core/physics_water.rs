//! Liquid water against published verification tables and two reference libraries.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::tables::table;
use approx::assert_relative_eq;
use brimwater::physics::water;
use brimwater::units::{PA_PER_PSI, c_from_f};
use proptest::prelude::*;

const ATM_KPA: f64 = 101.325;
/// 80 psi gauge at sea level, kPa absolute.
const GAUGE_80_PSI_KPA: f64 = 652.905_583;
/// ft³/lb in one m³/kg.
const FT3_LB: f64 = 16.018_463_37;

#[test]
fn region_1_reproduces_the_verification_table_of_if97() {
    // X-Val: IAPWS R7-97(2012), table 5 (v, h, cp, w); the release prints nine digits, so 1e-8 relative is its rounding.
    let cases = [
        (
            300.0,
            3.0,
            0.100_215_168e-2,
            0.115_331_273e6,
            0.417_301_218e4,
            0.150_773_921e4,
        ),
        (
            300.0,
            80.0,
            0.971_180_894e-3,
            0.184_142_828e6,
            0.401_008_987e4,
            0.163_469_054e4,
        ),
    ];
    for (t_k, mpa, v, h, cp, w) in cases {
        let state = water::liquid(t_k - 273.15, mpa * 1000.0).unwrap();
        assert_relative_eq!(state.specific_volume_m3_kg, v, max_relative = 1e-8);
        assert_relative_eq!(state.enthalpy_j_kg, h, max_relative = 1e-8);
        assert_relative_eq!(state.specific_heat_j_kgk, cp, max_relative = 1e-8);
        assert_relative_eq!(state.sound_m_s, w, max_relative = 1e-8);
    }
    // The third row (500 K) lies above this program's 150 °C and is refused by name.
    let refused = water::liquid(500.0 - 273.15, 3000.0).unwrap_err();
    assert_eq!(
        (refused.field, refused.unit, refused.hi),
        ("water temperature", "°C", 150.0)
    );
}

#[test]
fn region_1_derivatives_match_the_reference_library_at_the_verification_points() {
    // X-Val: PyPI iapws 1.5.5, _Region1 at the first two points of R7-97 table 5; printed to eight digits.
    let first = water::liquid(26.85, 3000.0).unwrap();
    assert_relative_eq!(first.expansivity_per_k, 2.773_545_3e-4, max_relative = 2e-8);
    assert_relative_eq!(first.compressibility_per_pa, 4.463_821_2e-10, max_relative = 2e-8);
    let second = water::liquid(26.85, 80_000.0).unwrap();
    assert_relative_eq!(second.expansivity_per_k, 3.440_958_4e-4, max_relative = 2e-8);
    assert_relative_eq!(second.compressibility_per_pa, 3.720_394_4e-10, max_relative = 2e-8);
}

// X-Val: IAPWS R7-97(2012), table 5 (v), and PyPI iapws 1.5.5, _Region1 (compressibility), at the first two points; their printed digits.
// A wrong program drops a term of the sum as a polynomial in pressure, or its derivative.
#[test]
fn an_isotherm_reproduces_the_same_figures() {
    let water = water::Isotherm::at(26.85).unwrap();
    for (kpa, v, compressibility) in [
        (3000.0, 0.100_215_168e-2, 4.463_821_2e-10),
        (80_000.0, 0.971_180_894e-3, 3.720_394_4e-10),
    ] {
        let (volume, squeeze) = water.volume_and_compressibility(kpa).unwrap();
        assert_relative_eq!(volume, v, max_relative = 1e-8);
        assert_relative_eq!(squeeze, compressibility, max_relative = 2e-8);
    }
    // What is no liquid is refused as elsewhere.
    assert!(water::Isotherm::at(151.0).is_err());
    assert!(
        water::Isotherm::at(149.0)
            .unwrap()
            .specific_volume_m3_kg(101.0)
            .is_err()
    );
}

#[test]
fn saturation_pressure_reproduces_the_verification_table() {
    // X-Val: IAPWS R7-97(2012), table 35: 300, 500, 600 K; nine digits.
    for (t_k, mpa) in [
        (300.0, 0.353_658_941e-2),
        (500.0, 0.263_889_776e1),
        (600.0, 0.123_443_146e2),
    ] {
        assert_relative_eq!(
            water::saturation_pressure_pa(t_k).unwrap(),
            mpa * 1e6,
            max_relative = 1e-8
        );
    }
    for row in table("water/saturation.csv") {
        // X-Val: PyPI iapws (IF97) and CoolProp (IAPWS-95). IF97's own line is within 0.05 % of IAPWS-95 (R7-97 section 8.1); the
        // point at 0 °C is left out there because IAPWS-95 starts at 0.01 °C.
        let t_c = row.get("t_c");
        let psat = water::saturation_pressure_pa(t_c + 273.15).unwrap();
        assert_relative_eq!(psat, row.get("psat_97_pa"), max_relative = 1e-8);
        if t_c > 0.0 {
            assert_relative_eq!(psat, row.get("psat_95_pa"), max_relative = 5e-4);
        }
        let v = water::saturated_specific_volume_m3_kg(t_c).unwrap();
        assert_relative_eq!(v, row.get("v_sat_97_m3_kg"), max_relative = 1e-9);
    }
}

#[test]
fn a_second_implementation_of_if97_agrees_on_a_grid() {
    // X-Val: the seuif97 crate (IAPWS-IF97, region 1). Same equations, so 1e-9 is rounding in the powers.
    for t_c in [0.5, 4.0, 10.0, 33.3, 60.0, 99.0, 120.0, 149.0] {
        for mpa in [0.6, 1.0, 3.5, 20.0, 70.0, 99.0] {
            let state = water::liquid(t_c, mpa * 1000.0).unwrap();
            assert_relative_eq!(
                state.specific_volume_m3_kg,
                seuif97::pt(mpa, t_c, seuif97::OV),
                max_relative = 1e-9
            );
            assert_relative_eq!(
                state.specific_heat_j_kgk,
                1e3 * seuif97::pt(mpa, t_c, seuif97::OCP),
                max_relative = 1e-9
            );
            assert_relative_eq!(state.sound_m_s, seuif97::pt(mpa, t_c, seuif97::OW), max_relative = 1e-9);
        }
    }
}

#[test]
fn density_expansion_and_stiffness_match_iapws_95_and_if97_tables() {
    for row in table("water/liquid.csv") {
        let (t_c, kpa) = (row.get("t_c"), row.get("abs_kpa"));
        let state = water::liquid(t_c, kpa).unwrap();
        let rho = water::density_kg_m3(t_c, kpa).unwrap();
        // X-Val: PyPI iapws 1.5.5, IF97 region 1; the table carries ten digits.
        assert_relative_eq!(rho, row.get("rho_97"), max_relative = 1e-9);
        assert_relative_eq!(
            state.expansivity_per_k,
            row.get("alpha_97"),
            max_relative = 1e-8,
            epsilon = 1e-13
        );
        assert_relative_eq!(state.compressibility_per_pa, row.get("kappa_97"), max_relative = 1e-8);
        assert_relative_eq!(state.specific_heat_j_kgk, row.get("cp_97"), max_relative = 1e-8);
        // X-Val: CoolProp 8.0.0, IAPWS-95. The two formulations differ by at most 18 ppm, 4.1e-6/K, 0.36 % and 0.09 % over
        // this grid (measured when the table was made); wider would be a defect here.
        assert_relative_eq!(rho, row.get("rho_95"), max_relative = 18e-6);
        assert_relative_eq!(
            state.expansivity_per_k,
            row.get("alpha_95"),
            epsilon = 4.1e-6,
            max_relative = 0.0
        );
        assert_relative_eq!(state.compressibility_per_pa, row.get("kappa_95"), max_relative = 3.6e-3);
        assert_relative_eq!(state.specific_heat_j_kgk, row.get("cp_95"), max_relative = 9e-4);
    }
}

#[test]
fn properties_at_one_atmosphere_match_the_table() {
    for row in table("water/one_atmosphere.csv") {
        let t = row.get("t_c");
        // X-Val: IF97, IAPWS-95 and Kell 1975 at 101.325 kPa; four decimals printed, 15 ppm between formulations.
        let rho = water::density_kg_m3(t, ATM_KPA).unwrap();
        assert_relative_eq!(rho, row.get("rho_97"), epsilon = 6e-5, max_relative = 0.0);
        assert_relative_eq!(
            water::kell_1975_density_kg_m3(t),
            row.get("rho_kell"),
            epsilon = 6e-5,
            max_relative = 0.0
        );
        // The row at 100 °C is printed to three decimals, cut and not rounded.
        let kell = water::kell_1975_compressibility_per_pa(t) * 1e10;
        assert_relative_eq!(
            kell,
            row.get("kappa_kell_1e10"),
            epsilon = if t < 100.0 { 6e-6 } else { 1e-3 },
            max_relative = 0.0
        );
        if let Some(rho_95) = row.find("rho_95") {
            assert_relative_eq!(rho, rho_95, max_relative = 15.2e-6);
        }
        if let Some(alpha) = row.find("alpha_95_1e6") {
            // 0.55e-6/K is the largest difference between IF97 and IAPWS-95 on this line.
            let ours = water::expansivity_per_k(t, ATM_KPA).unwrap() * 1e6;
            assert_relative_eq!(ours, alpha, epsilon = 0.55, max_relative = 0.0);
        }
        if let Some(kappa) = row.find("kappa_95_1e10") {
            let ours = water::compressibility_per_pa(t, ATM_KPA).unwrap() * 1e10;
            assert_relative_eq!(ours, kappa, max_relative = 3.6e-3);
        }
    }
}

#[test]
fn kell_has_the_right_denominator() {
    // X-Val: Kell 1975, J. Chem. Eng. Data 20, 97, as tabulated: 999.9720 at 4 °C, 998.2041 at 20 °C. The misprinted
    // denominator 16.897850e-3 gives 999.9046 and 997.9356.
    assert_relative_eq!(
        water::kell_1975_density_kg_m3(4.0),
        999.9720,
        epsilon = 5e-5,
        max_relative = 0.0
    );
    assert_relative_eq!(
        water::kell_1975_density_kg_m3(20.0),
        998.2041,
        epsilon = 5e-5,
        max_relative = 0.0
    );
}

#[test]
fn the_air_saturated_formula_of_jones_and_harris_is_within_its_known_offset() {
    // X-Val: Jones & Harris, J. Res. NIST 97 (1992) 335, eq. 5 (from memory): air-saturated, ITS-90. Dissolved air lowers the
    // density by up to 3 mg/L·1000 = 0.003 kg/m³; scales differ by less than that. 0.006 kg/m³ covers both.
    let jones = |t: f64| {
        999.853_08 + 6.326_93e-2 * t - 8.523_829e-3 * t * t + 6.943_248e-5 * t.powi(3) - 3.821_216e-7 * t.powi(4)
    };
    for t in [5.0, 10.0, 20.0, 25.0, 30.0, 40.0] {
        assert_relative_eq!(
            water::kell_1975_density_kg_m3(t),
            jones(t),
            epsilon = 0.006,
            max_relative = 0.0
        );
    }
}

#[test]
fn us_table_at_80_psi_gauge_is_reproduced() {
    for row in table("water/gauge_80_psi.csv") {
        // X-Val: PyPI iapws 1.5.5, IF97 region 1, converted; tolerances are half the last printed digit, and a little.
        let t = c_from_f(row.get("t_f"));
        let state = water::liquid(t, GAUGE_80_PSI_KPA).unwrap();
        let rho = 1.0 / state.specific_volume_m3_kg;
        assert_relative_eq!(
            state.specific_volume_m3_kg * FT3_LB,
            row.get("v_ft3_lb"),
            epsilon = 5.1e-8,
            max_relative = 0.0
        );
        assert_relative_eq!(rho, row.get("rho_kg_m3"), epsilon = 5.1e-5, max_relative = 0.0);
        assert_relative_eq!(
            rho / 119.826_427_3,
            row.get("rho_lb_gal"),
            epsilon = 5.1e-6,
            max_relative = 0.0
        );
        let beta = state.expansivity_per_k / 1.8;
        assert_relative_eq!(beta, row.get("beta_per_f"), max_relative = 1.1e-4);
        let kappa = state.compressibility_per_pa * PA_PER_PSI;
        assert_relative_eq!(kappa, row.get("kappa_per_psi"), max_relative = 2e-5);
        assert_relative_eq!(beta / kappa, row.get("psi_per_f"), epsilon = 5.1e-3, max_relative = 0.0);
    }
}

#[test]
fn saturated_specific_volume_matches_the_handbook_column() {
    for row in table("water/saturated_us.csv") {
        // X-Val: saturated liquid by IF97 in ft³/lb, as ASHRAE and ASPE tables print it; six decimals.
        let v = water::saturated_specific_volume_m3_kg(c_from_f(row.get("t_f"))).unwrap() * FT3_LB;
        assert_relative_eq!(v, row.get("v_ft3_lb"), epsilon = 5.1e-7, max_relative = 0.0);
    }
    // X-Val: a reproduced ASPE table prints 0.01602 at both 40 and 50 °F.
    for f in [40.0, 50.0] {
        let v = water::saturated_specific_volume_m3_kg(c_from_f(f)).unwrap() * FT3_LB;
        assert_eq!(format!("{v:.5}"), "0.01602");
    }
}

#[test]
fn pressure_hardly_changes_the_volume_of_hot_water() {
    // X-Val: IF97 at 120 °F (PyPI iapws): 0.0162041, 0.0162001, 0.0161967 ft³/lb at 0, 80 and 150 psi gauge.
    for (psig, v) in [(0.0, 0.016_204_1), (80.0, 0.016_200_1), (150.0, 0.016_196_7)] {
        let kpa = ATM_KPA + psig * PA_PER_PSI / 1000.0;
        let ours = water::specific_volume_m3_kg(c_from_f(120.0), kpa).unwrap() * FT3_LB;
        assert_relative_eq!(ours, v, epsilon = 6e-8, max_relative = 0.0);
    }
}

#[test]
fn growth_between_two_temperatures_matches_both_formulations() {
    for row in table("water/growth_80_psi.csv") {
        let v = |f: f64| water::specific_volume_m3_kg(c_from_f(f), GAUGE_80_PSI_KPA).unwrap();
        let growth = v(row.get("to_f")) / v(row.get("from_f")) - 1.0;
        // X-Val: PyPI iapws 1.5.5 (IF97, seven decimals; six on the short ones) and CoolProp (IAPWS-95: at most 1.7e-5 apart).
        assert_relative_eq!(growth, row.get("growth_97"), epsilon = 6e-7, max_relative = 0.0);
        if let Some(other) = row.find("growth_95") {
            assert_relative_eq!(growth, other, epsilon = 2e-5, max_relative = 0.0);
        }
    }
}

#[test]
fn heating_water_below_the_density_maximum_shrinks_it() {
    // X-Val: the density maximum of water near 4 °C (IAPWS-95 table above: expansivity changes sign between 3 and 5 °C).
    assert!(water::expansivity_per_k(1.0, ATM_KPA).unwrap() < 0.0);
    assert!(water::expansivity_per_k(3.9, ATM_KPA).unwrap() < 0.0);
    assert!(water::expansivity_per_k(4.1, ATM_KPA).unwrap() > 0.0);
    let (t, rho) = water::density_max();
    // X-Val: CRC Handbook (from memory): 3.98 °C, 999.97 kg/m³; 999.85 at 8 °C, 999.70 at 10 °C.
    assert_relative_eq!(t, 3.98, epsilon = 0.01, max_relative = 0.0);
    assert_relative_eq!(rho, 999.97, epsilon = 0.005, max_relative = 0.0);
    for (t, rho) in [(8.0, 999.85), (10.0, 999.70)] {
        assert_relative_eq!(water::liquid_density_kg_m3(t), rho, epsilon = 0.005, max_relative = 0.0);
    }
    // The stated maximum is the maximum of the form it is stated for.
    for away in [0.01, 0.1, 1.0] {
        assert!(water::liquid_density_kg_m3(t + away) < water::liquid_density_kg_m3(t));
        assert!(water::liquid_density_kg_m3(t - away) < water::liquid_density_kg_m3(t));
    }
    // Water at 0 °C is as dense as at about 8.1 °C: above that, supply water from below keeps convecting.
    let gap = |t: f64| water::liquid_density_kg_m3(t) - water::liquid_density_kg_m3(0.0);
    assert!(gap(8.0) > 0.0 && gap(8.3) < 0.0);
}

#[test]
fn supercooled_water_follows_the_iapws_guideline() {
    for row in table("water/supercooled.csv") {
        // X-Val: IAPWS G12-15 (PyPI iapws 1.5.5, _Supercooled at 101.325 kPa). Kell is within 17 ppm to −25 °C and 37 ppm at
        // −30 °C; Hare and Sorensen within 54 ppm: their stated uncertainty is of that size.
        let (t, rho) = (row.get("t_c"), row.get("rho_g12_15"));
        let bound = if t < -26.0 { 40e-6 } else { 18e-6 };
        assert_relative_eq!(water::supercooled_density_kg_m3(t), rho, max_relative = bound);
        assert_relative_eq!(water::hare_sorensen_1987_density_kg_m3(t), rho, max_relative = 60e-6);
    }
}

#[test]
fn the_supercooled_branch_joins_the_liquid() {
    assert_eq!(water::supercooled_density_kg_m3(0.0), water::liquid_density_kg_m3(0.0));
    // The 5 ppm stated in the docs: Kell's 999.8395 against IF97's 999.8443 at 0 °C (both in the table of one atmosphere).
    let if97 = water::density_kg_m3(0.0, ATM_KPA).unwrap();
    assert_relative_eq!(water::supercooled_density_kg_m3(0.0), if97, max_relative = 5e-6);
}

#[test]
fn conductivity_and_viscosity_follow_the_supplementary_release() {
    for row in table("water/transport.csv") {
        // X-Val: IAPWS SR6-08(2011) through PyPI iapws 1.5.5 (_Liquid); nine digits printed.
        let t = row.get("t_c");
        assert_relative_eq!(
            water::conductivity_w_mk(t),
            row.get("conductivity_w_mk"),
            max_relative = 2e-9
        );
        assert_relative_eq!(water::viscosity_pa_s(t), row.get("viscosity_pa_s"), max_relative = 2e-9);
    }
    // X-Val: CRC Handbook (from memory) 0.561 W/mK at 0 °C; IAPWS 0.556: within 1 %.
    assert_relative_eq!(water::conductivity_w_mk(0.0), water::K_0C_W_MK, max_relative = 0.011);
}

#[test]
fn constants_at_freezing_agree_with_iapws_95() {
    // X-Val: CoolProp IAPWS-95 at 0.01 °C: 999.8438 kg/m³, 4219.41 J/kgK, 5.0881e-10 1/Pa. The CRC's 4217.6 is 0.05 % lower.
    assert_relative_eq!(water::DENSITY_0C_KG_M3, 999.8438, max_relative = 5e-6);
    assert_relative_eq!(water::CP_0C_J_KGK, 4219.41, max_relative = 5e-4);
    assert_relative_eq!(1.0 / water::BULK_MODULUS_0C_PA, 5.0881e-10, max_relative = 5e-4);
}

#[test]
fn out_of_range_names_the_field_the_value_and_the_range() {
    let cold = water::density_kg_m3(-0.1, ATM_KPA).unwrap_err();
    assert_eq!(cold.to_string(), "water temperature of -0.1 °C is outside 0 to 150 °C");
    let boiling = water::density_kg_m3(140.0, ATM_KPA).unwrap_err();
    assert_eq!((boiling.field, boiling.unit), ("absolute pressure", "kPa"));
    assert!(
        boiling.lo > 300.0,
        "at 140 °C water needs over 300 kPa to stay liquid: {boiling}"
    );
    for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(water::density_kg_m3(bad, ATM_KPA).is_err());
        assert!(water::density_kg_m3(20.0, bad).is_err());
        assert!(water::saturated_specific_volume_m3_kg(bad).is_err());
        assert!(water::saturation_pressure_pa(bad).is_err());
    }
}

proptest! {
    #[test]
    fn hotter_than_five_degrees_is_always_lighter(t in 5.0..148.0_f64, dt in 0.01..2.0_f64, mpa in 0.6..99.0_f64) {
        let kpa = 1000.0 * mpa;
        prop_assert!(water::density_kg_m3(t + dt, kpa).unwrap() < water::density_kg_m3(t, kpa).unwrap());
        prop_assert!(water::liquid_density_kg_m3(t + dt) < water::liquid_density_kg_m3(t));
    }

    #[test]
    fn colder_than_the_maximum_is_always_lighter(t in -30.0..3.9_f64, dt in 0.001..2.0_f64) {
        let colder = (t - dt).max(-30.0);
        prop_assume!(colder < t);
        prop_assert!(water::liquid_density_kg_m3(colder) < water::liquid_density_kg_m3(t));
    }

    #[test]
    fn more_pressure_is_always_denser(t in 0.0..150.0_f64, mpa in 0.6..98.0_f64, d in 0.01..1.0_f64) {
        let denser = water::density_kg_m3(t, 1000.0 * (mpa + d)).unwrap();
        prop_assert!(denser > water::density_kg_m3(t, 1000.0 * mpa).unwrap());
    }

    #[test]
    fn the_derivatives_are_the_slopes_of_the_volume(t in 1.0..149.0_f64, mpa in 1.0..99.0_f64) {
        // The analytic derivatives against central differences of v: 1e-5 covers the third-order term of the step.
        let (kpa, h) = (1000.0 * mpa, 0.01);
        let v = |t: f64, p: f64| water::specific_volume_m3_kg(t, p).unwrap();
        let state = water::liquid(t, kpa).unwrap();
        let slope_t = (v(t + h, kpa) - v(t - h, kpa)) / (2.0 * h * v(t, kpa));
        prop_assert!((slope_t - state.expansivity_per_k).abs() < 1e-5 * state.expansivity_per_k.abs() + 1e-10);
        let slope_p = -(v(t, kpa + 100.0) - v(t, kpa - 100.0)) / (200e3 * v(t, kpa));
        prop_assert!((slope_p / state.compressibility_per_pa - 1.0).abs() < 1e-5);
    }

    #[test]
    fn nothing_is_ever_not_a_number(t in prop::num::f64::ANY, p in prop::num::f64::ANY) {
        for value in [
            water::liquid_density_kg_m3(t), water::supercooled_density_kg_m3(t), water::hare_sorensen_1987_density_kg_m3(t),
            water::conductivity_w_mk(t), water::viscosity_pa_s(t), water::kell_1975_compressibility_per_pa(t),
        ] {
            prop_assert!(value.is_finite() && value > 0.0);
        }
        if let Ok(rho) = water::density_kg_m3(t, p) {
            prop_assert!(rho.is_finite() && rho > 800.0);
        }
    }
}
