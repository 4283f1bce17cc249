//! One block at several nucleation temperatures.
//!
//! Until its first ice a member does not know at which temperature ice would start. So one run without any ice, the trunk, holds for all of
//! them: each temperature leaves it at the hour in which some lane's water reaches it, and is run from there until all lanes are damaged.
//! The bits are those of the whole run, with steps as short as the warmest of the temperatures asks for.

use super::state::Block;
use super::{Course, LaneWeather, Lanes};
use crate::freeze::setup::Setup;
use crate::units::ZERO_C_IN_K;

/// Colder than any water gets, °C: no ice starts.
const NO_ICE_C: f64 = -ZERO_C_IN_K;

/// Which lanes are damaged with ice starting at each of some temperatures, °C, `[temperatures]`; what `lanes` say of nucleation is not asked.
pub fn damaged_at<const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    nucleation_c: &[f64],
) -> Vec<[bool; W]> {
    let at = |nucleation_c: f64| Lanes {
        nucleation_c: [nucleation_c; W],
        ..lanes.clone()
    };
    let liquid = at(NO_ICE_C);
    // Steps are as short as the warmest of them asks for, the same in the trunk and in all that leave it.
    let warmest_c = nucleation_c.iter().copied().fold(NO_ICE_C, f64::max);
    let trunk = Course {
        starts_c: [warmest_c; W],
        ..Course::new(setup, weather, &liquid, false)
    };
    let mut found = vec![[false; W]; nucleation_c.len()];
    let mut waiting: Vec<usize> = (0..nucleation_c.len()).collect();
    let mut block = trunk.begin(false);
    for hour in 0..trunk.hours() {
        if waiting.is_empty() {
            break;
        }
        let before = block.clone();
        trunk.run(&mut block, hour..hour + 1, None);
        let coldest_c = block.hour_coldest.0.into_iter().fold(f64::INFINITY, f64::min);
        let (reached, still) = waiting
            .into_iter()
            .partition::<Vec<usize>, _>(|&one| coldest_c <= nucleation_c[one]);
        waiting = still;
        for one in reached {
            let lanes = at(nucleation_c[one]);
            let branch = Course { lanes: &lanes, ..trunk };
            found[one] = branch.damaged_from(before.clone(), hour);
        }
    }
    found
}

impl<const W: usize> Course<'_, W> {
    /// Which lanes are damaged when the block goes on from the begin of an hour.
    fn damaged_from(&self, mut block: Block<W>, hour: usize) -> [bool; W] {
        for hour in hour..self.hours() {
            self.run(&mut block, hour..hour + 1, None);
            if damaged(&block).iter().all(|lane| *lane) {
                break;
            }
        }
        damaged(&block)
    }
}

fn damaged<const W: usize>(block: &Block<W>) -> [bool; W] {
    std::array::from_fn(|k| block.out.damage_s.iter().any(|part| part[k].is_finite()))
}
