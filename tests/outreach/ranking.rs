//! The order of the list, its tiers and its sentences.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::made::{breaker, ensemble, shared, single};
use brimwater::config::Config;
use brimwater::freeze::costs::{Costs, PartKind};
use brimwater::freeze::{Advice, Measure, Outlook};
use brimwater::inventory::*;
use brimwater::ranking::{Ranked, Tier, Words, config::RankingConfig, rank};
use proptest::prelude::*;
use std::sync::Arc;

const US: Words = Words {
    zone: chrono_tz::UTC,
    us: true,
    language: brimwater::language::Language::English,
};

fn ids(list: &[Ranked], assemblies: &[Assembly]) -> Vec<String> {
    list.iter()
        .map(|line| assemblies[line.index].assembly_id.to_string())
        .collect()
}

fn ranked(rows: &[(Assembly, Outlook)]) -> (Vec<Ranked>, Vec<Assembly>) {
    let assemblies: Vec<Assembly> = rows.iter().map(|row| row.0.clone()).collect();
    let outlooks: Vec<Arc<Outlook>> = rows.iter().map(|row| shared(row.1.clone())).collect();
    (rank(&assemblies, &outlooks, &RankingConfig::default(), &US), assemblies)
}

#[test]
fn larger_expected_loss_comes_first() {
    let (list, assemblies) = ranked(&[
        (breaker("A"), ensemble(0.2, 20, 60.0, 2.0)),
        (breaker("B"), ensemble(0.9, 20, 400.0, 2.0)),
        (breaker("C"), ensemble(0.5, 20, 200.0, 2.0)),
    ]);
    assert_eq!(ids(&list, &assemblies), ["B", "C", "A"]);
    assert_eq!(list.iter().map(|line| line.rank).collect::<Vec<_>>(), [1, 2, 3]);
}

#[test]
fn critical_customers_go_ahead_of_money_and_fire_lines_after_them() {
    let mut hospital = breaker("hospital");
    hospital.critical = Some("hospital".into());
    let mut fire = breaker("fire");
    fire.service = Service::Fire;
    let mut dear = breaker("dear");
    dear.nominal_size = NominalSize::N2;
    let (list, assemblies) = ranked(&[
        (dear, ensemble(0.99, 10, 9_000.0, 10.0)),
        (fire, ensemble(0.30, 20, 500.0, 10.0)),
        (hospital, ensemble(0.10, 30, 50.0, 2.0)),
    ]);
    assert_eq!(ids(&list, &assemblies), ["hospital", "fire", "dear"]);
    assert!(list.iter().all(|line| line.tier == Tier::CallFirst));
}

#[test]
fn a_critical_customer_without_risk_is_not_called() {
    let mut hospital = breaker("hospital");
    hospital.critical = Some("hospital".into());
    let (list, _) = ranked(&[(hospital, ensemble(0.0, 0, 0.0, 0.0))]);
    assert_eq!(list[0].tier, Tier::NoContact);
}

#[test]
fn losses_closer_than_the_error_are_tied_and_ordered_by_first_ice_then_id() {
    // 250 and 260 differ by less than the joint error hypot(20, 20) = 28 dollars; 400 does not.
    let (list, assemblies) = ranked(&[
        (breaker("Z"), ensemble(0.6, 18, 250.0, 20.0)),
        (breaker("M"), ensemble(0.6, 30, 260.0, 20.0)),
        (breaker("B"), ensemble(0.6, 18, 255.0, 20.0)),
        (breaker("top"), ensemble(0.6, 40, 400.0, 20.0)),
    ]);
    assert_eq!(ids(&list, &assemblies), ["top", "B", "Z", "M"]);
}

#[test]
fn losses_farther_than_the_error_are_not_tied() {
    let (list, assemblies) = ranked(&[
        (breaker("A"), ensemble(0.6, 10, 250.0, 0.0)),
        (breaker("B"), ensemble(0.6, 40, 400.0, 0.0)),
    ]);
    assert_eq!(ids(&list, &assemblies), ["B", "A"]);
}

#[test]
fn the_error_grows_with_fewer_members() {
    // A proportion's standard error is sqrt(p (1 - p) / n): a quarter of the members doubles it.
    // X-Val: NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4 (from memory), standard error of a proportion.
    let (many, _) = ranked(&[(breaker("A"), ensemble(0.5, 10, 250.0, 0.0))]);
    let mut fewer = ensemble(0.5, 10, 250.0, 0.0);
    fewer.members = 64;
    let (few, _) = ranked(&[(breaker("A"), fewer)]);
    let ratio = few[0].loss.error_usd / many[0].loss.error_usd;
    approx::assert_relative_eq!(ratio, 2.0, epsilon = 1e-12);
}

#[test]
fn a_drained_assembly_is_never_contacted() {
    let mut drained = breaker("D");
    drained.winter_use = WinterUse::Drained;
    let (list, _) = ranked(&[(drained, ensemble(0.9, 10, 400.0, 2.0))]);
    assert_eq!(list[0].tier, Tier::NoContact);
    assert!(list[0].reason.contains("emptied"));
}

#[test]
fn tiers_fall_with_the_chance() {
    let tiers: Vec<Tier> = [0.99, 0.5, 0.05, 0.001]
        .iter()
        .map(|p| {
            let mut assembly = breaker("A");
            assembly.device_type = DeviceType::Rp;
            ranked(&[(assembly, ensemble(*p, 10, 1_100.0 * p, 1.0))]).0[0].tier
        })
        .collect();
    assert_eq!(tiers, [Tier::CallFirst, Tier::CallNext, Tier::Message, Tier::NoContact]);
}

#[test]
fn a_vacant_house_outranks_the_same_assembly_where_somebody_is_home() {
    let mut home = breaker("home");
    home.winter_use = WinterUse::InUse;
    home.service = Service::Domestic;
    let mut vacant = home.clone();
    vacant.assembly_id = "vacant".into();
    vacant.winter_use = WinterUse::Vacant;
    let (list, assemblies) = ranked(&[
        (home, ensemble(0.6, 10, 250.0, 1.0)),
        (vacant, ensemble(0.6, 10, 250.0, 1.0)),
    ]);
    assert_eq!(ids(&list, &assemblies)[0], "vacant");
}

#[test]
fn the_deterministic_run_ranks_by_how_much_freezes_then_how_early() {
    let (list, assemblies) = ranked(&[
        (breaker("late"), single(0.9, 40)),
        (breaker("early"), single(0.9, 20)),
        (breaker("little"), single(0.2, 10)),
        (breaker("none"), single(0.0, 0)),
    ]);
    assert_eq!(ids(&list, &assemblies), ["early", "late", "little", "none"]);
    assert_eq!(list[3].tier, Tier::NoContact);
    assert!(list[0].reason.contains("cautious run"));
    assert!(!list[0].reason.contains("chance"), "{}", list[0].reason);
}

#[test]
fn the_sentence_carries_what_where_when_and_what_would_do() {
    let mut outlook = ensemble(0.62, 24 + 21, 200.0, 3.0);
    outlook.advice.push(Advice {
        measure: Measure::Wrap,
        enough: true,
        // 0.62 m²K/W is in US units (1 ft²·h·°F/Btu = 0.17611 m²K/W, NIST SP 811): told rounded up.
        wrap_m2k_per_w: Some(0.62),
        flow_l_per_h: None,
        power_w_per_m: None,
        litres: None,
        hours: None,
        p_damage: None,
        detail: String::new(),
    });
    let (list, _) = ranked(&[(breaker("A"), outlook.clone())]);
    assert_eq!(
        list[0].reason,
        "bare 1 in pressure vacuum breaker on an idle irrigation line: 62 % chance that the bonnet breaks Saturday \
         night; air down to 19 °F, 9 h below freezing (32 °F); a wrap of R-4 would do"
    );
    let si = Words {
        zone: chrono_tz::UTC,
        us: false,
        language: brimwater::language::Language::English,
    };
    let list = rank(&[breaker("A")], &[shared(outlook)], &RankingConfig::default(), &si);
    assert!(list[0].reason.contains("-7.2 °C"), "{}", list[0].reason);
    assert!(list[0].reason.contains("0.7 m²K/W"), "{}", list[0].reason);
}

#[test]
fn small_hours_belong_to_the_night_before() {
    use chrono::TimeZone;
    // 2031-01-10 is a Friday (proleptic Gregorian calendar; Zeller's congruence).
    let saturday_2am = chrono::Utc.with_ymd_and_hms(2031, 1, 11, 2, 0, 0).unwrap();
    assert_eq!(US.part_of_day(saturday_2am), "Friday night");
    assert_eq!(US.moment(saturday_2am), "Sat 2 am");
}

#[test]
fn repair_costs_are_the_middles_of_the_trades_bands() {
    // Common practice, no source: the bands of `[repair-cost-bands]`, installed, without the field test.
    let costs = Costs::default();
    let bare = |device, size| costs.replacement_usd(device, size) - costs.test_small_usd;
    assert_eq!(bare(DeviceType::Pvb, NominalSize::N1), (250.0 + 750.0) / 2.0);
    assert_eq!(bare(DeviceType::Dc, NominalSize::N2), (900.0 + 2_500.0) / 2.0);
    assert_eq!(bare(DeviceType::Rp, NominalSize::N2), (1_500.0 + 4_500.0) / 2.0);
    let large = |device, size| costs.replacement_usd(device, size) - costs.test_large_usd;
    assert_eq!(large(DeviceType::Dc, NominalSize::N8), (16_000.0 + 36_000.0) / 2.0);
    assert_eq!(
        large(DeviceType::Rpda, NominalSize::N4),
        (6_000.0 + 15_000.0) / 2.0 + (600.0 + 1_800.0) / 2.0
    );
}

#[test]
fn replacement_never_falls_with_size_and_no_part_costs_more_than_the_whole() {
    let costs = Costs::default();
    for device in DeviceType::ALL {
        let mut last = 0.0;
        for size in NominalSize::ALL {
            let whole = costs.replacement_usd(*device, *size);
            assert!(whole >= last, "{device} {size}");
            last = whole;
            for part in [
                PartKind::Trim,
                PartKind::Bonnet,
                PartKind::Shutoff,
                PartKind::Body,
                PartKind::Riser,
                PartKind::Bypass,
            ] {
                let repair = costs.repair_usd(*device, *size, part);
                assert!(repair > 0.0 && repair <= whole, "{device} {size} {part:?}");
            }
        }
    }
}

#[test]
fn a_key_left_out_of_the_config_keeps_its_default() {
    let config: Config = toml::from_str(
        "[ranking.consequence.surroundings_usd]\nindoors = 9000\n[freeze.costs.replacement_usd.RP]\n\"1\" = 2000\n",
    )
    .unwrap();
    let default = Config::default();
    assert_eq!(config.ranking.consequence.surroundings_usd.indoors, 9_000.0);
    assert_eq!(
        config.ranking.consequence.surroundings_usd.vault,
        default.ranking.consequence.surroundings_usd.vault
    );
    let costs = &config.freeze.costs;
    assert_eq!(
        costs.replacement_usd(DeviceType::Rp, NominalSize::N1) - costs.test_small_usd,
        2_000.0
    );
    assert_eq!(
        costs.replacement_usd(DeviceType::Rp, NominalSize::N8),
        default.freeze.costs.replacement_usd(DeviceType::Rp, NominalSize::N8)
    );
}

proptest! {
    #[test]
    fn the_order_of_the_rows_never_matters(
        rows in prop::collection::vec((0.0f64..1.0, 0i64..100, 0.0f64..2000.0, 0.0f64..60.0, 0u8..4), 1..60),
        turn in 0usize..60,
    ) {
        let mut list: Vec<(Assembly, Outlook)> = rows
            .iter()
            .enumerate()
            .map(|(i, (p, ice, usd, error, kind))| {
                let mut assembly = breaker(&format!("A{i:03}"));
                assembly.line = i as u64 + 2;
                match kind {
                    0 => assembly.critical = Some("school".into()),
                    1 => assembly.service = Service::Fire,
                    _ => {}
                }
                (assembly, ensemble(*p, *ice, *usd, *error))
            })
            .collect();
        let (first, assemblies) = ranked(&list);
        let expected = ids(&first, &assemblies);
        let n = list.len();
        list.rotate_left(turn % n);
        list.reverse();
        let (second, assemblies) = ranked(&list);
        prop_assert_eq!(&ids(&second, &assemblies), &expected);
        // Every assembly stands once, and ranks count from 1.
        let mut seen: Vec<usize> = second.iter().map(|line| line.index).collect();
        seen.sort_unstable();
        prop_assert_eq!(seen, (0..n).collect::<Vec<_>>());
        prop_assert!(second.iter().enumerate().all(|(i, line)| line.rank == i + 1));
        prop_assert!(second.windows(2).all(|pair| pair[0].tier <= pair[1].tier));
    }

    #[test]
    fn no_number_that_an_outlook_holds_spoils_the_list(
        p in prop::num::f64::ANY, usd in prop::num::f64::ANY, error in prop::num::f64::ANY,
    ) {
        let (list, _) = ranked(&[(breaker("A"), ensemble(p, 10, usd, error)), (breaker("B"), ensemble(0.5, 10, 200.0, 1.0))]);
        prop_assert_eq!(list.len(), 2);
        prop_assert!(list.iter().all(|line| line.expected_loss_usd.is_finite() && line.expected_loss_usd >= 0.0));
        prop_assert!(list.iter().all(|line| line.loss.error_usd.is_finite()));
    }
}

/// Common practice, no source: an emptied line is called by nobody, and whoever reads the list sees that its chance is that of a failed drain.
#[test]
fn a_drained_line_says_that_water_may_stand_in_it_after_all() {
    let mut drained = breaker("D");
    drained.winter_use = WinterUse::Drained;
    for (p, words) in [
        (0.021, "2 % chance of damage is left"),
        (0.0, "nothing in it can freeze"),
    ] {
        let (list, _) = ranked(&[(drained.clone(), ensemble(p, 10, 12.0, 0.1))]);
        assert_eq!(list[0].tier, Tier::NoContact);
        assert!(
            list[0].reason.contains("emptied") && list[0].reason.contains(words),
            "{}",
            list[0].reason
        );
        assert!(
            p == 0.0 || list[0].expected_loss_usd > 12.0,
            "service and water follow the chance"
        );
    }
}
