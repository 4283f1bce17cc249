//! Where the forecast's error is one: stations near each other miss alike, those farther apart less so.
//!
//! Stations within `error_alike_km` of each other share the error wholly; what differs between them is the local part that the members'
//! site offset carries. Between such areas the error is alike by exp(−distance / `error_distance_km`), which is a correlation for any set of
//! places, on a sphere too. Measured \[forecast-errors\]: 0.90 under 10 km, 0.86 at 10 to 20, 0.75 at 20 to 40, 0.62 at 40 to 80, 0.45 at 80 to
//! 160 km; of 2.66 K in all and a local part of 1.0 K the model makes 0.86, 0.86, 0.73, 0.62, 0.45 in the middle of these classes.

use super::config::EnsembleConfig;
use super::members::Members;
use crate::weather::stations::distance_km;
use crate::weather::{Kind, Series};

/// Least of a pivot, so that areas that are nearly one another do no harm.
const LEAST_PIVOT: f64 = 1e-9;

/// Areas of stations with one forecast error each.
#[derive(Debug, Clone, PartialEq)]
pub struct Regions {
    /// Area of each series.
    of: Vec<usize>,
    /// Lower root of the correlation between areas, `[area][area]`.
    root: Vec<Vec<f64>>,
    /// Series that are forecast and whose place is not told, beside others: they share the first area's error.
    unplaced: usize,
}

impl Default for Regions {
    /// One area for all.
    fn default() -> Self {
        Self {
            of: Vec::new(),
            root: vec![vec![1.0]],
            unplaced: 0,
        }
    }
}

impl Regions {
    /// The areas of the series' stations. They are named in the order of the stations' names, so that the order of files moves nothing.
    ///
    /// A station without coordinates shares the first area's error, as all of them do when none has any.
    pub fn new(series: &[Series], ensemble: &EnsembleConfig) -> Self {
        Self::where_stood(series, &|_| true, ensemble)
    }

    /// The same of the series at which somebody stands, for a bulletin holds a country's stations: the work grows with the cube of the areas.
    /// The others count to the first area.
    pub fn where_stood(series: &[Series], stood: &dyn Fn(usize) -> bool, ensemble: &EnsembleConfig) -> Self {
        let alike_km = ensemble.error_alike_km.max(0.0);
        let mut order: Vec<(usize, (f64, f64))> = (0..)
            .zip(series)
            .filter(|(at, _)| stood(*at))
            .filter_map(|(at, one)| Some((at, one.station.latitude_deg.zip(one.station.longitude_deg)?)))
            .collect();
        order.sort_by(|a, b| {
            let name = |at: usize| series.get(at).map(|one| one.station.station_id.as_str());
            name(a.0).cmp(&name(b.0)).then(a.0.cmp(&b.0))
        });
        let mut heads: Vec<(f64, f64)> = Vec::new();
        let mut of = vec![0; series.len()];
        for (at, place) in order {
            // The nearest head within reach, the earlier one of two as near.
            let near = (0..)
                .zip(&heads)
                .map(|(area, head)| (area, distance_km(*head, place)))
                .filter(|(_, km)| *km <= alike_km)
                .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
            let area = near.map_or_else(
                || {
                    heads.push(place);
                    heads.len() - 1
                },
                |(area, _)| area,
            );
            if let Some(slot) = of.get_mut(at) {
                *slot = area;
            }
        }
        let apart_km = ensemble.error_distance_km.max(f64::MIN_POSITIVE);
        let alike = |a: &(f64, f64), b: &(f64, f64)| (-distance_km(*a, *b) / apart_km).exp();
        let root = if heads.len() < 2 {
            vec![vec![1.0]]
        } else {
            let correlation: Vec<Vec<f64>> = heads
                .iter()
                .map(|a| heads.iter().map(|b| alike(a, b)).collect())
                .collect();
            lower_root(&correlation)
        };
        let unplaced = (0..)
            .zip(series)
            .filter(|(at, _)| stood(*at))
            .map(|(_, one)| one)
            .filter(|one| one.station.latitude_deg.is_none() || one.station.longitude_deg.is_none())
            .filter(|one| one.kind.contains(&Kind::Forecast))
            .count();
        Self {
            of,
            root,
            unplaced: if series.len() > 1 { unplaced } else { 0 },
        }
    }

    /// Number of areas, 1 or more.
    pub fn count(&self) -> usize {
        self.root.len()
    }

    /// Area of a series.
    pub fn of(&self, series: usize) -> usize {
        self.of.get(series).copied().unwrap_or(0)
    }

    /// Forecast series of which nothing tells where they stand, where there are several series.
    pub fn unplaced(&self) -> usize {
        self.unplaced
    }

    /// Weights of an area's error over independent ones, `[areas]`: what stands in them alike makes two areas alike.
    pub fn root(&self, area: usize) -> &[f64] {
        self.root.get(area).map_or(&[], Vec::as_slice)
    }

    /// The members as an area has them: the same in all but the forecast error. The first area's are `members` themselves.
    pub fn members(&self, area: usize, members: &Members, seed: u64, ensemble: &EnsembleConfig) -> Members {
        let own = Self::independent(area, members, seed, ensemble);
        self.mixed(area, members, &own)
    }

    /// The members with errors of their own for each of the areas 1 to `last`, independent of each other.
    pub(super) fn independent(last: usize, members: &Members, seed: u64, ensemble: &EnsembleConfig) -> Vec<Members> {
        if members.count() <= 1 {
            return Vec::new();
        }
        (1..=last)
            .map(|area| members.with_errors_of(seed, area as u32, ensemble))
            .collect()
    }

    /// The members as an area has them, from what [`Regions::independent`] gives for it and those before it.
    pub(super) fn mixed(&self, area: usize, members: &Members, independent: &[Members]) -> Members {
        if area == 0 || members.count() <= 1 {
            return members.clone();
        }
        members.mixed(self.root(area), independent)
    }
}

/// Lower triangular root of a correlation matrix (Cholesky).
fn lower_root(matrix: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let n = matrix.len();
    let mut root = vec![vec![0.0; n]; n];
    for row in 0..n {
        for column in 0..=row {
            let known: f64 = (0..column).map(|k| root[row][k] * root[column][k]).sum();
            let left = matrix[row][column] - known;
            root[row][column] = if row == column {
                left.max(LEAST_PIVOT).sqrt()
            } else {
                left / root[column][column]
            };
        }
    }
    root
}
