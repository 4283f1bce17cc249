//! Members to an outlook: chances, percentiles, costs.

use super::config::FreezeConfig;
use super::costs;
use super::members::Members;
use super::outlook::{Outlook, PartOutlook, Spread, Trace};
use super::setup::{Setup, litres_per_h};
use super::simulate::Simulated;
use super::spell::Spell;
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

/// Share of members in which any part is damaged.
pub fn damaged_share(run: &Simulated) -> f64 {
    let members = run.coldest_c.len();
    let damaged = (0..members)
        .filter(|&m| run.damage_s.iter().any(|part| part[m].is_finite()))
        .count();
    damaged as f64 / members.max(1) as f64
}

/// The outlook of a simulated case.
pub fn summarise(view: &CaseView<'_>, run: &Simulated, config: &FreezeConfig, trace: bool) -> Outlook {
    let count = run.coldest_c.len();
    let many = count > 1;
    let share = |happened: &dyn Fn(usize) -> bool| (0..count).filter(|&m| happened(m)).count() as f64 / count as f64;
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
                ice_fraction: percentile(&sorted(&run.peak_ice[i]), 0.5),
                p_damage: many.then_some(p),
                strained: p >= 0.5,
                repair_usd: config.costs.repair_usd(device, size, costs::PartKind::of(part.name)),
            }
        })
        .collect();
    let repairs = repair_by_member(view, run, config);
    let mean = repairs.iter().sum::<f64>() / count as f64;
    let variance = if many {
        repairs.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (count - 1) as f64
    } else {
        0.0
    };

    let first = sorted(&run.first_ice_s);
    let at = |q| time_at(view.spell.start, percentile_or_never(&first, q));
    let coldest = sorted(&run.coldest_c);
    let (hours_below, min_air) = air_of(view);
    Outlook {
        members: count,
        window_start: view.series.start,
        window_end: view.series.end(),
        p_ice: many.then(|| share(&|m| run.first_ice_s[m].is_finite())),
        p_blocked: many.then(|| share(&|m| run.blocked_s[m].is_finite())),
        p_damage: many.then(|| damaged_share(run)),
        parts,
        first_ice: Spread {
            p10: at(0.1),
            p50: at(0.5),
            p90: at(0.9),
        },
        coldest_water_c: Spread {
            p10: percentile(&coldest, 0.1),
            p50: percentile(&coldest, 0.5),
            p90: percentile(&coldest, 0.9),
        },
        first_part: first_part(view, run),
        hours_air_below_0c: hours_below,
        min_air_c: min_air,
        expected_repair_usd: mean,
        expected_repair_se_usd: (variance / count as f64).sqrt(),
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
    let mut counts = vec![0usize; parts.len()];
    for (part, time) in run.first_part.iter().zip(&run.first_ice_s) {
        if time.is_finite() {
            counts[usize::from(*part)] += 1;
        }
    }
    // The first of the most frequent, so that ties do not depend on iteration order.
    let best = counts.iter().copied().max().filter(|n| *n > 0)?;
    counts.iter().position(|n| *n == best).map(|i| parts[i].name)
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
    let three = |values: &[f64]| {
        let sorted = sorted(values);
        [
            percentile(&sorted, 0.1),
            percentile(&sorted, 0.5),
            percentile(&sorted, 0.9),
        ]
    };
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
        let by = |times: &[f64]| times.iter().filter(|t| **t <= end_s).count() as f64 / count as f64;
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

/// Percentile of times of which some never come: the order statistic, `None` where that share never sees it.
fn percentile_or_never(sorted: &[f64], q: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let at = (q * last as f64).round() as usize;
    sorted.get(at).copied().filter(|t| t.is_finite())
}
