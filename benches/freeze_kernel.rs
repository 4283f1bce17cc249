//! The kernel alone: nanoseconds per part, step and member, on one core, for each set of instructions.
//!
//! `cargo bench --bench freeze_kernel`, or with `-- --export FILE` to write the inputs and answers of one case for the peer
//! in `benches/numpy_peer.py`, or with `-- --count RUNS` to do nothing but that many runs of one case, for counting what they take:
//! `valgrind --tool=cachegrind --cache-sim=yes --branch-sim=yes target/release/deps/freeze_kernel-… --count 4`, once with 4
//! and once with 8, so that the difference is the kernel's alone.
#![allow(clippy::unwrap_used, missing_docs)]

use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::kernel::{run_block, run_block_in, run_portable_in};
use brimwater::freeze::members::Members;
use brimwater::freeze::run::WhatIf;
use brimwater::freeze::setup::Setup;
use brimwater::freeze::simulate::{LANES, Many, block_of, simulate};
use brimwater::freeze::spell::Spell;
use brimwater::inventory::{DeviceType, NominalSize};
use serde_json::json;
use std::time::Instant;

#[path = "../tests/support/spells/mod.rs"]
mod spells;

/// A case of the bench; every step counts, also the warm ones.
fn case(
    device: DeviceType,
    size: NominalSize,
    minimum_f: f64,
    freeze: &FreezeConfig,
    members: &Members,
) -> (Setup, Spell) {
    let series = spells::clear_night(minimum_f);
    let spell = Spell::new(
        &series,
        members,
        spells::start(),
        chrono_tz::UTC,
        freeze,
        &EnsembleConfig::default(),
    )
    .unwrap();
    let mut setup =
        Setup::new(&spells::bare(device, size), spell.day_of_year, WhatIf::AsListed, freeze).for_ensemble(freeze);
    setup.coarse_when_warm = false;
    (setup, spell)
}

fn best_of<T>(runs: usize, mut work: impl FnMut() -> T) -> f64 {
    (0..runs)
        .map(|_| {
            let begin = Instant::now();
            std::hint::black_box(work());
            begin.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

fn main() {
    let freeze = FreezeConfig::default();
    let members = Members::new(256, 1, freeze.damage.strength_log_sd, &EnsembleConfig::default());
    let args: Vec<String> = std::env::args().collect();
    if let Some(at) = args.iter().position(|a| a == "--export") {
        export(
            args.get(at + 1).map_or("kernel.json", String::as_str),
            &freeze,
            &members,
        );
        return;
    }
    if let Some(at) = args.iter().position(|a| a == "--count") {
        let runs: usize = args.get(at + 1).and_then(|n| n.parse().ok()).unwrap_or(1);
        let minimum_f: f64 = args.get(at + 2).and_then(|n| n.parse().ok()).unwrap_or(28.0);
        let (setup, spell) = case(DeviceType::Rp, NominalSize::N1, minimum_f, &freeze, &members);
        let steps = (spell.hours() as f64 * 3600.0 / setup.step_s).round() as usize;
        for _ in 0..runs {
            std::hint::black_box(simulate(&setup, &spell, &members, 0.0, false));
        }
        println!(
            "{} parts, steps and members a run",
            steps * setup.net.parts.len() * members.count()
        );
        return;
    }
    for (name, minimum_f) in [
        ("never below freezing", 36.0),
        ("a fifth of the members icy", 28.0),
        ("all members icy", 15.0),
    ] {
        for (device, size) in [
            (DeviceType::Pvb, NominalSize::N1),
            (DeviceType::Rp, NominalSize::N1),
            (DeviceType::Rp, NominalSize::N8),
        ] {
            let (setup, spell) = case(device, size, minimum_f, &freeze, &members);
            let steps = (spell.hours() as f64 * 3600.0 / setup.step_s).round();
            let work = steps * setup.net.parts.len() as f64;
            let whole = best_of(9, || simulate(&setup, &spell, &members, 0.0, false));
            let (weather, lanes) = block_of::<LANES>(&setup, &spell, &members, 0.0, 0);
            let fast = best_of(9, || run_block_in::<Many, LANES>(&setup, &weather, &lanes, false, None));
            let double = best_of(9, || run_block::<LANES>(&setup, &weather, &lanes, false, None));
            let plain = best_of(9, || {
                run_portable_in::<Many, LANES>(&setup, &weather, &lanes, false, None)
            });
            println!(
                "{name}, {} in {device}: {:.2} ns per part, step and member with everything; kernel {:.2} with vector dispatch, {:.2} without (ratio {:.2}), {:.2} in doubles (ratio {:.2})",
                size.word(),
                whole / (work * members.count() as f64) * 1e9,
                fast / (work * LANES as f64) * 1e9,
                plain / (work * LANES as f64) * 1e9,
                plain / fast,
                double / (work * LANES as f64) * 1e9,
                double / fast,
            );
        }
    }
}

/// One case as JSON: all inputs of the kernel, its answers and its time.
fn export(path: &str, freeze: &FreezeConfig, members: &Members) {
    let (setup, spell) = case(DeviceType::Rp, NominalSize::N1, 24.0, freeze, members);
    // The answers in doubles, as the peer has them; the time as a plan runs it.
    let order = spell.order_of(members.count());
    let (mut first_ice_s, mut coldest_c) = (vec![0.0; order.len()], vec![0.0; order.len()]);
    for (chunk, members_of_it) in order.chunks(LANES).enumerate() {
        let (weather, lanes) = block_of::<LANES>(&setup, &spell, members, 0.0, chunk * LANES);
        let block = run_block::<LANES>(&setup, &weather, &lanes, false, None);
        for (k, &member) in members_of_it.iter().enumerate() {
            first_ice_s[member] = block.first_ice_s[k];
            coldest_c[member] = block.coldest_c[k];
        }
    }
    let seconds = best_of(9, || simulate(&setup, &spell, members, 0.0, false));
    let net = &setup.net;
    let air: Vec<Vec<f64>> = (0..=spell.hours())
        .map(|hour| {
            spell
                .node(hour)
                .iter()
                .zip(&members.site_k)
                .map(|(air, site)| air + site)
                .collect()
        })
        .collect();
    let document = json!({
        "parts": net.parts.iter().map(|p| json!({
            "name": p.name, "water_kg": p.water_kg, "metal_j_per_k": p.metal_j_per_k, "area_m2": p.outside_area_m2,
            "insulation_m2k_per_w": p.insulation_m2k_per_w, "bore_m": p.bore_m,
        })).collect::<Vec<_>>(),
        "chain": net.chain,
        "links": net.links.iter().map(|l| json!({
            "a": l.a, "b": l.b, "g": l.conductance_w_per_k, "mixing": l.mixing_w_per_k2, "a_is_lower": l.a_is_lower,
        })).collect::<Vec<_>>(),
        "ground": net.ground.iter().zip(&setup.ground_c).map(|(l, t)| json!({
            "part": l.part, "g": l.conductance_w_per_k, "mixing": l.mixing_w_per_k2, "t": t,
        })).collect::<Vec<_>>(),
        "films": setup.films.iter().map(|f| {
            let (at_rest, points, differences, free_a, free_b) = f.constants();
            json!({ "at_rest": at_rest, "points": points, "differences": differences, "free_a": free_a, "free_b": free_b })
        }).collect::<Vec<_>>(),
        "film_of": setup.film_of,
        "wind_factor": setup.wind_factor,
        "emissivity": setup.emissivity,
        "sky_view": setup.sky_view,
        "step_s": setup.step_s,
        "air_c": air,
        "wind_m_s": spell.wind_m_s,
        "sky_ratio": (0..spell.hours()).map(|hour| spell.sky(hour)[0]).collect::<Vec<f64>>(),
        "shelter": members.shelter,
        "nucleation_c": members.nucleation_c,
        "answer": { "first_ice_s": first_ice_s.iter().map(|t| t.is_finite().then_some(*t)).collect::<Vec<_>>(), "coldest_c": coldest_c },
        "seconds": seconds,
    });
    std::fs::write(path, document.to_string()).unwrap();
    println!("wrote {path}");
}
