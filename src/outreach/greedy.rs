//! Exact greedy schedule of unit-time jobs with deadlines and weights on identical crews.
//!
//! The sets of jobs that can all be done in time are the independent sets of a matroid, so taking jobs in order
//! of falling weight, each if it still fits, gives the greatest total weight (Cormen, Leiserson, Rivest, Stein, Introduction to
//! Algorithms, 3rd ed., section 16.5 `[cormen-2009]`). A job goes to the latest free place before its deadline, which
//! union-find gives in nearly constant time.

/// Places jobs.
///
/// `capacity[slot]` is how many jobs the slot can hold; `jobs` are `(slots, weight)`: the job fits the first `slots` slots, and weights
/// that are not above 0 are left out. Returns the slot of each job, `[jobs]`, moved as early as its fellows allow in order of deadline.
pub fn schedule(capacity: &[usize], jobs: &[(usize, f64)]) -> Vec<Option<usize>> {
    // Unit places in time order; place p belongs to slot_of[p], and slot s ends before place end[s].
    let mut slot_of = Vec::new();
    let mut end = Vec::with_capacity(capacity.len());
    for (slot, &room) in capacity.iter().enumerate() {
        slot_of.extend(std::iter::repeat_n(slot, room.min(jobs.len())));
        end.push(slot_of.len());
    }
    let mut order: Vec<usize> = (0..jobs.len()).filter(|&job| jobs[job].1 > 0.0).collect();
    order.sort_by(|&a, &b| jobs[b].1.total_cmp(&jobs[a].1).then(a.cmp(&b)));
    // free[p + 1]: the latest free place not after p, plus one; 0 when there is none.
    let mut free: Vec<usize> = (0..=slot_of.len()).collect();
    let mut chosen = Vec::new();
    for job in order {
        let slots = jobs[job].0.min(capacity.len());
        let Some(&last) = slots.checked_sub(1).and_then(|slot| end.get(slot)) else {
            continue;
        };
        let place = find(&mut free, last);
        if place > 0 {
            free[place] = place - 1;
            chosen.push(job);
        }
    }
    // The chosen set is feasible, so earliest deadline first from the first place on meets every deadline.
    chosen.sort_by(|&a, &b| {
        jobs[a]
            .0
            .cmp(&jobs[b].0)
            .then(jobs[b].1.total_cmp(&jobs[a].1))
            .then(a.cmp(&b))
    });
    let mut placed = vec![None; jobs.len()];
    for (place, job) in chosen.into_iter().enumerate() {
        placed[job] = slot_of.get(place).copied();
    }
    placed
}

fn find(free: &mut [usize], mut at: usize) -> usize {
    while free[at] != at {
        free[at] = free[free[at]];
        at = free[at];
    }
    at
}
