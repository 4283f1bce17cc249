//! Night by night: what each still breaks, and from when on acting comes too late for it.
//!
//! In the middle of a spell the loss of the nights behind cannot be saved any more, but that of the nights ahead can. Each member
//! has one history; what it loses in a night is its own, so a night's share is what that night adds to what went before.
//!
//! Numbers without a tag of their own: by definition: the percentiles that a night tells.

use super::config::FreezeConfig;
use super::costs;
use super::outlook::{IcedBefore, Night};
use super::simulate::Simulated;
use super::summary::CaseView;
use chrono::TimeDelta;
use std::collections::BTreeMap;

/// The local hour at which one night ends and the next begins.
const NOON: u8 = 12;
/// How long after noon the day still belongs to the night before, if it has not thawed, h (judgement: to the evening).
const AFTERNOON_H: usize = 8;

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
        let night_of_break = |seconds: f64| belongs_to(view, m, seconds, &night_of).unwrap_or_else(|| at(seconds));
        let mut cost_usd = vec![0.0; last + 1];
        // Night, since when ice stands, cost.
        let mut iced: Vec<(usize, f64, f64)> = Vec::new();
        let mut first: Option<f64> = None;
        let parts = view.setup.net.parts.iter().zip(&run.damage_s).zip(&run.ice_before_s);
        for ((part, damage), ice) in parts {
            let seconds = damage[m];
            if seconds.is_finite() {
                let (device, size) = (view.assembly.device_type, view.assembly.nominal_size);
                let usd = config.costs.repair_usd(device, size, costs::PartKind::of(part.name));
                let night = night_of_break(seconds);
                cost_usd[night] += usd;
                if at(ice[m].min(seconds)) < night {
                    iced.push((night, ice[m], usd));
                }
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
            if cost_usd[night] > 0.0 || night == night_of_break(first) {
                let weight = view.weights.at(m);
                tally.usd += weight * cost_usd[night] * scale;
                tally.members += if night == night_of_break(first) { weight } else { 0.0 };
                let breaks = run
                    .damage_s
                    .iter()
                    .map(|damage| damage[m])
                    .filter(|seconds| seconds.is_finite() && night_of_break(*seconds) == night)
                    .fold(f64::INFINITY, f64::min);
                tally
                    .ice_s
                    .push((m, onset_s(view, run, m, night, &night_of).min(breaks)));
                for (_, since_s, usd) in iced.iter().filter(|(of, ..)| *of == night) {
                    let (members, sum) = tally.iced.entry(at(*since_s)).or_default();
                    members.push((m, *since_s));
                    *sum += weight * usd * scale;
                }
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
                iced_before: tally
                    .iced
                    .values()
                    .map(|(since_s, usd)| {
                        let since_s = view.weights.percentile_of(since_s, 0.1);
                        IcedBefore {
                            since: view.spell.start + TimeDelta::seconds(since_s.round() as i64),
                            repair_usd: usd / count as f64,
                        }
                    })
                    .collect(),
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
    /// By the night in which it froze: members with the time of that ice, and the cost of what breaks of it.
    iced: BTreeMap<usize, (Vec<(usize, f64)>, f64)>,
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

/// The night before, for a break in the afternoon after it when the air has stayed below freezing over noon: the cold of that night made it,
/// and whoever acts after noon comes too late for it.
fn belongs_to(view: &CaseView<'_>, member: usize, break_s: f64, night_of: &[usize]) -> Option<usize> {
    let hour = (break_s / 3600.0).max(0.0) as usize;
    let night = *night_of.get(hour)?;
    let noon = night_of.partition_point(|of| *of < night);
    let before = night.checked_sub(1)?;
    let frozen = (noon..=hour).all(|hour| air_c(view, member, hour).is_some_and(|air_c| air_c < 0.0));
    (hour - noon < AFTERNOON_H && frozen).then_some(before)
}

/// Air at the site of a member in an hour, °C.
fn air_c(view: &CaseView<'_>, member: usize, hour: usize) -> Option<f64> {
    let site_k = view.members.site_k.get(member).copied().unwrap_or(0.0);
    let air_c = view.spell.air_c.get(hour * view.spell.members + member)?;
    Some(air_c + view.offset_k + site_k)
}

/// When ice comes to a member in a night, s: its first ice where that is in this night, else the hour in which its air falls below
/// freezing, which is the cautious side; never when neither happens.
fn onset_s(view: &CaseView<'_>, run: &Simulated, member: usize, night: usize, night_of: &[usize]) -> f64 {
    let first = run.first_ice_s[member];
    if first.is_finite() && night_of.get((first / 3600.0) as usize) == Some(&night) {
        return first;
    }
    let hours = night_of.partition_point(|of| *of < night)..night_of.partition_point(|of| *of <= night);
    let cold = |hour: &usize| air_c(view, member, *hour).is_some_and(|air_c| air_c < 0.0);
    // Frost that lasts over noon and thaws is the end of the night before: whoever acts in the mild afternoon comes in time for this one.
    let left_over = hours.clone().take_while(cold).count();
    let from = match night {
        0 => 0,
        _ if left_over < AFTERNOON_H => left_over,
        _ => 0,
    };
    hours
        .skip(from)
        .find(cold)
        .map_or(f64::INFINITY, |hour| hour as f64 * 3600.0)
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
