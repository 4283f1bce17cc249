//! The middle of a spell: what the nights behind have cost is gone, and what the coming night adds is what a call is worth.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::made;
use crate::schedule::{Made, household, local, make, of, run, textbook};
use brimwater::freeze::{Night, Outlook};
use brimwater::inventory::Language;
use brimwater::outreach::about::{Facts, about};
use brimwater::outreach::clock;
use brimwater::outreach::config::OutreachConfig;
use brimwater::outreach::line::Way;
use brimwater::outreach::outcome::History;
use brimwater::ranking::{Tier, nights};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use chrono_tz::America::Chicago;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn at(hours: i64) -> DateTime<Utc> {
    made::start() + TimeDelta::hours(hours)
}

fn night(hours: i64, p: f64, usd: f64, low_c: f64) -> Night {
    Night {
        p_damage: p,
        repair_usd: usd,
        ice_early: at(hours),
        ice_median: at(hours + 2),
        min_air_c: low_c,
        iced_before: Vec::new(),
    }
}

/// An outlook of these nights, and no other.
fn of_nights(nights: Vec<Night>) -> Outlook {
    let p: f64 = nights.iter().map(|night| night.p_damage).sum();
    let mut outlook = made::ensemble(p, 10, 300.0, 5.0);
    outlook.first_ice.p10 = nights.iter().map(|night| night.ice_early).min();
    outlook.first_ice.p50 = outlook.first_ice.p10;
    outlook.nights = nights;
    outlook
}

fn day(d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2031, 1, d).unwrap()
}

/// Catches nights cut at midnight, and a morning that still waits for the night before.
#[test]
fn a_night_is_that_of_its_evening_and_is_behind_from_six_in_the_morning() {
    // Worked by hand, in Chicago.
    assert_eq!(nights::evening(local(10, 22, 0), Chicago), day(10));
    assert_eq!(nights::evening(local(11, 7, 0), Chicago), day(10));
    assert_eq!(nights::evening(local(11, 13, 0), Chicago), day(11));
    assert_eq!(nights::coming_from(local(11, 5, 0), Chicago), day(10));
    assert_eq!(nights::coming_from(local(11, 9, 0), Chicago), day(11));
}

/// Catches sums that lose a night, and a coming night that counts what is behind it.
#[test]
fn the_nights_of_the_town_add_up_to_its_chance_and_its_loss() {
    let rows = vec![
        (
            of_nights(vec![night(10, 0.46, 200.0, -6.0), night(30, 0.42, 100.0, -8.0)]),
            900.0,
        ),
        (of_nights(vec![night(31, 0.30, 50.0, -8.0)]), 500.0),
        // Without nights: all of it in the night of first ice.
        (made::ensemble(0.2, 10, 80.0, 1.0), 70.0),
    ];
    let rows = rows
        .into_iter()
        .enumerate()
        .map(|(n, (outlook, usd))| (household(n, 10).0, outlook, Tier::CallFirst, usd))
        .collect();
    let made = make(rows, &OutreachConfig::default());
    let sums = nights::town(&made.ranked, &made.outlooks, Chicago);
    let breaks: f64 = sums.values().map(|sum| sum.breaks).sum();
    let usd: f64 = sums.values().map(|sum| sum.loss_usd).sum();
    assert!(
        (breaks - (0.88 + 0.30 + 0.20)).abs() < 1e-12 && (usd - 1_470.0).abs() < 1e-9,
        "{sums:?}"
    );
    // Ten hours after the start of the spell is 4 on Friday morning: the night of Thursday the ninth.
    let coming = nights::coming(&sums, local(10, 9, 0), Chicago).unwrap();
    assert_eq!(coming.evening, day(10));
    // X-Val: by hand, 0.46 + 0.20 behind with two thirds of 900 and 70; 0.42 + 0.30 to come.
    assert!((coming.before.breaks - 0.66).abs() < 1e-12 && (coming.before.loss_usd - 670.0).abs() < 1e-9);
    assert!((coming.adds.breaks - 0.72).abs() < 1e-12 && (coming.adds.loss_usd - 800.0).abs() < 1e-9);
    assert_eq!(coming.later.breaks, 0.0);
    assert_eq!(nights::coming(&sums, local(9, 9, 0), Chicago).unwrap().evening, day(9));
    assert_eq!(nights::coming(&sums, local(12, 9, 0), Chicago), None);
}

/// On Friday morning nobody is told of Thursday night's ice, nor of the cold that went with it.
#[test]
fn in_the_middle_of_a_spell_messages_name_the_coming_night_and_its_cold() {
    let outlook = of_nights(vec![night(10, 0.4, 200.0, -9.0), night(30, 0.4, 200.0, -3.0)]);
    let made = make(
        vec![(household(1, 10).0, outlook, Tier::CallFirst, 900.0)],
        &OutreachConfig::default(),
    );
    let when = |now| {
        let (plan, _) = run(&made, &OutreachConfig::default(), now, &History::default());
        let words = made::MadePlan::new(Vec::new(), true).words;
        let facts = Facts {
            people: &made.people,
            assemblies: &made.assemblies,
            outlooks: &made.outlooks,
            words,
        };
        let about = about(of(&plan, Way::Call)[0], &facts, Language::English);
        (about.when, about.low, about.hard)
    };
    // X-Val: by hand, -3 °C is 26.6 °F; the whole window's lowest of the made outlook is -7.2 °C, 19.04 °F.
    assert_eq!(when(local(9, 9, 0)), ("Thursday night".into(), "19 °F".into(), true));
    assert_eq!(when(local(10, 9, 0)), ("Friday night".into(), "27 °F".into(), true));
}

#[test]
fn the_reason_says_what_each_night_adds() {
    let words = made::MadePlan::new(Vec::new(), true).words;
    let outlook = of_nights(vec![night(8, 0.46, 200.0, -6.0), night(30, 0.42, 100.0, -8.0)]);
    let plan = made::MadePlan::new(vec![(made::breaker("A"), outlook)], true);
    let reason = &plan.ranked[0].reason;
    assert!(
        reason.contains("(46 % Thursday night, 42 % more Friday night)"),
        "{reason}"
    );
    let spanish = brimwater::ranking::Words {
        language: brimwater::language::Language::Spanish,
        ..words
    };
    let text = brimwater::ranking::reason::reason(
        &plan.assemblies[0],
        &plan.outlooks[0],
        &plan.ranked[0].loss,
        plan.ranked[0].tier,
        &spanish,
    );
    assert!(
        text.contains("(46 % el jueves en la noche, 42 % más el viernes en la noche)"),
        "{text}"
    );
}

/// What one call of this household avoids, told apart from the program: what is lost in nights whose time to act is gone is gone.
fn worth(outlook: &Outlook, usd: f64, end: DateTime<Utc>, config: &OutreachConfig) -> f64 {
    let light = clock::clock_daylight(Chicago, &config.shift);
    let sum: f64 = outlook.nights.iter().map(|night| night.repair_usd).sum();
    let ahead: f64 = outlook
        .nights
        .iter()
        .filter(|night| clock::act_by(night.ice_early, config.act.hours.irrigation, Chicago, &light) >= end)
        .map(|night| night.repair_usd)
        .sum();
    // 0.4 of calls are answered in the textbook's hours.
    let dial = 0.4 * config.act.call + 0.6 * config.reach.message_left * config.act.message;
    usd * ahead / sum * config.act.effect.irrigation * (1.0 - config.act.unaided) * dial
}

/// Two thirds of what Friday night costs breaks in parts that froze on Thursday night and stay frozen: on Thursday a call is worth all of its
/// effect, on Friday that of acting on ice for these two thirds, however many nights are still to come.
///
/// X-Val: by hand from what acting on water (0.9) and on ice (0.2) saves: 900 × 0.9 = 810 on Thursday, 300 × 0.9 + 600 × 0.2 = 390 on Friday.
#[test]
fn a_part_that_froze_the_night_before_is_worth_what_acting_on_ice_saves() {
    let mut config = textbook(1);
    (config.act.effect.irrigation, config.act.effect.iced) = (0.9, 0.2);
    let mut friday = night(30, 0.5, 300.0, -8.0);
    friday.iced_before = vec![brimwater::freeze::IcedBefore {
        since: at(10),
        repair_usd: 200.0,
    }];
    let rows = vec![(household(1, 10).0, of_nights(vec![friday]), Tier::CallFirst, 900.0)];
    let made = make(rows, &config);
    let dial = 0.4 * config.act.call + 0.6 * config.reach.message_left * config.act.message;
    for (now, saved_usd) in [(local(9, 9, 0), 810.0), (local(10, 9, 0), 390.0)] {
        let (plan, _) = run(&made, &config, now, &History::default());
        let call = of(&plan, Way::Call)[0];
        let expected = saved_usd * (1.0 - config.act.unaided) * dial;
        assert!((call.loss_avoided_usd - expected).abs() < 1e-9, "{call:?} {expected}");
        assert!(
            call.in_time && call.act_by.unwrap() >= call.slot_end.unwrap(),
            "{call:?}"
        );
    }
}

type Spell = Vec<(f64, f64, f64, f64)>;

/// Households whose loss falls into the night behind, the coming one and the one after.
fn spell(rows: &Spell, config: &OutreachConfig) -> Made {
    let rows = rows
        .iter()
        .enumerate()
        .map(|(n, (first, second, third, usd))| {
            let nights = [(10, *first), (30, *second), (55, *third)]
                .into_iter()
                .filter(|(_, usd)| *usd > 1.0)
                .map(|(hours, usd)| night(hours, 0.2, usd, -6.0))
                .collect::<Vec<_>>();
            let nights = if nights.is_empty() {
                vec![night(10, 0.2, 9.0, -6.0)]
            } else {
                nights
            };
            (household(n, 10).0, of_nights(nights), Tier::CallFirst, *usd)
        })
        .collect();
    make(rows, config)
}

fn rows() -> impl Strategy<Value = Spell> {
    proptest::collection::vec((0.0..500.0f64, 0.0..500.0f64, 0.0..100.0f64, 100.0..5_000.0f64), 1..30)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// With the spell half over, the schedule avoids at least what any rule does that ignores what has happened: calling by the whole
    /// loss, by the chance, by any other order. What the plan says it avoids is what it avoids.
    #[test]
    fn with_the_spell_half_over_no_rule_that_ignores_it_avoids_more(
        spells in rows(), hour in 9u32..12, order in Just(()).prop_perturb(|(), mut rng| rng.next_u64()),
    ) {
        let config = textbook(1);
        let made = spell(&spells, &config);
        let now = local(10, hour, 0);
        let (plan, _) = run(&made, &config, now, &History::default());
        let calls = of(&plan, Way::Call);
        let worth_of = |index: usize, end| {
            let usd = made.ranked.iter().find(|line| line.index == index).unwrap().expected_loss_usd;
            worth(&made.outlooks[index], usd, end, &config)
        };
        let told: f64 = calls.iter().map(|line| line.loss_avoided_usd).sum();
        let ours: f64 = calls.iter().map(|line| worth_of(line.indices[0], line.slot_end.unwrap())).sum();
        prop_assert!((told - ours).abs() < 1e-6 * ours.max(1.0), "told {told}, avoids {ours}");
        let places = ((13 - hour) * 2) as usize;
        let loss = |at: &usize| made.ranked.iter().find(|line| line.index == *at).unwrap().expected_loss_usd;
        let chance = |at: &usize| made.outlooks[*at].p_damage.unwrap();
        let all: Vec<usize> = (0..made.assemblies.len()).collect();
        let mut by_loss = all.clone();
        by_loss.sort_by(|a, b| loss(b).total_cmp(&loss(a)));
        let mut by_chance = all.clone();
        by_chance.sort_by(|a, b| chance(b).total_cmp(&chance(a)));
        let mut any = all;
        any.sort_by_key(|at| (*at as u64 + 1).wrapping_mul(order | 1));
        for rule in [by_loss, by_chance, any] {
            let avoids: f64 = rule
                .iter()
                .take(places)
                .enumerate()
                .map(|(nth, at)| worth_of(*at, now + TimeDelta::minutes(30 * (nth as i64 + 1))))
                .sum();
            prop_assert!(ours + 1e-6 >= avoids, "ours {ours}, the rule {avoids}");
        }
    }

    /// The same when reports have come in: what was seen broken is no longer called, what was seen fine is worth what the coming nights
    /// hold of it. No rule that goes by the plan of the evening before, which knows of no report, avoids more.
    ///
    /// X-Val: chances after a report by Bayes' rule, with 30 in 100 of ice missed and 10 in 100 of it false.
    #[test]
    fn with_reports_no_rule_that_ignores_them_avoids_more(
        spells in rows(), seen in proptest::collection::vec(0..4usize, 30), hour in 9u32..12,
    ) {
        let config = textbook(1);
        let before = spell(&spells, &config);
        let now = local(10, hour, 0);
        let mut told: Vec<_> = Vec::new();
        for (index, (_, _, _, usd)) in spells.iter().enumerate() {
            let mut outlook = (*before.outlooks[index]).clone();
            let night = |outlook: &Outlook| outlook.nights.iter().position(|night| night.ice_early < now);
            let first = night(&outlook).map_or(0.0, |at| outlook.nights[at].p_damage);
            let (broke, held) = [(1.0, 1.0), (0.3, 0.9), (0.7, 0.1), (0.9, 0.05)][seen[index]];
            let all = first * broke + (1.0 - first) * held;
            for night in &mut outlook.nights {
                let factor = if night.ice_early < now { broke } else { held } / all;
                night.p_damage *= factor;
                night.repair_usd *= factor;
            }
            let prior: f64 = before.outlooks[index].nights.iter().map(|night| night.repair_usd).sum();
            let usd = usd * outlook.nights.iter().map(|night| night.repair_usd).sum::<f64>() / prior;
            outlook.p_damage = Some(outlook.nights.iter().map(|night| night.p_damage).sum());
            let tier = if seen[index] == 3 { Tier::NoContact } else { Tier::CallFirst };
            told.push((household(index, 10).0, outlook, tier, usd));
        }
        let made = make(told, &config);
        let (plan, _) = run(&made, &config, now, &History::default());
        let calls = of(&plan, Way::Call);
        prop_assert!(calls.iter().all(|line| line.indices.iter().all(|at| seen[*at] != 3)), "what is broken is called");
        let worth_of = |index: usize, end| {
            // Nobody keeps whole what has broken.
            if seen[index] == 3 {
                return 0.0;
            }
            let usd = made.ranked.iter().find(|line| line.index == index).unwrap().expected_loss_usd;
            worth(&made.outlooks[index], usd, end, &config)
        };
        let ours: f64 = calls.iter().map(|line| worth_of(line.indices[0], line.slot_end.unwrap())).sum();
        let places = ((13 - hour) * 2) as usize;
        let prior = |at: usize| before.ranked.iter().find(|line| line.index == at).unwrap().expected_loss_usd;
        let mut by_loss: Vec<usize> = (0..spells.len()).collect();
        by_loss.sort_by(|a, b| prior(*b).total_cmp(&prior(*a)));
        let (old, _) = run(&before, &config, now, &History::default());
        let by_old: Vec<usize> = of(&old, Way::Call).iter().map(|line| line.indices[0]).collect();
        for rule in [by_loss, by_old] {
            let avoids: f64 = rule
                .iter()
                .take(places)
                .enumerate()
                .map(|(nth, at)| worth_of(*at, now + TimeDelta::minutes(30 * (nth as i64 + 1))))
                .sum();
            prop_assert!(ours + 1e-6 >= avoids, "ours {ours}, the rule {avoids}");
        }
    }

    /// Nobody whose acting still helps against a night to come is written off for a night that is behind.
    #[test]
    fn nobody_is_written_off_for_last_night(spells in rows(), hour in 0i64..70) {
        let config = OutreachConfig::default();
        let made = spell(&spells, &config);
        let now = at(hour);
        let (plan, _) = run(&made, &config, now, &History::default());
        let light = clock::clock_daylight(Chicago, &config.shift);
        let gone: BTreeSet<usize> = of(&plan, Way::Unreached)
            .into_iter()
            .filter(|line| line.reason.contains("has passed"))
            .map(|line| line.indices[0])
            .collect();
        for (index, outlook) in made.outlooks.iter().enumerate() {
            let helps = outlook
                .nights
                .iter()
                .any(|night| clock::act_by(night.ice_early, config.act.hours.irrigation, Chicago, &light) > now);
            prop_assert!(!(helps && gone.contains(&index)), "{index} at {now}");
        }
    }
}
