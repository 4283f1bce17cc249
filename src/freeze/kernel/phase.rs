//! Water to ice and back, with no heat lost.
//!
//! A part that holds ice and water is held at 0 °C in the solve and takes the net flux as latent heat. In the step in which
//! its last water freezes, or its last ice melts, it is let go: it starts at 0 °C with the heat capacity that it will have,
//! and the latent heat that is left enters evenly over the step. So it cannot be carried past its surroundings, as it would
//! be by taking a whole step's heat at the rate of 0 °C, and what flows in is still what is stored. A liquid part
//! that crosses 0 °C keeps its enthalpy and changes its name.
//!
//! Which parts end in a step is foreseen from the fluxes at its start, and put right after the solve where that was wrong.
//!
//! Numbers without a tag of their own: exact: 1 is yes and 0 is no.

use super::super::lane::Lane;
use super::super::real::Real;
use super::super::setup::Setup;
use super::masks::{mark, not, pick, reaches};
use super::state::{Block, Part};
use super::{GAMMA, Lanes};
use crate::physics::ice::LATENT_HEAT_J_KG;

/// From the mean of a cylinder of ice to its surface, in the units of −ln(1 − fraction): a uniform sink needs
/// q/(8πkL), half of q/(4πkL) \[incropera\].
const SOLID_LAYER: f64 = 0.5;
/// A held part that would end this far past 0 °C is let go instead, K.
const PAST_K: f64 = 0.02;

impl<const W: usize, F: Real> Part<W, F> {
    /// Coefficients of a part with ice in some member.
    ///
    /// Ice grows inward from the wall, and heat passes through its layer. It melts from the wall too: what is left
    /// lies against the wall with a thin film of water between, so nothing is in the way of heat that comes in.
    #[inline(always)]
    pub(super) fn take_ice(&mut self, shift: Lane<W, F>, trace_on: Lane<W, F>, per_step: F) {
        let (water, per_water) = (self.water_kg, F::ONE / self.water_kg);
        let (solid, liquid) = (self.solid_j_per_k, self.liquid_j_per_k);
        let (trace_w, ground_w) = (self.trace_w, self.ground_w);
        let (ice, outside, around) = (self.ice, self.outside_w_per_k, self.outside_c + shift);
        let has = mark(ice, |ice| ice > F::ZERO);
        let all = mark(ice, |ice| ice >= water);
        let freezing = mark(around, |around| around < F::ZERO);
        let grown = pick(freezing, (ice * per_water).map(F::minus_ln_1m), Lane::all(F::ZERO));
        let layer = pick(all, Lane::all(F::of(SOLID_LAYER)), grown);
        let through = outside / (outside * (layer * self.ice_k_per_w) + F::ONE);
        let g = pick(has, through, outside);
        self.outside_now = g;
        self.cap = pick(has, Lane::all(solid * per_step), Lane::all(liquid * per_step));
        let fixed_ice = g * around + trace_on * trace_w + ground_w;
        self.fixed = pick(has, fixed_ice, self.fixed_hour + outside * shift);
        self.held = pick(all, Lane::all(F::ZERO), has);
        self.ends = Lane::all(F::ZERO);
        // In the order of a part without ice, so that a member without ice keeps its bits.
        self.diag = self.outside_now + (self.cap + self.still_w_per_k);
    }

    /// Lets go of the held members that a mean flux of `flux` takes through, farther than `past_k`. Says whether there are any.
    #[inline(always)]
    fn let_go(&mut self, flux: Lane<W, F>, dt: F, per_step: F, past_k: F) -> bool {
        let latent_j_kg = F::of(LATENT_HEAT_J_KG);
        let all_ice_j = -latent_j_kg * self.water_kg;
        let (freezes_j, melts_j) = (all_ice_j - past_k * self.solid_j_per_k, past_k * self.liquid_j_per_k);
        let (ice, held) = (self.ice, self.held);
        let after_j = flux * dt - ice * latent_j_kg;
        let freezes = mark(after_j, |after_j| after_j < freezes_j) * held;
        let melts = mark(after_j, |after_j| after_j > melts_j) * held;
        let ends = freezes - melts;
        if !ends.any_above(F::ZERO) && !ends.any_below(F::ZERO) {
            return false;
        }
        let (per_s, to_liquid) = (F::ONE / dt, (self.liquid_j_per_k - self.solid_j_per_k) * per_step);
        self.held = held - freezes - melts;
        self.ends += ends;
        // Latent heat of the water that is left, or of the ice.
        let left_j = freezes * (latent_j_kg * self.water_kg) + ice * (freezes + melts) * -latent_j_kg;
        self.fixed += left_j * per_s;
        self.cap += melts * to_liquid;
        self.diag += melts * to_liquid;
        true
    }
}

impl<const W: usize, F: Real> Block<W, F> {
    /// Lets go of parts whose change of phase ends in this step by the fluxes at its start.
    #[inline(always)]
    pub(super) fn foresee_ends(&mut self, setup: &Setup) {
        for i in 0..self.parts.len() {
            if self.parts[i].icy {
                let flux = self.flux_into(setup, i, |part| part.t);
                self.parts[i].let_go(flux, self.dt, self.per_step, F::ZERO);
            }
        }
    }

    /// Mean fluxes of the step just solved, and the solve again where they take a held part through: until none does. Each round lets go
    /// of more parts of some member, and of no part twice, so there are at most as many as parts; most steps need none. Ended before, a
    /// draw that flushes small parts one after the other left one held past its end, and its water at −70 °C.
    #[inline(always)]
    pub(super) fn settle_ends(&mut self, setup: &Setup) {
        let rounds = self.parts.len();
        for round in 0..=rounds {
            let mut any = false;
            // Fluxes are straight lines in the temperatures, so the mean flux is the flux at the mean temperatures.
            for part in &mut self.parts {
                part.mean = part.s1 * F::of(1.0 - GAMMA) + part.s2 * F::of(GAMMA);
            }
            for i in 0..self.parts.len() {
                if self.parts[i].icy {
                    self.parts[i].flux = self.flux_into(setup, i, |part| part.mean);
                }
            }
            if round == rounds {
                return;
            }
            for part in self.parts.iter_mut().filter(|part| part.icy) {
                any |= part.let_go(part.flux, self.dt, self.per_step, F::of(PAST_K));
            }
            if !any {
                return;
            }
            self.solve(setup);
        }
    }

    /// Takes the step: new temperatures and ice.
    #[inline(always)]
    pub(super) fn advance(&mut self, setup: &Setup, lanes: &Lanes<W>, time_s: f64) {
        let mut lowest = Lane::all(F::INFINITY);
        for part in &self.parts {
            lowest = lowest.min(part.s2);
        }
        if self.icy || lowest.any_below(F::ZERO) {
            if !self.icy {
                for part in &mut self.parts {
                    part.t0 = part.t;
                    part.ice0 = part.ice;
                }
            }
            lowest = Lane::all(F::INFINITY);
            let mut icy = false;
            for i in 0..self.parts.len() {
                if self.parts[i].icy || self.parts[i].s2.any_below(F::ZERO) {
                    self.change_phase(setup, lanes, i, time_s);
                    let part = &mut self.parts[i];
                    part.icy = part.ice.any_above(F::ZERO);
                    icy |= part.icy;
                } else {
                    self.parts[i].t = self.parts[i].s2;
                }
                lowest = lowest.min(self.parts[i].t);
            }
            self.icy = icy;
        } else {
            for part in &mut self.parts {
                part.t = part.s2;
            }
        }
        self.coldest = self.coldest.min(lowest);
        self.hour_coldest = self.hour_coldest.min(lowest);
        self.hour_drip += self.drip_flow * self.dt;
    }

    /// One part: enthalpy kept, name changed where it crosses 0 °C.
    #[inline(always)]
    fn change_phase(&mut self, setup: &Setup, lanes: &Lanes<W>, i: usize, time_s: f64) {
        // Ice next door seeds supercooled water: dendrites cross in seconds.
        let mut seed = Lane::all(F::ZERO);
        if self.icy {
            let parts = &self.parts;
            if i >= self.chain {
                seed = parts[setup.net.links[i - 1].a].ice0;
            } else {
                if i > 0 {
                    seed += parts[i - 1].ice0;
                }
                if i + 1 < self.chain {
                    seed += parts[i + 1].ice0;
                }
                for &leaf in &parts[i].trim {
                    seed += parts[leaf].ice0;
                }
            }
        }
        let dt = self.dt;
        let part = &mut self.parts[i];
        let (water, liquid, solid) = (part.water_kg, part.liquid_j_per_k, part.solid_j_per_k);
        let latent_j_kg = F::of(LATENT_HEAT_J_KG);
        let all_ice = -latent_j_kg * water;
        let (ice0, s, flux, ends) = (part.ice0, part.s2, part.flux, part.ends);
        let zero = Lane::all(F::ZERO);
        let has = mark(ice0, |ice| ice > F::ZERO);
        let all = mark(ice0, |ice| ice >= water) * has;
        let held = (has - all) * mark(ends, |ends| ends == F::ZERO);
        // Enthalpy above liquid at 0 °C, J: from the net flux where the part was held, else from its capacity.
        let as_solid = s * solid + all_ice;
        let as_held = flux * dt - ice0 * latent_j_kg;
        let to_solid = has * mark(ends, |ends| ends >= F::ZERO);
        let enthalpy = pick(held, as_held, pick(to_solid, as_solid, s * liquid));
        let seeded = mark(seed, |seed| seed > F::ZERO);
        let nucleates = if water > F::ZERO {
            mark(s, |s| s < F::ZERO) * reaches(Lane::of(&lanes.nucleation_c), s).max(seeded)
        } else {
            zero
        };
        let stays_liquid = mark(enthalpy, |enthalpy| enthalpy >= F::ZERO).max(not(has) * not(nucleates));
        let mixed = mark(enthalpy, |enthalpy| enthalpy > all_ice);
        // Untouched where there never was ice, so that a lane's bits do not depend on what its neighbours do.
        let liquid_t = pick(has, enthalpy / Lane::all(liquid), s);
        let frozen_t = pick(mixed, zero, (enthalpy - all_ice) / Lane::all(solid));
        let t = pick(stays_liquid, liquid_t, frozen_t);
        let frozen_ice = pick(mixed, enthalpy / Lane::all(-latent_j_kg), Lane::all(water));
        let ice = pick(stays_liquid, zero, frozen_ice);
        let begins = not(has) * mark(ice, |ice| ice > F::ZERO);
        let fills = (has - all) * mark(ice, |ice| ice >= water);
        let events = (begins + fills).any_above(F::ZERO);
        part.t = t;
        part.ice = ice;
        if events {
            for k in 0..W {
                self.note_events(lanes, i, k, seed.0[k] > F::ZERO, time_s);
            }
        }
    }

    /// When ice first formed in a part, and when the last of its water froze.
    fn note_events(&mut self, lanes: &Lanes<W>, i: usize, k: usize, seeded: bool, time_s: f64) {
        let part = &self.parts[i];
        let [water, ice, ice0, t0, s] =
            [part.water_kg, part.ice.0[k], part.ice0.0[k], part.t0.0[k], part.s2.0[k]].map(F::to_f64);
        let dt = self.dt.to_f64();
        if ice > 0.0 && ice0 <= 0.0 {
            // Ice next door starts it at 0 °C, else it starts at its nucleation temperature.
            let starts_c = if seeded { 0.0 } else { lanes.nucleation_c[k] };
            let at = if t0 <= starts_c || t0 <= s {
                time_s
            } else {
                // Where the straight line between the step's ends crosses it.
                time_s + dt * ((t0 - starts_c) / (t0 - s)).clamp(0.0, 1.0)
            };
            self.out.ice_s[i][k] = self.out.ice_s[i][k].min(at);
            if at < self.out.first_ice_s[k] {
                self.out.first_ice_s[k] = at;
                self.out.first_part[k] = i as u16;
            }
        }
        if ice >= water && ice0 < water && self.out.part_solid_s[i][k] == f64::INFINITY {
            // The share of the step after which no water was left, by its mean rate of freezing.
            let rest_j = (water - ice0) * LATENT_HEAT_J_KG;
            let rate_w = -part.flux.0[k].to_f64();
            let share = if ice0 > 0.0 && rate_w > 0.0 {
                rest_j / (rate_w * dt)
            } else {
                1.0
            };
            self.out.part_solid_s[i][k] = time_s + dt * share.clamp(0.0, 1.0);
        }
    }
}
