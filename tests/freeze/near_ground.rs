//! Log law, near-ground air and wet metal where the case is set up: off unless the config turns them on, and each in the direction of its physics.

use crate::spells::{bare, clear_night, options, outlook_with, series};
use brimwater::freeze::WhatIf;
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::setup::Setup;
use brimwater::inventory::{DeviceType, NominalSize, Placement};
use brimwater::weather::{Kind, Series};

fn coldest(series: &Series, freeze: &FreezeConfig, placement: Placement) -> f64 {
    let mut rp = bare(DeviceType::Rp, NominalSize::N1);
    rp.placement = placement;
    outlook_with(&rp, series, &options(1), freeze, &EnsembleConfig::default())
        .coldest_water_c
        .p50
}

/// X-Val: the logarithmic profile of every textbook, over short grass (0.03 m): 0.4843 of the 10 m wind at 0.5 m, where the power of 1/7 has a third
/// more. Catches a roughness that the case does not use.
#[test]
fn the_wind_at_the_parts_follows_the_log_law_where_a_roughness_is_set() {
    let rp = bare(DeviceType::Rp, NominalSize::N1);
    let of = |roughness_m| {
        let config = FreezeConfig {
            roughness_m,
            ..FreezeConfig::default()
        };
        Setup::new(&rp, 15.0, WhatIf::AsListed, &config)
    };
    let (power, log) = (of(None), of(Some(0.03)));
    for (at, part) in log.net.parts.iter().enumerate() {
        let height = part.height_m.max(0.15);
        let expected = 0.6 * (height / 0.03).ln() / (10.0_f64 / 0.03).ln();
        assert!((log.wind_factor[at] - expected).abs() < 1e-12, "{}", part.name);
        assert!(log.wind_factor[at] < power.wind_factor[at]);
    }
}

/// X-Val: on calm, clear nights the grass is colder than the screen, under cloud, in wind and by day it is not (WMO guide no. 8); an indoor pipe knows
/// nothing of it. Catches a depression in the wrong hours or the wrong places.
#[test]
fn the_air_near_the_ground_is_colder_on_calm_clear_nights_only() {
    let grass = FreezeConfig {
        grass_depression_k: 4.0,
        ..FreezeConfig::default()
    };
    let plain = FreezeConfig::default();
    let night = |wind, cover| series(vec![2.0; 72], wind, 3.0, cover, Kind::Observed);
    let colder = |series: &Series, placement| coldest(series, &plain, placement) - coldest(series, &grass, placement);
    // At half a metre a third of it is left (logarithm of the height), and water lags.
    let calm = colder(&night(0.5, 0.0), Placement::Open);
    assert!(calm > 0.2 && calm < 0.6 * 4.0, "{calm}");
    assert_eq!(colder(&night(6.0, 0.0), Placement::Open), 0.0);
    assert_eq!(colder(&night(0.5, 1.0), Placement::Open), 0.0);
    assert_eq!(colder(&night(0.5, 0.0), Placement::Indoors), 0.0);
}

/// X-Val: wet metal goes toward the wet bulb: in air of 1 °C with a dew point of −7 °C that is about 2.5 K lower (psychrometric tables), so that water
/// freezes which dry metal would spare. Catches wetness that does nothing, or that warms.
#[test]
fn wet_metal_is_taken_toward_the_wet_bulb() {
    let wet = FreezeConfig {
        wet_metal: 1.0,
        ..FreezeConfig::default()
    };
    let damp = series(vec![1.0; 72], 4.0, 8.0, 1.0, Kind::Observed);
    let (dry, wet) = (
        coldest(&damp, &FreezeConfig::default(), Placement::Open),
        coldest(&damp, &wet, Placement::Open),
    );
    assert!(dry > 0.0 && wet <= 0.0, "{dry} {wet}");
}

/// Off, nothing moves by a bit.
#[test]
fn off_they_change_nothing() {
    let config = FreezeConfig::default();
    assert_eq!(
        (config.roughness_m, config.grass_depression_k, config.wet_metal),
        (None, 0.0, 0.0)
    );
    let night = clear_night(26.0);
    let zero = FreezeConfig {
        grass_depression_k: -0.0,
        ..FreezeConfig::default()
    };
    assert_eq!(
        coldest(&night, &config, Placement::Open),
        coldest(&night, &zero, Placement::Open)
    );
}
