//! The expansion tank by Boyle's law. Every pressure in a formula here is absolute.

use super::system::System;
use super::volume::Demand;
use super::words::{Note, OfTank};
use crate::language::Tongue;
use crate::units::{PA_PER_PSI, k_from_c};
use serde::Serialize;

/// Below this acceptance a tank alone is a poor answer, and lowering the supply pressure comes first.
///
/// The trade calls a tank nearly useless at 70 psi static against 80 psi, where the factor is 0.106; 60 psi gives
/// 0.211. `[judgement]`
pub const POOR_ACCEPTANCE: f64 = 0.12;

/// Share of a diaphragm tank that may fill with water between static and the limit, when its precharge equals the
/// static pressure: 1 − P₁/P₂, Pa absolute. `None` when there is no room between them. `[ashrae-hydronic]`
///
/// ```
/// use brimwater::expansion::tank::acceptance_factor;
/// // X-Val: 60 psi gauge to 80 psi gauge at 14.696 psi air: 0.2112 (Boyle's law by hand).
/// let factor = acceptance_factor(74.696, 94.696).unwrap();
/// assert!((factor - 0.2112).abs() < 5e-5);
/// ```
pub fn acceptance_factor(static_abs_pa: f64, limit_abs_pa: f64) -> Option<f64> {
    (static_abs_pa > 0.0 && limit_abs_pa > static_abs_pa).then(|| 1.0 - static_abs_pa / limit_abs_pa)
}

/// Share that may fill when the precharge differs from static: water held between static and the limit, per tank volume.
///
/// Under-charged (precharge at or below static): Pc·(1/P₁ − 1/P₂). Over-charged: 1 − Pc/P₂, because no water enters
/// before the pressure has risen to the precharge. All Pa absolute. Zero when nothing can enter.
pub fn usable_share(precharge_abs_pa: f64, static_abs_pa: f64, limit_abs_pa: f64) -> f64 {
    if !(precharge_abs_pa > 0.0 && static_abs_pa > 0.0 && limit_abs_pa > static_abs_pa) {
        return 0.0;
    }
    if precharge_abs_pa <= static_abs_pa {
        precharge_abs_pa * (1.0 / static_abs_pa - 1.0 / limit_abs_pa)
    } else {
        (1.0 - precharge_abs_pa / limit_abs_pa).max(0.0)
    }
}

/// Smallest diaphragm or bladder tank, L, with precharge at static: demand / (1 − P₁/P₂). `[ashrae-hydronic]`
pub fn diaphragm_tank_l(demand_l: f64, static_abs_pa: f64, limit_abs_pa: f64) -> Option<f64> {
    acceptance_factor(static_abs_pa, limit_abs_pa).map(|factor| demand_l.max(0.0) / factor)
}

/// Smallest closed tank with an air and water surface, L: demand / (Pa/P₁ − Pa/P₂), filled from atmospheric air.
/// `[ashrae-hydronic]`
pub fn air_water_tank_l(demand_l: f64, air_abs_pa: f64, static_abs_pa: f64, limit_abs_pa: f64) -> Option<f64> {
    (air_abs_pa > 0.0 && static_abs_pa > 0.0 && limit_abs_pa > static_abs_pa)
        .then(|| demand_l.max(0.0) / (air_abs_pa / static_abs_pa - air_abs_pa / limit_abs_pa))
}

/// Open tank, L: twice the demand. `[ashrae-hydronic]`
pub fn open_tank_l(demand_l: f64) -> f64 {
    2.0 * demand_l.max(0.0)
}

/// Precharge, Pa absolute, of gas that was set at one temperature and stands at another (°C): P ∝ T.
pub fn precharge_at_abs_pa(set_abs_pa: f64, set_c: f64, now_c: f64) -> f64 {
    set_abs_pa * k_from_c(now_c) / k_from_c(set_c)
}

/// The tank that would do, or why none can.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TankAnswer<W = String> {
    /// Whether a tank can hold the limit at all.
    pub feasible: bool,
    /// Smallest total volume, L.
    pub min_volume_l: Option<f64>,
    /// Share of the tank that fills, between static and limit.
    pub acceptance_factor: Option<f64>,
    /// Precharge to set with the tank isolated and drained, kPa gauge, at the temperature at which it is set.
    pub precharge_gauge_kpa: Option<f64>,
    /// Why no tank can do it.
    pub why_not: Option<W>,
    /// The supply pressure that makes a good tank possible, and the tank then needed.
    pub after_lowering: Option<AfterLowering>,
    /// Smallest volume, L, of a tank beside those that are there, every precharge set alike, in place of replacing them.
    pub beside_existing_l: Option<f64>,
    /// The smallest of the catalogue that fits, or the fewest that fit together, when a catalogue was given.
    pub from_catalogue: Option<super::catalogue::Choice>,
}

impl TankAnswer<Note> {
    /// With its words.
    pub fn said(self, tongue: Tongue) -> TankAnswer {
        TankAnswer {
            feasible: self.feasible,
            min_volume_l: self.min_volume_l,
            acceptance_factor: self.acceptance_factor,
            precharge_gauge_kpa: self.precharge_gauge_kpa,
            why_not: self.why_not.map(|note| note.say(tongue)),
            after_lowering: self.after_lowering,
            beside_existing_l: self.beside_existing_l,
            from_catalogue: self.from_catalogue,
        }
    }
}

/// A lower supply pressure and what follows from it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AfterLowering {
    /// Pressure regulator setting, kPa gauge, where the static gauge reads.
    pub regulator_gauge_kpa: f64,
    /// Smallest tank then, L.
    pub min_volume_l: f64,
    /// Its acceptance.
    pub acceptance_factor: f64,
}

/// Static and limit at the tank, Pa absolute: gauge readings less the water column up to the tank, plus the air.
pub fn at_tank_abs_pa(system: &System) -> (f64, f64) {
    let shift = system.air_abs_pa() - system.column_pa();
    (system.static_gauge_pa + shift, system.limit_gauge_pa + shift)
}

/// The most that a regulator is set to, Pa gauge, before rounding to what its gauge shows: 60 psi or three quarters of the limit.
/// `[judgement]`
pub fn most_regulator_setting_pa(limit_gauge_pa: f64) -> f64 {
    (0.75 * limit_gauge_pa).min(60.0 * PA_PER_PSI)
}

/// Regulator setting, Pa gauge, that leaves a tank room: 60 psi or three quarters of the limit, whichever is less, to
/// whole 5 psi. 50 to 60 psi is the usual advice. `[judgement]`
pub fn regulator_setting_pa(limit_gauge_pa: f64) -> f64 {
    let step = 5.0 * PA_PER_PSI;
    let most = most_regulator_setting_pa(limit_gauge_pa);
    // The slack keeps 0.75 × 80 psi at 60 psi in spite of rounding.
    let whole = ((most + 1.0) / step).floor() * step;
    if whole > 0.0 { whole } else { most }
}

/// Sizes the tank of a system for a demand.
pub fn size(system: &System, demand: &Demand) -> TankAnswer<Note> {
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    let factor = acceptance_factor(static_abs_pa, limit_abs_pa);
    let min_volume_l = diaphragm_tank_l(demand.volume_l, static_abs_pa, limit_abs_pa);
    // The gas is set at one temperature and works at another; the tank's own warmth must not leave it over-charged.
    let precharge_abs_pa = match system.tank_ambient_c {
        Some(ambient_c) => precharge_at_abs_pa(static_abs_pa, ambient_c, system.precharge_set_c),
        None => static_abs_pa,
    };
    TankAnswer {
        feasible: factor.is_some(),
        min_volume_l,
        acceptance_factor: factor,
        precharge_gauge_kpa: factor.map(|_| (precharge_abs_pa - system.air_abs_pa()).max(0.0) / 1e3),
        why_not: why_no_tank(system),
        after_lowering: None,
        beside_existing_l: None,
        from_catalogue: None,
    }
}

/// The sentence of the tank that takes up the water; `None` when none does.
pub fn taken_up(system: &System, tank: &TankAnswer<Note>) -> Option<Note> {
    Some(Note::OfTank(OfTank::TankTakesUp {
        volume_l: tank.min_volume_l?,
        share: tank.acceptance_factor?,
        static_pa: system.static_gauge_pa,
        limit_pa: system.limit_gauge_pa,
    }))
}

/// Why no tank can do it; `None` when one can.
pub fn why_no_tank(system: &System) -> Option<Note> {
    let (static_abs_pa, limit_abs_pa) = at_tank_abs_pa(system);
    if acceptance_factor(static_abs_pa, limit_abs_pa).is_some() {
        return None;
    }
    Some(if static_abs_pa <= 0.0 {
        Note::OfTank(OfTank::TankTooHigh)
    } else {
        Note::OfTank(OfTank::NoRoomForTank {
            static_pa: system.static_gauge_pa,
            limit_pa: system.limit_gauge_pa,
        })
    })
}
