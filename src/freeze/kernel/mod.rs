//! The heat balance of one case for a block of members, step by step.
//!
//! Unknowns are the enthalpies of the parts. Members stand innermost, so that the compiler turns every
//! loop over `W` lanes into vector instructions; there is no branch on a lane's state, only selects.
//! A step solves the chain (tridiagonal, trim eliminated first) twice with one factorisation: the
//! two-stage diagonally implicit scheme of Alexander (1977) with γ = 1 − 1/√2, of second order and
//! L-stable \[alexander-1977\]. Coefficients hold through a step; the film is renewed at each hour.
//!
//! Energy: what flows into a part is what it stores, to rounding, at every step (see `phase`).
//!
//! One source for two precisions (`super::real`). What comes in and goes out is in doubles, and so are times; what is stepped is in `F`.
//!
//! One subject a file: `state` what a block remembers, `around` films and surroundings, `matrix` coefficients and
//! solve, `phase` ice, `damage` from ice to break, `masks` questions of all members at once, `fork` the same block
//! at several nucleation temperatures, `record` what a single run tells of each step.
//!
//! Numbers without a tag of their own: judgement; water is densest at 3.98 °C \[kell-1975\].

mod around;
mod damage;
mod fork;
mod masks;
mod matrix;
mod phase;
mod record;
mod state;

use super::lane::Lane;
use super::real::Real;
use super::setup::Setup;
pub use fork::damaged_at;
pub use record::{Step, StepPart};
use state::Block;
use std::ops::Range;

/// γ = 1 − 1/√2.
const GAMMA: f64 = 1.0 - std::f64::consts::FRAC_1_SQRT_2;
/// Temperature of the density maximum in the parabola that decides mixing, °C.
const DENSEST_C: f64 = 3.98;
const ZERO_C_IN_K: f64 = crate::units::ZERO_C_IN_K;

/// The weather of a block, hour by hour from the start of the simulation.
#[derive(Debug, Clone)]
pub struct LaneWeather<'a, const W: usize> {
    /// Air at each hour node, °C, `[hours + 1]` lanes.
    pub air_c: Vec<[f64; W]>,
    /// Wind at 10 m, m/s, `[hours]`.
    pub wind_m_s: &'a [f64],
    /// Sky temperature over air temperature, both K, `[hours]`.
    pub sky_ratio: Vec<[f64; W]>,
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
    /// Standard score of each part's inner shape, `[parts]` lanes.
    pub shape: Vec<[f64; W]>,
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
    /// When the ice that stands in the part at its damage came to it, `[parts]` lanes: since then it has not been free of ice at a look.
    pub ice_before_s: Vec<[f64; W]>,
    /// Coldest water in each hour, °C, `[hours]` lanes; empty unless asked for.
    pub hour_coldest_c: Vec<[f64; W]>,
    /// Litres of the drip device in each hour as heat flow × seconds (J/K), `[hours]` lanes; empty unless asked for.
    pub hour_drip_j_per_k: Vec<[f64; W]>,
}

/// Runs one block in double precision. Lanes are independent: the bits of a lane do not depend on its neighbours or on `W`, but for
/// the length of the steps where the case lets warm hours take longer ones.
pub fn run_block<const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    keep_hours: bool,
    record: Option<&mut Vec<Step>>,
) -> BlockResult<W> {
    run_block_in::<f64, W>(setup, weather, lanes, keep_hours, record)
}

/// The same in the precision `F`: what many members are run in is `f32`.
pub fn run_block_in<F: Real, const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    keep_hours: bool,
    record: Option<&mut Vec<Step>>,
) -> BlockResult<W> {
    let course = Course::new(setup, weather, lanes, keep_hours);
    let mut block = course.begin::<F>(record.is_some());
    course.run(&mut block, 0..course.hours(), record);
    block.told()
}

/// The same with whatever instructions the build allows; tests hold that the bits are equal.
pub fn run_portable_in<F: Real, const W: usize>(
    setup: &Setup,
    weather: &LaneWeather<'_, W>,
    lanes: &Lanes<W>,
    keep_hours: bool,
    record: Option<&mut Vec<Step>>,
) -> BlockResult<W> {
    let course = Course::new(setup, weather, lanes, keep_hours);
    let mut block = course.begin::<F>(record.is_some());
    run_inline(&course, &mut block, 0..course.hours(), record);
    block.told()
}

/// What a block runs through.
#[derive(Clone, Copy)]
struct Course<'a, const W: usize> {
    setup: &'a Setup,
    weather: &'a LaneWeather<'a, W>,
    lanes: &'a Lanes<W>,
    /// Where ice may start, °C: the nearer the water comes to it, the shorter are the steps.
    starts_c: [f64; W],
    keep_hours: bool,
}

impl<'a, const W: usize> Course<'a, W> {
    fn new(setup: &'a Setup, weather: &'a LaneWeather<'a, W>, lanes: &'a Lanes<W>, keep_hours: bool) -> Self {
        Self {
            setup,
            weather,
            lanes,
            starts_c: lanes.nucleation_c,
            keep_hours,
        }
    }

    fn hours(&self) -> usize {
        self.weather.wind_m_s.len()
    }

    /// A block before its first hour.
    fn begin<F: Real>(&self, recorded: bool) -> Block<W, F> {
        let mut block = Block::new(self.setup, self.lanes, self.hours(), self.keep_hours);
        block.recorded = recorded;
        block
    }

    /// Runs some hours, with the best instructions that the processor knows.
    fn run<F: Real>(&self, block: &mut Block<W, F>, hours: Range<usize>, record: Option<&mut Vec<Step>>) {
        #[cfg(target_arch = "x86_64")]
        {
            if W > 1 && has_avx512() {
                // SAFETY: as below, for AVX-512.
                #[allow(unsafe_code)]
                return unsafe { run_avx512(self, block, hours, record) };
            }
            if W > 1 && std::arch::is_x86_feature_detected!("avx2") {
                // SAFETY: the processor has just said that it knows AVX2; the function differs from the
                // portable one in nothing but the instructions that the compiler may use.
                #[allow(unsafe_code)]
                return unsafe { run_avx2(self, block, hours, record) };
            }
        }
        run_inline(self, block, hours, record);
    }
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx2")]
fn run_avx2<const W: usize, F: Real>(
    course: &Course<'_, W>,
    block: &mut Block<W, F>,
    hours: Range<usize>,
    record: Option<&mut Vec<Step>>,
) {
    run_inline(course, block, hours, record);
}

/// Whether the processor knows all of AVX-512 that [`run_avx512`] may use.
#[cfg(target_arch = "x86_64")]
fn has_avx512() -> bool {
    use std::arch::is_x86_feature_detected;
    is_x86_feature_detected!("avx512f") && is_x86_feature_detected!("avx512dq") && is_x86_feature_detected!("avx512vl")
}

#[cfg(target_arch = "x86_64")]
#[target_feature(enable = "avx512f,avx512dq,avx512vl")]
fn run_avx512<const W: usize, F: Real>(
    course: &Course<'_, W>,
    block: &mut Block<W, F>,
    hours: Range<usize>,
    record: Option<&mut Vec<Step>>,
) {
    run_inline(course, block, hours, record);
}

#[inline(always)]
fn run_inline<const W: usize, F: Real>(
    course: &Course<'_, W>,
    block: &mut Block<W, F>,
    hours: Range<usize>,
    mut record: Option<&mut Vec<Step>>,
) {
    let Course {
        setup,
        weather,
        lanes,
        starts_c,
        keep_hours,
    } = *course;
    // A whole number of steps to the hour.
    let per_hour = (3600.0 / setup.step_s).round().max(1.0) as usize;
    for hour in hours {
        block.renew_films(setup, weather, lanes, hour);
        if hour == 0 {
            block.start(lanes.start_c);
            // Surface temperatures were not known before the start.
            block.renew_films(setup, weather, lanes, hour);
        }
        block.hour_coldest = Lane::all(F::INFINITY);
        block.hour_drip = Lane::all(F::ZERO);
        let (now, next) = (Lane::of(&weather.air_c[hour]), Lane::of(&weather.air_c[hour + 1]));
        let steps = if setup.coarse_when_warm {
            block.steps_of_hour(per_hour, now.min(next), Lane::of(&starts_c))
        } else {
            per_hour
        };
        let dt = 3600.0 / steps as f64;
        block.take_step_length(dt);
        for step in 0..steps {
            let from_node = (step as f64 + 0.5) / steps as f64;
            block.air_shift = (next - now) * F::of(from_node);
            let time_s = hour as f64 * 3600.0 + step as f64 * dt;
            block.step(setup, lanes, time_s);
            // At fixed times, so that it does not depend on when a neighbour's ice began.
            let end_s = time_s + dt;
            let looks = |s: f64| (s / setup.judge_every_s).floor();
            if block.icy && (setup.judge_every_s <= 0.0 || looks(end_s) > looks(time_s)) {
                block.judge(setup, end_s);
            }
            if let Some(steps) = record.as_deref_mut() {
                steps.push(block.recorded(setup, weather, lanes, hour, time_s));
            }
        }
        block.renew_surfaces();
        if keep_hours {
            block.out.hour_coldest_c.push(block.hour_coldest.to_f64());
            block.out.hour_drip_j_per_k.push(block.hour_drip.to_f64());
        }
    }
}
