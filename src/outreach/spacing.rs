//! Attempts at one person, kept apart.
//!
//! The exact assignment treats attempts as separate calls. Where two attempts at one person came to lie closer than the config
//! allows, the later one changes places with another call, takes an empty place, or gives its place to the best call
//! that was left out, whichever keeps most worth. The worth before this step bounds what any plan could reach.

use chrono::{DateTime, TimeDelta, Utc};

/// A call to place: whose it is.
pub(super) struct Attempts<'a> {
    /// Person of each job, `[jobs]`.
    pub person: &'a [usize],
    /// Start of each bin, `[bins]`.
    pub start: &'a [DateTime<Utc>],
    /// Room of each bin, `[bins]`.
    pub capacity: &'a [usize],
    /// Least time between the starts of two attempts' blocks.
    pub gap: TimeDelta,
}

impl Attempts<'_> {
    /// Moves attempts apart, in place. `spare` lists the jobs left out, best first.
    pub fn keep_apart(
        &self,
        bin_of: &mut [Option<usize>],
        worth: impl Fn(usize, usize) -> Option<f64>,
        spare: &[usize],
    ) {
        let persons = self.person.iter().max().map_or(0, |most| most + 1);
        let mut of_person: Vec<Vec<usize>> = vec![Vec::new(); persons];
        let mut held: Vec<Vec<usize>> = vec![Vec::new(); self.capacity.len()];
        for (job, bin) in bin_of.iter().enumerate() {
            if let Some(bin) = bin {
                of_person[self.person[job]].push(job);
                held[*bin].push(job);
            }
        }
        let apart = |bin_of: &[Option<usize>], of_person: &[Vec<usize>], job: usize, bin: usize| {
            of_person[self.person[job]].iter().all(|&other| {
                other == job
                    || bin_of[other].is_none_or(|there| (self.start[there] - self.start[bin]).abs() >= self.gap)
            })
        };
        let mut spare = spare
            .iter()
            .copied()
            .filter(|&job| bin_of[job].is_none())
            .collect::<Vec<_>>();
        spare.reverse();
        for person in 0..persons {
            let mut mine = of_person[person].clone();
            mine.sort_by_key(|&job| bin_of[job].map(|bin| self.start[bin]));
            for &job in mine.iter().skip(1) {
                let Some(here) = bin_of[job] else { continue };
                if apart(bin_of, &of_person, job, here) {
                    continue;
                }
                let mut best: (f64, Option<(usize, Option<usize>)>) = (0.0, None);
                for (there, others) in held.iter().enumerate() {
                    let Some(gain) = worth(job, there).filter(|_| apart(bin_of, &of_person, job, there)) else {
                        continue;
                    };
                    if others.len() < self.capacity[there] && gain > best.0 {
                        best = (gain, Some((there, None)));
                    }
                    for &other in others {
                        let (Some(loses), Some(gets)) = (worth(other, there), worth(other, here)) else {
                            continue;
                        };
                        let total = gain + gets - loses;
                        if total > best.0 && self.person[other] != person && apart(bin_of, &of_person, other, here) {
                            best = (total, Some((there, Some(other))));
                        }
                    }
                }
                held[here].retain(|&held| held != job);
                match best.1 {
                    Some((there, other)) => {
                        if let Some(other) = other {
                            held[there].retain(|&held| held != other);
                            held[here].push(other);
                            bin_of[other] = Some(here);
                        }
                        held[there].push(job);
                        bin_of[job] = Some(there);
                    }
                    None => bin_of[job] = None,
                }
                if held[here].len() < self.capacity[here] {
                    // The place that came free goes to the best call that fits it.
                    let fits = spare
                        .iter()
                        .rposition(|&job| worth(job, here).is_some() && apart(bin_of, &of_person, job, here));
                    if let Some(at) = fits {
                        let taken = spare.remove(at);
                        held[here].push(taken);
                        bin_of[taken] = Some(here);
                        of_person[self.person[taken]].push(taken);
                    }
                }
            }
        }
    }
}
