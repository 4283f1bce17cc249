//! `map.geojson`: where the assemblies stand, by tier (RFC 7946). No personal data.

use super::plan::{Plan, Walk, rounded, stamp};
use crate::freeze::Outlook;
use crate::inventory::Assembly;
use crate::ranking::{Ranked, Tier};
use serde::Serialize;
use std::io::{self, Write};

#[derive(Serialize)]
struct Collection<F> {
    #[serde(rename = "type")]
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    bbox: Option<[f64; 4]>,
    features: F,
}

#[derive(Serialize)]
struct Feature<'a> {
    #[serde(rename = "type")]
    kind: &'static str,
    id: &'a str,
    geometry: Point,
    properties: Properties<'a>,
}

#[derive(Serialize)]
struct Point {
    #[serde(rename = "type")]
    kind: &'static str,
    coordinates: [f64; 2],
}

#[derive(Serialize)]
struct Properties<'a> {
    assembly_id: &'a str,
    rank: usize,
    tier: Tier,
    p_damage: Option<f64>,
    expected_loss: f64,
    first_ice: Option<String>,
    device_type: &'static str,
    nominal_size_in: &'static str,
    service: &'static str,
    placement: &'static str,
    reason: &'a str,
}

/// Longitude and latitude of an assembly, degrees on WGS 84, to 6 decimals (about a hand's breadth).
fn position(assembly: &Assembly) -> Option<[f64; 2]> {
    let (lat, lon) = (assembly.latitude_deg?, assembly.longitude_deg?);
    let sound = (-90.0..=90.0).contains(&lat) && (-180.0..=180.0).contains(&lon);
    sound.then(|| [rounded(lon, 6), rounded(lat, 6)])
}

fn feature<'a>(line: &'a Ranked, assembly: &'a Assembly, outlook: &'a Outlook) -> Option<Feature<'a>> {
    Some(Feature {
        kind: "Feature",
        id: &assembly.assembly_id,
        geometry: Point {
            kind: "Point",
            coordinates: position(assembly)?,
        },
        properties: Properties {
            assembly_id: &assembly.assembly_id,
            rank: line.rank,
            tier: line.tier,
            p_damage: outlook.p_damage.map(|p| rounded(p, 6)),
            expected_loss: rounded(line.expected_loss_usd, 2),
            first_ice: outlook.first_ice.p10.map(stamp),
            device_type: assembly.device_type.word(),
            nominal_size_in: assembly.nominal_size.word(),
            service: assembly.service.word(),
            placement: assembly.placement.word(),
            reason: &line.reason,
        },
    })
}

/// Writes the map. Assemblies without coordinates are left out; features come in order of rank.
///
/// # Errors
/// When the writer fails.
pub fn write(plan: &Plan<'_>, out: &mut dyn Write) -> io::Result<()> {
    let bbox = plan
        .assemblies
        .iter()
        .filter_map(position)
        .fold(None, |bounds: Option<[f64; 4]>, [x, y]| {
            let b = bounds.unwrap_or([x, y, x, y]);
            Some([b[0].min(x), b[1].min(y), b[2].max(x), b[3].max(y)])
        });
    let collection = Collection {
        kind: "FeatureCollection",
        bbox,
        features: Walk(|| {
            plan.lines()
                .filter_map(|(line, assembly, outlook)| feature(line, assembly, outlook))
        }),
    };
    serde_json::to_writer(&mut *out, &collection)?;
    out.write_all(b"\n")
}
