//! Is the tank that is there any use: what it can still take, and the pressure it ends at.

use super::pressure::Sealed;
use super::system::System;
use super::tank::{at_tank_abs_pa, diaphragm_tank_l, precharge_at_abs_pa};
use super::volume::Demand;
use super::words::Note;
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
    /// Whether water came out of the air valve: the diaphragm has failed.
    pub water_at_air_valve: bool,
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

    /// Pressure where the gauge reads, Pa absolute, after the plumbing was heated to `hot_c` (°C) with this tank on it, by the
    /// balance of water, walls and tank; `column_pa` is the water column from gauge up to tank. `Ok(None)` beyond 100 MPa.
    ///
    /// # Errors
    /// A temperature or pressure outside liquid water.
    pub fn end_with_give_abs_pa(&self, sealed: &Sealed, hot_c: f64, column_pa: f64) -> Result<Option<f64>, OutOfRange> {
        // Below the tank's own height nothing of the column is left: the tank holds what it holds at a hundredth of an atmosphere.
        let at_tank = |abs_pa: f64| (abs_pa - column_pa).max(1e3);
        let at_rest_l = self.water_l(at_tank(sealed.start_abs_pa));
        sealed.pressure_with_abs_pa(hot_c, &|abs_pa| {
            let here_pa = at_tank(abs_pa);
            (self.water_l(here_pa) - at_rest_l, self.slope_l_per_pa(here_pa))
        })
    }

    /// Pressure, Pa absolute, after taking up `demand_l` (L) from `static_abs_pa`, in plumbing that gives `give_l_per_pa`.
    ///
    /// `None` when the tank is full before that and the plumbing gives nothing: then nothing bounds the pressure.
    pub fn final_abs_pa(&self, demand_l: f64, static_abs_pa: f64, give_l_per_pa: f64) -> Option<f64> {
        if demand_l <= 0.0 {
            return Some(static_abs_pa);
        }
        let at_rest_l = self.water_l(static_abs_pa);
        let taken = |abs_pa: f64| self.water_l(abs_pa) - at_rest_l + give_l_per_pa * (abs_pa - static_abs_pa);
        let (mut lo, mut hi) = (static_abs_pa, 1e9);
        if taken(hi) < demand_l {
            return None;
        }
        for _ in 0..200 {
            let mid = 0.5 * (lo + hi);
            if taken(mid) < demand_l {
                lo = mid;
            } else {
                hi = mid;
            }
            if hi - lo < 0.01 {
                break;
            }
        }
        Some(0.5 * (lo + hi))
    }
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

/// What the tank that is there does.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExistingAnswer {
    /// Water that it can take between static and the limit, L.
    pub usable_l: f64,
    /// Water that it holds at static pressure, L.
    pub water_at_rest_l: f64,
    /// Pressure after heating with the tank alone taking the water, kPa gauge where the static gauge reads; null when
    /// nothing bounds it.
    pub final_gauge_kpa: Option<f64>,
    /// The same with the give of heater and pipe, which is less.
    pub final_with_give_gauge_kpa: Option<f64>,
    /// Limit less final pressure, kPa; negative when passed.
    pub margin_kpa: Option<f64>,
    /// How far the end pressure may be off, kPa: static and precharge read to 1 psi, demand to 3 %, and the give of heater and pipe.
    /// `[judgement]`
    pub uncertainty_kpa: f64,
    /// How it stands as it is.
    pub verdict: Verdict,
    /// How it would stand with its precharge set to static.
    pub verdict_when_reset: Verdict,
    /// Whether its precharge is within 2 psi of static.
    pub precharge_near_static: bool,
    /// Whether it holds the limit as it is.
    pub adequate: bool,
    /// Whether it would hold the limit with its precharge set to static.
    pub adequate_when_reset: bool,
    /// What was found, in words.
    pub findings: Vec<String>,
}

/// The state of the existing tank at its temperature of service.
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

/// Below this a precharge is taken as lost, Pa gauge: 2 psi, the reach of a tyre gauge. `[judgement]`
const LOST_PRECHARGE_PA: f64 = 2.0 * PA_PER_PSI;
/// A precharge within this of static is as it should be, Pa: 2 psi. `[judgement]`
const NEAR_STATIC_PA: f64 = 2.0 * PA_PER_PSI;

/// Whether the tank is taken as failed: water at the air valve, or no precharge left.
pub fn has_failed(tank: &ExistingTank) -> bool {
    tank.water_at_air_valve || tank.precharge_gauge_pa < LOST_PRECHARGE_PA
}

/// Checks the existing tank; `None` when there is none.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn check(system: &System, demand: &Demand) -> Result<Option<ExistingAnswer>, OutOfRange> {
    let Some(tank) = &system.existing else {
        return Ok(None);
    };
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let tank_state = state(system, tank);
    let room = limit_abs_pa > static_abs_pa && static_abs_pa > 0.0;
    let usable_l = if room {
        tank_state.usable_l(static_abs_pa, limit_abs_pa)
    } else {
        0.0
    };
    let water_at_rest_l = if static_abs_pa > 0.0 {
        tank_state.water_l(static_abs_pa)
    } else {
        0.0
    };
    // From the pressure at the tank back to the pressure at the gauge.
    let to_gauge_kpa = |abs_pa: f64| (abs_pa - system.air_abs_pa() + system.column_pa()) / 1e3;
    let sealed = Sealed::of(system);
    let alone = tank_state.final_abs_pa(demand.volume_l, static_abs_pa, 0.0);
    let with_give = tank_state.end_with_give_abs_pa(&sealed, system.hot_c, system.column_pa())?;
    let enough = |state: &TankState| {
        room && !tank.water_at_air_valve && state.usable_l(static_abs_pa, limit_abs_pa) >= demand.volume_l - 1e-9
    };
    let reset = TankState {
        precharge_abs_pa: static_abs_pa,
        ..tank_state
    };
    let judged = |state: &TankState| -> (Verdict, f64) {
        let end = state.final_abs_pa(demand.volume_l, static_abs_pa, 0.0);
        let unsure_pa = uncertainty_pa(state, demand.volume_l, static_abs_pa, end, with_give);
        let verdict = match end {
            _ if enough(state) => Verdict::Enough,
            Some(end) if room && !has_failed(tank) && end - limit_abs_pa <= unsure_pa => Verdict::Marginal,
            _ => Verdict::NotEnough,
        };
        (verdict, unsure_pa)
    };
    let (verdict, unsure_pa) = judged(&tank_state);
    let final_gauge_kpa = alone.map(to_gauge_kpa);
    let mut answer = ExistingAnswer {
        usable_l,
        water_at_rest_l,
        final_gauge_kpa,
        // The supply follows in when the plumbing would fall below static.
        final_with_give_gauge_kpa: with_give
            .map(|abs_pa| (abs_pa.max(sealed.start_abs_pa) - system.air_abs_pa()) / 1e3),
        margin_kpa: final_gauge_kpa.map(|kpa| system.limit_gauge_pa / 1e3 - kpa),
        uncertainty_kpa: unsure_pa / 1e3,
        verdict,
        verdict_when_reset: judged(&reset).0,
        precharge_near_static: (tank_state.precharge_abs_pa - static_abs_pa).abs() <= NEAR_STATIC_PA,
        adequate: enough(&tank_state),
        adequate_when_reset: enough(&reset),
        findings: Vec::new(),
    };
    answer.findings = findings(system, tank, &tank_state, &answer, demand);
    Ok(Some(answer))
}

/// How far the end pressure may be off, Pa: the effects of static and precharge misread by 1 psi and of a demand off by 3 %, added as
/// squares, with half of what the give of the plumbing would take off, at most 2 psi. `[judgement]`
fn uncertainty_pa(
    state: &TankState,
    demand_l: f64,
    static_abs_pa: f64,
    end: Option<f64>,
    with_give_abs_pa: Option<f64>,
) -> f64 {
    let Some(end) = end else {
        return 0.0;
    };
    let moved = |other: Option<f64>| other.map_or(0.0, |pa| pa - end);
    let misread = |by_pa: f64| TankState {
        precharge_abs_pa: (state.precharge_abs_pa + by_pa).max(1.0),
        ..*state
    };
    let by_static = moved(state.final_abs_pa(demand_l, static_abs_pa + PA_PER_PSI, 0.0));
    let by_precharge = moved(misread(PA_PER_PSI).final_abs_pa(demand_l, static_abs_pa, 0.0))
        .abs()
        .max(moved(misread(-PA_PER_PSI).final_abs_pa(demand_l, static_abs_pa, 0.0)).abs());
    let by_demand = moved(state.final_abs_pa(1.03 * demand_l, static_abs_pa, 0.0));
    let by_give = with_give_abs_pa.map_or(0.0, |pa| (0.5 * (end - pa)).clamp(0.0, 2.0 * PA_PER_PSI));
    // Near a tank that is full the effects grow without bound; a reading is never excused by more than 5 psi.
    let squares = by_static.powi(2) + by_precharge.powi(2) + by_demand.powi(2) + by_give.powi(2);
    squares.sqrt().min(5.0 * PA_PER_PSI)
}

fn findings(
    system: &System,
    tank: &ExistingTank,
    state: &TankState,
    answer: &ExistingAnswer,
    demand: &Demand,
) -> Vec<String> {
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let static_pa = static_abs_pa - system.air_abs_pa();
    let precharge_pa = state.precharge_abs_pa - system.air_abs_pa();
    let limit_pa = system.limit_gauge_pa;
    let mut found = Vec::new();
    if tank.water_at_air_valve {
        found.push(Note::DiaphragmFailed);
    } else if tank.precharge_gauge_pa < LOST_PRECHARGE_PA {
        found.push(Note::PrechargeLost);
    } else if precharge_pa < static_pa - NEAR_STATIC_PA {
        found.push(Note::UnderCharged {
            precharge_pa,
            static_pa,
            at_rest_l: answer.water_at_rest_l,
            share: answer.water_at_rest_l / tank.volume_l.max(f64::MIN_POSITIVE),
        });
    } else if precharge_pa > static_pa + NEAR_STATIC_PA {
        found.push(Note::OverCharged {
            precharge_pa,
            static_pa,
        });
    }
    if state.precharge_abs_pa >= limit_abs_pa {
        found.push(Note::PrechargeAboveLimit { limit_pa });
    }
    let no_room = system.static_gauge_pa >= limit_pa;
    if no_room {
        found.push(Note::NoTankHolds);
    }
    let would_hold_l = answer.water_at_rest_l + demand.volume_l;
    if let Some(may_hold_l) = tank.max_acceptance_l
        && would_hold_l > may_hold_l + 1e-9
    {
        found.push(Note::OverAcceptance {
            would_hold_l,
            may_hold_l,
        });
    }
    if !no_room {
        found.push(Note::CanTakeMore {
            usable_l: answer.usable_l,
            limit_pa,
            demand_l: demand.volume_l.max(0.0),
        });
    }
    found.push(match answer.final_gauge_kpa.map(|kpa| kpa * 1e3) {
        None => Note::Unbounded,
        Some(reaches_pa) if reaches_pa >= system.heater_relief_gauge_pa => Note::WouldLift {
            reaches_pa,
            heater_relief_pa: system.heater_relief_gauge_pa,
        },
        Some(ends_pa) if ends_pa <= limit_pa => Note::EndsBelow {
            ends_pa,
            by_pa: limit_pa - ends_pa,
        },
        Some(ends_pa) => Note::EndsAbove {
            ends_pa,
            by_pa: ends_pa - limit_pa,
        },
    });
    if answer.verdict == Verdict::Marginal {
        found.push(Note::TankIsMarginal {
            over_pa: -answer.margin_kpa.unwrap_or(0.0) * 1e3,
            unsure_pa: answer.uncertainty_kpa * 1e3,
            short_l: (demand.volume_l - answer.usable_l).max(0.0),
        });
    }
    if !answer.adequate && answer.adequate_when_reset {
        found.push(Note::EnoughWhenSet {
            precharge_pa: static_pa,
        });
    } else if !answer.adequate
        && let Some(volume_l) = diaphragm_tank_l(demand.volume_l, static_abs_pa, limit_abs_pa)
    {
        found.push(Note::NeededInTotal {
            volume_l,
            precharge_pa: static_pa,
        });
    }
    found.into_iter().map(|note| note.say(system.tongue())).collect()
}
