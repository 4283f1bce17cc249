//! Where the stations are, which one stands for a site, and what the difference in height means.

use super::assemble::{AssembleOptions, RawReading, assemble};
use super::near::{Near, Sphere};
use super::series::{Kind, Series, Station};
use crate::faults::{Fault, Faults, Severity};
use crate::input::{Record, Records};
use crate::units::M_PER_FT;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use std::collections::{BTreeMap, BTreeSet};

/// Mean radius of the Earth, km (IUGG mean radius R1 of GRS 80; from memory of Moritz 1980).
pub const EARTH_RADIUS_KM: f64 = 6371.0088;
/// Fall of temperature with height, K/m: ICAO standard atmosphere, as in `[us-std-atm-1976]`.
pub const LAPSE_K_PER_M: f64 = 0.0065;

/// The list of stations.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stations {
    /// The stations, in the order of the file.
    pub stations: Vec<Station>,
    /// Zone of a station's local times, where told.
    pub zones: BTreeMap<String, Tz>,
}

impl Stations {
    /// The station of this name; capital and small letters are the same.
    pub fn named(&self, station_id: &str) -> Option<&Station> {
        self.stations
            .iter()
            .find(|station| same_name(&station.station_id, station_id))
    }

    /// Gives each series the place of its station, where the series itself tells none.
    ///
    /// Faults: `BW-S23` a series whose station is not in the list (warning, if the list has any).
    pub fn locate(&self, series: &mut [Series], file_name: &str) -> Faults {
        let mut faults = Faults::new();
        if self.stations.is_empty() {
            return faults;
        }
        let mut by_name: BTreeMap<String, &Station> = BTreeMap::new();
        for station in &self.stations {
            by_name.entry(key(&station.station_id)).or_insert(station);
        }
        for one in series {
            match by_name.get(&key(&one.station.station_id)) {
                Some(station) => {
                    let into = &mut one.station;
                    into.station_id.clone_from(&station.station_id);
                    if into.latitude_deg.is_none() || into.longitude_deg.is_none() {
                        into.latitude_deg = station.latitude_deg;
                        into.longitude_deg = station.longitude_deg;
                    }
                    into.elevation_m = into.elevation_m.or(station.elevation_m);
                }
                None if one.station.latitude_deg.is_some() => {}
                None => faults.push(
                    Fault::new(
                        "BW-S23",
                        Severity::Warning,
                        "the list of stations lacks a station that has a series",
                    )
                    .file(file_name)
                    .column("station_id")
                    .value(&one.station.station_id)
                    .remedy("Add it with its coordinates, or it can only serve sites that name it."),
                ),
            }
        }
        faults
    }
}

/// A name as two that mean one station share it.
fn key(name: &str) -> String {
    name.trim().to_ascii_uppercase()
}

/// Whether two names mean one station.
pub fn same_name(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

fn normal(header: &str) -> &'static str {
    match header.trim().to_ascii_lowercase().replace([' ', '-'], "_").as_str() {
        "station_id" | "station" | "id" => "station_id",
        "latitude" | "lat" => "latitude",
        "longitude" | "lon" | "long" | "lng" => "longitude",
        "elevation_ft" => "elevation_ft",
        "elevation_m" => "elevation_m",
        "zone" | "time_zone" | "timezone" => "zone",
        _ => "",
    }
}

/// Reads the list of stations: `station_id`, `latitude`, `longitude`, and if known `elevation_ft` (or `elevation_m`) and `zone`.
///
/// Faults: `BW-S20` a needed column is missing (fatal), `BW-S21` a row that cannot be used (rejected) or a cell of it (warning),
/// `BW-S22` a station named twice (rejected; the first is used).
pub fn read_stations(bytes: &[u8], file_name: &str) -> (Stations, Faults) {
    let mut faults = Faults::new();
    let mut out = Stations::default();
    let mut records = match Records::open(bytes, file_name, |cell| !normal(cell).is_empty()) {
        Ok(records) => records,
        Err(fault) => {
            faults.push(fault);
            return (out, faults);
        }
    };
    let mut at: BTreeMap<&str, usize> = BTreeMap::new();
    for (index, cell) in records.header().iter().enumerate() {
        at.entry(normal(cell)).or_insert(index);
    }
    let missing: Vec<&str> = ["station_id", "latitude", "longitude"]
        .into_iter()
        .filter(|name| !at.contains_key(name))
        .collect();
    if !missing.is_empty() {
        faults.push(
            Fault::new(
                "BW-S80",
                Severity::Fatal,
                format!("the stations lack the column {}", missing.join(" and ")),
            )
            .file(file_name)
            .line(records.header_line())
            .value(&records.header().join(" | "))
            .expected("station_id, latitude, longitude, elevation_ft")
            .remedy("Rename the columns."),
        );
        return (out, faults);
    }
    let comma = records.decimal_comma_likely();
    let mut names = BTreeSet::new();
    let mut record = Record::default();
    loop {
        match records.read(&mut record, &mut faults) {
            Ok(true) => {}
            Ok(false) => break,
            Err(fault) => {
                faults.push(fault);
                return (out, faults);
            }
        }
        let get = |name: &str| {
            at.get(name)
                .and_then(|index| record.fields.get(*index))
                .map_or("", String::as_str)
        };
        let told = |code, severity, column: &str, what: &str| {
            Fault::new(code, severity, what)
                .file(file_name)
                .line(record.line)
                .column(column)
                .value(get(column))
        };
        let angle = |name: &str, most: f64| {
            crate::inventory::parse::degrees(get(name), comma)
                .ok()
                .flatten()
                .filter(|degrees| degrees.abs() <= most)
        };
        let number = |name: &str, factor: f64| {
            let value = crate::inventory::parse::number(get(name), comma)
                .ok()?
                .map(|value| value * factor)?;
            (-500.0..=9000.0).contains(&value).then_some(value)
        };
        let id = get("station_id");
        let (latitude, longitude) = (angle("latitude", 90.0), angle("longitude", 180.0));
        if id.is_empty() {
            faults.push(
                told("BW-S81", Severity::Rejected, "station_id", "the station has no name").remedy("Give it one."),
            );
        } else if names.contains(&key(id)) {
            faults.push(
                told(
                    "BW-S22",
                    Severity::Rejected,
                    "station_id",
                    "this station stands in the list already",
                )
                .remedy("The first row was used."),
            );
        } else if latitude.is_none() || longitude.is_none() {
            let column = if latitude.is_none() { "latitude" } else { "longitude" };
            faults.push(
                told(
                    "BW-S82",
                    Severity::Rejected,
                    column,
                    "the station's place is unreadable or impossible",
                )
                .expected("degrees north from -90 to 90, degrees east from -180 to 180")
                .remedy("Correct it; if the two were swapped, swap them back."),
            );
        } else {
            let elevation_m = number("elevation_ft", M_PER_FT).or_else(|| number("elevation_m", 1.0));
            if elevation_m.is_none() && !get("elevation_ft").is_empty() {
                faults.push(
                    told(
                        "BW-S83",
                        Severity::Warning,
                        "elevation_ft",
                        "the elevation is unreadable or impossible",
                    )
                    .remedy("It was not used: sites are not corrected for height."),
                );
            }
            match get("zone") {
                "" => {}
                zone => match zone.parse::<Tz>() {
                    Ok(zone) => drop(out.zones.insert(id.to_owned(), zone)),
                    Err(_) => faults.push(
                        told("BW-S84", Severity::Warning, "zone", "this time zone is not known")
                            .expected("a name such as America/Chicago")
                            .remedy("It was not used."),
                    ),
                },
            }
            names.insert(key(id));
            out.stations.push(Station {
                station_id: id.to_owned(),
                latitude_deg: latitude,
                longitude_deg: longitude,
                elevation_m,
            });
        }
    }
    if out.stations.is_empty() {
        faults.push(
            Fault::new("BW-S85", Severity::Fatal, "the list holds no station that can be used")
                .file(file_name)
                .remedy("Fill it, or leave --stations out."),
        );
    }
    (out, faults)
}

/// Great-circle distance, km, between two points in degrees north and east.
///
/// Haversine: d = 2R asin √(sin²(Δφ/2) + cos φ₁ cos φ₂ sin²(Δλ/2)), the argument of asin held to 1 against rounding.
pub fn distance_km(a: (f64, f64), b: (f64, f64)) -> f64 {
    let (lat_a, lat_b) = (a.0.to_radians(), b.0.to_radians());
    let half_lat = ((lat_b - lat_a) / 2.0).sin();
    let half_lon = ((b.1 - a.1).to_radians() / 2.0).sin();
    let h = half_lat * half_lat + lat_a.cos() * lat_b.cos() * half_lon * half_lon;
    2.0 * EARTH_RADIUS_KM * h.clamp(0.0, 1.0).sqrt().asin()
}

/// Kelvin to add to a station's air for a site: −6.5 K/km when the site is higher, nothing when it is lower.
///
/// Cold air drains into low places on the still nights that matter, so a low site is never warmed. Unknown heights: nothing.
pub fn elevation_offset_k(site_m: Option<f64>, station_m: Option<f64>) -> f64 {
    match (site_m, station_m) {
        (Some(site), Some(station)) if site > station => -LAPSE_K_PER_M * (site - station),
        _ => 0.0,
    }
}

/// The nearest series to a point and its distance in km; of two equally near, the one with the first name. `None` when no series has a place.
pub fn nearest(series: &[Series], latitude_deg: f64, longitude_deg: f64) -> Option<(usize, f64)> {
    Near::of(series).nearest(latitude_deg, longitude_deg)
}

/// Joins series of one station that came in several files, as observations and a forecast do.
///
/// Where they overlap an observation goes before a forecast, a later issue before an earlier one, the colder before the warmer.
/// Series come back in the order of their stations' names. Gaps are judged as in [`assemble`].
///
/// Faults: `BW-S24` several series without a station's name that overlap (fatal), and those of [`assemble`].
pub fn join(series: Vec<Series>, allow_gaps: bool) -> (Vec<Series>, Faults) {
    let mut faults = Faults::new();
    let mut by_name: BTreeMap<String, Vec<Series>> = BTreeMap::new();
    for one in series {
        by_name
            .entry(one.station.station_id.trim().to_ascii_uppercase())
            .or_default()
            .push(one);
    }
    let mut out = Vec::new();
    for (name, mut parts) in by_name {
        if parts.len() == 1 {
            out.append(&mut parts);
            continue;
        }
        parts.sort_by_key(|part| part.start);
        if name.is_empty() && !parts.is_sorted_by(|a, b| a.end() < b.start) {
            faults.push(
                Fault::new(
                    "BW-S24",
                    Severity::Fatal,
                    format!("{} series overlap and none names its station", parts.len()),
                )
                .column("station_id")
                .expected("a station_id column where there is more than one station")
                .remedy("Add the column to each series file."),
            );
            continue;
        }
        let (joined, told) = join_parts(parts, allow_gaps);
        faults.append(told);
        out.extend(joined);
    }
    (out, faults)
}

/// What goes first where series overlap: observed, then the later issue.
type Rank = (bool, Option<DateTime<Utc>>);

fn join_parts(parts: Vec<Series>, allow_gaps: bool) -> (Option<Series>, Faults) {
    let mut station = Station::default();
    let mut formats = BTreeSet::new();
    let mut best: BTreeMap<DateTime<Utc>, (Rank, RawReading)> = BTreeMap::new();
    let issued = parts.iter().filter_map(|part| part.issued).max();
    for part in &parts {
        formats.insert(part.format);
        let from = &part.station;
        if station.station_id.is_empty() {
            station.station_id.clone_from(&from.station_id);
        }
        station.latitude_deg = station.latitude_deg.or(from.latitude_deg);
        station.longitude_deg = station.longitude_deg.or(from.longitude_deg);
        station.elevation_m = station.elevation_m.or(from.elevation_m);
        for (hour, air_c) in part.air_c.iter().enumerate() {
            if part.interpolated.get(hour).copied().unwrap_or(false) {
                continue;
            }
            let kind = part.kind.get(hour).copied().unwrap_or(Kind::Forecast);
            let mut reading = RawReading::of_air(part.time(hour), *air_c, kind);
            reading.wind_m_s = part.wind_m_s.get(hour).copied().flatten();
            reading.dew_point_c = part.dew_point_c.get(hour).copied().flatten();
            reading.sky_cover = part.sky_cover.get(hour).copied().flatten();
            let rank = (kind == Kind::Observed, part.issued);
            match best.get_mut(&reading.time_utc) {
                Some((held, kept)) if *held > rank || (*held == rank && kept.air_c <= reading.air_c) => {
                    kept.wind_m_s = kept.wind_m_s.or(reading.wind_m_s);
                    kept.dew_point_c = kept.dew_point_c.or(reading.dew_point_c);
                    kept.sky_cover = kept.sky_cover.or(reading.sky_cover);
                }
                Some(slot) => *slot = (rank, reading),
                None => drop(best.insert(reading.time_utc, (rank, reading))),
            }
        }
    }
    let format = if formats.len() == 1 {
        formats.first().copied().unwrap_or("joined")
    } else {
        "joined"
    };
    let mut options = AssembleOptions::new(format, "");
    options.issued = issued;
    options.allow_gaps = allow_gaps;
    let (series, _, mut faults) = assemble(
        station,
        best.into_values().map(|(_, reading)| reading).collect(),
        &options,
    );
    // The readers of the parts have told the gaps within them.
    faults.0.retain(|fault| fault.severity != Severity::Note);
    (series, faults)
}

/// How two stations differ over the hours that both have.
#[derive(Debug, Clone, PartialEq)]
pub struct Difference {
    /// Indices of the two series.
    pub pair: (usize, usize),
    /// Distance, km.
    pub distance_km: f64,
    /// Hours that both have.
    pub hours: usize,
    /// Mean of the first minus the second, K.
    pub mean_k: f64,
    /// Largest difference of any hour, K, without sign.
    pub largest_k: f64,
    /// Coldest of the first minus coldest of the second within these hours, K.
    pub coldest_k: f64,
}

/// How stations within `near_km` of each other differ: what the choice of a station is worth. The first `most` pairs in full, and how
/// many there are: of thousands of stations in one place there are millions.
pub fn differences(series: &[Series], near_km: f64, most: usize) -> (Vec<Difference>, usize) {
    let mut out = Vec::new();
    let mut count = 0;
    let sphere = Sphere::of(series, near_km);
    for (i, a) in series.iter().enumerate() {
        for (j, b) in series.iter().enumerate().skip(i + 1) {
            if sphere.apart(i, j) {
                continue;
            }
            if out.len() >= most {
                count += usize::from(a.start.max(b.start) <= a.end().min(b.end()));
                continue;
            }
            let place = |one: &Series| one.station.latitude_deg.zip(one.station.longitude_deg);
            let (Some(place_a), Some(place_b)) = (place(a), place(b)) else {
                continue;
            };
            let distance_km = distance_km(place_a, place_b);
            if distance_km > near_km {
                continue;
            }
            let from = a.start.max(b.start);
            let tail = |one: &Series| {
                let skip = usize::try_from((from - one.start).num_hours()).unwrap_or(0);
                one.air_c.get(skip..).unwrap_or_default().to_vec()
            };
            let (values_a, values_b) = (tail(a), tail(b));
            let hours = values_a.len().min(values_b.len());
            if hours == 0 {
                continue;
            }
            count += 1;
            let differences: Vec<f64> = values_a.iter().zip(&values_b).map(|(a, b)| a - b).collect();
            let coldest = |values: &[f64]| values.iter().take(hours).copied().fold(f64::INFINITY, f64::min);
            out.push(Difference {
                pair: (i, j),
                distance_km,
                hours,
                mean_k: differences.iter().sum::<f64>() / hours as f64,
                largest_k: differences.iter().fold(0.0, |most: f64, one| most.max(one.abs())),
                coldest_k: coldest(&values_a) - coldest(&values_b),
            });
        }
    }
    (out, count)
}
