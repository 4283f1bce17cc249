//! Constant conditions against handbooks: cool-down of insulated and bare pipe, freezing of a cylinder.
#![allow(clippy::unwrap_used, clippy::panic)]

use approx::assert_relative_eq;
use brimwater::freeze::config::FreezeConfig;
use brimwater::freeze::cooldown::{Conditions, Cooldown, Subject, cooldown};
use brimwater::physics::pipe::{PipeKind, pipe};
use brimwater::physics::solidification::{CylinderFreeze, london_seban_time_s};
use brimwater::units::{UnitSystem, c_from_f, parse_conductivity_w_mk, parse_small_length_m};

fn still() -> Conditions {
    Conditions {
        air_c: -10.0,
        start_c: 10.0,
        wind_m_s: 0.0,
        film_w_m2k: None,
        insulation: None,
        wrap_m2k_per_w: 0.0,
        ground_c: None,
        nucleation_c: 0.0,
        no_metal: false,
        no_film: false,
    }
}

fn run(kind: PipeKind, inches: f64, conditions: Conditions) -> Cooldown {
    let pipe = pipe(kind, inches).unwrap();
    cooldown(
        &Subject::Pipe { pipe, length_m: 1.0 },
        &conditions,
        &FreezeConfig::default(),
    )
}

fn handbook(inches: f64, thickness_in: f64, air_f: f64) -> Cooldown {
    let k = parse_conductivity_w_mk("0.30 Btu in/h ft2 F", UnitSystem::Us).unwrap();
    let thickness = parse_small_length_m(&format!("{thickness_in} in"), UnitSystem::Us).unwrap();
    run(
        PipeKind::Steel40,
        inches,
        Conditions {
            air_c: c_from_f(air_f),
            start_c: c_from_f(42.0),
            insulation: Some((thickness, k)),
            no_metal: true,
            no_film: true,
            ..still()
        },
    )
}

/// The formula takes water of 62.4 lb/ft³ and 1 Btu/lb°F, ours is 999.84 kg/m³ and 4217.6 J/kgK: 0.8 % more heat to
/// lose, and the printed digits follow. Hence the tolerance of 1 %.
#[test]
fn insulated_pipe_cools_as_the_handbook_says() {
    // X-Val: ASHRAE Handbook Fundamentals ch. 23, freeze prevention, quoted by a forensic-engineering article of 2014:
    // 1.4 h at -18 °F and 4.6 h at 20 °F; formula 1.3785 and 4.5829 h.
    let cold = handbook(2.0, 1.5, -18.0).hours_to_freezing.unwrap();
    let mild = handbook(2.0, 1.5, 20.0).hours_to_freezing.unwrap();
    assert_relative_eq!(cold, 1.3785, max_relative = 0.01);
    assert_relative_eq!(mild, 4.5829, max_relative = 0.01);
    assert_eq!(format!("{cold:.1}"), "1.4");
    assert_eq!(format!("{mild:.1}"), "4.6");
    // X-Val: the same formula, exact ratio ln(22/12) / ln(60/50). Only the step's error remains.
    assert_relative_eq!(mild / cold, 3.3245, max_relative = 1e-3);
}

#[test]
fn table_of_insulated_pipe_holds_for_other_sizes() {
    // X-Val: computed from the ASHRAE formula for schedule 40 pipe (design references, freeze section 1), two digits.
    for (inches, thickness, hours) in [
        (0.75, 0.5, 0.18),
        (1.0, 1.0, 0.40),
        (3.0, 2.0, 2.83),
        (4.0, 1.5, 3.27),
        (8.0, 3.0, 13.29),
    ] {
        let got = handbook(inches, thickness, -18.0).hours_to_freezing.unwrap();
        // Half of the last printed digit and 0.8 % for the properties of water.
        assert!(
            (got - hours).abs() <= 0.005 + 0.012 * hours,
            "{inches} in: {got} for {hours}"
        );
    }
}

#[test]
fn insulated_pipe_freezes_solid_in_the_stated_hours() {
    // X-Val: θ = ρ L (π/4) D1² R_T / (tf − ta), 2 in with 1.5 in: 21.7 h at -18 °F after reaching 32 °F.
    let answer = handbook(2.0, 1.5, -18.0);
    let solid = answer.hours_to_solid.unwrap() - answer.hours_to_freezing.unwrap();
    // The formula leaves out the ice's own resistance, here 1 % of the insulation's (ln term averages to 1/4πk of 3.0 mK/W).
    assert_relative_eq!(solid, 21.7, max_relative = 0.025);
}

#[test]
fn bare_copper_tube_cools_and_freezes_as_computed() {
    // X-Val: t = ΣmC/(h π Do) ln[(Ti−Ta)/(Tf−Ta)], 10 → 0 °C at −7 °C, type L with wall; then to solid from 0 °C at h 20.
    for (inches, h10, h20, solid) in [
        (0.75, 0.554, 0.277, 3.11),
        (1.0, 0.717, 0.358, 4.18),
        (2.0, 1.365, 0.682, 8.74),
    ] {
        let with = |film: f64| {
            run(
                PipeKind::CopperL,
                inches,
                Conditions {
                    air_c: -7.0,
                    film_w_m2k: Some(film),
                    ..still()
                },
            )
        };
        let slow = with(10.0);
        let fast = with(20.0);
        // The reference rounds ρc to 4.2 MJ/m³K (ours 4.217) and takes its own wall heat capacity: 1 %.
        assert_relative_eq!(slow.hours_to_freezing.unwrap(), h10, max_relative = 0.01);
        assert_relative_eq!(fast.hours_to_freezing.unwrap(), h20, max_relative = 0.01);
        let frozen = fast.hours_to_solid.unwrap() - fast.hours_to_freezing.unwrap();
        assert_relative_eq!(frozen, solid, max_relative = 0.015);
    }
}

#[test]
fn cylinder_freezes_as_london_and_seban_say() {
    // X-Val: London & Seban 1943; D_i 52.5 mm, ΔT 10 K, k 2.22, ρ 1000: 25.04, 12.88, 6.80, 3.76 h for h 5, 10, 20, 40
    // referred to the inside diameter. Film on the outside of the same bore: a pipe without wall.
    let d = 0.0525;
    let mut bare = pipe(PipeKind::Steel40, 2.0).unwrap();
    bare.id_m = d;
    bare.od_m = d;
    for (film, hours) in [(5.0, 25.04), (10.0, 12.88), (20.0, 6.80), (40.0, 3.76)] {
        let conditions = Conditions {
            start_c: 0.0,
            film_w_m2k: Some(film),
            no_metal: true,
            ..still()
        };
        let answer = cooldown(
            &Subject::Pipe {
                pipe: bare,
                length_m: 1.0,
            },
            &conditions,
            &FreezeConfig::default(),
        );
        let case = CylinderFreeze {
            radius_m: d / 2.0,
            film_w_m2k: film,
            delta_k: 10.0,
            density_kg_m3: 999.84,
            conductivity_w_mk: 2.22,
            latent_j_kg: 333_550.0,
        };
        let exact = london_seban_time_s(case, 0.0).unwrap();
        // Quasi-steady against quasi-steady: the step and the series for the layer of ice remain.
        assert_relative_eq!(answer.hours_to_solid.unwrap(), hours, max_relative = 0.01);
        assert_relative_eq!(answer.hours_to_solid.unwrap() * 3600.0, exact, max_relative = 0.01);
    }
}

#[test]
fn supercooling_delays_the_start_by_the_stated_ratio() {
    // X-Val: (10 → −5)/(10 → 0) at −7 °C = ln(17/2)/ln(17/7) = 2.4119.
    let with = |nucleation_c| {
        run(
            PipeKind::CopperL,
            1.0,
            Conditions {
                air_c: -7.0,
                film_w_m2k: Some(20.0),
                nucleation_c,
                ..still()
            },
        )
    };
    let ratio = with(-5.0).hours_to_freezing.unwrap() / with(0.0).hours_to_freezing.unwrap();
    // The step's error in the crossing.
    assert_relative_eq!(ratio, 2.4119, max_relative = 2e-3);
}

#[test]
fn air_warmer_than_nucleation_never_starts_ice() {
    let answer = run(
        PipeKind::CopperL,
        1.0,
        Conditions {
            air_c: -2.0,
            nucleation_c: -5.0,
            ..still()
        },
    );
    assert_eq!(answer.hours_to_freezing, None);
    assert_eq!(answer.hours_to_solid, None);
}

#[test]
fn film_at_the_start_is_that_of_the_tables() {
    // X-Val: Churchill-Chu and Churchill-Bernstein at 268.15 K for a pipe at 0 °C in air at −10 °C (computed table,
    // design references, freeze section 4): 60.325 mm free 4.278; 0.5 m/s blended with n = 4 9.87.
    let free = run(
        PipeKind::Steel40,
        2.0,
        Conditions {
            start_c: 0.0,
            ..still()
        },
    );
    assert_relative_eq!(free.convection_w_m2k.unwrap(), 4.278, max_relative = 5e-3);
    let windy = run(
        PipeKind::Steel40,
        2.0,
        Conditions {
            start_c: 0.0,
            wind_m_s: 0.5,
            ..still()
        },
    );
    assert_relative_eq!(windy.convection_w_m2k.unwrap(), 9.87, max_relative = 5e-3);
}
