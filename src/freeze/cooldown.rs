//! How long one pipe or one assembly lasts in constant conditions.
//!
//! Numbers without a tag of their own: how finely and how long it is looked at (judgement).

use super::config::FreezeConfig;
use super::film_fit::blend;
use super::kernel::{LaneWeather, Lanes, run_block};
use super::network::{Ground, Network, Part, PartKind};
use super::run::WhatIf;
use super::setup::{Limit, Setup, Surround, films};
use crate::inventory::Assembly;
use crate::physics::film;
use crate::physics::pipe::Pipe;
use crate::physics::water;
use crate::units::k_from_c;
use std::f64::consts::PI;

/// A film so good that it does not count, W/m²K.
const NO_FILM_W_M2K: f64 = 1e12;
/// Longest time looked at, h.
const LONGEST_H: usize = 8_760;
/// Steps a run may take.
const MOST_STEPS: f64 = 400_000.0;
/// Sea-level pressure, Pa.
const ABS_PA: f64 = 101_325.0;

/// What cools.
#[derive(Debug, Clone)]
pub enum Subject<'a> {
    /// A long pipe of this length.
    Pipe {
        /// Its dimensions.
        pipe: Pipe,
        /// Its length, m.
        length_m: f64,
    },
    /// An assembly with its risers.
    Assembly(&'a Assembly),
}

/// The conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Air and surroundings, °C.
    pub air_c: f64,
    /// Water at the start, °C.
    pub start_c: f64,
    /// Wind at the part, m/s.
    pub wind_m_s: f64,
    /// Film that replaces convection and radiation, W/m²K.
    pub film_w_m2k: Option<f64>,
    /// Insulation around it: thickness, m, and conductivity, W/mK.
    pub insulation: Option<(f64, f64)>,
    /// Flat wrap, m²K/W; used where no thickness is told.
    pub wrap_m2k_per_w: f64,
    /// Ground temperature, °C; `None` cuts the ground off.
    pub ground_c: Option<f64>,
    /// Temperature at which ice starts, °C.
    pub nucleation_c: f64,
    /// Ignore the heat capacity of the metal.
    pub no_metal: bool,
    /// Insulation alone, without film, as the handbook's table.
    pub no_film: bool,
}

/// How long it lasts; `None` is never.
#[derive(Debug, Clone, PartialEq)]
pub struct Cooldown {
    /// Hours to first ice.
    pub hours_to_freezing: Option<f64>,
    /// Hours to the first part that passes no flow.
    pub hours_to_blocked: Option<f64>,
    /// Hours to all water being ice, from the start.
    pub hours_to_solid: Option<f64>,
    /// Part that freezes first.
    pub first_part: Option<&'static str>,
    /// Convection at the start, W/m²K; `None` where a film was told or left out.
    pub convection_w_m2k: Option<f64>,
    /// Radiation at the start, W/m²K; `None` where a film was told or left out.
    pub radiation_w_m2k: Option<f64>,
    /// Part by part: name, water kg, outside area m², hours to freezing, hours to solid.
    pub parts: Vec<CooldownPart>,
}

/// One part.
#[derive(Debug, Clone, PartialEq)]
pub struct CooldownPart {
    /// Name.
    pub name: &'static str,
    /// Water, kg.
    pub water_kg: f64,
    /// Heat capacity of the metal, J/K.
    pub metal_j_per_k: f64,
    /// Outside area, m².
    pub outside_area_m2: f64,
    /// Hours to first ice in it.
    pub hours_to_freezing: Option<f64>,
    /// Hours to all its water being ice.
    pub hours_to_solid: Option<f64>,
}

/// Runs the model in constant conditions.
pub fn cooldown(subject: &Subject<'_>, conditions: &Conditions, config: &FreezeConfig) -> Cooldown {
    let mut setup = setup_of(subject, conditions, config);
    setup.judge_every_s = 0.0;
    if conditions.no_metal {
        for part in &mut setup.net.parts {
            part.metal_j_per_k = 0.0;
        }
    }
    setup.film_override_w_m2k = if conditions.no_film {
        Some(NO_FILM_W_M2K)
    } else {
        conditions.film_w_m2k
    };
    let film_k = k_from_c(0.5 * (conditions.start_c + conditions.air_c));
    (setup.films, setup.film_of) = films(&setup.net, film_k);

    let films = (setup.film_override_w_m2k.is_none())
        .then(|| start_film(&setup.net.parts[0], conditions, setup.emissivity, film_k));
    let quickest_s = setup
        .net
        .parts
        .iter()
        .map(|part| {
            let film = setup
                .film_override_w_m2k
                .unwrap_or_else(|| films.map_or(10.0, |f: (f64, f64)| f.0 + f.1));
            let capacity = part.metal_j_per_k + part.water_kg * water::CP_0C_J_KGK;
            capacity * (1.0 / film + part.insulation_m2k_per_w) / part.outside_area_m2
        })
        .fold(f64::INFINITY, f64::min);

    // Double the time looked at until everything is ice or nothing will be.
    let mut hours = 24_usize;
    loop {
        let wanted = (quickest_s / 40.0).clamp(1.0, 300.0);
        setup.step_s = wanted.max(hours as f64 * 3600.0 / MOST_STEPS);
        let answer = run(&setup, conditions, hours, films);
        let frozen = answer.hours_to_solid.is_some();
        // Water that has not begun to freeze after a tenth of the longest time is in balance above freezing.
        let never = answer.hours_to_freezing.is_none() && hours >= LONGEST_H / 10;
        if frozen || never || hours >= LONGEST_H {
            return answer;
        }
        hours = (hours * 4).min(LONGEST_H);
    }
}

fn run(setup: &Setup, conditions: &Conditions, hours: usize, films: Option<(f64, f64)>) -> Cooldown {
    let wind = vec![conditions.wind_m_s; hours];
    let clock = vec![0; hours];
    let weather = LaneWeather::<1> {
        air_c: vec![[conditions.air_c]; hours + 1],
        wind_m_s: &wind,
        sky_ratio: vec![[1.0]; hours],
        hour_of_day: &clock,
    };
    let lanes = Lanes::<1> {
        nucleation_c: [conditions.nucleation_c],
        shelter: [1.0],
        draws: [0.0],
        strength: vec![[1.0]; setup.net.parts.len()],
        shape: vec![[0.0]; setup.net.parts.len()],
        start_c: Some(conditions.start_c),
    };
    let block = run_block::<1>(setup, &weather, &lanes, false, None);
    let told = |seconds: f64| seconds.is_finite().then_some(seconds / 3600.0);
    let parts: Vec<CooldownPart> = setup
        .net
        .parts
        .iter()
        .enumerate()
        .map(|(i, part)| CooldownPart {
            name: part.name,
            water_kg: part.water_kg,
            metal_j_per_k: part.metal_j_per_k,
            outside_area_m2: part.outside_area_m2,
            hours_to_freezing: told(block.ice_s[i][0]),
            hours_to_solid: told(block.part_solid_s[i][0]),
        })
        .collect();
    let last_solid = block.part_solid_s.iter().map(|lane| lane[0]).fold(0.0, f64::max);
    Cooldown {
        hours_to_freezing: told(block.first_ice_s[0]),
        hours_to_blocked: told(block.blocked_s[0]),
        hours_to_solid: told(last_solid),
        first_part: block.first_ice_s[0]
            .is_finite()
            .then(|| setup.net.parts[usize::from(block.first_part[0])].name),
        convection_w_m2k: films.map(|f| f.0),
        radiation_w_m2k: films.map(|f| f.1),
        parts,
    }
}

/// Convection and radiation of the first part at the start, with the surface of its insulation in balance.
fn start_film(part: &Part, conditions: &Conditions, emissivity: f64, film_k: f64) -> (f64, f64) {
    let (air_k, start_k) = (k_from_c(conditions.air_c), k_from_c(conditions.start_c));
    let d = part.outside_diameter_m;
    let forced = film::forced_w_m2k(conditions.wind_m_s, d, film_k, ABS_PA);
    let mut surface_k = start_k;
    let mut films = (0.0, 0.0);
    for _ in 0..60 {
        let convection = blend(forced, film::free_w_m2k(surface_k - air_k, d, film_k, ABS_PA));
        let radiation = film::radiation_w_m2k(emissivity, surface_k, air_k);
        films = (convection, radiation);
        let film = convection + radiation;
        let next = air_k + (start_k - air_k) / (1.0 + part.insulation_m2k_per_w * film);
        // Halfway steps settle the weak dependence of free convection on the difference.
        surface_k = 0.5 * (surface_k + next);
    }
    films
}

fn setup_of(subject: &Subject<'_>, conditions: &Conditions, config: &FreezeConfig) -> Setup {
    match subject {
        Subject::Assembly(assembly) => {
            let mut setup = Setup::new(assembly, 15.0, WhatIf::SupplyOff, config);
            setup.surround = Surround::Open;
            setup.wind_factor = vec![1.0; setup.net.parts.len()];
            setup.trace_w = vec![0.0; setup.net.parts.len()];
            match conditions.ground_c {
                Some(ground_c) => setup.ground_c = vec![ground_c; setup.net.ground.len()],
                None => {
                    setup.net.ground.clear();
                    setup.ground_c.clear();
                }
            }
            for part in &mut setup.net.parts {
                part.insulation_m2k_per_w = insulate(part, conditions);
            }
            setup
        }
        Subject::Pipe { pipe, length_m } => {
            let mut part = Part {
                name: "pipe",
                kind: PartKind::Pipe,
                water_kg: PI / 4.0 * pipe.id_m.powi(2) * length_m * water::DENSITY_0C_KG_M3,
                metal_j_per_k: pipe.wall_j_per_mk() * length_m,
                outside_area_m2: PI * pipe.od_m * length_m,
                outside_diameter_m: pipe.od_m,
                insulation_m2k_per_w: 0.0,
                bore_m: pipe.id_m,
                height_m: 0.5,
            };
            if let Some((thickness_m, conductivity_w_mk)) = conditions.insulation.filter(|i| i.0 > 0.0) {
                // The film acts on the outside of the insulation.
                let outer_m = pipe.od_m + 2.0 * thickness_m;
                part.insulation_m2k_per_w = (outer_m / pipe.od_m).ln() / (2.0 * conductivity_w_mk) * outer_m;
                part.outside_diameter_m = outer_m;
                part.outside_area_m2 = PI * outer_m * length_m;
            } else {
                part.insulation_m2k_per_w = conditions.wrap_m2k_per_w;
            }
            let net = Network {
                ground: conditions
                    .ground_c
                    .map(|_| Ground {
                        part: 0,
                        // Both ends reach the ground through half the pipe.
                        conductance_w_per_k: 2.0
                            * (pipe.wall_m2() * pipe.material.conductivity_w_mk + pipe.bore_m2() * water::K_0C_W_MK)
                            / (0.5 * length_m),
                        mixing_w_per_k2: 0.0,
                        depth_m: 0.0,
                    })
                    .into_iter()
                    .collect(),
                parts: vec![part],
                chain: 1,
                links: Vec::new(),
                first_checked: 1,
                drip_at: 0,
                vent: None,
                length_m: *length_m,
                footprint_m2: 0.0,
                cover_m2: 0.0,
            };
            let limits = vec![Limit::of_line(
                config.damage.metal_riser_mpa,
                net.parts[0].bore_m,
                &config.damage,
            )];
            let (films, film_of) = films(&net, k_from_c(0.0));
            Setup {
                films,
                film_of,
                wind_factor: vec![1.0],
                emissivity: config.emissivity.unwrap_or(pipe.material.emissivity),
                sky_view: config.sky_view,
                surround: Surround::Open,
                ground_c: conditions.ground_c.into_iter().collect(),
                supply_c: conditions.start_c,
                draw_w_per_k: [0.0; 24],
                trickle_w_per_k: 0.0,
                drip: None,
                trace_w: vec![0.0],
                trace_on_below_c: config.trace_on_below_c,
                film_override_w_m2k: None,
                limits,
                downstream_open: false,
                blocked_fraction: config.blocked_fraction,
                step_s: config.step_s,
                coarse_when_warm: false,
                judge_every_s: 0.0,
                day_of_year: 15.0,
                net,
            }
        }
    }
}

fn insulate(part: &Part, conditions: &Conditions) -> f64 {
    match conditions.insulation {
        Some((thickness_m, conductivity_w_mk)) if thickness_m > 0.0 => {
            // As a sleeve on a cylinder, referred to the bare area that the network keeps.
            let d = part.outside_diameter_m;
            (1.0 + 2.0 * thickness_m / d).ln() * d / (2.0 * conductivity_w_mk)
        }
        _ => conditions.wrap_m2k_per_w,
    }
}
