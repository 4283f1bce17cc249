//! The tank that was told, by what it took: how it is charged, and whether it does its work.

use super::fit::{Fit, of_charge};
use super::{Errors, Figure, GaugeReading, ReadClosed, ReadTank, Test, propagated, states_at, taken_l};
use crate::expansion::system::System;
use crate::physics::OutOfRange;

/// The charges, Pa absolute in service, that explain what one tank took: one at or below static, one above it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Charges {
    pub(super) low: Option<Figure>,
    pub(super) high: Option<Figure>,
    /// Whether no charge lets the tank take so much.
    beyond: bool,
    /// The better of the fits behind them.
    pub(super) fit: Option<Fit>,
}

impl Charges {
    /// Nothing is known of the charge.
    const UNKNOWN: Charges = Charges {
        low: None,
        high: None,
        beyond: false,
        fit: None,
    };
}

/// The charges of the tank that was told; none without exactly one, or where the pressure did not rise.
///
/// What the end of the heating says of them is where the fit of all readings starts; where that cannot be made it stands.
pub(super) fn charges(
    system: &System,
    readings: &[GaugeReading],
    test: &Test,
    errors: &Errors,
) -> Result<Charges, OutOfRange> {
    let ([tank], true) = (
        system.existing.as_slice(),
        test.after_gauge_pa > test.before_gauge_pa + 3.0 * errors.gauge_pa,
    ) else {
        return Ok(Charges::UNKNOWN);
    };
    let at_tank_pa = system.air_abs_pa() - system.column_pa();
    let share = |test: &Test| -> Result<f64, OutOfRange> { Ok(taken_l(system, test)? / tank.volume_l) };
    let low = propagated(test, errors, &|test| {
        let (from_pa, to_pa) = (test.before_gauge_pa + at_tank_pa, test.after_gauge_pa + at_tank_pa);
        Ok(low_charge_abs_pa(share(test)?, from_pa, to_pa))
    })?;
    let high = propagated(test, errors, &|test| {
        Ok(high_charge_abs_pa(share(test)?, test.after_gauge_pa + at_tank_pa))
    })?;
    let static_abs_pa = test.before_gauge_pa + at_tank_pa;
    if low.value > static_abs_pa + 2.0 * low.error {
        return Ok(Charges {
            beyond: true,
            ..Charges::UNKNOWN
        });
    }
    // At static the two meet; beyond it the readings say "as charged as can be".
    let held = |figure: Figure| Figure {
        value: figure.value.clamp(0.0, static_abs_pa),
        ..figure
    };
    let high = Some(high).filter(|high| high.value > static_abs_pa);
    let starts = [Some(held(low).value), high.map(|high| high.value)];
    let fits = of_charge(system, readings, test, errors, starts)?;
    if let [None, None] = fits {
        return Ok(Charges {
            low: Some(held(low)),
            high,
            ..Charges::UNKNOWN
        });
    }
    let better = fits.iter().flatten().copied();
    let [low, high] = fits.map(|fit| fit.and_then(|fit| fit.charge_abs_pa));
    // A fit just above static says as well that the tank is charged to it.
    let at_static = |high: Figure| {
        (high.value - 2.0 * high.error <= static_abs_pa).then_some(Figure {
            value: static_abs_pa,
            ..high
        })
    };
    Ok(Charges {
        low: low.map(held).or(high.and_then(at_static)),
        high,
        beyond: false,
        fit: better.min_by(|a, b| a.chi_square.total_cmp(&b.chi_square)),
    })
}

/// The charge at or below the first pressure, Pa absolute, of a tank of which a share of its volume filled between two pressures (Pa
/// absolute): share = Pc (1/P₁ − 1/P₂). Above P₁ the tank took more than it can.
pub fn low_charge_abs_pa(share: f64, from_abs_pa: f64, to_abs_pa: f64) -> f64 {
    let span = 1.0 / from_abs_pa - 1.0 / to_abs_pa;
    share / span.max(f64::MIN_POSITIVE)
}

/// The charge above the first pressure: share = 1 − Pc/P₂.
pub fn high_charge_abs_pa(share: f64, to_abs_pa: f64) -> f64 {
    (1.0 - share) * to_abs_pa
}

/// What the verdict on the tank leans on.
pub(super) struct TankEvidence<'a> {
    pub(super) system: &'a System,
    pub(super) test: &'a Test,
    pub(super) closed: ReadClosed,
    pub(super) taken: Figure,
    pub(super) rise_pa: f64,
    pub(super) rise_error_pa: f64,
    pub(super) rise_with_tank_pa: Option<f64>,
    pub(super) charges: Charges,
}

/// The verdict on the tank.
pub(super) fn judge_tank(seen: &TankEvidence<'_>) -> ReadTank {
    if seen.closed != ReadClosed::Closed {
        return ReadTank::Unsettled;
    }
    let with_pa = seen.rise_with_tank_pa.unwrap_or(f64::INFINITY);
    let more_than_told = seen.rise_pa > with_pa + 3.0 * seen.rise_error_pa;
    if seen.taken.value <= 2.0 * seen.taken.error {
        return if more_than_told {
            ReadTank::TakesNothing
        } else {
            ReadTank::Unsettled
        };
    }
    if seen.charges.beyond {
        return ReadTank::TakesMore;
    }
    let told: Vec<f64> = states_at(seen.system, seen.test)
        .iter()
        .map(|tank| tank.precharge_abs_pa)
        .collect();
    match (told.as_slice(), seen.charges.low, seen.charges.high) {
        ([told_pa], low, high) => {
            let agrees = |figure: Option<Figure>| {
                figure.is_some_and(|figure| (figure.value - told_pa).abs() <= 2.0 * figure.error)
            };
            let static_abs_pa = seen.test.before_gauge_pa + seen.system.air_abs_pa() - seen.system.column_pa();
            if agrees(low) || agrees(high) {
                ReadTank::AsCharged
            } else if low.is_some_and(|low| low.value < told_pa.min(static_abs_pa) - 2.0 * low.error) {
                ReadTank::LostCharge
            } else if high.is_some_and(|high| high.value > *told_pa + 2.0 * high.error) {
                ReadTank::ChargedHigh
            } else {
                ReadTank::TakesMore
            }
        }
        // Of several tanks only the rise can be held against what was told.
        _ if more_than_told => ReadTank::LostCharge,
        _ if seen.rise_pa < with_pa - 3.0 * seen.rise_error_pa => ReadTank::TakesMore,
        _ => ReadTank::AsCharged,
    }
}
