//! What the forecaster says of the forecast's uncertainty: members of a numerical ensemble, or percentiles.
//!
//! Both are kept as departures from the series that the plan runs on, so that values six or twelve hours apart
//! do not flatten the day between them: departures go in straight lines, the shape of the day stays the series' own.

use super::series::Series;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

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
        nodes: Vec<(DateTime<Utc>, Vec<f64>)>,
    },
}

/// What was told of each station; an empty name stands for every station that is not named.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spread {
    /// By station.
    pub stations: BTreeMap<String, Told>,
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
            .or_else(|| self.stations.get(""))?;
        let (Told::Members(nodes) | Told::Percentiles { nodes, .. }) = told;
        let nodes: Vec<(DateTime<Utc>, Vec<f64>)> = nodes
            .iter()
            .filter_map(|(time, air)| {
                let base = air_at(series, *time)?;
                Some((*time, air.iter().map(|air| air - base).collect()))
            })
            .collect();
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
            Told::Percentiles { scores, .. } => {
                let last = scores.len().min(departures.len()).checked_sub(2)?;
                let lower = scores.partition_point(|s| *s <= score).saturating_sub(1).min(last);
                let (z0, z1) = (scores[lower], scores[lower + 1]);
                let (d0, d1) = (departures[lower], departures[lower + 1]);
                Some(d0 + (score - z0) / (z1 - z0) * (d1 - d0))
            }
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
