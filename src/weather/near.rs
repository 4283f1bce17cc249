//! The nearest of many stations, without looking at all of them for each site.

use super::series::Series;
use super::stations::{EARTH_RADIUS_KM, distance_km};
use std::collections::BTreeMap;

/// Series by the place and the name of their station.
#[derive(Debug, Clone, Default)]
pub struct Near<'a> {
    /// Latitude, longitude, name, index in the list; in order of latitude, one of each place.
    places: Vec<(f64, f64, &'a str, usize)>,
    names: BTreeMap<String, usize>,
}

/// A name as two that mean one station share it.
fn key(name: &str) -> String {
    name.trim().to_ascii_uppercase()
}

impl<'a> Near<'a> {
    /// Of a list of series.
    pub fn of(series: &'a [Series]) -> Self {
        let mut names = BTreeMap::new();
        for (index, one) in series.iter().enumerate() {
            names.entry(key(&one.station.station_id)).or_insert(index);
        }
        let mut places: Vec<(f64, f64, &str, usize)> = series
            .iter()
            .enumerate()
            .filter_map(|(index, one)| {
                let station = &one.station;
                Some((
                    station.latitude_deg?,
                    station.longitude_deg?,
                    station.station_id.as_str(),
                    index,
                ))
            })
            .collect();
        places.sort_by(|a, b| {
            a.0.total_cmp(&b.0)
                .then(a.1.total_cmp(&b.1))
                .then(a.2.cmp(b.2))
                .then(a.3.cmp(&b.3))
        });
        // Of several at one place the first name is meant in any case.
        places.dedup_by(|later, kept| later.0 == kept.0 && later.1 == kept.1);
        Self { places, names }
    }

    /// The series of a station's name; capital and small letters are the same.
    pub fn named(&self, name: &str) -> Option<usize> {
        self.names.get(&key(name)).copied()
    }

    /// The nearest series to a point and its distance in km; of two equally near, the one with the first name. `None` when no series has
    /// a place.
    pub fn nearest(&self, latitude_deg: f64, longitude_deg: f64) -> Option<(usize, f64)> {
        let middle = self.places.partition_point(|place| place.0 < latitude_deg);
        let (mut below, mut above) = (middle, middle);
        let mut best: Option<(f64, &str, usize)> = None;
        loop {
            // Whichever of the two neighbours in latitude is nearer; the great circle is never shorter than the difference of latitude.
            let apart = |at: Option<&(f64, f64, &str, usize)>| at.map(|place| (place.0 - latitude_deg).abs());
            let down = apart(below.checked_sub(1).and_then(|at| self.places.get(at)));
            let up = apart(self.places.get(above));
            let (at, degrees) = match (down, up) {
                (None, None) => break,
                (Some(down), up) if up.is_none_or(|up| down <= up) => {
                    below -= 1;
                    (below, down)
                }
                (_, up) => {
                    above += 1;
                    (above - 1, up.unwrap_or(0.0))
                }
            };
            let least_km = EARTH_RADIUS_KM * degrees.to_radians();
            if best.is_some_and(|best| least_km > best.0 * (1.0 + 1e-9) + 1e-6) {
                break;
            }
            let Some(place) = self.places.get(at) else { break };
            let km = distance_km((latitude_deg, longitude_deg), (place.0, place.1));
            let nearer = |best: (f64, &str, usize)| km.total_cmp(&best.0).then(place.2.cmp(best.1)).is_lt();
            if best.is_none_or(nearer) {
                best = Some((km, place.2, place.3));
            }
        }
        best.map(|(km, _, index)| (index, km))
    }
}

/// Points on the unit sphere: two are within a distance when their chord is.
pub(super) struct Sphere {
    points: Vec<Option<[f64; 3]>>,
    chord_squared: f64,
}

impl Sphere {
    /// For pairs within so many kilometres.
    pub(super) fn of(series: &[Series], within_km: f64) -> Self {
        let point = |one: &Series| {
            let (latitude, longitude) = one.station.latitude_deg.zip(one.station.longitude_deg)?;
            let (latitude, longitude) = (latitude.to_radians(), longitude.to_radians());
            Some([
                latitude.cos() * longitude.cos(),
                latitude.cos() * longitude.sin(),
                latitude.sin(),
            ])
        };
        let chord = 2.0 * (0.5 * within_km / EARTH_RADIUS_KM).sin();
        Self {
            points: series.iter().map(point).collect(),
            chord_squared: chord * chord,
        }
    }

    /// Whether two are certainly farther apart than the distance.
    pub(super) fn apart(&self, one: usize, other: usize) -> bool {
        match (self.points.get(one), self.points.get(other)) {
            (Some(Some(a)), Some(Some(b))) => {
                let squared: f64 = a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum();
                squared > self.chord_squared * (1.0 + 1e-6) + 1e-12
            }
            _ => true,
        }
    }
}
