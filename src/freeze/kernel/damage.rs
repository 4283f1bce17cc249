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
use super::super::setup::{Setup, Trap};
use super::state::{Block, Part};
use crate::physics::ice::{EXPANSION_ON_FREEZING, LATENT_HEAT_J_KG};

impl<const W: usize> Block<W> {
    /// Ice fractions, blockage, trapped liquid and damage.
    pub(super) fn judge(&mut self, setup: &Setup, time_s: f64) {
        let since_s = time_s - self.judged_s;
        self.judged_s = time_s;
        // Looks are skipped while nothing is icy: whatever was trapped before has thawed. Half an interval is for rounding (judgement).
        let anew = setup.judge_every_s > 0.0 && since_s > 1.5 * setup.judge_every_s;
        if anew {
            self.iced_s = Lane::all(f64::INFINITY);
        }
        let mut any_ice = [false; W];
        for (i, part) in self.parts.iter_mut().enumerate() {
            if anew || !part.icy {
                part.seen = Lane::all(0.0);
                part.strain = Lane::all(0.0);
                part.ice_since_s = Lane::all(f64::INFINITY);
            }
            if !part.icy {
                continue;
            }
            let per_water = 1.0 / part.water_kg;
            for k in 0..W {
                let fraction = (part.ice.0[k] * per_water).min(1.0);
                self.out.peak_ice[i][k] = self.out.peak_ice[i][k].max(fraction);
                any_ice[k] |= fraction > 0.0;
                let since_s = &mut part.ice_since_s.0[k];
                *since_s = if fraction > 0.0 {
                    since_s.min(time_s)
                } else {
                    f64::INFINITY
                };
            }
        }
        for k in 0..W {
            if !any_ice[k] {
                self.iced_s.0[k] = f64::INFINITY;
            } else if self.iced_s.0[k] == f64::INFINITY {
                self.iced_s.0[k] = time_s;
            }
        }
        for k in (0..W).filter(|k| any_ice[*k]) {
            self.note_blocked(setup, k, time_s);
            self.judge_member(setup, k, time_s);
        }
    }

    fn note_blocked(&mut self, setup: &Setup, k: usize, time_s: f64) {
        let chain = self.chain;
        if self.out.blocked_s[k] == f64::INFINITY
            && self.parts[..chain]
                .iter()
                .any(|part| part.ice.0[k] >= setup.blocked_fraction * part.water_kg)
        {
            self.out.blocked_s[k] = time_s;
        }
    }

    fn judge_member(&mut self, setup: &Setup, k: usize, time_s: f64) {
        let net = &setup.net;
        let chain = self.chain;
        // Where ice first and last closes the chain: liquid upstream of the one still reaches the main, liquid
        // downstream of the other still reaches plumbing that gives.
        let first_closed = (0..chain).find(|&i| self.parts[i].closed(k));
        let last_closed = first_closed.and_then(|_| (0..chain).rev().find(|&i| self.parts[i].closed(k)));
        let way_out = |block: &Self, i: usize| {
            (i < net.first_checked && first_closed.is_none_or(|at| at > i))
                || (setup.downstream_open && last_closed.is_none_or(|at| at < i))
                || match setup.limits[i].trap {
                    Trap::UnlessVented => net.vent.is_some_and(|vent| !block.parts[vent].closed(k)),
                    // A bonnet that has given way opens the chamber below it until that is half ice.
                    Trap::UnlessBonnetGone => net.vent.is_some_and(|vent| {
                        block.out.damage_s[vent][k] < f64::INFINITY && block.parts[i].ice_fraction(k) < 0.5
                    }),
                    _ => false,
                }
        };
        let shift = self.follow.0[k] * self.air_shift.0[k];
        for i in 0..self.parts.len() {
            if !self.parts[i].icy {
                continue;
            }
            let relieved = match setup.limits[i].trap {
                Trap::Always => false,
                Trap::Hung => !self.parts[i].closed(k) && way_out(self, net.links[i - 1].a),
                Trap::UnlessOpen | Trap::UnlessVented | Trap::UnlessBonnetGone => way_out(self, i),
            };
            let part = &mut self.parts[i];
            let outside_c = part.outside_c.0[k] + shift;
            let over = part.stretch(k, relieved);
            // What is broken is not asked again, and pressure stands only below its melting temperature.
            let damage = &mut self.out.damage_s[i][k];
            if *damage == f64::INFINITY
                && outside_c < part.limit_melting_c.0[k]
                && part.pressure_pa(k, over, outside_c, time_s - self.iced_s.0[k]) >= part.limit_pa.0[k]
            {
                *damage = time_s;
                self.out.ice_before_s[i][k] = part.ice_since_s.0[k];
            }
        }
    }
}

impl<const W: usize> Part<W> {
    fn ice_fraction(&self, k: usize) -> f64 {
        (self.ice.0[k] / self.water_kg).min(1.0)
    }

    /// Whether ice has closed the narrows of the part.
    fn closed(&self, k: usize) -> bool {
        self.ice.0[k] >= self.shut_in.0[k] * self.water_kg
    }

    /// Takes what froze since the last look into the strain, of which nothing is left where the liquid finds a way out. Returns what of it
    /// stands over the slack while liquid is pushed out, a share of the part's water, else 0.
    fn stretch(&mut self, k: usize, relieved: bool) -> f64 {
        let fraction = self.ice_fraction(k);
        let last = self.seen.0[k];
        self.seen.0[k] = fraction;
        if relieved || fraction <= 0.0 {
            self.strain.0[k] = 0.0;
            return 0.0;
        }
        // Closed by its own ice since the last look: what grew before found its way out.
        let own = self.strain.0[k] <= 0.0 && self.closed(k);
        let from = if own { last.max(self.shut_in.0[k]) } else { last };
        self.strain.0[k] = (self.strain.0[k] + EXPANSION_ON_FREEZING * (fraction - from)).max(0.0);
        // Without liquid at the last look nothing is pushed out any more.
        if last >= 1.0 {
            0.0
        } else {
            self.strain.0[k] - self.slack.0[k]
        }
    }

    /// Pressure of the trapped liquid, Pa. What has been pushed out since it was shut in, beyond the slack, would stretch water and walls
    /// to one pressure; what the heat that leaves freezes just now needs another to seep away. The two ways give in parallel. The rate is
    /// that of the heat leaving through the part's own surface, not that of its ice from look to look: supercooled water freezes
    /// in a burst of mesh that shuts nothing, and a rate does not follow how steps share out the ice.
    fn pressure_pa(&self, k: usize, over: f64, outside_c: f64, iced_for_s: f64) -> f64 {
        if over <= 0.0 || outside_c >= 0.0 {
            return 0.0;
        }
        // Through the layer at which the narrows closed.
        let leaving_w = -outside_c / (1.0 / self.outside_w_per_k.0[k] + self.shut_in_k_per_w.0[k]);
        let leaving_w_m2 = leaving_w / (self.outside_w_per_k.0[k] * (1.0 / self.film.0[k] + self.insulation_m2k_per_w));
        // The more heat leaves through the metal, the colder its gaps: wind seals them, a wrap keeps them open. Mesh on the way out ripens
        // to solid ice.
        let sealed = self.seep_log_per_w_m2 * leaving_w_m2 + self.seep_log_per_s * iced_for_s;
        let seep_per_pa_s = self.seep_per_pa_s * (-sealed).exp();
        let pace_per_s = EXPANSION_ON_FREEZING * leaving_w / (LATENT_HEAT_J_KG * self.water_kg);
        1.0 / (self.give_per_pa / over + seep_per_pa_s / pace_per_s)
    }
}
