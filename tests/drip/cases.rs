//! The engine's answers against the table of cases that was written from the trade's knowledge before it.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::drip::config::DripConfig;
use brimwater::drip::{
    Account, Answer, DeviceFacts, Finding, Hazard, Sign, ToldRate, Water, When, Where, Within, answer,
};
use brimwater::inventory::{DeviceType, NominalSize, Service};
use brimwater::units::UnitSystem;

pub struct Case {
    pub name: String,
    pub account: Account,
    /// The findings that the trade would accept.
    findings: Vec<Finding>,
    latest: Within,
    /// No sooner than this: whoever sends the crew for every drop has no crew for a flood.
    soonest: Within,
    /// Words of whom the answer must name, one of them.
    who: Vec<String>,
    never: Vec<String>,
    basis: String,
}

fn within(word: &str) -> Within {
    match word {
        "now" => Within::Now,
        "today" => Within::Today,
        "48 h" => Within::Hours48,
        "72 h" => Within::Hours72,
        "2 weeks" => Within::Weeks2,
        "24 h" => Within::Watch24,
        other => panic!("unknown within {other}"),
    }
}

pub fn cases() -> Vec<Case> {
    let mut reader = csv::Reader::from_path("tests/data/drip_cases.csv").unwrap();
    let headers = reader.headers().unwrap().clone();
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let get = |name: &str| {
                let at = headers.iter().position(|header| header == name).unwrap();
                record.get(at).unwrap().trim().to_string()
            };
            let text = |name: &str| Some(get(name)).filter(|value| !value.is_empty());
            let account = Account {
                place: Where::parse(&get("where")).unwrap(),
                rate: text("rate").map(|words| ToldRate::parse(&words, UnitSystem::Us).unwrap()),
                when: text("when").map_or(When::Unsure, |word| When::parse(&word).unwrap()),
                water: text("water").map(|word| Water::parse(&word).unwrap()),
                air_c: text("air").map(|air| (air.trim_end_matches(" F").parse::<f64>().unwrap() - 32.0) / 1.8),
                fire: text("fire").map(|word| word == "yes"),
                critical: text("critical").is_some(),
                hazards: text("hazard")
                    .iter()
                    .flat_map(|list| list.split(';'))
                    .map(|word| Hazard::parse(word).unwrap())
                    .collect(),
                signs: text("also")
                    .iter()
                    .flat_map(|list| list.split(';'))
                    .map(|word| Sign::parse(word).unwrap())
                    .collect(),
                device: DeviceFacts {
                    device_type: text("device").map(|kind| serde_json::from_value::<DeviceType>(kind.into()).unwrap()),
                    size: text("size_in").map(|size| {
                        let inches: f64 = size.parse().unwrap();
                        *NominalSize::ALL.iter().find(|each| each.inches() == inches).unwrap()
                    }),
                    service: text("service").map(|service| serde_json::from_value::<Service>(service.into()).unwrap()),
                    ..DeviceFacts::default()
                },
                ..Account::default()
            };
            Case {
                name: get("case"),
                account,
                findings: get("finding")
                    .split('|')
                    .map(|word| Finding::parse(word).unwrap())
                    .collect(),
                who: get("who").split('|').map(str::to_lowercase).collect(),
                latest: within(&get("within_at_most")),
                soonest: text("not_sooner").map_or(Within::Now, |word| within(&word)),
                never: get("must_not_say").split('|').map(str::to_lowercase).collect(),
                basis: get("basis"),
            }
        })
        .collect()
}

fn said(answer: &Answer) -> Vec<String> {
    let within = answer.within.words();
    let mut lines = vec![&answer.who, &answer.say, &answer.hand_over, &within];
    lines.extend(&answer.do_now);
    lines.extend(&answer.cautions);
    lines
        .iter()
        .flat_map(|line| [line.en.to_lowercase(), line.es.to_lowercase()])
        .collect()
}

#[test]
fn table_holds_at_least_250_cases_of_every_finding_each_with_its_basis() {
    let cases = cases();
    assert!(cases.len() >= 250, "{} cases", cases.len());
    for finding in Finding::ALL {
        assert!(
            cases.iter().any(|case| case.findings == [*finding]),
            "no case for {finding:?}"
        );
    }
    for case in &cases {
        assert!(
            ["source", "common practice", "judgement"].contains(&case.basis.as_str()),
            "{}",
            case.name
        );
    }
}

#[test]
fn every_case_gets_the_finding_the_trade_expects() {
    // X-Val: tests/data/drip_cases.csv, each row with its source or "common practice, no source".
    let mut wrong = Vec::new();
    for case in cases() {
        let answer = answer(&case.account, &DripConfig::default(), UnitSystem::Us);
        if !case.findings.contains(&answer.finding) {
            let shares: Vec<String> = answer
                .likely
                .iter()
                .take(4)
                .map(|likely| format!("{:?} {:.2}", likely.cause, likely.share))
                .collect();
            wrong.push(format!(
                "{}: {:?} not {:?} ({})",
                case.name,
                answer.finding,
                case.findings,
                shares.join(", ")
            ));
        }
    }
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn no_case_waits_longer_than_the_trade_allows() {
    let mut late = Vec::new();
    for case in cases() {
        let answer = answer(&case.account, &DripConfig::default(), UnitSystem::Us);
        if answer.within > case.latest {
            late.push(format!(
                "{}: {:?} later than {:?}",
                case.name, answer.within, case.latest
            ));
        }
    }
    assert!(late.is_empty(), "{}", late.join("\n"));
}

#[test]
fn no_case_is_more_urgent_than_the_trade_makes_it() {
    let cases = cases();
    assert!(cases.iter().filter(|case| case.soonest > Within::Now).count() >= 40);
    let mut hasty = Vec::new();
    for case in cases {
        let answer = answer(&case.account, &DripConfig::default(), UnitSystem::Us);
        if answer.within < case.soonest {
            hasty.push(format!(
                "{}: {:?} sooner than {:?}",
                case.name, answer.within, case.soonest
            ));
        }
    }
    assert!(hasty.is_empty(), "{}", hasty.join("\n"));
}

#[test]
fn hazards_and_flows_are_told_of_at_every_place() {
    let cases = cases();
    for place in Where::ALL {
        let here = || cases.iter().filter(|case| case.account.place == *place);
        for floor_l_per_h in [1e-3, 10.0, 454.0] {
            assert!(
                here().any(|case| case
                    .account
                    .told_rate()
                    .is_some_and(|rate| rate.best_l_per_h >= floor_l_per_h)),
                "no case at {place:?} from {floor_l_per_h} L/h"
            );
        }
        for hazard in [Hazard::Flood, Hazard::Electric] {
            assert!(
                here().any(|case| case.account.hazards.contains(&hazard)),
                "no case at {place:?} with {hazard:?}"
            );
        }
    }
}

#[test]
fn every_case_is_sent_to_whom_the_trade_sends_it() {
    let mut astray = Vec::new();
    for case in cases() {
        let answer = answer(&case.account, &DripConfig::default(), UnitSystem::Us);
        let who = answer.who.en.to_lowercase();
        if !case.who.iter().any(|word| who.contains(word.as_str())) {
            astray.push(format!("{}: {who:?} names none of {:?}", case.name, case.who));
        }
    }
    assert!(astray.is_empty(), "{}", astray.join("\n"));
}

#[test]
fn no_case_says_what_must_not_be_said() {
    let mut said_it = Vec::new();
    for case in cases() {
        let answer = answer(&case.account, &DripConfig::default(), UnitSystem::Us);
        for phrase in &case.never {
            for line in said(&answer) {
                if line.contains(phrase.as_str()) {
                    said_it.push(format!("{}: {phrase:?} in {line:?}", case.name));
                }
            }
        }
    }
    assert!(said_it.is_empty(), "{}", said_it.join("\n"));
}
