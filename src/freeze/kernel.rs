//! The heat balance of one case for a block of members, step by step.
//!
//! Unknowns are the enthalpies of the parts. Members stand innermost, so that the compiler turns every
//! loop over `W` lanes into vector instructions; there is no branch on a lane's state, only selects.
//! A step solves the chain (tridiagonal, trim eliminated first) twice with one factorisation: the
//! two-stage diagonally implicit scheme of Alexander (1977) with γ = 1 − 1/√2, of second order and
//! L-stable \[alexander-1977\]. Coefficients hold through a step; the film is renewed at each hour.
//!
//! Energy: a part that holds ice and water is held at 0 °C in the solve and takes the net flux as
//! latent heat; a part that crosses 0 °C in a step keeps its enthalpy and changes its name (liquid,
//! mushy, solid). So what flows in is what is stored, to rounding, at every step.

use super::film_table::blend;
use super::lane::Lane;
use super::network::DENSITY_CURVE_PER_K2;
use super::setup::{Drip, Setup, Surround, Trap};
use crate::physics::ice::{CONDUCTIVITY_W_MK, LATENT_HEAT_J_KG, SPECIFIC_HEAT_J_KGK};
use crate::physics::water::{CP_0C_J_KGK, DENSITY_0C_KG_M3};

/// γ = 1 − 1/√2.
const GAMMA: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
/// Surroundings nearer to 0 °C than this neither freeze nor melt a part within a step, K.
const NEAR_ZERO_K: f64 = 0.02;
/// Temperature of the density maximum in the parabola that decides mixing, °C.
const DENSEST_C: f64 = 3.98;
/// Stefan-Boltzmann constant, W/m²K⁴ (CODATA 2018).
const SIGMA: f64 = 5.670_374_419e-8;
const ZERO_C_IN_K: f64 = crate::units::ZERO_C_IN_K;

/// The weather of a block, hour by hour from the start of the simulation.
#[derive(Debug, Clone)]
pub struct LaneWeather<'a, const W: usize> {
    /// Air at each hour node, °C, `[hours + 1]` lanes.
    pub air_c: Vec<[f64; W]>,
    /// Wind at 10 m, m/s, `[hours]`.
    pub wind_m_s: &'a [f64],
    /// Sky temperature over air temperature, both K, `[hours]`.
    pub sky_ratio: &'a [f64],
    /// Local hour of the day, `[hours]`.
    pub hour_of_day: &'a [u8],
}

/// What differs from member to member.
#[derive(Debug, Clone)]
pub struct Lanes<const W: usize> {
    /// Nucleation temperature, °C.
    pub nucleation_c: [f64; W],
    /// Relative wind shelter.
    pub shelter: [f64; W],
    /// Factor on draws.
    pub draws: [f64; W],
    /// Relative strength of each part, `[parts]` lanes.
    pub strength: Vec<[f64; W]>,
    /// Start temperature of each part, °C, `[parts]`; `None` takes the surroundings.
    pub start_c: Option<f64>,
}

/// What one block tells. Times are seconds from the start of the simulation, infinite when never.
#[derive(Debug, Clone)]
pub struct BlockResult<const W: usize> {
    /// First ice anywhere.
    pub first_ice_s: [f64; W],
    /// Index of the part with first ice.
    pub first_part: [u16; W],
    /// First part of the chain that passes no flow.
    pub blocked_s: [f64; W],
    /// Coldest water of any part, °C.
    pub coldest_c: [f64; W],
    /// First ice in each part, `[parts]` lanes.
    pub ice_s: Vec<[f64; W]>,
    /// All water of the part is ice, `[parts]` lanes.
    pub part_solid_s: Vec<[f64; W]>,
    /// Largest ice fraction, `[parts]` lanes.
    pub peak_ice: Vec<[f64; W]>,
    /// Damage, `[parts]` lanes.
    pub damage_s: Vec<[f64; W]>,
    /// Coldest water in each hour, °C, `[hours]` lanes; empty unless asked for.
    pub hour_coldest_c: Vec<[f64; W]>,
    /// Litres of the drip device in each hour as heat flow × seconds (J/K), `[hours]` lanes; empty unless asked for.
    pub hour_drip_j_per_k: Vec<[f64; W]>,
}

/// One recorded step of a single-lane run.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// Seconds from the start of the simulation.
    pub time_s: f64,
    /// Air in the middle of the step, °C.
    pub air_c: f64,
    /// Wind at 10 m after shelter, m/s.
    pub wind_m_s: f64,
    /// Sky, °C.
    pub sky_c: f64,
    /// Parts at the start of the step.
    pub parts: Vec<StepPart>,
    /// Conductance of each link, W/K.
    pub links_w_per_k: Vec<f64>,
    /// Conductance of each ground link, W/K.
    pub ground_w_per_k: Vec<f64>,
    /// Energy each part took in over the step by the fluxes of the scheme, J, `[parts]`.
    pub gained_j: Vec<f64>,
    /// Sum of the magnitudes of those fluxes, J, `[parts]`.
    pub throughput_j: Vec<f64>,
    /// Litres that the drip device passed in the step, as heat flow × seconds, J/K.
    pub drip_j_per_k: f64,
}

/// One part of a recorded step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StepPart {
    /// Water, °C.
    pub water_c: f64,
    /// Share of the water that is ice.
    pub ice_fraction: f64,
    /// Enthalpy above liquid water at 0 °C, J.
    pub enthalpy_j: f64,
    /// Whole outside coefficient, W/m²K, with the layer of ice inside counted in while there is one.
    pub film_w_m2k: f64,
    /// Resistance of that layer of ice, m²K/W of outside area.
    pub ice_m2k_per_w: f64,
    /// Temperature it works against, °C.
    pub outside_c: f64,
    /// What draws, the drip and heaters bring, W, mean over the step.
    pub source_w: f64,
}

/// Runs one block. Lanes are independent: the bits of a lane do not depend on its neighbours or on `W`.
pub fn run_block<const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    keep_hours: bool,
    record: Option<&mut Vec<Step>>,
) -> BlockResult<W> {
    #[cfg(target_arch = "x86_64")]
    {
        if W > 1 && has_avx512() {
            // SAFETY: as below, for AVX-512.
            #[allow(unsafe_code)]
            return unsafe { run_avx512(setup, weather, lanes, keep_hours, record) };
        }
        if W > 1 && std::arch::is_x86_feature_detected!("avx2") {
            // SAFETY: the processor has just said that it knows AVX2; the function differs from the
            // portable one in nothing but the instructions that the compiler may use.
            #[allow(unsafe_code)]
            return unsafe { run_avx2(setup, weather, lanes, keep_hours, record) };
        }
    }
    run_portable(setup, weather, lanes, keep_hours, record)
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn run_avx2<const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    keep_hours: bool,
    record: Option<&mut Vec<Step>>,
) -> BlockResult<W> {
    run_inline(setup, weather, lanes, keep_hours, record)
}

/// Whether the processor knows all of AVX-512 that [`run_avx512`] may use.
#[cfg(target_arch = "x86_64")]
fn has_avx512() -> bool {
    use std::arch::is_x86_feature_detected;
    is_x86_feature_detected!("avx512f") && is_x86_feature_detected!("avx512dq") && is_x86_feature_detected!("avx512vl")
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512f,avx512dq,avx512vl")]
fn run_avx512<const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    keep_hours: bool,
    record: Option<&mut Vec<Step>>,
) -> BlockResult<W> {
    run_inline(setup, weather, lanes, keep_hours, record)
}

/// The same with whatever instructions the build allows; tests hold that the bits are equal.
pub fn run_portable<const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    keep_hours: bool,
    record: Option<&mut Vec<Step>>,
) -> BlockResult<W> {
    run_inline(setup, weather, lanes, keep_hours, record)
}

#[inline(always)]
fn run_inline<const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    keep_hours: bool,
    mut record: Option<&mut Vec<Step>>,
) -> BlockResult<W> {
    let hours = weather.wind_m_s.len();
    // A whole number of steps to the hour.
    let per_hour = (3600.0 / setup.step_s).round().max(1.0) as usize;
    let dt = 3600.0 / per_hour as f64;
    let judge_every = ((setup.judge_every_s / dt).round() as usize).max(1);
    let mut block = Block::<W>::new(setup, lanes, dt, hours, keep_hours);
    let mut count = 0_usize;
    for hour in 0..hours {
        block.renew_films(setup, weather, lanes, hour);
        if hour == 0 {
            block.start(setup, lanes.start_c);
            // Surface temperatures were not known before the start.
            block.renew_films(setup, weather, lanes, hour);
        }
        block.hour_coldest = Lane::all(f64::INFINITY);
        block.hour_drip = Lane::all(0.0);
        let (now, next) = (Lane(weather.air_c[hour]), Lane(weather.air_c[hour + 1]));
        // An hour in which nothing in the block is near freezing needs no small steps.
        let steps = if setup.coarse_when_warm && block.is_warm(now.min(next)) {
            1
        } else {
            per_hour
        };
        block.dt = 3600.0 / steps as f64;
        for step in 0..steps {
            let from_node = (step as f64 + 0.5) / steps as f64;
            block.air_shift = (next - now) * from_node;
            let time_s = hour as f64 * 3600.0 + step as f64 * block.dt;
            count += 1;
            block.step(setup, lanes, time_s);
            if block.icy && count.is_multiple_of(judge_every) {
                block.judge(setup, time_s + block.dt);
            }
            if let Some(steps) = record.as_deref_mut() {
                steps.push(block.recorded(setup, weather, lanes, hour, time_s));
            }
        }
        block.renew_surfaces();
        if keep_hours {
            block.out.hour_coldest_c.push(block.hour_coldest.0);
            block.out.hour_drip_j_per_k.push(block.hour_drip.0);
        }
    }
    block.out
}

/// All state of a block. Every `Vec` is `[parts]` lanes unless said.
struct Block<const W: usize> {
    t: Vec<Lane<W>>,
    ice: Vec<Lane<W>>,
    /// State at the start of the step, for the change of phase and the record.
    t0: Vec<Lane<W>>,
    ice0: Vec<Lane<W>>,
    /// Of the hour: conductance to the surroundings without ice, W/K; what it works against, °C; film, W/m²K;
    /// surface temperature, °C, and how far the surface stands from the surroundings on the way to the water.
    outside_w_per_k: Vec<Lane<W>>,
    outside_c: Vec<Lane<W>>,
    film: Vec<Lane<W>>,
    surface_c: Vec<Lane<W>>,
    surface_share: Vec<Lane<W>>,
    /// Fixed heat of the hour, W: surroundings, trace, conduction from the ground.
    fixed_hour: Vec<Lane<W>>,
    /// Outside conductance with the layer of ice, W/K.
    outside_now: Vec<Lane<W>>,
    /// How much of a change of the air reaches `outside_c`.
    follow: Lane<W>,
    air_shift: Lane<W>,
    node_c: Lane<W>,
    trace_on: Lane<W>,
    draw: Lane<W>,
    drawing: bool,
    /// Conductances, `[links]` and `[ground]` lanes.
    link: Vec<Lane<W>>,
    ground: Vec<Lane<W>>,
    flow: Lane<W>,
    drip_flow: Lane<W>,
    drip_open: Lane<W>,
    // Work space of the solve.
    cap: Vec<Lane<W>>,
    /// 1 in the members in which the part is held at 0 °C through the step.
    held: Vec<Lane<W>>,
    fixed: Vec<Lane<W>>,
    diag: Vec<Lane<W>>,
    inv: Vec<Lane<W>>,
    cp: Vec<Lane<W>>,
    low: Vec<Lane<W>>,
    pivot: Vec<Lane<W>>,
    leaf: Vec<Lane<W>>,
    rhs: Vec<Lane<W>>,
    right: Vec<Lane<W>>,
    s1: Vec<Lane<W>>,
    s2: Vec<Lane<W>>,
    flux: Vec<Lane<W>>,
    /// Ice fraction up to which growth was relieved: only what grows beyond it strains the part.
    relieved: Vec<Lane<W>>,
    limit_fraction: Vec<Lane<W>>,
    limit_melting_c: Vec<Lane<W>>,
    icy: bool,
    icy_part: Vec<bool>,
    // Constants of the case, `[parts]`.
    liquid_j_per_k: Vec<f64>,
    solid_j_per_k: Vec<f64>,
    /// Links and ground links that only conduct, W/K.
    still_w_per_k: Vec<f64>,
    /// Heat that conduction from the ground fixes, W.
    ground_w: Vec<f64>,
    /// Thermal resistance of a cylinder of ice per unit of −ln(1 − fraction), K/W.
    ice_k_per_w: Vec<f64>,
    dt: f64,
    hour_coldest: Lane<W>,
    hour_drip: Lane<W>,
    out: BlockResult<W>,
}

impl<const W: usize> Block<W> {
    fn new(setup: &Setup, lanes: &Lanes<W>, dt: f64, hours: usize, keep_hours: bool) -> Self {
        let net = &setup.net;
        let n = net.parts.len();
        let zero = || vec![Lane::all(0.0); n];
        let (mut limit_fraction, mut limit_melting_c) = (zero(), zero());
        for (i, limit) in setup.limits.iter().enumerate() {
            limit_fraction[i] = Lane(lanes.strength[i].map(|s| limit.ice_fraction(s, setup.slack_fraction)));
            limit_melting_c[i] = Lane(lanes.strength[i].map(|s| limit.melting_c(s)));
        }
        let mut still_w_per_k = vec![0.0; n];
        let mut ground_w = vec![0.0; n];
        for link in &net.links {
            still_w_per_k[link.a] += link.conductance_w_per_k;
            still_w_per_k[link.b] += link.conductance_w_per_k;
        }
        for (at, link) in net.ground.iter().enumerate() {
            still_w_per_k[link.part] += link.conductance_w_per_k;
            ground_w[link.part] += link.conductance_w_per_k * setup.ground_c[at];
        }
        let kept = if keep_hours { hours } else { 0 };
        let parts = &net.parts;
        Self {
            t: zero(),
            ice: zero(),
            t0: zero(),
            ice0: zero(),
            outside_w_per_k: zero(),
            outside_c: zero(),
            film: vec![Lane::all(10.0); n],
            surface_c: zero(),
            surface_share: vec![Lane::all(1.0); n],
            fixed_hour: zero(),
            outside_now: zero(),
            follow: Lane::all(1.0),
            air_shift: Lane::all(0.0),
            node_c: Lane::all(0.0),
            trace_on: Lane::all(0.0),
            draw: Lane::all(0.0),
            drawing: false,
            link: net
                .links
                .iter()
                .map(|link| Lane::all(link.conductance_w_per_k))
                .collect(),
            ground: net
                .ground
                .iter()
                .map(|link| Lane::all(link.conductance_w_per_k))
                .collect(),
            flow: Lane::all(0.0),
            drip_flow: Lane::all(0.0),
            drip_open: Lane::all(0.0),
            cap: zero(),
            held: zero(),
            fixed: zero(),
            diag: zero(),
            inv: zero(),
            cp: zero(),
            low: zero(),
            pivot: zero(),
            leaf: zero(),
            rhs: zero(),
            right: zero(),
            s1: zero(),
            s2: zero(),
            flux: zero(),
            relieved: zero(),
            limit_fraction,
            limit_melting_c,
            icy: false,
            icy_part: vec![false; n],
            liquid_j_per_k: parts
                .iter()
                .map(|p| p.metal_j_per_k + p.water_kg * CP_0C_J_KGK)
                .collect(),
            solid_j_per_k: parts
                .iter()
                .map(|p| p.metal_j_per_k + p.water_kg * SPECIFIC_HEAT_J_KGK)
                .collect(),
            still_w_per_k,
            ground_w,
            ice_k_per_w: parts
                .iter()
                .map(|p| {
                    // Length of the cylinder of this bore that holds this water.
                    let length = p.water_kg / (DENSITY_0C_KG_M3 * std::f64::consts::FRAC_PI_4 * p.bore_m * p.bore_m);
                    if length > 0.0 {
                        1.0 / (4.0 * std::f64::consts::PI * CONDUCTIVITY_W_MK * length)
                    } else {
                        0.0
                    }
                })
                .collect(),
            dt,
            hour_coldest: Lane::all(f64::INFINITY),
            hour_drip: Lane::all(0.0),
            out: BlockResult {
                first_ice_s: [f64::INFINITY; W],
                first_part: [0; W],
                blocked_s: [f64::INFINITY; W],
                coldest_c: [f64::INFINITY; W],
                ice_s: vec![[f64::INFINITY; W]; n],
                part_solid_s: vec![[f64::INFINITY; W]; n],
                peak_ice: vec![[0.0; W]; n],
                damage_s: vec![[f64::INFINITY; W]; n],
                hour_coldest_c: Vec::with_capacity(kept),
                hour_drip_j_per_k: Vec::with_capacity(kept),
            },
        }
    }

    /// Start temperatures: as told, else the surroundings, but not below 4 °C, as water that has just come from the main.
    fn start(&mut self, setup: &Setup, start_c: Option<f64>) {
        for i in 0..setup.net.parts.len() {
            self.t[i] = self.outside_c[i].map(|outside| start_c.unwrap_or(outside.max(4.0)));
            self.surface_c[i] = self.t[i];
        }
        if let Some(t) = start_c.filter(|t| *t < 0.0) {
            // Told to start below freezing: liquid that is supercooled, as told.
            self.out.coldest_c = [t; W];
        }
    }

    /// Films, surroundings and draws of an hour.
    #[inline(always)]
    fn renew_films(&mut self, setup: &Setup, weather: &LaneWeather<'_, W>, lanes: &Lanes<W>, hour: usize) {
        let air = Lane(weather.air_c[hour]);
        let wind = Lane(lanes.shelter) * weather.wind_m_s[hour];
        let ratio = weather.sky_ratio[hour];
        let draw = setup.draw_w_per_k[usize::from(weather.hour_of_day[hour]) % 24];
        self.trace_on = air.map(|air| if air < setup.trace_on_below_c { 1.0 } else { 0.0 });
        self.draw = Lane(lanes.draws) * draw + setup.trickle_w_per_k;
        self.drawing = self.draw.any_above(0.0);
        self.renew_node(setup, air, ratio);
        let open = setup.surround == Surround::Open;
        let near_c = if open { air } else { self.node_c };
        let near_k = near_c + ZERO_C_IN_K;
        let sky_k = if open { near_k * ratio } else { near_k };
        let near2 = near_k * near_k;
        let sky2 = sky_k * sky_k;
        let sky_part = setup.sky_view * setup.emissivity * SIGMA;
        let near_part = (1.0 - setup.sky_view) * setup.emissivity * SIGMA;
        for (i, part) in setup.net.parts.iter().enumerate() {
            let table = &setup.tables[setup.table_of[i]];
            let surface = self.surface_c[i];
            let (film, outside) = if let Some(told) = setup.film_override_w_m2k {
                (Lane::all(told), near_c)
            } else {
                let mut convection = (surface - near_c).map(|delta| table.free(delta));
                if open {
                    let forced = (wind * setup.wind_factor[i]).map(|v| table.forced(v));
                    convection = forced.with(convection, blend);
                }
                let surface_k = surface + ZERO_C_IN_K;
                let surface2 = surface_k * surface_k;
                let to_sky = (surface2 + sky2) * (surface_k + sky_k) * sky_part;
                let to_near = (surface2 + near2) * (surface_k + near_k) * near_part;
                let film = convection + to_sky + to_near;
                (
                    film,
                    ((convection + to_near) * near_k + to_sky * sky_k) / film - ZERO_C_IN_K,
                )
            };
            let insulation = part.insulation_m2k_per_w;
            let conductance = film.map(|film| part.outside_area_m2 / (1.0 / film + insulation));
            self.film[i] = film;
            self.outside_c[i] = outside;
            self.outside_w_per_k[i] = conductance;
            self.surface_share[i] = film.map(|film| 1.0 / (1.0 + insulation * film));
            self.fixed_hour[i] = conductance * outside + self.trace_on * setup.trace_w[i] + self.ground_w[i];
        }
    }

    /// Whether no part, no surroundings and no air of any member is near freezing.
    #[inline(always)]
    fn is_warm(&self, air: Lane<W>) -> bool {
        const WARM_C: f64 = 6.0;
        !self.icy && !air.any_below(WARM_C) && self.t.iter().chain(&self.outside_c).all(|lane| !lane.any_below(WARM_C))
    }

    /// Surface between insulation and film at the end of an hour, for the next renewal of the film.
    #[inline(always)]
    fn renew_surfaces(&mut self) {
        let shift = self.follow * self.air_shift;
        for i in 0..self.t.len() {
            let outside = self.outside_c[i] + shift;
            self.surface_c[i] = outside + (self.t[i] - outside) * self.surface_share[i];
        }
    }

    /// The air node of a cover or enclosure, quasi-steady: the air's own heat capacity is nothing beside metal and water.
    #[inline(always)]
    fn renew_node(&mut self, setup: &Setup, air: Lane<W>, ratio: f64) {
        match setup.surround {
            Surround::Open => self.follow = Lane::all(1.0),
            Surround::Room { air_c } => {
                self.follow = Lane::all(0.0);
                self.node_c = Lane::all(air_c);
            }
            Surround::Enclosed {
                out_w_per_k,
                ground_w_per_k,
                ground_c,
                heater_w,
                hold_c,
            } => {
                let mut sum = Lane::all(out_w_per_k + ground_w_per_k);
                // The roof sees the sky: an eighth of the difference reaches the mean outside (judgement: half the
                // shell sees it, against a film that is three quarters convection).
                let sky_drop = (air + ZERO_C_IN_K) * (0.125 * (1.0 - ratio));
                let mut heat = (air - sky_drop) * out_w_per_k + ground_w_per_k * ground_c;
                for i in 0..self.t.len() {
                    sum += self.outside_w_per_k[i];
                    heat += self.outside_w_per_k[i] * self.t[i];
                }
                for k in 0..W {
                    let unheated = heat.0[k] / sum.0[k];
                    let heated = unheated + heater_w / sum.0[k];
                    let on = heater_w > 0.0 && unheated < hold_c;
                    self.node_c.0[k] = if on { heated.min(hold_c) } else { unheated };
                    self.follow.0[k] = if on && heated >= hold_c {
                        0.0
                    } else {
                        out_w_per_k / sum.0[k]
                    };
                }
            }
        }
    }

    #[inline(always)]
    fn step(&mut self, setup: &Setup, lanes: &Lanes<W>, time_s: f64) {
        self.t0.copy_from_slice(&self.t);
        self.ice0.copy_from_slice(&self.ice);
        self.coefficients(setup);
        self.regulate(setup);
        self.solve(setup);
        self.advance(setup, lanes, time_s);
    }

    /// Conductances and the part of the matrix that the flow does not touch.
    #[inline(always)]
    fn coefficients(&mut self, setup: &Setup) {
        let net = &setup.net;
        let n = net.parts.len();
        let shift = self.follow * self.air_shift;
        let per_step = 1.0 / (GAMMA * self.dt);
        for i in 0..n {
            let (mut cap, mut outside) = (Lane::all(self.liquid_j_per_k[i] * per_step), self.outside_w_per_k[i]);
            let mut fixed = self.fixed_hour[i] + outside * shift;
            if self.icy_part[i] {
                let water = net.parts[i].water_kg;
                let ice = self.ice[i];
                let fraction = (ice * (1.0 / water)).min(Lane::all(0.999_999));
                let resistance = outside.map(|g| 1.0 / g) + fraction.map(minus_ln_1m) * self.ice_k_per_w[i];
                let (solid, liquid) = (self.solid_j_per_k[i], self.liquid_j_per_k[i]);
                let around = self.outside_c[i] + shift;
                for k in 0..W {
                    let (has, mushy) = (ice.0[k] > 0.0, (ice.0[k] > 0.0) & (ice.0[k] < water));
                    let g = if has { 1.0 / resistance.0[k] } else { outside.0[k] };
                    outside.0[k] = g;
                    // A part that may freeze or melt through within the step is not held at 0 °C, or its whole flux
                    // would carry it past its surroundings: it gets the capacity that takes it just to their
                    // temperature, the latent heat that is left included.
                    let to = around.0[k];
                    let freezing = to < 0.0;
                    let left_j = LATENT_HEAT_J_KG * if freezing { water - ice.0[k] } else { ice.0[k] };
                    let reach = to.abs().max(NEAR_ZERO_K);
                    let through = 2.0 * (g + self.still_w_per_k[i]) * reach * self.dt;
                    let ends = mushy & (left_j < through) & (to.abs() > NEAR_ZERO_K);
                    let own = if freezing { solid } else { liquid };
                    let capacity = if ends {
                        own + left_j / reach
                    } else if has {
                        solid
                    } else {
                        liquid
                    };
                    self.held[i].0[k] = if mushy & !ends { 1.0 } else { 0.0 };
                    cap.0[k] = capacity * per_step;
                    fixed.0[k] = if has {
                        g * to + self.trace_on.0[k] * setup.trace_w[i] + self.ground_w[i]
                    } else {
                        fixed.0[k]
                    };
                }
            }
            self.cap[i] = cap;
            self.outside_now[i] = outside;
            self.fixed[i] = fixed;
            self.diag[i] = cap + outside + self.still_w_per_k[i];
        }
        for (at, link) in net.links.iter().enumerate() {
            if link.mixing_w_per_k2 > 0.0 {
                let (lower, upper) = if link.a_is_lower {
                    (link.a, link.b)
                } else {
                    (link.b, link.a)
                };
                let (lo, hi) = (self.t[lower] - DENSEST_C, self.t[upper] - DENSEST_C);
                let mixing = (lo * lo - hi * hi).max(Lane::all(0.0)).sqrt() * link.mixing_w_per_k2;
                self.link[at] = mixing + link.conductance_w_per_k;
                self.diag[link.a] += mixing;
                self.diag[link.b] += mixing;
            }
        }
        for (at, link) in net.ground.iter().enumerate() {
            if link.mixing_w_per_k2 > 0.0 {
                let ground = setup.ground_c[at];
                let below = (ground - DENSEST_C) * (ground - DENSEST_C);
                let hi = self.t[link.part] - DENSEST_C;
                let mixing = (Lane::all(below) - hi * hi).max(Lane::all(0.0)).sqrt() * link.mixing_w_per_k2;
                self.ground[at] = mixing + link.conductance_w_per_k;
                self.diag[link.part] += mixing;
                self.fixed[link.part] += mixing * ground;
            }
        }
        self.flow = self.draw;
        if self.icy && self.drawing {
            self.flow = self.flow * self.passing(setup, net.chain);
        }
        self.drip_flow = Lane::all(0.0);
    }

    /// 1 where no part of the first `parts` of the chain is filled with ice, else 0.
    #[inline(always)]
    fn passing(&self, setup: &Setup, parts: usize) -> Lane<W> {
        let mut passes = Lane::all(1.0);
        for (ice, part) in self.ice.iter().zip(&setup.net.parts).take(parts) {
            let full = setup.blocked_fraction * part.water_kg;
            passes = passes.with(*ice, |open, ice| if ice >= full { 0.0 } else { open });
        }
        passes
    }

    /// The drip device, as the mean of its opening and closing: once open it holds its part in the middle of its
    /// band with the share of its flow that does so, until the part would pass the closing temperature by itself.
    fn regulate(&mut self, setup: &Setup) {
        let Some(Drip {
            opens_c,
            closes_c,
            flow_w_per_k,
        }) = setup.drip
        else {
            return;
        };
        let at = setup.net.drip_at;
        self.solve(setup);
        let shut = self.s2[at];
        let mut needed = false;
        for k in 0..W {
            let open = (self.drip_open.0[k] > 0.0 && shut.0[k] < closes_c) || shut.0[k] <= opens_c;
            self.drip_open.0[k] = if open { 1.0 } else { 0.0 };
            needed |= open;
        }
        if !needed {
            return;
        }
        self.drip_flow = self.passing(setup, at + 1) * flow_w_per_k;
        self.solve(setup);
        let full = self.s2[at];
        let hold_c = 0.5 * (opens_c + closes_c);
        for k in 0..W {
            let gain = full.0[k] - shut.0[k];
            let share = if gain > 1e-9 {
                ((hold_c - shut.0[k]) / gain).clamp(0.0, 1.0)
            } else {
                1.0
            };
            self.drip_flow.0[k] *= share * self.drip_open.0[k];
        }
    }

    /// Heat capacity flow into part `i` of the chain.
    #[inline(always)]
    fn flow_at(&self, setup: &Setup, i: usize) -> Lane<W> {
        if i <= setup.net.drip_at {
            self.flow + self.drip_flow
        } else {
            self.flow
        }
    }

    /// Both stages of a step with one factorisation; leaves stage temperatures in `s1` and `s2`.
    #[inline(always)]
    fn solve(&mut self, setup: &Setup) {
        let net = &setup.net;
        let (n, chain) = (net.parts.len(), net.chain);
        let flowing = self.drawing || setup.drip.is_some();
        self.pivot.copy_from_slice(&self.diag);
        // Factorise: trim first, then down the chain. A part held at 0 °C has the inverse 0.
        for leaf in chain..n {
            let link = net.links[leaf - 1];
            let g = self.link[leaf - 1];
            let inverse = self.inverse(leaf, self.pivot[leaf]);
            self.inv[leaf] = inverse;
            let carried = g * inverse;
            self.leaf[leaf] = carried;
            self.pivot[link.a] = self.pivot[link.a] - g * carried;
        }
        for i in 0..chain {
            let mut pivot = self.pivot[i];
            let mut low = if i > 0 { self.link[i - 1] } else { Lane::all(0.0) };
            if flowing {
                let flow = self.flow_at(setup, i);
                pivot += flow;
                low += flow;
            }
            self.low[i] = low;
            if i > 0 {
                pivot = pivot - low * self.cp[i - 1];
            }
            let inverse = self.inverse(i, pivot);
            self.inv[i] = inverse;
            // Stored with its sign turned: T_i = right·inv + cp·T_{i+1}.
            self.cp[i] = if i + 1 < chain {
                self.link[i] * inverse
            } else {
                Lane::all(0.0)
            };
        }
        // First stage: C/(γ dt)·T0 + fixed. Second stage: the first stage's rate enters with weight (1 − γ)/γ.
        const BACK: f64 = (1.0 - GAMMA) / GAMMA;
        for i in 0..n {
            self.rhs[i] = self.cap[i] * self.t[i] + self.fixed[i];
        }
        self.sweep(setup);
        std::mem::swap(&mut self.s1, &mut self.s2);
        for i in 0..n {
            self.rhs[i] = self.cap[i] * (self.t[i] + (self.s1[i] - self.t[i]) * BACK) + self.fixed[i];
        }
        self.sweep(setup);
    }

    /// The inverse of a pivot, 0 in the members in which the part is held at 0 °C.
    #[inline(always)]
    fn inverse(&self, i: usize, pivot: Lane<W>) -> Lane<W> {
        let inverse = Lane::all(1.0) / pivot;
        if self.icy_part[i] {
            inverse.with(self.held[i], |inverse, held| if held > 0.0 { 0.0 } else { inverse })
        } else {
            inverse
        }
    }

    /// Forward and back substitution of `rhs` into `s2`.
    #[inline(always)]
    fn sweep(&mut self, setup: &Setup) {
        let net = &setup.net;
        let (n, chain) = (net.parts.len(), net.chain);
        self.right.copy_from_slice(&self.rhs);
        for leaf in chain..n {
            let parent = net.links[leaf - 1].a;
            self.right[parent] = self.right[parent] + self.leaf[leaf] * self.rhs[leaf];
        }
        let mut before = Lane::all(setup.supply_c);
        for i in 0..chain {
            before = (self.right[i] + self.low[i] * before) * self.inv[i];
            self.s2[i] = before;
        }
        for i in (0..chain - 1).rev() {
            before = self.s2[i] + self.cp[i] * before;
            self.s2[i] = before;
        }
        for leaf in chain..n {
            let parent = net.links[leaf - 1].a;
            self.s2[leaf] = (self.rhs[leaf] + self.link[leaf - 1] * self.s2[parent]) * self.inv[leaf];
        }
    }

    /// Net heat flow into part `i` at stage temperatures `s`, W.
    #[inline(always)]
    fn flux_into(&self, setup: &Setup, s: &[Lane<W>], i: usize) -> Lane<W> {
        let net = &setup.net;
        let chain = net.chain;
        let t = s[i];
        let mut flux = self.fixed[i] - (self.diag[i] - self.cap[i]) * t;
        if i < chain {
            if i > 0 {
                flux += self.link[i - 1] * s[i - 1];
            }
            if i + 1 < chain {
                flux += self.link[i] * s[i + 1];
            }
            let upstream = if i > 0 { s[i - 1] } else { Lane::all(setup.supply_c) };
            flux += self.flow_at(setup, i) * (upstream - t);
            for leaf in chain..net.parts.len() {
                if net.links[leaf - 1].a == i {
                    flux += self.link[leaf - 1] * s[leaf];
                }
            }
        } else {
            flux += self.link[i - 1] * s[net.links[i - 1].a];
        }
        flux
    }

    /// Takes the step: new temperatures and ice.
    #[inline(always)]
    fn advance(&mut self, setup: &Setup, lanes: &Lanes<W>, time_s: f64) {
        let n = setup.net.parts.len();
        let mut lowest = Lane::all(f64::INFINITY);
        for s in &self.s2 {
            lowest = lowest.min(*s);
        }
        if self.icy || lowest.any_below(0.0) {
            // Enthalpy change of parts held at 0 °C.
            for i in 0..n {
                if self.icy_part[i] {
                    self.flux[i] =
                        self.flux_into(setup, &self.s1, i) * (1.0 - GAMMA) + self.flux_into(setup, &self.s2, i) * GAMMA;
                }
            }
            lowest = Lane::all(f64::INFINITY);
            let mut icy = false;
            for i in 0..n {
                if self.icy_part[i] || self.s2[i].any_below(0.0) {
                    self.change_phase(setup, lanes, i, time_s);
                    self.icy_part[i] = self.ice[i].any_above(0.0);
                    icy |= self.icy_part[i];
                } else {
                    self.t[i] = self.s2[i];
                }
                lowest = lowest.min(self.t[i]);
            }
            self.icy = icy;
        } else {
            self.t.copy_from_slice(&self.s2);
        }
        self.out.coldest_c = Lane(self.out.coldest_c).min(lowest).0;
        self.hour_coldest = self.hour_coldest.min(lowest);
        self.hour_drip += self.drip_flow * self.dt;
    }

    /// One part: enthalpy kept, name changed where it crosses 0 °C.
    #[inline(always)]
    fn change_phase(&mut self, setup: &Setup, lanes: &Lanes<W>, i: usize, time_s: f64) {
        let net = &setup.net;
        let water = net.parts[i].water_kg;
        let (liquid, solid) = (self.liquid_j_per_k[i], self.solid_j_per_k[i]);
        let all_ice = -LATENT_HEAT_J_KG * water;
        // Ice next door seeds supercooled water: dendrites cross in seconds.
        let mut seed = Lane::all(0.0);
        if self.icy && water > 0.0 {
            for link in net.links.iter().filter(|link| link.a == i || link.b == i) {
                seed += self.ice0[if link.a == i { link.b } else { link.a }];
            }
        }
        let (t0, ice0, s, flux) = (self.t0[i], self.ice0[i], self.s2[i], self.flux[i]);
        let (held, cap, per_step_inverse) = (self.held[i], self.cap[i], GAMMA * self.dt);
        let (mut t, mut ice) = (Lane::all(0.0), Lane::all(0.0));
        let mut events = false;
        for k in 0..W {
            let has = ice0.0[k] > 0.0;
            let frozen = has & (ice0.0[k] >= water);
            // Enthalpy above liquid at 0 °C, J: from the net flux where the part was held, else from its capacity.
            let latent = -LATENT_HEAT_J_KG * ice0.0[k];
            let enthalpy = if frozen {
                solid * s.0[k] + all_ice
            } else if has {
                latent
                    + if held.0[k] > 0.0 {
                        flux.0[k] * self.dt
                    } else {
                        cap.0[k] * per_step_inverse * s.0[k]
                    }
            } else {
                liquid * s.0[k]
            };
            let nucleates = (s.0[k] < 0.0) & (water > 0.0) & ((s.0[k] <= lanes.nucleation_c[k]) | (seed.0[k] > 0.0));
            let stays_liquid = (enthalpy >= 0.0) | (!has & !nucleates);
            let mixed = enthalpy > all_ice;
            let frozen_t = (enthalpy - all_ice) / solid;
            t.0[k] = if stays_liquid & !has {
                // Untouched, so that a lane's bits do not depend on what its neighbours do.
                s.0[k]
            } else if stays_liquid {
                enthalpy / liquid
            } else if mixed {
                0.0
            } else {
                frozen_t
            };
            ice.0[k] = if stays_liquid {
                0.0
            } else if mixed {
                enthalpy / -LATENT_HEAT_J_KG
            } else {
                water
            };
            events |= ((ice.0[k] > 0.0) & !has) | ((ice.0[k] >= water) & !frozen & (water > 0.0));
        }
        self.t[i] = t;
        self.ice[i] = ice;
        if events {
            for k in 0..W {
                self.note_events(lanes, i, k, water, t0.0[k], ice0.0[k], s.0[k], seed.0[k] > 0.0, time_s);
            }
        }
    }

    /// When ice first formed in a part, and when the last of its water froze.
    #[allow(clippy::too_many_arguments)]
    fn note_events(
        &mut self,
        lanes: &Lanes<W>,
        i: usize,
        k: usize,
        water: f64,
        t0: f64,
        ice0: f64,
        s: f64,
        seeded: bool,
        time_s: f64,
    ) {
        let ice = self.ice[i].0[k];
        if ice > 0.0 && ice0 <= 0.0 {
            // Ice next door starts it at 0 °C, else it starts at its nucleation temperature.
            let starts_c = if seeded { 0.0 } else { lanes.nucleation_c[k] };
            let at = if t0 <= starts_c || t0 <= s {
                time_s
            } else {
                // Where the straight line between the step's ends crosses it.
                time_s + self.dt * ((t0 - starts_c) / (t0 - s)).clamp(0.0, 1.0)
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
            let rate_w = -self.flux[i].0[k];
            let share = if ice0 > 0.0 && rate_w > 0.0 {
                rest_j / (rate_w * self.dt)
            } else {
                1.0
            };
            self.out.part_solid_s[i][k] = time_s + self.dt * share.clamp(0.0, 1.0);
        }
    }

    /// Ice fractions, blockage and damage.
    fn judge(&mut self, setup: &Setup, time_s: f64) {
        let net = &setup.net;
        let (n, chain) = (net.parts.len(), net.chain);
        let mut any_ice = [false; W];
        for i in 0..n {
            if !self.icy_part[i] {
                continue;
            }
            let per_water = 1.0 / net.parts[i].water_kg;
            for k in 0..W {
                let fraction = (self.ice[i].0[k] * per_water).min(1.0);
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
        let blocked = |block: &Self, i: usize| block.ice[i].0[k] >= setup.blocked_fraction * net.parts[i].water_kg;
        // Where ice first and last closes the chain: liquid upstream of the one still reaches the main, liquid
        // downstream of the other still reaches plumbing that gives.
        let first_blocked = (0..chain).find(|&i| blocked(self, i));
        let last_blocked = first_blocked.and_then(|_| (0..chain).rev().find(|&i| blocked(self, i)));
        if first_blocked.is_some() && self.out.blocked_s[k] == f64::INFINITY {
            self.out.blocked_s[k] = time_s;
        }
        let shift = self.follow.0[k] * self.air_shift.0[k];
        for i in 0..n {
            if !self.icy_part[i] || self.out.damage_s[i][k] < f64::INFINITY {
                continue;
            }
            let fraction = self.ice[i].0[k] / net.parts[i].water_kg;
            if fraction <= 0.0 {
                self.relieved[i].0[k] = 0.0;
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
                self.relieved[i].0[k] = self.relieved[i].0[k].max(fraction);
                continue;
            }
            let grown = (fraction - self.relieved[i].0[k]) / (1.0 - self.relieved[i].0[k]).max(1e-9);
            let grows = self.outside_c[i].0[k] + shift < self.limit_melting_c[i].0[k];
            if grown >= self.limit_fraction[i].0[k] && grows {
                self.out.damage_s[i][k] = time_s;
            }
        }
    }

    /// What the record keeps of the step just taken (lane 0).
    fn recorded(
        &self,
        setup: &Setup,
        weather: &LaneWeather<'_, W>,
        lanes: &Lanes<W>,
        hour: usize,
        time_s: f64,
    ) -> Step {
        let dt = self.dt;
        let net = &setup.net;
        let n = net.parts.len();
        let air_c = weather.air_c[hour][0] + self.air_shift.0[0];
        let mut parts = Vec::with_capacity(n);
        let mut gained_j = Vec::with_capacity(n);
        let mut throughput_j = Vec::with_capacity(n);
        for (i, part) in net.parts.iter().enumerate() {
            let stage = |s: &[Lane<W>]| {
                // Each flux by itself, so that the sum is not the solver's own algebra.
                let t = s[i].0[0];
                let outside_c = self.outside_c[i].0[0] + self.follow.0[0] * self.air_shift.0[0];
                let mut fluxes = vec![
                    self.outside_now[i].0[0] * (outside_c - t),
                    setup.trace_w[i] * self.trace_on.0[0],
                ];
                let mut source = setup.trace_w[i] * self.trace_on.0[0];
                for (at, link) in net.links.iter().enumerate() {
                    if link.a == i || link.b == i {
                        let other = if link.a == i { link.b } else { link.a };
                        fluxes.push(self.link[at].0[0] * (s[other].0[0] - t));
                    }
                }
                for (at, link) in net.ground.iter().enumerate().filter(|(_, link)| link.part == i) {
                    fluxes.push(self.ground[at].0[0] * (setup.ground_c[at] - s[link.part].0[0]));
                }
                if i < net.chain {
                    let upstream = if i > 0 { s[i - 1].0[0] } else { setup.supply_c };
                    let brought = self.flow_at(setup, i).0[0] * (upstream - t);
                    fluxes.push(brought);
                    source += brought;
                }
                (
                    fluxes.iter().sum::<f64>(),
                    fluxes.iter().map(|f| f.abs()).sum::<f64>(),
                    source,
                )
            };
            let (f1, a1, q1) = stage(&self.s1);
            let (f2, a2, q2) = stage(&self.s2);
            let mean = |x: f64, y: f64| (1.0 - GAMMA) * x + GAMMA * y;
            gained_j.push(dt * mean(f1, f2));
            throughput_j.push(dt * mean(a1, a2));
            let ice_k_per_w = 1.0 / self.outside_now[i].0[0] - 1.0 / self.outside_w_per_k[i].0[0];
            let ice_m2k_per_w = if self.ice0[i].0[0] > 0.0 {
                ice_k_per_w.max(0.0) * part.outside_area_m2
            } else {
                0.0
            };
            parts.push(StepPart {
                water_c: self.t0[i].0[0],
                ice_fraction: if part.water_kg > 0.0 {
                    self.ice0[i].0[0] / part.water_kg
                } else {
                    0.0
                },
                enthalpy_j: self.enthalpy(setup, i, self.t0[i].0[0], self.ice0[i].0[0]),
                film_w_m2k: 1.0 / (1.0 / self.film[i].0[0] + ice_m2k_per_w),
                ice_m2k_per_w,
                outside_c: self.outside_c[i].0[0] + self.follow.0[0] * self.air_shift.0[0],
                source_w: mean(q1, q2),
            });
        }
        Step {
            time_s,
            air_c,
            wind_m_s: weather.wind_m_s[hour] * lanes.shelter[0],
            sky_c: weather.sky_ratio[hour] * (air_c + ZERO_C_IN_K) - ZERO_C_IN_K,
            parts,
            links_w_per_k: self.link.iter().map(|g| g.0[0]).collect(),
            ground_w_per_k: self.ground.iter().map(|g| g.0[0]).collect(),
            gained_j,
            throughput_j,
            drip_j_per_k: self.drip_flow.0[0] * dt,
        }
    }

    fn enthalpy(&self, setup: &Setup, i: usize, t: f64, ice: f64) -> f64 {
        let water = setup.net.parts[i].water_kg;
        if ice <= 0.0 {
            self.liquid_j_per_k[i] * t
        } else if ice < water {
            -LATENT_HEAT_J_KG * ice
        } else {
            self.solid_j_per_k[i] * t - LATENT_HEAT_J_KG * water
        }
    }
}

/// −ln(1 − f) for 0 ≤ f ≤ 0.999999 without a library call, so that lanes go side by side: the series of the inverse
/// hyperbolic tangent after three square roots, exact to 2e-3 of its value there and to 1e-6 up to 0.99.
#[inline(always)]
fn minus_ln_1m(f: f64) -> f64 {
    let g = 1.0 - (1.0 - f).sqrt().sqrt().sqrt();
    let y = g / (2.0 - g);
    let z = y * y;
    16.0 * y * (1.0 + z * (1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0 + z * (1.0 / 9.0 + z * (1.0 / 11.0))))))
}

/// Relative density deficit against the densest water, as the mixing rule sees it.
pub fn density_deficit(t_c: f64) -> f64 {
    DENSITY_CURVE_PER_K2 * (t_c - DENSEST_C) * (t_c - DENSEST_C)
}
