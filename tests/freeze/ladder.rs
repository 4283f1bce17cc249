//! The ladder of experience: single clear nights of falling minima and what breaks on them.
//!
//! Common practice, no source: the trade sees many bare assemblies ride out nights of 28 °F and break on nights of 22 °F;
//! a wrap moves that by several degrees; large iron takes two nights. The bounds are those words as numbers (small under
//! 25 %, a minority under 50 %, more likely than not above 50 %, near certain above 95 %).
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::spells::{bare, clear_night, options, outlook, two_nights};
use brimwater::inventory::{Assembly, DeviceType, NominalSize, WindExposure};
use brimwater::units::M2K_PER_W_PER_R_US;
use brimwater::weather::Series;

const MINIMA_F: [f64; 7] = [30.0, 28.0, 26.0, 24.0, 22.0, 20.0, 15.0];

fn chance(assembly: &Assembly, series: &Series) -> f64 {
    outlook(assembly, series, &options(256)).p_damage.unwrap()
}

fn ladder(assembly: &Assembly) -> Vec<f64> {
    MINIMA_F
        .iter()
        .map(|minimum| chance(assembly, &clear_night(*minimum)))
        .collect()
}

#[test]
fn bare_idle_one_inch_assemblies_follow_the_ladder() {
    for device in [DeviceType::Pvb, DeviceType::Rp] {
        let p = ladder(&bare(device, NominalSize::N1));
        assert!(p[0] < 0.25, "{device} 30 °F: {p:?}");
        assert!(p[1] > 0.02 && p[1] < 0.5, "{device} 28 °F: {p:?}");
        assert!(p[4] > 0.5, "{device} 22 °F: {p:?}");
        assert!(p[6] > 0.95, "{device} 15 °F: {p:?}");
        assert!(
            p.windows(2).all(|pair| pair[1] >= pair[0]),
            "{device} falls with the minimum: {p:?}"
        );
    }
}

#[test]
fn a_wrap_lags_by_several_degrees() {
    for device in [DeviceType::Pvb, DeviceType::Rp] {
        let mut wrapped = bare(device, NominalSize::N1);
        // Towels and a tarp, R about 1.5 (common practice).
        wrapped.wrap_m2k_per_w = 1.5 * M2K_PER_W_PER_R_US;
        let (bare, wrapped) = (ladder(&bare(device, NominalSize::N1)), ladder(&wrapped));
        // At 22 °F the wrapped one stands where the bare one stood four degrees warmer, or better.
        assert!(wrapped[4] <= bare[2], "{device}: {wrapped:?} {bare:?}");
        assert!(
            wrapped.iter().zip(&bare).all(|(w, b)| w <= b),
            "{device}: {wrapped:?} {bare:?}"
        );
    }
}

#[test]
fn the_body_of_large_iron_needs_two_nights() {
    let large = bare(DeviceType::Rp, NominalSize::N8);
    let body = |series: &Series| {
        outlook(&large, series, &options(256))
            .parts
            .iter()
            .find(|p| p.name == "body between checks")
            .unwrap()
            .p_damage
            .unwrap()
    };
    let (one, two) = (body(&clear_night(22.0)), body(&two_nights(22.0, 2.0)));
    assert!(one < 0.1, "one night: {one}");
    assert!(two > one + 0.2, "two nights: {two}, one: {one}");
}

/// A wall hides sky. X-Val: the view of a wall that ends at 45° from a pipe along it is 1/8 by crossed strings (Incropera, table 13.1).
/// Catches shelter that cuts the wind and not the sky.
#[test]
fn shelter_does_not_make_a_clear_calm_night_colder() {
    let chance_at = |exposure| {
        let mut rp = bare(DeviceType::Rp, NominalSize::N1);
        rp.wind_exposure = exposure;
        outlook(&rp, &clear_night(25.0), &options(256)).p_ice.unwrap()
    };
    let (open, partial, sheltered) = (
        chance_at(WindExposure::Open),
        chance_at(WindExposure::Partial),
        chance_at(WindExposure::Sheltered),
    );
    assert!(
        sheltered <= open + 0.01 && partial <= open + 0.05,
        "{open} {partial} {sheltered}"
    );
}

/// The table of the README, cell by cell; what it should say: `cargo test --release --test freeze the_table -- --nocapture`.
#[test]
fn the_table_of_the_readme_is_what_the_model_says() {
    let readme = include_str!("../../README.md");
    let mut missing = Vec::new();
    println!("| assembly (bare, idle, partial shelter) | 30 °F | 28 | 26 | 24 | 22 | 20 | 15 | two nights 22 |");
    println!("|---|---|---|---|---|---|---|---|---|");
    for (device, size, r_us) in [
        (DeviceType::Pvb, NominalSize::N1, 0.0),
        (DeviceType::Pvb, NominalSize::N1, 1.5),
        (DeviceType::Svb, NominalSize::N0_75, 0.0),
        (DeviceType::Avb, NominalSize::N1, 0.0),
        (DeviceType::Rp, NominalSize::N1, 0.0),
        (DeviceType::Rp, NominalSize::N1, 1.5),
        (DeviceType::Rp, NominalSize::N2, 0.0),
        (DeviceType::Dc, NominalSize::N1, 0.0),
        (DeviceType::Dc, NominalSize::N2, 0.0),
        (DeviceType::Dcda, NominalSize::N6, 0.0),
        (DeviceType::Rpda, NominalSize::N6, 0.0),
        (DeviceType::Rp, NominalSize::N4, 0.0),
        (DeviceType::Rp, NominalSize::N8, 0.0),
    ] {
        let mut assembly = bare(device, size);
        assembly.wrap_m2k_per_w = r_us * M2K_PER_W_PER_R_US;
        let p = ladder(&assembly);
        let two = chance(&assembly, &two_nights(22.0, 2.0));
        let cells: Vec<String> = p.iter().chain([&two]).map(|p| format!("{:.0} %", 100.0 * p)).collect();
        let wrap = if r_us > 0.0 {
            format!(", R-{r_us} wrap")
        } else {
            String::new()
        };
        let row = format!("| {} in {device}{wrap} | {} |", size.word(), cells.join(" | "));
        println!("{row}");
        if !readme.contains(&row) {
            missing.push(row);
        }
        assert!(
            p.windows(2).all(|pair| pair[1] >= pair[0] - 0.01),
            "{device} {}: {p:?}",
            size.word()
        );
    }
    assert!(missing.is_empty(), "the README says otherwise of {missing:#?}");
}
