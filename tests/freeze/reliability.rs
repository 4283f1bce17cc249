//! Stated chances against what happens: scores against worked values, and reliability with a truth drawn from the
//! stated error model.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::spells::{bare, clear_night, start};
use approx::assert_relative_eq;
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::members::Members;
use brimwater::freeze::run::WhatIf;
use brimwater::freeze::setup::Setup;
use brimwater::freeze::simulate::simulate;
use brimwater::freeze::spell::Spell;
use brimwater::freeze::summary::damaged_share;
use brimwater::freeze::verification::{brier, crps, pinball};
use brimwater::inventory::{DeviceType, NominalSize};
use brimwater::weather::Kind;

/// X-Val: worked values of the design references, weather section 8; Brier and AUC also by scikit-learn 1.9.1, CRPS by
/// properscoring 0.1. Exact arithmetic but for rounding.
#[test]
fn scores_equal_the_worked_values() {
    let p = [0.0, 0.1, 0.1, 0.3, 0.3, 0.3, 0.7, 0.7, 0.9, 1.0];
    let o = [0, 0, 1, 0, 0, 1, 1, 0, 1, 1].map(|x| x == 1);
    let b = brier(&p, &o).unwrap();
    assert_relative_eq!(b.score, 0.208, epsilon = 1e-12);
    assert_relative_eq!(b.reliability, 0.041_333_3, epsilon = 1e-7);
    assert_relative_eq!(b.resolution, 0.083_333_3, epsilon = 1e-7);
    assert_relative_eq!(b.uncertainty, 0.25, epsilon = 1e-12);
    assert_relative_eq!(b.score, b.reliability - b.resolution + b.uncertainty, epsilon = 1e-12);
    assert_relative_eq!(b.skill().unwrap(), 0.168, epsilon = 1e-12);
    let members = [-8.0, -6.5, -5.0, -4.0, -1.0];
    assert_relative_eq!(crps(&members, -7.2, false).unwrap(), 1.3, epsilon = 1e-12);
    assert_relative_eq!(crps(&members, -7.2, true).unwrap(), 0.97, epsilon = 1e-12);
    let losses: Vec<f64> = [(-8.0, 0.1), (-6.5, 0.25), (-5.0, 0.5), (-4.0, 0.75), (-2.5, 0.9)]
        .iter()
        .map(|(x, q)| pinball(*x, *q, -7.2))
        .collect();
    for (loss, want) in losses.iter().zip([0.08, 0.525, 1.1, 0.8, 0.47]) {
        assert_relative_eq!(*loss, want, epsilon = 1e-12);
    }
    assert_relative_eq!(losses.iter().sum::<f64>() / 5.0, 0.595, epsilon = 1e-12);
}

/// Counter-based uniform numbers (SplitMix64, Steele et al. 2014): the truth must not share the members' points.
fn uniform(seed: u64, member: u32, dimension: u32) -> f64 {
    let mut z = seed ^ (u64::from(member) << 32 | u64::from(dimension)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    for _ in 0..2 {
        z = z.wrapping_add(0x9E37_79B9_7F4A_7C15);
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^= z >> 31;
    }
    (z >> 11) as f64 / (1u64 << 53) as f64
}

/// 20,000 synthetic spells: 200 forecasts, each followed by 100 truths drawn from the stated error model. No archive of
/// forecasts with what followed is at hand, so this shows that the chances mean what they say under the stated errors,
/// not that the stated errors are right.
#[test]
fn stated_chances_come_true_as_often_as_stated() {
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    let members = Members::new(256, 1, freeze.damage.strength_log_sd, &ensemble);
    let assembly = bare(DeviceType::Pvb, NominalSize::N1);
    let mut bins = [(0.0_f64, 0.0_f64, 0.0_f64); 10];
    let mut pairs = (Vec::new(), Vec::new());
    for forecast in 0..200_u64 {
        let minimum_f = 12.0 + 24.0 * (forecast as f64 + 0.5) / 200.0;
        let mut series = clear_night(minimum_f);
        series.kind.fill(Kind::Forecast);
        let case = |members: &Members| {
            let spell = Spell::new(&series, members, start(), chrono_tz::UTC, &freeze, &ensemble).unwrap();
            let setup = Setup::new(&assembly, spell.day_of_year, WhatIf::AsListed, &freeze).for_ensemble(&freeze);
            simulate(&setup, &spell, members, 0.0, false)
        };
        let stated = damaged_share(&case(&members));
        let truth = Members::from_uniform(100, freeze.damage.strength_log_sd, &ensemble, &|m, d| {
            uniform(forecast + 1, m, d)
        });
        let run = case(&truth);
        let bin = &mut bins[((stated * 10.0) as usize).min(9)];
        for m in 0..100 {
            let broke = run.damage_s.iter().any(|part| part[m].is_finite());
            bin.0 += 1.0;
            bin.1 += stated;
            bin.2 += if broke { 1.0 } else { 0.0 };
            pairs.0.push(stated);
            pairs.1.push(broke);
        }
    }
    assert_eq!(pairs.0.len(), 20_000);
    let mut filled = 0;
    for (count, stated, seen) in bins {
        if count < 300.0 {
            continue;
        }
        filled += 1;
        let (stated, seen) = (stated / count, seen / count);
        // Binomial bounds at 3.5 standard deviations, and 1/128 for the finite number of members behind a stated chance.
        let bound = 3.5 * (stated * (1.0 - stated) / count).sqrt() + 1.0 / 128.0;
        assert!(
            (stated - seen).abs() <= bound,
            "stated {stated:.3}, seen {seen:.3} of {count}, bound {bound:.3}"
        );
    }
    assert!(filled >= 8, "the forecasts must reach most bins: {filled}");
    let score = brier(&pairs.0, &pairs.1).unwrap();
    assert!(score.skill().unwrap() > 0.2, "{score:?}");
    assert!(score.reliability < 0.002, "{score:?}");
}

/// The standard error of the chance falls faster than that of independent draws.
#[test]
fn quasi_random_members_converge_faster_than_independent_ones() {
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    let series = clear_night(25.0);
    let assembly = bare(DeviceType::Rp, NominalSize::N1);
    let chance = |members: &Members| {
        let spell = Spell::new(&series, members, start(), chrono_tz::UTC, &freeze, &ensemble).unwrap();
        let setup = Setup::new(&assembly, spell.day_of_year, WhatIf::AsListed, &freeze).for_ensemble(&freeze);
        damaged_share(&simulate(&setup, &spell, members, 0.0, false))
    };
    let spread = |count: usize| {
        let values: Vec<f64> = (0..24)
            .map(|seed| chance(&Members::new(count, seed, freeze.damage.strength_log_sd, &ensemble)))
            .collect();
        let mean = values.iter().sum::<f64>() / 24.0;
        (
            (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / 23.0).sqrt(),
            mean,
        )
    };
    let ((few, mean), (many, _)) = (spread(64), spread(1024));
    // Independent draws would have √(p(1−p)/n); 24 repeats know a standard deviation to 15 %.
    let independent = (mean * (1.0 - mean) / 1024.0).sqrt();
    assert!(many < 0.7 * independent, "{many} against {independent}");
    assert!(
        few / many > 4.0,
        "16 times the members: {few} to {many}, independent draws would give 4"
    );
}
