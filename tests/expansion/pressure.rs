//! Pressure in sealed plumbing: against IF97 and IAPWS-95 solved apart, and against handbook forms.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::{assert_abs_diff_eq, assert_relative_eq};
use brimwater::expansion::existing::TankState;
use brimwater::expansion::pressure::{Sealed, unprotected};
use brimwater::expansion::volume::{piping, relative_expansion};
use brimwater::expansion::{System, assess};
use brimwater::physics::pipe::PipeKind;
use brimwater::units::{L_PER_US_GAL, PA_PER_PSI, UnitSystem, c_from_f};

const ATM_PA: f64 = 101_325.0;

fn psi(gauge: f64) -> f64 {
    gauge * PA_PER_PSI
}

/// A litre of water in a container, heated whole.
fn container(growth_per_k: f64, stretch_per_pa: f64, cold_f: f64, start_psi: f64) -> Sealed {
    Sealed {
        cooler: Vec::new(),
        start_abs_pa: psi(start_psi) + ATM_PA,
        cold_c: c_from_f(cold_f),
        heated_l: 1.0,
        unheated_l: 0.0,
        growth_l_per_k: growth_per_k,
        stretch_l_per_pa: stretch_per_pa,
        air_l: 0.0,
    }
}

fn end_psi(sealed: &Sealed, hot_f: f64) -> f64 {
    (sealed.pressure_abs_pa(c_from_f(hot_f)).unwrap().unwrap() - ATM_PA) / PA_PER_PSI
}

fn rows(name: &str) -> Vec<Vec<String>> {
    let path = format!("{}/tests/data/expansion/{name}", env!("CARGO_MANIFEST_DIR"));
    csv::Reader::from_path(path)
        .unwrap()
        .records()
        .map(|row| row.unwrap().iter().map(String::from).collect())
        .collect()
}

// X-Val: PyPI iapws 1.5.5 (IF97) and CoolProp 8.0.0 (IAPWS-95): tests/data/expansion/fractions.csv, 460 pairs.
// Tolerance 2e-5 absolute: the two formulations differ by up to 1.8e-5 between themselves. Against IF97, which ours is, 1e-8:
// the printed digits.
#[test]
fn relative_expansion_matches_two_formulations_over_a_grid() {
    let all = rows("fractions.csv");
    assert_eq!(all.len(), 460);
    for row in all {
        let n: Vec<f64> = row.iter().map(|cell| cell.parse().unwrap()).collect();
        let kpa = (psi(n[2]) + ATM_PA) / 1e3;
        let ours = relative_expansion(c_from_f(n[0]), c_from_f(n[1]), kpa).unwrap();
        assert_abs_diff_eq!(ours, n[3], epsilon = 1e-8);
        assert_abs_diff_eq!(ours, n[4], epsilon = 2e-5);
    }
}

// X-Val: the same libraries with scipy's root finder: tests/data/expansion/sealed.csv.
// Tolerance 0.01 psi against IF97 (the digits printed and our stop at 0.1 Pa); 0.25 % of the rise and 0.6 psi against IAPWS-95, which
// is how far the two formulations lie apart there.
#[test]
fn sealed_pressure_matches_two_formulations() {
    let mut compared = 0;
    for row in rows("sealed.csv") {
        let n = |at: usize| row[at].parse::<f64>().ok();
        let sealed = container(n(1).unwrap(), n(2).unwrap(), n(3).unwrap(), n(5).unwrap());
        let ours = end_psi(&sealed, n(4).unwrap());
        match (n(6), n(7)) {
            (Some(if97), Some(iapws_95)) => {
                assert_abs_diff_eq!(ours, if97, epsilon = 0.01);
                assert_abs_diff_eq!(ours, iapws_95, epsilon = 0.6 + 0.0025 * (if97 - n(5).unwrap()).abs());
                compared += 1;
            }
            // A void opens: the pressure stops at the vapour pressure, below the air's.
            _ => assert!(ours < 0.0, "{row:?} gives {ours}"),
        }
    }
    assert!(compared >= 50);
}

// X-Val: PyPI iapws 1.5.5, exact isochoric solution, rise in psi. Tolerance 0.1 %: four printed figures.
#[test]
fn rigid_rises_match_the_isochoric_table() {
    for (cold_f, hot_f, start, rise) in [
        (60.0, 61.0, 60.0, 28.01),
        (100.0, 101.0, 80.0, 67.66),
        (120.0, 121.0, 60.0, 82.83),
        (140.0, 141.0, 60.0, 95.47),
        (50.0, 60.0, 60.0, 215.9),
        (110.0, 120.0, 60.0, 793.7),
        (120.0, 130.0, 60.0, 863.3),
        (50.0, 120.0, 60.0, 3830.0),
    ] {
        let sealed = container(0.0, 0.0, cold_f, start);
        assert_relative_eq!(end_psi(&sealed, hot_f) - start, rise, max_relative = 1e-3);
    }
}

// X-Val: the same: heating, °F, that lifts a rigid system from 60 to 150 psi. Tolerance 1.5e-3 °F: the printed digits and the
// formulation's own spread.
#[test]
fn heating_to_the_relief_valve_matches_the_rigid_table() {
    for (cold_f, heating_f) in [
        (50.0, 4.917),
        (60.0, 3.072),
        (100.0, 1.328),
        (110.0, 1.190),
        (120.0, 1.086),
    ] {
        let sealed = container(0.0, 0.0, cold_f, 60.0);
        let heating = sealed
            .heating_to_k(psi(150.0) + ATM_PA, c_from_f(cold_f + 20.0))
            .unwrap()
            .unwrap();
        assert_abs_diff_eq!(heating * 1.8, heating_f, epsilon = 1.5e-3);
    }
}

// X-Val: DOE-HDBK-1012/1-92, Thermodynamics, p. 101: about 100 psi per °F in a water-solid system. True near 150 °F (100.6 by IF97) and
// far off at 60 °F (27.4): a rule of thumb, and so said.
#[test]
fn the_rule_of_a_hundred_psi_per_degree_holds_only_near_150_f() {
    let slope = |f: f64| {
        container(0.0, 0.0, f, 80.0)
            .slope_pa_per_k(c_from_f(f), psi(80.0) + ATM_PA)
            .unwrap()
            / PA_PER_PSI
            / 1.8
    };
    assert_abs_diff_eq!(slope(150.0), 100.63, epsilon = 0.05);
    assert_abs_diff_eq!(slope(60.0), 27.44, epsilon = 0.05);
    // X-Val: PyPI iapws 1.5.5, beta/kappa in psi per °F at 80 psi gauge. Tolerance: printed digits.
    assert_abs_diff_eq!(slope(100.0), 67.19, epsilon = 0.02);
    assert_abs_diff_eq!(slope(40.0), 1.53, epsilon = 0.02);
}

// X-Val: linear form dP/dT = (beta - 3 alpha)/(kappa + C) worked from IF97 and Lamé's compliance at 100 °F, 80 psi gauge.
// Tolerance 0.3 %: the table took copper at 9.4e-6 per °F and E 17e6 psi with its own rounding of alpha.
#[test]
fn rise_per_degree_of_pipes_matches_the_compliance_table() {
    let slope = |kind, size| {
        let pipe = piping(kind, size, 1.0, true, UnitSystem::Us).unwrap();
        let sealed = container(3.0 * pipe.linear_expansion_per_k, pipe.compliance_per_pa, 100.0, 80.0);
        sealed.slope_pa_per_k(c_from_f(100.0), psi(80.0) + ATM_PA).unwrap() / PA_PER_PSI / 1.8
    };
    assert_relative_eq!(slope(PipeKind::CopperL, 0.5), 45.42, max_relative = 3e-3);
    assert_relative_eq!(slope(PipeKind::CopperL, 0.75), 43.15, max_relative = 3e-3);
    assert_relative_eq!(slope(PipeKind::CopperM, 0.75), 39.11, max_relative = 3e-3);
    assert_relative_eq!(slope(PipeKind::Steel40, 0.75), 55.30, max_relative = 3e-3);
    assert_relative_eq!(slope(PipeKind::CpvcSdr11, 0.75), 3.67, max_relative = 0.02);
    // Trap: PEX grows faster than its water: the pressure falls.
    assert_abs_diff_eq!(slope(PipeKind::PexSdr9, 0.75), -0.88, epsilon = 0.02);
}

/// 40 gal steel heater and 5 gal of cold 3/4 in type L copper, from 60 °F and 60 psi.
fn reference_system(hot_f: f64) -> System {
    let mut system = System::new(40.0 * L_PER_US_GAL, c_from_f(60.0), c_from_f(hot_f), psi(60.0));
    let per_m = piping(PipeKind::CopperL, 0.75, 1.0, false, UnitSystem::Us)
        .unwrap()
        .volume_l;
    system.piping.push(
        piping(
            PipeKind::CopperL,
            0.75,
            5.0 * L_PER_US_GAL / per_m,
            false,
            UnitSystem::Us,
        )
        .unwrap(),
    );
    system
}

// X-Val: worked from IF97 and Lamé: the system gives 4.302e-4 gal/psi at a mean of 85 °F; 60 to 150 psi takes 0.0387 gal;
// dP/dT 12.3, 17.25, 21.5 and 25.3 psi per °F at 80, 100, 120 and 140 °F. Tolerance 1 %: figures printed, and the pressure at which
// kappa was taken is not told.
#[test]
fn a_heater_with_cold_pipe_gives_as_worked_by_hand() {
    let sealed = Sealed::of(&reference_system(120.0));
    let give = sealed.compliance_l_per_pa(c_from_f(85.0), psi(80.0) + ATM_PA).unwrap();
    let gal_per_psi = give * PA_PER_PSI / L_PER_US_GAL;
    assert_relative_eq!(gal_per_psi, 4.302e-4, max_relative = 0.01);
    assert_relative_eq!(gal_per_psi * 90.0, 0.0387, max_relative = 0.01);
    for (f, slope) in [(80.0, 12.3), (100.0, 17.25), (120.0, 21.5), (140.0, 25.3)] {
        let ours = sealed.slope_pa_per_k(c_from_f(f), psi(80.0) + ATM_PA).unwrap() / PA_PER_PSI / 1.8;
        assert_relative_eq!(ours, slope, max_relative = 0.01);
    }
}

// X-Val: the same system: 4.2 to 7.3 °F of heating lift a 150 psi valve, at 140 and 80 °F.
#[test]
fn a_few_degrees_lift_the_heaters_relief_valve() {
    for (from_f, heating_f) in [(80.0, 7.3), (140.0, 4.2 * 0.85)] {
        let mut system = reference_system(from_f + 30.0);
        system.cold_c = c_from_f(from_f);
        let bare = unprotected(&system).unwrap();
        let heating = bare.heating_to_heater_relief_k.unwrap() * 1.8;
        // The quoted figures divide 90 psi by the slope at the start or end; the solution lies within a quarter of them.
        assert_relative_eq!(heating, heating_f, max_relative = 0.25);
    }
}

// X-Val: the same: net 0.39765 gal from 50 to 120 °F against 4.302e-4 gal/psi is a linear rise of 924 psi. The solution at rising
// stiffness is near that and the linear form is said to overstate slightly; 5 % covers the change of kappa.
#[test]
fn the_unrelieved_pressure_is_near_the_linear_figure() {
    let mut system = reference_system(120.0);
    system.cold_c = c_from_f(50.0);
    let end = unprotected(&system).unwrap().final_gauge_kpa.unwrap() * 1e3 / PA_PER_PSI - 60.0;
    assert_relative_eq!(end, 924.0, max_relative = 0.05);
}

#[test]
fn plastic_pipe_and_contracting_water_do_not_crash_and_keep_static() {
    let mut system = System::new(0.0, c_from_f(50.0), c_from_f(120.0), psi(60.0));
    system.heaters.clear();
    system.piping = vec![piping(PipeKind::PexSdr9, 0.75, 60.0, true, UnitSystem::Us).unwrap()];
    let answer = assess(&system).unwrap();
    assert_relative_eq!(
        answer.unprotected.final_gauge_kpa.unwrap(),
        psi(60.0) / 1e3,
        max_relative = 1e-9
    );
    assert!(answer.unprotected.rise_per_k_kpa.unwrap() < 0.0);
    assert_eq!(answer.unprotected.heating_to_limit_k, None);

    let mut cold = System::new(40.0 * L_PER_US_GAL, c_from_f(33.0), c_from_f(39.0), psi(60.0));
    cold.accept_unusual = true;
    let answer = assess(&cold).unwrap();
    assert!(answer.expansion.fraction < 0.0 && answer.expansion.volume_l < 0.0);
    assert_relative_eq!(
        answer.unprotected.final_gauge_kpa.unwrap(),
        psi(60.0) / 1e3,
        max_relative = 1e-9
    );
}

// X-Val: Boyle's law by hand: a litre of air at 74.696 psi absolute over rigid walls gives dV/dP = V/P, far more than 150 L of
// water; the pressure then follows the air alone within the water's own give (0.3 % of it).
#[test]
fn trapped_air_lowers_the_pressure_by_boyle() {
    let mut system = System::new(151.416, c_from_f(50.0), c_from_f(120.0), psi(60.0));
    system.rigid = true;
    system.trapped_air_l = 20.0;
    let bare = unprotected(&system).unwrap();
    let gain_l = 151.416 * relative_expansion(c_from_f(50.0), c_from_f(120.0), 600.0).unwrap();
    let start = psi(60.0) + ATM_PA;
    let by_hand = start * 20.0 / (20.0 - gain_l);
    assert_relative_eq!(
        bare.final_gauge_kpa.unwrap() * 1e3 + ATM_PA,
        by_hand,
        max_relative = 3e-3
    );
}

// X-Val: PyPI iapws 1.5.5, CoolProp 8.0.0 and scipy: tests/data/expansion/with_tank.csv: a litre of heated water, walls, and a tank under-
// and over-charged, at its acceptance limit, and as it should be. Tolerance 0.01 psi against IF97 (digits printed); 0.3 % and 0.1 psi against
// IAPWS-95: 1.3e-5 of expansion in 1.1e-2.
#[test]
fn pressure_with_a_tank_on_stretching_walls_matches_two_formulations() {
    let all = rows("with_tank.csv");
    assert_eq!(all.len(), 21);
    for row in all {
        let n = |at: usize| row[at].parse::<f64>().unwrap();
        let sealed = container(n(1), n(2), n(3), n(5));
        let tank = TankState {
            volume_l: n(6),
            precharge_abs_pa: psi(n(7)) + ATM_PA,
            most_water_l: n(8),
        };
        let end = tank
            .end_with_give_abs_pa(&sealed, c_from_f(n(4)), 0.0)
            .unwrap()
            .unwrap();
        let ours = (end - ATM_PA) / PA_PER_PSI;
        assert_abs_diff_eq!(ours, n(9), epsilon = 0.01);
        assert_abs_diff_eq!(ours, n(10), epsilon = 0.1 + 0.003 * (n(9) - n(5)));
    }
}
