//! Those whom nothing reaches in time, and why.

use super::board::Board;
use super::config::OutreachConfig;
use super::line::{ContactLine, Way};
use super::people::Consent;
use super::schedule;
use super::stake::PlanInput;
use crate::faults::{Fault, Faults, Severity};
use crate::inventory::{Channel, Language};
use crate::ranking::Tier;
use crate::text::Pool;
use std::collections::HashSet;

/// Persons to call for whom nothing is planned in time, persons to write to for whom nothing is planned at all, and why: whoever is at risk
/// has a line or is settled.
pub(super) fn lines(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, lines: &mut Vec<ContactLine>) {
    let covered: HashSet<usize> = lines
        .iter()
        .filter(|line| line.in_time || line.channel == Way::Decision)
        .flat_map(ContactLine::persons)
        .collect();
    let planned: HashSet<usize> = lines.iter().flat_map(ContactLine::persons).collect();
    let mut pool = Pool::default();
    for (at, stake) in board.stakes.iter().enumerate() {
        // A message that may come late is still a message.
        let done = if stake.to_call() { &covered } else { &planned };
        if stake.settled() || done.contains(&stake.person) {
            continue;
        }
        let why = pool.share(why_unreached(input, config, board, at));
        lines.push(schedule::line(input, stake, Way::Unreached, Some(why)));
    }
}

fn why_unreached(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, at: usize) -> &'static str {
    let (stake, person) = (&board.stakes[at], board.person(at));
    let wrong = stake.wrong_number();
    if person.consent == Consent::Unclear {
        "what this contact allows cannot be read"
    } else if person.consent == Consent::OptedOut {
        "opted out of all contact"
    } else if stake.last_act_by().is_none_or(|by| by <= input.now) {
        "the time to act in daylight has passed"
    } else if person.channels.is_empty() {
        "nobody to tell: no usable number, e-mail or address"
    } else if !stake.to_call() {
        "the risk is too small for a call, and nothing else is allowed"
    } else if wrong && !person.takes(Channel::Email) {
        "the number was found wrong"
    } else if person.takes(Channel::Call)
        && person.language == Language::Spanish
        && config.shift.spanish_callers == 0
        && !config.shift.interpreter_line
    {
        "no caller speaks Spanish"
    } else if stake
        .standing
        .is_some_and(|s| s.attempts >= u32::from(config.shift.attempts))
    {
        "all attempts were made"
    } else if person.takes(Channel::Call) && !board.blocks.iter().any(|b| stake.avoidable_at(b.end) > 0.0) {
        "no shift is left before the time to act"
    } else if person.takes(Channel::Call) {
        "the shifts are full with calls that avoid more"
    } else {
        "only a letter is allowed, and it would arrive too late"
    }
}

/// Tells shifts that have passed and people whom nothing reaches.
///
/// Faults: `BW-P61` no shift is left, `BW-P62` today's shift has passed, `BW-P63` people whom nothing reaches in time.
pub(super) fn tell(
    input: &PlanInput<'_>,
    config: &OutreachConfig,
    board: &Board<'_>,
    lines: &[ContactLine],
    faults: &mut Faults,
) {
    let to_call = board
        .stakes
        .iter()
        .filter(|stake| stake.to_call() && !stake.settled())
        .count();
    if to_call == 0 {
        return;
    }
    if board.blocks.is_empty() {
        faults.push(
            Fault::new(
                "BW-P61",
                Severity::Warning,
                format!("no shift is left in which any of {to_call} persons could be called in time"),
            )
            .expected(format!(
                "shift hours ({} to {}) between now and the last time to act in daylight",
                config.shift.start, config.shift.end
            ))
            .remedy("Lengthen `[outreach.shift]`, start earlier next time, and rely on texts, e-mails and the crews standing by."),
        );
    } else {
        let today = input.now.with_timezone(&input.zone).date_naive();
        let first = board
            .blocks
            .first()
            .map(|block| block.start.with_timezone(&input.zone).date_naive());
        if first.is_some_and(|first| first > today) {
            faults.push(
                Fault::new(
                    "BW-P62",
                    Severity::Note,
                    "today's shift has passed: calls start with the next one",
                )
                .remedy("Extend today's shift in `[outreach.shift]` if people can stay."),
            );
        }
    }
    let to_call = [Tier::CallFirst, Tier::CallNext];
    let late = lines
        .iter()
        .filter(|line| line.channel == Way::Unreached && to_call.contains(&line.tier))
        .count();
    if late > 0 {
        faults.push(
            Fault::new(
                "BW-P63",
                Severity::Note,
                format!(
                    "{late} persons to call are reached by nothing in time; contacts.csv lists them with the reason"
                ),
            )
            .remedy("Add callers, crews or hours, or stand by for their leaks at the thaw."),
        );
    }
}
