//! One case through one spell: members in blocks, blocks to plain lists.

use super::kernel::{BlockResult, LaneWeather, Lanes, Step, run_block};
use super::members::Members;
use super::setup::Setup;
use super::spell::Spell;

/// Members innermost in a block: few enough for the state to stay in the first cache.
pub const LANES: usize = 16;

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
    /// Coldest water by hour, °C, `[hours][members]`; empty unless asked for.
    pub hour_coldest_c: Vec<Vec<f64>>,
    /// Drip by hour, heat flow × seconds, J/K, `[hours][members]`; empty unless asked for.
    pub hour_drip_j_per_k: Vec<Vec<f64>>,
}

/// Simulates `members` of a case; `offset_k` is added to the station's air.
pub fn simulate(setup: &Setup, spell: &Spell, members: &Members, offset_k: f64, keep_hours: bool) -> Simulated {
    let count = members.count();
    let parts = setup.net.parts.len();
    let mut all = Simulated {
        peak_ice: vec![Vec::with_capacity(count); parts],
        damage_s: vec![Vec::with_capacity(count); parts],
        ..Simulated::default()
    };
    if keep_hours {
        all.hour_coldest_c = vec![Vec::with_capacity(count); spell.hours()];
        all.hour_drip_j_per_k = vec![Vec::with_capacity(count); spell.hours()];
    }
    if count == 1 {
        let (weather, lanes) = block_of::<1>(setup, spell, members, offset_k, 0);
        gather(&mut all, &run_block::<1>(setup, &weather, &lanes, keep_hours, None), 1);
        return all;
    }
    let mut from = 0;
    while from < count {
        let (weather, lanes) = block_of::<LANES>(setup, spell, members, offset_k, from);
        let used = LANES.min(count - from);
        gather(
            &mut all,
            &run_block::<LANES>(setup, &weather, &lanes, keep_hours, None),
            used,
        );
        from += used;
    }
    all
}

/// One member with every step recorded.
pub fn simulate_recorded(setup: &Setup, spell: &Spell, members: &Members, offset_k: f64) -> (Simulated, Vec<Step>) {
    let parts = setup.net.parts.len();
    let mut all = Simulated {
        peak_ice: vec![Vec::new(); parts],
        damage_s: vec![Vec::new(); parts],
        ..Simulated::default()
    };
    all.hour_coldest_c = vec![Vec::new(); spell.hours()];
    all.hour_drip_j_per_k = vec![Vec::new(); spell.hours()];
    let (weather, lanes) = block_of::<1>(setup, spell, members, offset_k, 0);
    let mut steps = Vec::new();
    gather(
        &mut all,
        &run_block::<1>(setup, &weather, &lanes, true, Some(&mut steps)),
        1,
    );
    (all, steps)
}

/// Weather and draws of the members `from …`; lanes beyond the last member repeat it.
pub fn block_of<'a, const W: usize>(
    setup: &Setup,
    spell: &'a Spell,
    members: &Members,
    offset_k: f64,
    from: usize,
) -> (LaneWeather<'a, W>, Lanes<W>) {
    let last = members.count() - 1;
    let pick = |k: usize| (from + k).min(last);
    let lanes_of = |values: &[f64]| std::array::from_fn(|k| values[pick(k)]);
    let air_c = (0..=spell.hours())
        .map(|hour| {
            let node = spell.node(hour);
            std::array::from_fn(|k| node[pick(k)] + members.site_k[pick(k)] + offset_k)
        })
        .collect();
    let weather = LaneWeather {
        air_c,
        wind_m_s: &spell.wind_m_s,
        sky_ratio: &spell.sky_ratio,
        hour_of_day: &spell.hour_of_day,
    };
    let lanes = Lanes {
        nucleation_c: lanes_of(&members.nucleation_c),
        shelter: lanes_of(&members.shelter),
        draws: lanes_of(&members.draws),
        strength: (0..setup.net.parts.len())
            .map(|part| lanes_of(&members.strength[part % members.strength.len()]))
            .collect(),
        start_c: None,
    };
    (weather, lanes)
}

fn gather<const W: usize>(all: &mut Simulated, block: &BlockResult<W>, used: usize) {
    all.first_ice_s.extend_from_slice(&block.first_ice_s[..used]);
    all.first_part.extend_from_slice(&block.first_part[..used]);
    all.blocked_s.extend_from_slice(&block.blocked_s[..used]);
    all.coldest_c.extend_from_slice(&block.coldest_c[..used]);
    for (part, lanes) in block.peak_ice.iter().enumerate() {
        all.peak_ice[part].extend_from_slice(&lanes[..used]);
    }
    for (part, lanes) in block.damage_s.iter().enumerate() {
        all.damage_s[part].extend_from_slice(&lanes[..used]);
    }
    for (hour, lanes) in block.hour_coldest_c.iter().enumerate() {
        all.hour_coldest_c[hour].extend_from_slice(&lanes[..used]);
    }
    for (hour, lanes) in block.hour_drip_j_per_k.iter().enumerate() {
        all.hour_drip_j_per_k[hour].extend_from_slice(&lanes[..used]);
    }
}
