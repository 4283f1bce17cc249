//! Door hangers for those to call who get no call: unit-time jobs with deadlines on identical crews.

use super::board::Board;
use super::clock;
use super::config::OutreachConfig;
use super::greedy;
use super::line::{ContactLine, Way};
use super::people::Consent;
use super::schedule;
use super::stake::{PlanInput, Stake};
use std::collections::HashSet;

/// Door hangers for those to call who get no call.
pub(super) fn lines(input: &PlanInput<'_>, config: &OutreachConfig, board: &Board<'_>, lines: &mut Vec<ContactLine>) {
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
            .nights()
            .map(|night| night.act_by)
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
        let mut line = schedule::line(input, &board.stakes[at], Way::DoorHanger, None);
        line.slot_start = Some(blocks[slot].start);
        line.slot_end = Some(blocks[slot].end);
        line.caller = u16::try_from(in_slot[slot] % config.hangers.crews.max(1) + 1).ok();
        in_slot[slot] += 1;
        line.act_by = board.stakes[at].act_by_after(blocks[slot].end);
        line.in_time = true;
        line.loss_avoided_usd = usd;
        lines.push(line);
    }
}
