//! The kernel alone: nanoseconds per part, step and member, on one core.
//!
//! `cargo bench --bench freeze_kernel`

use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::members::Members;
use brimwater::freeze::run::WhatIf;
use brimwater::freeze::setup::Setup;
use brimwater::freeze::simulate::simulate;
use brimwater::freeze::spell::Spell;
use brimwater::inventory::{DeviceType, NominalSize};
use std::time::Instant;

#[path = "../tests/spells/mod.rs"]
mod spells;

fn main() {
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    let members = Members::new(256, 1, freeze.damage.strength_log_sd, &ensemble);
    for (name, minimum_f) in [
        ("never below freezing", 36.0),
        ("a quarter of members icy", 28.0),
        ("all members icy", 15.0),
    ] {
        let series = spells::clear_night(minimum_f);
        let Some(spell) = Spell::new(&series, &members, spells::start(), chrono_tz::UTC, &freeze, &ensemble) else {
            continue;
        };
        for (device, size) in [
            (DeviceType::Pvb, NominalSize::N1),
            (DeviceType::Rp, NominalSize::N1),
            (DeviceType::Rp, NominalSize::N8),
        ] {
            let assembly = spells::bare(device, size);
            let mut setup = Setup::new(&assembly, spell.day_of_year, WhatIf::AsListed, &freeze).for_ensemble(&freeze);
            // Every step counts here, also the warm ones.
            setup.coarse_when_warm = false;
            let steps = (spell.hours() as f64 * 3600.0 / setup.step_s).round();
            let work = steps * setup.net.parts.len() as f64 * members.count() as f64;
            let mut best = f64::INFINITY;
            for _ in 0..7 {
                let begin = Instant::now();
                let run = simulate(&setup, &spell, &members, 0.0, false);
                best = best.min(begin.elapsed().as_secs_f64());
                assert!(run.coldest_c.iter().all(|c| c.is_finite()));
            }
            println!(
                "{name}: {device} {}: {:.2} ns per part, step and member ({:.2} ms a case)",
                size.word(),
                best / work * 1e9,
                best * 1e3
            );
        }
    }
}
