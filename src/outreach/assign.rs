//! Exact assignment of calls to blocks of a shift.
//!
//! A call is worth more at an hour when people answer, and nothing once they can no longer act. Given the worth of
//! every call in every block and the number of calls that a block can hold, this finds the assignment of greatest
//! total worth. It is the transportation problem with unit supplies, solved by inserting one job at a time along the
//! best augmenting path: after each insertion the assignment is optimal for the jobs seen so far (Ahuja, Magnanti,
//! Orlin, Network Flows, 1993, successive shortest paths `[ahuja-1993]`). Blocks are few and jobs are many, so a path is
//! sought among blocks only.

use std::collections::HashMap;

/// Jobs to bins.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Bin of each job, `[jobs]`; `None` where the job is left out.
    pub bin: Vec<Option<usize>>,
    /// Total worth.
    pub worth: f64,
}

/// What one bin could do next.
#[derive(Clone, Copy, PartialEq)]
enum Step {
    /// It has room.
    Room,
    /// Its cheapest job is left out.
    Drop(usize),
    /// A job moves on to another bin.
    Move(usize, usize),
}

struct Solver<'a, W> {
    capacity: &'a [usize],
    worth: W,
    held: Vec<Vec<usize>>,
    /// Worths of the jobs that are held, `[bins]` each; minus infinity where a job may not go.
    rows: HashMap<usize, Vec<f64>>,
    /// `[from × to]`: best gain of moving one job; the job is found again when a path uses the move.
    moves: Vec<f64>,
    /// `[bin]`: gain of making one place, by room or by dropping a job.
    leave: Vec<f64>,
    /// `[bin]`: best gain of taking one more job in, over all paths.
    take: Vec<f64>,
    /// `[bin]`: where the first step of that path leads; `None` where the path ends in the bin. Kept from the pricing, because where
    /// gains tie a path sought afresh could run in a circle.
    next: Vec<Option<usize>>,
    /// The largest of `take`.
    easiest: f64,
}

/// Assigns each job to at most one bin, and at most `capacity[bin]` jobs to a bin, for the greatest total worth.
///
/// `worth(job, bin)` is `None` where the job cannot go; values that are not finite or not above 0 count as `None`. `order` says
/// which jobs there are and in which order they are tried: the result is optimal whatever the order, but descending worth is
/// fastest. `most(job)` bounds the worth of the job in any bin from above; it only saves time.
pub fn assign<W, M>(capacity: &[usize], jobs: usize, order: &[usize], worth: W, most: M) -> Assignment
where
    W: Fn(usize, usize) -> Option<f64>,
    M: Fn(usize) -> f64,
{
    let bins = capacity.len();
    let mut solver = Solver {
        capacity,
        worth,
        held: vec![Vec::new(); bins],
        rows: HashMap::new(),
        moves: vec![f64::NEG_INFINITY; bins * bins],
        leave: vec![f64::NEG_INFINITY; bins],
        take: vec![f64::NEG_INFINITY; bins],
        next: vec![None; bins],
        easiest: f64::NEG_INFINITY,
    };
    for bin in 0..bins {
        solver.refresh(bin);
    }
    solver.price();
    let mut bin_of: Vec<Option<usize>> = vec![None; jobs];
    for &job in order {
        let bound = most(job);
        if bound + solver.easiest <= tolerance(bound) {
            continue;
        }
        solver.insert(job, &mut bin_of);
    }
    let total = bin_of
        .iter()
        .enumerate()
        .filter_map(|(job, bin)| bin.map(|bin| solver.held_worth(job, bin)))
        .sum();
    Assignment {
        bin: bin_of,
        worth: total,
    }
}

/// Gains below this are rounding.
fn tolerance(scale: f64) -> f64 {
    1e-12 * scale.abs()
}

impl<W: Fn(usize, usize) -> Option<f64>> Solver<'_, W> {
    fn held_worth(&self, job: usize, bin: usize) -> f64 {
        self.rows
            .get(&job)
            .and_then(|row| row.get(bin).copied())
            .unwrap_or(f64::NEG_INFINITY)
    }

    /// Works out anew what bin `k` can do, from the jobs it holds.
    fn refresh(&mut self, k: usize) {
        let bins = self.capacity.len();
        let moves = &mut self.moves[k * bins..(k + 1) * bins];
        moves.fill(f64::NEG_INFINITY);
        let mut cheapest = f64::NEG_INFINITY;
        for job in &self.held[k] {
            let Some(row) = self.rows.get(job) else { continue };
            let here = row[k];
            cheapest = cheapest.max(-here);
            for (best, there) in moves.iter_mut().zip(row) {
                *best = best.max(there - here);
            }
        }
        // Staying is no move.
        moves[k] = f64::NEG_INFINITY;
        self.leave[k] = if self.held[k].len() < self.capacity[k] {
            0.0
        } else {
            cheapest
        };
    }

    /// Best gain of taking one more job into each bin (Bellman-Ford; no cycle gains, since the assignment is optimal).
    fn price(&mut self) {
        let bins = self.capacity.len();
        self.take.copy_from_slice(&self.leave);
        self.next.fill(None);
        for _ in 0..bins {
            let mut changed = false;
            for k in 0..bins {
                let moves = &self.moves[k * bins..(k + 1) * bins];
                let best = moves
                    .iter()
                    .zip(&self.take)
                    .map(|(gain, then)| gain + then)
                    .fold(f64::NEG_INFINITY, f64::max);
                if best > self.take[k] + tolerance(best) {
                    self.next[k] = moves
                        .iter()
                        .zip(&self.take)
                        .position(|(gain, then)| gain + then >= best);
                    self.take[k] = best;
                    changed = true;
                }
            }
            if !changed {
                break;
            }
        }
        self.easiest = self.take.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    }

    /// The first step of the best path from bin `k`.
    fn step(&self, k: usize) -> Option<Step> {
        let held = &self.held[k];
        let highest = |score: &dyn Fn(usize) -> f64| {
            held.iter()
                .copied()
                .map(|job| (score(job), job))
                .filter(|(score, _)| score.is_finite())
                .reduce(|a, b| if b.0 > a.0 { b } else { a })
                .map(|(_, job)| job)
        };
        match self.next[k] {
            Some(l) => {
                let job = highest(&|job| self.held_worth(job, l) - self.held_worth(job, k))?;
                Some(Step::Move(job, l))
            }
            None if held.len() < self.capacity[k] => Some(Step::Room),
            None => highest(&|job| -self.held_worth(job, k)).map(Step::Drop),
        }
    }

    fn insert(&mut self, job: usize, bin_of: &mut [Option<usize>]) {
        let bins = self.capacity.len();
        let row: Vec<f64> = (0..bins)
            .map(|bin| {
                (self.worth)(job, bin)
                    .filter(|worth| worth.is_finite() && *worth > 0.0)
                    .unwrap_or(f64::NEG_INFINITY)
            })
            .collect();
        let mut best = (0.0, None);
        for (bin, worth) in row.iter().enumerate() {
            let gain = worth + self.take[bin];
            if gain.is_finite() && gain > best.0 + tolerance(*worth) {
                best = (gain, Some(bin));
            }
        }
        let Some(mut bin) = best.1 else { return };
        let mut path: Vec<(usize, Step)> = Vec::new();
        loop {
            // At the optimum no path meets itself; if rounding makes one, the job is left as it was.
            if path.iter().any(|&(seen, _)| seen == bin) {
                return;
            }
            let Some(step) = self.step(bin) else { return };
            path.push((bin, step));
            match step {
                Step::Move(_, next) => bin = next,
                Step::Room | Step::Drop(_) => break,
            }
        }
        self.rows.insert(job, row);
        let mut incoming = job;
        for &(bin, step) in &path {
            if let Step::Drop(outgoing) | Step::Move(outgoing, _) = step {
                self.held[bin].retain(|&held| held != outgoing);
                bin_of[outgoing] = None;
                if let Step::Drop(_) = step {
                    self.rows.remove(&outgoing);
                }
            }
            self.held[bin].push(incoming);
            bin_of[incoming] = Some(bin);
            if let Step::Move(outgoing, _) = step {
                incoming = outgoing;
            }
        }
        for (bin, _) in path {
            self.refresh(bin);
        }
        self.price();
    }
}
