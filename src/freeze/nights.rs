//! Night by night: what each still breaks, and from when on acting comes too late for it.
//!
//! In the middle of a spell the loss of the nights behind cannot be saved any more, but that of the nights ahead can. Each member
//! has one history; what it loses in a night is its own, so a night's share is what that night adds to what went before.
//!
//! Numbers without a tag of their own: by definition: the percentiles that a night tells.

use super::config::FreezeConfig;
use super::costs;
use super::outlook::Night;
use super::simulate::Simulated;
use super::summary::CaseView;
use chrono::TimeDelta;

/// The local hour at which one night ends and the next begins.
const NOON: u8 = 12;

/// The nights in which any member is damaged, in order; empty where none is.
pub fn nights(view: &CaseView<'_>, run: &Simulated, config: &FreezeConfig) -> Vec<Night> {
    let count = run.coldest_c.len();
    let night_of = nights_of_hours(&view.spell.hour_of_day);
    let last = night_of.last().copied().unwrap_or(0);
    let at = |seconds: f64| {
        night_of
            .get((seconds / 3600.0).max(0.0) as usize)
            .copied()
            .unwrap_or(last)
    };
    let mut found: Vec<Tally> = vec![Tally::default(); last + 1];
    for m in 0..count {
        let mut cost_usd = vec![0.0; last + 1];
        let mut first: Option<f64> = None;
        for (part, damage) in view.setup.net.parts.iter().zip(&run.damage_s) {
            let seconds = damage[m];
            if seconds.is_finite() {
                let (device, size) = (view.assembly.device_type, view.assembly.nominal_size);
                cost_usd[at(seconds)] += config.costs.repair_usd(device, size, costs::PartKind::of(part.name));
                first = Some(first.map_or(seconds, |other| other.min(seconds)));
            }
        }
        let Some(first) = first else { continue };
        let sum: f64 = cost_usd.iter().sum();
        // No member costs more than the replacement, whenever its parts break.
        let whole = config
            .costs
            .replacement_usd(view.assembly.device_type, view.assembly.nominal_size);
        let scale = if sum > whole { whole / sum } else { 1.0 };
        for (night, tally) in found.iter_mut().enumerate() {
            if cost_usd[night] > 0.0 || night == at(first) {
                let weight = view.weights.at(m);
                tally.usd += weight * cost_usd[night] * scale;
                tally.members += if night == at(first) { weight } else { 0.0 };
                let breaks = run
                    .damage_s
                    .iter()
                    .map(|damage| damage[m])
                    .filter(|seconds| seconds.is_finite() && at(*seconds) == night)
                    .fold(f64::INFINITY, f64::min);
                tally
                    .ice_s
                    .push((m, onset_s(view, run, m, night, &night_of).min(breaks)));
            }
        }
    }
    found
        .into_iter()
        .enumerate()
        .filter(|(_, tally)| !tally.ice_s.is_empty())
        .map(|(night, tally)| {
            let ice = |q| view.weights.percentile_of(&tally.ice_s, q);
            let time = |q| view.spell.start + TimeDelta::seconds(ice(q).round() as i64);
            Night {
                p_damage: tally.members / count as f64,
                repair_usd: tally.usd / count as f64,
                ice_early: time(0.1),
                ice_median: time(0.5),
                min_air_c: min_air_c(view, night, &night_of),
            }
        })
        .collect()
}

#[derive(Debug, Clone, Default)]
struct Tally {
    members: f64,
    usd: f64,
    /// Members with the time at which ice comes to them.
    ice_s: Vec<(usize, f64)>,
}

/// The night of each simulated hour, counted from the first.
fn nights_of_hours(hour_of_day: &[u8]) -> Vec<usize> {
    let mut night = 0;
    hour_of_day
        .iter()
        .enumerate()
        .map(|(at, hour)| {
            night += usize::from(at > 0 && *hour == NOON);
            night
        })
        .collect()
}

/// When ice comes to a member in a night, s: its first ice where that is in this night, else the hour in which its air falls below
/// freezing, which is the cautious side; never when neither happens.
fn onset_s(view: &CaseView<'_>, run: &Simulated, member: usize, night: usize, night_of: &[usize]) -> f64 {
    let first = run.first_ice_s[member];
    if first.is_finite() && night_of.get((first / 3600.0) as usize) == Some(&night) {
        return first;
    }
    let spell = view.spell;
    let site_k = view.members.site_k.get(member).copied().unwrap_or(0.0);
    night_of
        .iter()
        .enumerate()
        .filter(|(_, of)| **of == night)
        .find(|(hour, _)| {
            spell
                .air_c
                .get(hour * spell.members + member)
                .is_some_and(|air| air + view.offset_k + site_k < 0.0)
        })
        .map_or(f64::INFINITY, |(hour, _)| hour as f64 * 3600.0)
}

/// The lowest air at the site in a night, °C: the median of the members.
fn min_air_c(view: &CaseView<'_>, night: usize, night_of: &[usize]) -> f64 {
    let spell = view.spell;
    let lowest: Vec<f64> = (0..spell.members)
        .map(|member| {
            let hours = night_of.iter().enumerate().filter(|(_, of)| **of == night);
            let airs = hours.filter_map(|(hour, _)| spell.air_c.get(hour * spell.members + member));
            let site_k = view.members.site_k.get(member).copied().unwrap_or(0.0);
            airs.copied().fold(f64::INFINITY, f64::min) + view.offset_k + site_k
        })
        .collect();
    view.weights.percentile(&lowest, 0.5)
}
