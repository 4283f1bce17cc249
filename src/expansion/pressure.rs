//! The pressure that heating raises in closed plumbing with nothing to take it: mass conserved in walls that stretch.
//!
//! The water of the heated parts warms, that of cold pipes does not; walls grow with temperature (3α) and with
//! pressure (compliance); trapped air follows Boyle. The pressure is the one at which the water fits. Heads that flex, gaskets,
//! hoses and unseen air lower it, so it is an upper bound.

use super::system::System;
use super::volume::container_growth;
use super::words::{Note, OfPressure};
use crate::language::Tongue;
use crate::physics::OutOfRange;
use crate::physics::water::{self, Isotherm};
use crate::units::{PA_PER_PSI, k_from_c};
use serde::Serialize;

/// Highest pressure that the water formulation covers, Pa absolute.
const HIGHEST_ABS_PA: f64 = 100e6;

/// A closed system reduced to what the balance of volume needs: L, 1/Pa, Pa absolute.
#[derive(Debug, Clone, PartialEq)]
pub struct Sealed {
    /// Pressure at the start, Pa absolute.
    pub start_abs_pa: f64,
    /// Temperature of everything at the start, °C.
    pub cold_c: f64,
    /// Heated water at the start, L.
    pub heated_l: f64,
    /// Of it the water of heaters that stay cooler: L, and the share of the rise that they see.
    pub cooler: Vec<(f64, f64)>,
    /// Unheated water at the start, L.
    pub unheated_l: f64,
    /// Sum over heated parts of volume × 3 × linear expansion × share of the rise, L/K.
    pub growth_l_per_k: f64,
    /// Sum over all parts of volume × compliance, L/Pa.
    pub stretch_l_per_pa: f64,
    /// Trapped air at the start, L.
    pub air_l: f64,
}

impl Sealed {
    /// The reduction of a system.
    pub fn of(system: &System) -> Self {
        let mut sealed = Self {
            start_abs_pa: system.static_gauge_pa + system.air_abs_pa(),
            cold_c: system.cold_c,
            heated_l: 0.0,
            cooler: Vec::new(),
            unheated_l: 0.0,
            growth_l_per_k: 0.0,
            stretch_l_per_pa: 0.0,
            air_l: system.trapped_air_l,
        };
        let stiff = if system.rigid { 0.0 } else { 1.0 };
        let rise_k = system.hot_c - system.cold_c;
        for heater in &system.heaters {
            sealed.heated_l += heater.volume_l;
            let share = match heater.hot_c {
                Some(own_c) if rise_k > 0.0 => {
                    let share = (own_c - system.cold_c) / rise_k;
                    sealed.cooler.push((heater.volume_l, share));
                    share
                }
                _ => 1.0,
            };
            sealed.growth_l_per_k += stiff * share * container_growth(heater.linear_expansion_per_k, heater.volume_l);
            sealed.stretch_l_per_pa += stiff * heater.compliance_per_pa * heater.volume_l;
        }
        for pipe in &system.piping {
            if pipe.heated {
                sealed.heated_l += pipe.volume_l;
                sealed.growth_l_per_k += stiff * container_growth(pipe.linear_expansion_per_k, pipe.volume_l);
            } else {
                sealed.unheated_l += pipe.volume_l;
            }
            sealed.stretch_l_per_pa += stiff * pipe.compliance_per_pa * pipe.volume_l;
        }
        sealed
    }

    /// Heated water by its temperature, L and °C, when the hottest is at `hot_c` (°C).
    fn groups(&self, hot_c: f64) -> impl Iterator<Item = (f64, f64)> + '_ {
        let cooler: f64 = self.cooler.iter().map(|(litre, _)| litre).sum();
        let rise_k = hot_c - self.cold_c;
        std::iter::once((self.heated_l - cooler, hot_c))
            .filter(|(litre, _)| *litre > 0.0)
            .chain(
                self.cooler
                    .iter()
                    .map(move |(litre, share)| (*litre, self.cold_c + share * rise_k)),
            )
    }

    /// Water that something else than pipe and heater has taken, L, when heating to `hot_c` (°C) ended at `abs_pa` (Pa absolute): the
    /// balance of [`Sealed::pressure_with_abs_pa`] run backwards.
    ///
    /// # Errors
    /// A temperature or pressure outside liquid water.
    pub fn taken_l(&self, hot_c: f64, abs_pa: f64) -> Result<f64, OutOfRange> {
        let start = self.start()?;
        Ok(self.excess(&start, &self.warmed(hot_c)?, hot_c, abs_pa)?.0)
    }

    /// The heated water of each temperature, L, when the hottest is at `hot_c` (°C).
    fn warmed(&self, hot_c: f64) -> Result<Vec<(f64, Isotherm)>, OutOfRange> {
        self.groups(hot_c)
            .map(|(litre, celsius)| Ok((litre, Isotherm::remembered(celsius)?)))
            .collect()
    }

    /// Water `warmed` to `hot_c` (°C) at `abs_pa` (Pa) less the room for it, L; and the slope with pressure, L/Pa (negative).
    fn excess(
        &self,
        start: &Start,
        warmed: &[(f64, Isotherm)],
        hot_c: f64,
        abs_pa: f64,
    ) -> Result<(f64, f64), OutOfRange> {
        let (mut water_l, mut slope) = (0.0, 0.0);
        let mut add = |litre: f64, water: &Isotherm| -> Result<(), OutOfRange> {
            let (volume, compressibility_per_pa) = water.volume_and_compressibility(abs_pa / 1e3)?;
            let now_l = litre * (volume / start.specific_volume_m3_kg);
            water_l += now_l;
            slope -= now_l * compressibility_per_pa;
            Ok(())
        };
        for (litre, water) in warmed {
            add(*litre, water)?;
        }
        if self.unheated_l > 0.0 {
            add(self.unheated_l, &start.cold)?;
        }
        let rise_pa = abs_pa - self.start_abs_pa;
        let air_l = self.air_l * self.start_abs_pa / abs_pa;
        let room_l = self.heated_l
            + self.unheated_l
            + self.growth_l_per_k * (hot_c - self.cold_c)
            + self.stretch_l_per_pa * rise_pa
            + (self.air_l - air_l);
        slope -= self.stretch_l_per_pa + air_l / abs_pa;
        Ok((water_l - room_l, slope))
    }

    fn start(&self) -> Result<Start, OutOfRange> {
        let cold = Isotherm::remembered(self.cold_c)?;
        Ok(Start {
            specific_volume_m3_kg: cold.specific_volume_m3_kg(self.start_abs_pa / 1e3)?,
            cold,
        })
    }

    /// Pressure, Pa absolute, after heating to `hot_c` (°C) with every outlet shut.
    ///
    /// Falls below the start where walls grow faster than the water, as in PEX; never below the vapour pressure, where a
    /// void opens. `Ok(None)` when it would pass 100 MPa, where the water formulation ends.
    ///
    /// # Errors
    /// A temperature or starting pressure outside liquid water.
    pub fn pressure_abs_pa(&self, hot_c: f64) -> Result<Option<f64>, OutOfRange> {
        self.pressure_with_abs_pa(hot_c, &|_| (0.0, 0.0))
    }

    /// As [`Sealed::pressure_abs_pa`], with something that takes water up: `taken` gives, for a pressure (Pa absolute where the
    /// gauge reads), the water taken since the start, L, and its slope with pressure, L/Pa (zero or more).
    ///
    /// # Errors
    /// A temperature or starting pressure outside liquid water.
    pub fn pressure_with_abs_pa(
        &self,
        hot_c: f64,
        taken: &dyn Fn(f64) -> (f64, f64),
    ) -> Result<Option<f64>, OutOfRange> {
        self.pressure_near_abs_pa(hot_c, None, taken)
    }

    /// The same, looked for first near a pressure (Pa absolute): where it is told well, in a few steps without a bracket.
    pub(super) fn pressure_near_abs_pa(
        &self,
        hot_c: f64,
        near_abs_pa: Option<f64>,
        taken: &dyn Fn(f64) -> (f64, f64),
    ) -> Result<Option<f64>, OutOfRange> {
        let (start, warmed) = (self.start()?, self.warmed(hot_c)?);
        let excess = |abs_pa: f64| -> Result<(f64, f64), OutOfRange> {
            let (excess, slope) = self.excess(&start, &warmed, hot_c, abs_pa)?;
            let (water, more) = taken(abs_pa);
            Ok((excess - water, slope - more))
        };
        // A heater's own temperature may be above that of the rest.
        let hottest_c = self.groups(hot_c).map(|(_, celsius)| celsius).fold(hot_c, f64::max);
        let vapour_pa = water::saturation_pressure_pa(k_from_c(hottest_c))?
            .max(water::saturation_pressure_pa(k_from_c(self.cold_c))?);
        let (mut lo, mut hi) = (vapour_pa, HIGHEST_ABS_PA);
        if let Some(near) = near_abs_pa.filter(|near| *near > lo && *near < hi) {
            let mut at = near;
            for _ in 0..6 {
                let (over, slope) = excess(at)?;
                let step = -over / slope;
                at += step;
                // The excess falls all the way, so that there is one root, and this is it.
                if at <= lo || at >= hi {
                    break;
                }
                if step.abs() < 0.1 {
                    return Ok(Some(at));
                }
            }
        }
        if excess(lo)?.0 <= 0.0 {
            return Ok(Some(lo));
        }
        if excess(hi)?.0 > 0.0 {
            return Ok(None);
        }
        // Newton inside a bracket that always shrinks: the excess falls steadily with pressure.
        let mut at = self.start_abs_pa.clamp(lo, hi);
        for _ in 0..200 {
            let (over, slope) = excess(at)?;
            if over > 0.0 {
                lo = at;
            } else {
                hi = at;
            }
            let step = -over / slope;
            // A tenth of a pascal is far below what any gauge shows.
            if step.abs() < 0.1 || hi - lo < 0.1 {
                return Ok(Some((at + step).clamp(lo, hi)));
            }
            let next = at + step;
            at = if next > lo && next < hi { next } else { 0.5 * (lo + hi) };
        }
        Ok(Some(at))
    }

    /// Heating, K above cold, at which the pressure reaches `limit_abs_pa` (Pa absolute), looked for up to `hot_c` (°C).
    ///
    /// 0 when it is there already; `Ok(None)` when heating to `hot_c` does not reach it.
    ///
    /// # Errors
    /// A temperature or pressure outside liquid water.
    pub fn heating_to_k(&self, limit_abs_pa: f64, hot_c: f64) -> Result<Option<f64>, OutOfRange> {
        if limit_abs_pa <= self.start_abs_pa {
            return Ok(Some(0.0));
        }
        let start = self.start()?;
        let at = |celsius: f64| -> Result<f64, OutOfRange> {
            Ok(self.excess(&start, &self.warmed(celsius)?, celsius, limit_abs_pa)?.0)
        };
        let (mut lo, mut hi) = (self.cold_c, hot_c);
        let (mut f_lo, mut f_hi) = (at(lo)?, at(hi)?);
        if f_hi < 0.0 {
            return Ok(None);
        }
        // Regula falsi with the Illinois rule: the excess dips below 4 °C and then rises, so it crosses once upward.
        let mut side = 0;
        for _ in 0..200 {
            let span = f_hi - f_lo;
            let mid = if span > 0.0 {
                lo + (hi - lo) * (-f_lo / span)
            } else {
                0.5 * (lo + hi)
            };
            let f_mid = at(mid)?;
            if f_mid.abs() < 1e-12 * (self.heated_l + self.unheated_l) || hi - lo < 1e-7 {
                return Ok(Some(mid - self.cold_c));
            }
            if f_mid < 0.0 {
                (lo, f_lo) = (mid, f_mid);
                if side == -1 {
                    f_hi *= 0.5;
                }
                side = -1;
            } else {
                (hi, f_hi) = (mid, f_mid);
                if side == 1 {
                    f_lo *= 0.5;
                }
                side = 1;
            }
        }
        Ok(Some(0.5 * (lo + hi) - self.cold_c))
    }

    /// Local rise of pressure with temperature, Pa/K, with everything at `hot_c` (°C) and `abs_pa` (Pa absolute).
    ///
    /// (β·V − 3α·V) / Σ(κ + C)·V over the parts; negative where the walls grow faster than the water.
    ///
    /// # Errors
    /// A temperature or pressure outside liquid water.
    pub fn slope_pa_per_k(&self, hot_c: f64, abs_pa: f64) -> Result<f64, OutOfRange> {
        let cold = water::liquid(self.cold_c, abs_pa / 1e3)?;
        let rise_k = hot_c - self.cold_c;
        let (mut gain, mut squeezed) = (-self.growth_l_per_k, 0.0);
        for (litre, celsius) in self.groups(hot_c) {
            let hot = water::liquid(celsius, abs_pa / 1e3)?;
            let share = if rise_k > 0.0 {
                (celsius - self.cold_c) / rise_k
            } else {
                1.0
            };
            gain += share * litre * hot.expansivity_per_k;
            squeezed += litre * hot.compressibility_per_pa;
        }
        let give = squeezed
            + self.unheated_l * cold.compressibility_per_pa
            + self.stretch_l_per_pa
            + self.air_l * self.start_abs_pa / (abs_pa * abs_pa);
        Ok(gain / give)
    }

    /// What the system gives with pressure near `abs_pa` (Pa absolute) and `mean_c` (°C), L/Pa: water, walls and trapped air.
    ///
    /// # Errors
    /// A temperature or pressure outside liquid water.
    pub fn compliance_l_per_pa(&self, mean_c: f64, abs_pa: f64) -> Result<f64, OutOfRange> {
        let mean = water::compressibility_per_pa(mean_c, abs_pa / 1e3)?;
        let cold = water::compressibility_per_pa(self.cold_c, abs_pa / 1e3)?;
        Ok(self.heated_l * mean
            + self.unheated_l * cold
            + self.stretch_l_per_pa
            + self.air_l * self.start_abs_pa / (abs_pa * abs_pa))
    }
}

/// The water at the start, all of it cold.
struct Start {
    specific_volume_m3_kg: f64,
    cold: Isotherm,
}

/// What heating does with nothing to take the water up.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Unprotected<W = String> {
    /// What the gauge would show at the end, kPa gauge: never below the static pressure, because the supply follows in
    /// through the device. Null when beyond 100 MPa, where something has given long before.
    pub final_gauge_kpa: Option<f64>,
    /// Mean rise from cold to hot in the sealed system, kPa/K; negative where it would fall.
    pub rise_per_k_kpa: Option<f64>,
    /// Local rise at the hot end, at the limit pressure, kPa/K.
    pub rise_per_k_when_hot_kpa: f64,
    /// Heating above cold that reaches the limit, K; null when heating to hot does not reach it.
    pub heating_to_limit_k: Option<f64>,
    /// Heating above cold that reaches the heater's relief valve, K; null when it is not reached.
    pub heating_to_heater_relief_k: Option<f64>,
    /// What to think of these figures.
    pub remark: W,
}

impl Unprotected<Note> {
    /// With its words.
    pub fn said(self, tongue: Tongue) -> Unprotected {
        Unprotected {
            final_gauge_kpa: self.final_gauge_kpa,
            rise_per_k_kpa: self.rise_per_k_kpa,
            rise_per_k_when_hot_kpa: self.rise_per_k_when_hot_kpa,
            heating_to_limit_k: self.heating_to_limit_k,
            heating_to_heater_relief_k: self.heating_to_heater_relief_k,
            remark: self.remark.say(tongue),
        }
    }
}

/// The unprotected case of a system.
///
/// # Errors
/// A temperature or pressure outside liquid water.
pub fn unprotected(system: &System) -> Result<Unprotected<Note>, OutOfRange> {
    let sealed = Sealed::of(system);
    let air_pa = system.air_abs_pa();
    let rise_k = system.hot_c - system.cold_c;
    let limit_abs_pa = system.limit_gauge_pa + air_pa;
    let end = sealed.pressure_abs_pa(system.hot_c)?;
    let falls = end.is_some_and(|abs_pa| abs_pa < sealed.start_abs_pa - PA_PER_PSI * 0.01);
    let remark = if falls {
        Note::OfPressure(OfPressure::SealedFalls)
    } else {
        Note::OfPressure(OfPressure::SealedBound)
    };
    Ok(Unprotected {
        final_gauge_kpa: end.map(|abs_pa| (abs_pa.max(sealed.start_abs_pa) - air_pa) / 1e3),
        rise_per_k_kpa: end
            .filter(|_| rise_k > 0.0)
            .map(|abs_pa| (abs_pa - sealed.start_abs_pa) / rise_k / 1e3),
        rise_per_k_when_hot_kpa: sealed.slope_pa_per_k(system.hot_c, limit_abs_pa.max(sealed.start_abs_pa))? / 1e3,
        heating_to_limit_k: sealed.heating_to_k(limit_abs_pa, system.hot_c)?,
        heating_to_heater_relief_k: sealed.heating_to_k(system.heater_relief_gauge_pa + air_pa, system.hot_c)?,
        remark,
    })
}
