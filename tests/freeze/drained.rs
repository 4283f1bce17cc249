//! A drained line: its chance is that of a drain that failed times what it would be full.

use crate::spells::{bare, clear_night, options, outlook, outlook_with, two_nights};
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::inventory::{Assembly, DeviceType, NominalSize, WinterUse};

fn drained(device: DeviceType) -> (Assembly, Assembly) {
    let full = bare(device, NominalSize::N1);
    let mut empty = full.clone();
    empty.winter_use = WinterUse::Drained;
    (full, empty)
}

/// Common practice, no source: some drains fail (a shutoff that leaks, a low spot). X-Val: the law of total probability; to rounding.
/// Catches a drained line that is exactly safe, one that counts as full, money or nights that do not follow the chance.
#[test]
fn a_failed_drain_carries_its_share_of_what_a_full_line_has() {
    let config = FreezeConfig::default();
    assert_eq!(config.drain_failed, 0.03);
    for device in [DeviceType::Pvb, DeviceType::Rp] {
        let (full, empty) = drained(device);
        let spell = two_nights(20.0, 2.0);
        let mut traced = options(64);
        traced.trace = true;
        let (full, empty) = (outlook(&full, &spell, &traced), outlook(&empty, &spell, &traced));
        let near = |a: f64, b: f64| (a - 0.03 * b).abs() < 1e-12;
        assert!(full.p_damage.unwrap() > 0.2, "{device}: {:?}", full.p_damage);
        assert!(near(empty.p_damage.unwrap(), full.p_damage.unwrap()));
        assert!(near(empty.p_ice.unwrap(), full.p_ice.unwrap()));
        assert!(near(empty.expected_repair_usd, full.expected_repair_usd));
        for (part, whole) in empty.parts.iter().zip(&full.parts) {
            assert!(near(part.p_damage.unwrap(), whole.p_damage.unwrap()), "{}", part.name);
        }
        let nights: f64 = empty.nights.iter().map(|night| night.repair_usd).sum();
        assert!((nights - empty.expected_repair_usd).abs() < 1e-6);
        let last = |outlook: &brimwater::freeze::Outlook| *outlook.trace.as_ref().unwrap().p_damage_by.last().unwrap();
        assert!(near(last(&empty), last(&full)));
        // Nine of ten of them hold no water: no time of ice is told, and nothing more is advised.
        assert_eq!((empty.first_ice.p10, empty.first_part), (None, None));
        assert!(empty.advice.is_empty());
    }
}

#[test]
fn the_config_says_how_often_and_the_cautious_run_has_no_chance_to_share() {
    let (full, empty) = drained(DeviceType::Pvb);
    let night = clear_night(15.0);
    let with = |chance: f64, members| {
        let config = FreezeConfig {
            drain_failed: chance,
            ..FreezeConfig::default()
        };
        outlook_with(&empty, &night, &options(members), &config, &EnsembleConfig::default())
    };
    assert_eq!(with(0.0, 64).p_damage, Some(0.0));
    assert_eq!(with(1.0, 64).p_damage, outlook(&full, &night, &options(64)).p_damage);
    let one = with(0.5, 1);
    assert_eq!(one.p_damage, None);
    assert!(one.parts.iter().all(|part| !part.strained));
}
