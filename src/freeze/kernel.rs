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
use super::network::DENSITY_CURVE_PER_K2;
use super::setup::{Drip, Setup, Surround, Trap};
use crate::physics::ice::{CONDUCTIVITY_W_MK, LATENT_HEAT_J_KG, SPECIFIC_HEAT_J_KGK};
use crate::physics::water::{CP_0C_J_KGK, DENSITY_0C_KG_M3};

/// γ = 1 − 1/√2.
const GAMMA: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
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
    /// Whole water of every part is ice.
    pub solid_s: [f64; W],
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
    let mut block = Block::<W>::new(setup, lanes, hours, keep_hours);
    // A whole number of steps to the hour.
    let per_hour = (3600.0 / setup.step_s).round().max(1.0) as usize;
    let dt = 3600.0 / per_hour as f64;
    for hour in 0..hours {
        block.renew_films(setup, weather, lanes, hour);
        if hour == 0 {
            block.start(setup, lanes.start_c);
            // Surface temperatures were not known before the start.
            block.renew_films(setup, weather, lanes, hour);
        }
        block.hour_coldest = [f64::INFINITY; W];
        block.hour_drip = [0.0; W];
        for step in 0..per_hour {
            let from_node = (step as f64 + 0.5) / per_hour as f64;
            let (now, next) = (&weather.air_c[hour], &weather.air_c[hour + 1]);
            for k in 0..W {
                block.air_shift[k] = from_node * (next[k] - now[k]);
            }
            let time_s = (hour * per_hour + step) as f64 * dt;
            block.step(setup, lanes, dt, time_s);
            if let Some(steps) = record.as_deref_mut() {
                steps.push(block.recorded(setup, weather, lanes, hour, time_s, dt));
            }
        }
        if keep_hours {
            block.out.hour_coldest_c.push(block.hour_coldest);
            block.out.hour_drip_j_per_k.push(block.hour_drip);
        }
    }
    block.out
}

/// All state of a block. Every `Vec` is `[parts]` lanes unless said.
struct Block<const W: usize> {
    t: Vec<[f64; W]>,
    ice: Vec<[f64; W]>,
    /// State at the start of the step, for the record.
    t0: Vec<[f64; W]>,
    ice0: Vec<[f64; W]>,
    /// Conductance to the surroundings without ice, W/K, and its resistance, K/W.
    outside_w_per_k: Vec<[f64; W]>,
    /// The same with the layer of ice.
    outside_now: Vec<[f64; W]>,
    outside_c: Vec<[f64; W]>,
    film: Vec<[f64; W]>,
    surface_c: Vec<[f64; W]>,
    /// How much of a change of the air reaches `outside_c`.
    follow: [f64; W],
    air_shift: [f64; W],
    node_c: [f64; W],
    trace_on: [f64; W],
    draw: [f64; W],
    /// Link conductances, `[links]` lanes, and mixing ground conductances, `[ground]` lanes.
    link: Vec<[f64; W]>,
    ground: Vec<[f64; W]>,
    flow: [f64; W],
    drip_flow: [f64; W],
    drip_open: [f64; W],
    // Work space of the solve.
    cap: Vec<[f64; W]>,
    fixed: Vec<[f64; W]>,
    free: Vec<[f64; W]>,
    diag: Vec<[f64; W]>,
    inv: Vec<[f64; W]>,
    cp: Vec<[f64; W]>,
    rhs: Vec<[f64; W]>,
    s1: Vec<[f64; W]>,
    s2: Vec<[f64; W]>,
    flux: Vec<[f64; W]>,
    /// Ice fraction up to which growth was relieved: only what grows beyond it strains the part.
    relieved: Vec<[f64; W]>,
    limit_fraction: Vec<[f64; W]>,
    limit_melting_c: Vec<[f64; W]>,
    icy: bool,
    icy_part: Vec<bool>,
    liquid_j_per_k: Vec<f64>,
    solid_j_per_k: Vec<f64>,
    /// Thermal resistance of a cylinder of ice per unit of −ln(1 − fraction), K/W.
    ice_k_per_w: Vec<f64>,
    hour_coldest: [f64; W],
    hour_drip: [f64; W],
    out: BlockResult<W>,
}

impl<const W: usize> Block<W> {
    #[inline(always)]
    fn new(setup: &Setup, lanes: &Lanes<W>, hours: usize, keep_hours: bool) -> Self {
        let n = setup.net.parts.len();
        let zero = || vec![[0.0; W]; n];
        let mut limit_fraction = zero();
        let mut limit_melting_c = zero();
        for (i, limit) in setup.limits.iter().enumerate() {
            for k in 0..W {
                limit_fraction[i][k] = limit.ice_fraction(lanes.strength[i][k], setup.slack_fraction);
                limit_melting_c[i][k] = limit.melting_c(lanes.strength[i][k]);
            }
        }
        let parts = &setup.net.parts;
        Self {
            t: zero(),
            ice: zero(),
            t0: zero(),
            ice0: zero(),
            outside_w_per_k: zero(),
            outside_now: zero(),
            outside_c: zero(),
            film: vec![[10.0; W]; n],
            surface_c: zero(),
            follow: [1.0; W],
            air_shift: [0.0; W],
            node_c: [0.0; W],
            trace_on: [0.0; W],
            draw: [0.0; W],
            link: vec![[0.0; W]; setup.net.links.len()],
            ground: vec![[0.0; W]; setup.net.ground.len()],
            flow: [0.0; W],
            drip_flow: [0.0; W],
            drip_open: [0.0; W],
            cap: zero(),
            fixed: zero(),
            free: vec![[1.0; W]; n],
            diag: zero(),
            inv: zero(),
            cp: zero(),
            rhs: zero(),
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
            hour_coldest: [f64::INFINITY; W],
            hour_drip: [0.0; W],
            out: BlockResult {
                first_ice_s: [f64::INFINITY; W],
                first_part: [0; W],
                blocked_s: [f64::INFINITY; W],
                solid_s: [f64::INFINITY; W],
                coldest_c: [f64::INFINITY; W],
                ice_s: vec![[f64::INFINITY; W]; n],
                part_solid_s: vec![[f64::INFINITY; W]; n],
                peak_ice: zero(),
                damage_s: vec![[f64::INFINITY; W]; n],
                hour_coldest_c: Vec::with_capacity(if keep_hours { hours } else { 0 }),
                hour_drip_j_per_k: Vec::with_capacity(if keep_hours { hours } else { 0 }),
            },
        }
    }

    /// Start temperatures: as told, else the surroundings, but not below 4 °C, as water that has just come from the main.
    #[inline(always)]
    fn start(&mut self, setup: &Setup, start_c: Option<f64>) {
        for i in 0..setup.net.parts.len() {
            for k in 0..W {
                self.t[i][k] = start_c.unwrap_or(self.outside_c[i][k].max(4.0));
                self.surface_c[i][k] = self.t[i][k];
            }
        }
        if let Some(t) = start_c.filter(|t| *t < 0.0) {
            // Told to start below freezing: liquid that is supercooled, as told.
            self.out.coldest_c = [t; W];
        }
    }

    /// Films, surroundings and draws of an hour.
    #[inline(always)]
    fn renew_films(&mut self, setup: &Setup, weather: &LaneWeather<'_, W>, lanes: &Lanes<W>, hour: usize) {
        let air = &weather.air_c[hour];
        let wind = weather.wind_m_s[hour];
        let ratio = weather.sky_ratio[hour];
        let draw = setup.draw_w_per_k[usize::from(weather.hour_of_day[hour]) % 24];
        for k in 0..W {
            self.trace_on[k] = if air[k] < setup.trace_on_below_c { 1.0 } else { 0.0 };
            self.draw[k] = draw * lanes.draws[k] + setup.trickle_w_per_k;
        }
        self.renew_node(setup, air, ratio);
        let open = setup.surround == Surround::Open;
        for (i, part) in setup.net.parts.iter().enumerate() {
            let table = &setup.tables[setup.table_of[i]];
            let area = part.outside_area_m2;
            let factor = setup.wind_factor[i];
            for k in 0..W {
                let near_c = if open { air[k] } else { self.node_c[k] };
                let free = table.free(self.surface_c[i][k] - near_c);
                let convection = if open {
                    blend(table.forced(wind * factor * lanes.shelter[k]), free)
                } else {
                    free
                };
                let (film, outside) = if let Some(told) = setup.film_override_w_m2k {
                    (told, near_c)
                } else {
                    let surface_k = self.surface_c[i][k] + ZERO_C_IN_K;
                    let near_k = near_c + ZERO_C_IN_K;
                    let sky_k = if open { ratio * near_k } else { near_k };
                    let radiative = |other: f64| {
                        setup.emissivity * SIGMA * (surface_k * surface_k + other * other) * (surface_k + other)
                    };
                    let to_sky = setup.sky_view * radiative(sky_k);
                    let to_near = (1.0 - setup.sky_view) * radiative(near_k);
                    let film = convection + to_sky + to_near;
                    (
                        film,
                        ((convection + to_near) * near_k + to_sky * sky_k) / film - ZERO_C_IN_K,
                    )
                };
                self.film[i][k] = film;
                self.outside_c[i][k] = outside;
                self.outside_w_per_k[i][k] = area / (1.0 / film + part.insulation_m2k_per_w);
            }
        }
    }

    /// The air node of a cover or enclosure, quasi-steady: the air's own heat capacity is nothing beside metal and water.
    #[inline(always)]
    fn renew_node(&mut self, setup: &Setup, air: &[f64; W], ratio: f64) {
        match setup.surround {
            Surround::Open => self.follow = [1.0; W],
            Surround::Room { air_c } => {
                self.follow = [0.0; W];
                self.node_c = [air_c; W];
            }
            Surround::Enclosed {
                out_w_per_k,
                ground_w_per_k,
                ground_c,
                heater_w,
                hold_c,
            } => {
                let mut sum = [out_w_per_k + ground_w_per_k; W];
                let mut heat = [0.0; W];
                for k in 0..W {
                    // The roof sees the sky: a wall of emissivity 0.9 loses 4.2 W/m²K of it against a film of about 15 (judgement).
                    let sky_drop = 0.25 * 0.5 * (1.0 - ratio) * (air[k] + ZERO_C_IN_K);
                    heat[k] = out_w_per_k * (air[k] - sky_drop) + ground_w_per_k * ground_c;
                }
                for i in 0..setup.net.parts.len() {
                    for k in 0..W {
                        let g = self.outside_w_per_k[i][k];
                        sum[k] += g;
                        heat[k] += g * self.t[i][k];
                    }
                }
                for k in 0..W {
                    let unheated = heat[k] / sum[k];
                    let heated = unheated + heater_w / sum[k];
                    let held = heater_w > 0.0 && unheated < hold_c && heated >= hold_c;
                    self.node_c[k] = if heater_w > 0.0 && unheated < hold_c {
                        heated.min(hold_c)
                    } else {
                        unheated
                    };
                    self.follow[k] = if held { 0.0 } else { out_w_per_k / sum[k] };
                }
            }
        }
    }

    #[inline(always)]
    fn step(&mut self, setup: &Setup, lanes: &Lanes<W>, dt: f64, time_s: f64) {
        let n = setup.net.parts.len();
        for i in 0..n {
            self.t0[i] = self.t[i];
            self.ice0[i] = self.ice[i];
        }
        self.coefficients(setup, dt);
        self.regulate(setup);
        self.solve(setup);
        let advanced = self.advance(setup, lanes, dt, time_s);
        if advanced {
            self.judge(setup, time_s + dt);
        }
    }

    /// Conductances and the part of the matrix that the flow does not touch.
    #[inline(always)]
    fn coefficients(&mut self, setup: &Setup, dt: f64) {
        let net = &setup.net;
        for (at, link) in net.links.iter().enumerate() {
            if link.mixing_w_per_k2 > 0.0 {
                let (lower, upper) = if link.a_is_lower {
                    (link.a, link.b)
                } else {
                    (link.b, link.a)
                };
                for k in 0..W {
                    let (lo, hi) = (self.t[lower][k] - DENSEST_C, self.t[upper][k] - DENSEST_C);
                    let lighter_below = (lo * lo - hi * hi).max(0.0);
                    self.link[at][k] = link.conductance_w_per_k + link.mixing_w_per_k2 * lighter_below.sqrt();
                }
            } else {
                self.link[at] = [link.conductance_w_per_k; W];
            }
        }
        for (at, link) in net.ground.iter().enumerate() {
            let lo = setup.ground_c[at] - DENSEST_C;
            for k in 0..W {
                let hi = self.t[link.part][k] - DENSEST_C;
                let lighter_below = (lo * lo - hi * hi).max(0.0);
                self.ground[at][k] = link.conductance_w_per_k + link.mixing_w_per_k2 * lighter_below.sqrt();
            }
        }
        for i in 0..net.parts.len() {
            let water = net.parts[i].water_kg;
            if self.icy_part[i] {
                for k in 0..W {
                    let fraction = (self.ice[i][k] / water).min(0.999_999);
                    let resistance = 1.0 / self.outside_w_per_k[i][k] + self.ice_k_per_w[i] * minus_ln_1m(fraction);
                    self.outside_now[i][k] = if self.ice[i][k] > 0.0 {
                        1.0 / resistance
                    } else {
                        self.outside_w_per_k[i][k]
                    };
                    let mushy = self.ice[i][k] > 0.0 && self.ice[i][k] < water;
                    self.free[i][k] = if mushy { 0.0 } else { 1.0 };
                    let capacity = if self.ice[i][k] > 0.0 {
                        self.solid_j_per_k[i]
                    } else {
                        self.liquid_j_per_k[i]
                    };
                    self.cap[i][k] = capacity / (GAMMA * dt);
                }
            } else {
                self.outside_now[i] = self.outside_w_per_k[i];
                self.free[i] = [1.0; W];
                self.cap[i] = [self.liquid_j_per_k[i] / (GAMMA * dt); W];
            }
            for k in 0..W {
                let outside = self.outside_c[i][k] + self.follow[k] * self.air_shift[k];
                self.fixed[i][k] = self.outside_now[i][k] * outside + setup.trace_w[i] * self.trace_on[k];
                self.diag[i][k] = self.cap[i][k] + self.outside_now[i][k];
            }
        }
        for (at, link) in net.links.iter().enumerate() {
            for k in 0..W {
                self.diag[link.a][k] += self.link[at][k];
                self.diag[link.b][k] += self.link[at][k];
            }
        }
        for (at, link) in net.ground.iter().enumerate() {
            for k in 0..W {
                self.diag[link.part][k] += self.ground[at][k];
                self.fixed[link.part][k] += self.ground[at][k] * setup.ground_c[at];
            }
        }
        self.flow = self.draw;
        if self.icy {
            // Ice that fills a part of the chain stops the flow.
            for i in 0..net.chain {
                let full = setup.blocked_fraction * net.parts[i].water_kg;
                for k in 0..W {
                    self.flow[k] = if self.ice[i][k] >= full { 0.0 } else { self.flow[k] };
                }
            }
        }
        self.drip_flow = [0.0; W];
    }

    /// The drip device, as the mean of its opening and closing: once open it holds its part in the middle of its
    /// band with the share of its flow that does so, until the part would pass the closing temperature by itself.
    #[inline(always)]
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
            let open = (self.drip_open[k] > 0.0 && shut[k] < closes_c) || shut[k] <= opens_c;
            self.drip_open[k] = if open { 1.0 } else { 0.0 };
            needed |= open;
        }
        if !needed {
            return;
        }
        let mut passes = [1.0; W];
        if self.icy {
            for i in 0..=at {
                let full = setup.blocked_fraction * setup.net.parts[i].water_kg;
                for k in 0..W {
                    passes[k] = if self.ice[i][k] >= full { 0.0 } else { passes[k] };
                }
            }
        }
        self.drip_flow = passes.map(|open| open * flow_w_per_k);
        self.solve(setup);
        let full = self.s2[at];
        let hold_c = 0.5 * (opens_c + closes_c);
        for k in 0..W {
            let gain = full[k] - shut[k];
            let share = if gain > 1e-9 {
                ((hold_c - shut[k]) / gain).clamp(0.0, 1.0)
            } else {
                1.0
            };
            self.drip_flow[k] *= share * self.drip_open[k];
        }
    }

    /// Heat capacity flow into part `i` of the chain.
    #[inline(always)]
    fn flow_at(&self, setup: &Setup, i: usize, k: usize) -> f64 {
        if i <= setup.net.drip_at {
            self.flow[k] + self.drip_flow[k]
        } else {
            self.flow[k]
        }
    }

    /// Both stages of a step with one factorisation; leaves stage temperatures in `s1` and `s2` and the mean flux of
    /// parts held at 0 °C in `flux`.
    #[inline(always)]
    fn solve(&mut self, setup: &Setup) {
        let net = &setup.net;
        let (n, chain) = (net.parts.len(), net.chain);
        // Factorise: trim first, then down the chain. `inv` is 0 for a part held at 0 °C.
        for leaf in chain..n {
            for k in 0..W {
                self.inv[leaf][k] = self.free[leaf][k] / self.diag[leaf][k];
            }
        }
        for i in 0..chain {
            let mut pivot = self.diag[i];
            for leaf in chain..n {
                let at = leaf - 1;
                if net.links[at].a == i {
                    for k in 0..W {
                        pivot[k] -= self.link[at][k] * self.link[at][k] * self.inv[leaf][k];
                    }
                }
            }
            for k in 0..W {
                pivot[k] += self.flow_at(setup, i, k);
            }
            if i > 0 {
                for k in 0..W {
                    pivot[k] -= (self.link[i - 1][k] + self.flow_at(setup, i, k)) * self.cp[i - 1][k];
                }
            }
            for k in 0..W {
                self.inv[i][k] = self.free[i][k] / pivot[k];
                // Stored with its sign turned: T_i = dp + cp·T_{i+1}.
                self.cp[i][k] = if i + 1 < chain {
                    self.link[i][k] * self.inv[i][k]
                } else {
                    0.0
                };
            }
        }
        // First stage: C/(γ dt)·T0 + fixed.
        for i in 0..n {
            for k in 0..W {
                self.rhs[i][k] = self.cap[i][k] * self.t[i][k] + self.fixed[i][k];
            }
        }
        self.sweep(setup, true);
        // Second stage: the first stage's rate enters with weight (1 − γ)/γ.
        const BACK: f64 = (1.0 - GAMMA) / GAMMA;
        for i in 0..n {
            for k in 0..W {
                self.rhs[i][k] =
                    self.cap[i][k] * (self.t[i][k] + BACK * (self.s1[i][k] - self.t[i][k])) + self.fixed[i][k];
            }
        }
        self.sweep(setup, false);
    }

    /// Forward and back substitution of `rhs` into `s1` or `s2`.
    #[inline(always)]
    fn sweep(&mut self, setup: &Setup, first: bool) {
        let net = &setup.net;
        let (n, chain) = (net.parts.len(), net.chain);
        let mut s = std::mem::take(if first { &mut self.s1 } else { &mut self.s2 });
        for i in 0..chain {
            let mut right = self.rhs[i];
            for leaf in chain..n {
                let at = leaf - 1;
                if net.links[at].a == i {
                    for k in 0..W {
                        right[k] += self.link[at][k] * self.inv[leaf][k] * self.rhs[leaf][k];
                    }
                }
            }
            if i == 0 {
                for k in 0..W {
                    right[k] += self.flow_at(setup, 0, k) * setup.supply_c;
                }
            } else {
                for k in 0..W {
                    right[k] += (self.link[i - 1][k] + self.flow_at(setup, i, k)) * s[i - 1][k];
                }
            }
            for k in 0..W {
                s[i][k] = right[k] * self.inv[i][k];
            }
        }
        for i in (0..chain - 1).rev() {
            for k in 0..W {
                s[i][k] += self.cp[i][k] * s[i + 1][k];
            }
        }
        for leaf in chain..n {
            let at = leaf - 1;
            let parent = net.links[at].a;
            for k in 0..W {
                s[leaf][k] = (self.rhs[leaf][k] + self.link[at][k] * s[parent][k]) * self.inv[leaf][k];
            }
        }
        if first {
            self.s1 = s;
        } else {
            self.s2 = s;
        }
    }

    /// Net heat flow into part `i` at stage temperatures `s`, W.
    #[inline(always)]
    fn flux_into(&self, setup: &Setup, s: &[[f64; W]], i: usize, k: usize) -> f64 {
        let net = &setup.net;
        let chain = net.chain;
        let t = s[i][k];
        let mut flux = self.fixed[i][k] - (self.diag[i][k] - self.cap[i][k]) * t;
        if i < chain {
            if i > 0 {
                flux += self.link[i - 1][k] * s[i - 1][k];
            }
            if i + 1 < chain {
                flux += self.link[i][k] * s[i + 1][k];
            }
            let upstream = if i > 0 { s[i - 1][k] } else { setup.supply_c };
            flux += self.flow_at(setup, i, k) * (upstream - t);
            for leaf in chain..net.parts.len() {
                if net.links[leaf - 1].a == i {
                    flux += self.link[leaf - 1][k] * s[leaf][k];
                }
            }
        } else {
            flux += self.link[i - 1][k] * s[net.links[i - 1].a][k];
        }
        flux
    }

    /// Takes the step: new temperatures and ice. Returns whether any lane holds ice.
    #[inline(always)]
    fn advance(&mut self, setup: &Setup, lanes: &Lanes<W>, dt: f64, time_s: f64) -> bool {
        let net = &setup.net;
        let n = net.parts.len();
        // Enthalpy change of parts held at 0 °C.
        if self.icy {
            for i in 0..n {
                if self.icy_part[i] {
                    for k in 0..W {
                        self.flux[i][k] = (1.0 - GAMMA) * self.flux_into(setup, &self.s1, i, k)
                            + GAMMA * self.flux_into(setup, &self.s2, i, k);
                    }
                }
            }
        }
        let mut lowest = [f64::INFINITY; W];
        for i in 0..n {
            for k in 0..W {
                lowest[k] = lowest[k].min(self.s2[i][k]);
            }
        }
        let below_zero = self.icy || lowest.iter().any(|t| *t < 0.0);
        if below_zero {
            for i in 0..n {
                self.change_phase(setup, lanes, i, dt, time_s);
            }
            lowest = [f64::INFINITY; W];
            let mut icy = false;
            for i in 0..n {
                let mut part = false;
                for k in 0..W {
                    lowest[k] = lowest[k].min(self.t[i][k]);
                    part |= self.ice[i][k] > 0.0;
                }
                self.icy_part[i] = part;
                icy |= part;
            }
            self.icy = icy;
        } else {
            for i in 0..n {
                self.t[i] = self.s2[i];
            }
        }
        for (i, part) in net.parts.iter().enumerate() {
            let resistance_share = part.insulation_m2k_per_w;
            for k in 0..W {
                // Surface between insulation and film, for the next renewal of the film.
                let outside = self.outside_c[i][k] + self.follow[k] * self.air_shift[k];
                let inside = 1.0 / (1.0 + resistance_share * self.film[i][k]);
                self.surface_c[i][k] = outside + (self.t[i][k] - outside) * inside;
            }
        }
        for k in 0..W {
            self.out.coldest_c[k] = self.out.coldest_c[k].min(lowest[k]);
            self.hour_coldest[k] = self.hour_coldest[k].min(lowest[k]);
            self.hour_drip[k] += self.drip_flow[k] * dt;
        }
        self.icy
    }

    /// One part: enthalpy kept, name changed where it crosses 0 °C.
    #[inline(always)]
    fn change_phase(&mut self, setup: &Setup, lanes: &Lanes<W>, i: usize, dt: f64, time_s: f64) {
        let net = &setup.net;
        let water = net.parts[i].water_kg;
        let (liquid, solid) = (self.liquid_j_per_k[i], self.solid_j_per_k[i]);
        // Ice next door seeds supercooled water: dendrites cross in seconds.
        let mut seeded = [false; W];
        if self.icy && water > 0.0 {
            for link in net.links.iter().filter(|link| link.a == i || link.b == i) {
                let other = if link.a == i { link.b } else { link.a };
                for k in 0..W {
                    seeded[k] |= self.ice0[other][k] > 0.0;
                }
            }
        }
        for k in 0..W {
            let (t0, ice0, s) = (self.t0[i][k], self.ice0[i][k], self.s2[i][k]);
            let mushy = ice0 > 0.0 && ice0 < water;
            let frozen = ice0 > 0.0 && ice0 >= water;
            // Enthalpy above liquid at 0 °C, J.
            let enthalpy = if mushy {
                self.flux[i][k] * dt - LATENT_HEAT_J_KG * ice0
            } else if frozen {
                solid * s - LATENT_HEAT_J_KG * water
            } else {
                liquid * s
            };
            let nucleates = water > 0.0 && (s <= lanes.nucleation_c[k] || seeded[k]);
            let stays_liquid = ice0 <= 0.0 && !(s < 0.0 && nucleates);
            let all_ice = -LATENT_HEAT_J_KG * water;
            let (t, ice) = if stays_liquid || enthalpy >= 0.0 {
                (enthalpy / liquid, 0.0)
            } else if enthalpy > all_ice {
                (0.0, -enthalpy / LATENT_HEAT_J_KG)
            } else {
                ((enthalpy - all_ice) / solid, water)
            };
            self.t[i][k] = t;
            self.ice[i][k] = ice;
            if water > 0.0 && ice >= water && self.out.part_solid_s[i][k] == f64::INFINITY {
                // The share of the step after which no water was left, by its mean rate of freezing.
                let rate = (ice0 * -LATENT_HEAT_J_KG - enthalpy).max(f64::MIN_POSITIVE);
                self.out.part_solid_s[i][k] = time_s + dt * ((water - ice0) * LATENT_HEAT_J_KG / rate).clamp(0.0, 1.0);
            }
            if ice > 0.0 && ice0 <= 0.0 {
                let at = if seeded[k] || t0 <= lanes.nucleation_c[k] || t0 <= s {
                    time_s
                } else {
                    // Where the straight line between the step's ends crosses the nucleation temperature.
                    time_s + dt * ((t0 - lanes.nucleation_c[k]) / (t0 - s)).clamp(0.0, 1.0)
                };
                self.out.ice_s[i][k] = self.out.ice_s[i][k].min(at);
                if at < self.out.first_ice_s[k] {
                    self.out.first_ice_s[k] = at;
                    self.out.first_part[k] = i as u16;
                }
            }
        }
    }

    /// Ice fractions, blockage and damage after a step.
    #[inline(always)]
    fn judge(&mut self, setup: &Setup, time_s: f64) {
        let net = &setup.net;
        let (n, chain) = (net.parts.len(), net.chain);
        let mut all_solid = [true; W];
        for i in 0..n {
            let water = net.parts[i].water_kg;
            for k in 0..W {
                let fraction = if water > 0.0 { self.ice[i][k] / water } else { 0.0 };
                self.out.peak_ice[i][k] = self.out.peak_ice[i][k].max(fraction);
                all_solid[k] &= self.ice[i][k] >= water;
            }
        }
        let blocked =
            |block: &Self, i: usize, k: usize| block.ice[i][k] >= setup.blocked_fraction * net.parts[i].water_kg;
        for k in 0..W {
            let any = (0..chain).any(|i| blocked(self, i, k));
            if any && self.out.blocked_s[k] == f64::INFINITY {
                self.out.blocked_s[k] = time_s;
            }
            if all_solid[k] && self.out.solid_s[k] == f64::INFINITY {
                self.out.solid_s[k] = time_s;
            }
            // Where ice first and last closes the chain: liquid upstream of the one still reaches the main, liquid
            // downstream of the other still reaches plumbing that gives.
            let first_blocked = (0..chain).find(|&i| blocked(self, i, k));
            let last_blocked = (0..chain).rev().find(|&i| blocked(self, i, k));
            for i in 0..n {
                if !self.icy_part[i] || self.out.damage_s[i][k] < f64::INFINITY {
                    continue;
                }
                let fraction = self.ice[i][k] / net.parts[i].water_kg;
                if fraction <= 0.0 {
                    self.relieved[i][k] = 0.0;
                    continue;
                }
                let back_to_main = i < net.first_checked && first_blocked.is_none_or(|at| at >= i);
                let on_to_building = setup.downstream_open && last_blocked.is_none_or(|at| at <= i);
                let relieved = match setup.limits[i].trap {
                    Trap::Always => false,
                    Trap::UnlessOpen => back_to_main || on_to_building,
                    Trap::UnlessVented => {
                        on_to_building || back_to_main || net.vent.is_some_and(|vent| !blocked(self, vent, k))
                    }
                    // A bonnet that has given way opens the chamber below it until that is half ice.
                    Trap::UnlessBonnetGone => {
                        on_to_building
                            || net.vent.is_some_and(|vent| self.out.damage_s[vent][k] < f64::INFINITY && fraction < 0.5)
                    }
                };
                if relieved {
                    self.relieved[i][k] = self.relieved[i][k].max(fraction);
                    continue;
                }
                let grown = (fraction - self.relieved[i][k]) / (1.0 - self.relieved[i][k]).max(1e-9);
                let grows = self.outside_c[i][k] + self.follow[k] * self.air_shift[k] < self.limit_melting_c[i][k];
                if grown >= self.limit_fraction[i][k] && grows {
                    self.out.damage_s[i][k] = time_s;
                }
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
        dt: f64,
    ) -> Step {
        let net = &setup.net;
        let n = net.parts.len();
        let air_c = weather.air_c[hour][0] + self.air_shift[0];
        let mut parts = Vec::with_capacity(n);
        let mut gained_j = Vec::with_capacity(n);
        let mut throughput_j = Vec::with_capacity(n);
        for (i, part) in net.parts.iter().enumerate() {
            let stage = |s: &[[f64; W]]| {
                // Each flux by itself, so that the sum is not the solver's own algebra.
                let t = s[i][0];
                let outside_c = self.outside_c[i][0] + self.follow[0] * self.air_shift[0];
                let mut fluxes = vec![
                    self.outside_now[i][0] * (outside_c - t),
                    setup.trace_w[i] * self.trace_on[0],
                ];
                let mut source = setup.trace_w[i] * self.trace_on[0];
                for (at, link) in net.links.iter().enumerate() {
                    if link.a == i || link.b == i {
                        let other = if link.a == i { link.b } else { link.a };
                        fluxes.push(self.link[at][0] * (s[other][0] - t));
                    }
                }
                for (at, link) in net.ground.iter().enumerate().filter(|(_, link)| link.part == i) {
                    fluxes.push(self.ground[at][0] * (setup.ground_c[at] - s[link.part][0]));
                }
                if i < net.chain {
                    let upstream = if i > 0 { s[i - 1][0] } else { setup.supply_c };
                    let brought = self.flow_at(setup, i, 0) * (upstream - t);
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
            let ice_k_per_w = 1.0 / self.outside_now[i][0] - 1.0 / self.outside_w_per_k[i][0];
            let ice_m2k_per_w = if self.ice0[i][0] > 0.0 {
                ice_k_per_w.max(0.0) * part.outside_area_m2
            } else {
                0.0
            };
            parts.push(StepPart {
                water_c: self.t0[i][0],
                ice_fraction: if part.water_kg > 0.0 {
                    self.ice0[i][0] / part.water_kg
                } else {
                    0.0
                },
                enthalpy_j: self.enthalpy(setup, i, self.t0[i][0], self.ice0[i][0]),
                film_w_m2k: 1.0 / (1.0 / self.film[i][0] + ice_m2k_per_w),
                ice_m2k_per_w,
                outside_c: self.outside_c[i][0] + self.follow[0] * self.air_shift[0],
                source_w: mean(q1, q2),
            });
        }
        Step {
            time_s,
            air_c,
            wind_m_s: weather.wind_m_s[hour] * lanes.shelter[0],
            sky_c: weather.sky_ratio[hour] * (air_c + ZERO_C_IN_K) - ZERO_C_IN_K,
            parts,
            links_w_per_k: self.link.iter().map(|g| g[0]).collect(),
            ground_w_per_k: self.ground.iter().map(|g| g[0]).collect(),
            gained_j,
            throughput_j,
            drip_j_per_k: self.drip_flow[0] * dt,
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
/// hyperbolic tangent after two square roots, exact to 1e-4 of its value.
#[inline(always)]
fn minus_ln_1m(f: f64) -> f64 {
    let g = 1.0 - (1.0 - f).sqrt().sqrt();
    let y = g / (2.0 - g);
    let z = y * y;
    8.0 * y * (1.0 + z * (1.0 / 3.0 + z * (1.0 / 5.0 + z * (1.0 / 7.0 + z * (1.0 / 9.0 + z * (1.0 / 11.0))))))
}

/// Relative density deficit against the densest water, as the mixing rule sees it.
pub fn density_deficit(t_c: f64) -> f64 {
    DENSITY_CURVE_PER_K2 * (t_c - DENSEST_C) * (t_c - DENSEST_C)
}
