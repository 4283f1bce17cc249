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
    // Below the tank's own height nothing of the column is left: the tank holds what it holds at a hundredth of an atmosphere.
    let at_tank = |abs_pa: f64| (abs_pa - column_pa).max(1e3);
    let at_rest_l = water_l(tanks, at_tank(sealed.start_abs_pa));
    sealed.pressure_with_abs_pa(hot_c, &|abs_pa| {
        let here_pa = at_tank(abs_pa);
        let slope = tanks.iter().map(|tank| tank.slope_l_per_pa(here_pa)).sum();
        (water_l(tanks, here_pa) - at_rest_l, slope)
    })
}

/// Pressure, Pa absolute, after tanks side by side took up `demand_l` (L) from `static_abs_pa`, in plumbing that gives `give_l_per_pa`.
///
/// `None` when the tanks are full before that and the plumbing gives nothing: then nothing bounds the pressure.
pub fn final_abs_pa(tanks: &[TankState], demand_l: f64, static_abs_pa: f64, give_l_per_pa: f64) -> Option<f64> {
    if demand_l <= 0.0 {
        return Some(static_abs_pa);
    }
    let at_rest_l = water_l(tanks, static_abs_pa);
    let taken = |abs_pa: f64| water_l(tanks, abs_pa) - at_rest_l + give_l_per_pa * (abs_pa - static_abs_pa);
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
pub struct ExistingAnswer {
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
    /// What was found, in words.
    pub findings: Vec<String>,
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
const LOST_PRECHARGE_PA: f64 = 2.0 * PA_PER_PSI;
/// A precharge within this of static is as it should be, Pa: 2 psi. `[judgement]`
const NEAR_STATIC_PA: f64 = 2.0 * PA_PER_PSI;

/// Whether the tank is taken as failed: water at the air valve, or no precharge left.
pub fn has_failed(tank: &ExistingTank) -> bool {
    tank.water_at_air_valve || tank.precharge_gauge_pa < LOST_PRECHARGE_PA
}

/// Checks the tanks that are there; `None` when there is none.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn check(system: &System, demand: &Demand) -> Result<Option<ExistingAnswer>, OutOfRange> {
    if system.existing.is_empty() {
        return Ok(None);
    }
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let tanks = states(system);
    let room = limit_abs_pa > static_abs_pa && static_abs_pa > 0.0;
    let takes_l = |tanks: &[TankState]| {
        if room {
            usable_l(tanks, static_abs_pa, limit_abs_pa)
        } else {
            0.0
        }
    };
    let water_at_rest_l = if static_abs_pa > 0.0 {
        water_l(&tanks, static_abs_pa)
    } else {
        0.0
    };
    // From the pressure at the tank back to the pressure at the gauge.
    let to_gauge_kpa = |abs_pa: f64| (abs_pa - system.air_abs_pa() + system.column_pa()) / 1e3;
    let sealed = Sealed::of(system);
    let alone = final_abs_pa(&tanks, demand.volume_l, static_abs_pa, 0.0);
    let with_give = end_with_give_abs_pa(&tanks, &sealed, system.hot_c, system.column_pa())?;
    let any_holds = system.existing.iter().any(|tank| !tank.water_at_air_valve);
    let any_works = system.existing.iter().any(|tank| !has_failed(tank));
    let enough = |tanks: &[TankState]| room && any_holds && takes_l(tanks) >= demand.volume_l - 1e-9;
    let reset = states_when_reset(&tanks, static_abs_pa);
    let judged = |tanks: &[TankState]| -> (Verdict, f64) {
        let end = final_abs_pa(tanks, demand.volume_l, static_abs_pa, 0.0);
        let unsure_pa = uncertainty_pa(tanks, demand.volume_l, static_abs_pa, end, with_give);
        let verdict = match end {
            _ if enough(tanks) => Verdict::Enough,
            Some(end) if room && any_works && end - limit_abs_pa <= unsure_pa => Verdict::Marginal,
            _ => Verdict::NotEnough,
        };
        (verdict, unsure_pa)
    };
    let (verdict, unsure_pa) = judged(&tanks);
    let final_gauge_kpa = alone.map(to_gauge_kpa);
    let slope_l_per_pa: f64 = tanks.iter().map(|tank| tank.slope_l_per_pa(limit_abs_pa)).sum();
    let mut answer = ExistingAnswer {
        count: tanks.len(),
        usable_l: takes_l(&tanks),
        water_at_rest_l,
        final_gauge_kpa,
        // The supply follows in when the plumbing would fall below static.
        final_with_give_gauge_kpa: with_give
            .map(|abs_pa| (abs_pa.max(sealed.start_abs_pa) - system.air_abs_pa()) / 1e3),
        margin_kpa: final_gauge_kpa.map(|kpa| system.limit_gauge_pa / 1e3 - kpa),
        uncertainty_kpa: unsure_pa / 1e3,
        uncertainty_l: unsure_pa * slope_l_per_pa,
        verdict,
        verdict_when_reset: judged(&reset).0,
        precharge_near_static: tanks
            .iter()
            .all(|tank| (tank.precharge_abs_pa - static_abs_pa).abs() <= NEAR_STATIC_PA),
        adequate: enough(&tanks),
        adequate_when_reset: enough(&reset),
        findings: Vec::new(),
    };
    answer.findings = findings(system, &tanks, &answer, demand);
    Ok(Some(answer))
}

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
    let misread = |by_pa: f64| -> Vec<TankState> {
        tanks
            .iter()
            .map(|tank| TankState {
                precharge_abs_pa: (tank.precharge_abs_pa + by_pa).max(1.0),
                ..*tank
            })
            .collect()
    };
    let by_static = moved(final_abs_pa(tanks, demand_l, static_abs_pa + PA_PER_PSI, 0.0));
    let by_precharge = moved(final_abs_pa(&misread(PA_PER_PSI), demand_l, static_abs_pa, 0.0))
        .abs()
        .max(moved(final_abs_pa(&misread(-PA_PER_PSI), demand_l, static_abs_pa, 0.0)).abs());
    let by_demand = moved(final_abs_pa(tanks, 1.03 * demand_l, static_abs_pa, 0.0));
    let by_give = with_give_abs_pa.map_or(0.0, |pa| (0.5 * (end - pa)).clamp(0.0, 2.0 * PA_PER_PSI));
    // Near a tank that is full the effects grow without bound; a reading is never excused by more than 5 psi.
    let squares = by_static.powi(2) + by_precharge.powi(2) + by_demand.powi(2) + by_give.powi(2);
    squares.sqrt().min(5.0 * PA_PER_PSI)
}

/// What is to be said of one tank's charge.
fn of_charge(system: &System, tank: &ExistingTank, state: &TankState) -> Vec<Note> {
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let static_pa = static_abs_pa - system.air_abs_pa();
    let precharge_pa = state.precharge_abs_pa - system.air_abs_pa();
    let at_rest_l = if static_abs_pa > 0.0 {
        state.water_l(static_abs_pa)
    } else {
        0.0
    };
    let mut found = Vec::new();
    if tank.water_at_air_valve {
        found.push(Note::DiaphragmFailed);
    } else if tank.precharge_gauge_pa < LOST_PRECHARGE_PA {
        found.push(Note::PrechargeLost);
    } else if precharge_pa < static_pa - NEAR_STATIC_PA {
        found.push(Note::UnderCharged {
            precharge_pa,
            static_pa,
            at_rest_l,
            share: at_rest_l / tank.volume_l.max(f64::MIN_POSITIVE),
        });
    } else if precharge_pa > static_pa + NEAR_STATIC_PA {
        found.push(Note::OverCharged {
            precharge_pa,
            static_pa,
        });
    }
    if state.precharge_abs_pa >= limit_abs_pa {
        found.push(Note::PrechargeAboveLimit {
            limit_pa: system.limit_gauge_pa,
        });
    }
    found
}

fn findings(system: &System, tanks: &[TankState], answer: &ExistingAnswer, demand: &Demand) -> Vec<String> {
    let tongue = system.tongue();
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let static_pa = static_abs_pa - system.air_abs_pa();
    let limit_pa = system.limit_gauge_pa;
    let several = tanks.len() > 1;
    let mut said = Vec::new();
    for (at, (tank, state)) in system.existing.iter().zip(tanks).enumerate() {
        for note in of_charge(system, tank, state) {
            said.push(if several {
                let which = crate::say!(
                    tongue.language,
                    "expansion-tank-number",
                    number = (at + 1).to_string(),
                    volume = tongue.volume(tank.volume_l)
                );
                format!("{which}: {}", note.say(tongue))
            } else {
                note.say(tongue)
            });
        }
    }
    let mut found = Vec::new();
    let no_room = system.static_gauge_pa >= limit_pa;
    if no_room {
        found.push(Note::NoTankHolds);
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
            unsure_l: answer.uncertainty_l,
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
    said.extend(found.into_iter().map(|note| note.say(tongue)));
    said
}
