//! Single precision, in which many members run, against double precision, which is the reference: the same members of the same cases.
//!
//! What rounding can do: a number near 16 is kept to 2^-20, 1e-6 K. It is made anew in each of some 300 steps of a night, and a balance
//! forgets what came hours ago, so water stays within millikelvins; a member whose water comes within that of its nucleation temperature
//! may begin to freeze a step, or an hour of a flat night, apart. Members lie some 0.01 K from each other, so one in a few hundred may.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::spells::{bare, clear_night, series, start, two_nights};
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::kernel::{BlockResult, run_block_in, run_portable_in};
use brimwater::freeze::members::Members;
use brimwater::freeze::real::Real;
use brimwater::freeze::run::WhatIf;
use brimwater::freeze::setup::Setup;
use brimwater::freeze::simulate::block_of;
use brimwater::freeze::spell::Spell;
use brimwater::inventory::*;
use brimwater::units::M2K_PER_W_PER_R_US;
use brimwater::weather::{Kind, Series};
use proptest::prelude::*;

const W: usize = 16;

/// One block of a case in both precisions: single, double.
fn both(assembly: &Assembly, series: &Series, seed: u64) -> (BlockResult<W>, BlockResult<W>) {
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    let members = Members::new(W, seed, freeze.damage.strength_log_sd, &ensemble);
    let spell = Spell::new(series, &members, start(), chrono_tz::UTC, &freeze, &ensemble).unwrap();
    let setup = Setup::new(assembly, spell.day_of_year, WhatIf::AsListed, &freeze).for_ensemble(&freeze);
    let (weather, lanes) = block_of::<W>(&setup, &spell, &members, 0.0, 0);
    (
        run_block_in::<f32, W>(&setup, &weather, &lanes, true, None),
        run_block_in::<f64, W>(&setup, &weather, &lanes, true, None),
    )
}

fn broken(block: &BlockResult<W>, k: usize) -> bool {
    block.damage_s.iter().any(|part| part[k].is_finite())
}

fn ice(block: &BlockResult<W>, k: usize) -> bool {
    block.first_ice_s[k].is_finite()
}

/// How many members differ in damage, how many in ice, how many begin over a minute apart.
#[derive(Default)]
struct Apart {
    members: usize,
    iced: usize,
    broken: usize,
    damage: usize,
    ice: usize,
    begin: usize,
}

impl Apart {
    fn take(&mut self, single: &BlockResult<W>, double: &BlockResult<W>) {
        for k in 0..W {
            self.members += 1;
            self.iced += usize::from(ice(double, k));
            self.broken += usize::from(broken(double, k));
            self.damage += usize::from(broken(single, k) != broken(double, k));
            self.ice += usize::from(ice(single, k) != ice(double, k));
            let apart_s = (single.first_ice_s[k] - double.first_ice_s[k]).abs();
            self.begin += usize::from(apart_s.is_finite() && apart_s > 60.0);
        }
    }
}

/// An assembly of any kind in any place, with or without what protects it.
fn any_assembly() -> impl Strategy<Value = Assembly> {
    (
        prop::sample::select(DeviceType::ALL),
        prop::sample::select(vec![
            NominalSize::N0_75,
            NominalSize::N1,
            NominalSize::N2,
            NominalSize::N4,
            NominalSize::N10,
        ]),
        prop::sample::select(Placement::ALL),
        prop::sample::select(RiserMaterial::ALL),
        prop::sample::select(vec![0.0, 0.0, 1.0, 4.0]),
        prop::sample::select(vec![0.0, 0.0, 60.0]),
        any::<[bool; 2]>(),
    )
        .prop_map(|(device, size, placement, riser, r_us, trace_w, [drip, drawn])| {
            let mut a = bare(device, size);
            a.placement = placement;
            a.riser_material = riser;
            a.wrap_m2k_per_w = r_us * M2K_PER_W_PER_R_US;
            a.heat_trace_w = trace_w;
            a.freeze_drip = drip;
            if drawn {
                a.service = Service::Domestic;
                a.winter_use = WinterUse::InUse;
            }
            a
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    /// Of each member that froze in neither: its coldest water in the mean of the hours to 0.03 K and in every hour to 0.3 K, for mixing in a
    /// riser turns by the sign of a difference (nearly all within 0.001 K). A thermostat (drip device, heat trace, heater) may be on in the one and off in the other for
    /// a step or an hour, kelvins in a riser; there it is the mean to 0.5 K. Of the others at most one in the block may begin, or break,
    /// where the other does not.
    #[test]
    fn any_case_is_the_same_in_single_precision(
        a in any_assembly(), low in -18.0..1.0_f64, wind in 0.0..9.0_f64, cover in 0.0..1.0_f64, seed in 0_u64..1000,
    ) {
        let air = (0..60).map(|h| 6.0 + (low - 6.0) * (f64::from(h) * std::f64::consts::PI / 48.0).sin().abs());
        let (single, double) = both(&a, &series(air.collect(), wind, 4.0, cover, Kind::Observed), seed);
        let thermostat = a.freeze_drip || a.heat_trace_w > 0.0 || a.placement == Placement::HeatedEnclosure;
        let (mean_within_k, within_k) = if thermostat { (0.5, f64::INFINITY) } else { (0.03, 0.3) };
        for k in (0..W).filter(|k| !ice(&single, *k) && !ice(&double, *k)) {
            let hours = single.hour_coldest_c.iter().zip(&double.hour_coldest_c);
            let apart_k: Vec<f64> = hours.map(|(s, d)| (s[k] - d[k]).abs()).collect();
            let mean_k = apart_k.iter().sum::<f64>() / apart_k.len() as f64;
            let most_k = apart_k.iter().copied().fold(0.0, f64::max);
            prop_assert!(
                mean_k < mean_within_k && most_k < within_k,
                "member {k}: mean {mean_k} K, at most {most_k} K"
            );
        }
        let mut apart = Apart::default();
        apart.take(&single, &double);
        let begin = if thermostat { W / 2 } else { 2 };
        prop_assert!(
            apart.damage <= 1 && apart.ice <= 1 && apart.begin <= begin,
            "damage {}, ice {}, begin {}", apart.damage, apart.ice, apart.begin
        );
    }
}

/// Over many cases the odds are the same: of members that freeze or break, one in 500 may do otherwise.
#[test]
fn the_odds_are_the_same_in_single_precision() {
    let mut apart = Apart::default();
    for (at, series) in [
        clear_night(26.0),
        clear_night(20.0),
        two_nights(24.0, 6.0),
        two_nights(12.0, 8.0),
    ]
    .iter()
    .enumerate()
    {
        for device in DeviceType::ALL {
            for size in [NominalSize::N0_75, NominalSize::N1, NominalSize::N2, NominalSize::N6] {
                for drip in [false, true] {
                    let mut a = bare(*device, size);
                    a.freeze_drip = drip;
                    for seed in 0..4 {
                        let (single, double) = both(&a, series, 10 * at as u64 + seed);
                        apart.take(&single, &double);
                    }
                }
            }
        }
    }
    println!(
        "{} members, {} with ice, {} broken; other damage {}, other ice {}, first ice over a minute apart {}",
        apart.members, apart.iced, apart.broken, apart.damage, apart.ice, apart.begin
    );
    assert!(
        apart.iced > 2000 && apart.broken > 500,
        "{} {}",
        apart.iced,
        apart.broken
    );
    assert!(apart.damage * 500 <= apart.members, "{}", apart.damage);
    assert!(apart.ice * 500 <= apart.members, "{}", apart.ice);
    assert!(apart.begin * 200 <= apart.iced, "{}", apart.begin);
}

/// Lanes and instructions change no bit in either precision, also where a member thaws between two nights while its neighbours keep ice.
#[test]
fn lanes_and_instructions_do_not_change_a_bit_in_either_precision() {
    alone_as_together::<f32>();
    alone_as_together::<f64>();
}

fn alone_as_together<F: Real>() {
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    let members = Members::new(24, 7, freeze.damage.strength_log_sd, &ensemble);
    let mut broken_later = 0;
    for (series, size) in [
        (clear_night(22.0), NominalSize::N1),
        (two_nights(20.0, 8.0), NominalSize::N0_75),
        (two_nights(20.0, 8.0), NominalSize::N2),
    ] {
        let spell = Spell::new(&series, &members, start(), chrono_tz::UTC, &freeze, &ensemble).unwrap();
        for drip in [false, true] {
            let mut a = bare(DeviceType::Rp, size);
            a.freeze_drip = drip;
            let setup = Setup::new(&a, spell.day_of_year, WhatIf::AsListed, &freeze);
            let (weather, lanes) = block_of::<8>(&setup, &spell, &members, 0.0, 8);
            let fast = run_block_in::<F, 8>(&setup, &weather, &lanes, true, None);
            let plain = run_portable_in::<F, 8>(&setup, &weather, &lanes, true, None);
            assert_eq!(format!("{fast:?}"), format!("{plain:?}"));
            for k in 0..8 {
                let (weather, lanes) = block_of::<1>(&setup, &spell, &members, 0.0, 8 + k);
                let alone = run_block_in::<F, 1>(&setup, &weather, &lanes, true, None);
                assert_eq!(alone.coldest_c[0].to_bits(), fast.coldest_c[k].to_bits());
                assert_eq!(alone.first_ice_s[0].to_bits(), fast.first_ice_s[k].to_bits());
                for (a, b) in alone.damage_s.iter().zip(&fast.damage_s) {
                    assert_eq!(a[0].to_bits(), b[k].to_bits());
                    broken_later += usize::from(b[k].is_finite() && b[k] > fast.first_ice_s[k] + 18.0 * 3600.0);
                }
            }
        }
    }
    assert!(broken_later > 0, "nothing broke in a second night");
}
