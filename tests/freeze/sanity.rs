//! Hours to freezing of whole assemblies against the trade's own rough arithmetic.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::spells::bare;
use brimwater::freeze::config::FreezeConfig;
use brimwater::freeze::cooldown::{Conditions, Subject, cooldown};
use brimwater::inventory::{DeviceType, NominalSize};
use brimwater::units::c_from_f;

#[test]
fn cooling_times_stay_within_the_trades_sanity_band() {
    // X-Val: a lumped hand calculation from mid-band trade dimensions [estimate, not a publication]: 50 °F start, no ground, h 1.8 and
    // 5 Btu/h·ft²·°F, hours until bulk water is at 32 °F. Meant to catch gross errors, so a factor of 2 either way.
    let cases = [
        (DeviceType::Pvb, NominalSize::N1, [1.5, 0.8, 0.5, 0.3]),
        (DeviceType::Rp, NominalSize::N1, [1.5, 0.8, 0.5, 0.3]),
        (DeviceType::Rp, NominalSize::N2, [2.8, 1.5, 1.0, 0.5]),
        (DeviceType::Rp, NominalSize::N4, [6.0, 3.4, 2.3, 1.2]),
        (DeviceType::Rp, NominalSize::N8, [12.0, 6.0, 4.0, 2.2]),
    ];
    let at = [(28.0, 1.8), (20.0, 1.8), (28.0, 5.0), (20.0, 5.0)];
    for (device, size, hours) in cases {
        for ((air_f, film_us), expected) in at.into_iter().zip(hours) {
            let conditions = Conditions {
                air_c: c_from_f(air_f),
                start_c: 10.0,
                wind_m_s: 0.0,
                film_w_m2k: Some(film_us * 5.678_263),
                insulation: None,
                wrap_m2k_per_w: 0.0,
                ground_c: None,
                nucleation_c: 0.0,
                no_metal: false,
                no_film: false,
            };
            let mut subject = bare(device, size);
            subject.riser_height_m = 0.5;
            let answer = cooldown(&Subject::Assembly(&subject), &conditions, &FreezeConfig::default());
            let body = answer.parts.iter().find(|p| p.name.starts_with("body")).unwrap();
            let got = body.hours_to_freezing.unwrap();
            let ratio = got / expected;
            assert!(
                (0.5..2.0).contains(&ratio),
                "{device:?} {size:?} {air_f} °F h {film_us}: {got} h for {expected} h"
            );
        }
    }
}

#[test]
fn a_southern_july_is_a_northern_january() {
    // X-Val: the seasons of the hemispheres lie half a year apart (182.5 days); ground and supply water may not tell the two apart.
    use brimwater::freeze::WhatIf;
    use brimwater::freeze::setup::Setup;
    let config = FreezeConfig::default();
    let mut north = bare(DeviceType::Rp, NominalSize::N1);
    north.latitude_deg = Some(34.0);
    let mut south = north.clone();
    south.latitude_deg = Some(-34.0);
    for day in [0.0, 14.0, 45.0, 100.0] {
        let (there, here) = (
            Setup::new(&south, day + 182.5, WhatIf::AsListed, &config),
            Setup::new(&north, day, WhatIf::AsListed, &config),
        );
        assert!(!here.ground_c.is_empty());
        for (there, here) in there.ground_c.iter().zip(&here.ground_c) {
            assert!(
                (there - here).abs() < 0.05,
                "day {day}: {there} °C in the south, {here} °C in the north"
            );
        }
        assert!(
            (there.supply_c - here.supply_c).abs() < 0.3,
            "day {day}: {} and {}",
            there.supply_c,
            here.supply_c
        );
    }
    // A day that the config sets is taken as it is.
    let mut own = config.clone();
    own.climate.coldest_day = 200.0;
    let set = Setup::new(&south, 200.0, WhatIf::AsListed, &own);
    let shifted = Setup::new(&south, 28.0 + 182.5, WhatIf::AsListed, &config);
    assert!((set.ground_c[0] - shifted.ground_c[0]).abs() < 0.05);
}
