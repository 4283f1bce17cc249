//! What a block of members remembers from step to step.
//!
//! Numbers without a tag of their own: judgement; factors of circles and spheres are geometry.

use super::super::lane::Lane;
use super::super::real::Real;
use super::super::setup::Setup;
use super::{BlockResult, DENSEST_C, GAMMA, Lanes};
use crate::physics::ice::{CONDUCTIVITY_W_MK, SPECIFIC_HEAT_J_KGK};
use crate::physics::water::{CP_0C_J_KGK, DENSITY_0C_KG_M3};

/// One part: all its lanes together, so that a pass over the parts walks through memory once.
#[derive(Clone)]
pub(super) struct Part<const W: usize, F = f64> {
    // The state.
    pub t: Lane<W, F>,
    pub ice: Lane<W, F>,
    // Of the step: what the solve works with.
    /// Conductance to the next part of the chain, or from a piece of trim to the part that it hangs on, W/K.
    pub link: Lane<W, F>,
    /// Factors of the elimination: carried to the next, one over the pivot.
    pub carry: Lane<W, F>,
    pub inverse: Lane<W, F>,
    /// Stage temperatures, °C; the first is kept where there is ice or a record.
    pub s1: Lane<W, F>,
    pub s2: Lane<W, F>,
    /// Mixing with neighbours and the ground, W/K, and the heat that mixing with the ground fixes, W; only where `mixes`.
    pub mixed: Lane<W, F>,
    pub mixed_fixed: Lane<W, F>,
    // Of the hour.
    /// Conductance to the surroundings without ice, W/K, and what it works against, °C.
    pub outside_w_per_k: Lane<W, F>,
    pub outside_c: Lane<W, F>,
    /// Fixed heat: surroundings, trace, conduction from the ground, W.
    pub fixed_hour: Lane<W, F>,
    /// Film, W/m²K; surface, °C; how far the surface stands from the surroundings on the way to the water.
    pub film: Lane<W, F>,
    pub surface_c: Lane<W, F>,
    pub surface_share: Lane<W, F>,
    // Of ice: set while any member has ice in the part.
    /// Heat capacity over γ·dt, W/K; heat that does not depend on any unknown, W; diagonal without flow and mixing, W/K.
    pub cap: Lane<W, F>,
    pub fixed: Lane<W, F>,
    pub diag: Lane<W, F>,
    /// State at the start of the step.
    pub t0: Lane<W, F>,
    pub ice0: Lane<W, F>,
    /// Outside conductance with the layer of ice, W/K.
    pub outside_now: Lane<W, F>,
    /// 1 in the members in which the part is held at 0 °C through the step.
    pub held: Lane<W, F>,
    /// 1 where the last water freezes in the step, −1 where the last ice melts, else 0.
    pub ends: Lane<W, F>,
    /// Mean temperature of the step, °C.
    pub mean: Lane<W, F>,
    /// Mean net heat flow of the step, W.
    pub flux: Lane<W, F>,
    // Of the looks at damage.
    /// Ice fraction at the last look.
    pub seen: Lane<W, F>,
    /// Largest ice fraction of all looks.
    pub peak: Lane<W, F>,
    /// 1 in the members in which the part is not broken, else 0.
    pub whole: Lane<W, F>,
    /// Of a part of the chain, at the last look: 1 where ice closes its narrows, and where its liquid reaches main or plumbing.
    pub closed: Lane<W, F>,
    pub way_out: Lane<W, F>,
    /// Volume that ice has pushed out of the trapped liquid and that has not found a way out, share of the part's water.
    pub strain: Lane<W, F>,
    /// Since when ice has stood in it, s, as the looks see it; infinite without ice.
    pub ice_since_s: Lane<W>,
    /// Ice fraction at which the part's narrows close.
    pub shut_in: Lane<W, F>,
    /// Resistance of the layer of ice at that fraction, K/W.
    pub shut_in_k_per_w: Lane<W, F>,
    /// Volume that gives before pressure rises, share of the part's water.
    pub slack: Lane<W, F>,
    /// Pressure the part stands, Pa, and the temperature at which ice melts under it, °C.
    pub limit_pa: Lane<W, F>,
    pub limit_melting_c: Lane<W, F>,
    /// Volume that walls and water take up, 1/Pa, and what seeps away, 1/(Pa·s), shares of the part's water.
    pub give_per_pa: F,
    pub seep_per_pa_s: F,
    /// Resistance of the insulation, m²K/W of outside area.
    pub insulation_m2k_per_w: F,
    /// Logarithm of what seepage falls by for each W/m² that leaves, m²/W, and for each second since first ice, 1/s.
    pub seep_log_per_w_m2: F,
    pub seep_log_per_s: F,
    /// Whether any member has ice in it.
    pub icy: bool,
    /// Whether water in it mixes with a neighbour's or the ground's.
    pub mixes: bool,
    // Of the case.
    pub water_kg: F,
    pub liquid_j_per_k: F,
    pub solid_j_per_k: F,
    /// Links and ground links that only conduct, W/K, and the heat that conduction from the ground fixes, W.
    pub still_w_per_k: F,
    pub ground_w: F,
    /// Thermal resistance of a cylinder of ice per unit of −ln(1 − fraction), K/W.
    pub ice_k_per_w: F,
    pub trace_w: F,
    /// Pieces of trim that hang on this part of the chain.
    pub trim: Vec<usize>,
}

/// A link in which water mixes.
#[derive(Clone)]
pub(super) struct Mixing<const W: usize, F = f64> {
    pub lower: usize,
    pub upper: usize,
    /// The part whose `link` it is.
    pub holder: usize,
    pub still_w_per_k: F,
    pub mixing_w_per_k2: F,
    pub last: Mixed<W, F>,
}

/// A link to the ground in which water mixes.
#[derive(Clone)]
pub(super) struct GroundMixing<const W: usize, F = f64> {
    pub part: usize,
    pub ground_c: F,
    /// Squared distance of the ground from the density maximum, K².
    pub deficit_k2: F,
    pub mixing_w_per_k2: F,
    pub last: Mixed<W, F>,
}

/// The mixing of the last two steps, W/K.
#[derive(Clone, Copy)]
pub(super) struct Mixed<const W: usize, F = f64> {
    pub before: Lane<W, F>,
    earlier: Lane<W, F>,
}

impl<const W: usize, F: Real> Mixed<W, F> {
    fn none() -> Self {
        Self {
            before: Lane::all(F::ZERO),
            earlier: Lane::all(F::ZERO),
        }
    }

    /// The mixing of a step of which the temperatures at its begin drive `now`: where that turns back from where it went, half of the step
    /// before. Mixing evens out a riser in minutes; by the temperatures alone it is all on in one step and off in the next, for days, and
    /// half of the heat of the ground never arrives (a 6 in body 0.5 K too cold in steps of ten minutes).
    #[inline(always)]
    pub fn calmed(&mut self, now: Lane<W, F>) -> Lane<W, F> {
        let turns = (now - self.before) * (self.before - self.earlier);
        let mixed = now - (now - self.before) * turns.map(|turns| if turns < F::ZERO { F::of(0.5) } else { F::ZERO });
        self.earlier = self.before;
        self.before = mixed;
        mixed
    }
}

/// All state of a block.
#[derive(Clone)]
pub(super) struct Block<const W: usize, F = f64> {
    pub parts: Vec<Part<W, F>>,
    pub chain: usize,
    pub mixing: Vec<Mixing<W, F>>,
    pub ground_mixing: Vec<GroundMixing<W, F>>,
    /// How much of a change of the air reaches `outside_c`.
    pub follow: Lane<W, F>,
    pub air_shift: Lane<W, F>,
    /// Change of `outside_c` since the hour began, K.
    pub shift: Lane<W, F>,
    pub node_c: Lane<W, F>,
    pub trace_on: Lane<W, F>,
    pub draw: Lane<W, F>,
    pub drawing: bool,
    pub root_shelter: Lane<W, F>,
    pub flow: Lane<W, F>,
    pub drip_flow: Lane<W, F>,
    pub drip_open: Lane<W, F>,
    /// Share of its flow with which the device held its part in the last step in which it was open.
    pub drip_share: Lane<W, F>,
    pub icy: bool,
    /// Since when there has been ice somewhere, s.
    pub iced_s: Lane<W>,
    /// When damage was last looked at, s.
    pub judged_s: f64,
    /// Whether each step is recorded.
    pub recorded: bool,
    pub dt: F,
    /// 1/(γ·dt), 1/s.
    pub per_step: F,
    pub coldest: Lane<W, F>,
    pub hour_coldest: Lane<W, F>,
    pub hour_drip: Lane<W, F>,
    pub out: BlockResult<W>,
}

impl<const W: usize, F: Real> Block<W, F> {
    pub(super) fn new(setup: &Setup, lanes: &Lanes<W>, hours: usize, keep_hours: bool) -> Self {
        let net = &setup.net;
        let n = net.parts.len();
        let zero = Lane::all(F::ZERO);
        let mut parts: Vec<Part<W, F>> = net
            .parts
            .iter()
            .enumerate()
            .map(|(i, part)| {
                // Length of the cylinder of this bore that holds this water.
                let bore_m2 = std::f64::consts::FRAC_PI_4 * part.bore_m * part.bore_m;
                let length_m = part.water_kg / (DENSITY_0C_KG_M3 * bore_m2);
                let limit = &setup.limits[i];
                let ice_k_per_w = if length_m > 0.0 {
                    1.0 / (4.0 * std::f64::consts::PI * CONDUCTIVITY_W_MK * length_m)
                } else {
                    0.0
                };
                // Worked out in doubles, once, and rounded.
                let of_shape = |of: &dyn Fn(f64) -> f64| Lane::of(&lanes.shape[i].map(of));
                let of_strength = |of: &dyn Fn(f64) -> f64| Lane::of(&lanes.strength[i].map(of));
                Part {
                    t: zero,
                    ice: zero,
                    cap: zero,
                    fixed: zero,
                    diag: zero,
                    link: zero,
                    carry: zero,
                    inverse: zero,
                    s1: zero,
                    s2: zero,
                    mixed: zero,
                    mixed_fixed: zero,
                    outside_w_per_k: zero,
                    outside_c: zero,
                    fixed_hour: zero,
                    film: Lane::all(F::of(10.0)),
                    surface_c: zero,
                    surface_share: Lane::all(F::ONE),
                    t0: zero,
                    ice0: zero,
                    outside_now: zero,
                    held: zero,
                    ends: zero,
                    mean: zero,
                    flux: zero,
                    seen: zero,
                    peak: zero,
                    whole: Lane::all(F::ONE),
                    closed: zero,
                    way_out: zero,
                    strain: zero,
                    ice_since_s: Lane::all(f64::INFINITY),
                    shut_in: of_shape(&|z| limit.shut_in(z)),
                    shut_in_k_per_w: of_shape(&|z| -ice_k_per_w * (1.0 - limit.shut_in(z)).ln()),
                    slack: of_shape(&|z| limit.slack(z)),
                    limit_pa: of_strength(&|s| limit.pressure_pa * s),
                    limit_melting_c: of_strength(&|s| limit.melting_c(s)),
                    give_per_pa: F::of(limit.give_per_pa()),
                    seep_per_pa_s: F::of(limit.seep_per_pa_s),
                    insulation_m2k_per_w: F::of(part.insulation_m2k_per_w),
                    seep_log_per_w_m2: F::of(std::f64::consts::LN_2 / limit.seep_halves_w_m2),
                    seep_log_per_s: F::of(std::f64::consts::LN_2 / limit.seep_halves_s),
                    icy: false,
                    mixes: false,
                    water_kg: F::of(part.water_kg),
                    liquid_j_per_k: F::of(part.metal_j_per_k + part.water_kg * CP_0C_J_KGK),
                    solid_j_per_k: F::of(part.metal_j_per_k + part.water_kg * SPECIFIC_HEAT_J_KGK),
                    still_w_per_k: F::ZERO,
                    ground_w: F::ZERO,
                    ice_k_per_w: F::of(ice_k_per_w),
                    trace_w: F::of(setup.trace_w[i]),
                    trim: Vec::new(),
                }
            })
            .collect();
        let mut mixing = Vec::new();
        for (at, link) in net.links.iter().enumerate() {
            // Links of the chain belong to their first part, links of trim to the trim.
            let holder = if at + 1 < net.chain { at } else { at + 1 };
            let still_w_per_k = F::of(link.conductance_w_per_k);
            parts[holder].link = Lane::all(still_w_per_k);
            parts[link.a].still_w_per_k += still_w_per_k;
            parts[link.b].still_w_per_k += still_w_per_k;
            if holder >= net.chain {
                parts[link.a].trim.push(holder);
            }
            if link.mixing_w_per_k2 > 0.0 {
                let (lower, upper) = if link.a_is_lower {
                    (link.a, link.b)
                } else {
                    (link.b, link.a)
                };
                parts[link.a].mixes = true;
                parts[link.b].mixes = true;
                mixing.push(Mixing {
                    lower,
                    upper,
                    holder,
                    still_w_per_k,
                    mixing_w_per_k2: F::of(link.mixing_w_per_k2),
                    last: Mixed::none(),
                });
            }
        }
        let mut ground_mixing = Vec::new();
        for (link, &ground_c) in net.ground.iter().zip(&setup.ground_c) {
            parts[link.part].still_w_per_k += F::of(link.conductance_w_per_k);
            parts[link.part].ground_w += F::of(link.conductance_w_per_k * ground_c);
            if link.mixing_w_per_k2 > 0.0 {
                parts[link.part].mixes = true;
                ground_mixing.push(GroundMixing {
                    part: link.part,
                    ground_c: F::of(ground_c),
                    deficit_k2: F::of((ground_c - DENSEST_C) * (ground_c - DENSEST_C)),
                    mixing_w_per_k2: F::of(link.mixing_w_per_k2),
                    last: Mixed::none(),
                });
            }
        }
        let kept = if keep_hours { hours } else { 0 };
        Self {
            parts,
            chain: net.chain,
            mixing,
            ground_mixing,
            follow: Lane::all(F::ONE),
            air_shift: zero,
            shift: zero,
            node_c: zero,
            trace_on: zero,
            draw: zero,
            drawing: false,
            root_shelter: Lane::of(&lanes.shelter).max(zero).sqrt(),
            flow: zero,
            drip_flow: zero,
            drip_open: zero,
            drip_share: zero,
            icy: false,
            iced_s: Lane::all(f64::INFINITY),
            judged_s: f64::NEG_INFINITY,
            recorded: false,
            dt: F::of(setup.step_s),
            per_step: F::of(1.0 / (GAMMA * setup.step_s)),
            coldest: Lane::all(F::INFINITY),
            hour_coldest: Lane::all(F::INFINITY),
            hour_drip: zero,
            out: BlockResult {
                first_ice_s: [f64::INFINITY; W],
                first_part: [0; W],
                blocked_s: [f64::INFINITY; W],
                coldest_c: [f64::INFINITY; W],
                ice_s: vec![[f64::INFINITY; W]; n],
                part_solid_s: vec![[f64::INFINITY; W]; n],
                peak_ice: vec![[0.0; W]; n],
                damage_s: vec![[f64::INFINITY; W]; n],
                ice_before_s: vec![[f64::INFINITY; W]; n],
                hour_coldest_c: Vec::with_capacity(kept),
                hour_drip_j_per_k: Vec::with_capacity(kept),
            },
        }
    }

    /// Start temperatures: as told, else the surroundings, but not below 4 °C, as water that has just come from the main.
    pub(super) fn start(&mut self, start_c: Option<f64>) {
        for part in &mut self.parts {
            part.t = part
                .outside_c
                .map(|outside| start_c.map_or(outside.most(F::of(4.0)), F::of));
            part.surface_c = part.t;
        }
        if let Some(t) = start_c.filter(|t| *t < 0.0) {
            // Told to start below freezing: liquid that is supercooled, as told.
            self.coldest = Lane::all(F::of(t));
        }
    }

    /// Sets the length of the steps of the hour, s.
    #[inline(always)]
    pub(super) fn take_step_length(&mut self, dt: f64) {
        self.dt = F::of(dt);
        self.per_step = F::of(1.0 / (GAMMA * dt));
    }

    #[inline(always)]
    pub(super) fn step(&mut self, setup: &Setup, lanes: &Lanes<W>, time_s: f64) {
        if self.icy || self.recorded {
            for part in &mut self.parts {
                part.t0 = part.t;
                part.ice0 = part.ice;
            }
        }
        self.coefficients(setup);
        if !self.regulate(setup) {
            self.solve(setup);
        }
        if self.icy {
            self.settle_ends(setup);
        }
        self.advance(setup, lanes, time_s);
    }

    /// What it tells in the end.
    pub(super) fn told(mut self) -> BlockResult<W> {
        self.out.coldest_c = self.coldest.to_f64();
        for (told, part) in self.out.peak_ice.iter_mut().zip(&self.parts) {
            *told = part.peak.to_f64();
        }
        self.out
    }
}
