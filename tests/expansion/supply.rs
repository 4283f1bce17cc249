//! The supply: which static and which limit count, and the verdict for every supply and closure.

use brimwater::expansion::supply::{LimitFrom, StaticFrom, judge};
use brimwater::expansion::{Step, System, Told, assess, assess_without_sensitivity};
use brimwater::units::{L_PER_US_GAL, PA_PER_PSI, UnitSystem, c_from_f};

// X-Val: tests/data/expansion/supply_cases.csv, each row with its source. A wrong program takes the street for nothing, a regulator that
// creeps for one that holds, or a street behind a regulator for the static.
#[test]
fn every_supply_and_closure_has_the_verdict_of_the_table() {
    let text = include_str!("../data/expansion/supply_cases.csv");
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes());
    let mut seen = 0;
    for row in reader.records() {
        let row = row.unwrap();
        let cell = |at: usize| row.get(at).unwrap().to_string();
        let told = |at: usize| Some(cell(at)).filter(|text| !text.is_empty());
        let answer = Told {
            heaters: vec!["40 gal".into()],
            cold: Some("50 F".into()),
            hot: Some("120 F".into()),
            closed_by: cell(0).split(';').map(str::to_string).collect(),
            static_pressure: told(1),
            street: told(2),
            regulator: told(3),
            regulator_setting: told(4),
            well_cut_out: told(5),
            ..Told::default()
        };
        let answer = assess_without_sensitivity(&answer.read(UnitSystem::Us).unwrap()).unwrap();
        let closed = match answer.closed.is_closed {
            Some(true) => "yes",
            Some(false) => "no",
            None => "unclear",
        };
        assert_eq!(closed, cell(6), "{row:?}");
        assert_eq!(answer.recommendation.measure.name(), cell(7), "{row:?}");
        let lowered = answer.recommendation.steps.iter().find_map(|step| match step {
            Step::LowerSupply { gauge_kpa, .. } => Some(format!("{:.0}", gauge_kpa * 1e3 / PA_PER_PSI)),
            _ => None,
        });
        assert_eq!(lowered, told(8), "{row:?}");
        seen += 1;
    }
    assert!(seen >= 40, "{seen} rows");
}

fn system() -> System {
    System::new(50.0 * L_PER_US_GAL, c_from_f(50.0), c_from_f(130.0), 60.0 * PA_PER_PSI)
}

#[test]
fn the_reading_that_decided_is_named() {
    let mut house = system();
    assert_eq!(judge(&house).static_from, StaticFrom::Static);
    house.street_gauge_pa = Some(110.0 * PA_PER_PSI);
    assert_eq!(judge(&house).static_from, StaticFrom::Street);
    assert!((judge(&house).static_gauge_kpa - 110.0 * PA_PER_PSI / 1e3).abs() < 1e-9);
    house.lowest_rating_gauge_pa = Some(65.0 * PA_PER_PSI);
    assert_eq!(judge(&house).limit_from, LimitFrom::Rating);
    house.lowest_rating_gauge_pa = None;
    house.limit_gauge_pa = 145.0 * PA_PER_PSI;
    // A tenth under 150 psi.
    assert_eq!(judge(&house).limit_from, LimitFrom::HeaterRelief);
    assert!((judge(&house).limit_gauge_kpa - 135.0 * PA_PER_PSI / 1e3).abs() < 1e-9);
}

// More knowledge must not make a right answer worse: behind a regulator a street of 75 or 110 psi leaves the relief's window as it is.
#[test]
fn a_relief_behind_a_regulator_does_not_care_for_the_street() {
    for street in [None, Some(75.0), Some(110.0)] {
        let mut house = system();
        house.closed_by = vec![brimwater::expansion::ClosingDevice::Prv];
        house.room_for_tank_l = Some(0.0);
        house.street_gauge_pa = street.map(|psi| psi * PA_PER_PSI);
        let window = assess(&house).unwrap().relief.window_within_limit_gauge_kpa.unwrap();
        let psi = window.map(|kpa| kpa * 1e3 / PA_PER_PSI);
        assert!(
            (psi[0] - 70.0).abs() < 1e-6 && (psi[1] - 80.0).abs() < 1e-6,
            "{street:?}: {psi:?}"
        );
    }
}
