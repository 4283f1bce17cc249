//! The sky of hours that tell no cloud: drawn by members, the clear sky only at the cautious edge.

use crate::spells::{bare, clear_night, options, outlook, outlook_with, series, start};
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::members::Members;
use brimwater::freeze::spell::Spell;
use brimwater::inventory::{DeviceType, NominalSize};
use brimwater::physics::sky::{SkyModel, sky_temperature_k};
use brimwater::weather::{Kind, Series};

fn untold(mut series: Series) -> Series {
    series.sky_cover = vec![None; series.hours()];
    series
}

/// X-Val: the moments of a beta distribution (any textbook): mean a/(a+b), variance ab/((a+b)²(a+b+1)); with shapes that sum to 1 the
/// variance is m(1 − m)/2. 4096 quasi-random draws hold the mean to 0.01. Catches a wrong shape, a reversed quantile, a mean not obeyed.
#[test]
fn members_draw_a_cloud_of_the_stated_mean_that_is_mostly_clear_or_overcast() {
    for mean in [0.2, 0.4, 0.7] {
        let config = EnsembleConfig {
            sky_cover_mean: mean,
            ..EnsembleConfig::default()
        };
        let draws = Members::new(4096, 5, 0.35, &config).sky_cover;
        let n = draws.len() as f64;
        let average = draws.iter().sum::<f64>() / n;
        let variance = draws.iter().map(|draw| (draw - average).powi(2)).sum::<f64>() / n;
        assert!((average - mean).abs() < 0.01, "{mean}: {average}");
        assert!(
            (variance - mean * (1.0 - mean) / 2.0).abs() < 0.01,
            "{mean}: {variance}"
        );
        assert!(draws.iter().all(|draw| (0.0..=1.0).contains(draw)));
        // The cautious run sees a clear sky.
        assert_eq!(Members::deterministic().sky_cover, [0.0]);
    }
    for (mean, all) in [(0.0, 0.0), (1.0, 1.0)] {
        let config = EnsembleConfig {
            sky_cover_mean: mean,
            ..EnsembleConfig::default()
        };
        assert!(
            Members::new(16, 5, 0.35, &config)
                .sky_cover
                .iter()
                .all(|draw| *draw == all)
        );
    }
}

#[test]
fn the_cloud_moves_no_other_draw() {
    let with = |mean| {
        let config = EnsembleConfig {
            sky_cover_mean: mean,
            ..EnsembleConfig::default()
        };
        Members::new(256, 1, 0.35, &config)
    };
    let (mut few, much) = (with(0.1), with(0.9));
    assert_ne!(few.sky_cover, much.sky_cover);
    few.sky_cover.clone_from(&much.sky_cover);
    assert_eq!(few, much);
}

/// X-Val: a cloud closes the window through which metal loses heat (Clark and Allen 1978 and every sky model since): less cloud, more ice;
/// a sky between clear and overcast lies between their chances, to the sampling error of 256 members (0.03).
/// Catches: hours without cloud taken as clear, a told cloud overridden, the members' skies mixed up between lanes.
#[test]
fn an_untold_sky_lies_between_clear_and_overcast_and_a_told_one_is_obeyed() {
    let rp = bare(DeviceType::Rp, NominalSize::N1);
    let night = |cover| {
        let mut night = clear_night(25.5);
        night.sky_cover = vec![Some(cover); night.hours()];
        outlook(&rp, &night, &options(256)).p_ice.unwrap()
    };
    let (clear, overcast) = (night(0.0), night(1.0));
    let drawn = outlook(&rp, &untold(clear_night(25.5)), &options(256)).p_ice.unwrap();
    assert!(clear > overcast + 0.1, "{clear} {overcast}");
    assert!(
        drawn < clear - 0.02 && drawn > overcast + 0.02,
        "{clear} {drawn} {overcast}"
    );
    // One value of the config stands for every member, bit for bit as if the series told it.
    let config = FreezeConfig {
        default_sky_cover: Some(0.6),
        ..FreezeConfig::default()
    };
    let set = outlook_with(
        &rp,
        &untold(clear_night(25.5)),
        &options(256),
        &config,
        &EnsembleConfig::default(),
    );
    assert_eq!(set.p_ice, Some(night(0.6)));
    // All members under one sky are the series' own sky.
    let overcast_by_all = EnsembleConfig {
        sky_cover_mean: 1.0,
        ..EnsembleConfig::default()
    };
    let all = outlook_with(
        &rp,
        &untold(clear_night(25.5)),
        &options(256),
        &FreezeConfig::default(),
        &overcast_by_all,
    );
    assert_eq!(all.p_ice, Some(overcast));
    // The cautious run takes the clear sky.
    let one = |series: &Series| outlook(&rp, series, &options(1)).coldest_water_c.p50;
    assert_eq!(one(&untold(clear_night(30.0))), one(&clear_night(30.0)));
}

/// Only the hours that lack a cloud are drawn. X-Val: the sky model itself, called for the told hour.
#[test]
fn hours_that_tell_their_cloud_keep_it() {
    let mut half = series(vec![-3.0; 36], 1.0, 4.0, 0.7, Kind::Observed);
    half.sky_cover[5] = None;
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    let members = Members::new(64, 1, 0.35, &ensemble);
    let spell = Spell::new(&half, &members, start(), chrono_tz::UTC, &freeze, &ensemble).unwrap();
    let air_k = 270.15;
    let of = |cover| sky_temperature_k(SkyModel::BerdahlMartin, air_k, -7.0, cover, None, None) / air_k;
    for hour in (0..36).filter(|hour| *hour != 5) {
        assert!(spell.sky(hour).iter().all(|ratio| *ratio == of(0.7)), "{hour}");
    }
    let drawn: Vec<f64> = members.sky_cover.iter().map(|cover| of(*cover)).collect();
    assert_eq!(spell.sky(5), drawn);
    assert_eq!(spell.lowest_sky_ratio, drawn.iter().copied().fold(1.0, f64::min));
}
