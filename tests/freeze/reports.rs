//! Members weighed by what was seen on site: Bayes' rule counted out by hand, and what must hold whatever is reported.

use crate::spells;
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::members::Members;
use brimwater::freeze::setup::Setup;
use brimwater::freeze::simulate::{Simulated, simulate};
use brimwater::freeze::spell::Spell;
use brimwater::freeze::{Outlook, Place, Report, Reports, RunOptions, Seen, Weights, WhatIf, outlooks_told};
use brimwater::inventory::{Assembly, DeviceType, NominalSize, Placement, WinterUse};
use brimwater::ranking::config::RankingConfig;
use brimwater::ranking::{self, Tier};
use brimwater::weather::Series;
use chrono::{DateTime, TimeDelta, Utc};
use proptest::prelude::*;
use std::sync::Arc;

const MEMBERS: usize = 96;

fn hours(h: i64) -> DateTime<Utc> {
    spells::start() + TimeDelta::hours(h)
}

fn options(members: usize, now: DateTime<Utc>) -> RunOptions {
    RunOptions {
        members,
        seed: 1,
        now,
        reported_until: now,
        zone: chrono_tz::UTC,
        what_if: WhatIf::AsListed,
        advice: false,
        advice_cases: 0,
        trace: true,
        regions: None,
    }
}

fn told(reports: &[(&str, i64, Seen)]) -> Reports {
    let mut all = Reports::default();
    for (id, hour, seen) in reports {
        all.add(
            id,
            Report {
                at: hours(*hour),
                seen: *seen,
            },
        );
    }
    all
}

fn run_with(
    assemblies: &[Assembly],
    night: &Series,
    options: &RunOptions,
    freeze: &FreezeConfig,
    reports: &Reports,
) -> Vec<Arc<Outlook>> {
    let places: Vec<Place<'_>> = assemblies
        .iter()
        .map(|assembly| Place {
            assembly,
            series: 0,
            offset_k: 0.0,
        })
        .collect();
    let series = std::slice::from_ref(night);
    let ensemble = EnsembleConfig::default();
    outlooks_told(&places, series, options, freeze, &ensemble, reports, &|_| {}).0
}

fn named(id: &str, device: DeviceType, size: NominalSize) -> Assembly {
    Assembly {
        assembly_id: id.into(),
        ..spells::bare(device, size)
    }
}

/// The members themselves, and the hour at which they begin.
fn members_of(
    assembly: &Assembly,
    night: &Series,
    now: DateTime<Utc>,
    freeze: &FreezeConfig,
) -> (Simulated, DateTime<Utc>) {
    let ensemble = EnsembleConfig::default();
    let members = Members::new(MEMBERS, 1, freeze.damage.strength_log_sd, &ensemble);
    let spell = Spell::new(night, &members, now, chrono_tz::UTC, freeze, &ensemble).unwrap();
    let setup = Setup::new(assembly, spell.day_of_year, WhatIf::AsListed, freeze).for_ensemble(freeze);
    (simulate(&setup, &spell, &members, 0.0, true), spell.start)
}

/// Bayes' rule counted out: chance of first damage by each night (noon to noon, UTC), of damage at all and of ice by the report's hour,
/// from the members' own times and a table of the rates written down here.
///
/// X-Val: P(event | report) = Σ P(report | member) over the members with the event / Σ over all (Bayes' rule, equal priors).
fn by_hand(run: &Simulated, start: DateTime<Utc>, report: Report, rates: [f64; 4]) -> ([f64; 4], f64, f64) {
    let [false_ice, missed_ice, false_break, missed_break] = rates;
    let t = (report.at - start).num_seconds() as f64;
    let (mut nights, mut all, mut broken_by, mut iced_by, mut sum) = ([0.0; 4], 0.0, 0.0, 0.0, 0.0);
    for m in 0..run.first_ice_s.len() {
        let breaks = run.damage_s.iter().map(|part| part[m]).fold(f64::INFINITY, f64::min);
        let hour = ((t / 3600.0) as usize).min(run.hour_coldest_c.len() - 1);
        let ice_now = run.first_ice_s[m] <= t && run.hour_coldest_c[hour][m] <= 0.0;
        let chance = match (report.seen, breaks <= t, ice_now) {
            (Seen::Fine, false, false) => 1.0 - false_ice,
            (Seen::Fine, _, true) => missed_ice,
            (Seen::Fine, true, false) => missed_break,
            (Seen::Ice, false, false) => false_ice,
            (Seen::Ice, _, _) => 1.0 - missed_ice,
            (Seen::Broken, false, _) => false_break,
            (Seen::Broken, true, _) => 1.0 - missed_break,
            (Seen::Whole, false, _) => 1.0 - false_break,
            (Seen::Whole, true, _) => missed_break,
        };
        sum += chance;
        if breaks.is_finite() {
            all += chance;
            let at = start + TimeDelta::seconds(breaks as i64);
            // The first night runs until noon of the day after the spell's first noon.
            let night = (at - spells::start()).num_hours().div_euclid(24).clamp(0, 3);
            nights[night as usize] += chance;
        }
        broken_by += if breaks <= t { chance } else { 0.0 };
        iced_by += if run.first_ice_s[m] <= t { chance } else { 0.0 };
    }
    let _ = broken_by;
    (nights.map(|n| n / sum), all / sum, iced_by / sum)
}

/// First breaks by night of an outlook, nights numbered as in [`by_hand`].
fn nights_of(outlook: &Outlook) -> [f64; 4] {
    let mut nights = [0.0; 4];
    for night in &outlook.nights {
        let at = (night.ice_early - spells::start())
            .num_hours()
            .div_euclid(24)
            .clamp(0, 3);
        nights[at as usize] += night.p_damage;
    }
    nights
}

/// Chance that damage or ice came by the end of the hour before this one.
fn by_hour(values: &[f64], hour: i64) -> f64 {
    values[(hour - 1) as usize]
}

#[test]
fn the_posterior_is_what_bayes_rule_gives_counted_by_hand() {
    let freeze = FreezeConfig::default();
    let rates = [0.1, 0.3, 0.05, 0.1];
    let night = spells::two_nights(24.0, 3.0);
    let assembly = named("A", DeviceType::Pvb, NominalSize::N1);
    // Nine on the morning after the first night, which lies 21 hours after noon.
    for (hour, seen) in [
        (21, Seen::Fine),
        (21, Seen::Ice),
        (21, Seen::Broken),
        (45, Seen::Fine),
        (15, Seen::Ice),
    ] {
        let now = hours(hour);
        let outlook = &run_with(
            std::slice::from_ref(&assembly),
            &night,
            &options(MEMBERS, now),
            &freeze,
            &told(&[("A", hour, seen)]),
        )[0];
        let (run, start) = members_of(&assembly, &night, now, &freeze);
        let (nights, all, iced) = by_hand(&run, start, Report { at: now, seen }, rates);
        // The same sums in another order: rounding alone.
        assert!(
            (outlook.p_damage.unwrap() - all).abs() < 1e-12,
            "{seen:?} {:?} {all}",
            outlook.p_damage
        );
        for (ours, theirs) in nights_of(outlook).iter().zip(nights) {
            assert!(
                (ours - theirs).abs() < 1e-12,
                "{seen:?} at {hour}: {:?} {nights:?}",
                nights_of(outlook)
            );
        }
        let trace = outlook.trace.as_ref().unwrap();
        assert!((by_hour(&trace.p_ice_by, hour) - iced).abs() < 1e-12, "{seen:?}");
        let sum: f64 = outlook.nights.iter().map(|night| night.repair_usd).sum();
        assert!((sum - outlook.expected_repair_usd).abs() < 1e-6 * sum.max(1.0));
        let reported = outlook.reported.as_ref().unwrap();
        assert!(reported.weighed && reported.effective_members > 1.0 && reported.effective_members <= MEMBERS as f64);
    }
}

/// Two nights of which the second is colder.
fn colder_second() -> Series {
    let mut night = spells::two_nights(27.0, 3.0);
    for air in &mut night.air_c[30..=46] {
        *air *= 2.0;
    }
    for (dew, air) in night.dew_point_c.iter_mut().zip(&night.air_c) {
        *dew = Some(air - 3.0);
    }
    night
}

/// The point of it all: what rode out the first night is still worth a call before the second.
#[test]
fn a_report_of_fine_moves_the_chance_into_the_coming_night() {
    // Castings that nothing seeps out of: what ices breaks in the same night, so that the two nights share the members.
    let mut freeze = FreezeConfig::default();
    freeze.damage.seep_per_mpa_h = 0.0;
    freeze.damage.cavity_give = 0.0;
    let night = colder_second();
    let assembly = named("A", DeviceType::Pvb, NominalSize::N1);
    let of = |reports: &Reports| {
        let found = run_with(
            std::slice::from_ref(&assembly),
            &night,
            &options(MEMBERS, hours(21)),
            &freeze,
            reports,
        );
        nights_of(&found[0])
    };
    let (before, fine, ice) = (
        of(&Reports::default()),
        of(&told(&[("A", 21, Seen::Fine)])),
        of(&told(&[("A", 21, Seen::Ice)])),
    );
    assert!(before[0] > 0.05 && before[1] > 0.2, "{before:?}");
    assert!(fine[0] < before[0] && fine[1] > before[1], "{before:?} {fine:?}");
    assert!(ice[0] > before[0] && ice[1] < before[1], "{before:?} {ice:?}");
}

#[test]
fn a_report_that_no_member_agrees_with_changes_nothing_and_is_told() {
    let freeze = FreezeConfig::default();
    let night = spells::clear_night(33.0);
    let pvb = named("A", DeviceType::Pvb, NominalSize::N1);
    let drained = Assembly {
        winter_use: WinterUse::Drained,
        ..named("D", DeviceType::Pvb, NominalSize::N1)
    };
    let indoors = Assembly {
        placement: Placement::Indoors,
        ..named("I", DeviceType::Pvb, NominalSize::N1)
    };
    let assemblies = [pvb, drained, indoors];
    let reports = told(&[("A", 20, Seen::Ice), ("D", 20, Seen::Ice), ("I", 20, Seen::Broken)]);
    let options = options(MEMBERS, hours(21));
    let with = run_with(&assemblies, &night, &options, &freeze, &reports);
    let without = run_with(&assemblies, &night, &options, &freeze, &Reports::default());
    for (with, without) in with.iter().zip(&without) {
        let told = with.reported.as_ref().unwrap();
        assert!(told.contradicted(), "{told:?}");
        let (a, b) = (with.p_damage.unwrap(), without.p_damage.unwrap());
        assert!((a - b).abs() < 1e-12 && a.is_finite(), "{a} {b}");
        assert!(told.effective_members > MEMBERS as f64 - 1e-6);
    }
}

#[test]
fn what_was_reported_broken_is_not_called_and_says_so() {
    let freeze = FreezeConfig::default();
    let night = spells::two_nights(20.0, 3.0);
    let assemblies = [
        named("A", DeviceType::Rp, NominalSize::N2),
        named("B", DeviceType::Rp, NominalSize::N2),
    ];
    let found = run_with(
        &assemblies,
        &night,
        &options(MEMBERS, hours(21)),
        &freeze,
        &told(&[("B", 21, Seen::Broken)]),
    );
    let words = ranking::Words {
        zone: chrono_tz::UTC,
        us: true,
        language: brimwater::language::Language::English,
    };
    let ranked = ranking::rank(&assemblies, &found, &RankingConfig::default(), &words);
    let line = |index| ranked.iter().find(|line| line.index == index).unwrap();
    assert_ne!(line(0).tier, Tier::NoContact);
    assert_eq!(line(1).tier, Tier::NoContact);
    // Nine on the morning of the fifteenth of January 2031, a Wednesday.
    assert!(
        line(1)
            .reason
            .contains("reported broken Wednesday at 9:00 am; to be inspected, not called"),
        "{}",
        line(1).reason
    );
    // The other was not touched by it, to the last bit.
    let alone = run_with(
        &assemblies[..1],
        &night,
        &options(MEMBERS, hours(21)),
        &freeze,
        &Reports::default(),
    );
    assert_eq!(*found[0], *alone[0]);
}

/// What is iced is past a wrap; what is fine is not. A chance of nothing is nothing, and no minus stands before it.
#[test]
fn no_measure_is_told_for_what_has_ice_in_it_already() {
    let freeze = FreezeConfig::default();
    let assemblies = ["I", "F", "N"].map(|id| Assembly {
        wrap_m2k_per_w: 0.0,
        ..named(id, DeviceType::Pvb, NominalSize::N1)
    });
    let options = RunOptions {
        advice: true,
        advice_cases: 10,
        ..options(32, hours(21))
    };
    let reports = told(&[("I", 21, Seen::Ice), ("F", 21, Seen::Fine)]);
    let found = run_with(&assemblies, &colder_second(), &options, &freeze, &reports);
    assert!(found[0].advice.is_empty() && !found[1].advice.is_empty() && !found[2].advice.is_empty());
    let words = ranking::Words {
        zone: chrono_tz::UTC,
        us: true,
        language: brimwater::language::Language::English,
    };
    let ranked = ranking::rank(&assemblies, &found, &RankingConfig::default(), &words);
    let reason = |index| &ranked.iter().find(|line| line.index == index).unwrap().reason;
    assert!(
        reason(0).contains("with ice in it no wrap and no draining helps any more"),
        "{}",
        reason(0)
    );
    assert!(
        reason(1).contains("would do") && !reason(1).contains("with ice in it"),
        "{}",
        reason(1)
    );
    let mild = run_with(&assemblies, &spells::clear_night(40.0), &options, &freeze, &reports);
    for outlook in mild {
        assert!(outlook.p_damage.unwrap().is_sign_positive() && outlook.p_ice.unwrap().is_sign_positive());
    }
}

#[test]
fn reports_of_other_times_and_repeated_looks_do_not_count_twice() {
    let freeze = FreezeConfig::default();
    let night = spells::two_nights(24.0, 3.0);
    let assembly = named("A", DeviceType::Pvb, NominalSize::N1);
    let of = |reports: &[(&str, i64, Seen)]| {
        let found = run_with(
            std::slice::from_ref(&assembly),
            &night,
            &options(MEMBERS, hours(21)),
            &freeze,
            &told(reports),
        );
        found[0].clone()
    };
    let nothing = of(&[]);
    // After the time of planning, and before the spell.
    assert_eq!(
        of(&[("A", 30, Seen::Ice), ("A", -48, Seen::Broken), ("X", 20, Seen::Ice)]).reported,
        None
    );
    assert_eq!(of(&[("A", 30, Seen::Ice)]).p_damage, nothing.p_damage);
    let once = of(&[("A", 21, Seen::Fine)]);
    let thrice = of(&[("A", 20, Seen::Fine), ("A", 21, Seen::Fine), ("A", 19, Seen::Fine)]);
    assert_eq!(once, thrice);
    let ice = of(&[("A", 17, Seen::Ice)]);
    assert_eq!(ice, of(&[("A", 17, Seen::Ice), ("A", 20, Seen::Ice)]));
    // Ice that was gone when somebody looked again: both count.
    let both = of(&[("A", 17, Seen::Ice), ("A", 21, Seen::Fine)]);
    assert_eq!(both.reported.as_ref().unwrap().reports.len(), 2);
    assert_ne!(both.p_damage, ice.p_damage);
}

/// What was seen is what came of the list as it stands; "if the power fails" must not turn it into a report of a world without power.
#[test]
fn in_another_case_members_are_weighed_by_the_listed_one() {
    let freeze = FreezeConfig::default();
    let night = spells::two_nights(15.0, 0.0);
    let heated = Assembly {
        placement: Placement::HeatedEnclosure,
        ..named("H", DeviceType::Rp, NominalSize::N1)
    };
    let options = RunOptions {
        what_if: WhatIf::PowerOut,
        ..options(MEMBERS, hours(21))
    };
    let list = std::slice::from_ref(&heated);
    let without = run_with(list, &night, &options, &freeze, &Reports::default());
    let with = run_with(list, &night, &options, &freeze, &told(&[("H", 21, Seen::Fine)]));
    // With its heater it is fine in every member, so that the report parts none.
    assert!((with[0].p_damage.unwrap() - without[0].p_damage.unwrap()).abs() < 1e-12);
    assert!(without[0].p_damage.unwrap() > 0.1, "{:?}", without[0].p_damage);
}

/// X-Val: type 7 of Hyndman and Fan (1996) on the list in which each value stands as often as its weight says.
#[test]
fn weighted_percentiles_are_those_of_the_list_written_out() {
    let values = [5.0, 1.0, 9.0, 3.0, 7.0, 2.0];
    let weights = Weights::of(vec![2.0, 0.0, 1.0, 2.0, 0.0, 1.0]);
    let mut written: Vec<f64> = vec![5.0, 5.0, 9.0, 3.0, 3.0, 2.0];
    written.sort_by(f64::total_cmp);
    for step in 0..=20 {
        let q = f64::from(step) / 20.0;
        let at = q * 5.0;
        let (low, high) = (written[at.floor() as usize], written[(at.floor() as usize + 1).min(5)]);
        let expected = low + (at - at.floor()) * (high - low);
        assert!((weights.percentile(&values, q) - expected).abs() < 1e-12, "{q}");
        // All alike is the plain percentile, to the bit.
        assert_eq!(
            Weights::of(vec![1.0; 6]).percentile(&values, q),
            Weights::alike().percentile(&values, q)
        );
    }
    // X-Val: Kish's (Σw)²/Σw² by hand: 6²/(4+1+4+1).
    assert!((weights.effective(6) - 3.6).abs() < 1e-12);
    // Weights that are none count all alike.
    assert_eq!(Weights::of(vec![0.0; 3]), Weights::alike());
    assert_eq!(Weights::of(vec![f64::NAN, 1.0]), Weights::alike());
}

#[derive(Debug, Clone)]
struct Drawn {
    minimum_f: f64,
    day_c: f64,
    device: DeviceType,
    wrap_r: f64,
    hour: i64,
    rates: [f64; 4],
}

fn drawn() -> impl Strategy<Value = Drawn> {
    (
        18.0..31.0f64,
        -1.0..6.0f64,
        prop::sample::select(vec![DeviceType::Pvb, DeviceType::Rp, DeviceType::Dc, DeviceType::Avb]),
        prop::sample::select(vec![0.0, 1.0]),
        8i64..60,
        [0.02..0.4f64, 0.02..0.4f64, 0.02..0.4f64, 0.02..0.4f64],
    )
        .prop_map(|(minimum_f, day_c, device, wrap_r, hour, rates)| Drawn {
            minimum_f,
            day_c,
            device,
            wrap_r,
            hour,
            rates,
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    /// Whatever the nights, the assembly, the hour and the rates of error: ice seen never lowers the chance that it iced or broke by then; fine never
    /// raises either; broken never lowers that it broke; every chance is one, nights add up, and the posterior is Bayes' rule counted by hand.
    #[test]
    fn reports_move_chances_the_way_they_must(drawn in drawn()) {
        let mut freeze = FreezeConfig::default();
        [
            freeze.reports.false_ice,
            freeze.reports.missed_ice,
            freeze.reports.false_break,
            freeze.reports.missed_break,
        ] = drawn.rates;
        let night = spells::two_nights(drawn.minimum_f, drawn.day_c);
        let assembly = Assembly {
            wrap_m2k_per_w: drawn.wrap_r * brimwater::units::M2K_PER_W_PER_R_US,
            ..named("A", drawn.device, NominalSize::N1)
        };
        let now = hours(drawn.hour);
        let (run, start) = members_of(&assembly, &night, now, &freeze);
        let of = |reports: &Reports| {
            run_with(std::slice::from_ref(&assembly), &night, &options(MEMBERS, now), &freeze, reports)[0].clone()
        };
        let by = |outlook: &Outlook| {
            let trace = outlook.trace.as_ref().unwrap();
            (by_hour(&trace.p_ice_by, drawn.hour), by_hour(&trace.p_damage_by, drawn.hour))
        };
        let prior = of(&Reports::default());
        let (ice, broken) = by(&prior);
        for seen in Seen::ALL {
            let outlook = of(&told(&[("A", drawn.hour, seen)]));
            let (ice_now, broken_now) = by(&outlook);
            let p = outlook.p_damage.unwrap();
            prop_assert!((0.0..=1.0).contains(&p) && outlook.expected_repair_usd.is_finite());
            let sum: f64 = outlook.nights.iter().map(|night| night.p_damage).sum();
            prop_assert!((sum - p).abs() < 1e-9, "nights add to {sum}, not {p}");
            match seen {
                Seen::Ice => {
                    prop_assert!(ice_now >= ice - 1e-12, "ice {ice} to {ice_now}");
                    prop_assert!(broken_now >= broken - 1e-12, "broken {broken} to {broken_now}");
                }
                Seen::Fine => {
                    prop_assert!(ice_now <= ice + 1e-12, "ice {ice} to {ice_now}");
                    prop_assert!(broken_now <= broken + 1e-12, "broken {broken} to {broken_now}");
                }
                Seen::Broken => prop_assert!(broken_now >= broken - 1e-12, "broken {broken} to {broken_now}"),
                Seen::Whole => prop_assert!(broken_now <= broken + 1e-12, "broken {broken} to {broken_now}"),
            }
            let report = Report { at: now, seen };
            if start <= now && outlook.reported.as_ref().is_some_and(|told| told.weighed) {
                let (nights, all, _) = by_hand(&run, start, report, drawn.rates);
                prop_assert!((p - all).abs() < 1e-9, "{seen:?}: {p} {all}");
                for (ours, theirs) in nights_of(&outlook).iter().zip(nights) {
                    prop_assert!((ours - theirs).abs() < 1e-9, "{seen:?}: {:?} {nights:?}", nights_of(&outlook));
                }
            }
        }
    }
}

/// Who looks for damage alone weighs broken against whole and leaves ice as it was: by Bayes' rule, counted out by hand.
///
/// X-Val: of members of which none is broken each keeps its weight, since both whole standings are told whole alike.
#[test]
fn whole_without_a_look_for_ice_says_nothing_of_ice() {
    use brimwater::freeze::reports::{ReportErrors, Standing};
    let errors = ReportErrors::default();
    for standing in [
        Standing::Clear,
        Standing::Iced,
        Standing::BrokenIced,
        Standing::BrokenThawed,
    ] {
        let both = errors.chance(Seen::Whole, standing) + errors.chance(Seen::Broken, standing);
        assert!((both - 1.0).abs() < 1e-12, "{standing:?}");
    }
    assert_eq!(
        errors.chance(Seen::Whole, Standing::Clear),
        errors.chance(Seen::Whole, Standing::Iced)
    );
    assert!(errors.chance(Seen::Whole, Standing::BrokenThawed) < errors.chance(Seen::Whole, Standing::Clear));
    let freeze = FreezeConfig::default();
    let assemblies = [named("I", DeviceType::Pvb, NominalSize::N1)];
    let past = |reports: &[(&str, i64, Seen)]| {
        let found = run_with(
            &assemblies,
            &colder_second(),
            &options(32, hours(21)),
            &freeze,
            &told(reports),
        );
        found[0].is_past_advice()
    };
    assert!(
        past(&[("I", 18, Seen::Ice), ("I", 20, Seen::Whole)]),
        "ice stays ice until somebody looks for it"
    );
    assert!(!past(&[("I", 18, Seen::Ice), ("I", 20, Seen::Fine)]));
    assert!(
        !past(&[("I", 18, Seen::Broken), ("I", 20, Seen::Whole)]),
        "a break that was none"
    );
    assert!(!past(&[("I", 20, Seen::Whole)]));
}
