//! Members to an outlook: chances, percentiles, costs.
//!
//! Numbers without a tag of their own: by definition: the percentiles that an outlook tells.

use super::config::FreezeConfig;
use super::costs;
use super::members::Members;
use super::outlook::{Outlook, PartOutlook, Spread, Trace};
use super::setup::{Setup, litres_per_h};
use super::simulate::Simulated;
use super::spell::Spell;
use super::weights::Weights;
use crate::inventory::Assembly;
use crate::weather::Series;
use chrono::{DateTime, TimeDelta, Utc};

/// Everything that belongs to a case beside its simulation.
#[derive(Debug, Clone, Copy)]
pub struct CaseView<'a> {
    /// An assembly of the case (all of them are alike here).
    pub assembly: &'a Assembly,
    /// The case.
    pub setup: &'a Setup,
    /// Its series.
    pub series: &'a Series,
    /// Its spell.
    pub spell: &'a Spell,
    /// The members.
    pub members: &'a Members,
    /// Kelvin added to the station's air.
    pub offset_k: f64,
    /// How much each member counts.
    pub weights: &'a Weights,
}

/// Cost of repair in each member, US dollars, `[members]`: damaged parts, never above the replacement.
pub fn repair_by_member(view: &CaseView<'_>, run: &Simulated, config: &FreezeConfig) -> Vec<f64> {
    let (device, size) = (view.assembly.device_type, view.assembly.nominal_size);
    let whole = config.costs.replacement_usd(device, size);
    (0..run.coldest_c.len())
        .map(|m| {
            let parts: f64 = view
                .setup
                .net
                .parts
                .iter()
                .zip(&run.damage_s)
                .filter(|(_, damage)| damage[m].is_finite())
                .map(|(part, _)| config.costs.repair_usd(device, size, costs::PartKind::of(part.name)))
                .sum();
            parts.min(whole)
        })
        .collect()
}

/// Share of members in which any part is damaged, all members alike.
pub fn damaged_share(run: &Simulated) -> f64 {
    weighted_share(run, &Weights::alike())
}

/// Weighted share of members in which any part is damaged.
pub fn weighted_share(run: &Simulated, weights: &Weights) -> f64 {
    weights.share(run.coldest_c.len(), |m| {
        run.damage_s.iter().any(|part| part[m].is_finite())
    })
}

/// The outlook of a simulated case.
pub fn summarise(view: &CaseView<'_>, run: &Simulated, config: &FreezeConfig, trace: bool) -> Outlook {
    let count = run.coldest_c.len();
    let many = count > 1;
    let weights = view.weights;
    let share = |happened: &dyn Fn(usize) -> bool| weights.share(count, happened);
    let (device, size) = (view.assembly.device_type, view.assembly.nominal_size);
    let parts = view
        .setup
        .net
        .parts
        .iter()
        .enumerate()
        .map(|(i, part)| {
            let p = share(&|m| run.damage_s[i][m].is_finite());
            PartOutlook {
                name: part.name,
                ice_fraction: weights.percentile(&run.peak_ice[i], 0.5),
                p_damage: many.then_some(p),
                strained: p >= 0.5,
                repair_usd: config.costs.repair_usd(device, size, costs::PartKind::of(part.name)),
            }
        })
        .collect();
    let repairs = repair_by_member(view, run, config);
    let (mean, error) = weights.mean(&repairs);
    let at = |q| time_at(view.spell.start, weights.percentile_or_never(&run.first_ice_s, q));
    let coldest = |q| weights.percentile(&run.coldest_c, q);
    let (hours_below, min_air) = air_of(view);
    Outlook {
        members: count,
        window_start: view.series.start,
        window_end: view.series.end(),
        p_ice: many.then(|| share(&|m| run.first_ice_s[m].is_finite())),
        p_blocked: many.then(|| share(&|m| run.blocked_s[m].is_finite())),
        p_damage: many.then(|| weighted_share(run, weights)),
        p_damage_judged: None,
        parts,
        first_ice: Spread {
            p10: at(0.1),
            p50: at(0.5),
            p90: at(0.9),
        },
        coldest_water_c: Spread {
            p10: coldest(0.1),
            p50: coldest(0.5),
            p90: coldest(0.9),
        },
        first_part: first_part(view, run),
        hours_air_below_0c: hours_below,
        min_air_c: min_air,
        expected_repair_usd: mean,
        expected_repair_se_usd: error,
        reported: None,
        nights: super::nights::nights(view, run, config),
        advice: Vec::new(),
        trace: trace.then(|| trace_of(view, run)),
    }
}

/// The outlook of an assembly that holds no water or that no member can bring near freezing: `coldest_c` is a bound.
pub fn unexposed(view: &CaseView<'_>, config: &FreezeConfig, coldest_c: f64, trace: bool) -> Outlook {
    let many = view.members.count() > 1;
    let (hours_below, min_air) = air_of(view);
    let never = Spread {
        p10: None,
        p50: None,
        p90: None,
    };
    let (device, size) = (view.assembly.device_type, view.assembly.nominal_size);
    let hours = view.series.hours();
    Outlook {
        members: view.members.count(),
        window_start: view.series.start,
        window_end: view.series.end(),
        p_ice: many.then_some(0.0),
        p_blocked: many.then_some(0.0),
        p_damage: many.then_some(0.0),
        p_damage_judged: None,
        parts: view
            .setup
            .net
            .parts
            .iter()
            .map(|part| PartOutlook {
                name: part.name,
                ice_fraction: 0.0,
                p_damage: many.then_some(0.0),
                strained: false,
                repair_usd: config.costs.repair_usd(device, size, costs::PartKind::of(part.name)),
            })
            .collect(),
        first_ice: never,
        coldest_water_c: Spread {
            p10: coldest_c,
            p50: coldest_c,
            p90: coldest_c,
        },
        first_part: None,
        hours_air_below_0c: hours_below,
        min_air_c: min_air,
        expected_repair_usd: 0.0,
        expected_repair_se_usd: 0.0,
        reported: None,
        nights: Vec::new(),
        advice: Vec::new(),
        trace: trace.then(|| Trace {
            air_c: site_air(view),
            coldest_water_c: vec![[coldest_c; 3]; hours],
            p_damage_by: if many { vec![0.0; hours] } else { Vec::new() },
            p_ice_by: vec![0.0; hours],
            drip_l: vec![[0.0; 3]; hours],
        }),
    }
}

/// The outlook of a drained line whose drain fails with a chance: that share of what befalls it full. Its times and its ice stay those of an
/// empty line, for most of its members hold no water.
pub fn drain_failed(empty: Outlook, full: Outlook, chance: f64) -> Outlook {
    let share = |p: Option<f64>| p.map(|p| chance * p);
    let mut outlook = Outlook {
        p_ice: share(full.p_ice),
        p_blocked: share(full.p_blocked),
        p_damage: share(full.p_damage),
        p_damage_judged: None,
        expected_repair_usd: chance * full.expected_repair_usd,
        expected_repair_se_usd: chance * full.expected_repair_se_usd,
        nights: full.nights,
        ..empty
    };
    for (part, full) in outlook.parts.iter_mut().zip(&full.parts) {
        part.p_damage = share(full.p_damage);
    }
    for night in &mut outlook.nights {
        night.p_damage *= chance;
        night.repair_usd *= chance;
        for iced in &mut night.iced_before {
            iced.repair_usd *= chance;
        }
    }
    if let (Some(trace), Some(full)) = (&mut outlook.trace, full.trace) {
        let scaled = |values: Vec<f64>| values.into_iter().map(|p| chance * p).collect();
        trace.p_damage_by = scaled(full.p_damage_by);
        trace.p_ice_by = scaled(full.p_ice_by);
    }
    outlook
}

/// Air at the site hour by hour, °C: the series with the elevation rule, the median of the members.
fn site_air(view: &CaseView<'_>) -> Vec<f64> {
    view.series.air_c.iter().map(|air| air + view.offset_k).collect()
}

fn air_of(view: &CaseView<'_>) -> (f64, f64) {
    let air = site_air(view);
    let below = air.iter().filter(|air| **air < 0.0).count() as f64;
    (below, air.iter().copied().fold(f64::INFINITY, f64::min))
}

fn first_part(view: &CaseView<'_>, run: &Simulated) -> Option<&'static str> {
    let parts = &view.setup.net.parts;
    let mut counts = vec![0.0; parts.len()];
    for (member, (part, time)) in run.first_part.iter().zip(&run.first_ice_s).enumerate() {
        if time.is_finite() {
            counts[usize::from(*part)] += view.weights.at(member);
        }
    }
    // The first of the most frequent, so that ties do not depend on iteration order.
    let best = counts.iter().copied().fold(0.0, f64::max);
    let place = counts.iter().position(|weight| *weight == best && best > 0.0)?;
    Some(parts[place].name)
}

fn trace_of(view: &CaseView<'_>, run: &Simulated) -> Trace {
    let hours = view.series.hours();
    let count = run.coldest_c.len();
    let many = count > 1;
    let first = view.spell.first;
    let simulated = run.hour_coldest_c.len();
    let damage: Vec<f64> = (0..count)
        .map(|m| run.damage_s.iter().map(|part| part[m]).fold(f64::INFINITY, f64::min))
        .collect();
    let three = |values: &[f64]| [0.1, 0.5, 0.9].map(|q| view.weights.percentile(values, q));
    let mut trace = Trace {
        air_c: site_air(view),
        ..Trace::default()
    };
    for hour in 0..hours {
        // Hours outside the simulated ones are warm: they show the nearest simulated hour.
        let at = hour.saturating_sub(first).min(simulated.saturating_sub(1));
        let inside = hour >= first && hour < first + simulated;
        trace
            .coldest_water_c
            .push(run.hour_coldest_c.get(at).map_or([0.0; 3], |v| three(v)));
        let end_s = (hour as f64 + 1.0 - first as f64) * 3600.0;
        let by = |times: &[f64]| view.weights.share(count, |m| times[m] <= end_s);
        trace.p_ice_by.push(by(&run.first_ice_s));
        if many {
            trace.p_damage_by.push(by(&damage));
        }
        let drip = if inside {
            run.hour_drip_j_per_k.get(at).map_or([0.0; 3], |v| three(v))
        } else {
            [0.0; 3]
        };
        // W/K × s over an hour, as litres.
        trace.drip_l.push(drip.map(|j_per_k| litres_per_h(j_per_k / 3600.0)));
    }
    trace
}

fn time_at(start: DateTime<Utc>, seconds: Option<f64>) -> Option<DateTime<Utc>> {
    seconds.map(|s| start + TimeDelta::seconds(s.round() as i64))
}

/// The values in rising order.
pub fn sorted(values: &[f64]) -> Vec<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
}

/// Percentile of sorted values by straight lines between order statistics (type 7 of Hyndman and Fan 1996); 0 when empty.
pub fn percentile(sorted: &[f64], q: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else {
        return 0.0;
    };
    let at = q.clamp(0.0, 1.0) * last as f64;
    let lower = at.floor() as usize;
    let upper = (lower + 1).min(last);
    if sorted[lower] == sorted[upper] {
        sorted[lower]
    } else {
        sorted[lower] + (at - lower as f64) * (sorted[upper] - sorted[lower])
    }
}
