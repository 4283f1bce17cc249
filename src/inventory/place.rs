//! Which series stands for each assembly's site, and how much colder the site is for its height.

use super::Assembly;
use crate::faults::{Fault, Faults, Severity};
use crate::weather::Series;
use crate::weather::near::Near;
use crate::weather::stations::elevation_offset_k;
use std::collections::BTreeMap;

/// A station farther away than this is said to be far, km (judgement: weather of a plain changes little within it).
pub const FAR_KM: f64 = 60.0;

/// How a series came to stand for a site.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// The assembly names the station.
    Named,
    /// The nearest by great circle.
    Nearest,
    /// There is but one.
    Only,
}

/// The weather that stands for a site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// Index into the list of series.
    pub series: usize,
    /// Kelvin to add to the station's air; never positive.
    pub offset_k: f64,
    /// How it was chosen.
    pub how: How,
}

/// Chooses for each assembly: the named station, else the nearest, else the only one. `None` where there is nothing to choose by.
///
/// Faults: `BW-S16` no place, no station and several series (rejected: the assembly cannot be computed), `BW-S17` stations named that have no
/// series (warning; the nearest or only one was used), `BW-S19` sites far from their station (warning).
pub fn place_assemblies(assemblies: &[Assembly], series: &[Series], file_name: &str) -> (Vec<Option<Choice>>, Faults) {
    let mut faults = Faults::new();
    let mut unknown: BTreeMap<String, (usize, u64)> = BTreeMap::new();
    let mut far: BTreeMap<usize, (usize, u64, f64)> = BTreeMap::new();
    let mut choices = Vec::with_capacity(assemblies.len());
    let all = Near::of(series);
    for assembly in assemblies {
        let named = assembly.station_id.as_deref().and_then(|name| {
            let found = all.named(name);
            if found.is_none() {
                unknown.entry(name.to_owned()).or_insert((0, assembly.line)).0 += 1;
            }
            found
        });
        let site = assembly.latitude_deg.zip(assembly.longitude_deg);
        let near = site.and_then(|(latitude, longitude)| all.nearest(latitude, longitude));
        let chosen = match (named, near) {
            (Some(index), _) => Some((index, How::Named)),
            (None, Some((index, _))) if series.len() > 1 => Some((index, How::Nearest)),
            _ if series.len() == 1 => Some((0, How::Only)),
            _ => None,
        };
        let Some((index, how)) = chosen else {
            faults.push(nowhere(assembly, series, file_name));
            choices.push(None);
            continue;
        };
        let station = series.get(index).map(|one| &one.station);
        let distance_km = site.and_then(|site| {
            let station = station?;
            Some(crate::weather::stations::distance_km(
                site,
                (station.latitude_deg?, station.longitude_deg?),
            ))
        });
        if let Some(km) = distance_km.filter(|km| *km > FAR_KM) {
            let entry = far.entry(index).or_insert((0, assembly.line, km));
            entry.0 += 1;
            entry.2 = entry.2.max(km);
        }
        choices.push(Some(Choice {
            series: index,
            offset_k: elevation_offset_k(assembly.elevation_m, station.and_then(|station| station.elevation_m)),
            how,
        }));
    }
    for (name, (count, line)) in unknown {
        faults.push(
            Fault::new(
                "BW-S17",
                Severity::Warning,
                format!("{count} assemblies name a station that has no series"),
            )
            .file(file_name)
            .line(line)
            .column("station_id")
            .value(&name)
            .remedy("The nearest or only series was used where there is one. Add the station's series, or correct the name."),
        );
    }
    for (index, (count, line, km)) in far {
        let name = series.get(index).map_or("", |one| one.station.station_id.as_str());
        faults.push(
            Fault::new(
                "BW-S19",
                Severity::Warning,
                format!("{count} sites lie up to {km:.0} km from their station"),
            )
            .file(file_name)
            .line(line)
            .value(name)
            .expected(format!("a station within {FAR_KM:.0} km"))
            .remedy("Add a nearer station's series: the weather may differ by several degrees."),
        );
    }
    (choices, faults)
}

fn nowhere(assembly: &Assembly, series: &[Series], file_name: &str) -> Fault {
    let names: Vec<&str> = series
        .iter()
        .map(|one| one.station.station_id.as_str())
        .take(10)
        .collect();
    Fault::new(
        "BW-S16",
        Severity::Rejected,
        "no series can be chosen for this assembly",
    )
    .file(file_name)
    .line(assembly.line)
    .column("station_id")
    .value(&assembly.assembly_id)
    .expected(if assembly.latitude_deg.is_some() {
        "coordinates of the stations (--stations), or a station_id".to_owned()
    } else {
        format!("coordinates, or a station_id out of: {}", names.join(", "))
    })
    .remedy("Fill one of them in; the assembly was left out.")
}
