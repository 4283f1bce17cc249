//! What to measure next where the readings do not settle it.

use super::{GaugeAnswer, ReadClosed, ReadTank, Test, sealed_of, states_at};
use crate::expansion::existing;
use crate::expansion::system::System;
use crate::physics::OutOfRange;
use serde::Serialize;

/// What to measure next.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Next {
    /// Heat by at least this much: then the gauge can tell.
    HeatMore {
        /// Rise of the water, K.
        rise_k: f64,
    },
    /// Read the precharge with the tank isolated and drained.
    ReadPrecharge,
    /// Look whether the tank's valve is open, and whether water comes out of its air valve.
    LookAtTank,
    /// Trace from the meter: no reading of a gauge tells a tank nobody knows of from an open pipe.
    TraceLine,
    /// Read again after an hour with the taps shut, the water's temperature too.
    StandLonger,
    /// Look for what runs: a relief, a toilet, a check that leaks.
    LookForLoss,
    /// The readings contradict one another: take them again with every tap shut all along.
    ReadAgain,
}

/// What to measure next.
pub(super) fn next(
    answer: &GaugeAnswer,
    system: &System,
    test: &Test,
    rise_error_pa: f64,
) -> Result<Vec<Next>, OutOfRange> {
    let mut next = Vec::new();
    if answer.fit.is_some_and(|fit| !fit.agrees()) {
        next.push(Next::ReadAgain);
    }
    match answer.closed {
        ReadClosed::Unsettled => {
            if let Some(rise_k) = telling_rise_k(system, test, rise_error_pa)? {
                next.push(Next::HeatMore { rise_k });
            }
            next.push(Next::TraceLine);
        }
        ReadClosed::Open => next.push(Next::TraceLine),
        ReadClosed::Closed => {
            if answer.untold_give {
                next.push(Next::TraceLine);
            }
            match answer.tank {
                Some(ReadTank::TakesNothing) => next.push(Next::LookAtTank),
                Some(ReadTank::LostCharge | ReadTank::ChargedHigh | ReadTank::TakesMore) => {
                    next.push(Next::ReadPrecharge);
                }
                Some(ReadTank::Unsettled) => {
                    if let Some(rise_k) = telling_rise_k(system, test, 2.0 * rise_error_pa)? {
                        next.push(Next::HeatMore { rise_k });
                    }
                    next.push(Next::ReadPrecharge);
                }
                Some(ReadTank::AsCharged) | None => {}
            }
        }
    }
    match answer.decay {
        Some(decay) if decay.falls && !decay.cooling_known => next.push(Next::StandLonger),
        Some(decay) if decay.falls => next.push(Next::LookForLoss),
        _ => {}
    }
    Ok(next)
}

/// The rise of the water, K, at which closed plumbing as told would rise by five errors; `None` beyond 70 K, or where what was done was
/// enough.
fn telling_rise_k(system: &System, test: &Test, rise_error_pa: f64) -> Result<Option<f64>, OutOfRange> {
    let sealed = sealed_of(system, test);
    let tanks = states_at(system, test);
    for step in 1..=28 {
        let rise_k = 2.5 * f64::from(step);
        let end = existing::end_with_give_abs_pa(&tanks, &sealed, test.cold_c + rise_k, system.column_pa())?;
        if end.is_none_or(|end| end - sealed.start_abs_pa > 5.0 * rise_error_pa) {
            return Ok((rise_k > test.hot_c - test.cold_c).then_some(rise_k));
        }
    }
    Ok(None)
}
