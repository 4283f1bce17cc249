//! Placing calls and door hangers: the exact methods against brute force and an independent assignment solver.
#![allow(clippy::unwrap_used, clippy::panic)]

use brimwater::outreach::{assign, greedy};
use pathfinding::kuhn_munkres::kuhn_munkres;
use pathfinding::matrix::Matrix;
use proptest::prelude::*;

/// The best total by trying everything: each job in each bin or left out.
fn brute_force(capacity: &[usize], worth: &[Vec<i64>]) -> i64 {
    fn go(job: usize, room: &mut Vec<usize>, worth: &[Vec<i64>]) -> i64 {
        let Some(row) = worth.get(job) else { return 0 };
        let mut best = go(job + 1, room, worth);
        for bin in 0..room.len() {
            if room[bin] > 0 && row[bin] > 0 {
                room[bin] -= 1;
                best = best.max(row[bin] + go(job + 1, room, worth));
                room[bin] += 1;
            }
        }
        best
    }
    go(0, &mut capacity.to_vec(), worth)
}

/// The best total by the Hungarian method of the pathfinding crate: bins unrolled to places, and one dummy place a job.
fn hungarian(capacity: &[usize], worth: &[Vec<i64>]) -> i64 {
    let places: Vec<usize> = capacity
        .iter()
        .enumerate()
        .flat_map(|(bin, room)| std::iter::repeat_n(bin, *room))
        .collect();
    let columns = places.len() + worth.len();
    let matrix = Matrix::from_fn(worth.len(), columns, |(job, column)| {
        places.get(column).map_or(0, |bin| worth[job][*bin].max(0))
    });
    kuhn_munkres(&matrix).0
}

fn solve(capacity: &[usize], worth: &[Vec<i64>]) -> assign::Assignment {
    let of = |job: usize, bin: usize| (worth[job][bin] > 0).then_some(worth[job][bin] as f64);
    assign::assign(capacity, worth.len(), of)
}

/// Adds places one at a time in the given order, and hands over what stands after each, with the places so far.
fn grow(bins: usize, places: &[usize], worth: &[Vec<i64>], mut each: impl FnMut(&[usize], &assign::Assignment, f64)) {
    let of = |job: usize, bin: usize| (worth[job][bin] > 0).then_some(worth[job][bin] as f64);
    // Lists are cut as short as the contract allows.
    let wanted = (0..bins)
        .map(|bin| {
            let mut wanted: Vec<(f64, usize)> = (0..worth.len()).filter_map(|job| Some((of(job, bin)?, job))).collect();
            wanted.sort_by(assign::falling);
            wanted.truncate(places.len() + 1);
            wanted
        })
        .collect();
    let mut growing = assign::Growing::new(worth.len(), wanted, of);
    let mut capacity = vec![0; bins];
    for &bin in places {
        let gain = growing.grow(bin);
        capacity[bin] += 1;
        each(&capacity, &growing.assignment(), gain);
    }
}

fn check_feasible(capacity: &[usize], worth: &[Vec<i64>], found: &assign::Assignment) {
    let mut used = vec![0; capacity.len()];
    let mut total = 0;
    for (job, bin) in found.bin.iter().enumerate() {
        if let Some(bin) = *bin {
            used[bin] += 1;
            assert!(worth[job][bin] > 0, "a job where it may not go");
            total += worth[job][bin];
        }
    }
    assert!(
        used.iter().zip(capacity).all(|(used, room)| used <= room),
        "{used:?} in {capacity:?}"
    );
    assert_eq!(total as f64, found.worth);
}

fn problem(jobs: usize, bins: usize, most_room: usize) -> impl Strategy<Value = (Vec<usize>, Vec<Vec<i64>>)> {
    (1..=bins).prop_flat_map(move |bins| {
        (
            proptest::collection::vec(0..=most_room, bins),
            // A third of the cells is forbidden; small numbers make ties common.
            proptest::collection::vec(proptest::collection::vec(-6_i64..13, bins), 0..=jobs),
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn assignment_is_the_best_of_all_on_small_problems((capacity, worth) in problem(6, 4, 2)) {
        let found = solve(&capacity, &worth);
        check_feasible(&capacity, &worth, &found);
        prop_assert_eq!(found.worth, brute_force(&capacity, &worth) as f64);
    }

    #[test]
    fn every_number_of_places_on_the_way_is_filled_as_well_as_can_be(
        (capacity, worth) in problem(7, 4, 2),
        order in 0_usize..1_000,
    ) {
        let bins = capacity.len();
        let mut places: Vec<usize> = (0..bins).flat_map(|bin| std::iter::repeat_n(bin, capacity[bin])).collect();
        places.sort_by_key(|bin| (bin * 7_919 + order * 104_729) % 1_009);
        let mut before = 0.0;
        grow(bins, &places, &worth, |so_far, found, gain| {
            check_feasible(so_far, &worth, found);
            assert_eq!(found.worth, brute_force(so_far, &worth) as f64, "{so_far:?}");
            assert_eq!(found.worth, before + gain);
            before = found.worth;
        });
    }

    #[test]
    fn order_of_the_places_never_changes_the_total((capacity, worth) in problem(9, 4, 3), seed in 0_usize..1_000) {
        let bins = capacity.len();
        let places: Vec<usize> = (0..bins).flat_map(|bin| std::iter::repeat_n(bin, capacity[bin])).collect();
        let mut shuffled: Vec<(usize, usize)> = places.iter().copied().enumerate().collect();
        shuffled.sort_by_key(|(at, _)| (at * 7_919 + seed * 104_729) % 1_009);
        let shuffled: Vec<usize> = shuffled.into_iter().map(|(_, bin)| bin).collect();
        let mut total = 0.0;
        grow(bins, &shuffled, &worth, |_, found, _| total = found.worth);
        prop_assert_eq!(total, hungarian(&capacity, &worth) as f64);
    }

    #[test]
    fn greedy_is_the_best_of_all_on_small_problems(
        capacity in proptest::collection::vec(0_usize..3, 0..5),
        jobs in proptest::collection::vec((0_usize..6, -2_i64..12), 0..7),
    ) {
        // The same problem as an assignment: worth in the first slots, nothing after the deadline.
        let worth: Vec<Vec<i64>> = jobs
            .iter()
            .map(|(slots, weight)| (0..capacity.len()).map(|slot| if slot < *slots { *weight } else { 0 }).collect())
            .collect();
        let weighted: Vec<(usize, f64)> = jobs.iter().map(|(slots, weight)| (*slots, *weight as f64)).collect();
        let placed = greedy::schedule(&capacity, &weighted);
        let mut used = vec![0; capacity.len()];
        let mut total = 0;
        for (job, slot) in placed.iter().enumerate() {
            if let Some(slot) = *slot {
                prop_assert!(slot < jobs[job].0, "placed after its deadline");
                used[slot] += 1;
                total += jobs[job].1;
            }
        }
        prop_assert!(used.iter().zip(&capacity).all(|(used, room)| used <= room));
        prop_assert_eq!(total, brute_force(&capacity, &worth));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn assignment_equals_an_independent_solver_on_middling_problems(
        capacity in proptest::collection::vec(0_usize..6, 12),
        worth in proptest::collection::vec(proptest::collection::vec(-300_i64..1_000, 12), 40..90),
    ) {
        // X-Val: Kuhn-Munkres of the pathfinding crate, which shares no code with ours.
        let found = solve(&capacity, &worth);
        check_feasible(&capacity, &worth, &found);
        prop_assert_eq!(found.worth, hungarian(&capacity, &worth) as f64);
    }

    #[test]
    fn greedy_equals_an_independent_solver_on_middling_problems(
        capacity in proptest::collection::vec(0_usize..4, 15),
        jobs in proptest::collection::vec((0_usize..18, 1_i64..1_000), 20..80),
    ) {
        let worth: Vec<Vec<i64>> = jobs
            .iter()
            .map(|(slots, weight)| (0..capacity.len()).map(|slot| if slot < *slots { *weight } else { 0 }).collect())
            .collect();
        let weighted: Vec<(usize, f64)> = jobs.iter().map(|(slots, weight)| (*slots, *weight as f64)).collect();
        let total: i64 = greedy::schedule(&capacity, &weighted)
            .iter()
            .zip(&jobs)
            .filter_map(|(slot, (_, weight))| slot.map(|_| *weight))
            .sum();
        prop_assert_eq!(total, hungarian(&capacity, &worth));
    }
}

#[test]
fn unit_jobs_of_the_textbook_example_lose_the_penalty_of_fifty() {
    // X-Val: Cormen, Leiserson, Rivest, Stein, Introduction to Algorithms, 3rd ed., figure 16.7: seven unit tasks with deadlines
    // 4 2 4 3 1 4 6 and penalties 70 60 50 40 30 20 10 on one processor; tasks 5 and 6 (30 + 20) are late.
    let jobs = [
        (4, 70.0),
        (2, 60.0),
        (4, 50.0),
        (3, 40.0),
        (1, 30.0),
        (4, 20.0),
        (6, 10.0),
    ];
    let placed = greedy::schedule(&[1; 7], &jobs);
    let late: f64 = jobs
        .iter()
        .zip(&placed)
        .filter(|(_, slot)| slot.is_none())
        .map(|(job, _)| job.1)
        .sum();
    assert_eq!(late, 50.0);
    assert!(placed[4].is_none() && placed[5].is_none());
}

#[test]
fn worths_that_are_not_numbers_count_as_forbidden() {
    let found = assign::assign(&[1, 1], 2, |job, bin| {
        Some(if job == bin { f64::NAN } else { f64::INFINITY })
    });
    assert_eq!(found.bin, [None, None]);
    assert_eq!(found.worth, 0.0);
}
