//! The sentence to say: what it is, then who and by when, in under 20 seconds.

use super::{Told, ask, m, with_number};
use crate::drip::account::{Hazard, Sign, Where};
use crate::drip::branch::Branch;
use crate::drip::finding::{Finding, Within};
use crate::drip::line::Line;
use crate::drip::urgency::{relief_of_heater_is_shut, sends_the_crew, too_warm_for_its_place};
use crate::inventory::Language;

/// Whole sentences in which who and when have their place already.
fn whole(told: &Told<'_>) -> Option<Line> {
    let account = told.account;
    match told.finding {
        Finding::FireLine => Some(m("drip-say-fire")),
        Finding::Emergency if account.hazards.is_empty() && account.signs.contains(&Sign::OddWater) => {
            Some(m("drip-say-odd-water"))
        }
        Finding::Emergency if account.hazards.is_empty() && relief_of_heater_is_shut(account) => {
            Some(with_number("drip-say-capped", told.config))
        }
        Finding::Emergency if account.hazards.contains(&Hazard::Gas) => Some(with_number("drip-say-gas", told.config)),
        Finding::Emergency => Some(with_number("drip-say-emergency", told.config)),
        _ => None,
    }
}

/// What it is, without who and when.
fn lead(told: &Told<'_>) -> Line {
    let account = told.account;
    if let Some(branch) = Branch::of(account) {
        return match branch {
            Branch::ThawedFlame => with_number("drip-flame-say", told.config),
            Branch::ThawedHotWater => m("drip-hot-water-say"),
            Branch::NoWaterInFrost => m("drip-say-freezing"),
            Branch::NoWater => m("drip-no-water-say"),
            Branch::OwnerUnknown => m("drip-owner-say"),
            Branch::Wrapped => m("drip-wrapped-say"),
            Branch::TagOverdue => m("drip-tag-say"),
        };
    }
    let or_critical = |plain, critical| m(if account.critical { critical } else { plain });
    if sends_the_crew(account, told.finding, told.within) {
        return or_critical("drip-say-gushing", "drip-say-gushing-critical");
    }
    if let Some(question) = told.question.filter(|_| told.asks()) {
        return ask(question);
    }
    match told.finding {
        Finding::FreezeDamage => or_critical("drip-say-freeze-damage", "drip-say-freeze-damage-critical"),
        Finding::FreezingNow => m("drip-say-freezing"),
        Finding::WorkingAsMeant => m(match account.place {
            Where::FreezeDrip => "drip-say-working-freeze-drip",
            Where::ReliefPort => "drip-say-working-relief-port",
            Where::ExpansionRelief => "drip-say-working-expansion-relief",
            Where::Canopy => "drip-say-working-canopy",
            Where::TestCock => "drip-say-working-test-cock",
            _ => "drip-say-working",
        }),
        Finding::ExpansionSuspected => m("drip-say-expansion"),
        Finding::DeviceFault if account.signs.contains(&Sign::Covered) => m("drip-say-fault-covered"),
        Finding::DeviceFault if too_warm_for_its_place(account) => m("drip-say-warm"),
        Finding::DeviceFault => m(match account.place {
            Where::HeaterRelief => "drip-say-fault-heater",
            Where::ExpansionRelief => "drip-say-fault-expansion-relief",
            Where::FreezeDrip => "drip-say-fault-freeze-drip",
            _ => "drip-say-fault",
        }),
        Finding::Leak => or_critical("drip-say-leak", "drip-say-leak-critical"),
        Finding::CannotTell | Finding::Emergency | Finding::FireLine => m("drip-say-unknown"),
    }
}

/// Who and by when.
fn closing(told: &Told<'_>) -> Line {
    let account = told.account;
    let id = match (sends_the_crew(account, told.finding, told.within), account.critical) {
        (true, true) => "drip-by-supervisor-and-crew",
        (true, false) => "drip-by-crew-sent",
        (false, true) => "drip-by-supervisor",
        (false, false) => calm_closing(told),
    };
    let when = told.within.words();
    Line::new(
        crate::say!(Language::English, id, when = when.en),
        crate::say!(Language::Spanish, id, when = when.es),
    )
}

fn calm_closing(told: &Told<'_>) -> &'static str {
    match Branch::of(told.account) {
        Some(Branch::ThawedFlame | Branch::ThawedHotWater) => return "drip-by-plumber-then-tester",
        Some(Branch::NoWaterInFrost) => return "drip-by-plumber",
        Some(Branch::NoWater) => return "drip-by-desk",
        Some(Branch::OwnerUnknown) => return "drip-by-crew",
        Some(Branch::Wrapped) => return "drip-by-unless-known",
        Some(Branch::TagOverdue) => return "drip-by-tester",
        None => {}
    }
    if told.asks() && told.question.is_some() {
        return "drip-by-unless-known";
    }
    let place = told.account.place;
    match told.finding {
        Finding::WorkingAsMeant if told.within == Within::Watch24 => "drip-by-caller",
        Finding::FreezeDamage => "drip-by-plumber-then-tester",
        Finding::ExpansionSuspected if place == Where::ReliefPort => "drip-by-plumber-and-tester",
        Finding::FreezingNow | Finding::ExpansionSuspected | Finding::Leak => "drip-by-plumber",
        Finding::DeviceFault if matches!(place, Where::HeaterRelief | Where::ExpansionRelief) => "drip-by-plumber",
        _ => "drip-by-either",
    }
}

/// The sentence to say.
pub(super) fn say_line(told: &Told<'_>) -> Line {
    whole(told).unwrap_or_else(|| {
        let (lead, closing) = (lead(told), closing(told));
        Line::new(
            format!("{} {}", lead.en, closing.en),
            format!("{} {}", lead.es, closing.es),
        )
    })
}
