//! A value against its day's range and the days or hours around it: a gross error in winter is no colder than winter can be, so that its
//! month does not show it; but its day swings as no day does, and the nights around it know nothing of it.
//!
//! What cannot be is set aside, what is hardly to be believed is used and named, with what hangs on it.

use super::assemble::SetAside;
use super::daily::DailyDay;
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use std::collections::BTreeMap;

/// Range of a day above which it is looked at, K (judgement: deserts swing by 30 K; the largest range on record is near 56 K, on a day on
/// which a front came, whose cold stayed; with a margin under that).
pub const WIDE_DAY_K: f64 = 45.0;
/// How far the value must lie from those of both neighbouring days to be set aside, K (judgement: cold that comes with a front stays for
/// more than a night; half of what the widest day swings).
pub const ALONE_K: f64 = 25.0;
/// Range above which a day is doubted, K (judgement).
const DOUBTFUL_DAY_K: f64 = 28.0;
/// The same as a multiple of the spread of the station's own days beyond their median (judgement: of ten thousand days of a bell curve
/// none goes there).
const DOUBTFUL_SDS: f64 = 4.5;
/// How far a doubted minimum lies under both of its neighbours, K (judgement).
const DOUBTFUL_ALONE_K: f64 = 9.0;
/// Days on either side in which a neighbour is sought.
const REACH_DAYS: i64 = 3;
/// Fewest days from which the station's own spread is taken (judgement: a season).
const LEAST_DAYS: usize = 90;
/// Fall and rise between two hours that no weather makes both within a night, K (judgement: fronts fall so far and do not rise again;
/// a warm wind down a mountain rises so far and does not fall below where it came from).
pub const NOTCH_K: f64 = 20.0;
/// Readings of a notch that is a spike, which the median of the hours around it shows.
const SPIKE_READINGS: usize = 3;
/// Longest notch, h (judgement: a night).
const NOTCH_H: i64 = 16;

/// The nearest value on either side within [`REACH_DAYS`].
fn beside(days: &[DailyDay], at: usize, value: impl Fn(&DailyDay) -> Option<f64>) -> Option<(f64, f64)> {
    let here = days.get(at)?.date;
    let near = |day: &&DailyDay| (day.date - here).num_days().abs() <= REACH_DAYS;
    let before = days.get(..at)?.iter().rev().take_while(near).find_map(&value)?;
    let after = days.get(at + 1..)?.iter().take_while(near).find_map(&value)?;
    Some((before, after))
}

/// What lies on one day's values.
struct Look {
    at: usize,
    range_k: f64,
    /// How far the minimum lies under the colder of its neighbours, K.
    min_alone_k: f64,
    /// How far the maximum lies above the warmer of its neighbours, K.
    max_alone_k: f64,
}

fn looks(days: &[DailyDay]) -> Vec<Look> {
    let look = |at: usize| {
        let day = days.get(at)?;
        let (min_c, max_c) = (day.min_c?, day.max_c?);
        let alone = |value: f64, sides: Option<(f64, f64)>, down: bool| {
            sides.map_or(0.0, |(a, b)| if down { a.min(b) - value } else { value - a.max(b) })
        };
        Some(Look {
            at,
            range_k: max_c - min_c,
            min_alone_k: alone(min_c, beside(days, at, |day| day.min_c), true),
            max_alone_k: alone(max_c, beside(days, at, |day| day.max_c), false),
        })
    };
    (0..days.len()).filter_map(look).collect()
}

fn named(day: &DailyDay, value_c: f64, why: String) -> SetAside {
    SetAside {
        time: day.date.and_time(chrono::NaiveTime::MIN).and_utc(),
        value_c,
        why,
    }
}

/// Takes out minima and maxima that cannot be: the day's range is over [`WIDE_DAY_K`] and the value more than [`ALONE_K`] from those of the
/// days before and after. `days` sorted by date, one a date.
pub fn screen(days: &mut [DailyDay]) -> Vec<SetAside> {
    let mut found = Vec::new();
    for look in looks(days) {
        let cold = look.min_alone_k >= look.max_alone_k;
        let alone_k = look.min_alone_k.max(look.max_alone_k);
        if look.range_k <= WIDE_DAY_K || alone_k <= ALONE_K {
            continue;
        }
        if let Some(day) = days.get_mut(look.at)
            && let Some(value_c) = if cold { day.min_c.take() } else { day.max_c.take() }
        {
            found.push(named(
                day,
                value_c,
                format!(
                    "the day's range would be {:.0} K, and it lies {alone_k:.0} K {} those of the days before and after",
                    look.range_k,
                    if cold { "under" } else { "above" }
                ),
            ));
        }
    }
    found
}

/// Minima that are used and hardly to be believed, for their day's range among the station's own and for their neighbours.
pub fn doubtful(days: &[DailyDay]) -> Vec<SetAside> {
    let all = looks(days);
    if all.len() < LEAST_DAYS {
        return Vec::new();
    }
    let mut ranges: Vec<f64> = all.iter().map(|look| look.range_k).collect();
    ranges.sort_by(f64::total_cmp);
    let at = |share: f64| super::gev::sorted_quantile(&ranges, share);
    let limit = (at(0.5) + DOUBTFUL_SDS * (at(0.75) - at(0.25)) / 1.349).max(DOUBTFUL_DAY_K);
    all.iter()
        .filter(|look| look.range_k > limit && look.min_alone_k > DOUBTFUL_ALONE_K)
        .filter_map(|look| {
            let day = days.get(look.at)?;
            let why = format!(
                "the day's range is {:.0} K where the station's own are {:.0} K, and it lies {:.0} K under the nights before and after",
                look.range_k,
                at(0.5),
                look.min_alone_k
            );
            Some(named(day, day.min_c?, why))
        })
        .collect()
}

/// Hours between a fall and a rise that no weather makes both in a night: index of the reading and why. `order` sorted by time, one a time
/// or several.
pub fn notches(order: &[(usize, DateTime<Utc>, f64)]) -> BTreeMap<usize, String> {
    let mut found = BTreeMap::new();
    let hour = TimeDelta::minutes(90);
    let step = |pair: &[(usize, DateTime<Utc>, f64)]| match pair {
        [a, b] if b.1 - a.1 <= hour => Some(b.2 - a.2),
        _ => None,
    };
    let mut fallen: Option<(usize, f64)> = None;
    for (at, pair) in order.windows(2).enumerate() {
        let Some(change) = step(pair) else {
            fallen = None;
            continue;
        };
        if change < -NOTCH_K {
            fallen = Some((at + 1, change));
        } else if change > NOTCH_K
            && let Some((from, fall)) = fallen.take()
            && let Some(inside) = order.get(from..=at)
            && inside.len() > SPIKE_READINGS
            && let (Some(first), Some(last)) = (inside.first(), inside.last())
            && last.1 - first.1 <= TimeDelta::hours(NOTCH_H)
        {
            for (reading, _, _) in inside {
                found.insert(
                    *reading,
                    format!(
                        "the air would have fallen {:.0} K within an hour and risen {change:.0} K within another, {} h apart",
                        -fall,
                        (last.1 - first.1).num_hours() + 1
                    ),
                );
            }
        }
    }
    found
}

/// Date of a value that was set aside or doubted.
pub fn date_of(one: &SetAside) -> NaiveDate {
    one.time.date_naive()
}
