//! After the spell: whom to visit in which order, on which day, by whom, and the record to fill.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::campaign::{Programme, Row, household, local, rows};
use brimwater::freeze::Outlook;
use brimwater::inventory::{Assembly, CustomerClass, DeviceType, NominalSize, Service, WinterUse};
use brimwater::output::after::{RECORD_WORDS, inspection_csv, record_csv, words_csv};
use brimwater::outreach::after::{Queue, Spell, Test, Visit, due, visits};
use brimwater::outreach::config::{AfterConfig, VisitOrder};
use brimwater::outreach::outcome::Outcome;
use brimwater::ranking::Tier;
use chrono::{Datelike, NaiveDate};
use std::collections::{BTreeMap, BTreeSet};

/// Friday, January 17, 2031.
fn friday() -> NaiveDate {
    NaiveDate::from_ymd_opt(2031, 1, 17).unwrap()
}

fn spell(programme: &Programme, seed: u64) -> Spell<'_> {
    Spell {
        assemblies: &programme.assemblies,
        outlooks: &programme.outlooks,
        ranked: &programme.ranked,
        people: &programme.people,
        history: &programme.history,
        first_day: friday(),
        seed,
        // Any curve that is largest at a coin-flip.
        teaches: &|p| 4.0 * p * (1.0 - p),
    }
}

fn row(n: usize, change: impl FnOnce(&mut Assembly, &mut Outlook)) -> Row {
    let (mut assembly, mut outlook) = household(n, 40);
    assembly.last_test = Some(friday());
    change(&mut assembly, &mut outlook);
    (assembly, outlook, Tier::CallNext, 100.0)
}

fn order(programme: &Programme, found: &[Visit]) -> Vec<String> {
    found
        .iter()
        .map(|visit| programme.assemblies[visit.assembly].assembly_id.to_string())
        .collect()
}

#[test]
fn critical_and_fire_come_first_then_hazard_then_use_then_irrigation() {
    let programme = Programme::new(vec![
        row(1, |_, _| {}),
        row(2, |a, _| {
            a.service = Service::Domestic;
            a.winter_use = WinterUse::InUse;
            a.device_type = DeviceType::Dc;
        }),
        row(3, |a, _| {
            a.service = Service::Domestic;
            a.winter_use = WinterUse::InUse;
            a.device_type = DeviceType::Rp;
        }),
        row(4, |a, _| a.service = Service::Fire),
        row(5, |a, _| a.critical = Some("dialysis".into())),
    ]);
    let found = visits(&spell(&programme, 1), &AfterConfig::default());
    assert_eq!(order(&programme, &found), ["A0005", "A0004", "A0003", "A0002", "A0001"]);
    assert_eq!(
        found.iter().map(|visit| visit.queue).collect::<Vec<_>>(),
        [
            Queue::Critical,
            Queue::Fire,
            Queue::HealthHazard,
            Queue::InUse,
            Queue::BeforeTurnOn
        ]
    );
}

#[test]
fn inside_a_queue_the_greater_chance_comes_first_then_the_earlier_due_date() {
    let date = |y, m, d| NaiveDate::from_ymd_opt(y, m, d);
    let programme = Programme::new(vec![
        row(1, |a, _| a.last_test = date(2030, 6, 1)),
        row(2, |a, _| a.last_test = date(2029, 6, 1)),
        row(3, |_, o| o.p_damage = Some(0.9)),
        // Hardly any ice: not on the list, only in the random sample.
        row(4, |_, o| {
            o.p_ice = Some(0.05);
            o.p_damage = Some(0.01);
        }),
    ]);
    let found = visits(&spell(&programme, 1), &AfterConfig::default());
    assert_eq!(order(&programme, &found), ["A0003", "A0002", "A0001", "A0004"]);
    assert_eq!(found[3].queue, Queue::Sample);
    assert_eq!(
        (found[3].day, found[3].tester),
        (None, None),
        "a sample needs no tester"
    );
}

#[test]
fn tests_fall_due_after_one_year_or_two_by_class_and_fire_lines_yearly() {
    // Common practice, no source: commercial and public yearly, residential two-yearly.
    let config = AfterConfig::default();
    let with = |class, service, last: Option<NaiveDate>| {
        let (mut assembly, _) = household(1, 40);
        assembly.customer_class = class;
        assembly.service = service;
        assembly.last_test = last;
        due(&assembly, &config)
    };
    let last = NaiveDate::from_ymd_opt(2029, 3, 31);
    let date = |y, m, d| NaiveDate::from_ymd_opt(y, m, d);
    assert_eq!(
        with(CustomerClass::Residential, Service::Irrigation, last),
        date(2031, 3, 31)
    );
    assert_eq!(
        with(CustomerClass::Commercial, Service::Domestic, last),
        date(2030, 3, 31)
    );
    assert_eq!(with(CustomerClass::Public, Service::Domestic, last), date(2030, 3, 31));
    assert_eq!(with(CustomerClass::Residential, Service::Fire, last), date(2030, 3, 31));
    assert_eq!(with(CustomerClass::Residential, Service::Irrigation, None), None);
    // The last day of February in a leap year, a year on.
    assert_eq!(
        with(CustomerClass::Commercial, Service::Domestic, date(2028, 2, 29)),
        date(2029, 2, 28)
    );
}

#[test]
fn whether_a_test_goes_with_the_visit_follows_the_due_date() {
    let date = |y, m, d| NaiveDate::from_ymd_opt(y, m, d);
    let test = |last: Option<NaiveDate>, kind: DeviceType| {
        let programme = Programme::new(vec![row(1, |a, _| {
            a.last_test = last;
            a.device_type = kind;
        })]);
        visits(&spell(&programme, 1), &AfterConfig::default())[0].test
    };
    // Residential: due two years on. The visit is on January 17, 2031, and 30 days are looked ahead.
    assert_eq!(test(date(2029, 1, 16), DeviceType::Pvb), Test::Overdue);
    assert_eq!(test(date(2029, 1, 17), DeviceType::Pvb), Test::FallsDue);
    assert_eq!(test(date(2029, 2, 16), DeviceType::Pvb), Test::FallsDue);
    assert_eq!(test(date(2029, 2, 17), DeviceType::Pvb), Test::IfDamaged);
    assert_eq!(test(None, DeviceType::Pvb), Test::Unknown);
    assert_eq!(test(None, DeviceType::Avb), Test::NotTestable);
}

#[test]
fn testers_are_never_given_more_than_a_day_holds_nor_a_weekend() {
    let programme = Programme::new(
        (0..100)
            .map(|n| {
                row(n, |a, _| {
                    if n % 5 == 0 {
                        a.nominal_size = NominalSize::N4;
                    }
                })
            })
            .collect(),
    );
    let config = AfterConfig {
        testers: 2,
        small_per_day: 10.0,
        large_per_day: 4.0,
        within_days: 5,
        ..AfterConfig::default()
    };
    let found = visits(&spell(&programme, 1), &config);
    assert_eq!(found.len(), 100);
    let mut load: BTreeMap<(NaiveDate, usize), f64> = BTreeMap::new();
    for visit in &found {
        let (day, tester) = (visit.day.unwrap(), visit.tester.unwrap());
        assert!(day >= friday() && day.weekday().number_from_monday() <= 5, "{day}");
        assert!((1..=2).contains(&tester));
        let large = programme.assemblies[visit.assembly].nominal_size == NominalSize::N4;
        *load.entry((day, tester)).or_insert(0.0) += if large { 1.0 / 4.0 } else { 1.0 / 10.0 };
        assert_eq!(visit.late, day > friday() + chrono::Days::new(5), "{day}");
    }
    // 80 small and 20 large are 13 tester days; two testers, Friday, then Monday on: seven working days.
    assert!(load.values().all(|load| *load <= 1.0 + 1e-9), "{load:?}");
    assert_eq!(load.keys().map(|(day, _)| *day).collect::<BTreeSet<_>>().len(), 7);
    assert!(found.iter().any(|visit| visit.late));
    let nobody = AfterConfig { testers: 0, ..config };
    assert!(
        visits(&spell(&programme, 1), &nobody)
            .iter()
            .all(|visit| visit.day.is_none() && visit.tester.is_none())
    );
}

#[test]
fn the_random_sample_is_the_same_for_a_seed_and_holds_only_what_did_not_freeze() {
    let programme = Programme::new(
        (0..60)
            .map(|n| {
                row(n, |_, o| {
                    if n % 3 > 0 {
                        o.p_ice = Some(0.0)
                    }
                })
            })
            .collect(),
    );
    let config = AfterConfig {
        random_sample: 10,
        ..AfterConfig::default()
    };
    let drawn = |seed| -> BTreeSet<String> {
        let found = visits(&spell(&programme, seed), &config);
        let sample: Vec<Visit> = found.into_iter().filter(|visit| visit.queue == Queue::Sample).collect();
        order(&programme, &sample).into_iter().collect()
    };
    assert_eq!(drawn(1).len(), 10);
    assert_eq!(drawn(1), drawn(1));
    assert_ne!(drawn(1), drawn(2));
    assert!(drawn(1).iter().all(|id| id[1..].parse::<usize>().unwrap() % 3 > 0));
    // Each is drawn about as often as any other: 40 to draw from, 10 drawn, 400 seeds; 100 expected, standard deviation 8.7.
    let mut often: BTreeMap<String, usize> = BTreeMap::new();
    for seed in 0..400 {
        for id in drawn(seed) {
            *often.entry(id).or_insert(0) += 1;
        }
    }
    assert_eq!(often.len(), 40);
    // Four and a half standard deviations.
    assert!(often.values().all(|count| (61..=139).contains(count)), "{often:?}");
}

/// A full run to files: two that froze (one critical with a formula for a name) and one drawn at random.
fn made_files() -> (Programme, String, String) {
    let mut programme = Programme::new(vec![
        row(1, |a, _| a.critical = Some("=HYPERLINK(\"x\")".into())),
        row(2, |a, _| {
            a.service = Service::Fire;
            a.contact.site_address = Some("@12 Mill Lane".into());
        }),
        row(3, |_, o| o.p_ice = Some(0.0)),
    ]);
    programme.history.add("C-A0001", Outcome::Reached, local(9, 10, 0));
    let spell = spell(&programme, 1);
    let found = visits(&spell, &AfterConfig::default());
    let list = inspection_csv(&found, &spell, false).unwrap();
    let record = record_csv(
        &found,
        &spell,
        "cold spell of January",
        "0123456789abcdef",
        &programme.words(),
    )
    .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    let (list, record) = (text(list), text(record));
    (programme, list, record)
}

#[test]
fn the_inspection_list_says_order_day_test_care_and_what_outreach_came_before() {
    let (_, list, _) = made_files();
    let list = rows(&list);
    assert_eq!(
        list.iter().map(|row| row["assembly_id"].as_str()).collect::<Vec<_>>(),
        ["A0001", "A0002", "A0003"]
    );
    assert!(list[0]["outreach"].starts_with("reached "), "{}", list[0]["outreach"]);
    assert!(list[1]["care"].contains("Never shut a fire line"));
    assert!(list[0]["care"].contains("Do not turn water on"));
    assert_eq!(list[0]["day"], "2031-01-17");
    assert_eq!(list[2]["queue"], "drawn at random");
    // Formulas are defused.
    assert!(list[0]["critical"].starts_with("'="), "{}", list[0]["critical"]);
    assert!(list[1]["site_address"].starts_with("'@"), "{}", list[1]["site_address"]);
}

#[test]
fn a_redacted_inspection_list_holds_no_address_and_no_critical_use() {
    let (programme, _, _) = made_files();
    let spell = spell(&programme, 1);
    let found = visits(&spell, &AfterConfig::default());
    let list = String::from_utf8(inspection_csv(&found, &spell, true).unwrap()).unwrap();
    assert!(!list.contains("Mill Lane") && !list.contains("HYPERLINK"), "{list}");
    assert_eq!(rows(&list)[0]["critical"], "yes");
}

#[test]
fn the_record_form_asks_all_that_a_backtest_needs_and_knows_no_damage() {
    let (_, _, record) = made_files();
    let form = rows(&record);
    assert_eq!(form.len(), 3);
    // X-Val: the trade's list of what a post-freeze record holds, one row a device (common practice, no source).
    for column in [
        "event",
        "assembly_id",
        "inspected_by",
        "date",
        "hour",
        "how_found",
        "exposure",
        "power_on",
        "wrap",
        "wrap_condition",
        "drained_before",
        "drip_device",
        "lowest_air_f",
        "hours_air_below_freezing",
        "local_wind_mph",
        "damage_part",
        "severity",
        "flow_estimate",
        "hours_of_flow",
        "shut_by",
        "critical",
        "fire_line",
        "action",
        "parts",
        "cost_usd",
        "permit",
        "tester",
        "gauge_serial",
        "readings",
        "test_result",
        "returned_to_service",
        "notice_received",
        "action_taken_on_notice",
        "photos",
        "confidence",
    ] {
        assert!(form[0].contains_key(column), "{column}");
    }
    // What is known is filled in; what is to be found is not.
    assert_eq!(form[0]["critical"], "yes");
    assert_eq!(form[1]["fire_line"], "yes");
    assert_eq!(form[0]["exposure"], "bare");
    assert_eq!(form[2]["drawn_at_random"], "yes");
    assert!(
        form.iter()
            .all(|row| row["damage_part"].is_empty() && row["severity"].is_empty())
    );
    assert!(form[0]["notice_received"].starts_with("reached"));
    // The made outlook has its lowest air at -7.2 °C, which is 19.04 °F.
    assert_eq!(form[0]["lowest_air_f"], "19.0");
    let known: BTreeMap<&str, &[&str]> = RECORD_WORDS.iter().copied().collect();
    for column in ["damage_part", "severity"] {
        assert!(
            known[column].contains(&"none"),
            "{column} must know that nothing is broken"
        );
    }
    for (column, _) in RECORD_WORDS {
        assert!(form[0].contains_key(*column), "the form has no column {column}");
    }
    let words = String::from_utf8(words_csv().unwrap()).unwrap();
    assert!(
        rows(&words)
            .iter()
            .any(|row| row["column"] == "damage_part" && row["word"] == "none")
    );
}

/// What nothing presses comes by what a look would teach; what was reported, critical customers and fire lines stay first.
///
/// Wrong programs: the order of learning puts a coin-flip before a fire line; certain damage before a coin-flip; the order is always on.
#[test]
fn in_the_order_of_learning_coin_flips_come_before_what_is_certain_and_after_what_presses() {
    let chance = |p: f64| move |_: &mut Assembly, outlook: &mut Outlook| outlook.p_damage = Some(p);
    let programme = Programme::new(vec![
        row(1, chance(0.97)),
        row(2, chance(0.5)),
        row(3, chance(0.12)),
        row(4, |a, outlook| {
            a.service = Service::Fire;
            outlook.p_damage = Some(0.99);
        }),
    ]);
    let plain = visits(&spell(&programme, 1), &AfterConfig::default());
    let config = AfterConfig {
        order: VisitOrder::Learning,
        ..AfterConfig::default()
    };
    let learning = visits(&spell(&programme, 1), &config);
    let ids = |found: &[Visit]| order(&programme, found);
    let named = |places: [usize; 4]| {
        places
            .map(|at| programme.assemblies[at].assembly_id.to_string())
            .to_vec()
    };
    assert_eq!(ids(&plain), named([3, 0, 1, 2]));
    assert_eq!(ids(&learning), named([3, 1, 2, 0]));
    assert!(learning[1].teaches > learning[2].teaches && plain[2].teaches == learning[1].teaches);
}
