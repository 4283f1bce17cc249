//! The lines of the calls, each with its caller and minute.

use super::board::Board;
use super::clock;
use super::config::OutreachConfig;
use super::line::{ContactLine, Way};
use super::placing::Calls;
use super::schedule;
use super::stake::PlanInput;
use chrono::{DateTime, Utc};
use std::collections::HashMap;

/// Gives each call its caller and minute, and returns the share of the bound that is kept.
pub(super) fn lines(
    input: &PlanInput<'_>,
    config: &OutreachConfig,
    board: &Board<'_>,
    calls: Calls,
    lines: &mut Vec<ContactLine>,
) -> f64 {
    let weight = |job: usize, bin: usize| {
        let ((callable, attempt), (block, group)) = (calls.jobs[job], calls.bins[bin]);
        board.weight(callable, attempt, block, group)
    };
    let each = clock::minutes(config.shift.minutes_per_call);
    let places = places(config, board, &calls, &weight);
    let kept: f64 = places.iter().filter_map(|place| weight(place.job, place.bin)).sum();
    let mut bin_of = vec![None; calls.bin_of.len()];
    for place in &places {
        if let Some(bin) = bin_of.get_mut(place.job) {
            *bin = Some(place.bin);
        }
    }
    let told: HashMap<usize, (u8, f64)> = board
        .dials(&bin_of, &calls.jobs, &calls.bins)
        .into_iter()
        .map(|dial| (dial.job, (dial.attempt, dial.avoided_usd)))
        .collect();
    {
        for Place { job, nth, bin, from } in places {
            let (_, group) = calls.bins[bin];
            let callers = calls.callers[group].max(1);
            let first_caller = if group == 0 { 0 } else { calls.callers[0] };
            let stake = &board.stakes[board.callable[calls.jobs[job].0]];
            let mut line = schedule::line(input, stake, Way::Call, None);
            line.slot_start = Some(from);
            line.slot_end = Some(from + each);
            line.caller = u16::try_from(first_caller + nth % callers + 1).ok();
            line.act_by = stake.act_by_after(from + each);
            line.in_time = true;
            (line.attempt, line.loss_avoided_usd) = told.get(&job).copied().unwrap_or((1, 0.0));
            lines.push(line);
        }
    }
    if calls.bound > 0.0 {
        (kept / calls.bound).min(1.0)
    } else {
        1.0
    }
}

/// The place of a call.
struct Place {
    job: usize,
    bin: usize,
    /// Which place of the bin, counted caller by caller and then minute by minute.
    nth: usize,
    from: DateTime<Utc>,
}

/// Gives each call its minute. Inside a block the calls worth most come first, but none before the attempts at the same person lie as far
/// apart as the config asks, to the minute: blocks that are far enough apart hold minutes that are not. Where that leaves no minute in its
/// block, a call goes to a free minute of a later one.
fn places(
    config: &OutreachConfig,
    board: &Board<'_>,
    calls: &Calls,
    weight: &dyn Fn(usize, usize) -> Option<f64>,
) -> Vec<Place> {
    let each = clock::minutes(config.shift.minutes_per_call);
    let gap = clock::hours(config.shift.hours_between_attempts);
    let mut held: Vec<Vec<usize>> = vec![Vec::new(); calls.bins.len()];
    for (job, bin) in calls.bin_of.iter().enumerate() {
        if let Some(bin) = *bin {
            held[bin].push(job);
        }
    }
    let mut order: Vec<usize> = (0..calls.bins.len()).collect();
    order.sort_by_key(|&bin| (board.blocks[calls.bins[bin].0].start, bin));
    let mut last: HashMap<usize, DateTime<Utc>> = HashMap::new();
    let mut late: Vec<usize> = Vec::new();
    let mut places = Vec::new();
    for bin in order {
        let (block, group) = calls.bins[bin];
        let block = &board.blocks[block];
        let callers = calls.callers[group].max(1);
        let room = board.each(block) * callers;
        let worth = |job: usize| weight(job, bin).unwrap_or(0.0);
        let mut open = std::mem::take(&mut held[bin]);
        open.sort_by(|&a, &b| worth(b).total_cmp(&worth(a)).then(a.cmp(&b)));
        // Those of earlier blocks fill what these leave free.
        let spare = room.saturating_sub(open.len());
        let (fits, rest): (Vec<usize>, Vec<usize>) = late.into_iter().partition(|&job| weight(job, bin).is_some());
        open.extend(fits.iter().copied().take(spare));
        late = rest;
        late.extend(fits.into_iter().skip(spare));
        let mut nth = 0;
        while nth < room && !open.is_empty() {
            let from = block.start + each * i32::try_from(nth / callers).unwrap_or(i32::MAX);
            let free = |job: usize| last.get(&calls.jobs[job].0).is_none_or(|last| from - *last >= gap);
            if let Some(at) = open.iter().position(|&job| free(job)) {
                let job = open.remove(at);
                last.insert(calls.jobs[job].0, from);
                places.push(Place { job, bin, nth, from });
            }
            nth += 1;
        }
        late.extend(open);
    }
    places
}
