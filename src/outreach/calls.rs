//! The lines of the calls, each with its caller and minute.

use super::board::Board;
use super::clock;
use super::config::OutreachConfig;
use super::line::{ContactLine, Way};
use super::placing::Calls;
use super::schedule;
use super::stake::PlanInput;
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
    let mut kept = 0.0;
    let mut held: Vec<Vec<usize>> = vec![Vec::new(); calls.bins.len()];
    for (job, bin) in calls.bin_of.iter().enumerate() {
        if let Some(bin) = *bin {
            kept += weight(job, bin).unwrap_or(0.0);
            held[bin].push(job);
        }
    }
    let told: HashMap<usize, (u8, f64)> = board
        .dials(&calls.bin_of, &calls.jobs, &calls.bins)
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
    if calls.bound > 0.0 {
        (kept / calls.bound).min(1.0)
    } else {
        1.0
    }
}
