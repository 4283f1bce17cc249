//! The contact plan: who is reached how and when, for the greatest expected loss avoided.
//!
//! Texts and e-mails cost nothing and go to everybody at risk who takes them. Calls are unit-time jobs on a few callers; since the
//! chance of an answer depends on the hour and what can be saved shrinks as deadlines pass, they are placed by the exact
//! assignment of [`super::assign`], in which a second and third attempt compete with other people's first. Door hangers are
//! unit-time jobs with deadlines on identical crews, placed by the exact greedy of [`super::greedy`]. Whoever
//! is left without anything in time is listed, with the reason.

use super::board::Board;
use super::clock;
use super::config::OutreachConfig;
use super::line::{self, ContactLine, Way};
use super::people::Consent;
use super::placing::Solved;
pub use super::stake::PlanInput;
use super::stake::{self, Stake};
use super::summary::summary;
pub use super::summary::{CurvePoint, Summary};
use super::{calls, hangers, unreached};
use crate::faults::Faults;
use crate::inventory::Channel;
use crate::text::{Pool, Text};
use chrono::{DateTime, TimeDelta, Utc};

/// The plan.
#[derive(Debug, Clone, PartialEq)]
pub struct ContactPlan {
    /// Lines: human decisions, then calls by time and caller, door hangers, texts, e-mails, letters, and those not reached.
    pub lines: Vec<ContactLine>,
    /// Totals, without personal data.
    pub summary: Summary,
    /// Loss avoided against callers and calls, for the chart; from no caller upward.
    pub curve: Vec<CurvePoint>,
    /// Loss avoided if the shift's callers made only so many calls, those that gain most first; from no call to all that are planned.
    pub steps: Vec<CurvePoint>,
}

impl ContactPlan {
    /// The plan of a spell that is over: nobody is left to be warned, and nobody counts as missed.
    pub fn after_the_spell(mut self) -> Self {
        self.lines.retain(ContactLine::is_planned);
        self.summary.not_in_time.clear();
        self.summary.decisions = 0;
        self
    }
}

/// Makes the plan.
///
/// The same input gives the same plan, whatever the order of assemblies and persons.
pub fn plan(input: &PlanInput<'_>, config: &OutreachConfig) -> (ContactPlan, Faults) {
    let stakes = stake::stakes(input, config);
    let board = Board::new(input, config, &stakes);
    let mut faults = Faults::new();
    let mut lines = Vec::new();
    decisions(input, &board, &mut lines);
    free_channels(input, config, &board, &mut lines);
    // Of reasons that name how many more are at risk few are different.
    let mut pool = Pool::default();
    for line in &mut lines {
        line.reason = pool.share(&line.reason);
    }
    drop(pool);
    let Solved {
        calls: placed,
        mut curve,
        mut steps,
    } = board.solve();
    let share_of_bound = calls::lines(input, config, &board, placed, &mut lines);
    letters(input, config, &board, &mut lines);
    hangers::lines(input, config, &board, &mut lines);
    unreached::lines(input, config, &board, &mut lines);
    unreached::tell(input, config, &board, &lines, &mut faults);
    let summary = summary(&board, config.shift.callers, &lines, share_of_bound);
    // The shift's own point is what is planned, so that page and chart agree.
    let own = CurvePoint {
        callers: config.shift.callers,
        calls: summary.calls,
        avoided_usd: summary.avoided_usd.get(Way::Call.word()).copied().unwrap_or(0.0),
    };
    // Keeping attempts apart costs one placing a little more than another, though more callers could always do what fewer do: the
    // curve is held to that.
    let mut most = own.avoided_usd;
    let mut fewer = 0.0f64;
    for point in &mut curve {
        match point.callers.cmp(&own.callers) {
            std::cmp::Ordering::Less => {
                fewer = fewer.max(point.avoided_usd).min(own.avoided_usd);
                point.avoided_usd = fewer;
            }
            std::cmp::Ordering::Equal => *point = own,
            std::cmp::Ordering::Greater => {
                most = most.max(point.avoided_usd);
                point.avoided_usd = most;
            }
        }
    }
    steps.retain(|step| step.calls < own.calls && step.avoided_usd <= own.avoided_usd);
    steps.push(own);
    order(&mut lines);
    let plan = ContactPlan {
        lines,
        summary,
        curve,
        steps,
    };
    (plan, faults)
}

/// A line without its time.
pub(super) fn line(input: &PlanInput<'_>, stake: &Stake<'_>, channel: Way, why: Option<Text>) -> ContactLine {
    let person = &input.people[stake.person];
    let told = why.is_some();
    let mut reason: Text = match why {
        Some(why) => why,
        None => stake
            .parts
            .first()
            .and_then(|part| input.ranked.get(part.place))
            .map(|ranked| ranked.reason.clone())
            .unwrap_or_default(),
    };
    if !told && stake.parts.len() > 1 {
        reason = format!("{} (and {} more at risk)", reason.trim_end(), stake.parts.len() - 1).into();
    }
    ContactLine {
        contact_id: person.contact_id.clone(),
        channel,
        attempt: 1,
        caller: None,
        slot_start: None,
        slot_end: None,
        act_by: stake.act_by_after(input.now),
        in_time: false,
        assemblies: stake
            .parts
            .iter()
            .filter_map(|part| input.assemblies.get(part.assembly))
            .map(|assembly| assembly.assembly_id.clone())
            .collect(),
        tier: stake.tier,
        expected_loss_usd: stake.loss_usd(),
        loss_avoided_usd: 0.0,
        critical: person.critical.clone(),
        language: person.language,
        reason,
        also_for: Vec::new(),
        person: stake.person,
        also: Vec::new(),
        indices: stake.parts.iter().map(|part| part.assembly).collect(),
        name: person.name(),
        address: match channel {
            Way::Call => person
                .phones
                .first()
                .map(|phone| phone.display().into())
                .unwrap_or_default(),
            Way::Text => person
                .phones
                .iter()
                .find(|phone| phone.extension.is_none())
                .map(|phone| phone.e164.clone())
                .unwrap_or_default(),
            Way::Email => person.emails.first().cloned().unwrap_or_default(),
            Way::Letter | Way::DoorHanger => match person.addresses.as_slice() {
                [one] => one.clone(),
                many => many.join("; ").into(),
            },
            Way::Decision | Way::Unreached => Text::default(),
        },
    }
}

/// Persons whom nobody may contact and whose risk a human must weigh against that.
fn decisions(input: &PlanInput<'_>, board: &Board<'_>, lines: &mut Vec<ContactLine>) {
    for (at, stake) in board.stakes.iter().enumerate() {
        if stake.settled() {
            continue;
        }
        let person = board.person(at);
        let why = match person.consent {
            Consent::OptedOut if person.critical.is_some() || stake.fire => {
                "opted out of all contact, and a critical or fire line is at risk: decide whether a call or visit is due"
            }
            Consent::Unclear => {
                "what this contact allows cannot be read (see the channels column): decide whether to call"
            }
            Consent::Disputed => "some rows of this contact opt out and others do not: decide whether to call",
            _ => continue,
        };
        lines.push(line(input, stake, Way::Decision, Some(why.into())));
    }
}

/// Texts and e-mails, to everybody at risk who takes them; one e-mail to a mailbox, whoever reads it.
fn free_channels(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, lines: &mut Vec<ContactLine>) {
    let send = clock::after_quiet(input.now, input.zone, &config.shift);
    let message = |stake: &Stake<'_>, way: Way, chance: f64, when: DateTime<Utc>| {
        let mut line = line(input, stake, way, None);
        line.slot_start = Some(when);
        line.slot_end = Some(when);
        line.act_by = stake.act_by_after(when);
        line.in_time = stake.last_act_by().is_some_and(|by| by >= when);
        line.loss_avoided_usd = stake.avoidable_at(when) * chance;
        line
    };
    let open = || {
        board
            .stakes
            .iter()
            .zip(&board.odds)
            .filter(|(stake, _)| !stake.settled())
    };
    // Once ice has come a warning of it only confuses; the thaw has its own notices.
    let texts = open().filter(|(stake, odds)| odds.text > 0.0 && stake.ice_ahead(send));
    lines.extend(texts.map(|(stake, odds)| message(stake, Way::Text, odds.text, send)));
    let from = lines.len();
    let emails = open().filter(|(stake, odds)| odds.email > 0.0 && stake.ice_ahead(input.now));
    lines.extend(emails.map(|(stake, odds)| message(stake, Way::Email, odds.email, input.now)));
    // The person with most to lose opens the message.
    lines[from..].sort_unstable_by(|a, b| {
        b.expected_loss_usd
            .total_cmp(&a.expected_loss_usd)
            .then_with(|| a.contact_id.cmp(&b.contact_id))
    });
    line::one_a_mailbox(lines, from);
}

/// Letters, where the post still arrives in time.
fn letters(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, lines: &mut Vec<ContactLine>) {
    let arrives = input.now + TimeDelta::days(i64::from(config.reach.letter_days));
    for (at, stake) in board.stakes.iter().enumerate() {
        let avoidable = stake.avoidable_at(arrives);
        if stake.settled() || avoidable <= 0.0 || !board.person(at).takes(Channel::Letter) {
            continue;
        }
        let odds = board.odds[at];
        let mut line = line(input, stake, Way::Letter, None);
        line.slot_start = Some(input.now);
        line.slot_end = Some(arrives);
        line.act_by = stake.act_by_after(arrives);
        line.in_time = true;
        line.loss_avoided_usd = avoidable
            * (1.0 - odds.text - odds.email)
            * config.reach.letter
            * config.act.letter
            * if odds.text + odds.email > 0.0 {
                config.reach.overlap
            } else {
                1.0
            };
        lines.push(line);
    }
}

/// Puts the lines into the order in which people work through them.
fn order(lines: &mut [ContactLine]) {
    let place = |way: Way| match way {
        Way::Decision => 0,
        Way::Call => 1,
        Way::DoorHanger => 2,
        Way::Text => 3,
        Way::Email => 4,
        Way::Letter => 5,
        Way::Unreached => 6,
    };
    // No two lines are equal in all of this, and a stable sort would take half as much memory again.
    lines.sort_unstable_by(|a, b| {
        place(a.channel)
            .cmp(&place(b.channel))
            .then_with(|| match a.channel {
                Way::Call | Way::DoorHanger => a.slot_start.cmp(&b.slot_start).then(a.caller.cmp(&b.caller)),
                _ => std::cmp::Ordering::Equal,
            })
            .then_with(|| b.expected_loss_usd.total_cmp(&a.expected_loss_usd))
            .then_with(|| a.contact_id.cmp(&b.contact_id))
            .then(a.attempt.cmp(&b.attempt))
    });
}
