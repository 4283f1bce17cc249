//! Tanks side by side, heaters with their own temperature, tanks of a list combined; kinds of heater.

use brimwater::expansion::catalogue::{CatalogueTank, fewest_that_fit, smallest_that_fits};
use brimwater::expansion::existing::{self, check};
use brimwater::expansion::volume::{demand, piping};
use brimwater::expansion::{ExistingTank, Heater, HeaterKind, Measure, Step, System, Told, assess_without_sensitivity};
use brimwater::physics::pipe::PipeKind;
use brimwater::units::{L_PER_US_GAL, M_PER_FT, PA_PER_PSI, UnitSystem, c_from_f};

fn rows(text: &str) -> Vec<csv::StringRecord> {
    csv::Reader::from_reader(text.as_bytes())
        .records()
        .map(Result::unwrap)
        .collect()
}

// X-Val: tests/data/expansion/sealed_system.csv, whole houses of copper and PEX and of two heaters by iapws (IF97) and CoolProp (IAPWS-95),
// `generate_system.py`. A wrong program heats every heater alike, or forgets that cold pipe gives.
#[test]
fn the_sealed_pressure_of_whole_houses_matches_two_formulations() {
    let mut seen = 0;
    for row in rows(include_str!("../data/expansion/sealed_system.csv")) {
        let cell = |at: usize| row[at].parse::<f64>().unwrap();
        let mut system = System::new(
            cell(0) * L_PER_US_GAL,
            c_from_f(cell(7)),
            c_from_f(cell(8)),
            cell(9) * PA_PER_PSI,
        );
        if cell(1) > 0.0 {
            system.heaters.push(Heater {
                hot_c: Some(c_from_f(cell(2))),
                ..Heater::steel(cell(1) * L_PER_US_GAL)
            });
        }
        for (at, kind, size_in, heated) in [
            (3, PipeKind::PexSdr9, 0.5, true),
            (4, PipeKind::CopperL, 0.75, true),
            (5, PipeKind::CopperL, 0.75, false),
            (6, PipeKind::PexSdr9, 0.5, false),
        ] {
            if cell(at) > 0.0 {
                system
                    .piping
                    .push(piping(kind, size_in, cell(at) * M_PER_FT, heated, UnitSystem::Us).unwrap());
            }
        }
        let sealed = brimwater::expansion::pressure::Sealed::of(&system);
        let end = sealed.pressure_abs_pa(system.hot_c).unwrap().unwrap() - system.air_abs_pa();
        let psi = end / PA_PER_PSI;
        // Same constants: only their rounding is between the two.
        assert!((psi / cell(10) - 1.0).abs() < 2e-3, "{psi} {row:?}");
        assert!((psi / cell(11) - 1.0).abs() < 4e-3, "{psi} {row:?}");
        seen += 1;
    }
    assert_eq!(seen, 6);
}

// X-Val: tests/data/expansion/parallel_tanks.csv, `generate_system.py`. A wrong program adds volumes and takes one precharge for all, or
// lets the acceptance of one tank stand for the sum.
#[test]
fn tanks_side_by_side_end_where_the_balance_says() {
    for row in rows(include_str!("../data/expansion/parallel_tanks.csv")) {
        let cell = |at: usize| row[at].parse::<f64>().unwrap();
        let mut system = System::new(
            cell(0) * L_PER_US_GAL,
            c_from_f(cell(1)),
            c_from_f(cell(2)),
            cell(3) * PA_PER_PSI,
        );
        system.limit_gauge_pa = cell(4) * PA_PER_PSI;
        for tank in row[5].split(';') {
            let part: Vec<&str> = tank.split(':').collect();
            let mut tank = ExistingTank::new(
                part[0].parse::<f64>().unwrap() * L_PER_US_GAL,
                part[1].parse::<f64>().unwrap() * PA_PER_PSI,
            );
            tank.max_acceptance_l = part[2].parse::<f64>().ok().map(|gal| gal * L_PER_US_GAL);
            system.existing.push(tank);
        }
        let answer = check(&system, &demand(&system).unwrap()).unwrap().unwrap();
        assert_eq!(answer.count, system.existing.len());
        assert!(
            (answer.usable_l / L_PER_US_GAL - cell(6)).abs() < 1e-3,
            "{answer:?} {row:?}"
        );
        let psi = |kpa: Option<f64>| kpa.map(|kpa| kpa * 1e3 / PA_PER_PSI);
        match row[7].parse::<f64>() {
            Ok(alone) => assert!(
                (psi(answer.final_gauge_kpa).unwrap() - alone).abs() < 0.05,
                "{answer:?} {row:?}"
            ),
            Err(_) => assert!(answer.final_gauge_kpa.is_none(), "{answer:?} {row:?}"),
        }
        let give = psi(answer.final_with_give_gauge_kpa).unwrap();
        assert!((give - cell(8)).abs() < 0.05, "{give} {row:?}");
        // One of several is judged by the same function.
        let states = existing::states(&system);
        let sum: f64 = states.iter().map(|state| state.water_l(6e5)).sum();
        assert!((existing::water_l(&states, 6e5) - sum).abs() < 1e-12);
    }
}

#[test]
fn two_tanks_that_do_together_are_kept_and_a_failed_one_is_taken_out() {
    let told = |precharge: &str| {
        Told {
            heaters: vec!["50 gal".into()],
            cold: Some("50 F".into()),
            hot: Some("130 F".into()),
            static_pressure: Some("60 psi".into()),
            closed_by: vec!["backflow-assembly".into()],
            existing_tank: vec!["2 gal".into(), "2 gal".into()],
            precharge: vec![precharge.into()],
            ..Told::default()
        }
        .read(UnitSystem::Us)
    };
    let answer = assess_without_sensitivity(&told("60").unwrap()).unwrap();
    assert_eq!(answer.recommendation.measure, Measure::KeepExistingTank);
    assert!(answer.recommendation.steps.is_empty());
    // Each alone does not.
    let mut one = told("60").unwrap();
    one.existing.pop();
    let answer = assess_without_sensitivity(&one).unwrap();
    assert_eq!(answer.recommendation.measure, Measure::ReplaceExistingTank);
    // X-Val: Boyle by hand: 3.301 gal needed (table 2.4's method), less the 2 gal that is there.
    let beside = answer.tank.beside_existing_l.unwrap() / L_PER_US_GAL;
    assert!((beside - 1.301).abs() < 0.01, "{beside}");
    let mut failed = told("60").unwrap();
    failed.existing[1].volume_l = 5.0 * L_PER_US_GAL;
    failed.existing[0].water_at_air_valve = true;
    let answer = assess_without_sensitivity(&failed).unwrap();
    assert_eq!(answer.recommendation.measure, Measure::KeepExistingTank);
    assert_eq!(answer.recommendation.steps, vec![Step::TakeOutTank { count: 1 }]);
    assert_eq!(answer.as_advised.tanks.len(), 1);
    // As many readings as tanks, or one for all.
    let mut three = Told {
        existing_tank: vec!["2 gal; 2 gal; 4 gal".into()],
        precharge: vec!["60".into(), "50".into()],
        heaters: vec!["50 gal".into()],
        cold: Some("50 F".into()),
        hot: Some("130 F".into()),
        static_pressure: Some("60 psi".into()),
        ..Told::default()
    };
    let faults = three.read(UnitSystem::Us).unwrap_err();
    assert_eq!(faults.0[0].code, "BW-X49");
    three.precharge = vec!["60".into(), "water".into(), "40".into()];
    let system = three.read(UnitSystem::Us).unwrap();
    assert!(system.existing[1].water_at_air_valve && !system.existing[0].water_at_air_valve);
    three.water_at_air_valve = true;
    assert!(three.read(UnitSystem::Us).is_err());
}

// A tank's own rating bounds the limit as any part's does.
#[test]
fn a_tanks_rating_bounds_the_limit() {
    let mut system = System::new(40.0 * L_PER_US_GAL, c_from_f(50.0), c_from_f(120.0), 50.0 * PA_PER_PSI);
    system.existing.push(ExistingTank {
        max_gauge_pa: Some(70.0 * PA_PER_PSI),
        ..ExistingTank::new(5.0 * L_PER_US_GAL, 50.0 * PA_PER_PSI)
    });
    let supply = brimwater::expansion::supply::judge(&system);
    assert_eq!(supply.limit_from, brimwater::expansion::supply::LimitFrom::TankRating);
    assert!((supply.limit_gauge_kpa - 70.0 * PA_PER_PSI / 1e3).abs() < 1e-9);
}

/// Every combination of up to four, the slow way.
fn by_trying_all(tanks: &[CatalogueTank], factor: f64, demand_l: f64, limit_pa: f64) -> Option<(usize, f64)> {
    let able: Vec<&CatalogueTank> = tanks
        .iter()
        .filter(|tank| tank.max_gauge_pa >= limit_pa - 1.0)
        .collect();
    let mut combinations: Vec<Vec<usize>> = vec![Vec::new()];
    for count in 1..=4 {
        combinations = combinations
            .iter()
            .flat_map(|taken| {
                let from = taken.last().copied().unwrap_or(0);
                (from..able.len()).map(move |at| [&taken[..], &[at]].concat())
            })
            .collect();
        let best = combinations
            .iter()
            .filter(|taken| {
                let takes: f64 = taken
                    .iter()
                    .map(|at| (able[*at].volume_l * factor).min(able[*at].max_acceptance_l))
                    .sum();
                takes >= demand_l - 1e-9
            })
            .map(|taken| taken.iter().map(|at| able[*at].volume_l).sum::<f64>())
            .fold(f64::INFINITY, f64::min);
        if best.is_finite() {
            return Some((count, best));
        }
    }
    None
}

// A wrong program takes the largest first and stops, or forgets a rating or an acceptance.
#[test]
fn the_fewest_of_a_list_are_those_that_trying_all_finds() {
    let mut state = 7_u64;
    let mut unit = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        (state >> 33) as f64 / (1_u64 << 31) as f64
    };
    let mut combined = 0;
    for _ in 0..400 {
        let tanks: Vec<CatalogueTank> = (0..7)
            .map(|at| {
                let volume_l = 5.0 + 60.0 * unit();
                CatalogueTank {
                    name: format!("tank {at}"),
                    volume_l,
                    max_acceptance_l: volume_l * (0.1 + 0.9 * unit()),
                    max_gauge_pa: [5e5, 1e6][usize::from(unit() < 0.8)],
                }
            })
            .collect();
        let (factor, demand_l) = (0.1 + 0.4 * unit(), 1.0 + 40.0 * unit());
        let found = fewest_that_fit(&tanks, factor, demand_l, 5.5e5);
        let slow = by_trying_all(&tanks, factor, demand_l, 5.5e5);
        let count = |choice: &brimwater::expansion::catalogue::Choice| -> usize {
            choice.pieces.iter().map(|piece| piece.count).sum()
        };
        match (&found, slow) {
            (Some(choice), Some((fewest, volume_l))) => {
                assert_eq!(count(choice), fewest);
                assert!((choice.volume_l - volume_l).abs() < 1e-9, "{choice:?} {volume_l}");
                combined += usize::from(fewest > 1);
                if let Some(one) = smallest_that_fits(&tanks, demand_l / factor, demand_l, 5.5e5) {
                    assert!(fewest == 1 && (one.volume_l - volume_l).abs() < 1e-9);
                }
            }
            (None, None) => {}
            other => panic!("{other:?}"),
        }
    }
    assert!(combined > 50, "{combined}");
}

#[test]
fn kinds_of_heater_bring_what_they_bring() {
    let told = Told {
        heaters: vec!["80 gal".into()],
        cold: Some("50 F".into()),
        hot: Some("120 F".into()),
        static_pressure: Some("60 psi".into()),
        closed_by: vec!["backflow-assembly".into()],
        ..Told::default()
    };
    let with = |kind: &str, more: &dyn Fn(&mut Told)| {
        let mut told = told.clone();
        told.kind = Some(kind.into());
        more(&mut told);
        told.read(UnitSystem::Us)
            .and_then(|system| Ok((assess_without_sensitivity(&system)?, system)))
    };
    // Heating loops are refused with the reason.
    let faults = with("hydronic", &|_| {}).unwrap_err();
    assert!(faults.0.iter().any(
        |fault| fault.code == "BW-X48" && fault.what.contains("another standard") || fault.what.contains("boiler")
    ));
    // A solar store without its cut-off is asked for it, with it sized on it.
    let faults = with("solar", &|_| {}).unwrap_err();
    assert_eq!(faults.0[0].column.as_deref(), Some("stagnation"));
    let (plain, _) = with("storage", &|_| {}).unwrap();
    let (solar, system) = with("solar", &|told| told.stagnation = Some("180 F".into())).unwrap();
    assert_eq!(system.kind, HeaterKind::Solar);
    // X-Val: IF97 by PyPI iapws 1.5.5, references 1.5: 50 to 180 °F 0.0301989, 50 to 120 °F 0.0113063.
    assert!((solar.expansion.fraction - 0.030_198_9).abs() < 2e-5);
    assert!((plain.expansion.fraction - 0.011_306_3).abs() < 2e-5);
    let (hygiene, _) = with("heat-pump", &|told| told.hygiene = Some("150 F".into())).unwrap();
    assert!((hygiene.expansion.fraction - 0.019_847_3).abs() < 2e-5);
    assert!(
        hygiene
            .cautions
            .iter()
            .any(|said| said.contains("hygiene run at 150 °F"))
    );
    let (pump, _) = with("heat-pump", &|_| {}).unwrap();
    assert!(pump.cautions.iter().any(|said| said.contains("above its dial")));
    let (mixed, _) = with("storage", &|told| {
        told.mixing_valve = true;
        told.recirculation = true;
    })
    .unwrap();
    assert!(
        mixed
            .cautions
            .iter()
            .any(|said| said.contains("never on the mixed side"))
    );
    assert!(
        !mixed
            .cautions
            .iter()
            .any(|said| said.contains("fit a listed mixing valve"))
    );
}

// X-Val: the same demand by hand: 40 gal to 150 °F and 50 gal to 130 °F from 50 °F: 40 × 0.0198473 + 50 × 0.0139424 gal.
#[test]
fn each_heater_counts_with_its_own_temperature() {
    let system = Told {
        heaters: vec!["40 gal @ 150 F; 50 gal at 130 F".into()],
        cold: Some("50 F".into()),
        static_pressure: Some("60 psi".into()),
        ..Told::default()
    }
    .read(UnitSystem::Us)
    .unwrap();
    let gained = demand(&system).unwrap();
    let by_hand = 40.0 * 0.019_847_3 + 50.0 * 0.013_942_4;
    assert!(
        (gained.volume_l / L_PER_US_GAL / by_hand - 1.0).abs() < 2e-3,
        "{gained:?}"
    );
    assert!((gained.fraction - by_hand / 90.0).abs() < 3e-5);
}
