//! From ice to break, in four events: first ice (in `phase`), service blocked, liquid trapped, part broken.
//!
//! Dendrites stop a tap at a few percent of ice but trap nothing: what growing ice pushes out, millilitres an hour, seeps through them.
//! Liquid is trapped when the ice that grows inward from the walls has closed the narrows of its own chamber (a poppet frozen to its
//! seat, a throat), or every way out beyond: the main against the flow as far as no check stands in the way, plumbing that gives with
//! the flow, the relief valve of a zone while that is not closed itself. The ball of a cock is closed by construction.
//!
//! Trapped liquid gains the 9 % that freezing water grows by. That volume first fills the slack; what is left over stretches water and
//! walls and seeps past seats, packing and mesh in proportion to the pressure. So ice that grows slowly is relieved and ice that grows
//! fast breaks; and what was relieved in a short night breaks in a long one, for mesh ripens to solid ice. Pressure stands only below its
//! melting temperature.

use super::super::lane::Lane;
use super::super::real::Real;
use super::super::setup::{Setup, Trap};
use super::masks::{mark, not, pick, reaches};
use super::state::{Block, Part};
use crate::physics::ice::{EXPANSION_ON_FREEZING, LATENT_HEAT_J_KG};

impl<const W: usize, F: Real> Block<W, F> {
    /// Ice fractions, blockage, trapped liquid and damage.
    #[inline(always)]
    pub(super) fn judge(&mut self, setup: &Setup, time_s: f64) {
        let since_s = time_s - self.judged_s;
        self.judged_s = time_s;
        // Looks are skipped while nothing is icy: whatever was trapped before has thawed. Half an interval is for rounding (judgement).
        let anew = setup.judge_every_s > 0.0 && since_s > 1.5 * setup.judge_every_s;
        if anew {
            self.iced_s = Lane::all(f64::INFINITY);
        }
        let mut any_ice = Lane::all(F::ZERO);
        for part in &mut self.parts {
            if anew || !part.icy {
                part.seen = Lane::all(F::ZERO);
                part.strain = Lane::all(F::ZERO);
                part.ice_since_s = Lane::all(f64::INFINITY);
            }
            if !part.icy {
                continue;
            }
            let fraction = part.ice_fraction();
            part.peak = part.peak.max(fraction);
            any_ice = any_ice.max(mark(fraction, |fraction| fraction > F::ZERO));
            for k in 0..W {
                let since_s = part.ice_since_s.0[k].min(time_s);
                part.ice_since_s.0[k] = if fraction.0[k] > F::ZERO {
                    since_s
                } else {
                    f64::INFINITY
                };
            }
        }
        for k in 0..W {
            let since_s = self.iced_s.0[k].min(time_s);
            self.iced_s.0[k] = if any_ice.0[k] > F::ZERO { since_s } else { f64::INFINITY };
        }
        self.note_blocked(setup, any_ice, time_s);
        self.find_ways_out(setup);
        for i in 0..self.parts.len() {
            if self.parts[i].icy {
                self.judge_part(setup, i, time_s);
            }
        }
    }

    #[inline(always)]
    fn note_blocked(&mut self, setup: &Setup, any_ice: Lane<W, F>, time_s: f64) {
        let blocked = not(self.passing(setup, self.chain)) * any_ice;
        if blocked.any_above(F::ZERO) {
            for (blocked_s, blocked) in self.out.blocked_s.iter_mut().zip(blocked.0) {
                if blocked > F::ZERO {
                    *blocked_s = blocked_s.min(time_s);
                }
            }
        }
    }

    /// Where ice leaves a way along the chain: liquid before its first closed part still reaches the main as far as no check stands in the way,
    /// liquid behind its last one plumbing that gives.
    #[inline(always)]
    fn find_ways_out(&mut self, setup: &Setup) {
        let chain = &mut self.parts[..self.chain];
        let mut closed = Lane::all(F::ZERO);
        for (i, part) in chain.iter_mut().enumerate() {
            part.closed = part.closes();
            closed = closed.max(part.closed);
            part.way_out = if i < setup.net.first_checked {
                not(closed)
            } else {
                Lane::all(F::ZERO)
            };
        }
        if setup.downstream_open {
            closed = Lane::all(F::ZERO);
            for part in chain.iter_mut().rev() {
                closed = closed.max(part.closed);
                part.way_out = part.way_out.max(not(closed));
            }
        }
    }

    /// 1 where the liquid of part `i` of the chain finds a way out, else 0.
    #[inline(always)]
    fn way_out(&self, setup: &Setup, i: usize) -> Lane<W, F> {
        let part = &self.parts[i];
        let Some(vent) = setup.net.vent.map(|vent| &self.parts[vent]) else {
            return part.way_out;
        };
        match setup.limits[i].trap {
            Trap::UnlessVented => part.way_out.max(not(vent.closes())),
            // A bonnet that has given way opens the chamber below it until that is half ice.
            Trap::UnlessBonnetGone => {
                let half = mark(part.ice_fraction(), |fraction| fraction < F::of(0.5));
                part.way_out.max(not(vent.whole) * half)
            }
            _ => part.way_out,
        }
    }

    #[inline(always)]
    fn judge_part(&mut self, setup: &Setup, i: usize, time_s: f64) {
        let relieved = match setup.limits[i].trap {
            Trap::Always => Lane::all(F::ZERO),
            Trap::Hung => not(self.parts[i].closes()) * self.way_out(setup, setup.net.links[i - 1].a),
            Trap::UnlessOpen | Trap::UnlessVented | Trap::UnlessBonnetGone => self.way_out(setup, i),
        };
        let part = &mut self.parts[i];
        let over = part.stretch(relieved);
        let outside_c = part.outside_c + self.follow * self.air_shift;
        // What is broken is not asked again, and pressure stands only below its melting temperature.
        let cold = mark(outside_c - part.limit_melting_c, |above_k| above_k < F::ZERO);
        let asked = mark(over, |over| over > F::ZERO) * cold * part.whole;
        if !asked.any_above(F::ZERO) {
            return;
        }
        for k in (0..W).filter(|k| asked.0[*k] > F::ZERO) {
            let iced_for_s = F::of(time_s - self.iced_s.0[k]);
            if part.pressure_pa(k, over.0[k], outside_c.0[k], iced_for_s) >= part.limit_pa.0[k] {
                part.whole.0[k] = F::ZERO;
                self.out.damage_s[i][k] = time_s;
                self.out.ice_before_s[i][k] = part.ice_since_s.0[k];
            }
        }
    }
}

impl<const W: usize, F: Real> Part<W, F> {
    #[inline(always)]
    fn ice_fraction(&self) -> Lane<W, F> {
        // Divided, not times the inverse: all of the water is a whole, to the bit.
        self.ice.map(|ice| (ice / self.water_kg).least(F::ONE))
    }

    /// 1 where ice has closed the narrows of the part, else 0.
    #[inline(always)]
    fn closes(&self) -> Lane<W, F> {
        reaches(self.ice, self.shut_in * self.water_kg)
    }

    /// Takes what froze since the last look into the strain, of which nothing is left where the liquid finds a way out. Returns what of it
    /// stands over the slack while liquid is pushed out, a share of the part's water, else 0.
    #[inline(always)]
    fn stretch(&mut self, relieved: Lane<W, F>) -> Lane<W, F> {
        let zero = Lane::all(F::ZERO);
        let fraction = self.ice_fraction();
        let last = self.seen;
        self.seen = fraction;
        let trapped = not(relieved) * mark(fraction, |fraction| fraction > F::ZERO);
        // Closed by its own ice since the last look: what grew before found its way out.
        let own = mark(self.strain, |strain| strain <= F::ZERO) * self.closes();
        let from = pick(own, last.max(self.shut_in), last);
        let strain = (self.strain + (fraction - from) * F::of(EXPANSION_ON_FREEZING)).max(zero);
        self.strain = pick(trapped, strain, zero);
        // Without liquid at the last look nothing is pushed out any more.
        let liquid = mark(last, |last| last < F::ONE) * trapped;
        pick(liquid, self.strain - self.slack, zero)
    }

    /// Pressure of the trapped liquid, Pa. What has been pushed out since it was shut in, beyond the slack, would stretch water and walls
    /// to one pressure; what the heat that leaves freezes just now needs another to seep away. The two ways give in parallel. The rate is
    /// that of the heat leaving through the part's own surface, not that of its ice from look to look: supercooled water freezes
    /// in a burst of mesh that shuts nothing, and a rate does not follow how steps share out the ice.
    fn pressure_pa(&self, k: usize, over: F, outside_c: F, iced_for_s: F) -> F {
        if over <= F::ZERO || outside_c >= F::ZERO {
            return F::ZERO;
        }
        // Through the layer at which the narrows closed.
        let leaving_w = -outside_c / (F::ONE / self.outside_w_per_k.0[k] + self.shut_in_k_per_w.0[k]);
        let leaving_w_m2 =
            leaving_w / (self.outside_w_per_k.0[k] * (F::ONE / self.film.0[k] + self.insulation_m2k_per_w));
        // The more heat leaves through the metal, the colder its gaps: wind seals them, a wrap keeps them open. Mesh on the way out ripens
        // to solid ice.
        let sealed = self.seep_log_per_w_m2 * leaving_w_m2 + self.seep_log_per_s * iced_for_s;
        let seep_per_pa_s = self.seep_per_pa_s * (-sealed).exp();
        let pace_per_s = F::of(EXPANSION_ON_FREEZING) * leaving_w / (F::of(LATENT_HEAT_J_KG) * self.water_kg);
        F::ONE / (self.give_per_pa / over + seep_per_pa_s / pace_per_s)
    }
}
