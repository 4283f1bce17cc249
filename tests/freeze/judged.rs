//! The band of what is judged: it holds what a run with other constants says, and costs little.
#![allow(clippy::unwrap_used, clippy::panic)]

use crate::spells::{bare, night, options};
use brimwater::freeze::config::{EnsembleConfig, FreezeConfig};
use brimwater::freeze::judged::{Constant, Sample};
use brimwater::freeze::{Place, RunOptions, outlooks};
use brimwater::inventory::{Assembly, DeviceType, NominalSize, WindExposure};

/// A street of bare and wrapped assemblies of many heights, so that there are more cases than are run again.
fn street() -> Vec<Assembly> {
    let mut all = Vec::new();
    for (at, device) in [DeviceType::Rp, DeviceType::Pvb, DeviceType::Dc]
        .into_iter()
        .enumerate()
    {
        for step in 0..80 {
            let mut a = bare(device, [NominalSize::N0_75, NominalSize::N1, NominalSize::N2][step % 3]);
            a.riser_height_m = 0.3 + 0.01 * step as f64;
            a.wrap_m2k_per_w = [0.0, 0.0, 0.2][(step + at) % 3];
            a.wind_exposure = [WindExposure::Open, WindExposure::Partial, WindExposure::Sheltered][step % 3];
            all.push(a);
        }
    }
    all
}

/// X-Val: the whole street run again with every member under constants from inside the ends, which the band must hold up to the noise of its
/// sample; and one constant at its published end, −4 °C [gilpin-1978], beyond what eight draws inside the ends can tell.
/// Catches: a sample that is not weighted, a shift solved for another sum, a band of the weather in place of the constants.
#[test]
fn the_band_holds_what_other_constants_say() {
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    let (street, series) = (street(), [night(22.0, 0.2)]);
    let place = |assembly| Place {
        assembly,
        series: 0,
        offset_k: 0.0,
    };
    let places: Vec<Place<'_>> = street.iter().map(place).collect();
    let options = RunOptions {
        advice: false,
        ..options(256)
    };
    let (found, stats) = outlooks(&places, &series, &options, &freeze, &ensemble, &|_| {});
    assert!(stats.cases > 200, "{}", stats.cases);
    let sample = Sample::new(&places, &found, &series, &options, &freeze, &ensemble).unwrap();
    // A fifth of the run's own members of cases at most, which is what a band may cost.
    assert!(
        sample.runs() * 5 <= stats.cases * 256,
        "{} {}",
        sample.runs(),
        stats.cases
    );
    let band = sample.band();
    let sum =
        |found: &[std::sync::Arc<brimwater::freeze::Outlook>]| found.iter().map(|o| o.p_damage.unwrap()).sum::<f64>();
    let ends: Vec<(f64, f64)> = found.iter().map(|outlook| band.chance(outlook).unwrap()).collect();
    let (low, high) = ends.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
    let all = |change: &dyn Fn(&mut FreezeConfig, &mut EnsembleConfig)| {
        let (mut freeze, mut ensemble) = (freeze.clone(), ensemble.clone());
        change(&mut freeze, &mut ensemble);
        sum(&outlooks(&places, &series, &options, &freeze, &ensemble, &|_| {}).0)
    };
    let now = sum(&found);
    // A tenth of the cases with a quarter of the members: a tenth either way (judgement).
    assert!((sample.breaks() - now).abs() < 0.1 * now, "{} {now}", sample.breaks());
    let seeped = all(&|freeze, _| freeze.damage.seep_per_mpa_h *= 1.4);
    let warmer_ice = all(&|_, ensemble| ensemble.nucleation_mean_c = -5.1);
    println!("{now:.1}: {low:.1} to {high:.1}; seepage × 1.4 {seeped:.1}, ice from −5.1 °C {warmer_ice:.1}");
    assert!(low < 0.95 * now && high > 1.05 * now, "{low} {now} {high}");
    for (what, other) in [("seepage", seeped), ("nucleation", warmer_ice)] {
        assert!(
            other > 0.97 * low && other < 1.03 * high,
            "{what}: {low} {other} {high}"
        );
    }
    // A chance and its band; the same twice.
    for (outlook, (low, high)) in found.iter().zip(&ends) {
        let p = outlook.p_damage.unwrap();
        assert!(
            0.0 <= *low && *low <= p && p <= *high && *high <= 1.0,
            "{low} {p} {high}"
        );
    }
    assert_eq!(band, sample.band());

    // Less seepage and warmer ice break more; their shares of the band, and a sample against all of the street.
    for constant in Constant::ALL {
        let alone = sample.alone(constant);
        println!("{constant:?} alone: {alone:?}");
        let full = |share: f64| match constant {
            Constant::Nucleation => all(&|_, ensemble| ensemble.nucleation_mean_c += 3.0 * (share - 0.5)),
            Constant::Sky => all(&|freeze, _| freeze.sky_view += 0.5 * (share - 0.5)),
            Constant::Seepage => all(&|freeze, _| freeze.damage.seep_per_mpa_h *= 2.5_f64.powf(2.0 * share - 1.0)),
        };
        let told: (f64, f64) = found
            .iter()
            .map(|outlook| alone.chance(outlook).unwrap())
            .fold((0.0, 0.0), |s, e| (s.0 + e.0, s.1 + e.1));
        let ends = [full(0.0), full(1.0)];
        let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        // The sample is a tenth of the cases with a quarter of the members: a tenth of the breaks either way (judgement).
        assert!(
            (told.0 - low).abs() < 0.1 * now && (told.1 - high).abs() < 0.1 * now,
            "{constant:?}: {told:?} {low} {high}"
        );
    }
}

/// Without members there is no band, and none where nothing freezes.
#[test]
fn no_band_without_members_or_ice() {
    let (freeze, ensemble) = (FreezeConfig::default(), EnsembleConfig::default());
    let one = bare(DeviceType::Rp, NominalSize::N1);
    let places = [Place {
        assembly: &one,
        series: 0,
        offset_k: 0.0,
    }];
    for (members, minimum_f) in [(1, 22.0), (64, 50.0)] {
        let series = [night(minimum_f, 0.0)];
        let options = options(members);
        let (found, _) = outlooks(&places, &series, &options, &freeze, &ensemble, &|_| {});
        assert!(
            Sample::new(&places, &found, &series, &options, &freeze, &ensemble).is_none(),
            "{members} {minimum_f}"
        );
    }
}
