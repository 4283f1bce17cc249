//! What is told and when: by the rules alone, without a clock.

use brimwater::watch::config::WatchConfig;
use brimwater::watch::decide::{About, Seen, State, Way};
use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use std::collections::BTreeSet;

fn at(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

fn rules() -> WatchConfig {
    WatchConfig {
        quiet_from: "00:00:00".parse().unwrap(),
        quiet_until: "00:00:00".parse().unwrap(),
        ..WatchConfig::default()
    }
}

fn plan(sites: impl IntoIterator<Item = usize>) -> Seen {
    Seen::Plan {
        call_first: sites.into_iter().map(|site| format!("S{site}")).collect(),
        first_ice: None,
        lowest_c: Some(-8.0),
        stale: false,
    }
}

fn old(seen: Seen) -> Seen {
    match seen {
        Seen::Plan {
            call_first,
            first_ice,
            lowest_c,
            ..
        } => Seen::Plan {
            call_first,
            first_ice,
            lowest_c,
            stale: true,
        },
        nothing => nothing,
    }
}

/// Takes a finding and gives what is to be told, as if it were told at once. The state goes through its file's form each time, as
/// after a restart.
fn told(state: &mut State, seen: &Seen, now: DateTime<Utc>, rules: &WatchConfig) -> Vec<(About, bool)> {
    *state = serde_json::from_str(&serde_json::to_string(state).unwrap()).unwrap();
    state.take(seen, now, Tz::America__Chicago, &BTreeSet::from([Way::File]), rules);
    let words = std::mem::take(&mut state.outbox);
    words.iter().map(|word| (word.about, word.reminder)).collect()
}

#[test]
fn each_change_is_told_once() {
    let (mut state, rules) = (State::default(), WatchConfig { remind_h: 0, ..rules() });
    let start = at("2027-01-18T12:00:00Z");
    let hour = |hours| start + TimeDelta::hours(hours);
    let mut run = |hours, seen: Seen| told(&mut state, &seen, hour(hours), &rules);
    assert_eq!(run(0, plan([])), []);
    assert_eq!(run(1, plan(0..3)), [(About::FirstNight, false)]);
    // The same again, and ten more: not more than ten.
    assert_eq!(run(2, plan(0..3)), []);
    assert_eq!(run(3, plan(0..13)), []);
    assert_eq!(run(4, plan(0..14)), [(About::MoreToCall, false)]);
    // Eleven that leave and come back are not new. Wrong program: compares with the last plan.
    assert_eq!(run(5, plan(0..2)), []);
    assert_eq!(run(6, plan(0..14)), []);
    assert_eq!(run(7, plan([])), []);
    assert_eq!(run(12, plan([])), []);
    assert_eq!(run(13, plan([])), [(About::Thaw, false)]);
    assert_eq!(run(14, plan([])), []);
    // A second spell is a first night again.
    assert_eq!(run(40, plan(0..1)), [(About::FirstNight, false)]);
}

#[test]
fn noise_at_the_threshold_tells_nothing_over_two_hundred_days() {
    // Wrong program: a word for each crossing. Four plans a day for 200 days; a site at the threshold is on the list in three plans of four,
    // by a fixed sequence that stands for chance, and every spell of such noise is told once, at its beginning.
    let (mut state, rules) = (State::default(), WatchConfig { remind_h: 0, ..rules() });
    let start = at("2026-11-01T00:00:00Z");
    let mut words = Vec::new();
    let mut draw = 12_345_u64;
    for plan_number in 0..800 {
        draw = draw
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let on = (draw >> 62) != 0;
        // Ten cold days out of forty.
        let cold = plan_number % 160 < 40;
        let seen = plan(if cold && on { 0..1 } else { 0..0 });
        words.extend(told(
            &mut state,
            &seen,
            start + TimeDelta::hours(6 * plan_number),
            &WatchConfig {
                thaw_after_h: 24,
                ..rules.clone()
            },
        ));
    }
    let of = |about| words.iter().filter(|word| word.0 == about).count();
    assert_eq!(
        (of(About::FirstNight), of(About::Thaw), of(About::MoreToCall)),
        (5, 5, 0)
    );
}

#[test]
fn an_old_forecast_and_no_plan_are_told_once_and_are_no_thaw() {
    let (mut state, rules) = (State::default(), rules());
    let start = at("2027-01-18T12:00:00Z");
    let mut run = |hours, seen: Seen| told(&mut state, &seen, start + TimeDelta::hours(hours), &rules);
    assert_eq!(run(0, plan(0..3)), [(About::FirstNight, false)]);
    let nothing = || Seen::Nothing {
        why: "the service is down".into(),
    };
    assert_eq!(run(1, nothing()), [(About::NoPlan, false)]);
    // Down for a day: one word, then one reminder. Wrong programs: one word an hour; or silence; or a thaw, for nobody is on the list.
    for hours in 2..25 {
        assert_eq!(run(hours, nothing()), [], "{hours}");
    }
    assert_eq!(run(25, nothing()), [(About::NoPlan, true)]);
    assert_eq!(run(26, old(plan([]))), [(About::Stale, false)]);
    for hours in 27..40 {
        assert_eq!(run(hours, old(plan([]))), [], "{hours}");
    }
    // Fresh again with the spell as it was: only its reminder, which is due.
    assert_eq!(run(40, plan(0..3)), [(About::FirstNight, true)]);
}

#[test]
fn a_clock_that_is_put_back_silences_nothing() {
    let (mut state, rules) = (State::default(), rules());
    let now = at("2027-06-01T12:00:00Z");
    assert_eq!(told(&mut state, &plan(0..1), now, &rules), [(About::FirstNight, false)]);
    // The clock had been five months ahead. Wrong program: no reminder until June.
    let right = at("2027-01-18T12:00:00Z");
    assert_eq!(told(&mut state, &plan(0..1), right, &rules), []);
    assert_eq!(
        told(&mut state, &plan(0..1), right + TimeDelta::hours(24), &rules),
        [(About::FirstNight, true)]
    );
}

#[test]
fn quiet_hours_hold_what_can_wait_and_end_by_the_clock_on_the_wall() {
    let rules = WatchConfig::default();
    let ways = BTreeSet::from([Way::File]);
    let seen = |hours: i64, now: DateTime<Utc>| Seen::Plan {
        call_first: BTreeSet::from(["S1".to_owned()]),
        first_ice: Some(now + TimeDelta::hours(hours)),
        lowest_c: None,
        stale: false,
    };
    // 23:00 in Chicago, in the night in which its clocks go forward: quiet until 06:00 CDT, which is 11:00 UTC and six hours away.
    let night = at("2027-03-14T05:00:00Z");
    let mut state = State::default();
    state.take(&seen(60, night), night, Tz::America__Chicago, &ways, &rules);
    assert_eq!(state.outbox[0].after, Some(at("2027-03-14T11:00:00Z")));
    // Near ice is told at night, and what was held goes with it.
    let sites = Seen::Plan {
        call_first: (0..30).map(|site| format!("N{site}")).collect(),
        first_ice: Some(night + TimeDelta::hours(5)),
        lowest_c: None,
        stale: false,
    };
    state.take(&sites, night, Tz::America__Chicago, &ways, &rules);
    assert!(state.outbox.iter().all(|word| word.after.is_none()) && state.outbox.len() == 2);
}
