//! The town's total of a plan with its range, and which judged constants the config sets otherwise.

use super::{Plan, Programme, Run};
use crate::config::Config;
use crate::freeze::RunOptions;
use crate::freeze::config::EnsembleConfig;
use crate::freeze::judged::Sample;
use crate::freeze::members::error_size_k;
use crate::review::math::probit;
use crate::review::total::{Exposed, JudgedEnds, Shared, Total, shared_share, total_over};
use crate::weather::{Kind, Series};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// Points at which a told spread is sampled.
const POINTS: usize = 64;

/// Size of the forecast's error in a station's coldest hour, K: as the forecaster told it, else by the config's table. Hours that
/// came carry none.
fn forecast_error_k(ensemble: &EnsembleConfig, series: &Series, now: DateTime<Utc>) -> f64 {
    let Some((hour, _)) = series.coldest() else { return 0.0 };
    let time = series.time(hour);
    if time <= now || series.kind.get(hour) != Some(&Kind::Forecast) {
        return 0.0;
    }
    let told = ensemble.told.as_deref().and_then(|spread| {
        let departures = spread.departures(series)?;
        let values: Option<Vec<f64>> = (0..POINTS)
            .map(|at| departures.at(time, at, probit((at as f64 + 0.5) / POINTS as f64)))
            .collect();
        let values = values?;
        let mean = values.iter().sum::<f64>() / POINTS as f64;
        Some((values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / POINTS as f64).sqrt())
    });
    told.unwrap_or_else(|| error_size_k(ensemble, (time - now).num_seconds() as f64 / 3600.0))
}

/// Breaks and loss of the town with their ranges; `None` in a deterministic run.
pub fn town_total(found: &Plan<'_>, programme: &Programme, run: &Run) -> Option<Total> {
    let (config, series) = (&programme.loaded.config, &programme.loaded.series);
    let ensemble = &config.ensemble;
    let shared: Vec<f64> = series
        .iter()
        .map(|series| {
            let error_k = forecast_error_k(ensemble, series, found.stand.now);
            shared_share(error_k, ensemble.site_k, ensemble.nucleation_sd_k)
        })
        .collect();
    let regions = &programme.regions;
    let exposed: Option<Vec<Exposed>> = found
        .ranked
        .iter()
        .map(|line| {
            let p = found.outlooks.get(line.index)?.p_damage?;
            let series = found.sites.get(line.index)?.0;
            Some(Exposed {
                p,
                shared: shared.get(series).copied().unwrap_or(0.0),
                loss_usd: if p > 0.0 { line.expected_loss_usd / p } else { 0.0 },
                area: regions.of(series),
            })
        })
        .collect();
    let roots: Vec<&[f64]> = (0..regions.count()).map(|area| regions.root(area)).collect();
    let mut told = total_over(&exposed?, &Shared::areas(&roots));
    told.judged = judged_ends(found, config, series, &run.options(programme, found.stand));
    Some(told)
}

/// Expected breaks and loss of the town at both ends of what is judged.
fn judged_ends(found: &Plan<'_>, config: &Config, series: &[Series], options: &RunOptions) -> Option<JudgedEnds> {
    let sample = Sample::new(
        &found.places(),
        &found.outlooks,
        series,
        options,
        &config.freeze,
        &config.ensemble,
    )?;
    let band = sample.band();
    let mut ends = JudgedEnds {
        breaks: (0.0, 0.0),
        loss_usd: (0.0, 0.0),
    };
    for line in &found.ranked {
        let outlook = found.outlooks.get(line.index)?;
        let p = outlook.p_damage?;
        let (low, high) = band.chance(outlook)?;
        let each_usd = if p > 0.0 { line.expected_loss_usd / p } else { 0.0 };
        ends.breaks = (ends.breaks.0 + low, ends.breaks.1 + high);
        ends.loss_usd = (ends.loss_usd.0 + low * each_usd, ends.loss_usd.1 + high * each_usd);
    }
    Some(ends)
}

/// Judged constants of the ensemble that the config sets otherwise: a later reader sees from run.json what was adopted.
pub fn adopted(config: &Config) -> BTreeMap<&'static str, f64> {
    let (set, ours) = (&config.ensemble, EnsembleConfig::default());
    [
        ("nucleation_mean_c", set.nucleation_mean_c, ours.nucleation_mean_c),
        ("nucleation_sd_k", set.nucleation_sd_k, ours.nucleation_sd_k),
        ("site_k", set.site_k, ours.site_k),
    ]
    .into_iter()
    .filter(|(_, set, ours)| set != ours)
    .map(|(name, set, _)| (name, set))
    .collect()
}
