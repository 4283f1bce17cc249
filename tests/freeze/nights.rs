//! What of a night's loss was ice before it: told where days stay frozen, and nowhere where they thaw.

use crate::spells;
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::{Outlook, Place, RunOptions, WhatIf, outlooks};
use brimwater::inventory::{DeviceType, NominalSize};
use brimwater::weather::Kind;
use chrono::TimeDelta;
use std::sync::Arc;

/// Four nights from 8 pm to 6 am, of −4, −6, −8 and −10 °C; from 8 am to 6 pm it is this warm, on the first day 12 °C.
fn outlook(device: DeviceType, size: NominalSize, day_c: f64) -> Arc<Outlook> {
    let air = (0..24 * 4 + 12)
        .map(|hour| {
            // Hours since noon.
            let warm = if hour < 6 { 12.0 } else { day_c };
            let cold = -4.0 - 2.0 * f64::from(hour / 24).min(3.0);
            match hour % 24 {
                0..=5 | 20.. => warm,
                6 | 7 | 19 => f64::midpoint(warm, cold),
                _ => cold,
            }
        })
        .collect();
    let series = spells::series(air, 3.0, 3.0, 0.5, Kind::Observed);
    let assembly = spells::bare(device, size);
    let options = RunOptions {
        members: 64,
        seed: 1,
        now: spells::start(),
        reported_until: spells::start(),
        zone: chrono_tz::UTC,
        what_if: WhatIf::AsListed,
        advice: false,
        advice_cases: 0,
        trace: false,
        regions: None,
    };
    let place = Place {
        assembly: &assembly,
        series: 0,
        offset_k: 0.0,
    };
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    outlooks(&[place], &[series], &options, &freeze, &ensemble, &|_| {}).0[0].clone()
}

/// A wrong program calls ice what has thawed since, or water what has stood frozen for days.
///
/// X-Val: by hand. Half a kilogram of water in a small bare body takes 334 kJ/kg × 0.5 kg = 167 kJ to melt; in air of 12 °C its tenth of a
/// square metre takes in some 10 W/m²K × 0.1 m² × 12 K = 12 W, so 4 h of the day's 10 melt all of it. The seven kilograms of a large body need
/// 2.3 MJ to freeze and lose some 10 W/m²K × 0.5 m² × 8 K = 40 W: 16 h, more than one night, and in air of −3 °C no ice melts between.
#[test]
fn ice_of_the_night_before_is_told_where_days_stay_frozen_and_nowhere_where_they_thaw() {
    for (device, size) in [
        (DeviceType::Rp, NominalSize::N0_75),
        (DeviceType::Pvb, NominalSize::N1),
        (DeviceType::Dc, NominalSize::N1),
    ] {
        let thawed = outlook(device, size, 12.0);
        assert!(!thawed.nights.is_empty(), "{device:?}");
        for night in &thawed.nights {
            assert!(night.iced_before.is_empty(), "{device:?}: {night:?}");
        }
    }
    for (device, size) in [
        (DeviceType::Rp, NominalSize::N3),
        (DeviceType::Dc, NominalSize::N4),
        (DeviceType::Rp, NominalSize::N4),
    ] {
        let frozen = outlook(device, size, -3.0);
        let mut iced_usd = 0.0;
        for night in &frozen.nights {
            let noon = spells::start() + TimeDelta::days((night.ice_early - spells::start()).num_days());
            let sum: f64 = night.iced_before.iter().map(|iced| iced.repair_usd).sum();
            assert!(sum <= night.repair_usd + 1e-9, "{device:?}: {night:?}");
            for iced in &night.iced_before {
                assert!(
                    iced.since < noon && iced.since > spells::start(),
                    "{device:?}: {night:?}"
                );
            }
            iced_usd += sum;
        }
        assert!(iced_usd > 0.0, "{device:?} {size:?}: {:#?}", frozen.nights);
    }
}
