//! Whoever follows what is printed and asks again is told that nothing more is needed.

use brimwater::expansion::catalogue::{CatalogueTank, chosen};
use brimwater::expansion::existing::{Verdict, has_failed};
use brimwater::expansion::{
    Assessment, ClosingDevice, ExistingTank, Heater, Measure, Regulator, RegulatorState, Step, System, Told, Well,
    assess_without_sensitivity,
};
use brimwater::output::expansion_text;
use brimwater::units::{
    L_PER_US_GAL, PA_PER_PSI, UnitSystem, c_from_f, parse_gauge_pa, parse_volume_l, show_gauge, show_volume_at_least,
};

/// SplitMix64, so that every run throws the same.
struct Dice(u64);

impl Dice {
    fn unit(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn below(&mut self, count: usize) -> usize {
        ((self.unit() * count as f64) as usize).min(count - 1)
    }

    fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }
}

/// A random house, some of them impossible to bear as they stand.
fn random(rng: &mut Dice) -> System {
    let psi = PA_PER_PSI;
    let cold_f = rng.between(35.0, 75.0);
    let mut system = System::new(
        rng.between(20.0, 120.0) * L_PER_US_GAL,
        c_from_f(cold_f),
        c_from_f(rng.between(105.0, 180.0)),
        rng.between(25.0, 120.0) * psi,
    );
    system.limit_gauge_pa = [60.0, 75.0, 80.0, 80.0, 80.0, 100.0, 145.0][rng.below(7)] * psi;
    system.elevation_m = [0.0, 0.0, 1600.0][rng.below(3)];
    system.words = [UnitSystem::Us, UnitSystem::Si, UnitSystem::Bar][rng.below(3)];
    for _ in 0..rng.below(3) {
        system.closed_by.push(ClosingDevice::NAMES[rng.below(9)].1);
    }
    if rng.chance(0.5) {
        system.street_gauge_pa = Some(rng.between(30.0, 180.0) * psi);
    }
    if rng.chance(0.15) {
        system.regulator = Regulator {
            setting_gauge_pa: rng.chance(0.5).then(|| rng.between(40.0, 75.0) * psi),
            state: RegulatorState::NAMES[rng.below(3)].1,
        };
    }
    if rng.chance(0.1) {
        system.street_gauge_pa = None;
        system.well = Some(Well {
            cut_out_gauge_pa: rng.between(40.0, 95.0) * psi,
            cut_in_gauge_pa: None,
            tank_l: rng.chance(0.5).then(|| rng.between(5.0, 200.0)),
        });
    }
    for _ in 0..[0, 0, 0, 1, 1, 1, 2, 3][rng.below(8)] {
        let volume_l = rng.between(1.0, 20.0) * L_PER_US_GAL;
        system.existing.push(ExistingTank {
            volume_l,
            precharge_gauge_pa: rng.between(0.0, 90.0) * psi,
            max_acceptance_l: rng.chance(0.2).then(|| volume_l * rng.between(0.2, 1.0)),
            max_gauge_pa: rng.chance(0.1).then(|| rng.between(70.0, 150.0) * psi),
            water_at_air_valve: rng.chance(0.1),
        });
    }
    for _ in 0..[0, 0, 1, 2][rng.below(4)] {
        system.heaters.push(Heater {
            hot_c: rng
                .chance(0.7)
                .then(|| system.cold_c + (system.hot_c - system.cold_c) * rng.between(0.7, 1.0))
                .filter(|own_c| *own_c > c_from_f(101.0)),
            ..Heater::steel(rng.between(10.0, 80.0) * L_PER_US_GAL)
        });
    }
    if rng.chance(0.2) {
        system.room_for_tank_l = Some(rng.between(0.0, 6.0) * L_PER_US_GAL);
    }
    if rng.chance(0.1) {
        system.lowest_rating_gauge_pa = Some(rng.between(60.0, 125.0) * psi);
    }
    if rng.chance(0.1) {
        system.tank_ambient_c = Some(rng.between(5.0, 45.0));
    }
    system
}

/// What a plumber reads off the page, with the rounding of the page.
fn printed(pascal: f64, words: UnitSystem) -> f64 {
    parse_gauge_pa(&show_gauge(pascal, words), words).unwrap()
}

/// The house after its printed advice; `None` where the advice is to have the limit looked at, which no plumber can.
fn follow(system: &System, answer: &Assessment) -> Option<System> {
    let words = system.words;
    let mut after = system.clone();
    for step in &answer.recommendation.steps {
        match *step {
            Step::LowerSupply { means, gauge_kpa } => {
                let setting = printed(gauge_kpa * 1e3, words);
                after.static_gauge_pa = setting;
                if means == brimwater::expansion::Means::SetWellSwitch {
                    after.well = after.well.map(|well| Well {
                        cut_out_gauge_pa: setting,
                        cut_in_gauge_pa: None,
                        ..well
                    });
                } else {
                    after.closed_by.retain(|device| *device != ClosingDevice::Nothing);
                    if !after
                        .closed_by
                        .iter()
                        .any(|device| matches!(device, ClosingDevice::Prv | ClosingDevice::PrvWithBypass))
                    {
                        after.closed_by.push(ClosingDevice::Prv);
                    }
                    after.regulator = Regulator {
                        setting_gauge_pa: Some(setting),
                        state: RegulatorState::Holds,
                    };
                }
            }
            Step::FitTank {
                min_volume_l,
                precharge_gauge_kpa,
                ..
            } => {
                let volume_l = parse_volume_l(&show_volume_at_least(min_volume_l, words), words).unwrap();
                after.existing = vec![ExistingTank {
                    volume_l,
                    precharge_gauge_pa: printed(precharge_gauge_kpa * 1e3, words),
                    max_gauge_pa: None,
                    max_acceptance_l: None,
                    water_at_air_valve: false,
                }];
            }
            Step::SetPrecharge {
                precharge_gauge_kpa, ..
            } => {
                for tank in &mut after.existing {
                    tank.precharge_gauge_pa = printed(precharge_gauge_kpa * 1e3, words);
                }
            }
            Step::TakeOutTank { count } => {
                let before = after.existing.len();
                after.existing.retain(|tank| !has_failed(tank));
                assert_eq!(before - after.existing.len(), count);
            }
            Step::FitRelief { low_gauge_kpa, .. } => {
                // A failed tank that stays beside it is taken out.
                after.existing.clear();
                after.relief_at_gauge_pa = Some(printed(low_gauge_kpa * 1e3, words));
            }
            Step::MakeRoom { .. } => after.room_for_tank_l = None,
            Step::LookAtLimit => return None,
            Step::ShutEnergyOff => {}
        }
    }
    Some(after)
}

// A wrong program advises one state and prints the figures of another, fits a regulator without the tank it calls for, or rounds the tank
// down.
#[test]
fn following_the_printed_advice_leaves_nothing_to_do() {
    let mut rng = Dice(15);
    let (mut followed, mut stuck) = (0, 0);
    while followed + stuck < 10_000 {
        let system = random(&mut rng);
        let Ok(answer) = assess_without_sensitivity(&system) else {
            continue;
        };
        let Some(after) = follow(&system, &answer) else {
            stuck += 1;
            continue;
        };
        followed += 1;
        let again = assess_without_sensitivity(&after).unwrap_or_else(|faults| panic!("{faults:?}\n{after:?}"));
        assert!(
            again.recommendation.steps.is_empty(),
            "{:?}\nthen {:?}\n{system:#?}\n{after:#?}",
            answer.recommendation,
            again.recommendation
        );
        // An end at or under the limit, but for the rounding of what is printed and what readings are sure to.
        if let Some(tank) = &again.existing_tank
            && again.recommendation.measure == Measure::KeepExistingTank
        {
            assert_ne!(tank.verdict, Verdict::NotEnough);
        }
        let end = again.as_advised.final_gauge_kpa.unwrap();
        assert!(
            end <= again.as_advised.limit_gauge_kpa + 5.0 * PA_PER_PSI / 1e3 + 0.5,
            "{end} {:?}",
            again.as_advised
        );
    }
    assert!(followed > 9_900, "{stuck} were told to have the limit looked at");
}

// The same through what a terminal shows: the numbers are read off the first lines of the text.
#[test]
fn following_the_first_lines_of_the_text_leaves_nothing_to_do() {
    let mut rng = Dice(16);
    let mut followed = 0;
    while followed < 300 {
        let static_psi: f64 = rng.between(40.0, 110.0);
        let told = Told {
            heaters: vec![format!("{:.0} gal", rng.between(20.0, 100.0))],
            cold: Some(format!("{:.0} F", rng.between(36.0, 70.0))),
            hot: Some(format!("{:.0} F", rng.between(110.0, 160.0))),
            static_pressure: Some(format!("{static_psi:.1} psi")),
            closed_by: vec!["backflow-assembly".into()],
            ..Told::default()
        };
        let system = told.read(UnitSystem::Us).unwrap();
        let answer = assess_without_sensitivity(&system).unwrap();
        let text = expansion_text::text(&system, &answer, false);
        let joined = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let after = |mark: &str| -> Option<String> {
            let rest = joined.split(mark).nth(1)?;
            Some(
                rest.split_whitespace()
                    .take(2)
                    .collect::<Vec<_>>()
                    .join(" ")
                    .trim_end_matches(['.', ','])
                    .to_string(),
            )
        };
        let mut next = told.clone();
        if let Some(setting) = after("regulator set to ") {
            next.closed_by.push("prv".into());
            next.static_pressure = Some(setting);
        }
        next.existing_tank = after("tank of at least ").into_iter().collect();
        next.precharge = after(", precharge ").into_iter().collect();
        let system = next
            .read(UnitSystem::Us)
            .unwrap_or_else(|faults| panic!("{faults:?} {text}"));
        let again = assess_without_sensitivity(&system).unwrap();
        let text_again = expansion_text::text(&system, &again, false);
        assert!(
            text_again.starts_with("Do             Keep the tank that is there"),
            "{text}\n{text_again}"
        );
        followed += 1;
    }
}

// In place of replacing what is there a tank beside it will do, as the answer says: whoever does that has nothing left to do either.
// A wrong program forgets that the old tank's acceptance is bounded, or sizes the new one for the old one's precharge.
#[test]
fn a_tank_beside_those_that_are_there_leaves_nothing_to_do() {
    let mut rng = Dice(17);
    let (mut followed, mut several) = (0, 0);
    while followed < 1_000 {
        let system = random(&mut rng);
        let Ok(answer) = assess_without_sensitivity(&system) else {
            continue;
        };
        let Some(beside_l) = answer.tank.beside_existing_l else {
            continue;
        };
        assert!(beside_l < answer.tank.min_volume_l.unwrap());
        let Some(mut after) = follow(&system, &answer) else {
            continue;
        };
        followed += 1;
        let precharge = after.existing[0].precharge_gauge_pa;
        after.existing = system
            .existing
            .iter()
            .filter(|tank| !has_failed(tank))
            .cloned()
            .collect();
        several += usize::from(after.existing.len() > 1);
        for tank in &mut after.existing {
            tank.precharge_gauge_pa = precharge;
        }
        let volume_l = parse_volume_l(&show_volume_at_least(beside_l, system.words), system.words).unwrap();
        after.existing.push(ExistingTank::new(volume_l, precharge));
        // A tank smaller than any that is made is asked about.
        after.accept_unusual = true;
        let again = assess_without_sensitivity(&after).unwrap();
        assert!(
            again.recommendation.steps.is_empty(),
            "{:?}\nthen {:?}\n{after:#?}",
            answer.recommendation,
            again.recommendation
        );
    }
    assert!(several > 50, "{several}");
}

// Whoever fits the factory sizes that are named, one or several side by side, has nothing left to do. A wrong program adds up volumes that
// their diaphragms do not let fill.
#[test]
fn the_factory_sizes_named_leave_nothing_to_do() {
    let tanks: Vec<CatalogueTank> = [(2.1, 0.9), (4.4, 2.5), (8.0, 3.2), (14.0, 11.3)]
        .iter()
        .map(|(volume, acceptance)| CatalogueTank {
            name: format!("{volume} gal"),
            volume_l: volume * L_PER_US_GAL,
            max_acceptance_l: acceptance * L_PER_US_GAL,
            max_gauge_pa: 150.0 * PA_PER_PSI,
        })
        .collect();
    let mut rng = Dice(18);
    let (mut followed, mut several) = (0, 0);
    while followed < 500 {
        let system = random(&mut rng);
        let Ok(answer) = assess_without_sensitivity(&system) else {
            continue;
        };
        let Some(choice) = chosen(&tanks, &answer) else {
            continue;
        };
        let Some(mut after) = follow(&system, &answer) else {
            continue;
        };
        followed += 1;
        several += usize::from(choice.pieces.iter().map(|piece| piece.count).sum::<usize>() > 1);
        let precharge_pa = after.existing[0].precharge_gauge_pa;
        after.existing = choice
            .pieces
            .iter()
            .flat_map(|piece| {
                let tank = tanks.iter().find(|tank| tank.name == piece.name).unwrap();
                std::iter::repeat_n(tank, piece.count)
            })
            .map(|tank| ExistingTank {
                max_acceptance_l: Some(tank.max_acceptance_l),
                max_gauge_pa: Some(tank.max_gauge_pa),
                ..ExistingTank::new(tank.volume_l, precharge_pa)
            })
            .collect();
        let again = assess_without_sensitivity(&after).unwrap();
        assert!(
            again.recommendation.steps.is_empty(),
            "{choice:?} {:?}\nthen {:?}\n{after:#?}",
            answer.recommendation,
            again.recommendation
        );
    }
    assert!(several > 25, "{several}");
}
