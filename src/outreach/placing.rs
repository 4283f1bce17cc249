//! Calls placed on the board: the best placing for the shift's callers, and for fewer and more of them.

use super::assign::{self, Growing};
use super::board::Board;
use super::clock;
use super::spacing::Attempts;
use super::summary::CurvePoint;
use chrono::{DateTime, Utc};
use rayon::prelude::*;

/// Calls placed: jobs are attempts.
pub(super) struct Calls {
    /// `[jobs]`: position in `callable` and attempt from 0.
    pub jobs: Vec<(usize, u32)>,
    /// `[bins]`: block and group; group 0 speaks Spanish.
    pub bins: Vec<(usize, usize)>,
    /// Callers of each group.
    pub callers: [usize; 2],
    /// `[jobs]`: bin of each, attempts at one person apart.
    pub bin_of: Vec<Option<usize>>,
    /// Worth of the best placing if attempts need not be apart: no plan beats it.
    pub bound: f64,
}

/// What placing comes to.
pub(super) struct Solved {
    pub calls: Calls,
    /// By number of callers, from none upward.
    pub curve: Vec<CurvePoint>,
    /// By number of calls that the shift's own callers make, from none upward.
    pub steps: Vec<CurvePoint>,
}

/// Points of the line of loss avoided against calls, about (judgement: a smooth line).
const STEPS: usize = 40;

/// Calls left out that may take a place which comes free when attempts are moved apart (judgement: far more than come free).
const MOST_SPARE: usize = 2_000;

/// One dial of a placing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dial {
    pub job: usize,
    /// Which attempt at the person it is, from 1.
    pub attempt: u8,
    /// Loss that it is expected to avoid, US dollars.
    pub avoided_usd: f64,
}

impl Board<'_> {
    /// Places the calls of the shift's callers, and on the way those of fewer and of more callers for the curve, from none upward.
    ///
    /// Every placing is the best of its number of callers: each is reached from the one before by adding the places of one more caller.
    /// Beside that the shift's own calls are placed once more in the order in which they gain most, for the line between no call and all.
    pub fn solve(&self) -> Solved {
        let numbers = self.numbers_of_callers();
        let shift = self.config.shift.callers;
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
        let wanted: Vec<Vec<(f64, usize)>> = bins
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
                let mut bin_of = growing.bin_of().to_vec();
                self.space(&mut bin_of, &jobs, &bins, growing.capacity());
                curve.push(self.point(callers, &bin_of, &jobs, &bins));
                // The shift's own number is always among those that the curve shows.
                if callers == shift {
                    own = Some((bin_of, growing.capacity().to_vec(), growing.total()));
                }
            }
        }
        let (bin_of, capacity, bound) = own.unwrap_or_default();
        let planned = bin_of.iter().flatten().count();
        let every = planned.div_ceil(STEPS).max(1);
        let mut steps = vec![self.point(shift, &[], &jobs, &bins)];
        let mut made = 0;
        assign::best_first(&capacity, growing.restart(), |growing| {
            made += 1;
            if made % every == 0 {
                steps.push(self.point(shift, growing.bin_of(), &jobs, &bins));
            }
        });
        let calls = Calls {
            callers: groups_of(shift),
            jobs,
            bins,
            bin_of,
            bound,
        };
        Solved { calls, curve, steps }
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

    /// Keeps the attempts at one person apart, in place.
    fn space(&self, bin_of: &mut [Option<usize>], jobs: &[(usize, u32)], bins: &[(usize, usize)], capacity: &[usize]) {
        let person: Vec<usize> = jobs.iter().map(|(callable, _)| *callable).collect();
        let start: Vec<DateTime<Utc>> = bins.iter().map(|(block, _)| self.blocks[*block].start).collect();
        let spare = self.left_out(bin_of, jobs);
        let weight = |job: usize, bin: usize| {
            let ((callable, attempt), (block, group)) = (jobs[job], bins[bin]);
            self.weight(callable, attempt, block, group)
        };
        Attempts {
            person: &person,
            start: &start,
            capacity,
            gap: clock::hours(self.config.shift.hours_between_attempts),
        }
        .keep_apart(bin_of, weight, &spare);
    }

    /// The jobs that were left out, those worth most first, at most [`MOST_SPARE`] of them.
    fn left_out(&self, bin_of: &[Option<usize>], jobs: &[(usize, u32)]) -> Vec<usize> {
        let mut left: Vec<(f64, usize)> = jobs
            .iter()
            .enumerate()
            .filter(|(job, _)| bin_of[*job].is_none())
            .map(|(job, &(callable, attempt))| {
                let again = self.unanswered[callable].powi(attempt.min(30) as i32);
                (self.best_usd[callable] * self.precedence[callable] * again, job)
            })
            .collect();
        if left.len() > MOST_SPARE {
            left.select_nth_unstable_by(MOST_SPARE, assign::falling);
            left.truncate(MOST_SPARE);
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
