//! Exact assignment of calls to blocks of a shift.
//!
//! A call is worth more at an hour when people answer, and nothing once they can no longer act. Given the worth of
//! every call in every block and the number of calls that a block can hold, this finds the assignment of greatest
//! total worth. It is the transportation problem with unit supplies, solved by inserting one job at a time along the
//! best augmenting path: after each insertion the assignment is optimal for the jobs seen so far (Ahuja, Magnanti,
//! Orlin, Network Flows, 1993, successive shortest paths `[ahuja-1993]`). Blocks are few and jobs are many, so a path is
//! sought among blocks only.

/// Jobs to bins.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Bin of each job, `[jobs]`; `None` where the job is left out.
    pub bin: Vec<Option<usize>>,
    /// Total worth.
    pub worth: f64,
}

/// What one bin could do next.
#[derive(Clone, Copy)]
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
    /// `[from][to]`: best gain of moving one job, with that job.
    moves: Vec<Vec<(f64, usize)>>,
    /// `[bin]`: gain of making one place, by room or by dropping a job.
    leave: Vec<(f64, Step)>,
    /// `[bin]`: best gain of taking one more job in, over all paths, with the first step of that path.
    take: Vec<(f64, Step)>,
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
    let clean = |job: usize, bin: usize| worth(job, bin).filter(|w| w.is_finite() && *w > 0.0);
    let mut solver = Solver {
        capacity,
        worth: clean,
        held: vec![Vec::new(); bins],
        moves: vec![vec![(f64::NEG_INFINITY, usize::MAX); bins]; bins],
        leave: vec![(f64::NEG_INFINITY, Step::Room); bins],
        take: vec![(f64::NEG_INFINITY, Step::Room); bins],
    };
    for bin in 0..bins {
        solver.refresh(bin);
    }
    solver.price();
    let mut bin_of: Vec<Option<usize>> = vec![None; jobs];
    for &job in order {
        let cheapest = solver
            .take
            .iter()
            .map(|(gain, _)| *gain)
            .fold(f64::NEG_INFINITY, f64::max);
        let bound = most(job);
        if bound + cheapest <= tolerance(bound) {
            continue;
        }
        solver.insert(job, &mut bin_of);
    }
    let total = bin_of
        .iter()
        .enumerate()
        .filter_map(|(job, bin)| bin.and_then(|bin| (solver.worth)(job, bin)))
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
    /// Works out anew what bin `k` can do, from the jobs it holds.
    fn refresh(&mut self, k: usize) {
        let bins = self.capacity.len();
        let row = &mut self.moves[k];
        row.fill((f64::NEG_INFINITY, usize::MAX));
        let mut cheapest = (f64::NEG_INFINITY, Step::Room);
        for &job in &self.held[k] {
            let Some(here) = (self.worth)(job, k) else { continue };
            if -here > cheapest.0 {
                cheapest = (-here, Step::Drop(job));
            }
            for (l, best) in row.iter_mut().enumerate().take(bins) {
                if l == k {
                    continue;
                }
                if let Some(there) = (self.worth)(job, l)
                    && there - here > best.0
                {
                    *best = (there - here, job);
                }
            }
        }
        self.leave[k] = if self.held[k].len() < self.capacity[k] {
            (0.0, Step::Room)
        } else {
            cheapest
        };
    }

    /// Best gain of taking one more job into each bin (Bellman-Ford; no cycle gains, since the assignment is optimal).
    fn price(&mut self) {
        let bins = self.capacity.len();
        self.take.copy_from_slice(&self.leave);
        for _ in 0..bins {
            let mut changed = false;
            for k in 0..bins {
                for l in 0..bins {
                    let (gain, job) = self.moves[k][l];
                    let total = gain + self.take[l].0;
                    if total > self.take[k].0 + tolerance(total) {
                        self.take[k] = (total, Step::Move(job, l));
                        changed = true;
                    }
                }
            }
            if !changed {
                break;
            }
        }
    }

    fn insert(&mut self, job: usize, bin_of: &mut [Option<usize>]) {
        let mut best = (0.0, usize::MAX);
        for bin in 0..self.capacity.len() {
            if let Some(worth) = (self.worth)(job, bin) {
                let gain = worth + self.take[bin].0;
                if gain > best.0 + tolerance(worth) {
                    best = (gain, bin);
                }
            }
        }
        let mut bin = best.1;
        if bin == usize::MAX {
            return;
        }
        let mut path: Vec<(usize, Step)> = Vec::new();
        loop {
            // At the optimum no path meets itself; if rounding makes one, the job is left as it was.
            if path.iter().any(|&(seen, _)| seen == bin) {
                return;
            }
            let step = self.take[bin].1;
            path.push((bin, step));
            match step {
                Step::Move(_, next) => bin = next,
                Step::Room | Step::Drop(_) => break,
            }
        }
        let mut incoming = job;
        for &(bin, step) in &path {
            if let Step::Drop(outgoing) | Step::Move(outgoing, _) = step {
                self.held[bin].retain(|&held| held != outgoing);
                bin_of[outgoing] = None;
            }
            self.held[bin].push(incoming);
            bin_of[incoming] = Some(bin);
            if let Step::Move(outgoing, _) = step {
                incoming = outgoing;
            }
        }
        let touched: Vec<usize> = path.into_iter().map(|(bin, _)| bin).collect();
        for &bin in &touched {
            self.refresh(bin);
        }
        self.price();
    }
}
