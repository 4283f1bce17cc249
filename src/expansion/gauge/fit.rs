//! All readings together: least squares over every pressure of a test, with what is known beforehand of volume, give and warmth.
//!
//! Levenberg and Marquardt's method on the balance of [`Sealed`](crate::expansion::pressure::Sealed). A figure's standard error is that of
//! the inverse normal matrix, so that what is known only roughly (the label's volume, the walls' give) widens it. `[gum]`

use super::{Doing, Errors, Figure, GaugeReading, Test, sealed_of, states_at};
use crate::expansion::existing::{self, TankState};
use crate::expansion::system::System;
use crate::physics::OutOfRange;
use crate::units::PA_PER_PSI;
use nalgebra::{DMatrix, DVector};
use serde::Serialize;

/// What all readings of a test say together.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Fit {
    /// Readings of pressure that entered.
    pub readings: usize,
    /// Sum of squared misfits in standard errors.
    pub chi_square: f64,
    /// Readings less the figures that were fitted to them.
    pub freedom: f64,
    /// Pressure at rest, kPa gauge.
    pub rest_gauge_kpa: Figure,
    /// Water that leaves while the house stands, L an hour; null without readings of it.
    pub loss_l_per_h: Option<Figure>,
    /// Charge of the one tank, Pa absolute in service.
    #[serde(skip)]
    pub charge_abs_pa: Option<Figure>,
    /// Give of everything but the water itself, L/Pa, where no tank was told.
    #[serde(skip)]
    pub give_l_per_pa: Option<Figure>,
}

impl Fit {
    /// Whether the readings agree with one another: their misfit within three standard deviations of what chance leaves.
    pub fn agrees(&self) -> bool {
        self.chi_square <= self.freedom + 3.0 * (2.0 * self.freedom).sqrt()
    }
}

/// One figure that is fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fitted {
    /// Pressure at rest, Pa gauge.
    Rest,
    /// How far the cold temperature is off, K.
    ColdOff,
    /// The heaters' volume as a share of the label's.
    Volume,
    /// Give of walls as a share of the computed one.
    Walls,
    /// Give of everything but the water, L/Pa.
    Give,
    /// Charge of the one tank, Pa absolute in service.
    Charge,
    /// Water that leaves while standing, L an hour.
    Loss,
}

/// A figure with where it starts, the step that tells its slope, and what is known of it beforehand.
#[derive(Debug, Clone, Copy)]
struct Parameter {
    fitted: Fitted,
    value: f64,
    step: f64,
    /// Value and standard error known beforehand.
    prior: Option<(f64, f64)>,
    least: f64,
}

impl Parameter {
    fn new(fitted: Fitted, value: f64, step: f64) -> Self {
        Self {
            fitted,
            value,
            step,
            prior: None,
            least: f64::NEG_INFINITY,
        }
    }

    fn known(self, error: f64) -> Self {
        Self {
            prior: Some((self.value, error)),
            ..self
        }
    }

    fn at_least(self, least: f64) -> Self {
        Self { least, ..self }
    }
}

/// Where a fit starts that depends on what stands on the plumbing.
#[derive(Debug, Clone, Copy)]
pub(super) enum Start {
    /// One tank with this charge, Pa absolute in service.
    Charge(f64),
    /// No tank was told: this give, L/Pa.
    Give(f64),
    /// Several tanks, as they were told.
    AsTold,
}

/// The readings that can be computed, and what computes them.
struct Problem<'a> {
    system: &'a System,
    test: &'a Test,
    readings: Vec<(&'a GaugeReading, f64)>,
    /// Minute of the first reading while standing. What left before it is not told apart from what the tank took.
    stands_from_min: f64,
    errors: &'a Errors,
}

impl Problem<'_> {
    /// The pressure that a reading should show, Pa gauge.
    fn pressure_pa(
        &self,
        parameters: &[Parameter],
        reading: &GaugeReading,
        water_c: f64,
    ) -> Result<Option<f64>, OutOfRange> {
        let value = |wanted: Fitted| parameters.iter().find(|one| one.fitted == wanted).map(|one| one.value);
        let rest_pa = value(Fitted::Rest).unwrap_or(self.test.before_gauge_pa);
        if reading.doing == Doing::Rest {
            return Ok(Some(rest_pa));
        }
        let give = value(Fitted::Give);
        let test = Test {
            before_gauge_pa: rest_pa,
            cold_c: (self.test.cold_c + value(Fitted::ColdOff).unwrap_or(0.0)).max(0.0),
            volume_share: value(Fitted::Volume).unwrap_or(1.0),
            // A give that is fitted whole holds the walls' own.
            give_share: if give.is_some() {
                0.0
            } else {
                value(Fitted::Walls).unwrap_or(1.0)
            },
            ..*self.test
        };
        let sealed = sealed_of(self.system, &test);
        let mut tanks = states_at(self.system, &test);
        if let (Some(charge_abs_pa), [tank]) = (value(Fitted::Charge), tanks.as_mut_slice()) {
            tank.precharge_abs_pa = charge_abs_pa;
        }
        let column_pa = self.system.column_pa();
        let start_abs_pa = sealed.start_abs_pa;
        let at_tank = |abs_pa: f64| (abs_pa - column_pa).max(1e3);
        let at_rest_l = existing::water_l(&tanks, at_tank(start_abs_pa));
        let hours = if reading.doing == Doing::Stand {
            (reading.minute - self.stands_from_min).max(0.0) / 60.0
        } else {
            0.0
        };
        let left_l = value(Fitted::Loss).unwrap_or(0.0) * hours;
        let give_l_per_pa = give.unwrap_or(0.0);
        let end = sealed.pressure_with_abs_pa(water_c, &|abs_pa| {
            let slope: f64 = tanks
                .iter()
                .map(|tank: &TankState| tank.slope_l_per_pa(at_tank(abs_pa)))
                .sum();
            let held_l = existing::water_l(&tanks, at_tank(abs_pa)) - at_rest_l;
            (
                held_l + left_l + give_l_per_pa * (abs_pa - start_abs_pa),
                slope + give_l_per_pa,
            )
        })?;
        // The supply follows in through the device when the plumbing would fall below it.
        Ok(end.map(|abs_pa| abs_pa.max(start_abs_pa) - self.system.air_abs_pa()))
    }

    /// Standard error of each reading, Pa: the gauge's, and the thermometer's by the slope of pressure there.
    fn errors_pa(&self, parameters: &[Parameter]) -> Result<Option<Vec<f64>>, OutOfRange> {
        let warmer_k = 0.5;
        let mut errors = Vec::new();
        for (reading, water_c) in &self.readings {
            let (Some(here), Some(there)) = (
                self.pressure_pa(parameters, reading, *water_c)?,
                self.pressure_pa(parameters, reading, water_c + warmer_k)?,
            ) else {
                return Ok(None);
            };
            let by_warmth = (there - here) / warmer_k * self.errors.temperature_k;
            errors.push(self.errors.gauge_pa.hypot(by_warmth));
        }
        Ok(Some(errors))
    }

    /// Misfits in standard errors: of every reading, then of what was known beforehand.
    fn misfits(&self, parameters: &[Parameter], errors_pa: &[f64]) -> Result<Option<DVector<f64>>, OutOfRange> {
        let mut misfits = Vec::new();
        for ((reading, water_c), error_pa) in self.readings.iter().zip(errors_pa) {
            let Some(pascal) = self.pressure_pa(parameters, reading, *water_c)? else {
                return Ok(None);
            };
            misfits.push((pascal - reading.gauge_pa) / error_pa);
        }
        for parameter in parameters {
            if let Some((known, error)) = parameter.prior {
                misfits.push((parameter.value - known) / error);
            }
        }
        Ok(Some(DVector::from_vec(misfits)))
    }
}

/// Fits all readings of a test; `None` where too few can be computed.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub(super) fn fit(
    system: &System,
    readings: &[GaugeReading],
    test: &Test,
    errors: &Errors,
    start: Start,
) -> Result<Option<Fit>, OutOfRange> {
    let standing = readings.iter().filter(|each| each.doing == Doing::Stand);
    let stands_from_min = standing.map(|each| each.minute).fold(f64::INFINITY, f64::min);
    let problem = Problem {
        system,
        test,
        readings: readings
            .iter()
            .filter_map(|each| match each.doing {
                Doing::Rest => Some((each, test.cold_c)),
                Doing::Heating | Doing::Stand => Some((each, each.water_c?)),
            })
            .collect(),
        stands_from_min,
        errors,
    };
    let stands = problem
        .readings
        .iter()
        .filter(|(each, _)| each.doing == Doing::Stand)
        .count();
    let mut parameters = vec![
        Parameter::new(Fitted::Rest, test.before_gauge_pa, 200.0),
        Parameter::new(Fitted::ColdOff, 0.0, 0.05).known(errors.temperature_k / test.rests.sqrt()),
        Parameter::new(Fitted::Volume, 1.0, 1e-3)
            .known(errors.volume_share)
            .at_least(0.2),
    ];
    let walls = Parameter::new(Fitted::Walls, 1.0, 1e-2)
        .known(errors.give_share)
        .at_least(0.0);
    match start {
        Start::Charge(abs_pa) => {
            parameters.push(walls);
            parameters.push(Parameter::new(Fitted::Charge, abs_pa, 500.0).at_least(1.0));
        }
        Start::Give(l_per_pa) => {
            let step = 1e-3 * l_per_pa.abs().max(1e-9);
            parameters.push(Parameter::new(Fitted::Give, l_per_pa, step).at_least(0.0));
        }
        Start::AsTold => parameters.push(walls),
    }
    if stands >= 2 {
        parameters.push(Parameter::new(Fitted::Loss, 0.0, 1e-2));
    }
    let free = parameters.iter().filter(|one| one.prior.is_none()).count();
    if problem.readings.len() <= free {
        return Ok(None);
    }
    settle(&problem, parameters, free)
}

/// The fit from where its parameters start; twice, because the thermometer's part of an error depends on the slope.
fn settle(problem: &Problem<'_>, parameters: Vec<Parameter>, free: usize) -> Result<Option<Fit>, OutOfRange> {
    let mut at = parameters;
    let mut last = None;
    for _ in 0..2 {
        let Some(errors_pa) = problem.errors_pa(&at)? else {
            return Ok(None);
        };
        let Some(step) = descend(problem, &mut at, &errors_pa)? else {
            return Ok(None);
        };
        last = Some(step);
    }
    let Some((chi_square, variances)) = last else {
        return Ok(None);
    };
    let figure = |wanted: Fitted| {
        at.iter()
            .zip(&variances)
            .find(|(one, _)| one.fitted == wanted)
            .map(|(one, variance)| Figure {
                value: one.value,
                error: variance.max(0.0).sqrt(),
            })
    };
    let Some(rest) = figure(Fitted::Rest) else {
        return Ok(None);
    };
    Ok(Some(Fit {
        readings: problem.readings.len(),
        chi_square,
        freedom: (problem.readings.len() - free) as f64,
        rest_gauge_kpa: rest.times(1e-3),
        loss_l_per_h: figure(Fitted::Loss),
        charge_abs_pa: figure(Fitted::Charge),
        give_l_per_pa: figure(Fitted::Give),
    }))
}

/// Goes down to the least sum of squares; gives it with the variance of each parameter.
fn descend(
    problem: &Problem<'_>,
    at: &mut Vec<Parameter>,
    errors_pa: &[f64],
) -> Result<Option<(f64, Vec<f64>)>, OutOfRange> {
    let Some(mut here) = problem.misfits(at, errors_pa)? else {
        return Ok(None);
    };
    let mut damping = 1e-3;
    let mut normal = None;
    for _ in 0..25 {
        let Some(slopes) = slopes(problem, at, errors_pa, &here)? else {
            return Ok(None);
        };
        let Some(own) = Normal::of(&slopes) else {
            return Ok(None);
        };
        let before = here.norm_squared();
        let mut moved = false;
        for _ in 0..8 {
            let step = own.step(&(-slopes.tr_mul(&here)), damping);
            let next: Vec<Parameter> = at
                .iter()
                .zip(step.iter().flat_map(|step| step.iter()))
                .map(|(one, by)| Parameter {
                    value: (one.value + by).max(one.least),
                    ..*one
                })
                .collect();
            // Beyond liquid water is no way down.
            match problem.misfits(&next, errors_pa) {
                Ok(Some(there)) if next.len() == at.len() && there.norm_squared() < before => {
                    moved = there.norm_squared() < before - 1e-4;
                    (*at, here) = (next, there);
                    damping = (damping * 0.1).max(1e-9);
                    break;
                }
                _ => damping *= 10.0,
            }
        }
        normal = Some(own);
        if !moved {
            break;
        }
    }
    Ok(normal
        .and_then(|normal| normal.variances())
        .map(|variances| (here.norm_squared(), variances)))
}

/// How every misfit moves with each parameter, a column each.
fn slopes(
    problem: &Problem<'_>,
    at: &[Parameter],
    errors_pa: &[f64],
    here: &DVector<f64>,
) -> Result<Option<DMatrix<f64>>, OutOfRange> {
    let mut columns = Vec::new();
    for place in 0..at.len() {
        let mut moved = at.to_vec();
        let mut step = 1.0;
        if let Some(one) = moved.get_mut(place) {
            one.value += one.step;
            step = one.step;
        }
        let Some(there) = problem.misfits(&moved, errors_pa)? else {
            return Ok(None);
        };
        columns.push((there - here) / step);
    }
    Ok(Some(DMatrix::from_columns(&columns)))
}

/// The normal matrix, scaled to ones on its diagonal: parameters of many units would else make it look singular.
struct Normal {
    scaled: DMatrix<f64>,
    scale: DVector<f64>,
}

impl Normal {
    /// `None` when a parameter moves nothing.
    fn of(slopes: &DMatrix<f64>) -> Option<Self> {
        let normal = slopes.tr_mul(slopes);
        let scale = normal.diagonal().map(f64::sqrt);
        if scale.iter().any(|one| !(one.is_finite() && *one > 0.0)) {
            return None;
        }
        let both = &scale * scale.transpose();
        Some(Self {
            scaled: normal.component_div(&both),
            scale,
        })
    }

    /// The damped step down.
    fn step(&self, downhill: &DVector<f64>, damping: f64) -> Option<DVector<f64>> {
        let size = self.scale.len();
        let damped = &self.scaled + DMatrix::identity(size, size) * damping;
        let step = damped.cholesky()?.solve(&downhill.component_div(&self.scale));
        Some(step.component_div(&self.scale))
    }

    fn variances(&self) -> Option<Vec<f64>> {
        let inverse = self.scaled.clone().cholesky()?.inverse();
        let of_each = inverse.diagonal().component_div(&self.scale.component_mul(&self.scale));
        Some(of_each.iter().copied().collect())
    }
}

/// The charges of the one tank that explain all readings: fitted from below static and from above it, the worse one left out where it
/// is worse by three standard errors.
pub(super) fn of_charge(
    system: &System,
    readings: &[GaugeReading],
    test: &Test,
    errors: &Errors,
    starts_abs_pa: [Option<f64>; 2],
) -> Result<[Option<Fit>; 2], OutOfRange> {
    let static_abs_pa = test.before_gauge_pa + system.air_abs_pa() - system.column_pa();
    let side = |fit: &Fit| {
        fit.charge_abs_pa
            .is_some_and(|charge| charge.value > static_abs_pa + 0.5 * PA_PER_PSI)
    };
    let mut found = [None, None];
    for start in starts_abs_pa.into_iter().flatten() {
        if let Some(fit) = fit(system, readings, test, errors, Start::Charge(start))? {
            let at = usize::from(side(&fit));
            if let Some(place) = found.get_mut(at) {
                let better = |kept: &Fit| fit.chi_square < kept.chi_square;
                if place.as_ref().is_none_or(better) {
                    *place = Some(fit);
                }
            }
        }
    }
    if let [Some(low), Some(high)] = found {
        if low.chi_square + 9.0 < high.chi_square {
            found[1] = None;
        } else if high.chi_square + 9.0 < low.chi_square {
            found[0] = None;
        }
    }
    Ok(found)
}
