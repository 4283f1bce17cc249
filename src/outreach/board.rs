//! The board that calls are placed on: who can be called, what a dial is worth in each block, and the best placing.

use super::assign::{self, Assignment, Growing};
use super::clock::{self, Block};
use super::config::OutreachConfig;
use super::people::Person;
use super::stake::{self, Odds, PlanInput, Stake};
use super::summary::CurvePoint;
use crate::inventory::{Channel, Language};
use chrono::{DateTime, Utc};
use rayon::prelude::*;

/// What all steps of the plan share.
pub(super) struct Board<'a> {
    pub stakes: &'a [Stake<'a>],
    pub people: &'a [Person],
    pub blocks: Vec<Block>,
    /// `[stakes]`
    pub odds: Vec<Odds>,
    /// Positions of the stakes that get calls.
    pub callable: Vec<usize>,
    config: &'a OutreachConfig,
    /// `[callable × blocks]`: loss that one dial in that block is expected to avoid, first attempt, US dollars.
    dial_usd: Vec<f64>,
    /// `[callable]`: chance that a dial is not answered, mean over the blocks.
    unanswered: Vec<f64>,
    /// `[callable]`: how many times the loss counts.
    precedence: Vec<f64>,
    /// `[callable]`: whether only a caller of group 0 may call.
    needs_spanish: Vec<bool>,
    /// `[callable]`: the first block that is far enough from an attempt of the log.
    free_from: Vec<usize>,
    /// `[attempts]`: the first block that so many attempts leave room for.
    attempt_from: Vec<usize>,
    /// `[blocks]`: what is left of a call's weight when it is put off to that block.
    early: Vec<f64>,
}

/// Calls placed: jobs are attempts.
pub(super) struct Calls {
    /// `[jobs]`: position in `callable` and attempt from 0.
    pub jobs: Vec<(usize, u32)>,
    /// `[bins]`: block and group; group 0 speaks Spanish.
    pub bins: Vec<(usize, usize)>,
    /// `[bins]`
    pub capacity: Vec<usize>,
    /// Callers of each group.
    pub callers: [usize; 2],
    pub assignment: Assignment,
}

/// One dial of a placing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dial {
    pub job: usize,
    /// Which attempt at the person it is, from 1.
    pub attempt: u8,
    /// Loss that it is expected to avoid, US dollars.
    pub avoided_usd: f64,
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
            if board.dial_usd[begin..].iter().all(|usd| *usd <= 0.0) {
                board.dial_usd.truncate(begin);
                continue;
            }
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

    /// Places the calls of the shift's callers, and on the way those of fewer and of more callers for the curve, from none upward.
    ///
    /// Every placing is the best of its number of callers: each is reached from the one before by adding the places of one more caller.
    pub fn solve(&self) -> (Calls, Vec<CurvePoint>) {
        let numbers = self.numbers_of_callers();
        let most = numbers.last().copied().unwrap_or(0);
        let groups_of = |callers: usize| {
            let spanish = self.spanish_of(callers);
            [spanish, callers - spanish]
        };
        let each: Vec<usize> = self.blocks.iter().map(|block| self.each(block)).collect();
        let bins: Vec<(usize, usize)> = (0..self.blocks.len())
            .flat_map(|block| [(block, 0), (block, 1)])
            .filter(|&(block, group)| each[block] * groups_of(most)[group] > 0)
            .collect();
        let mut jobs = Vec::new();
        // `[callable]`: the first job of each, and how many there are.
        let mut jobs_of = Vec::with_capacity(self.callable.len());
        for (callable, &at) in self.callable.iter().enumerate() {
            let before = self.stakes[at].standing.map_or(0, |standing| standing.attempts);
            let attempts = u32::from(self.config.shift.attempts).saturating_sub(before);
            jobs_of.push((jobs.len(), attempts));
            jobs.extend((0..attempts).map(|attempt| (callable, attempt)));
        }
        let places: usize = bins
            .iter()
            .map(|&(block, group)| each[block] * groups_of(most)[group])
            .sum();
        let wanted = bins
            .par_iter()
            .map(|&(block, group)| self.wanted(block, group, &jobs_of, places + 1))
            .collect();
        let worth = |job: usize, bin: usize| {
            let ((callable, attempt), (block, group)) = (jobs[job], bins[bin]);
            self.weight(callable, attempt, block, group)
        };
        let mut growing = Growing::new(jobs.len(), wanted, worth);
        let mut curve = Vec::new();
        let mut own = None;
        for callers in 0..=most {
            let (before, now) = (groups_of(callers.saturating_sub(1)), groups_of(callers));
            for (bin, &(block, group)) in bins.iter().enumerate() {
                for _ in 0..each[block] * now[group].saturating_sub(before[group]) {
                    growing.grow(bin);
                }
            }
            if numbers.binary_search(&callers).is_ok() {
                curve.push(self.point(callers, growing.bin_of(), &jobs, &bins));
            }
            if callers == self.config.shift.callers {
                own = Some((growing.assignment(), growing.capacity().to_vec()));
            }
        }
        // The shift's own number is always among those that the curve shows.
        let (assignment, capacity) = own.unwrap_or_else(|| (growing.assignment(), growing.capacity().to_vec()));
        let callers = groups_of(self.config.shift.callers);
        let calls = Calls {
            jobs,
            bins,
            capacity,
            callers,
            assignment,
        };
        (calls, curve)
    }

    /// Loss avoided and calls of a placing.
    fn point(
        &self,
        callers: usize,
        bin_of: &[Option<usize>],
        jobs: &[(usize, u32)],
        bins: &[(usize, usize)],
    ) -> CurvePoint {
        let dials = self.dials(bin_of, jobs, bins);
        CurvePoint {
            callers,
            calls: dials.len(),
            avoided_usd: dials.iter().map(|dial| dial.avoided_usd).sum(),
        }
    }

    /// The dials of a placing, person by person in order of time: each is worth what the ones before it left.
    pub fn dials(&self, bin_of: &[Option<usize>], jobs: &[(usize, u32)], bins: &[(usize, usize)]) -> Vec<Dial> {
        let mut placed: Vec<(usize, usize, usize)> = bin_of
            .iter()
            .enumerate()
            .filter_map(|(job, bin)| Some((jobs[job].0, bins[(*bin)?].0, job)))
            .collect();
        placed.sort_unstable();
        let mut dials = Vec::with_capacity(placed.len());
        for same in placed.chunk_by(|a, b| a.0 == b.0) {
            let mut left = 1.0;
            for (nth, &(callable, block, job)) in same.iter().enumerate() {
                let at = self.callable[callable];
                let before = self.stakes[at].standing.map_or(0, |standing| standing.attempts);
                dials.push(Dial {
                    job,
                    attempt: u8::try_from(before as usize + nth + 1).unwrap_or(u8::MAX),
                    avoided_usd: self.dial_usd(callable, block) * left,
                });
                left *= 1.0 - self.answered(self.stakes[at].person, &self.blocks[block]);
            }
        }
        dials
    }

    /// Chance that a person answers in a block.
    pub fn answered(&self, person: usize, block: &Block) -> f64 {
        stake::answered_by(self.people[person].business, block.hour, block.weekend, self.config)
    }

    /// The jobs that were left out, those worth most first, at most `most` of them.
    pub fn left_out(&self, calls: &Calls, most: usize) -> Vec<usize> {
        let best: Vec<f64> = (0..self.callable.len())
            .map(|callable| {
                let best = (0..self.blocks.len()).map(|block| self.dial_usd(callable, block));
                best.fold(0.0, f64::max) * self.precedence[callable]
            })
            .collect();
        let mut left: Vec<(f64, usize)> = calls
            .jobs
            .iter()
            .enumerate()
            .filter(|(job, _)| calls.assignment.bin[*job].is_none())
            .map(|(job, &(callable, attempt))| {
                let again = self.unanswered[callable].powi(attempt.min(30) as i32);
                (best[callable] * again, job)
            })
            .collect();
        if left.len() > most {
            left.select_nth_unstable_by(most, assign::falling);
            left.truncate(most);
        }
        left.sort_unstable_by(assign::falling);
        left.into_iter().map(|(_, job)| job).collect()
    }

    /// Numbers of callers that the curve shows: none, one, and parts and multiples of the shift's up to twice as many.
    fn numbers_of_callers(&self) -> Vec<usize> {
        let callers = self.config.shift.callers;
        let mut numbers: Vec<usize> = [0.0, 0.25, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0]
            .iter()
            .map(|times| (times * callers.max(4) as f64).round() as usize)
            .chain([1, callers])
            .collect();
        numbers.sort_unstable();
        numbers.dedup();
        numbers
    }

    /// How many of so many callers speak Spanish, in the proportion of the shift. Rises by one at most for one caller more.
    fn spanish_of(&self, callers: usize) -> usize {
        let shift = &self.config.shift;
        if shift.callers == 0 {
            return 0;
        }
        let share = shift.spanish_callers.min(shift.callers) as f64 / shift.callers as f64;
        ((share * callers as f64).round() as usize).min(callers)
    }

    /// The jobs that weigh most in a bin, falling, at most `most` of them.
    fn wanted(&self, block: usize, group: usize, jobs_of: &[(usize, u32)], most: usize) -> Vec<(f64, usize)> {
        let mut first: Vec<(f64, usize)> = jobs_of
            .iter()
            .enumerate()
            .filter(|(_, (_, attempts))| *attempts > 0)
            .filter_map(|(callable, _)| Some((self.weight(callable, 0, block, group)?, callable)))
            .collect();
        // A later attempt weighs less than the first one of the same person, so the best jobs are of the best persons.
        if first.len() > most {
            first.select_nth_unstable_by(most, assign::falling);
            first.truncate(most);
        }
        let mut wanted: Vec<(f64, usize)> = first
            .iter()
            .flat_map(|&(_, callable)| {
                let (job, attempts) = jobs_of[callable];
                (0..attempts).filter_map(move |attempt| {
                    Some((self.weight(callable, attempt, block, group)?, job + attempt as usize))
                })
            })
            .collect();
        if wanted.len() > most {
            wanted.select_nth_unstable_by(most, assign::falling);
            wanted.truncate(most);
        }
        wanted.sort_unstable_by(assign::falling);
        wanted
    }
}
