//! From the gauge: what pressures read before and after a heating, and while the system stands, say about the plumbing.
//!
//! The balance of water, walls and tank that foretells a pressure is run backwards: the pressure is known, and the water that something
//! else than pipe and heater took is what it gives ([`Sealed::taken_l`]). Errors of the readings are carried through by moving each one
//! by its own standard error and adding the effects as squares (law of propagation of uncertainty, JCGM 100 5.1.2). `[gum]`

mod decay;
mod fit;
mod next;
mod tank;

use super::existing::{self, TankState};
use super::pressure::Sealed;
use super::system::System;
use crate::physics::OutOfRange;
use crate::units::{PA_PER_PSI, k_from_c};
use serde::Serialize;

pub use decay::Decay;
pub use fit::Fit;
pub use next::Next;
pub use tank::{high_charge_abs_pa, low_charge_abs_pa};

/// Standard errors of the readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Errors {
    /// Of a pressure, Pa. A gauge of 2.5 % of 100 psi reads to some 1 psi. `[judgement]`
    pub gauge_pa: f64,
    /// Of a temperature of the stored water, K: its layers are not seen. `[judgement]`
    pub temperature_k: f64,
    /// Of the heated volume, as a share of it: a label is within 5 to 10 %. `[judgement]`
    pub volume_share: f64,
    /// Of the give of pipe and heater, as a share of it: heads flex, hoses swell. `[judgement]`
    pub give_share: f64,
}

impl Default for Errors {
    fn default() -> Self {
        Self {
            gauge_pa: PA_PER_PSI,
            temperature_k: 1.5,
            volume_share: 0.05,
            give_share: 0.5,
        }
    }
}

/// What went on while a reading was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doing {
    /// Before the heating: taps shut, nothing heats.
    Rest,
    /// The heater runs, taps shut.
    Heating,
    /// After it: nothing heats, taps shut.
    Stand,
}

impl Doing {
    /// All of them with the name that files use.
    pub const NAMES: [(&'static str, Doing); 3] = [
        ("rest", Doing::Rest),
        ("heating", Doing::Heating),
        ("stand", Doing::Stand),
    ];

    /// Reads the name, in English or Spanish.
    pub fn parse(text: &str) -> Option<Self> {
        match text.trim().to_lowercase().as_str() {
            "rest" | "before" | "reposo" | "antes" => Some(Self::Rest),
            "heating" | "heat" | "calentando" => Some(Self::Heating),
            "stand" | "decay" | "after" | "quieto" | "después" | "despues" => Some(Self::Stand),
            _ => None,
        }
    }
}

/// One reading of the gauge.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GaugeReading {
    /// Time, minutes from any start.
    pub minute: f64,
    /// Pressure, Pa gauge.
    pub gauge_pa: f64,
    /// Temperature of the stored water, °C, when it was read.
    pub water_c: Option<f64>,
    /// What went on.
    pub doing: Doing,
}

/// Closed, open or not to be told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadClosed {
    /// It rose as only closed plumbing does.
    Closed,
    /// It did not rise although closed plumbing, tank and all, would have.
    Open,
    /// The readings do not tell.
    Unsettled,
}

/// What the readings say of the tank.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ReadTank {
    /// It took what its precharge foretells.
    AsCharged,
    /// It took less: its charge is below what was told.
    LostCharge,
    /// It took hardly anything: full of water, or shut off.
    TakesNothing,
    /// It took less, and only at the end: it is charged above static.
    ChargedHigh,
    /// It took more than it can at that precharge: another volume or precharge, or air elsewhere.
    TakesMore,
    /// The readings do not tell.
    Unsettled,
}

/// A figure with its standard error.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Figure {
    /// The figure.
    pub value: f64,
    /// Its standard error.
    pub error: f64,
}

impl Figure {
    /// In another unit.
    fn times(self, factor: f64) -> Self {
        Self {
            value: self.value * factor,
            error: self.error * factor,
        }
    }

    /// Two standard errors below and above: about 95 %.
    pub fn range(self) -> [f64; 2] {
        [self.value - 2.0 * self.error, self.value + 2.0 * self.error]
    }
}

/// What the readings say. Pressures kPa, volumes L, temperatures °C.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GaugeAnswer {
    /// Name and version of this form.
    pub schema: &'static str,
    /// Pressure before the heating, kPa gauge.
    pub before_gauge_kpa: f64,
    /// Highest pressure of the heating, kPa gauge.
    pub after_gauge_kpa: f64,
    /// Rise that was read, kPa.
    pub rise_kpa: Figure,
    /// Rise of closed plumbing with nothing to take the water, kPa; null beyond the water formulation.
    pub rise_bare_kpa: Option<f64>,
    /// Rise of closed plumbing with the tank as told, kPa; null without one, or where nothing bounds it.
    pub rise_with_tank_kpa: Option<f64>,
    /// Water that the heating brought, L.
    pub gain_l: f64,
    /// Water that something else than pipe and heater took, L.
    pub taken_l: Figure,
    /// Give of everything but the water itself, L/kPa; null when nothing rose.
    pub give_l_per_kpa: Option<Figure>,
    /// Give of pipe and heater as computed, L/kPa.
    pub walls_l_per_kpa: f64,
    /// Closed or not.
    pub closed: ReadClosed,
    /// The tank; null without one told.
    pub tank: Option<ReadTank>,
    /// Precharge at or below static that explains the readings, kPa gauge; null without exactly one tank told.
    pub precharge_gauge_kpa: Option<Figure>,
    /// The one above static that explains them as well: a tank takes as little when it is charged too high.
    pub precharge_or_gauge_kpa: Option<Figure>,
    /// Whether something that was not told took water: air, a hose, a tank behind a wall.
    pub untold_give: bool,
    /// What stood after the heating; null without readings of it.
    pub decay: Option<Decay>,
    /// All readings together; null where nothing rose, or too few can be computed.
    pub fit: Option<Fit>,
    /// What to measure next; empty when the readings settle it.
    pub next: Vec<Next>,
}

/// Why readings cannot be used.
#[derive(Debug, Clone, PartialEq)]
pub enum Unusable {
    /// No reading at rest with a temperature.
    NoRest,
    /// No reading while heating, with a temperature.
    NoHeating,
    /// The water did not warm between them.
    NotWarmed,
    /// Outside liquid water.
    OutOfRange(OutOfRange),
}

impl From<OutOfRange> for Unusable {
    fn from(error: OutOfRange) -> Self {
        Self::OutOfRange(error)
    }
}

/// The readings reduced to what the balance needs.
#[derive(Debug, Clone, Copy)]
struct Test {
    before_gauge_pa: f64,
    after_gauge_pa: f64,
    cold_c: f64,
    hot_c: f64,
    volume_share: f64,
    give_share: f64,
    /// Readings that the rest is the mean of.
    rests: f64,
}

/// Reads what the gauge says about a system; its static pressure and temperatures are those of the readings.
///
/// # Errors
/// When the readings hold no heating, or lie outside liquid water.
pub fn read(system: &System, readings: &[GaugeReading], errors: &Errors) -> Result<GaugeAnswer, Unusable> {
    let test = reduce(readings)?;
    let sealed = sealed_of(system, &test);
    let rise_pa = test.after_gauge_pa - test.before_gauge_pa;
    // The rest is a mean of its readings; the end of the heating is one.
    let rise_error_pa = errors.gauge_pa * (1.0 + 1.0 / test.rests).sqrt();
    let rise_of = |abs_pa: Option<f64>| abs_pa.map(|abs_pa| (abs_pa - sealed.start_abs_pa).max(0.0));
    let rise_bare_pa = rise_of(sealed.pressure_abs_pa(test.hot_c)?);
    let tanks = states_at(system, &test);
    let rise_with_tank_pa = if tanks.is_empty() {
        None
    } else {
        rise_of(existing::end_with_give_abs_pa(
            &tanks,
            &sealed,
            test.hot_c,
            system.column_pa(),
        )?)
    };
    let taken = propagated(&test, errors, &|test| taken_l(system, test))?;
    let settled_rise = rise_pa > 3.0 * rise_error_pa;
    let give = if settled_rise {
        Some(propagated(&test, errors, &|test| give_l_per_pa(system, test))?)
    } else {
        None
    };
    // Closed plumbing rises by this much with the tank that was told; without one by the bare figure, which is far more.
    let least_pa = rise_with_tank_pa.or(rise_bare_pa).unwrap_or(f64::INFINITY);
    let closed = if settled_rise {
        ReadClosed::Closed
    } else if least_pa > 10.0 * rise_error_pa || (rise_pa <= 2.0 * rise_error_pa && least_pa > 5.0 * rise_error_pa) {
        // Far less than closed plumbing would have risen, whichever way the gauge erred.
        ReadClosed::Open
    } else {
        ReadClosed::Unsettled
    };
    let charges = tank::charges(system, readings, &test, errors)?;
    let fit = fitted(system, readings, &test, errors, settled_rise, give, charges.fit)?;
    // All readings together tell the give better than the first and the last.
    let give = match fit.and_then(|fit| fit.give_l_per_pa) {
        Some(fitted) => Some(fitted),
        None => give,
    };
    let tank = (!tanks.is_empty()).then(|| {
        tank::judge_tank(&tank::TankEvidence {
            system,
            test: &test,
            closed,
            taken,
            rise_pa,
            rise_error_pa,
            rise_with_tank_pa,
            charges,
        })
    });
    let gain_l = gain_l(&sealed, &test)?;
    let mut answer = GaugeAnswer {
        schema: "brimwater.expansion-reading/1",
        before_gauge_kpa: test.before_gauge_pa / 1e3,
        after_gauge_kpa: test.after_gauge_pa / 1e3,
        rise_kpa: Figure {
            value: rise_pa / 1e3,
            error: rise_error_pa / 1e3,
        },
        rise_bare_kpa: rise_bare_pa.map(|pascal| pascal / 1e3),
        rise_with_tank_kpa: rise_with_tank_pa.map(|pascal| pascal / 1e3),
        gain_l,
        taken_l: taken,
        give_l_per_kpa: give.map(|figure| figure.times(1e3)),
        walls_l_per_kpa: sealed.stretch_l_per_pa * 1e3,
        closed,
        tank,
        precharge_gauge_kpa: charges.low.map(|figure| as_set_kpa(system, figure)),
        precharge_or_gauge_kpa: charges.high.map(|figure| as_set_kpa(system, figure)),
        untold_give: tanks.is_empty() && settled_rise && taken.value > 2.0 * taken.error,
        decay: decay::decay(&sealed, &test, readings, errors, gain_l, fit)?,
        fit,
        next: Vec::new(),
    };
    answer.next = next::next(&answer, system, &test, rise_error_pa)?;
    Ok(answer)
}

/// The fit of all readings, where they rose: with the tank's charge, with the give of plumbing without a tank, or with tanks as told.
fn fitted(
    system: &System,
    readings: &[GaugeReading],
    test: &Test,
    errors: &Errors,
    settled_rise: bool,
    give: Option<Figure>,
    of_charge: Option<Fit>,
) -> Result<Option<Fit>, OutOfRange> {
    match (system.existing.len(), give) {
        _ if !settled_rise => Ok(None),
        (0, Some(give)) => fit::fit(system, readings, test, errors, fit::Start::Give(give.value.max(0.0))),
        (0, None) => Ok(None),
        (1, _) => Ok(of_charge),
        _ => fit::fit(system, readings, test, errors, fit::Start::AsTold),
    }
}

/// A charge, Pa absolute in service, as the gauge at the air valve shows it at the temperature at which it is set, kPa.
fn as_set_kpa(system: &System, figure: Figure) -> Figure {
    let warmth = system
        .tank_ambient_c
        .map_or(1.0, |ambient_c| k_from_c(system.precharge_set_c) / k_from_c(ambient_c));
    Figure {
        value: (figure.value * warmth - system.air_abs_pa()) / 1e3,
        error: figure.error * warmth / 1e3,
    }
}

/// The mean of the readings at rest, and the highest of the heating.
fn reduce(readings: &[GaugeReading]) -> Result<Test, Unusable> {
    let rest: Vec<&GaugeReading> = readings.iter().filter(|each| each.doing == Doing::Rest).collect();
    let mean = |values: &[f64]| (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64);
    let before: Vec<f64> = rest.iter().map(|each| each.gauge_pa).collect();
    let colds: Vec<f64> = rest.iter().filter_map(|each| each.water_c).collect();
    let (Some(before_gauge_pa), Some(cold_c)) = (mean(&before), mean(&colds)) else {
        return Err(Unusable::NoRest);
    };
    // The last reading of the heating is its end; a highest one would pick the luckiest error.
    let last = readings
        .iter()
        .filter(|each| each.doing == Doing::Heating && each.water_c.is_some())
        .max_by(|a, b| a.minute.total_cmp(&b.minute))
        .ok_or(Unusable::NoHeating)?;
    let hot_c = last.water_c.ok_or(Unusable::NoHeating)?;
    if hot_c <= cold_c {
        return Err(Unusable::NotWarmed);
    }
    Ok(Test {
        before_gauge_pa,
        after_gauge_pa: last.gauge_pa,
        cold_c,
        hot_c,
        volume_share: 1.0,
        give_share: 1.0,
        rests: before.len() as f64,
    })
}

/// The sealed plumbing of a test.
fn sealed_of(system: &System, test: &Test) -> Sealed {
    let mut own = system.clone();
    own.cold_c = test.cold_c;
    own.hot_c = test.hot_c;
    own.static_gauge_pa = test.before_gauge_pa;
    for heater in &mut own.heaters {
        heater.hot_c = None;
        heater.volume_l *= test.volume_share;
    }
    let mut sealed = Sealed::of(&own);
    sealed.stretch_l_per_pa *= test.give_share;
    sealed
}

fn states_at(system: &System, test: &Test) -> Vec<TankState> {
    let mut own = system.clone();
    own.static_gauge_pa = test.before_gauge_pa;
    existing::states(&own)
}

/// Water that something else than pipe and heater took, L.
fn taken_l(system: &System, test: &Test) -> Result<f64, OutOfRange> {
    let air_pa = system.air_abs_pa();
    sealed_of(system, test).taken_l(test.hot_c, test.after_gauge_pa + air_pa)
}

/// Water that the heating brought, at the pressure before it, L.
fn gain_l(sealed: &Sealed, test: &Test) -> Result<f64, OutOfRange> {
    gain_l_at(sealed, test.hot_c)
}

/// The same up to another temperature, °C.
fn gain_l_at(sealed: &Sealed, celsius: f64) -> Result<f64, OutOfRange> {
    sealed.taken_l(celsius, sealed.start_abs_pa)
}

/// Give of all but the water itself over the rise, L/Pa: what something else took, and what the walls gave.
fn give_l_per_pa(system: &System, test: &Test) -> Result<f64, OutOfRange> {
    let rise_pa = (test.after_gauge_pa - test.before_gauge_pa).max(1.0);
    let walls_l = sealed_of(system, test).stretch_l_per_pa * rise_pa;
    Ok((taken_l(system, test)? + walls_l) / rise_pa)
}

/// A figure of the readings with its standard error: each reading moved by its own, the effects added as squares.
fn propagated(
    test: &Test,
    errors: &Errors,
    figure: &dyn Fn(&Test) -> Result<f64, OutOfRange>,
) -> Result<Figure, OutOfRange> {
    let value = figure(test)?;
    let moved: [Test; 6] = [
        Test {
            before_gauge_pa: test.before_gauge_pa + errors.gauge_pa / test.rests.sqrt(),
            ..*test
        },
        Test {
            after_gauge_pa: test.after_gauge_pa + errors.gauge_pa,
            ..*test
        },
        Test {
            cold_c: test.cold_c + errors.temperature_k / test.rests.sqrt(),
            ..*test
        },
        Test {
            hot_c: test.hot_c + errors.temperature_k,
            ..*test
        },
        Test {
            volume_share: test.volume_share + errors.volume_share,
            ..*test
        },
        Test {
            give_share: test.give_share + errors.give_share,
            ..*test
        },
    ];
    let mut squares = 0.0;
    for test in &moved {
        squares += (figure(test)? - value).powi(2);
    }
    Ok(Figure {
        value,
        error: squares.sqrt(),
    })
}
