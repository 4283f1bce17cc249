//! The lines of the calls: attempts kept apart, each with its caller and minute.

use super::board::{Board, Calls};
use super::clock;
use super::config::OutreachConfig;
use super::line::{ContactLine, Way};
use super::schedule;
use super::spacing::Attempts;
use super::stake::PlanInput;
use chrono::{DateTime, Utc};
use std::collections::HashMap;

/// Calls left out that may take a place which comes free when attempts are moved apart (judgement: far more than come free).
const MOST_SPARE: usize = 2_000;

/// Spaces the attempts, gives each call its caller and minute, and returns the share of the bound that is kept.
pub(super) fn lines(
    input: &PlanInput<'_>,
    config: &OutreachConfig,
    board: &Board<'_>,
    mut calls: Calls,
    lines: &mut Vec<ContactLine>,
) -> f64 {
    let weight = |job: usize, bin: usize| {
        let ((callable, attempt), (block, group)) = (calls.jobs[job], calls.bins[bin]);
        board.weight(callable, attempt, block, group)
    };
    let bound = calls.assignment.worth;
    let person: Vec<usize> = calls.jobs.iter().map(|(callable, _)| *callable).collect();
    let start: Vec<DateTime<Utc>> = calls.bins.iter().map(|(block, _)| board.blocks[*block].start).collect();
    let spare = board.left_out(&calls, MOST_SPARE);
    Attempts {
        person: &person,
        start: &start,
        capacity: &calls.capacity,
        gap: clock::hours(config.shift.hours_between_attempts),
    }
    .keep_apart(&mut calls.assignment.bin, weight, &spare);
    let mut kept = 0.0;
    let mut held: Vec<Vec<usize>> = vec![Vec::new(); calls.bins.len()];
    for (job, bin) in calls.assignment.bin.iter().enumerate() {
        if let Some(bin) = *bin {
            kept += weight(job, bin).unwrap_or(0.0);
            held[bin].push(job);
        }
    }
    let told: HashMap<usize, (u8, f64)> = board
        .dials(&calls.assignment.bin, &calls.jobs, &calls.bins)
        .into_iter()
        .map(|dial| (dial.job, (dial.attempt, dial.avoided_usd)))
        .collect();
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
            let mut line = schedule::line(input, stake, Way::Call, None);
            let from = board.blocks[block].start + each * i32::try_from(nth / callers).unwrap_or(i32::MAX);
            line.slot_start = Some(from);
            line.slot_end = Some(from + each);
            line.caller = u16::try_from(first_caller + nth % callers + 1).ok();
            line.act_by = stake.act_by_after(from + each);
            line.in_time = true;
            (line.attempt, line.loss_avoided_usd) = told.get(&job).copied().unwrap_or((1, 0.0));
            lines.push(line);
        }
    }
    if bound > 0.0 { (kept / bound).min(1.0) } else { 1.0 }
}
