//! What stands after the heating: whether it falls by more than cooling, and where to.

use super::fit::Fit;
use super::{Doing, Errors, Figure, GaugeReading, Test, gain_l_at};
use crate::expansion::pressure::Sealed;
use crate::physics::OutOfRange;
use serde::Serialize;

/// What stands after the heating.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Decay {
    /// Fall of pressure, kPa a minute, less what cooling alone explains where the water was read.
    pub fall_kpa_per_min: Figure,
    /// Water that this takes out of the plumbing, L an hour; null where nothing falls, or without a give to reckon with.
    pub loss_l_per_h: Option<f64>,
    /// Its standard error, L an hour, where all readings together tell it.
    pub loss_error_l_per_h: Option<f64>,
    /// Whether the water was read, so that its cooling is taken off.
    pub cooling_known: bool,
    /// Whether the fall is more than three errors.
    pub falls: bool,
}

/// What stands after the heating: the slope of pressure over time by least squares, less what cooling explains.
pub(super) fn decay(
    sealed: &Sealed,
    test: &Test,
    readings: &[GaugeReading],
    errors: &Errors,
    gain_l: f64,
    fit: Option<Fit>,
) -> Result<Option<Decay>, OutOfRange> {
    let stand: Vec<&GaugeReading> = readings.iter().filter(|each| each.doing == Doing::Stand).collect();
    let count = stand.len() as f64;
    let mean = |value: &dyn Fn(&GaugeReading) -> f64| stand.iter().map(|each| value(each)).sum::<f64>() / count;
    if stand.len() < 2 {
        return Ok(None);
    }
    let (middle_min, middle_pa) = (mean(&|each| each.minute), mean(&|each| each.gauge_pa));
    let spread = stand.iter().map(|each| (each.minute - middle_min).powi(2)).sum::<f64>();
    if spread <= 0.0 {
        return Ok(None);
    }
    let slope = stand
        .iter()
        .map(|each| (each.minute - middle_min) * (each.gauge_pa - middle_pa))
        .sum::<f64>()
        / spread;
    let mut error = errors.gauge_pa / spread.sqrt();
    let mut fall = -slope;
    let rise_pa = test.after_gauge_pa - test.before_gauge_pa;
    let (first, last) = (stand.first(), stand.last());
    let mut cooling_known = false;
    if let (Some(first), Some(last)) = (first, last)
        && let (Some(from_c), Some(to_c)) = (first.water_c, last.water_c)
        && gain_l > 0.0
        && rise_pa > 0.0
        && last.minute > first.minute
    {
        // Cooling takes back its part of the gain, and with it that part of the rise.
        let at = |celsius: f64| gain_l_at(sealed, celsius);
        let by_cooling = rise_pa * (at(from_c)? - at(to_c)?) / gain_l / (last.minute - first.minute);
        let by_error =
            rise_pa * (at(from_c)? - at(from_c - errors.temperature_k)?) / gain_l / (last.minute - first.minute);
        fall -= by_cooling;
        error = error.hypot(by_error * std::f64::consts::SQRT_2).hypot(0.3 * by_cooling);
        cooling_known = true;
    }
    // Where the water was read, all readings together tell what leaves better than the slope of the last few.
    let fitted = fit.and_then(|fit| fit.loss_l_per_h).filter(|_| cooling_known);
    let falls = match fitted {
        Some(loss) => loss.value > 3.0 * loss.error,
        None => fall > 3.0 * error,
    };
    Ok(Some(Decay {
        fall_kpa_per_min: Figure {
            value: fall / 1e3,
            error: error / 1e3,
        },
        cooling_known,
        loss_l_per_h: (falls && rise_pa > 3.0 * errors.gauge_pa)
            .then(|| fitted.map_or(fall * 60.0 * gain_l / rise_pa, |loss| loss.value)),
        loss_error_l_per_h: fitted.filter(|_| falls).map(|loss| loss.error),
        falls,
    }))
}
