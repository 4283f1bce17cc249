//! From ice to break, in four events: first ice (in `phase`), service blocked, liquid trapped, part broken.
//!
//! A mesh of dendrites stops a tap but lets seep the millilitres an hour that growing ice pushes out, so it traps nothing. Only a part that
//! is frozen across is a plug. Liquid between plugs is a pocket unless it reaches an exit: the main against the flow as far as no check
//! stands in the way, plumbing that gives with the flow (poppets let water pass that way), the relief valve of a zone while that is not a
//! plug itself, or a part that has broken already. The pressure of a pocket rises with what has frozen since it was shut off, and no
//! further than the melting curve at the temperature the pocket would settle at by what surrounds it.
//!
//! Cavities behind a closed ball or seat are pockets by construction. They take the temperature of their part: while water still freezes
//! in it that is 0 °C, and no pressure can stand there; once all is ice, it follows the cold. What of the cavity is air, and how far its
//! soft seats and packing give, differs from one to the next: most give more than the ninth that ice needs, and never break.

use super::super::lane::Lane;
use super::super::setup::{Setup, Trap};
use super::state::{Block, Part};

/// What the judging of one member writes down, kept so that nothing is allocated in a step; `[parts]` each.
#[derive(Debug, Default)]
pub(super) struct Pockets {
    /// Frozen across.
    plug: Vec<bool>,
    /// Whether an exit opens at this part of the chain.
    exit: Vec<bool>,
    /// Whether what freezes in the part finds an exit.
    relieved: Vec<bool>,
    /// Number of the pocket that the part belongs to, 0 for none.
    pocket: Vec<u32>,
}

impl Pockets {
    pub(super) fn new(parts: usize) -> Self {
        Self {
            plug: vec![false; parts],
            exit: vec![false; parts],
            relieved: vec![false; parts],
            pocket: vec![0; parts],
        }
    }
}

impl<const W: usize> Block<W> {
    /// Ice fractions, blockage, pockets and damage.
    pub(super) fn judge(&mut self, setup: &Setup, time_s: f64) {
        let (mut any_blocked, mut any_plug) = ([false; W], [false; W]);
        for (i, part) in self.parts.iter_mut().enumerate().filter(|(_, part)| part.icy) {
            let per_water = 1.0 / part.water_kg;
            for k in 0..W {
                let fraction = (part.ice.0[k] * per_water).min(1.0);
                let peak = &mut self.out.peak_ice[i][k];
                *peak = peak.max(fraction);
                any_blocked[k] |= i < self.chain && fraction >= setup.blocked_fraction;
                any_plug[k] |= fraction >= setup.plug_fraction;
            }
        }
        for k in 0..W {
            if any_blocked[k] && self.out.blocked_s[k] == f64::INFINITY {
                self.out.blocked_s[k] = time_s;
            }
        }
        let mut pockets = std::mem::take(&mut self.pockets);
        for k in 0..W {
            if any_plug[k] {
                self.judge_member(setup, &mut pockets, k, time_s);
            } else {
                // Without a plug there is no pocket but behind closed seats, and those are at 0 °C while there is water.
                self.all_relieved(k);
            }
        }
        self.pockets = pockets;
    }

    fn all_relieved(&mut self, k: usize) {
        for part in self.parts.iter_mut().filter(|part| part.icy) {
            part.take_relief(k);
        }
    }

    fn judge_member(&mut self, setup: &Setup, pockets: &mut Pockets, k: usize, time_s: f64) {
        self.find_exits(setup, pockets, k);
        let count = self.number_pockets(setup, pockets);
        for i in 0..self.parts.len() {
            if pockets.relieved[i] {
                self.parts[i].take_relief(k);
            } else if self.out.trapped_s[i][k] == f64::INFINITY && self.parts[i].ice.0[k] > 0.0 {
                self.out.trapped_s[i][k] = time_s;
            }
        }
        for number in 1..=count {
            self.judge_pocket(setup, pockets, number, k, time_s);
        }
        for i in 0..self.parts.len() {
            self.judge_cavity(setup, i, k, time_s);
        }
    }

    /// What of the chain, and of the trim that is open to it, reaches an exit.
    fn find_exits(&self, setup: &Setup, pockets: &mut Pockets, k: usize) {
        let (net, chain) = (&setup.net, self.chain);
        for (i, part) in self.parts.iter().enumerate() {
            pockets.plug[i] = part.ice.0[k] >= setup.plug_fraction * part.water_kg;
        }
        let broken = |i: usize| self.out.damage_s[i][k] < f64::INFINITY && setup.limits[i].opens();
        for i in 0..chain {
            pockets.exit[i] = broken(i);
        }
        for i in chain..self.parts.len() {
            let vents = net.vent == Some(i) && !pockets.plug[i];
            if vents || broken(i) {
                pockets.exit[net.links[i - 1].a] = true;
            }
        }
        // With the flow: an exit in the next part, or beyond it.
        let mut onward = setup.downstream_open;
        for i in (0..chain).rev() {
            pockets.relieved[i] = onward || pockets.exit[i];
            onward = !pockets.plug[i] && pockets.relieved[i];
        }
        // Against the flow, up to a check.
        let mut back = true;
        for i in 0..chain {
            if i == net.first_checked || i == net.second_checked {
                back = false;
            }
            let by_back = back;
            pockets.relieved[i] |= by_back;
            back = !pockets.plug[i] && (by_back || pockets.exit[i]);
        }
        for i in chain..self.parts.len() {
            let parent = net.links[i - 1].a;
            pockets.relieved[i] = match setup.limits[i].trap {
                Trap::Sealed => false,
                Trap::Line | Trap::LineWithCavity | Trap::Hung => {
                    broken(i) || (!pockets.plug[parent] && pockets.relieved[parent])
                }
            };
        }
    }

    /// Numbers the pockets: runs of the chain without an exit, ended by a plug or a check, with the trim that hangs on them.
    fn number_pockets(&self, setup: &Setup, pockets: &mut Pockets) -> u32 {
        let net = &setup.net;
        let mut number = 0;
        let mut open_run = false;
        for i in 0..self.chain {
            if pockets.relieved[i] {
                pockets.pocket[i] = 0;
                open_run = false;
                continue;
            }
            if !open_run || i == net.first_checked || i == net.second_checked {
                number += 1;
            }
            pockets.pocket[i] = number;
            open_run = !pockets.plug[i];
        }
        for i in self.chain..self.parts.len() {
            let parent = net.links[i - 1].a;
            pockets.pocket[i] = if pockets.relieved[i] || setup.limits[i].trap == Trap::Sealed {
                0
            } else if pockets.plug[parent] {
                number += 1;
                number
            } else {
                pockets.pocket[parent]
            };
        }
        number
    }

    /// The weakest part of a pocket breaks when what has frozen since it was shut off reaches the pressure that the part stands, and the
    /// surroundings are cold enough for ice to grow against it. It then is an exit for the rest.
    fn judge_pocket(&mut self, setup: &Setup, pockets: &Pockets, number: u32, k: usize, time_s: f64) {
        let net = &setup.net;
        let (mut frozen, mut room) = (0.0, 0.0);
        // Heat that reaches it at 0 °C, W, and conductance to all that is not of it, W/K.
        let (mut heat, mut conductance) = (0.0, 0.0);
        let mut weakest: Option<usize> = None;
        let trace_on = self.trace_on.0[k];
        let shift = self.follow.0[k] * self.air_shift.0[k];
        let within = |i: usize| pockets.pocket[i] == number;
        for (i, part) in self.parts.iter().enumerate().filter(|(i, _)| within(*i)) {
            frozen += part.ice.0[k] - part.relieved.0[k] * part.water_kg;
            // Walls and seals give by the whole pocket, however little of it is still liquid when it is shut off.
            room += part.water_kg;
            let outside = if part.icy {
                part.outside_now.0[k]
            } else {
                part.outside_w_per_k.0[k]
            };
            heat += outside * (part.outside_c.0[k] + shift) + trace_on * part.trace_w + part.ground_w;
            conductance += outside + part.still_w_per_k;
            if weakest.is_none_or(|at| self.parts[at].limit_melting_c.0[k] < part.limit_melting_c.0[k]) {
                weakest = Some(i);
            }
        }
        for link in &net.links {
            let (a, b, g) = (link.a, link.b, link.conductance_w_per_k);
            match (within(a), within(b)) {
                (true, true) => conductance -= 2.0 * g,
                (true, false) => heat += g * self.parts[b].t.0[k],
                (false, true) => heat += g * self.parts[a].t.0[k],
                (false, false) => {}
            }
        }
        let Some(at) = weakest else { return };
        let part = &self.parts[at];
        let settles_c = heat / conductance.max(1e-9);
        let grown = frozen / room.max(1e-9);
        if grown >= part.limit_fraction.0[k] && settles_c < part.limit_melting_c.0[k] {
            let damage = &mut self.out.damage_s[at][k];
            *damage = damage.min(time_s);
        }
    }

    /// A cavity behind a closed seat, in a part that is all ice: as cold as the part.
    fn judge_cavity(&mut self, setup: &Setup, i: usize, k: usize, time_s: f64) {
        let part = &self.parts[i];
        let all_ice = part.water_kg > 0.0 && part.ice.0[k] >= part.water_kg;
        let tight = setup.limits[i].has_cavity() && part.cavity_fraction.0[k] < 1.0;
        let breaks = all_ice && tight && part.t.0[k] <= part.limit_melting_c.0[k];
        let damage = &mut self.out.damage_s[i][k];
        if breaks && *damage == f64::INFINITY {
            *damage = time_s;
        }
    }
}

impl<const W: usize> Part<W> {
    /// Ice that has found an exit strains nothing; all of it melted, the part is as it was.
    fn take_relief(&mut self, k: usize) {
        let fraction = self.ice.0[k] / self.water_kg;
        let before = if fraction > 0.0 { self.relieved.0[k] } else { 0.0 };
        self.relieved.0[k] = before.max(fraction).min(1.0);
    }
}

/// Limits of one part for the strengths of a block: ice fraction, and melting temperature at the pressure it stands.
pub(super) fn limits_of<const W: usize>(setup: &Setup, i: usize, strength: Lane<W>) -> (Lane<W>, Lane<W>) {
    let limit = &setup.limits[i];
    (
        strength.map(|s| limit.ice_fraction(s, setup.slack_fraction)),
        strength.map(|s| limit.melting_c(s)),
    )
}

/// Share of the closed cavity of a part that must freeze to reach the pressure that the part stands.
pub(super) fn cavity_of<const W: usize>(setup: &Setup, i: usize, strength: Lane<W>, score: Lane<W>) -> Lane<W> {
    let limit = &setup.limits[i];
    Lane(std::array::from_fn(|k| {
        let give = setup.seat_give * (setup.seat_give_log_sd * score.0[k]).exp();
        limit.ice_fraction(strength.0[k], give)
    }))
}
