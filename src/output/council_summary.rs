//! One page for a council or the public: what came, what the utility did, who was not reached, and what it should have saved.
//!
//! It holds no name, number, address or identifier, since a list of exposed devices helps thieves, and small counts are blurred so
//! that nobody can be picked out.

use super::charts_outreach::dollars;
use super::outreach_files::Campaign;
use crate::faults::Fault;
use crate::inventory::DeviceType;
use crate::ranking::Tier;
use chrono::{DateTime, Utc};
use minijinja::{Value, context};
use std::collections::BTreeMap;

const PAGE: &str = include_str!("templates/council_summary.html");

/// Counts below this are not told exactly (judgement).
pub const LEAST_TOLD: usize = 5;

/// The page.
///
/// # Errors
/// `BW-O04` when it cannot be made.
pub fn page(council: &Campaign<'_>) -> Result<String, Fault> {
    let Campaign {
        plan, facts, config, ..
    } = council;
    let summary = &plan.summary;
    let words = &facts.words;
    let mut kinds: BTreeMap<DeviceType, (usize, usize, f64)> = BTreeMap::new();
    let mut lowest_c = f64::INFINITY;
    let mut chances = true;
    for ranked in council.ranked {
        let (Some(assembly), Some(outlook)) = (facts.assemblies.get(ranked.index), facts.outlooks.get(ranked.index))
        else {
            continue;
        };
        lowest_c = lowest_c.min(outlook.min_air_c);
        let kind = kinds.entry(assembly.device_type).or_default();
        kind.0 += 1;
        if ranked.tier != Tier::NoContact {
            kind.1 += 1;
        }
        match outlook.p_damage {
            Some(p) => kind.2 += p,
            None => chances = false,
        }
    }
    let broken: f64 = kinds.values().map(|kind| kind.2).sum();
    let kinds: Vec<Value> = kinds
        .iter()
        .map(|(kind, (all, at_risk, broken))| {
            context! {
                name => kind_name(*kind),
                all => told(*all),
                at_risk => told(*at_risk),
                broken => if chances { about(*broken) } else { String::new() },
            }
        })
        .collect();
    let ways: Vec<Value> = [
        ("people called", summary.people_called),
        ("texts", summary.texts),
        ("e-mails", summary.emails),
        ("letters", summary.letters),
        ("door hangers", summary.door_hangers),
    ]
    .into_iter()
    .filter(|(_, count)| *count > 0)
    .map(|(name, count)| context! { name => name, count => told(count) })
    .collect();
    let outcomes: Vec<Value> = summary
        .outcomes
        .iter()
        .map(|(word, count)| context! { name => outcome_name(word), count => told(*count) })
        .collect();
    let missed: Vec<Value> = summary
        .not_in_time
        .iter()
        .map(|(why, count)| context! { why => why, count => told(*count) })
        .collect();
    let (low, high) = plan.summary.avoided_range_usd();
    let range = |usd: f64| dollars(two_figures(usd));
    let day = |at: DateTime<Utc>| at.with_timezone(&words.zone).format("%A, %B %-d").to_string();
    super::one_page::render(
        "council_summary.html",
        PAGE,
        context! {
                    utility => config.utility.name.as_str(),
                    issued => day(council.issued),
                    window => (day(council.window.0), day(council.window.1)),
                    over => council.over,
                    lowest => if lowest_c.is_finite() { words.temperature(lowest_c) } else { String::new() },
                    nights => super::brief::nights(council),
                    rejected => if council.rejected > 0 { told(council.rejected) } else { String::new() },
                    unranked => told(council.unranked.len()),
                    all => told(council.ranked.len()),
                    at_risk => told(summary.assemblies_at_risk),
                    people => told(summary.people_at_risk),
                    broken => if chances { about(broken) } else { String::new() },
                    broken_low => council.total.map(|total| about(total.breaks.p05)).unwrap_or_default(),
                    judged => council.total.and_then(|total| total.judged).map(|ends| (about(ends.breaks.0), about(ends.breaks.1))),
                    broken_high => council.total.map(|total| about(total.breaks.p95)).unwrap_or_default(),
                    kinds => kinds,
                    ways => ways,
                    outcomes => outcomes,
                    missed => missed,
                    missed_total => summary.not_in_time.values().sum::<usize>(),
                    decisions => if summary.decisions > 0 { told(summary.decisions) } else { String::new() },
                    loss => range(summary.loss_before_usd),
                    low => range(low),
                    high => range(high),
                    avoids => high > 0.0,
                    thaw => if council.thaw.notices.is_empty() { String::new() } else { told(council.thaw.notices.len()) },
                    visits => council.visits.map(|visits| told(visits.0)).unwrap_or_default(),
                    sample => council.visits.map(|visits| told(visits.1)).unwrap_or_default(),
                    least => LEAST_TOLD,
                    planning_aid => crate::PLANNING_AID,
        },
    )
}

/// A count, blurred when it is small.
fn told(count: usize) -> String {
    match count {
        0 => "none".into(),
        1..LEAST_TOLD => format!("under {LEAST_TOLD}"),
        _ => super::charts_outreach::whole(count as f64),
    }
}

/// An expected number of assemblies, to a whole one.
fn about(expected: f64) -> String {
    match expected.round() {
        n if n < LEAST_TOLD as f64 => format!("under {LEAST_TOLD}"),
        n => super::charts_outreach::whole(n),
    }
}

/// Rounded to two figures: more would be a show of knowledge.
pub fn two_figures(value: f64) -> f64 {
    if value.abs() < 1.0 || !value.is_finite() {
        return 0.0;
    }
    let step = 10f64.powf(value.abs().log10().floor() - 1.0);
    (value / step).round() * step
}

fn kind_name(kind: DeviceType) -> &'static str {
    match kind {
        DeviceType::Rp => "reduced pressure",
        DeviceType::Rpda => "reduced pressure detector",
        DeviceType::Dc => "double check",
        DeviceType::Dcda => "double check detector",
        DeviceType::Pvb => "pressure vacuum breaker",
        DeviceType::Svb => "spill-resistant vacuum breaker",
        DeviceType::Avb => "atmospheric vacuum breaker",
    }
}

fn outcome_name(word: &str) -> &str {
    match word {
        "reached" => "spoken to",
        "message-left" => "message left",
        "no-answer" => "no answer",
        "wrong-number" => "wrong number",
        "declined" => "asked not to be contacted",
        "done" => "said it is seen to",
        other => other,
    }
}
