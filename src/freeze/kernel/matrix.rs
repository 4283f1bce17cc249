//! Coefficients of a step and the solve of its two stages.

use super::super::lane::Lane;
use super::super::real::Real;
use super::super::setup::{Drip, Setup};
use super::state::{Block, Part};
use super::{DENSEST_C, GAMMA};

/// How near its middle a part is held by its drip device, K (judgement: a seventieth of the band; the riser before it answers tenfold).
const HELD_WITHIN_K: f64 = 0.03;
/// Further tries of the share of its flow (judgement: one or two are usual).
const ROUNDS: usize = 8;
/// A share of a step ago that is less than this tells nothing (judgement).
const LEAST_SHARE: f64 = 1e-3;
/// The share that is tried first when a device opens (judgement: all of it flushes a small body several times in one step).
const FIRST_TRY: f64 = 0.1;

/// Coefficients of one part in a step.
struct Balance<const W: usize, F> {
    /// Heat capacity over γ·dt, W/K.
    cap: Lane<W, F>,
    /// Heat that does not depend on any unknown, W.
    fixed: Lane<W, F>,
    /// Diagonal without flow, W/K.
    diag: Lane<W, F>,
}

impl<const W: usize, F: Real> Part<W, F> {
    /// Put together as it is needed and not kept: loads and stores are what the kernel has most of.
    #[inline(always)]
    fn balance(&self, shift: Lane<W, F>, per_step: F) -> Balance<W, F> {
        let mut balance = if self.icy {
            Balance {
                cap: self.cap,
                fixed: self.fixed,
                diag: self.diag,
            }
        } else {
            let (outside, cap) = (self.outside_w_per_k, self.liquid_j_per_k * per_step);
            Balance {
                cap: Lane::all(cap),
                fixed: self.fixed_hour + outside * shift,
                diag: outside + (cap + self.still_w_per_k),
            }
        };
        if self.mixes {
            balance.diag += self.mixed;
            balance.fixed += self.mixed_fixed;
        }
        balance
    }
}

impl<const W: usize, F: Real> Block<W, F> {
    /// What of the step's coefficients cannot be had from the hour's as they are needed: ice and mixing.
    #[inline(always)]
    pub(super) fn coefficients(&mut self, setup: &Setup) {
        self.shift = self.follow * self.air_shift;
        for part in self.parts.iter_mut().filter(|part| part.icy) {
            part.take_ice(self.shift, self.trace_on, self.per_step);
        }
        for part in self.parts.iter_mut().filter(|part| part.mixes) {
            part.mixed = Lane::all(F::ZERO);
            part.mixed_fixed = Lane::all(F::ZERO);
        }
        for mixing in &mut self.mixing {
            let (lo, hi) = (
                self.parts[mixing.lower].t - F::of(DENSEST_C),
                self.parts[mixing.upper].t - F::of(DENSEST_C),
            );
            let now = (lo * lo - hi * hi).max(Lane::all(F::ZERO)).sqrt() * mixing.mixing_w_per_k2;
            let mixed = mixing.last.calmed(now);
            self.parts[mixing.holder].link = mixed + mixing.still_w_per_k;
            self.parts[mixing.lower].mixed += mixed;
            self.parts[mixing.upper].mixed += mixed;
        }
        for mixing in &mut self.ground_mixing {
            let part = &mut self.parts[mixing.part];
            let hi = part.t - F::of(DENSEST_C);
            let now = (Lane::all(mixing.deficit_k2) - hi * hi).max(Lane::all(F::ZERO)).sqrt() * mixing.mixing_w_per_k2;
            let mixed = mixing.last.calmed(now);
            part.mixed += mixed;
            part.mixed_fixed += mixed * mixing.ground_c;
        }
        self.flow = self.draw;
        if self.icy {
            if self.drawing {
                self.flow = self.flow * self.passing(setup, self.chain);
            }
            self.foresee_ends(setup);
        }
        self.drip_flow = Lane::all(F::ZERO);
    }

    /// 1 where no part of the first `parts` of the chain is filled with ice, else 0.
    #[inline(always)]
    pub(super) fn passing(&self, setup: &Setup, parts: usize) -> Lane<W, F> {
        let mut passes = Lane::all(F::ONE);
        for part in self.parts.iter().take(parts) {
            let full = F::of(setup.blocked_fraction) * part.water_kg;
            passes = passes.with(part.ice, |open, ice| if ice >= full { F::ZERO } else { open });
        }
        passes
    }

    /// The drip device, as the mean of its opening and closing: once open it holds its part in the middle of its
    /// band with the share of its flow that does so, until the part would pass the closing temperature by itself.
    ///
    /// What the flow does to the part is far from a straight line: in one step of the ensemble a device flushes a small body several
    /// times over. So the share is found along the curve that tends to the supply's temperature, until the part is where it is held.
    ///
    /// Says whether the step is solved with the flow that it leaves.
    #[inline(always)]
    pub(super) fn regulate(&mut self, setup: &Setup) -> bool {
        let Some(Drip {
            opens_c,
            closes_c,
            flow_w_per_k,
        }) = setup.drip
        else {
            return false;
        };
        let at = setup.net.drip_at;
        let (opens_c, closes_c, flow_w_per_k) = (F::of(opens_c), F::of(closes_c), F::of(flow_w_per_k));
        let supply_c = F::of(setup.supply_c);
        self.solve(setup);
        let shut = self.parts[at].s2;
        let mut needed = false;
        for k in 0..W {
            let open = (self.drip_open.0[k] > F::ZERO && shut.0[k] < closes_c) || shut.0[k] <= opens_c;
            self.drip_open.0[k] = if open { F::ONE } else { F::ZERO };
            needed |= open;
        }
        if !needed {
            return true;
        }
        let most = self.passing(setup, at + 1) * flow_w_per_k;
        let hold_c = F::of(0.5) * (opens_c + closes_c);
        // From what held it a step ago; a share of nothing tells nothing.
        let mut share = self.drip_open.with(self.drip_share, |open, last| {
            let told = last > F::of(LEAST_SHARE);
            open * if told { last } else { F::of(FIRST_TRY) }
        });
        let (mut low, mut high) = (Lane::<W, F>::all(F::ZERO), Lane::<W, F>::all(F::ONE));
        for round in 0..=ROUNDS {
            self.drip_flow = most * share;
            self.solve(setup);
            let reached = self.parts[at].s2;
            let mut off = false;
            for k in 0..W {
                // Only where it is off, so that a member's bits do not depend on how long its neighbours take.
                if self.drip_open.0[k] <= F::ZERO || (reached.0[k] - hold_c).abs() <= F::of(HELD_WITHIN_K) {
                    continue;
                }
                if reached.0[k] > hold_c {
                    high.0[k] = share.0[k];
                } else {
                    low.0[k] = share.0[k];
                }
                let next = next_share(
                    hold_c,
                    [shut.0[k], reached.0[k], supply_c],
                    share.0[k],
                    [low.0[k], high.0[k]],
                );
                if next != share.0[k] && round < ROUNDS {
                    off = true;
                    share.0[k] = next;
                }
            }
            if !off {
                break;
            }
        }
        self.drip_share = share;
        true
    }

    /// Heat capacity flow into part `i` of the chain.
    #[inline(always)]
    pub(super) fn flow_at(&self, setup: &Setup, i: usize) -> Lane<W, F> {
        if i <= setup.net.drip_at {
            self.flow + self.drip_flow
        } else {
            self.flow
        }
    }

    /// Both stages of a step with one factorisation; leaves stage temperatures in `s1` and `s2`.
    ///
    /// First stage: C/(γ dt)·T0 + fixed. Second stage: the first stage's rate enters with weight (1 − γ)/γ.
    #[inline(always)]
    pub(super) fn solve(&mut self, setup: &Setup) {
        const BACK: f64 = (1.0 - GAMMA) / GAMMA;
        let second = F::of(BACK);
        let flowing = self.drawing || setup.drip.is_some();
        let chain = self.chain;
        let (shift, per_step, keep_first) = (self.shift, self.per_step, self.icy || self.recorded);
        let (upper_flow, lower_flow, drip_at) = (self.flow + self.drip_flow, self.flow, setup.net.drip_at);
        let (main, trim) = self.parts.split_at_mut(chain);
        // Down the chain: each part's trim first, then the part. `s2` takes what the sweep has so far.
        let (mut link, mut carry, mut before) =
            (Lane::all(F::ZERO), Lane::all(F::ZERO), Lane::all(F::of(setup.supply_c)));
        for (i, part) in main.iter_mut().enumerate() {
            let balance = part.balance(shift, per_step);
            let (mut pivot, mut rhs) = (balance.diag, balance.cap * part.t + balance.fixed);
            for &at in &part.trim {
                let leaf = &mut trim[at - chain];
                let balance = leaf.balance(shift, per_step);
                let inverse = inverse_of(balance.diag, leaf.icy, leaf.held);
                let carried = leaf.link * inverse;
                let leaf_rhs = balance.cap * leaf.t + balance.fixed;
                pivot = pivot - leaf.link * carried;
                rhs += carried * leaf_rhs;
                leaf.inverse = inverse;
                leaf.carry = carried;
                leaf.s2 = leaf_rhs * inverse;
            }
            let mut low = link;
            if flowing {
                let flow = if i <= drip_at { upper_flow } else { lower_flow };
                pivot += flow;
                low += flow;
            }
            pivot = pivot - low * carry;
            let inverse = inverse_of(pivot, part.icy, part.held);
            before = (rhs + low * before) * inverse;
            part.inverse = inverse;
            part.s2 = before;
            link = part.link;
            // Stored with its sign turned: T_i = s2 + carry·T_{i+1}.
            carry = link * inverse;
            part.carry = carry;
        }
        back(main, trim, chain);
        (link, before) = (Lane::all(F::ZERO), Lane::all(F::of(setup.supply_c)));
        for (i, part) in main.iter_mut().enumerate() {
            let balance = part.balance(shift, per_step);
            let first = part.s2;
            let mut rhs = balance.cap * (part.t + (first - part.t) * second) + balance.fixed;
            if keep_first {
                part.s1 = first;
            }
            for &at in &part.trim {
                let leaf = &mut trim[at - chain];
                let balance = leaf.balance(shift, per_step);
                let first = leaf.s2;
                let leaf_rhs = balance.cap * (leaf.t + (first - leaf.t) * second) + balance.fixed;
                if keep_first {
                    leaf.s1 = first;
                }
                rhs += leaf.carry * leaf_rhs;
                leaf.s2 = leaf_rhs * leaf.inverse;
            }
            let mut low = link;
            if flowing {
                low += if i <= drip_at { upper_flow } else { lower_flow };
            }
            before = (rhs + low * before) * part.inverse;
            part.s2 = before;
            link = part.link;
        }
        back(main, trim, chain);
    }

    /// Net heat flow into part `i` at the temperatures that `of` picks, W.
    #[inline(always)]
    pub(super) fn flux_into(&self, setup: &Setup, i: usize, of: impl Fn(&Part<W, F>) -> Lane<W, F>) -> Lane<W, F> {
        let parts = &self.parts;
        let part = &parts[i];
        let t = of(part);
        let balance = part.balance(self.shift, self.per_step);
        let mut flux = balance.fixed - (balance.diag - balance.cap) * t;
        if i < self.chain {
            if i > 0 {
                flux += parts[i - 1].link * of(&parts[i - 1]);
            }
            if i + 1 < self.chain {
                flux += part.link * of(&parts[i + 1]);
            }
            let upstream = if i > 0 {
                of(&parts[i - 1])
            } else {
                Lane::all(F::of(setup.supply_c))
            };
            flux += self.flow_at(setup, i) * (upstream - t);
            for &leaf in &part.trim {
                flux += parts[leaf].link * of(&parts[leaf]);
            }
        } else {
            flux += part.link * of(&parts[setup.net.links[i - 1].a]);
        }
        flux
    }
}

/// The share of the drip's flow to try next so that its part comes to `hold_c`, °C. `[shut, reached, supply]`: its temperature without flow,
/// with the share `tried`, and with flow without end, °C; `[low, high]`: shares that are known to be too little and too much.
///
/// Along T = (shut + supply·x)/(1 + x) with x in proportion to the flow, the balance of one stirred part, where that lies between the two.
/// It does not where the riser has grown cold: what comes first is colder than the part, and more flow is warmer only after that.
fn next_share<F: Real>(hold_c: F, [shut_c, reached_c, supply_c]: [F; 3], tried: F, [low, high]: [F; 2]) -> F {
    let (gained, short) = (reached_c - shut_c, supply_c - reached_c);
    if hold_c <= shut_c {
        // It passes the middle of the band by itself.
        return F::ZERO;
    }
    if reached_c < hold_c && gained <= F::ROUNDING_K {
        // No warmth has come yet: all there is.
        return F::ONE;
    }
    if low >= high {
        return low;
    }
    let guess = tried * (hold_c - shut_c) * short / (gained * (supply_c - hold_c));
    if guess > low && guess < high {
        guess
    } else if reached_c < hold_c && high >= F::ONE {
        F::ONE
    } else if low > F::ZERO {
        (low * high).sqrt()
    } else {
        F::of(FIRST_TRY) * high
    }
}

/// Back substitution of `s2`: up the chain, then the trim.
#[inline(always)]
fn back<const W: usize, F: Real>(main: &mut [Part<W, F>], trim: &mut [Part<W, F>], chain: usize) {
    let mut after = Lane::all(F::ZERO);
    for part in main.iter_mut().rev() {
        // The last of the chain has no next: its link is 0.
        after = part.s2 + part.carry * after;
        part.s2 = after;
        for &at in &part.trim {
            let leaf = &mut trim[at - chain];
            leaf.s2 += leaf.carry * after;
        }
    }
}

/// The inverse of a pivot, 0 in the members in which the part is held at 0 °C.
#[inline(always)]
fn inverse_of<const W: usize, F: Real>(pivot: Lane<W, F>, icy: bool, held: Lane<W, F>) -> Lane<W, F> {
    let inverse = Lane::all(F::ONE) / pivot;
    if icy {
        inverse.with(held, |inverse, held| if held > F::ZERO { F::ZERO } else { inverse })
    } else {
        inverse
    }
}
