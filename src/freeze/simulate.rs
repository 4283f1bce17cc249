//! One case through one spell: members in blocks, blocks to plain lists.

use super::kernel::{BlockResult, LaneWeather, Lanes, Step, damaged_at, run_block, run_block_in};
use super::members::Members;
use super::setup::{Setup, Surround};
use super::spell::Spell;
use crate::physics::near_ground::near_ground_share;

/// Members innermost in a block: few enough for the state to stay in the first cache.
pub const LANES: usize = 16;
/// What many members are run in: rounding is far below what their number and their steps leave open. One member is run in doubles.
pub type Many = f32;

/// What all members say. Times are seconds from the start of the spell, infinite when never.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Simulated {
    /// First ice, `[members]`.
    pub first_ice_s: Vec<f64>,
    /// Part with first ice, `[members]`.
    pub first_part: Vec<u16>,
    /// First blocked part of the chain, `[members]`.
    pub blocked_s: Vec<f64>,
    /// Coldest water, °C, `[members]`.
    pub coldest_c: Vec<f64>,
    /// Largest ice fraction, `[parts][members]`.
    pub peak_ice: Vec<Vec<f64>>,
    /// Damage, `[parts][members]`.
    pub damage_s: Vec<Vec<f64>>,
    /// When the ice that stands in a part at its damage came to it, `[parts][members]`.
    pub ice_before_s: Vec<Vec<f64>>,
    /// Coldest water by hour, °C, `[hours][members]`; empty unless asked for.
    pub hour_coldest_c: Vec<Vec<f64>>,
    /// Drip by hour, heat flow × seconds, J/K, `[hours][members]`; empty unless asked for.
    pub hour_drip_j_per_k: Vec<Vec<f64>>,
}

/// Simulates `members` of a case; `offset_k` is added to the station's air.
pub fn simulate(setup: &Setup, spell: &Spell, members: &Members, offset_k: f64, keep_hours: bool) -> Simulated {
    // Nothing ends it before all members are run.
    simulate_while(setup, spell, members, offset_k, keep_hours, &|_| true).unwrap_or_default()
}

/// The same, as long as `go_on` says so of the members run so far, the coldest first; those not yet run count as whole. `None` when it
/// said no.
pub fn simulate_while(
    setup: &Setup,
    spell: &Spell,
    members: &Members,
    offset_k: f64,
    keep_hours: bool,
    go_on: &dyn Fn(&Simulated) -> bool,
) -> Option<Simulated> {
    let count = members.count();
    let mut all = Simulated::new(setup.net.parts.len(), count, if keep_hours { spell.hours() } else { 0 });
    let order = spell.order_of(count);
    if count == 1 {
        let (weather, lanes) = block_of::<1>(setup, spell, members, offset_k, 0);
        let block = run_block::<1>(setup, &weather, &lanes, keep_hours, None);
        all.take(&block, &order);
        return go_on(&all).then_some(all);
    }
    for chunk in 0..count.div_ceil(LANES) {
        let from = chunk * LANES;
        let (weather, lanes) = block_of::<LANES>(setup, spell, members, offset_k, from);
        let block = run_block_in::<Many, LANES>(setup, &weather, &lanes, keep_hours, None);
        all.take(&block, &order[from..count.min(from + LANES)]);
        if !go_on(&all) {
            return None;
        }
    }
    Some(all)
}

/// One member with every step recorded.
pub fn simulate_recorded(setup: &Setup, spell: &Spell, members: &Members, offset_k: f64) -> (Simulated, Vec<Step>) {
    let mut all = Simulated::new(setup.net.parts.len(), 1, spell.hours());
    let (weather, lanes) = block_of::<1>(setup, spell, members, offset_k, 0);
    let mut steps = Vec::new();
    let block = run_block::<1>(setup, &weather, &lanes, true, Some(&mut steps));
    all.take(&block, &spell.order_of(1));
    (all, steps)
}

/// Members damaged with ice starting at each of some temperatures, °C, `[temperatures]`; `offset_k` is added to the station's air.
pub fn damaged_members(
    setup: &Setup,
    spell: &Spell,
    members: &Members,
    offset_k: f64,
    nucleation_c: &[f64],
) -> Vec<usize> {
    let count = members.count();
    let mut all = vec![0; nucleation_c.len()];
    for from in (0..count).step_by(LANES) {
        let (weather, lanes) = block_of::<LANES>(setup, spell, members, offset_k, from);
        let real = LANES.min(count - from);
        for (all, lanes) in all.iter_mut().zip(damaged_at(setup, &weather, &lanes, nucleation_c)) {
            *all += lanes[..real].iter().filter(|damaged| **damaged).count();
        }
    }
    all
}

/// Weather and draws of the members `from …` in the spell's order; lanes beyond the last member repeat it.
pub fn block_of<'a, const W: usize>(
    setup: &Setup,
    spell: &'a Spell,
    members: &Members,
    offset_k: f64,
    from: usize,
) -> (LaneWeather<'a, W>, Lanes<W>) {
    let order = spell.order_of(members.count());
    let last = order.len() - 1;
    let pick = |k: usize| order[(from + k).min(last)];
    let lanes_of = |values: &[f64]| std::array::from_fn(|k| values[pick(k)]);
    let open = setup.surround == Surround::Open;
    // At the middle of the parts: most stand within a hand of each other.
    let heights: f64 = setup.net.parts.iter().map(|part| part.height_m).sum();
    let share = near_ground_share(heights / setup.net.parts.len().max(1) as f64);
    let air_c = (0..=spell.hours())
        .map(|hour| {
            let node = spell.node(hour);
            let below_k = if open { spell.below_k(hour, share) } else { 0.0 };
            std::array::from_fn(|k| node[pick(k)] + members.site_k[pick(k)] + offset_k - below_k)
        })
        .collect();
    let weather = LaneWeather {
        air_c,
        wind_m_s: &spell.wind_m_s,
        sky_ratio: (0..spell.hours()).map(|hour| lanes_of(spell.sky(hour))).collect(),
        hour_of_day: &spell.hour_of_day,
    };
    let lanes = Lanes {
        nucleation_c: lanes_of(&members.nucleation_c),
        shelter: lanes_of(&members.shelter),
        draws: lanes_of(&members.draws),
        strength: (0..setup.net.parts.len())
            .map(|part| lanes_of(&members.strength[part % members.strength.len()]))
            .collect(),
        shape: (0..setup.net.parts.len())
            .map(|part| lanes_of(&members.shape[part % members.shape.len()]))
            .collect(),
        start_c: None,
    };
    (weather, lanes)
}

impl Simulated {
    fn new(parts: usize, members: usize, hours: usize) -> Self {
        let never = || vec![f64::INFINITY; members];
        Self {
            first_ice_s: never(),
            first_part: vec![0; members],
            blocked_s: never(),
            coldest_c: never(),
            peak_ice: vec![vec![0.0; members]; parts],
            damage_s: vec![never(); parts],
            ice_before_s: vec![never(); parts],
            hour_coldest_c: vec![never(); hours],
            hour_drip_j_per_k: vec![vec![0.0; members]; hours],
        }
    }

    /// Takes what a block says of the members in its first lanes.
    fn take<const W: usize>(&mut self, block: &BlockResult<W>, members: &[usize]) {
        let put = |to: &mut [f64], from: &[f64; W]| {
            for (&member, value) in members.iter().zip(from) {
                to[member] = *value;
            }
        };
        put(&mut self.first_ice_s, &block.first_ice_s);
        put(&mut self.blocked_s, &block.blocked_s);
        put(&mut self.coldest_c, &block.coldest_c);
        for (&member, part) in members.iter().zip(&block.first_part) {
            self.first_part[member] = *part;
        }
        for (all, lanes) in [
            (&mut self.peak_ice, &block.peak_ice),
            (&mut self.damage_s, &block.damage_s),
            (&mut self.ice_before_s, &block.ice_before_s),
            (&mut self.hour_coldest_c, &block.hour_coldest_c),
            (&mut self.hour_drip_j_per_k, &block.hour_drip_j_per_k),
        ] {
            for (to, from) in all.iter_mut().zip(lanes) {
                put(to, from);
            }
        }
    }
}
