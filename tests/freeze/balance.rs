//! Energy that flows into every kind of part is energy stored in it; and a shorter step changes the answer little.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::spells::{airport, bare};
use brimwater::freeze::WhatIf;
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::members::Members;
use brimwater::freeze::setup::Setup;
use brimwater::freeze::simulate::simulate_recorded;
use brimwater::freeze::spell::Spell;
use brimwater::inventory::{Assembly, DeviceType, NominalSize, Placement, RiserMaterial, Service, WinterUse};
use brimwater::weather::Series;
use std::collections::BTreeSet;

/// Every device, and every way in which heat can come or go, each at least once.
fn cases() -> Vec<(&'static str, Assembly)> {
    let served = |mut a: Assembly| {
        a.service = Service::Domestic;
        a.winter_use = WinterUse::InUse;
        a
    };
    let with = |mut a: Assembly, change: &dyn Fn(&mut Assembly)| {
        change(&mut a);
        a
    };
    let rp = || bare(DeviceType::Rp, NominalSize::N1);
    vec![
        ("bare 1 in RP", rp()),
        ("bare 3/4 in DC", bare(DeviceType::Dc, NominalSize::N0_75)),
        ("bare 2 in PVB", bare(DeviceType::Pvb, NominalSize::N2)),
        ("bare 1 in SVB", bare(DeviceType::Svb, NominalSize::N1)),
        ("bare 1/2 in AVB", bare(DeviceType::Avb, NominalSize::N0_5)),
        ("bare 4 in RPDA", bare(DeviceType::Rpda, NominalSize::N4)),
        ("bare 6 in DCDA", bare(DeviceType::Dcda, NominalSize::N6)),
        ("PVC risers", with(rp(), &|a| a.riser_material = RiserMaterial::Pvc)),
        ("wrapped", with(rp(), &|a| a.wrap_m2k_per_w = 0.7)),
        ("under a cover", with(rp(), &|a| a.placement = Placement::Cover)),
        (
            "in an enclosure",
            with(rp(), &|a| a.placement = Placement::InsulatedEnclosure),
        ),
        (
            "in a heated enclosure",
            with(rp(), &|a| a.placement = Placement::HeatedEnclosure),
        ),
        ("in a vault", with(rp(), &|a| a.placement = Placement::Vault)),
        ("heat trace", with(rp(), &|a| a.heat_trace_w = 20.0)),
        ("drip", with(served(rp()), &|a| a.freeze_drip = true)),
        ("drawn from", served(bare(DeviceType::Dc, NominalSize::N1_5))),
    ]
}

fn setup(assembly: &Assembly, spell: &Spell, config: &FreezeConfig) -> Setup {
    Setup::new(assembly, spell.day_of_year, WhatIf::AsListed, config)
}

fn spell(series: &Series, members: &Members, config: &FreezeConfig) -> Spell {
    Spell::new(
        series,
        members,
        series.start,
        chrono_tz::UTC,
        config,
        &EnsembleConfig::default(),
    )
    .unwrap()
}

/// Handbook heats, typed here and not taken from the program: latent J/kg, water and ice J/(kg·K).
const LATENT_J_KG: f64 = 333_550.0;
const WATER_J_KGK: f64 = 4217.6;
const ICE_J_KGK: f64 = 2100.0;

#[test]
fn heat_in_is_heat_stored_at_every_step_for_every_part() {
    // X-Val: the first law of thermodynamics. The stored side is computed here from temperature and ice alone with handbook heats; the other
    // side is the sum of the fluxes. 1e-9 of the heat that passed, and 1e-9 J for parts in balance.
    let config = FreezeConfig::default();
    let series = airport("jfk_spell.csv");
    let members = Members::deterministic();
    let spell = spell(&series, &members, &config);
    let (mut kinds, mut froze, mut dripped, mut solid) = (BTreeSet::new(), 0, 0, 0);
    for (name, assembly) in cases() {
        let setup = setup(&assembly, &spell, &config);
        let (_, steps) = simulate_recorded(&setup, &spell, &members, 0.0);
        let stored = |i: usize, t: f64, ice_fraction: f64| {
            let part = &setup.net.parts[i];
            let ice = ice_fraction * part.water_kg;
            let water = part.water_kg - ice;
            part.metal_j_per_k * t + WATER_J_KGK * water * t + ICE_J_KGK * ice * t - LATENT_J_KG * ice
        };
        for pair in steps.windows(2) {
            for i in 0..setup.net.parts.len() {
                let (before, after) = (&pair[0].parts[i], &pair[1].parts[i]);
                let change =
                    stored(i, after.water_c, after.ice_fraction) - stored(i, before.water_c, before.ice_fraction);
                let miss = (change - pair[0].gained_j[i]).abs();
                let allowed = 1e-9 * pair[0].throughput_j[i] + 1e-9;
                // The stored side is a difference of numbers up to 1e6 J: its own rounding is 1e-16 of those.
                let rounding = 4e-16 * stored(i, after.water_c, after.ice_fraction).abs();
                assert!(
                    miss <= allowed + rounding,
                    "{name}: {} at {} s: {miss} J of {} J",
                    setup.net.parts[i].name,
                    pair[0].time_s,
                    pair[0].throughput_j[i]
                );
                froze += usize::from(after.ice_fraction > 0.0 && before.ice_fraction == 0.0);
                solid += usize::from(after.ice_fraction >= 1.0 && before.ice_fraction < 1.0);
            }
            dripped += usize::from(pair[0].drip_j_per_k > 0.0);
        }
        kinds.extend(setup.net.parts.iter().map(|p| p.kind));
    }
    // The check has been through what it claims: all kinds of part but the plain pipe, freezing, freezing solid, the drip.
    assert_eq!(kinds.len(), 10, "{kinds:?}");
    assert!(froze > 50 && solid > 10 && dripped > 100, "{froze} {solid} {dripped}");
}

#[test]
fn halving_the_step_moves_first_ice_by_less_than_two_minutes() {
    let series = airport("jfk_spell.csv");
    let members = Members::deterministic();
    let mut iced = 0;
    for (name, assembly) in cases() {
        let at = |step_s: f64| {
            let config = FreezeConfig {
                step_s,
                ..FreezeConfig::default()
            };
            let spell = spell(&series, &members, &config);
            let (all, _) = simulate_recorded(&setup(&assembly, &spell, &config), &spell, &members, 0.0);
            all.first_ice_s[0]
        };
        let (coarse, fine) = (at(300.0), at(150.0));
        assert_eq!(coarse.is_finite(), fine.is_finite(), "{name}");
        if coarse.is_finite() {
            iced += 1;
            println!("{name}: {:.0} s", (coarse - fine).abs());
            assert!((coarse - fine).abs() < 120.0, "{name}: {coarse} s and {fine} s");
        }
    }
    assert!(iced >= 8, "only {iced} cases freeze");
}

#[test]
fn a_part_that_freezes_through_does_not_shoot_past_its_balance() {
    // X-Val: heat flows down a temperature difference, so a small part that has no water left settles toward its surroundings and does not
    // come back up by kelvins in the next five minutes. (A step that lets the last water take a whole step's heat at the rate of 0 °C did
    // so by 7 K.) 1.5 K: the scheme itself overshoots by a fifth of a sudden difference when a part is much faster than the step.
    let config = FreezeConfig::default();
    let series = airport("jfk_spell.csv");
    let members = Members::deterministic();
    let spell = spell(&series, &members, &config);
    let (mut turned_solid, mut worst) = (0, (0.0, String::new()));
    for (name, assembly) in cases() {
        let setup = setup(&assembly, &spell, &config);
        let (_, steps) = simulate_recorded(&setup, &spell, &members, 0.0);
        for three in steps.windows(3) {
            for (i, part) in setup.net.parts.iter().enumerate() {
                let at = |step: usize| three[step].parts[i];
                if at(0).ice_fraction < 1.0 && at(1).ice_fraction >= 1.0 {
                    turned_solid += 1;
                    let back_k = at(2).water_c - at(1).water_c;
                    if back_k > worst.0 {
                        worst = (back_k, format!("{name}: {} at {} s", part.name, three[1].time_s));
                    }
                }
            }
        }
    }
    println!("{turned_solid} times solid, at most {:.3} K back: {}", worst.0, worst.1);
    assert!(turned_solid > 20, "{turned_solid}");
    assert!(worst.0 < 1.5, "{} K: {}", worst.0, worst.1);
}
