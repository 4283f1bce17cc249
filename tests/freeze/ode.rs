//! The freeze model's time integration against independent integrations of the same networks over a real cold spell.
#![allow(clippy::unwrap_used, clippy::panic, clippy::needless_range_loop)]

use crate::spells::{airport, bare};
use crate::tables::table;
use brimwater::freeze::WhatIf;
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::kernel::{Step, run_block};
use brimwater::freeze::members::Members;
use brimwater::freeze::network::Network;
use brimwater::freeze::setup::{Setup, films};
use brimwater::freeze::simulate::block_of;
use brimwater::freeze::spell::Spell;
use brimwater::inventory::{Assembly, DeviceType, NominalSize};
use brimwater::weather::Series;
use ode_solvers::{DVector, Dop853, System};

/// Enthalpy of fusion and specific heats as handbooks have them, J/kg and J/(kg·K); typed here and not taken from the program.
const LATENT_J_KG: f64 = 333_550.0;
const WATER_J_KGK: f64 = 4217.6;
const ICE_J_KGK: f64 = 2100.0;

struct Run {
    setup: Setup,
    spell: Spell,
    steps: Vec<Step>,
    /// First ice of each part as the model reports it, s from the start of the spell.
    ice_s: Vec<f64>,
}

/// The model's deterministic run, with `change` made to its case first.
fn run(assembly: &Assembly, series: &Series, change: impl Fn(&mut Setup)) -> Run {
    let config = FreezeConfig::default();
    let members = Members::deterministic();
    let now = series.start;
    let spell = Spell::new(
        series,
        &members,
        now,
        chrono_tz::UTC,
        &config,
        &EnsembleConfig::default(),
    )
    .unwrap();
    let mut setup = Setup::new(assembly, spell.day_of_year, WhatIf::AsListed, &config);
    change(&mut setup);
    let mut steps = Vec::new();
    let (weather, lanes) = block_of::<1>(&setup, &spell, &members, 0.0, 0);
    let block = run_block::<1>(&setup, &weather, &lanes, false, Some(&mut steps));
    let ice_s = block.ice_s.iter().map(|lane| lane[0]).collect();
    drop(weather);
    Run {
        setup,
        spell,
        steps,
        ice_s,
    }
}

/// Cases of issue: a bare 1 in RP and a bare 1-1/2 in DC, both idle, over a real cold spell.
fn cases() -> [(&'static str, Assembly, Series); 2] {
    [
        (
            "1 in RP",
            bare(DeviceType::Rp, NominalSize::N1),
            airport("jfk_spell.csv"),
        ),
        (
            "1-1/2 in DC",
            Assembly {
                riser_height_m: 0.6,
                ..bare(DeviceType::Dc, NominalSize::N1_5)
            },
            airport("ewr_spell.csv"),
        ),
    ]
}

/// The network of one step as a set of ordinary differential equations in the enthalpy of each part, J over water at 0 °C.
struct Balance<'a> {
    net: &'a Network,
    ground_c: &'a [f64],
    step: &'a Step,
}

impl Balance<'_> {
    /// Temperature of a part, °C, from its enthalpy: liquid, then mushy at 0 °C, then ice.
    fn temperature_c(net: &Network, i: usize, enthalpy_j: f64) -> f64 {
        let part = &net.parts[i];
        let frozen_j = -LATENT_J_KG * part.water_kg;
        if enthalpy_j >= 0.0 {
            enthalpy_j / (part.metal_j_per_k + WATER_J_KGK * part.water_kg)
        } else if enthalpy_j > frozen_j {
            0.0
        } else {
            (enthalpy_j - frozen_j) / (part.metal_j_per_k + ICE_J_KGK * part.water_kg)
        }
    }
}

impl System<f64, DVector<f64>> for Balance<'_> {
    fn system(&self, _t: f64, h: &DVector<f64>, dh: &mut DVector<f64>) {
        let n = self.net.parts.len();
        let t: Vec<f64> = (0..n).map(|i| Self::temperature_c(self.net, i, h[i])).collect();
        for i in 0..n {
            let (part, now) = (&self.net.parts[i], &self.step.parts[i]);
            let u = part.outside_area_m2 / (1.0 / now.film_w_m2k + part.insulation_m2k_per_w);
            dh[i] = u * (now.outside_c - t[i]) + now.source_w;
        }
        for (link, g) in self.net.links.iter().zip(&self.step.links_w_per_k) {
            let flow = g * (t[link.a] - t[link.b]);
            dh[link.a] -= flow;
            dh[link.b] += flow;
        }
        for ((link, g), ground_c) in self.net.ground.iter().zip(&self.step.ground_w_per_k).zip(self.ground_c) {
            dh[link.part] += g * (ground_c - t[link.part]);
        }
    }
}

#[test]
fn a_high_order_integration_of_the_same_coefficients_agrees() {
    // X-Val: Dormand and Prince's eighth-order method (crate ode_solvers, Dop853) with error control 1e-8 and its own enthalpy
    // treatment, on the coefficients that each step of the model publishes: water of each part within 0.1 K up to its first ice,
    // first ice of each part within 10 minutes.
    for (name, assembly, series) in cases() {
        let run = run(&assembly, &series, |_| {});
        let net = &run.setup.net;
        let n = net.parts.len();
        let mut h = DVector::from_iterator(n, run.steps[0].parts.iter().map(|p| p.enthalpy_j));
        let mut reference_ice = vec![f64::INFINITY; n];
        let (mut worst_k, mut worst_fraction) = (0.0_f64, 0.0_f64);
        for (at, step) in run.steps.iter().enumerate() {
            for i in 0..n {
                let t = Balance::temperature_c(net, i, h[i]);
                let fraction = (-h[i] / (LATENT_J_KG * net.parts[i].water_kg)).clamp(0.0, 1.0);
                let apart = (t - step.parts[i].water_c).abs();
                if step.time_s <= run.ice_s[i].min(reference_ice[i]) {
                    worst_k = worst_k.max(apart);
                }
                worst_fraction = worst_fraction.max((fraction - step.parts[i].ice_fraction).abs());
            }
            let Some(next) = run.steps.get(at + 1) else { break };
            let dt = next.time_s - step.time_s;
            let balance = Balance {
                net,
                ground_c: &run.setup.ground_c,
                step,
            };
            let mut solver = Dop853::new(balance, 0.0, dt, 15.0, h.clone(), 1e-8, 1e-6);
            solver.integrate().unwrap();
            for (seconds, state) in solver.x_out().iter().zip(solver.y_out()) {
                for i in 0..n {
                    if state[i] < 0.0 && reference_ice[i].is_infinite() {
                        reference_ice[i] = step.time_s + seconds;
                    }
                }
            }
            h = solver.y_out().last().unwrap().clone();
        }
        let frozen = reference_ice.iter().filter(|t| t.is_finite()).count();
        let worst_s = worst_time(&run.ice_s, &reference_ice, name);
        println!("{name}: {frozen} of {n} parts, {worst_k:.4} K, {worst_s:.0} s, ice {worst_fraction:.5}");
        assert!(
            frozen >= n / 2,
            "{name}: the spell must freeze it, {frozen} of {n} parts did"
        );
        assert!(worst_k < 0.1, "{name}: {worst_k} K");
        assert!(worst_s < 600.0, "{name}: {worst_s} s");
        // Freezing and melting of every part through the whole spell, to a hundredth of its water.
        assert!(worst_fraction < 0.01, "{name}: ice apart by {worst_fraction}");
    }
}

/// Largest difference of first ice among parts, s; a part that freezes in one and not in the other fails.
fn worst_time(ours: &[f64], reference: &[f64], name: &str) -> f64 {
    ours.iter().zip(reference).fold(0.0, |worst: f64, (a, b)| {
        assert_eq!(a.is_finite(), b.is_finite(), "{name}: {ours:?} {reference:?}");
        if a.is_finite() { worst.max((a - b).abs()) } else { worst }
    })
}

/// What the independent reference needs to know of a case: the network, not any result.
fn written(name: &str, file: &str, run: &Run) -> serde_json::Value {
    let net = &run.setup.net;
    let parts: Vec<_> = net
        .parts
        .iter()
        .zip(&run.setup.wind_factor)
        .map(|(p, wind)| {
            serde_json::json!({
                "name": p.name, "water_kg": p.water_kg, "metal_j_per_k": p.metal_j_per_k,
                "outside_area_m2": p.outside_area_m2, "outside_diameter_m": p.outside_diameter_m, "bore_m": p.bore_m,
                "insulation_m2k_per_w": p.insulation_m2k_per_w, "wind_factor": wind,
            })
        })
        .collect();
    let links: Vec<_> = net
        .links
        .iter()
        .map(|l| {
            serde_json::json!({
                "a": l.a, "b": l.b, "conductance_w_per_k": l.conductance_w_per_k,
                "mixing_w_per_k2": l.mixing_w_per_k2, "a_is_lower": l.a_is_lower,
            })
        })
        .collect();
    let ground: Vec<_> = net
        .ground
        .iter()
        .zip(&run.setup.ground_c)
        .map(|(g, c)| {
            serde_json::json!({
                "part": g.part, "conductance_w_per_k": g.conductance_w_per_k, "mixing_w_per_k2": g.mixing_w_per_k2,
                "temperature_c": c,
            })
        })
        .collect();
    serde_json::json!({
        "case": name, "record": file, "first_hour": run.spell.first, "hours": run.spell.hours(),
        "emissivity": run.setup.emissivity, "sky_view": run.setup.sky_view, "chain": net.chain,
        "parts": parts, "links": links, "ground": ground,
    })
}

/// Writes the networks that `tests/data/ode/integrate.py` reads. Run by hand when the networks of the cases should move:
/// `cargo test --test freeze_ode -- --ignored write_networks`.
#[test]
#[ignore = "writes the input of the reference, by hand"]
fn write_networks() {
    let files = ["jfk_spell.csv", "ewr_spell.csv"];
    let all: Vec<_> = cases()
        .iter()
        .zip(files)
        .map(|((name, assembly, series), file)| written(name, file, &run(assembly, series, |_| {})))
        .collect();
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/ode/networks.json");
    std::fs::write(path, serde_json::to_string_pretty(&all).unwrap() + "\n").unwrap();
}

/// Puts the frozen network of the reference in the place of the case's own, so that later changes of generic dimensions or of
/// config defaults do not move the comparison.
fn freeze_network(setup: &mut Setup, told: &serde_json::Value) {
    let number = |value: &serde_json::Value, key: &str| value[key].as_f64().unwrap_or_else(|| panic!("no {key}"));
    let list = |key: &str| told[key].as_array().unwrap();
    assert_eq!(
        setup.net.parts.len(),
        list("parts").len(),
        "the case has other parts: write the networks anew"
    );
    for ((part, wind), from) in setup
        .net
        .parts
        .iter_mut()
        .zip(&mut setup.wind_factor)
        .zip(list("parts"))
    {
        assert_eq!(from["name"], part.name);
        part.water_kg = number(from, "water_kg");
        part.metal_j_per_k = number(from, "metal_j_per_k");
        part.outside_area_m2 = number(from, "outside_area_m2");
        part.outside_diameter_m = number(from, "outside_diameter_m");
        part.bore_m = number(from, "bore_m");
        part.insulation_m2k_per_w = number(from, "insulation_m2k_per_w");
        *wind = number(from, "wind_factor");
    }
    for (link, from) in setup.net.links.iter_mut().zip(list("links")) {
        assert_eq!(
            (link.a as u64, link.b as u64),
            (from["a"].as_u64().unwrap(), from["b"].as_u64().unwrap())
        );
        link.conductance_w_per_k = number(from, "conductance_w_per_k");
        link.mixing_w_per_k2 = number(from, "mixing_w_per_k2");
    }
    for ((link, ground_c), from) in setup.net.ground.iter_mut().zip(&mut setup.ground_c).zip(list("ground")) {
        assert_eq!(link.part as u64, from["part"].as_u64().unwrap());
        link.conductance_w_per_k = number(from, "conductance_w_per_k");
        link.mixing_w_per_k2 = number(from, "mixing_w_per_k2");
        *ground_c = number(from, "temperature_c");
    }
    setup.emissivity = number(told, "emissivity");
    setup.sky_view = number(told, "sky_view");
    (setup.films, setup.film_of) = films(&setup.net, 270.0);
}

#[test]
fn a_separate_model_with_continuous_films_agrees() {
    // X-Val: tests/data/ode/integrate.py: SciPy's Radau on its own statement of the balance, films and mixing continuous in time.
    // Water within 0.1 K up to the first ice of the part, first ice within 10 minutes.
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/ode/networks.json");
    let networks: Vec<serde_json::Value> = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    for ((name, assembly, series), (told, stem)) in cases().into_iter().zip(networks.iter().zip(["jfk", "ewr"])) {
        let run = run(&assembly, &series, |setup| freeze_network(setup, told));
        assert_eq!(
            (run.spell.first as u64, run.spell.hours() as u64),
            (told["first_hour"].as_u64().unwrap(), told["hours"].as_u64().unwrap())
        );
        let n = run.setup.net.parts.len();
        let mut reference_ice = vec![f64::INFINITY; n];
        for row in table(&format!("ode/first_ice_{stem}.csv")) {
            if let Some(s) = row.find("first_ice_s") {
                reference_ice[row.get("part") as usize] = s;
            }
        }
        let earliest = |times: &[f64]| times.iter().copied().fold(f64::INFINITY, f64::min);
        // Up to the first ice of each part; and ice through the whole spell.
        let (mut worst_k, mut worst_ice) = (0.0_f64, 0.0_f64);
        for row in table(&format!("ode/reference_{stem}.csv")) {
            let time_s = row.get("time_s");
            let step = run.steps.iter().find(|s| (s.time_s - time_s).abs() < 1.0).unwrap();
            for i in 0..n {
                let (t, ice) = (row.get(&format!("t{i}")), row.get(&format!("ice{i}")));
                let apart = (t - step.parts[i].water_c).abs();
                if time_s <= run.ice_s[i].min(reference_ice[i]) {
                    worst_k = worst_k.max(apart);
                }
                worst_ice = worst_ice.max((ice - step.parts[i].ice_fraction).abs());
            }
        }
        let first_apart_s = (earliest(&run.ice_s) - earliest(&reference_ice)).abs();
        let worst_s = worst_time(&run.ice_s, &reference_ice, name);
        println!("{name}: {worst_k:.4} K, {worst_s:.0} s ({first_apart_s:.0} s to the first), ice {worst_ice:.4}");
        assert!(worst_k < 0.1, "{name}: {worst_k} K");
        assert!(worst_s < 600.0, "{name}: {worst_s} s");
        // Through a whole freeze and thaw. A step's coefficients stand still in the program, which costs a few percent of a
        // small part's water while it freezes or melts within the hour.
        assert!(worst_ice < 0.05, "{name}: ice {worst_ice}");
    }
}
