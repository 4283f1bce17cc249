//! The weather and the model's expectation behind a caller, from a series and an outlook.

use super::account::Behind;
use crate::freeze::Outlook;
use crate::weather::Series;
use chrono::{DateTime, TimeDelta, Utc};

/// How far back frost is looked for, hours (common practice, no source: seven days).
pub const LOOK_BACK_H: i64 = 168;
/// Hours before and after the call in which the drip device's expected flow is taken (judgement: the night of the call).
pub const NIGHT_H: i64 = 14;

impl Behind {
    /// What the series and the outlook say of the hours around `now` at a site `offset_k` colder than the station (never
    /// positive).
    pub fn of(series: &Series, offset_k: f64, outlook: Option<&Outlook>, now: DateTime<Utc>) -> Self {
        let hour_of = |time: DateTime<Utc>| (time - series.start).num_hours();
        let at = hour_of(now);
        let air = |hour: i64| -> Option<f64> {
            let air = series.air_c.get(usize::try_from(hour).ok()?)? + offset_k;
            air.is_finite().then_some(air)
        };
        let from = at.saturating_sub(LOOK_BACK_H - 1);
        let back: Vec<f64> = (from..=at).filter_map(air).collect();
        let below = back.iter().filter(|air| **air < 0.0).count();
        // Fewer hours than a week can show frost but not its absence.
        let whole_week = back.len() as i64 >= LOOK_BACK_H;
        let hours_below_0c = (below > 0 || whole_week).then_some(below as f64);
        let since = back.iter().rev().position(|air| *air < 0.0);
        Self {
            hours_below_0c,
            hours_since_thaw: since.filter(|hours| *hours > 0).map(|hours| hours as f64),
            air_c: air(at),
            drip_l_per_h: outlook.and_then(|outlook| drip_flow(outlook, now)),
        }
    }
}

/// What the drip device is expected to pass in the hours around `now`, L/h: the low and the high edge over the hours in which it
/// runs at all; `[0, 0]` when it does not run in them, `None` when the outlook does not cover them or keeps no trace.
fn drip_flow(outlook: &Outlook, now: DateTime<Utc>) -> Option<[f64; 2]> {
    let trace = outlook.trace.as_ref()?;
    if trace.drip_l.is_empty() {
        return None;
    }
    let mut covered = false;
    let mut range: Option<[f64; 2]> = None;
    for (hour, litres) in trace.drip_l.iter().enumerate() {
        let time = outlook.window_start + TimeDelta::hours(i64::try_from(hour).ok()?);
        if (time - now).num_minutes().abs() > NIGHT_H * 60 {
            continue;
        }
        covered = true;
        let [low, _, high] = *litres;
        // Less than a cup a day is no flow that a caller would see.
        if high > 0.01 && high.is_finite() && low.is_finite() {
            let low = low.max(0.0);
            range = Some(range.map_or([low, high], |[l, h]| [l.min(low), h.max(high)]));
        }
    }
    covered.then_some(range.unwrap_or([0.0, 0.0]))
}
