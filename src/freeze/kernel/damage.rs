//! Blockage, and damage where liquid is trapped.

use super::super::setup::{Setup, Trap};
use super::state::Block;

impl<const W: usize> Block<W> {
    /// Ice fractions, blockage and damage.
    pub(super) fn judge(&mut self, setup: &Setup, time_s: f64) {
        let net = &setup.net;
        let (n, chain) = (net.parts.len(), net.chain);
        let mut any_ice = [false; W];
        for i in 0..n {
            if !self.parts[i].icy {
                continue;
            }
            let per_water = 1.0 / self.parts[i].water_kg;
            for k in 0..W {
                let fraction = (self.parts[i].ice.0[k] * per_water).min(1.0);
                self.out.peak_ice[i][k] = self.out.peak_ice[i][k].max(fraction);
                any_ice[k] |= fraction > 0.0;
            }
        }
        for k in (0..W).filter(|k| any_ice[*k]) {
            self.judge_member(setup, n, chain, k, time_s);
        }
    }

    fn judge_member(&mut self, setup: &Setup, n: usize, chain: usize, k: usize, time_s: f64) {
        let net = &setup.net;
        let blocked =
            |block: &Self, i: usize| block.parts[i].ice.0[k] >= setup.blocked_fraction * block.parts[i].water_kg;
        // Where ice first and last closes the chain: liquid upstream of the one still reaches the main, liquid
        // downstream of the other still reaches plumbing that gives.
        let first_blocked = (0..chain).find(|&i| blocked(self, i));
        let last_blocked = first_blocked.and_then(|_| (0..chain).rev().find(|&i| blocked(self, i)));
        if first_blocked.is_some() && self.out.blocked_s[k] == f64::INFINITY {
            self.out.blocked_s[k] = time_s;
        }
        let shift = self.follow.0[k] * self.air_shift.0[k];
        for i in 0..n {
            if !self.parts[i].icy || self.out.damage_s[i][k] < f64::INFINITY {
                continue;
            }
            let fraction = self.parts[i].ice.0[k] / self.parts[i].water_kg;
            if fraction <= 0.0 {
                self.parts[i].relieved.0[k] = 0.0;
                continue;
            }
            let back_to_main = i < net.first_checked && first_blocked.is_none_or(|at| at >= i);
            let on_to_building = setup.downstream_open && last_blocked.is_none_or(|at| at <= i);
            let relieved = match setup.limits[i].trap {
                Trap::Always => false,
                Trap::UnlessOpen => back_to_main || on_to_building,
                Trap::UnlessVented => on_to_building || net.vent.is_some_and(|vent| !blocked(self, vent)),
                // A bonnet that has given way opens the chamber below it until that is half ice.
                Trap::UnlessBonnetGone => {
                    on_to_building
                        || net
                            .vent
                            .is_some_and(|vent| self.out.damage_s[vent][k] < f64::INFINITY && fraction < 0.5)
                }
            };
            if relieved {
                self.parts[i].relieved.0[k] = self.parts[i].relieved.0[k].max(fraction);
                continue;
            }
            let grown = (fraction - self.parts[i].relieved.0[k]) / (1.0 - self.parts[i].relieved.0[k]).max(1e-9);
            let grows = self.parts[i].outside_c.0[k] + shift < self.parts[i].limit_melting_c.0[k];
            if grown >= self.parts[i].limit_fraction.0[k] && grows {
                self.out.damage_s[i][k] = time_s;
            }
        }
    }
}
