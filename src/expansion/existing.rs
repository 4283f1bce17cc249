//! Is the tank that is there any use: what it can still take, and the pressure it ends at.

use super::pressure::Sealed;
use super::system::System;
use super::tank::{at_tank_abs_pa, diaphragm_tank_l, precharge_at_abs_pa};
use super::volume::Demand;
use super::words::{Charge, Note, OfTank, There, Which, say_all};
use crate::language::Tongue;
use crate::physics::OutOfRange;
use crate::units::PA_PER_PSI;
use serde::Serialize;

/// A tank that is in place.
#[derive(Debug, Clone, PartialEq)]
pub struct ExistingTank {
    /// Total volume, L.
    pub volume_l: f64,
    /// Precharge, Pa gauge, read at the air valve with the tank isolated and drained.
    pub precharge_gauge_pa: f64,
    /// Most water that the diaphragm lets in, L, from the label.
    pub max_acceptance_l: Option<f64>,
    /// Highest working pressure, Pa gauge, from the label.
    pub max_gauge_pa: Option<f64>,
    /// Whether water came out of the air valve: the diaphragm has failed.
    pub water_at_air_valve: bool,
}

impl ExistingTank {
    /// A sound tank of this volume (L) and precharge (Pa gauge), its label not read.
    pub fn new(volume_l: f64, precharge_gauge_pa: f64) -> Self {
        Self {
            volume_l,
            precharge_gauge_pa,
            max_acceptance_l: None,
            max_gauge_pa: None,
            water_at_air_valve: false,
        }
    }
}

/// The balance of one tank, all pressures Pa absolute at the tank.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TankState {
    /// Total volume, L.
    pub volume_l: f64,
    /// Precharge at the temperature of service, Pa absolute.
    pub precharge_abs_pa: f64,
    /// Most water that it holds, L.
    pub most_water_l: f64,
}

impl TankState {
    /// Water held at a pressure (Pa absolute), L: V·(1 − Pc/P), none below the precharge, no more than it may hold.
    pub fn water_l(&self, abs_pa: f64) -> f64 {
        (self.volume_l * (1.0 - self.precharge_abs_pa / abs_pa)).clamp(0.0, self.most_water_l)
    }

    /// Water it can take between two pressures (Pa absolute), L.
    pub fn usable_l(&self, static_abs_pa: f64, limit_abs_pa: f64) -> f64 {
        (self.water_l(limit_abs_pa) - self.water_l(static_abs_pa)).max(0.0)
    }

    /// How fast the water held grows with pressure (Pa absolute), L/Pa: V·Pc/P² while it fills, else 0.
    pub fn slope_l_per_pa(&self, abs_pa: f64) -> f64 {
        let water_l = self.volume_l * (1.0 - self.precharge_abs_pa / abs_pa);
        if water_l > 0.0 && water_l < self.most_water_l {
            self.volume_l * self.precharge_abs_pa / (abs_pa * abs_pa)
        } else {
            0.0
        }
    }

    /// As [`end_with_give_abs_pa`] for this tank alone.
    ///
    /// # Errors
    /// A temperature or pressure outside liquid water.
    pub fn end_with_give_abs_pa(&self, sealed: &Sealed, hot_c: f64, column_pa: f64) -> Result<Option<f64>, OutOfRange> {
        end_with_give_abs_pa(std::slice::from_ref(self), sealed, hot_c, column_pa)
    }

    /// As [`final_abs_pa`] for this tank alone.
    pub fn final_abs_pa(&self, demand_l: f64, static_abs_pa: f64, give_l_per_pa: f64) -> Option<f64> {
        final_abs_pa(std::slice::from_ref(self), demand_l, static_abs_pa, give_l_per_pa)
    }
}

/// Water that tanks side by side hold at a pressure (Pa absolute), L.
pub fn water_l(tanks: &[TankState], abs_pa: f64) -> f64 {
    tanks.iter().map(|tank| tank.water_l(abs_pa)).sum()
}

/// Water that tanks side by side can take between two pressures (Pa absolute), L.
pub fn usable_l(tanks: &[TankState], static_abs_pa: f64, limit_abs_pa: f64) -> f64 {
    tanks
        .iter()
        .map(|tank| tank.usable_l(static_abs_pa, limit_abs_pa))
        .sum()
}

/// Pressure where the gauge reads, Pa absolute, after the plumbing was heated to `hot_c` (°C) with these tanks on it, side by side, by
/// the balance of water, walls and tanks; `column_pa` is the water column from gauge up to tank. `Ok(None)` beyond 100 MPa.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn end_with_give_abs_pa(
    tanks: &[TankState],
    sealed: &Sealed,
    hot_c: f64,
    column_pa: f64,
) -> Result<Option<f64>, OutOfRange> {
    end_with_give_near_abs_pa(tanks, sealed, hot_c, column_pa, None)
}

/// The same, looked for first near a pressure (Pa absolute where the gauge reads).
fn end_with_give_near_abs_pa(
    tanks: &[TankState],
    sealed: &Sealed,
    hot_c: f64,
    column_pa: f64,
    near_abs_pa: Option<f64>,
) -> Result<Option<f64>, OutOfRange> {
    // Below the tank's own height nothing of the column is left: the tank holds what it holds at a hundredth of an atmosphere.
    let at_tank = |abs_pa: f64| (abs_pa - column_pa).max(1e3);
    let at_rest_l = water_l(tanks, at_tank(sealed.start_abs_pa));
    sealed.pressure_near_abs_pa(hot_c, near_abs_pa, &|abs_pa| {
        let here_pa = at_tank(abs_pa);
        let slope = tanks.iter().map(|tank| tank.slope_l_per_pa(here_pa)).sum();
        (water_l(tanks, here_pa) - at_rest_l, slope)
    })
}

/// Beyond this no pressure is looked for, Pa absolute.
const HIGHEST_SOUGHT_PA: f64 = 1e9;

/// Pressure, Pa absolute, after tanks side by side took up `demand_l` (L) from `static_abs_pa`, in plumbing that gives `give_l_per_pa`.
///
/// `None` when the tanks are full before that and the plumbing gives nothing: then nothing bounds the pressure.
pub fn final_abs_pa(tanks: &[TankState], demand_l: f64, static_abs_pa: f64, give_l_per_pa: f64) -> Option<f64> {
    final_misread_abs_pa(tanks, 0.0, demand_l, static_abs_pa, give_l_per_pa)
}

/// As [`final_abs_pa`] with every precharge off by `by_pa` (Pa).
///
/// Between the pressures at which a tank begins to fill or is full, the water held is `A − B/P`, so that the balance with a steady give
/// has its root in closed form there.
fn final_misread_abs_pa(
    tanks: &[TankState],
    by_pa: f64,
    demand_l: f64,
    static_abs_pa: f64,
    give_l_per_pa: f64,
) -> Option<f64> {
    if demand_l <= 0.0 {
        return Some(static_abs_pa);
    }
    let charge = |tank: &TankState| match by_pa {
        0.0 => tank.precharge_abs_pa,
        by_pa => (tank.precharge_abs_pa + by_pa).max(1.0),
    };
    let full = |tank: &TankState| {
        let room_l = tank.volume_l - tank.most_water_l;
        if room_l > 0.0 {
            tank.volume_l * charge(tank) / room_l
        } else {
            f64::INFINITY
        }
    };
    let held =
        |tank: &TankState, abs_pa: f64| (tank.volume_l * (1.0 - charge(tank) / abs_pa)).clamp(0.0, tank.most_water_l);
    let at_rest_l: f64 = tanks.iter().map(|tank| held(tank, static_abs_pa)).sum();
    // Water that tanks and give hold in the end, the give reckoned from no pressure at all.
    let target_l = demand_l + at_rest_l + give_l_per_pa * static_abs_pa;
    let mut from_pa = static_abs_pa;
    // Each tank begins and ends its filling once.
    for _ in 0..=2 * tanks.len() {
        let bends = tanks.iter().flat_map(|tank| [charge(tank), full(tank)]);
        let to_pa = bends.filter(|pascal| *pascal > from_pa).fold(f64::INFINITY, f64::min);
        let (mut held_l, mut gas_l_pa) = (0.0, 0.0);
        for tank in tanks {
            if full(tank) <= from_pa {
                held_l += tank.most_water_l;
            } else if charge(tank) <= from_pa {
                held_l += tank.volume_l;
                gas_l_pa += tank.volume_l * charge(tank);
            }
        }
        // give·P² + (held − target)·P − gas = 0, in the form that does not cancel.
        let lacking_l = held_l - target_l;
        let root = lacking_l.hypot(2.0 * (give_l_per_pa * gas_l_pa).sqrt());
        let end_pa = if lacking_l > 0.0 {
            2.0 * gas_l_pa / (lacking_l + root)
        } else if give_l_per_pa > 0.0 {
            (root - lacking_l) / (2.0 * give_l_per_pa)
        } else {
            f64::INFINITY
        };
        if end_pa <= to_pa {
            return (end_pa <= HIGHEST_SOUGHT_PA).then_some(end_pa.max(from_pa));
        }
        from_pa = to_pa;
    }
    None
}

/// How a tank stands against the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// It holds the limit with the readings as they are.
    Enough,
    /// It passes the limit by less than the readings and the give of the plumbing are sure to.
    Marginal,
    /// It passes the limit by more.
    NotEnough,
}

/// What the tanks that are there do, side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExistingAnswer<W = String> {
    /// How many there are.
    pub count: usize,
    /// Water that they can take between static and the limit, L.
    pub usable_l: f64,
    /// Water that they hold at static pressure, L.
    pub water_at_rest_l: f64,
    /// Pressure after heating with the tanks alone taking the water, kPa gauge where the static gauge reads; null when
    /// nothing bounds it.
    pub final_gauge_kpa: Option<f64>,
    /// The same with the give of heater and pipe, which is less.
    pub final_with_give_gauge_kpa: Option<f64>,
    /// Limit less final pressure, kPa; negative when passed.
    pub margin_kpa: Option<f64>,
    /// How far the end pressure may be off, kPa: static and precharge read to 1 psi, demand to 3 %, and the give of heater and pipe.
    /// `[judgement]`
    pub uncertainty_kpa: f64,
    /// The same as water that the tanks take near the limit, L.
    pub uncertainty_l: f64,
    /// How they stand as they are.
    pub verdict: Verdict,
    /// How they would stand with every precharge set to static.
    pub verdict_when_reset: Verdict,
    /// Whether every precharge is within 2 psi of static.
    pub precharge_near_static: bool,
    /// Whether they hold the limit as they are.
    pub adequate: bool,
    /// Whether they would hold the limit with every precharge set to static.
    pub adequate_when_reset: bool,
    /// What was found.
    pub findings: Vec<W>,
}

impl ExistingAnswer<Note> {
    /// With its words.
    pub fn said(self, tongue: Tongue) -> ExistingAnswer {
        ExistingAnswer {
            count: self.count,
            usable_l: self.usable_l,
            water_at_rest_l: self.water_at_rest_l,
            final_gauge_kpa: self.final_gauge_kpa,
            final_with_give_gauge_kpa: self.final_with_give_gauge_kpa,
            margin_kpa: self.margin_kpa,
            uncertainty_kpa: self.uncertainty_kpa,
            uncertainty_l: self.uncertainty_l,
            verdict: self.verdict,
            verdict_when_reset: self.verdict_when_reset,
            precharge_near_static: self.precharge_near_static,
            adequate: self.adequate,
            adequate_when_reset: self.adequate_when_reset,
            findings: say_all(self.findings, tongue),
        }
    }
}

/// How the tanks that are there stand: all of it that decides what is advised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standing {
    /// Water that they can take between static and the limit, L.
    pub usable_l: f64,
    /// The same with every precharge set to static, L.
    pub usable_when_reset_l: f64,
    /// Pressure after heating with the tanks alone taking the water, Pa gauge where the static gauge reads; `None`: unbounded.
    pub final_gauge_pa: Option<f64>,
    /// Limit less final pressure, Pa; negative when passed.
    pub margin_pa: Option<f64>,
    /// How far the end pressure may be off, Pa; looked for only where it decides, and [`MOST_UNSURE_PA`] elsewhere.
    pub unsure_pa: f64,
    /// The same as water that the tanks take near the limit, L.
    pub unsure_l: f64,
    /// How they stand as they are.
    pub verdict: Verdict,
    /// How they would stand with every precharge set to static.
    pub verdict_when_reset: Verdict,
    /// Limit less the pressure that they would end at then, Pa; negative when passed.
    pub margin_when_reset_pa: Option<f64>,
    /// How far that may be off, Pa; as `unsure_pa`.
    pub unsure_when_reset_pa: f64,
    /// How far the precharge that is farthest from static lies from what still counts as near it, Pa; negative where all are near.
    pub off_static_pa: f64,
}

impl Standing {
    /// Whether every precharge is within 2 psi of static.
    pub fn precharge_near_static(&self) -> bool {
        self.off_static_pa <= 0.0
    }
}

/// The state of a tank that is there at its temperature of service.
pub fn state(system: &System, tank: &ExistingTank) -> TankState {
    let set_abs_pa = tank.precharge_gauge_pa + system.air_abs_pa();
    let now_abs_pa = match system.tank_ambient_c {
        Some(ambient_c) => precharge_at_abs_pa(set_abs_pa, system.precharge_set_c, ambient_c),
        None => set_abs_pa,
    };
    TankState {
        volume_l: tank.volume_l,
        precharge_abs_pa: now_abs_pa,
        most_water_l: if tank.water_at_air_valve {
            0.0
        } else {
            tank.max_acceptance_l.unwrap_or(tank.volume_l).min(tank.volume_l)
        },
    }
}

/// The states of all tanks that are there.
pub fn states(system: &System) -> Vec<TankState> {
    system.existing.iter().map(|tank| state(system, tank)).collect()
}

/// The same with every precharge set to static (Pa absolute at the tank).
pub fn states_when_reset(tanks: &[TankState], static_abs_pa: f64) -> Vec<TankState> {
    tanks
        .iter()
        .map(|tank| TankState {
            precharge_abs_pa: static_abs_pa,
            ..*tank
        })
        .collect()
}

/// Below this a precharge is taken as lost, Pa gauge: 2 psi, the reach of a tyre gauge. `[judgement]`
pub(super) const LOST_PRECHARGE_PA: f64 = 2.0 * PA_PER_PSI;
/// A precharge within this of static is as it should be, Pa: 2 psi. `[judgement]`
const NEAR_STATIC_PA: f64 = 2.0 * PA_PER_PSI;

/// Whether the tank is taken as failed: water at the air valve, or no precharge left.
pub fn has_failed(tank: &ExistingTank) -> bool {
    tank.water_at_air_valve || tank.precharge_gauge_pa < LOST_PRECHARGE_PA
}

/// The tanks that are there under the pressures that count, with what is asked of them.
struct Load<'a> {
    system: &'a System,
    demand_l: f64,
    static_abs_pa: f64,
    limit_abs_pa: f64,
    tanks: Vec<TankState>,
    reset: Vec<TankState>,
    /// Whether there is room between static and limit.
    room: bool,
    any_holds: bool,
    any_works: bool,
}

impl<'a> Load<'a> {
    /// `None` when there is no tank.
    fn of(system: &'a System, demand: &Demand) -> Option<Self> {
        if system.existing.is_empty() {
            return None;
        }
        let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
        let tanks = states(system);
        Some(Self {
            system,
            demand_l: demand.volume_l,
            static_abs_pa,
            limit_abs_pa,
            reset: states_when_reset(&tanks, static_abs_pa),
            tanks,
            room: limit_abs_pa > static_abs_pa && static_abs_pa > 0.0,
            any_holds: system.existing.iter().any(|tank| !tank.water_at_air_valve),
            any_works: system.existing.iter().any(|tank| !has_failed(tank)),
        })
    }

    fn takes_l(&self, tanks: &[TankState]) -> f64 {
        if self.room {
            usable_l(tanks, self.static_abs_pa, self.limit_abs_pa)
        } else {
            0.0
        }
    }

    fn enough(&self, tanks: &[TankState]) -> bool {
        self.room && self.any_holds && self.takes_l(tanks) >= self.demand_l - 1e-9
    }

    fn end_abs_pa(&self, tanks: &[TankState]) -> Option<f64> {
        final_abs_pa(tanks, self.demand_l, self.static_abs_pa, 0.0)
    }

    /// The end with the give of heater and pipe; `end` without it, from which it is looked for.
    fn with_give_abs_pa(&self, tanks: &[TankState], end: Option<f64>) -> Result<Option<f64>, OutOfRange> {
        let column_pa = self.system.column_pa();
        end_with_give_near_abs_pa(
            tanks,
            &Sealed::of(self.system),
            self.system.hot_c,
            column_pa,
            end.map(|abs_pa| abs_pa + column_pa),
        )
    }

    /// From the pressure at the tank to that at the gauge, Pa gauge.
    fn to_gauge_pa(&self, abs_pa: f64) -> f64 {
        abs_pa - self.system.air_abs_pa() + self.system.column_pa()
    }

    /// The verdict on tanks that end at `end` (Pa absolute), and how unsure that is where it decides, Pa.
    fn verdict(&self, tanks: &[TankState], end: Option<f64>) -> Result<(Verdict, Option<f64>), OutOfRange> {
        if self.enough(tanks) {
            return Ok((Verdict::Enough, None));
        }
        Ok(match end {
            // No reading is excused by more than that, so nearer figures cannot change the verdict.
            Some(end) if self.room && self.any_works && end - self.limit_abs_pa <= MOST_UNSURE_PA => {
                let with_give_abs_pa = self.with_give_abs_pa(tanks, Some(end))?;
                let unsure_pa = self.unsure_pa(tanks, Some(end), with_give_abs_pa);
                let near = end - self.limit_abs_pa <= unsure_pa;
                (
                    if near { Verdict::Marginal } else { Verdict::NotEnough },
                    Some(unsure_pa),
                )
            }
            _ => (Verdict::NotEnough, None),
        })
    }

    fn unsure_pa(&self, tanks: &[TankState], end: Option<f64>, with_give_abs_pa: Option<f64>) -> f64 {
        uncertainty_pa(tanks, self.demand_l, self.static_abs_pa, end, with_give_abs_pa)
    }

    fn slope_l_per_pa(&self) -> f64 {
        self.tanks
            .iter()
            .map(|tank| tank.slope_l_per_pa(self.limit_abs_pa))
            .sum()
    }

    fn stand(&self) -> Result<Standing, OutOfRange> {
        let end = self.end_abs_pa(&self.tanks);
        let (verdict, unsure_pa) = self.verdict(&self.tanks, end)?;
        let end_when_reset = self.end_abs_pa(&self.reset);
        let (verdict_when_reset, unsure_when_reset_pa) = self.verdict(&self.reset, end_when_reset)?;
        let final_gauge_pa = end.map(|abs_pa| self.to_gauge_pa(abs_pa));
        let unsure_pa = unsure_pa.unwrap_or(MOST_UNSURE_PA);
        let off_static_pa = |tank: &TankState| (tank.precharge_abs_pa - self.static_abs_pa).abs() - NEAR_STATIC_PA;
        Ok(Standing {
            usable_l: self.takes_l(&self.tanks),
            usable_when_reset_l: self.takes_l(&self.reset),
            final_gauge_pa,
            margin_pa: final_gauge_pa.map(|pascal| self.system.limit_gauge_pa - pascal),
            unsure_pa,
            unsure_l: unsure_pa * self.slope_l_per_pa(),
            verdict,
            verdict_when_reset,
            margin_when_reset_pa: end_when_reset.map(|abs_pa| self.limit_abs_pa - abs_pa),
            unsure_when_reset_pa: unsure_when_reset_pa.unwrap_or(MOST_UNSURE_PA),
            off_static_pa: self.tanks.iter().map(off_static_pa).fold(f64::NEG_INFINITY, f64::max),
        })
    }
}

/// How the tanks that are there stand; `None` when there is none.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn stand(system: &System, demand: &Demand) -> Result<Option<Standing>, OutOfRange> {
    Load::of(system, demand).map(|load| load.stand()).transpose()
}

/// Checks the tanks that are there; `None` when there is none.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn check(system: &System, demand: &Demand) -> Result<Option<ExistingAnswer<Note>>, OutOfRange> {
    let Some(load) = Load::of(system, demand) else {
        return Ok(None);
    };
    let standing = load.stand()?;
    let end = load.end_abs_pa(&load.tanks);
    let with_give = load.with_give_abs_pa(&load.tanks, end)?;
    let unsure_pa = load.unsure_pa(&load.tanks, end, with_give);
    let start_abs_pa = system.static_gauge_pa + system.air_abs_pa();
    let mut answer = ExistingAnswer {
        count: load.tanks.len(),
        usable_l: standing.usable_l,
        water_at_rest_l: if load.static_abs_pa > 0.0 {
            water_l(&load.tanks, load.static_abs_pa)
        } else {
            0.0
        },
        final_gauge_kpa: standing.final_gauge_pa.map(|pascal| pascal / 1e3),
        // The supply follows in when the plumbing would fall below static.
        final_with_give_gauge_kpa: with_give.map(|abs_pa| (abs_pa.max(start_abs_pa) - system.air_abs_pa()) / 1e3),
        margin_kpa: standing.margin_pa.map(|pascal| pascal / 1e3),
        uncertainty_kpa: unsure_pa / 1e3,
        uncertainty_l: unsure_pa * load.slope_l_per_pa(),
        verdict: standing.verdict,
        verdict_when_reset: standing.verdict_when_reset,
        precharge_near_static: standing.precharge_near_static(),
        adequate: load.enough(&load.tanks),
        adequate_when_reset: load.enough(&load.reset),
        findings: Vec::new(),
    };
    answer.findings = findings(system, &load.tanks, &answer, demand);
    Ok(Some(answer))
}

/// Near a tank that is full the effects of readings grow without bound; no reading is excused by more than this, Pa: 5 psi. `[judgement]`
pub const MOST_UNSURE_PA: f64 = 5.0 * PA_PER_PSI;

/// How far the end pressure may be off, Pa: the effects of static and precharges misread by 1 psi and of a demand off by 3 %, added as
/// squares, with half of what the give of the plumbing would take off, at most 2 psi. `[judgement]`
fn uncertainty_pa(
    tanks: &[TankState],
    demand_l: f64,
    static_abs_pa: f64,
    end: Option<f64>,
    with_give_abs_pa: Option<f64>,
) -> f64 {
    let Some(end) = end else {
        return 0.0;
    };
    let moved = |other: Option<f64>| other.map_or(0.0, |pa| pa - end);
    // One gauge reads every precharge, so they are off together.
    let misread = |by_pa: f64| moved(final_misread_abs_pa(tanks, by_pa, demand_l, static_abs_pa, 0.0)).abs();
    let by_static = moved(final_abs_pa(tanks, demand_l, static_abs_pa + PA_PER_PSI, 0.0));
    let by_precharge = misread(PA_PER_PSI).max(misread(-PA_PER_PSI));
    let by_demand = moved(final_abs_pa(tanks, 1.03 * demand_l, static_abs_pa, 0.0));
    let by_give = with_give_abs_pa.map_or(0.0, |pa| (0.5 * (end - pa)).clamp(0.0, 2.0 * PA_PER_PSI));
    let squares = by_static.powi(2) + by_precharge.powi(2) + by_demand.powi(2) + by_give.powi(2);
    squares.sqrt().min(MOST_UNSURE_PA)
}

/// What is to be said of one tank's charge; `which` where several are there.
fn of_charge(system: &System, tank: &ExistingTank, state: &TankState, which: Option<Which>) -> Vec<Note> {
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let static_pa = static_abs_pa - system.air_abs_pa();
    let precharge_pa = state.precharge_abs_pa - system.air_abs_pa();
    let at_rest_l = if static_abs_pa > 0.0 {
        state.water_l(static_abs_pa)
    } else {
        0.0
    };
    let charged = |charge: Charge| Note::OfTank(OfTank::Charged { which, charge });
    let mut found = Vec::new();
    if tank.water_at_air_valve {
        found.push(charged(Charge::DiaphragmFailed));
    } else if tank.precharge_gauge_pa < LOST_PRECHARGE_PA {
        found.push(charged(Charge::Lost));
    } else if precharge_pa < static_pa - NEAR_STATIC_PA {
        found.push(charged(Charge::Under {
            precharge_pa,
            static_pa,
            at_rest_l,
            share: at_rest_l / tank.volume_l.max(f64::MIN_POSITIVE),
        }));
    } else if precharge_pa > static_pa + NEAR_STATIC_PA {
        found.push(charged(Charge::Over {
            precharge_pa,
            static_pa,
        }));
    }
    if state.precharge_abs_pa >= limit_abs_pa {
        found.push(charged(Charge::AboveLimit {
            limit_pa: system.limit_gauge_pa,
        }));
    }
    found
}

fn findings(system: &System, tanks: &[TankState], answer: &ExistingAnswer<Note>, demand: &Demand) -> Vec<Note> {
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let static_pa = static_abs_pa - system.air_abs_pa();
    let limit_pa = system.limit_gauge_pa;
    let count = tanks.len();
    let several = count > 1;
    let mut found = Vec::new();
    for (at, (tank, state)) in system.existing.iter().zip(tanks).enumerate() {
        let which = several.then_some(Which {
            number: at + 1,
            volume_l: tank.volume_l,
        });
        found.extend(of_charge(system, tank, state, which));
    }
    let no_room = system.static_gauge_pa >= limit_pa;
    if no_room {
        found.push(Note::OfTank(OfTank::NoTankHolds));
    }
    let most_l = system
        .existing
        .iter()
        .map(|tank| tank.max_acceptance_l)
        .sum::<Option<f64>>();
    let would_hold_l = answer.water_at_rest_l + demand.volume_l;
    if let Some(may_hold_l) = most_l
        && would_hold_l > may_hold_l + 1e-9
    {
        found.push(Note::there(
            count,
            There::OverAcceptance {
                would_hold_l,
                may_hold_l,
            },
        ));
    }
    if !no_room {
        found.push(Note::there(
            count,
            There::CanTakeMore {
                usable_l: answer.usable_l,
                limit_pa,
                demand_l: demand.volume_l.max(0.0),
            },
        ));
    }
    found.push(match answer.final_gauge_kpa.map(|kpa| kpa * 1e3) {
        None => Note::there(count, There::Unbounded),
        Some(reaches_pa) if reaches_pa >= system.heater_relief_gauge_pa => Note::OfTank(OfTank::WouldLift {
            reaches_pa,
            heater_relief_pa: system.heater_relief_gauge_pa,
        }),
        Some(ends_pa) if ends_pa <= limit_pa => Note::OfTank(OfTank::EndsBelow {
            ends_pa,
            by_pa: limit_pa - ends_pa,
        }),
        Some(ends_pa) => Note::OfTank(OfTank::EndsAbove {
            ends_pa,
            by_pa: ends_pa - limit_pa,
        }),
    });
    if answer.verdict == Verdict::Marginal {
        found.push(Note::there(
            count,
            There::IsMarginal {
                over_pa: -answer.margin_kpa.unwrap_or(0.0) * 1e3,
                unsure_pa: answer.uncertainty_kpa * 1e3,
                short_l: (demand.volume_l - answer.usable_l).max(0.0),
                unsure_l: answer.uncertainty_l,
            },
        ));
    }
    if !answer.adequate && answer.adequate_when_reset {
        found.push(Note::there(
            count,
            There::EnoughWhenSet {
                precharge_pa: static_pa,
            },
        ));
    } else if !answer.adequate
        && let Some(volume_l) = diaphragm_tank_l(demand.volume_l, static_abs_pa, limit_abs_pa)
    {
        found.push(Note::OfTank(OfTank::NeededInTotal {
            volume_l,
            precharge_pa: static_pa,
        }));
    }
    found
}
