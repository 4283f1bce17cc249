//! An expansion relief valve instead of a tank: is there a setting that fits, and how much water goes to the drain.

use super::supply;
use super::system::System;
use super::volume::{Demand, relative_expansion};
use super::words::{Note, OfRelief, say_all};
use crate::language::Tongue;
use crate::physics::{OutOfRange, water};
use crate::units::PA_PER_PSI;
use serde::Serialize;

/// How far above the highest static pressure a relief must open, Pa: 10 psi, or a tenth of that pressure where that is
/// more, so that the night's rise of the main does not make it weep. Common practice, no source. `[common-practice]`
pub fn margin_above_static_pa(highest_static_gauge_pa: f64) -> f64 {
    (10.0 * PA_PER_PSI).max(0.1 * highest_static_gauge_pa)
}

/// How far below the heater's relief valve it must open, Pa: 25 psi. Common practice, no source. `[common-practice]`
pub const MARGIN_BELOW_HEATER_RELIEF_PA: f64 = 25.0 * PA_PER_PSI;

/// Half of the last figure that a page prints, Pa: a setting read off the page still fits.
pub(super) const PRINTED_PA: f64 = 500.0;

/// The settings that fit, Pa gauge: from the highest static plus margin to the lowest of the caps. Empty when lo > hi.
pub fn window_gauge_pa(system: &System) -> (f64, f64) {
    // Behind a regulator that holds the street does not count.
    let highest_static = supply::judge(system).static_gauge_kpa * 1e3;
    let lo = highest_static + margin_above_static_pa(highest_static);
    let mut hi = system
        .relief_cap_gauge_pa
        .min(system.heater_relief_gauge_pa - MARGIN_BELOW_HEATER_RELIEF_PA);
    if let Some(rating) = system.lowest_rating_gauge_pa {
        hi = hi.min(rating);
    }
    (lo, hi)
}

/// Rate at which heating pushes water out, L/s: β·Q/(ρ·cp), whatever the size of the heater. `[boyle-and-heat-balance]`
///
/// `heat_w` net heat to the water, W; `t_c` °C; `abs_kpa` kPa absolute.
///
/// # Errors
/// A temperature or pressure outside liquid water.
///
/// ```
/// use brimwater::expansion::relief::expansion_rate_l_per_s;
/// // X-Val: IAPWS-IF97 by PyPI iapws 1.5.5: 40,000 Btu/h at 0.80 and 120 °F push out 61.3 mL/min.
/// let rate = expansion_rate_l_per_s(40_000.0 * 0.80 * 0.29307107, 48.8889, 652.906).unwrap();
/// assert!((rate * 60_000.0 - 61.3).abs() < 0.1);
/// ```
pub fn expansion_rate_l_per_s(heat_w: f64, t_c: f64, abs_kpa: f64) -> Result<f64, OutOfRange> {
    let state = water::liquid(t_c, abs_kpa)?;
    Ok(state.expansivity_per_k * heat_w * state.specific_volume_m3_kg / state.specific_heat_j_kgk * 1e3)
}

/// Flow of water through a sharp orifice, L/s: Cd·A·√(2Δp/ρ). `[orifice-flow]`
pub fn orifice_l_per_s(discharge: f64, diameter_m: f64, gauge_pa: f64) -> f64 {
    let area_m2 = 0.25 * std::f64::consts::PI * diameter_m * diameter_m;
    discharge * area_m2 * (2.0 * gauge_pa.max(0.0) / 999.0).sqrt() * 1e3
}

/// Standby reheats a day: UA·(Ts − Ta)·86400 / (m·cp·band). `[boyle-and-heat-balance]`
///
/// `ua_w_per_k` heat loss, W/K; `store_c`, `ambient_c` °C; `volume_l` L; `band_k` thermostat band, K. Zero when nothing is
/// lost; `None` when volume or band is not above zero.
pub fn standby_cycles_per_day(
    ua_w_per_k: f64,
    store_c: f64,
    ambient_c: f64,
    volume_l: f64,
    band_k: f64,
) -> Option<f64> {
    if !(volume_l > 0.0 && band_k > 0.0) {
        return None;
    }
    // The round density and specific heat of water in the trade's figure, 8.25 lb/gal and 1 Btu/lb °F.
    const J_PER_L_K: f64 = 0.988_6 * 4_186.8;
    let lost_j_per_day = ua_w_per_k * (store_c - ambient_c).max(0.0) * 86_400.0;
    Some(lost_j_per_day / (volume_l * J_PER_L_K * band_k))
}

/// The settings of a relief, weighed: all of it that decides what is advised. Pa gauge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Lowest and highest setting that fit; the first is above the second when none does.
    pub settings_gauge_pa: [f64; 2],
    /// The part of it that also holds the pressure limit.
    pub within_limit_gauge_pa: Option<[f64; 2]>,
    /// Whether the setting asked about lies in the window; `None` when none was asked about.
    pub asked_setting_fits: Option<bool>,
}

impl Window {
    /// Of a system.
    pub fn of(system: &System) -> Self {
        let (lo, hi) = window_gauge_pa(system);
        let feasible = lo <= hi;
        let limit = system.limit_gauge_pa;
        Self {
            settings_gauge_pa: [lo, hi],
            within_limit_gauge_pa: (feasible && lo <= limit).then(|| [lo, hi.min(limit)]),
            asked_setting_fits: system
                .relief_at_gauge_pa
                .map(|at| feasible && at >= lo - PRINTED_PA && at <= hi + PRINTED_PA),
        }
    }
}

/// What a relief would do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReliefAnswer<W = String> {
    /// Whether any setting fits.
    pub feasible: bool,
    /// Lowest and highest setting that fit, kPa gauge; the first is above the second when none does.
    pub window_gauge_kpa: [f64; 2],
    /// The part of the window that also holds the pressure limit, kPa gauge; null when none does.
    pub window_within_limit_gauge_kpa: Option<[f64; 2]>,
    /// Whether the setting asked about lies in the window; null when none was asked about.
    pub asked_setting_fits: Option<bool>,
    /// Water to the drain in one heating from cold to hot, L.
    pub per_heatup_l: f64,
    /// Water to the drain a day when all drawn water is heated with the taps shut, L; null without a daily draw.
    pub per_day_l: Option<f64>,
    /// The same for a year, L.
    pub per_year_l: Option<f64>,
    /// Highest rate, at the hottest water, L/min; null without a heat input.
    pub peak_l_per_min: Option<f64>,
    /// Why no setting fits.
    pub why_not: Option<W>,
    /// What else to know: the conflict with the limit, the setting asked about.
    pub findings: Vec<W>,
}

impl ReliefAnswer<Note> {
    /// With its words.
    pub fn said(self, tongue: Tongue) -> ReliefAnswer {
        ReliefAnswer {
            feasible: self.feasible,
            window_gauge_kpa: self.window_gauge_kpa,
            window_within_limit_gauge_kpa: self.window_within_limit_gauge_kpa,
            asked_setting_fits: self.asked_setting_fits,
            per_heatup_l: self.per_heatup_l,
            per_day_l: self.per_day_l,
            per_year_l: self.per_year_l,
            peak_l_per_min: self.peak_l_per_min,
            why_not: self.why_not.map(|note| note.say(tongue)),
            findings: say_all(self.findings, tongue),
        }
    }
}

/// The relief answer of a system, in words.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn assess(system: &System, demand: &Demand) -> Result<ReliefAnswer, OutOfRange> {
    Ok(judge(system, demand)?.said(system.tongue()))
}

/// The relief answer of a system, as kinds and numbers.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn judge(system: &System, demand: &Demand) -> Result<ReliefAnswer<Note>, OutOfRange> {
    let Window {
        settings_gauge_pa: [lo, hi],
        within_limit_gauge_pa: within,
        asked_setting_fits,
    } = Window::of(system);
    let feasible = lo <= hi;
    let limit = system.limit_gauge_pa;
    let highest_static = supply::judge(system).static_gauge_kpa * 1e3;
    let why_not = (!feasible).then_some(Note::OfRelief(OfRelief::NoReliefFits {
        lo_pa: lo,
        highest_static_pa: highest_static,
        hi_pa: hi,
    }));
    let mut findings = Vec::new();
    if feasible && hi > limit {
        findings.push(match within {
            Some([_, top_pa]) => Note::OfRelief(OfRelief::SetToHoldBoth {
                limit_pa: limit,
                lo_pa: lo,
                top_pa,
            }),
            None => Note::OfRelief(OfRelief::ReliefConflicts {
                lo_pa: lo,
                hi_pa: hi,
                limit_pa: limit,
            }),
        });
    }
    if let Some(at_pa) = system.relief_at_gauge_pa {
        if at_pa < lo - PRINTED_PA {
            findings.push(Note::OfRelief(OfRelief::SettingTooClose {
                at_pa,
                highest_static_pa: highest_static,
            }));
        }
        if at_pa > hi + PRINTED_PA {
            findings.push(Note::OfRelief(OfRelief::SettingTooHigh { at_pa, hi_pa: hi }));
        }
        if at_pa > limit + PRINTED_PA {
            findings.push(Note::OfRelief(OfRelief::SettingPassesLimit { at_pa, limit_pa: limit }));
        }
    }
    if let Some(coldest_c) = system.coldest_air_c
        && coldest_c <= 0.0
    {
        findings.push(Note::OfRelief(OfRelief::OutletIces { coldest_c }));
    }
    let abs_kpa = (limit.max(system.static_gauge_pa) + system.air_abs_pa()) / 1e3;
    let per_day_l = match system.daily_draw_l {
        Some(draw) => Some(draw * relative_expansion(system.cold_c, system.hot_c, abs_kpa)?.max(0.0)),
        None => None,
    };
    let peak_l_per_min = match system.heat_input_w {
        Some(input_w) => {
            Some(expansion_rate_l_per_s(input_w * system.efficiency, system.hot_c, abs_kpa)?.max(0.0) * 60.0)
        }
        None => None,
    };
    Ok(ReliefAnswer {
        feasible,
        window_gauge_kpa: [lo / 1e3, hi / 1e3],
        window_within_limit_gauge_kpa: within.map(|window| window.map(|pascal| pascal / 1e3)),
        asked_setting_fits,
        per_heatup_l: demand.volume_l.max(0.0),
        per_day_l,
        per_year_l: per_day_l.map(|day| day * 365.0),
        peak_l_per_min,
        why_not,
        findings,
    })
}
