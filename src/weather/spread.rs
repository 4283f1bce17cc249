//! What the forecaster says of the forecast's uncertainty: members of a numerical ensemble, or percentiles.
//!
//! Both are kept as departures from the series that the plan runs on, so that values six or twelve hours apart
//! do not flatten the day between them: departures go in straight lines, the shape of the day stays the series' own.

use super::series::Series;
use chrono::{DateTime, TimeDelta, Utc};
use statrs::distribution::{ContinuousCDF, Normal};
use std::collections::BTreeMap;

/// When a percentile holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// At an instant.
    At(DateTime<Utc>),
    /// It is the lowest of the hours from the first to the last, and belongs to the series' own coldest hour among them: put at
    /// the time of the table's column it would make the night some 1.5 to 2 K colder than the forecaster said.
    LowestIn(DateTime<Utc>, DateTime<Utc>),
    /// It is the highest of these hours.
    HighestIn(DateTime<Utc>, DateTime<Utc>),
}

impl When {
    /// The instant at which it holds in a series; `None` where the series does not tell, because it does not reach or because
    /// its extreme lies where it begins or ends, so that the true one may be outside.
    fn place(self, series: &Series) -> Option<DateTime<Utc>> {
        let (from, to, lowest) = match self {
            When::At(time) => return Some(time),
            When::LowestIn(from, to) => (from, to, true),
            When::HighestIn(from, to) => (from, to, false),
        };
        let last = series.hours().checked_sub(1)?;
        let hour = |time: DateTime<Utc>| (time - series.start).num_hours();
        let first = usize::try_from(hour(from).max(0)).ok()?;
        let end = usize::try_from(hour(to)).ok()?.min(last);
        let cold = |at: &usize| {
            series
                .air_c
                .get(*at)
                .map_or(f64::INFINITY, |air| if lowest { *air } else { -air })
        };
        let at = (first..=end).min_by(|a, b| cold(a).total_cmp(&cold(b)))?;
        let cut = (at == 0 && from < series.start) || (at == last && to > series.end());
        (!cut).then(|| series.time(at))
    }

    /// The last instant at which it can hold.
    pub fn latest(self) -> DateTime<Utc> {
        match self {
            When::At(time) | When::LowestIn(_, time) | When::HighestIn(_, time) => time,
        }
    }

    /// The night's minimum that is listed at `column`: it fell or falls from 12 hours before to 6 hours after, which is 00 to 18 UTC.
    pub fn night(column: DateTime<Utc>) -> Self {
        When::LowestIn(column - TimeDelta::hours(12), column + TimeDelta::hours(6))
    }

    /// The day's maximum that is listed at `column`: 12 to 06 UTC.
    pub fn day(column: DateTime<Utc>) -> Self {
        When::HighestIn(column - TimeDelta::hours(12), column + TimeDelta::hours(6))
    }
}

/// The normal score of a percentile, 0 to 100, without the ends.
pub fn score_of(percentile: f64) -> f64 {
    Normal::standard().inverse_cdf(percentile / 100.0)
}

/// Air temperature of one station as members or percentiles, °C.
#[derive(Debug, Clone, PartialEq)]
pub enum Told {
    /// Members: at each time (in order), the air of each member, `[members]`.
    Members(Vec<(DateTime<Utc>, Vec<f64>)>),
    /// Percentiles: their normal scores, rising, and at each time (in order) the air at each, rising, `[percentiles]`.
    Percentiles {
        /// Normal scores.
        scores: Vec<f64>,
        /// Air.
        nodes: Vec<(When, Vec<f64>)>,
    },
}

/// A straight line through two percentiles, and on beyond the outermost.
fn along(scores: &[f64], values: &[f64], score: f64) -> Option<f64> {
    let last = scores.len().min(values.len()).checked_sub(2)?;
    let lower = scores.partition_point(|s| *s <= score).saturating_sub(1).min(last);
    let (z0, z1) = (scores.get(lower)?, scores.get(lower + 1)?);
    let (d0, d1) = (values.get(lower)?, values.get(lower + 1)?);
    Some(d0 + (score - z0) / (z1 - z0) * (d1 - d0))
}

impl Told {
    /// Whether it tells instants, not nights and days.
    pub fn is_by_the_hour(&self) -> bool {
        match self {
            Told::Members(_) => true,
            Told::Percentiles { nodes, .. } => nodes.iter().all(|node| matches!(node.0, When::At(_))),
        }
    }

    /// This, and beyond its last time what `later` tells: a bulletin of three-hourly spread is followed by one of nights and days.
    /// Of members nothing can be made longer, and what tells members goes before what tells percentiles.
    #[must_use]
    pub fn then(self, later: Told) -> Told {
        match (self, later) {
            (
                Told::Percentiles { scores, nodes },
                Told::Percentiles {
                    scores: other_scores,
                    nodes: other,
                },
            ) => {
                let end = nodes.iter().map(|node| node.0.latest()).max();
                // Nights that were told only as nights before the three-hourly spread ends would be told twice.
                let begins = |when: &When| match when {
                    When::At(time) | When::LowestIn(time, _) | When::HighestIn(time, _) => *time,
                };
                let mut nodes: Vec<(When, Vec<f64>)> = nodes
                    .into_iter()
                    .filter_map(|(when, air)| {
                        let air: Option<Vec<f64>> = other_scores.iter().map(|z| along(&scores, &air, *z)).collect();
                        Some((when, air?))
                    })
                    .collect();
                nodes.extend(
                    other
                        .into_iter()
                        .filter(|node| end.is_none_or(|end| begins(&node.0) >= end)),
                );
                Told::Percentiles {
                    scores: other_scores,
                    nodes,
                }
            }
            (members @ Told::Members(_), _) => members,
            (_, members) => members,
        }
    }
}

/// What was told of each station; an empty name stands for every station that is not named.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spread {
    /// By station.
    pub stations: BTreeMap<String, Told>,
    /// Whether an empty name stands for the series without a name only: so when the series' own files told it.
    pub own_only: bool,
}

/// Departures from a series, K.
#[derive(Debug, Clone, PartialEq)]
pub struct Departures<'a> {
    told: &'a Told,
    /// At each node: its time and the departures of members or percentiles.
    nodes: Vec<(DateTime<Utc>, Vec<f64>)>,
}

impl Spread {
    /// What was told of a station, against its series. `None` where nothing was told that falls into the series.
    pub fn departures(&self, series: &Series) -> Option<Departures<'_>> {
        let told = self
            .stations
            .get(&series.station.station_id)
            .or_else(|| if self.own_only { None } else { self.stations.get("") })?;
        let from_series = |time: DateTime<Utc>, air: &[f64]| {
            let base = air_at(series, time)?;
            Some((time, air.iter().map(|air| air - base).collect::<Vec<f64>>()))
        };
        let mut nodes: Vec<(DateTime<Utc>, Vec<f64>)> = match told {
            Told::Members(nodes) => nodes.iter().filter_map(|(time, air)| from_series(*time, air)).collect(),
            Told::Percentiles { nodes, .. } => nodes
                .iter()
                .filter_map(|(when, air)| from_series(when.place(series)?, air))
                .collect(),
        };
        // Nights and days find their places one by one: an hour that is both keeps what was told first.
        nodes.sort_by_key(|node| node.0);
        nodes.dedup_by_key(|node| node.0);
        (!nodes.is_empty()).then_some(Departures { told, nodes })
    }
}

impl Departures<'_> {
    /// Departure of the air from the series, K, at a time, for member number `member` of the run whose standardised error
    /// there is `score`. `None` outside the times that were told.
    ///
    /// The run's members take the file's in turn. Between percentiles the departure is a straight line in the normal score,
    /// and beyond the outermost the line of the outermost two goes on: a normal distribution comes back as itself.
    pub fn at(&self, time: DateTime<Utc>, member: usize, score: f64) -> Option<f64> {
        let after = self.nodes.partition_point(|node| node.0 < time);
        let of = |node: &(DateTime<Utc>, Vec<f64>)| self.pick(&node.1, member, score);
        let next = self.nodes.get(after)?;
        if next.0 == time {
            return of(next);
        }
        let before = self.nodes.get(after.checked_sub(1)?)?;
        let share = (time - before.0).num_seconds() as f64 / (next.0 - before.0).num_seconds() as f64;
        let (a, b) = (of(before)?, of(next)?);
        Some(a + share * (b - a))
    }

    fn pick(&self, departures: &[f64], member: usize, score: f64) -> Option<f64> {
        match self.told {
            Told::Members(_) => departures.get(member % departures.len().max(1)).copied(),
            Told::Percentiles { scores, .. } => along(scores, departures, score),
        }
    }
}

/// Air of a series at a time inside it, °C, on the straight line between its hours.
fn air_at(series: &Series, time: DateTime<Utc>) -> Option<f64> {
    let seconds = (time - series.start).num_seconds();
    let hour = usize::try_from(seconds.div_euclid(3600)).ok()?;
    let share = seconds.rem_euclid(3600) as f64 / 3600.0;
    let a = *series.air_c.get(hour)?;
    if share == 0.0 {
        return Some(a);
    }
    let b = *series.air_c.get(hour + 1)?;
    Some(a + share * (b - a))
}
