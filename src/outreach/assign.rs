//! Exact assignment of calls to blocks of a shift.
//!
//! A call is worth more at an hour when people answer, and nothing once they can no longer act. Given the worth of
//! every call in every block and the number of calls that a block can hold, this finds the assignment of greatest
//! total worth. It is the transportation problem with unit supplies, solved by adding one place at a time along the best
//! augmenting path: after each place the assignment is optimal for the places there are (Ahuja, Magnanti, Orlin, Network
//! Flows, 1993, successive shortest paths `[ahuja-1993]`). A job that has a place keeps one, places are few and blocks are
//! fewer, so that a path is sought among blocks only, and one run gives the best assignment for every number of callers on the way.

/// Jobs to bins.
#[derive(Debug, Clone, PartialEq)]
pub struct Assignment {
    /// Bin of each job, `[jobs]`; `None` where the job is left out.
    pub bin: Vec<Option<usize>>,
    /// Total worth.
    pub worth: f64,
}

/// Where a place that comes free in a bin is filled from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Filled {
    /// It stays empty.
    Nothing,
    /// From the jobs left out.
    Outside,
    /// By a job of this bin, whose own place is then filled in turn.
    From(usize),
}

/// An assignment that grows place by place and is optimal at every moment.
pub struct Growing<W> {
    worth: W,
    bins: usize,
    /// `[bins]`: places.
    capacity: Vec<usize>,
    /// `[bins]`: jobs that may go there and their worth, falling.
    wanted: Vec<Vec<(f64, usize)>>,
    /// `[bins]`: the first of `wanted` that may still be left out.
    first: Vec<usize>,
    /// `[jobs]`
    bin_of: Vec<Option<usize>>,
    /// `[bins]`: jobs that are held, by their row.
    held: Vec<Vec<usize>>,
    /// `[rows]`: the job of each row.
    job: Vec<usize>,
    /// `[rows × bins]`: worth of each job that has a place, in each bin; minus infinity where it may not go.
    rows: Vec<f64>,
    /// `[from × to]`: best gain of moving one job.
    moves: Vec<f64>,
    /// `[bins]`: gain of one more place, at least 0. These are the prices of the dual problem.
    gain: Vec<f64>,
    /// `[bins]`: where that gain comes from.
    filled: Vec<Filled>,
    /// Rooms of the search, kept to spare their making.
    distance: Vec<f64>,
    settled: Vec<bool>,
}

impl<W: Fn(usize, usize) -> Option<f64>> Growing<W> {
    /// Begins without any place.
    ///
    /// `worth(job, bin)` is `None` where the job cannot go; values that are not finite or not above 0 count as `None`. `wanted[bin]` lists
    /// jobs of `0..jobs` that may go to the bin with their worth, falling. Where a list is cut short it must be no shorter than
    /// the number of places of all bins that will ever be added, plus one: no job behind that can ever get a place.
    pub fn new(jobs: usize, wanted: Vec<Vec<(f64, usize)>>, worth: W) -> Self {
        let bins = wanted.len();
        let mut growing = Self {
            worth,
            bins,
            capacity: vec![0; bins],
            wanted,
            first: vec![0; bins],
            bin_of: vec![None; jobs],
            held: vec![Vec::new(); bins],
            job: Vec::new(),
            rows: Vec::new(),
            moves: vec![f64::NEG_INFINITY; bins * bins],
            gain: vec![0.0; bins],
            filled: vec![Filled::Nothing; bins],
            distance: vec![0.0; bins],
            settled: vec![false; bins],
        };
        for bin in 0..bins {
            growing.gain[bin] = growing.outside(bin).map_or(0.0, |(worth, _)| worth);
        }
        growing.price();
        growing
    }

    /// Begins again without any place, with the same lists.
    pub fn restart(self) -> Self {
        Self::new(self.bin_of.len(), self.wanted, self.worth)
    }

    /// Adds one place to a bin and returns what it gains, 0 when it stays empty.
    pub fn grow(&mut self, bin: usize) -> f64 {
        self.capacity[bin] += 1;
        let gain = self.gain[bin];
        if gain <= 0.0 {
            return 0.0;
        }
        // The prices are exact, so the path that they name is followed to its end; it visits no bin twice.
        let mut here = bin;
        let mut touched = vec![bin];
        loop {
            match self.filled[here] {
                Filled::Nothing => break,
                Filled::Outside => {
                    if let Some((_, job)) = self.outside(here) {
                        self.take_in(job, here);
                    }
                    break;
                }
                Filled::From(there) => {
                    let Some(at) = self.mover(there, here) else { break };
                    let row = self.held[there].swap_remove(at);
                    self.held[here].push(row);
                    self.bin_of[self.job[row]] = Some(here);
                    here = there;
                    touched.push(there);
                }
            }
        }
        for bin in touched {
            self.refresh(bin);
        }
        self.price();
        gain
    }

    /// What one more place would gain in each bin, `[bins]`.
    pub fn gains(&self) -> &[f64] {
        &self.gain
    }

    /// Bin of each job, `[jobs]`.
    pub fn bin_of(&self) -> &[Option<usize>] {
        &self.bin_of
    }

    /// Places of each bin, `[bins]`.
    pub fn capacity(&self) -> &[usize] {
        &self.capacity
    }

    /// Total worth.
    pub fn total(&self) -> f64 {
        self.held
            .iter()
            .enumerate()
            .flat_map(|(bin, held)| held.iter().map(move |row| self.rows[row * self.bins + bin]))
            .sum()
    }

    /// The assignment as it stands.
    pub fn assignment(&self) -> Assignment {
        Assignment {
            bin: self.bin_of.clone(),
            worth: self.total(),
        }
    }

    /// The best job for a bin among those left out.
    fn outside(&mut self, bin: usize) -> Option<(f64, usize)> {
        let (wanted, first) = (&self.wanted[bin], &mut self.first[bin]);
        while let Some(&(worth, job)) = wanted.get(*first) {
            // A job that has a place never loses it, so the list is walked once.
            if self.bin_of[job].is_none() && worth.is_finite() && worth > 0.0 {
                return Some((worth, job));
            }
            *first += 1;
        }
        None
    }

    fn take_in(&mut self, job: usize, bin: usize) {
        let row = self.job.len();
        self.job.push(job);
        for there in 0..self.bins {
            let worth = (self.worth)(job, there).filter(|worth| worth.is_finite() && *worth > 0.0);
            self.rows.push(worth.unwrap_or(f64::NEG_INFINITY));
        }
        self.held[bin].push(row);
        self.bin_of[job] = Some(bin);
    }

    /// Position of the job of `from` that gains most by moving to `to`.
    fn mover(&self, from: usize, to: usize) -> Option<usize> {
        let mut best: Option<(f64, usize)> = None;
        for (at, row) in self.held[from].iter().enumerate() {
            let row = &self.rows[row * self.bins..(row + 1) * self.bins];
            let gain = row[to] - row[from];
            if gain > best.map_or(f64::NEG_INFINITY, |best| best.0) {
                best = Some((gain, at));
            }
        }
        best.map(|best| best.1)
    }

    /// Works out anew what the jobs of a bin gain by moving.
    fn refresh(&mut self, from: usize) {
        let bins = self.bins;
        let moves = &mut self.moves[from * bins..(from + 1) * bins];
        moves.fill(f64::NEG_INFINITY);
        for row in &self.held[from] {
            let row = &self.rows[row * bins..(row + 1) * bins];
            let here = row[from];
            for (best, there) in moves.iter_mut().zip(row) {
                let gain = there - here;
                *best = if gain > *best { gain } else { *best };
            }
        }
        // Staying is no move.
        moves[from] = f64::NEG_INFINITY;
    }

    /// Gain of one more place in each bin, over all paths.
    ///
    /// A gain only falls as places are added, and the last ones are prices under which every job has the place it likes best. Taken as
    /// potentials they leave no step of negative length, so that Dijkstra's method applies (the same, chapter 9).
    fn price(&mut self) {
        let bins = self.bins;
        for bin in 0..bins {
            let outside = self.outside(bin).map_or(0.0, |(worth, _)| worth);
            self.filled[bin] = if outside > 0.0 {
                Filled::Outside
            } else {
                Filled::Nothing
            };
            self.distance[bin] = (self.gain[bin] - outside).max(0.0);
            self.settled[bin] = false;
        }
        // `gain` holds the old prices until a bin is settled; its new gain is kept apart from the others' steps.
        let mut fresh = std::mem::take(&mut self.gain);
        let old = fresh.clone();
        for _ in 0..bins {
            let mut nearest: Option<usize> = None;
            for bin in 0..bins {
                if !self.settled[bin] && nearest.is_none_or(|nearest| self.distance[bin] < self.distance[nearest]) {
                    nearest = Some(bin);
                }
            }
            let Some(here) = nearest else { break };
            self.settled[here] = true;
            fresh[here] = match self.filled[here] {
                Filled::Nothing => 0.0,
                Filled::Outside => self.outside(here).map_or(0.0, |(worth, _)| worth),
                // Summed along the path and not taken from the distance, so that rounding does not build up.
                Filled::From(there) => self.moves[there * bins + here] + fresh[there],
            };
            let (so_far, price) = (self.distance[here], old[here]);
            let moves = &self.moves[here * bins..(here + 1) * bins];
            for there in 0..bins {
                // A step of no length is worth minus infinity; rounding below zero counts as zero.
                let step = (old[there] - price - moves[there]).max(0.0);
                if !self.settled[there] && so_far + step < self.distance[there] {
                    self.distance[there] = so_far + step;
                    self.filled[there] = Filled::From(here);
                }
            }
        }
        self.gain = fresh;
    }
}

/// Fills places one at a time, each time the one that gains most, and hands over what stands after each.
///
/// After `n` places the assignment is the best that `n` jobs can make in `capacity`, and no place gains more than the one before it.
pub fn best_first<W>(capacity: &[usize], mut growing: Growing<W>, mut each: impl FnMut(&Growing<W>))
where
    W: Fn(usize, usize) -> Option<f64>,
{
    let mut room = capacity.to_vec();
    loop {
        let mut best: Option<(f64, usize)> = None;
        for (bin, gain) in growing.gains().iter().enumerate() {
            if room[bin] > 0 && *gain > best.map_or(0.0, |best| best.0) {
                best = Some((*gain, bin));
            }
        }
        let Some((_, bin)) = best else { return };
        room[bin] -= 1;
        growing.grow(bin);
        each(&growing);
    }
}

/// Assigns each job of `0..jobs` to at most one bin, and at most `capacity[bin]` jobs to a bin, for the greatest total worth.
///
/// `worth` is as in [`Growing::new`].
pub fn assign<W>(capacity: &[usize], jobs: usize, worth: W) -> Assignment
where
    W: Fn(usize, usize) -> Option<f64>,
{
    let wanted = (0..capacity.len())
        .map(|bin| {
            let mut wanted: Vec<(f64, usize)> = (0..jobs)
                .filter_map(|job| Some((worth(job, bin)?, job)))
                .filter(|(worth, _)| worth.is_finite() && *worth > 0.0)
                .collect();
            wanted.sort_by(falling);
            wanted
        })
        .collect();
    let mut growing = Growing::new(jobs, wanted, worth);
    for (bin, room) in capacity.iter().enumerate() {
        for _ in 0..(*room).min(jobs) {
            growing.grow(bin);
        }
    }
    growing.assignment()
}

/// The order of a list of wanted jobs: falling worth, then rising job.
pub fn falling(a: &(f64, usize), b: &(f64, usize)) -> std::cmp::Ordering {
    b.0.total_cmp(&a.0).then(a.1.cmp(&b.1))
}
