//! One assembly in full as JSON (SI) and its hours as CSV.

use super::plan::{Plan, rounded, stamp};
use super::plan_json;
use crate::freeze::detail::Detail;
use crate::freeze::setup::litres_per_h;
use crate::freeze::{Outlook, Trace};
use crate::inventory::Assembly;
use chrono::{DateTime, TimeDelta, Utc};
use serde::Serialize;
use std::io;

#[derive(Serialize)]
struct Document<'a, L: Serialize> {
    schema: &'static str,
    version: &'static str,
    issued: String,
    members: usize,
    seed: u64,
    what_if: Option<&'a str>,
    assembly: Option<L>,
    listed: &'a Assembly,
    hours: Vec<Hour>,
    network: Option<Network>,
    cautions: [&'static str; 1],
}

#[derive(Serialize)]
struct Hour {
    time: String,
    air_c: f64,
    coldest_water_c: [f64; 3],
    p_ice_by: Option<f64>,
    p_damage_by: Option<f64>,
    drip_l: [f64; 3],
}

#[derive(Serialize)]
struct Network {
    nucleation_c: f64,
    step_s: f64,
    supply_c: f64,
    parts: Vec<Part>,
    steps: Vec<Step>,
}

#[derive(Serialize)]
struct Part {
    name: &'static str,
    water_kg: f64,
    metal_j_per_k: f64,
    outside_area_m2: f64,
    outside_diameter_m: f64,
    insulation_m2k_per_w: f64,
}

#[derive(Serialize)]
struct Step {
    time: String,
    air_c: f64,
    wind_m_s: f64,
    sky_c: f64,
    parts: Vec<StepPart>,
    links: Vec<Link>,
    ground: Vec<Ground>,
    drip_l: f64,
}

#[derive(Serialize)]
struct StepPart {
    name: &'static str,
    water_c: f64,
    ice_fraction: f64,
    film_w_m2k: f64,
    /// Resistance of the layer of ice that `film_w_m2k` counts in, m²K/W.
    ice_m2k_per_w: f64,
    outside_c: f64,
    source_w: f64,
}

#[derive(Serialize)]
struct Link {
    a: &'static str,
    b: &'static str,
    conductance_w_per_k: f64,
}

#[derive(Serialize)]
struct Ground {
    part: &'static str,
    conductance_w_per_k: f64,
    temperature_c: f64,
}

/// The whole answer. Numbers of the network are written in full, so that another method can be held against them.
///
/// # Errors
/// When it cannot be serialised.
pub fn text(plan: &Plan<'_>, assembly: &Assembly, outlook: &Outlook, detail: Option<&Detail>) -> io::Result<String> {
    let document = Document {
        schema: "brimwater.show/1",
        version: crate::VERSION,
        issued: stamp(plan.now),
        members: outlook.members,
        seed: plan.seed,
        what_if: (!plan.what_if.is_empty()).then_some(plan.what_if),
        assembly: plan_json::first(plan),
        listed: assembly,
        hours: outlook
            .trace
            .as_ref()
            .map_or_else(Vec::new, |trace| hours(outlook.window_start, trace)),
        network: detail.map(network),
        cautions: [crate::PLANNING_AID],
    };
    let mut text = serde_json::to_string(&document)?;
    text.push('\n');
    Ok(text)
}

/// The hours as CSV.
///
/// # Errors
/// When they cannot be written.
pub fn hours_csv(outlook: &Outlook) -> io::Result<String> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record([
        "time",
        "air_c",
        "coldest_water_p10_c",
        "coldest_water_p50_c",
        "coldest_water_p90_c",
        "p_ice_by",
        "p_damage_by",
        "drip_p50_l",
    ])?;
    let all = outlook
        .trace
        .as_ref()
        .map_or_else(Vec::new, |trace| hours(outlook.window_start, trace));
    for hour in all {
        let number = |x: f64| format!("{x:.4}");
        writer.write_record([
            hour.time.clone(),
            number(hour.air_c),
            number(hour.coldest_water_c[0]),
            number(hour.coldest_water_c[1]),
            number(hour.coldest_water_c[2]),
            hour.p_ice_by.map_or(String::new(), number),
            hour.p_damage_by.map_or(String::new(), number),
            number(hour.drip_l[1]),
        ])?;
    }
    let bytes = writer
        .into_inner()
        .map_err(|error| io::Error::other(error.to_string()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn hours(start: DateTime<Utc>, trace: &Trace) -> Vec<Hour> {
    let three = |list: &[[f64; 3]], at: usize| list.get(at).copied().unwrap_or_default().map(|x| rounded(x, 4));
    trace
        .air_c
        .iter()
        .enumerate()
        .map(|(at, air)| Hour {
            time: stamp(start + TimeDelta::hours(at as i64)),
            air_c: rounded(*air, 4),
            coldest_water_c: three(&trace.coldest_water_c, at),
            p_ice_by: trace.p_ice_by.get(at).map(|p| rounded(*p, 6)),
            p_damage_by: trace.p_damage_by.get(at).map(|p| rounded(*p, 6)),
            drip_l: three(&trace.drip_l, at),
        })
        .collect()
}

fn network(detail: &Detail) -> Network {
    let net = &detail.setup.net;
    let name = |part: usize| net.parts.get(part).map_or("", |part| part.name);
    Network {
        nucleation_c: 0.0,
        step_s: detail.step_s,
        supply_c: detail.setup.supply_c,
        parts: net
            .parts
            .iter()
            .map(|part| Part {
                name: part.name,
                water_kg: part.water_kg,
                metal_j_per_k: part.metal_j_per_k,
                outside_area_m2: part.outside_area_m2,
                outside_diameter_m: part.outside_diameter_m,
                insulation_m2k_per_w: part.insulation_m2k_per_w,
            })
            .collect(),
        steps: detail
            .steps
            .iter()
            .map(|step| Step {
                time: stamp(detail.start + TimeDelta::milliseconds((step.time_s * 1000.0).round() as i64)),
                air_c: step.air_c,
                wind_m_s: step.wind_m_s,
                sky_c: step.sky_c,
                parts: step
                    .parts
                    .iter()
                    .enumerate()
                    .map(|(at, part)| StepPart {
                        name: name(at),
                        water_c: part.water_c,
                        ice_fraction: part.ice_fraction,
                        film_w_m2k: part.film_w_m2k,
                        ice_m2k_per_w: part.ice_m2k_per_w,
                        outside_c: part.outside_c,
                        source_w: part.source_w,
                    })
                    .collect(),
                links: net
                    .links
                    .iter()
                    .zip(&step.links_w_per_k)
                    .map(|(link, g)| Link {
                        a: name(link.a),
                        b: name(link.b),
                        conductance_w_per_k: *g,
                    })
                    .collect(),
                ground: net
                    .ground
                    .iter()
                    .zip(&step.ground_w_per_k)
                    .zip(&detail.setup.ground_c)
                    .map(|((link, g), t)| Ground {
                        part: name(link.part),
                        conductance_w_per_k: *g,
                        temperature_c: *t,
                    })
                    .collect(),
                drip_l: litres_per_h(step.drip_j_per_k / 3600.0),
            })
            .collect(),
    }
}
