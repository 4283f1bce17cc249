//! The contact plan: who is reached how and when, for the greatest expected loss avoided.
//!
//! Texts and e-mails cost nothing and go to everybody at risk who takes them. Calls are unit-time jobs on a few callers; since the
//! chance of an answer depends on the hour and what can be saved shrinks as deadlines pass, they are placed by the exact
//! assignment of [`super::assign`], in which a second and third attempt compete with other people's first. Door hangers are
//! unit-time jobs with deadlines on identical crews, placed by the exact greedy of [`super::greedy`]. Whoever
//! is left without anything in time is listed, with the reason.

use super::assign::{self, Assignment};
use super::clock::{self, Block};
use super::config::OutreachConfig;
use super::greedy;
use super::line::{ContactLine, Way};
use super::people::{Consent, Person};
use super::spacing::Attempts;
pub use super::stake::PlanInput;
use super::stake::{self, Odds, Stake};
use crate::faults::{Fault, Faults, Severity};
use crate::inventory::{Channel, Language};
use chrono::{DateTime, TimeDelta, Utc};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, HashSet};

/// The plan.
#[derive(Debug, Clone, PartialEq)]
pub struct ContactPlan {
    /// Lines: human decisions, then calls by time and caller, door hangers, texts, e-mails, letters, and those not reached.
    pub lines: Vec<ContactLine>,
    /// Totals, without personal data.
    pub summary: Summary,
    /// Loss avoided against callers and calls, for the chart; from no caller upward.
    pub curve: Vec<CurvePoint>,
}

/// Totals of a plan, without personal data.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Summary {
    /// Assemblies with a tier other than `no contact`.
    pub assemblies_at_risk: usize,
    /// Persons who look after them.
    pub people_at_risk: usize,
    /// Of these, persons whom at least one allowed channel can reach.
    pub people_reachable: usize,
    /// Persons of the tiers that call for a call.
    pub people_to_call: usize,
    /// Persons who get a call.
    pub people_called: usize,
    /// Calls planned, with retries.
    pub calls: usize,
    /// Calls that the shifts could hold before the last deadline.
    pub call_places: usize,
    /// Persons expected to be spoken to.
    pub expected_conversations: f64,
    /// Texts.
    pub texts: usize,
    /// E-mails.
    pub emails: usize,
    /// Letters.
    pub letters: usize,
    /// Door hangers.
    pub door_hangers: usize,
    /// Persons listed for a human decision.
    pub decisions: usize,
    /// Persons left out because the log says they are done with.
    pub settled: usize,
    /// Persons to call whom nothing reaches in time, by reason.
    pub not_in_time: BTreeMap<String, usize>,
    /// Expected loss of all assemblies at risk, US dollars, before any contact.
    pub loss_before_usd: f64,
    /// The same after the plan.
    pub loss_after_usd: f64,
    /// Loss avoided by channel, US dollars.
    pub avoided_usd: BTreeMap<String, f64>,
    /// Worth of the calls as placed, against the bound that no placing can beat, 0 to 1.
    pub share_of_bound: f64,
}

/// What a number of callers would avoid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CurvePoint {
    /// Callers.
    pub callers: usize,
    /// Calls they would make.
    pub calls: usize,
    /// Expected loss avoided by their calls, US dollars.
    pub avoided_usd: f64,
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
    let calls = board.solve(config.shift.callers, config.shift.spanish_callers, config);
    let share_of_bound = call_lines(input, config, &board, calls, &mut lines);
    letters(input, config, &board, &mut lines);
    hangers(input, config, &board, &mut lines);
    unreached(input, config, &board, &mut lines);
    tell(input, config, &board, &lines, &mut faults);
    let summary = summary(input, config, &board, &lines, share_of_bound);
    let curve = curve(config, &board);
    order(&mut lines);
    (ContactPlan { lines, summary, curve }, faults)
}

/// What all steps of the plan share.
struct Board<'a> {
    stakes: &'a [Stake<'a>],
    people: &'a [Person],
    blocks: Vec<Block>,
    /// `[stakes]`
    odds: Vec<Odds>,
    /// Positions of the stakes that get calls.
    callable: Vec<usize>,
    /// `[callable][blocks]`: loss that one dial in that block is expected to avoid, first attempt, US dollars.
    dial_usd: Vec<Vec<f64>>,
    /// `[callable]`: chance that a dial is not answered, mean over the blocks.
    unanswered: Vec<f64>,
    now: DateTime<Utc>,
}

/// Calls placed: jobs are attempts.
struct Calls {
    /// `[jobs]`: position in `callable` and attempt from 0.
    jobs: Vec<(usize, u32)>,
    /// Jobs by falling worth.
    order: Vec<usize>,
    /// `[bins]`: block and group; group 0 speaks Spanish.
    bins: Vec<(usize, usize)>,
    capacity: Vec<usize>,
    /// Callers of each group.
    callers: [usize; 2],
    assignment: Assignment,
}

impl<'a> Board<'a> {
    fn new(input: &PlanInput<'a>, config: &OutreachConfig, stakes: &'a [Stake<'a>]) -> Self {
        let until = stakes
            .iter()
            .filter(|stake| stake.to_call())
            .filter_map(Stake::last_act_by)
            .max()
            .unwrap_or(input.now);
        let blocks = clock::blocks(input.now, until, input.zone, &config.shift);
        let people = input.people;
        let odds: Vec<Odds> = stakes
            .iter()
            .map(|stake| {
                let wrong = stake.standing.is_some_and(|standing| standing.wrong_number);
                stake::free_odds(&people[stake.person], wrong, config)
            })
            .collect();
        let mut board = Board {
            stakes,
            people,
            blocks,
            odds,
            callable: Vec::new(),
            dial_usd: Vec::new(),
            unanswered: Vec::new(),
            now: input.now,
        };
        for (at, stake) in stakes.iter().enumerate() {
            let person = &people[stake.person];
            let wrong = stake.standing.is_some_and(|standing| standing.wrong_number);
            if !stake.to_call() || stake.settled() || !person.takes(Channel::Call) || wrong {
                continue;
            }
            let heard = match stake.standing {
                Some(standing) if standing.message_left => 1.0 - config.act.message,
                _ => 1.0,
            };
            let row: Vec<f64> = board
                .blocks
                .iter()
                .map(|block| {
                    let answered = stake::answered(person, block.hour, block.weekend, config);
                    stake.avoidable_at(block.end)
                        * board.odds[at].left_for_calls
                        * heard
                        * stake::dial_acts(answered, config)
                })
                .collect();
            if row.iter().all(|usd| *usd <= 0.0) {
                continue;
            }
            let sum: f64 = board
                .blocks
                .iter()
                .map(|block| 1.0 - stake::answered(person, block.hour, block.weekend, config))
                .sum();
            board.unanswered.push(sum / board.blocks.len() as f64);
            board.callable.push(at);
            board.dial_usd.push(row);
        }
        board
    }

    fn person(&self, stake: usize) -> &Person {
        &self.people[self.stakes[stake].person]
    }

    /// Loss avoided by attempt `attempt` (from 0) of a callable person in a block, US dollars; `None` where it may not be placed.
    fn usd(&self, callable: usize, attempt: u32, block: usize, config: &OutreachConfig) -> Option<f64> {
        let usd = *self.dial_usd[callable].get(block)?;
        let (first, at) = (self.blocks.first()?.start, self.blocks[block].start);
        let gap = clock::hours(config.shift.hours_between_attempts);
        let stake = &self.stakes[self.callable[callable]];
        if let Some(standing) = stake.standing
            && at - standing.last_at < gap
        {
            return None;
        }
        // An n-th attempt comes after n - 1 gaps at the earliest.
        if at - first < gap * i32::try_from(attempt).ok()? {
            return None;
        }
        (usd > 0.0).then(|| usd * self.unanswered[callable].powi(attempt.min(30) as i32))
    }

    /// The same as the assignment weighs it: critical people and fire lines ahead of money, and early rather than late.
    fn weight(&self, callable: usize, attempt: u32, block: usize, config: &OutreachConfig) -> Option<f64> {
        let usd = self.usd(callable, attempt, block, config)?;
        let waited = (self.blocks[block].start - self.now).num_seconds() as f64 / 3600.0;
        let early = (1.0 - config.shift.wait_penalty_per_hour * waited).max(0.1);
        Some(usd * early * self.precedence(callable, config))
    }

    fn precedence(&self, callable: usize, config: &OutreachConfig) -> f64 {
        let stake = &self.stakes[self.callable[callable]];
        if stake.critical {
            config.shift.critical_weight
        } else if stake.fire {
            config.shift.fire_weight
        } else {
            1.0
        }
    }

    fn may_call(&self, callable: usize, group: usize, config: &OutreachConfig) -> bool {
        group == 0
            || config.shift.interpreter_line
            || self.person(self.callable[callable]).language != Language::Spanish
    }

    /// Places calls for a number of callers.
    fn solve(&self, callers: usize, spanish: usize, config: &OutreachConfig) -> Calls {
        let spanish = spanish.min(callers);
        let groups = [spanish, callers - spanish];
        let mut bins = Vec::new();
        let mut capacity = Vec::new();
        for (block, span) in self.blocks.iter().enumerate() {
            let minutes = (span.end - span.start).num_seconds() as f64 / 60.0;
            let each = (minutes / config.shift.minutes_per_call + 1e-9).floor().max(0.0) as usize;
            for (group, &size) in groups.iter().enumerate() {
                if size * each > 0 {
                    bins.push((block, group));
                    capacity.push(size * each);
                }
            }
        }
        let mut jobs = Vec::new();
        let mut most = Vec::new();
        for (callable, row) in self.dial_usd.iter().enumerate() {
            let stake = &self.stakes[self.callable[callable]];
            let before = stake.standing.map_or(0, |standing| standing.attempts);
            let best = row.iter().copied().fold(0.0, f64::max) * self.precedence(callable, config);
            for attempt in 0..u32::from(config.shift.attempts).saturating_sub(before) {
                most.push(best * self.unanswered[callable].powi(attempt.min(30) as i32));
                jobs.push((callable, attempt));
            }
        }
        let mut order: Vec<usize> = (0..jobs.len()).collect();
        order.sort_by(|&a, &b| most[b].total_cmp(&most[a]).then(a.cmp(&b)));
        let assignment = assign::assign(
            &capacity,
            jobs.len(),
            &order,
            |job, bin| {
                let ((callable, attempt), (block, group)) = (jobs[job], bins[bin]);
                self.may_call(callable, group, config)
                    .then(|| self.weight(callable, attempt, block, config))
                    .flatten()
            },
            |job| most[job],
        );
        Calls {
            jobs,
            order,
            bins,
            capacity,
            callers: groups,
            assignment,
        }
    }
}

/// A line without its time.
fn line(input: &PlanInput<'_>, stake: &Stake<'_>, channel: Way, why: Option<&str>) -> ContactLine {
    let person = &input.people[stake.person];
    let reason_of = |index: usize| {
        input
            .ranked
            .get(index)
            .filter(|ranked| ranked.index == index)
            .or_else(|| input.ranked.iter().find(|ranked| ranked.index == index))
    };
    let worst = stake.parts.first();
    let mut reason = match why {
        Some(why) => why.to_owned(),
        None => worst
            .and_then(|part| {
                // Ranks count from 1 in list order, so the ranking usually holds the assembly at rank - 1.
                input
                    .ranked
                    .get(part.rank.wrapping_sub(1))
                    .filter(|ranked| ranked.index == part.assembly)
                    .or_else(|| reason_of(part.assembly))
            })
            .map(|ranked| ranked.reason.clone())
            .unwrap_or_default(),
    };
    if why.is_none() && stake.parts.len() > 1 {
        reason = format!("{} (and {} more at risk)", reason.trim_end(), stake.parts.len() - 1);
    }
    ContactLine {
        contact_id: person.contact_id.clone(),
        channel,
        attempt: 1,
        caller: None,
        slot_start: None,
        slot_end: None,
        act_by: stake.first_act_by(),
        in_time: false,
        assemblies: stake
            .parts
            .iter()
            .filter_map(|part| input.assemblies.get(part.assembly))
            .map(|assembly| assembly.assembly_id.clone())
            .collect(),
        tier: stake.tier.words().to_owned(),
        expected_loss_usd: stake.loss_usd(),
        loss_avoided_usd: 0.0,
        critical: person.critical.clone(),
        language: person.language,
        reason,
        person: stake.person,
        indices: stake.parts.iter().map(|part| part.assembly).collect(),
        name: person.name(),
        address: match channel {
            Way::Call => person.phones.first().map(|phone| phone.display()).unwrap_or_default(),
            Way::Text => person
                .phones
                .iter()
                .find(|phone| phone.extension.is_none())
                .map(|phone| phone.e164.clone())
                .unwrap_or_default(),
            Way::Email => person.emails.first().cloned().unwrap_or_default(),
            Way::Letter | Way::DoorHanger => person.addresses.join("; "),
            Way::Decision | Way::Unreached => String::new(),
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
            Consent::Disputed => "some rows of this contact opt out and others do not: decide whether to call",
            _ => continue,
        };
        lines.push(line(input, stake, Way::Decision, Some(why)));
    }
}

fn free_channels(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, lines: &mut Vec<ContactLine>) {
    let send = clock::after_quiet(input.now, input.zone, &config.shift);
    for (at, stake) in board.stakes.iter().enumerate() {
        if stake.settled() {
            continue;
        }
        let odds = board.odds[at];
        let mut add = |way: Way, chance: f64, when: DateTime<Utc>| {
            let mut line = line(input, stake, way, None);
            line.slot_start = Some(when);
            line.slot_end = Some(when);
            line.in_time = stake.last_act_by().is_some_and(|by| by >= when);
            line.loss_avoided_usd = stake.avoidable_at(when) * chance;
            lines.push(line);
        };
        if odds.text > 0.0 {
            add(Way::Text, odds.text, send);
        }
        if odds.email > 0.0 {
            add(Way::Email, odds.email, input.now);
        }
    }
}

/// Spaces the attempts, gives each call its caller and minute, and returns the share of the bound that is kept.
fn call_lines(
    input: &PlanInput<'_>,
    config: &OutreachConfig,
    board: &Board<'_>,
    mut calls: Calls,
    lines: &mut Vec<ContactLine>,
) -> f64 {
    let weight = |job: usize, bin: usize| {
        let ((callable, attempt), (block, group)) = (calls.jobs[job], calls.bins[bin]);
        board
            .may_call(callable, group, config)
            .then(|| board.weight(callable, attempt, block, config))
            .flatten()
    };
    let bound = calls.assignment.worth;
    let person: Vec<usize> = calls.jobs.iter().map(|(callable, _)| *callable).collect();
    let start: Vec<DateTime<Utc>> = calls.bins.iter().map(|(block, _)| board.blocks[*block].start).collect();
    let spare: Vec<usize> = calls
        .order
        .iter()
        .copied()
        .filter(|&job| calls.assignment.bin[job].is_none())
        .take(2000)
        .collect();
    Attempts {
        person: &person,
        start: &start,
        capacity: &calls.capacity,
        gap: clock::hours(config.shift.hours_between_attempts),
    }
    .keep_apart(&mut calls.assignment.bin, weight, &spare);
    let mut kept = 0.0;
    let mut held: Vec<Vec<usize>> = vec![Vec::new(); calls.bins.len()];
    let mut blocks_of: BTreeMap<usize, Vec<(usize, usize)>> = BTreeMap::new();
    for (job, bin) in calls.assignment.bin.iter().enumerate() {
        if let Some(bin) = *bin {
            kept += weight(job, bin).unwrap_or(0.0);
            held[bin].push(job);
            blocks_of
                .entry(calls.jobs[job].0)
                .or_default()
                .push((calls.bins[bin].0, job));
        }
    }
    // Attempts count in order of time, and each is worth what the ones before it left.
    let mut told: Vec<(u8, f64)> = vec![(0, 0.0); calls.jobs.len()];
    for (&callable, placed) in &mut blocks_of {
        placed.sort_unstable();
        let stake = &board.stakes[board.callable[callable]];
        let before = stake.standing.map_or(0, |standing| standing.attempts);
        let mut left = 1.0;
        for (nth, &(block, job)) in placed.iter().enumerate() {
            let span = board.blocks[block];
            let answered = stake::answered(board.person(board.callable[callable]), span.hour, span.weekend, config);
            let attempt = u8::try_from(before as usize + nth + 1).unwrap_or(u8::MAX);
            told[job] = (attempt, board.dial_usd[callable][block] * left);
            left *= 1.0 - answered;
        }
    }
    let each = clock::minutes(config.shift.minutes_per_call);
    for (bin, jobs) in held.iter_mut().enumerate() {
        let (block, group) = calls.bins[bin];
        // Inside a block the calls worth most come first.
        jobs.sort_by(|&a, &b| {
            let worth = |job: usize| weight(job, bin).unwrap_or(0.0);
            worth(b).total_cmp(&worth(a)).then(a.cmp(&b))
        });
        let callers = calls.callers[group].max(1);
        let first_caller = if group == 0 { 0 } else { calls.callers[0] };
        for (nth, &job) in jobs.iter().enumerate() {
            let stake = &board.stakes[board.callable[calls.jobs[job].0]];
            let mut line = line(input, stake, Way::Call, None);
            let from = board.blocks[block].start + each * i32::try_from(nth / callers).unwrap_or(i32::MAX);
            line.slot_start = Some(from);
            line.slot_end = Some(from + each);
            line.caller = u16::try_from(first_caller + nth % callers + 1).ok();
            line.in_time = true;
            (line.attempt, line.loss_avoided_usd) = told[job];
            lines.push(line);
        }
    }
    if bound > 0.0 { (kept / bound).min(1.0) } else { 1.0 }
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

/// Door hangers for those to call who get no call.
fn hangers(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, lines: &mut Vec<ContactLine>) {
    let doors = config.hangers.crews as f64 * config.hangers.doors_per_hour;
    if doors <= 0.0 {
        return;
    }
    let called: HashSet<usize> = lines
        .iter()
        .filter(|line| line.channel == Way::Call)
        .map(|line| line.person)
        .collect();
    let until = board
        .stakes
        .iter()
        .filter_map(Stake::last_act_by)
        .max()
        .unwrap_or(input.now);
    let blocks = clock::blocks(input.now, until, input.zone, &config.shift);
    // Whole doors are carried from block to block, so that short blocks lose none.
    let mut capacity = Vec::with_capacity(blocks.len());
    let mut hours = 0.0;
    let mut given = 0usize;
    for block in &blocks {
        hours += (block.end - block.start).num_seconds() as f64 / 3600.0;
        let total = (hours * doors + 1e-9).floor() as usize;
        capacity.push(total - given);
        given = total;
    }
    let mut of_job = Vec::new();
    let mut jobs = Vec::new();
    for (at, stake) in board.stakes.iter().enumerate() {
        let person = board.person(at);
        if !stake.to_call()
            || stake.settled()
            || called.contains(&stake.person)
            || person.addresses.is_empty()
            || person.switchboard
            || person.consent != Consent::Allowed
        {
            continue;
        }
        // The first deadline that can still be met: everything counted in the weight is then saved together.
        let soonest = stake
            .parts
            .iter()
            .map(|part| part.act_by)
            .filter(|by| *by > input.now)
            .min();
        let Some(by) = soonest else { continue };
        let slots = blocks.iter().take_while(|block| block.end <= by).count();
        let odds = board.odds[at];
        let weight = stake.avoidable_at(by) * (1.0 - odds.text - odds.email) * config.act.hanger;
        of_job.push((at, weight));
        jobs.push((
            slots,
            weight
                * if stake.critical {
                    config.shift.critical_weight
                } else {
                    1.0
                },
        ));
    }
    let placed = greedy::schedule(&capacity, &jobs);
    let mut in_slot = vec![0usize; capacity.len()];
    for ((at, usd), slot) in of_job.into_iter().zip(placed) {
        let Some(slot) = slot else { continue };
        let mut line = line(input, &board.stakes[at], Way::DoorHanger, None);
        line.slot_start = Some(blocks[slot].start);
        line.slot_end = Some(blocks[slot].end);
        line.caller = u16::try_from(in_slot[slot] % config.hangers.crews.max(1) + 1).ok();
        in_slot[slot] += 1;
        line.in_time = true;
        line.loss_avoided_usd = usd;
        lines.push(line);
    }
}

/// Persons to call for whom nothing is planned in time, and why.
fn unreached(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, lines: &mut Vec<ContactLine>) {
    let covered: HashSet<usize> = lines
        .iter()
        .filter(|line| line.in_time || line.channel == Way::Decision)
        .map(|line| line.person)
        .collect();
    for (at, stake) in board.stakes.iter().enumerate() {
        if !stake.to_call() || stake.settled() || covered.contains(&stake.person) {
            continue;
        }
        let why = why_unreached(input, config, board, at);
        lines.push(line(input, stake, Way::Unreached, Some(why)));
    }
}

fn why_unreached(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, at: usize) -> &'static str {
    let (stake, person) = (&board.stakes[at], board.person(at));
    let wrong = stake.standing.is_some_and(|standing| standing.wrong_number);
    if person.consent == Consent::OptedOut {
        "opted out of all contact"
    } else if stake.last_act_by().is_none_or(|by| by <= input.now) {
        "the time to act in daylight has passed"
    } else if person.channels.is_empty() {
        "no usable number, e-mail or address"
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

fn tell(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, lines: &[ContactLine], faults: &mut Faults) {
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
    let late = lines.iter().filter(|line| line.channel == Way::Unreached).count();
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

fn summary(
    input: &PlanInput<'_>,
    config: &OutreachConfig,
    board: &Board<'_>,
    lines: &[ContactLine],
    share_of_bound: f64,
) -> Summary {
    let open = || board.stakes.iter().enumerate().filter(|(_, stake)| !stake.settled());
    let count = |way: Way| lines.iter().filter(|line| line.channel == way).count();
    let called: HashSet<usize> = lines
        .iter()
        .filter(|l| l.channel == Way::Call)
        .map(|l| l.person)
        .collect();
    let mut not_in_time = BTreeMap::new();
    let mut avoided_usd = BTreeMap::new();
    let mut conversations = 0.0;
    let mut missed: BTreeMap<usize, f64> = BTreeMap::new();
    for line in lines {
        match line.channel {
            Way::Unreached => *not_in_time.entry(line.reason.clone()).or_insert(0) += 1,
            Way::Decision => {}
            way => *avoided_usd.entry(way.word().to_owned()).or_insert(0.0) += line.loss_avoided_usd,
        }
        if let (Way::Call, Some(start)) = (line.channel, line.slot_start)
            && let Some(block) = board
                .blocks
                .iter()
                .find(|block| block.start <= start && start < block.end)
        {
            let answered = stake::answered(&input.people[line.person], block.hour, block.weekend, config);
            let missed = missed.entry(line.person).or_insert(1.0);
            conversations += *missed * answered;
            *missed *= 1.0 - answered;
        }
    }
    let loss_before_usd: f64 = open().map(|(_, stake)| stake.loss_usd()).sum();
    let avoided: f64 = avoided_usd.values().sum();
    let each = |block: &Block| {
        let minutes = (block.end - block.start).num_seconds() as f64 / 60.0;
        (minutes / config.shift.minutes_per_call + 1e-9).floor().max(0.0) as usize
    };
    Summary {
        assemblies_at_risk: board.stakes.iter().map(|stake| stake.parts.len()).sum(),
        people_at_risk: board.stakes.len(),
        people_reachable: open()
            .filter(|(at, _)| {
                let person = board.person(*at);
                person.consent == Consent::Allowed && !person.channels.is_empty()
            })
            .count(),
        people_to_call: open().filter(|(_, stake)| stake.to_call()).count(),
        people_called: called.len(),
        calls: count(Way::Call),
        call_places: board.blocks.iter().map(each).sum::<usize>() * config.shift.callers,
        expected_conversations: conversations,
        texts: count(Way::Text),
        emails: count(Way::Email),
        letters: count(Way::Letter),
        door_hangers: count(Way::DoorHanger),
        decisions: count(Way::Decision),
        settled: board.stakes.iter().filter(|stake| stake.settled()).count(),
        not_in_time,
        loss_before_usd,
        loss_after_usd: (loss_before_usd - avoided).max(0.0),
        avoided_usd,
        share_of_bound,
    }
}

/// Loss avoided for a few numbers of callers up to twice the shift's.
fn curve(config: &OutreachConfig, board: &Board<'_>) -> Vec<CurvePoint> {
    let callers = config.shift.callers;
    let share = if callers == 0 {
        0.0
    } else {
        config.shift.spanish_callers as f64 / callers as f64
    };
    let mut numbers: Vec<usize> = [0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0]
        .iter()
        .map(|times| (times * callers.max(4) as f64).round() as usize)
        .chain([1, callers])
        .collect();
    numbers.sort_unstable();
    numbers.dedup();
    numbers
        .into_iter()
        .map(|callers| {
            let calls = board.solve(callers, (share * callers as f64).round() as usize, config);
            let mut point = CurvePoint {
                callers,
                calls: 0,
                avoided_usd: 0.0,
            };
            for (job, bin) in calls.assignment.bin.iter().enumerate() {
                if let Some(bin) = *bin {
                    let (callable, attempt) = calls.jobs[job];
                    point.calls += 1;
                    point.avoided_usd += board.usd(callable, attempt, calls.bins[bin].0, config).unwrap_or(0.0);
                }
            }
            point
        })
        .collect()
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
    lines.sort_by(|a, b| {
        place(a.channel)
            .cmp(&place(b.channel))
            .then_with(|| match a.channel {
                Way::Call | Way::DoorHanger => a.slot_start.cmp(&b.slot_start).then(a.caller.cmp(&b.caller)),
                _ => std::cmp::Ordering::Equal,
            })
            .then_with(|| b.expected_loss_usd.total_cmp(&a.expected_loss_usd))
            .then_with(|| a.contact_id.cmp(&b.contact_id))
    });
}
