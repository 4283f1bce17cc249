//! The board that calls are placed on: who can be called, and what a dial is worth in each block.

use super::clock::{self, Block};
use super::config::OutreachConfig;
use super::people::Person;
use super::stake::{self, Odds, PlanInput, Stake};
use crate::inventory::{Channel, Language};
use chrono::{DateTime, Utc};

/// What all steps of the plan share.
pub(super) struct Board<'a> {
    pub stakes: &'a [Stake<'a>],
    pub people: &'a [Person],
    pub blocks: Vec<Block>,
    /// `[stakes]`
    pub odds: Vec<Odds>,
    /// Positions of the stakes that get calls.
    pub callable: Vec<usize>,
    pub config: &'a OutreachConfig,
    /// `[callable × blocks]`: loss that one dial in that block is expected to avoid, first attempt, US dollars.
    dial_usd: Vec<f64>,
    /// `[callable]`: chance that a dial is not answered, mean over the blocks.
    pub unanswered: Vec<f64>,
    /// `[callable]`: how many times the loss counts.
    pub precedence: Vec<f64>,
    /// `[callable]`: the most that a first dial is worth in any block, US dollars.
    pub best_usd: Vec<f64>,
    /// `[callable]`: whether only a caller of group 0 may call.
    needs_spanish: Vec<bool>,
    /// `[callable]`: the first block that is far enough from an attempt of the log.
    free_from: Vec<usize>,
    /// `[attempts]`: the first block that so many attempts leave room for.
    attempt_from: Vec<usize>,
    /// `[blocks]`: what is left of a call's weight when it is put off to that block.
    early: Vec<f64>,
}

impl<'a> Board<'a> {
    pub fn new(input: &PlanInput<'a>, config: &'a OutreachConfig, stakes: &'a [Stake<'a>]) -> Self {
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
            .map(|stake| stake::free_odds(&people[stake.person], stake.wrong_number(), config))
            .collect();
        let gap = clock::hours(config.shift.hours_between_attempts);
        let first_from = |from: DateTime<Utc>| blocks.partition_point(|block| block.start < from);
        let attempt_from = (0..u32::from(config.shift.attempts))
            // An n-th attempt comes after n - 1 gaps at the earliest.
            .map(|attempt| match (blocks.first(), i32::try_from(attempt)) {
                (Some(first), Ok(attempt)) => first_from(first.start + gap * attempt),
                _ => blocks.len(),
            })
            .collect();
        let early = blocks
            .iter()
            .map(|block| {
                let waited = (block.start - input.now).num_seconds() as f64 / 3600.0;
                (1.0 - config.shift.wait_penalty_per_hour * waited).max(0.1)
            })
            .collect();
        let mut board = Board {
            stakes,
            people,
            odds,
            callable: Vec::new(),
            config,
            dial_usd: Vec::new(),
            unanswered: Vec::new(),
            precedence: Vec::new(),
            best_usd: Vec::new(),
            needs_spanish: Vec::new(),
            free_from: Vec::new(),
            attempt_from,
            early,
            blocks,
        };
        // The chance of an answer is the same for all homes and for all firms.
        let answered_by: [Vec<f64>; 2] = [false, true].map(|business| {
            let of = |block: &Block| stake::answered_by(business, block.hour, block.weekend, config);
            board.blocks.iter().map(of).collect()
        });
        for (at, stake) in stakes.iter().enumerate() {
            let person = &people[stake.person];
            if !stake.to_call() || stake.settled() || !person.takes(Channel::Call) || stake.wrong_number() {
                continue;
            }
            let heard = match stake.standing {
                Some(standing) if standing.message_left => 1.0 - config.act.message,
                _ => 1.0,
            };
            let answered = &answered_by[usize::from(person.business)];
            let begin = board.dial_usd.len();
            board
                .dial_usd
                .extend(board.blocks.iter().zip(answered).map(|(block, answered)| {
                    stake.avoidable_at(block.end)
                        * board.odds[at].left_for_calls
                        * heard
                        * stake::dial_acts(*answered, config)
                }));
            let best = board.dial_usd[begin..].iter().copied().fold(0.0, f64::max);
            if best <= 0.0 {
                board.dial_usd.truncate(begin);
                continue;
            }
            board.best_usd.push(best);
            let sum: f64 = answered.iter().map(|answered| 1.0 - answered).sum();
            board.unanswered.push(sum / board.blocks.len() as f64);
            board.precedence.push(if stake.critical {
                config.shift.critical_weight
            } else if stake.fire {
                config.shift.fire_weight
            } else {
                1.0
            });
            board
                .needs_spanish
                .push(person.language == Language::Spanish && !config.shift.interpreter_line);
            board.free_from.push(stake.standing.map_or(0, |standing| {
                board
                    .blocks
                    .partition_point(|block| block.start - standing.last_at < gap)
            }));
            board.callable.push(at);
        }
        board
    }

    /// The person of a stake.
    pub fn person(&self, stake: usize) -> &Person {
        &self.people[self.stakes[stake].person]
    }

    /// Loss that one dial in a block is expected to avoid, first attempt, US dollars.
    pub fn dial_usd(&self, callable: usize, block: usize) -> f64 {
        let at = callable * self.blocks.len() + block;
        self.dial_usd.get(at).copied().unwrap_or(0.0)
    }

    /// Loss avoided by attempt `attempt` (from 0) of a callable person in a block, US dollars; `None` where it may not be placed.
    pub fn usd(&self, callable: usize, attempt: u32, block: usize) -> Option<f64> {
        let from = *self.attempt_from.get(attempt as usize)?;
        let usd = self.dial_usd(callable, block);
        (usd > 0.0 && block >= from.max(self.free_from[callable]))
            .then(|| usd * self.unanswered[callable].powi(attempt.min(30) as i32))
    }

    /// The same as the assignment weighs it: critical people and fire lines ahead of money, and early rather than late; `None` also where
    /// the callers of the group do not speak the person's language.
    pub fn weight(&self, callable: usize, attempt: u32, block: usize, group: usize) -> Option<f64> {
        if group != 0 && self.needs_spanish[callable] {
            return None;
        }
        let usd = self.usd(callable, attempt, block)?;
        Some(usd * self.early[block] * self.precedence[callable])
    }

    /// Calls that one caller can make in a block.
    pub fn each(&self, block: &Block) -> usize {
        let minutes = (block.end - block.start).num_seconds() as f64 / 60.0;
        (minutes / self.config.shift.minutes_per_call + 1e-9).floor().max(0.0) as usize
    }

    /// Chance that a person answers in a block.
    pub fn answered(&self, person: usize, block: &Block) -> f64 {
        stake::answered_by(self.people[person].business, block.hour, block.weekend, self.config)
    }
}
