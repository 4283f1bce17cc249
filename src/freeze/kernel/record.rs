//! What a single run tells of each step.

use super::super::lane::Lane;
use super::super::real::Real;
use super::super::setup::Setup;
use super::state::{Block, Part};
use super::{GAMMA, LaneWeather, Lanes, ZERO_C_IN_K};
use crate::physics::ice::LATENT_HEAT_J_KG;

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

impl<const W: usize, F: Real> Block<W, F> {
    /// What the record keeps of the step just taken (lane 0).
    pub(super) fn recorded(
        &self,
        setup: &Setup,
        weather: &LaneWeather<'_, W>,
        lanes: &Lanes<W>,
        hour: usize,
        time_s: f64,
    ) -> Step {
        let dt = self.dt.to_f64();
        let net = &setup.net;
        let n = net.parts.len();
        let air_c = weather.air_c[hour][0] + first(self.air_shift);
        let links: Vec<f64> = (0..net.links.len())
            .map(|at| first(self.parts[if at + 1 < net.chain { at } else { at + 1 }].link))
            .collect();
        let ground: Vec<f64> = net
            .ground
            .iter()
            .zip(&setup.ground_c)
            .map(|(link, ground_c)| {
                let mut mixing = self.ground_mixing.iter();
                let own = mixing.find(|mixing| mixing.part == link.part && mixing.ground_c == F::of(*ground_c));
                link.conductance_w_per_k
                    + own
                        .filter(|_| link.mixing_w_per_k2 > 0.0)
                        .map_or(0.0, |own| first(own.last.before))
            })
            .collect();
        let mut parts = Vec::with_capacity(n);
        let mut gained_j = Vec::with_capacity(n);
        let mut throughput_j = Vec::with_capacity(n);
        for (i, part) in net.parts.iter().enumerate() {
            let now = &self.parts[i];
            // Without ice the layer's conductance was not looked at.
            let outside_w_per_k = if first(now.ice0) > 0.0 {
                first(now.outside_now)
            } else {
                first(now.outside_w_per_k)
            };
            let stage = |of: &dyn Fn(&Part<W, F>) -> Lane<W, F>| {
                // Each flux by itself, so that the sum is not the solver's own algebra.
                let t = first(of(now));
                let outside_c = first(now.outside_c) + first(self.follow) * first(self.air_shift);
                let mut fluxes = vec![
                    outside_w_per_k * (outside_c - t),
                    setup.trace_w[i] * first(self.trace_on),
                ];
                let mut source = setup.trace_w[i] * first(self.trace_on);
                for (at, link) in net.links.iter().enumerate() {
                    if link.a == i || link.b == i {
                        let other = if link.a == i { link.b } else { link.a };
                        fluxes.push(links[at] * (first(of(&self.parts[other])) - t));
                    }
                }
                for (at, link) in net.ground.iter().enumerate().filter(|(_, link)| link.part == i) {
                    fluxes.push(ground[at] * (setup.ground_c[at] - first(of(&self.parts[link.part]))));
                }
                if i < net.chain {
                    let upstream = if i > 0 {
                        first(of(&self.parts[i - 1]))
                    } else {
                        setup.supply_c
                    };
                    let brought = first(self.flow_at(setup, i)) * (upstream - t);
                    fluxes.push(brought);
                    source += brought;
                }
                (
                    fluxes.iter().sum::<f64>(),
                    fluxes.iter().map(|f| f.abs()).sum::<f64>(),
                    source,
                )
            };
            let (f1, a1, q1) = stage(&|part| part.s1);
            let (f2, a2, q2) = stage(&|part| part.s2);
            let mean = |x: f64, y: f64| (1.0 - GAMMA) * x + GAMMA * y;
            gained_j.push(dt * mean(f1, f2));
            throughput_j.push(dt * mean(a1, a2));
            let ice_k_per_w = 1.0 / outside_w_per_k - 1.0 / first(now.outside_w_per_k);
            let ice_m2k_per_w = if first(now.ice0) > 0.0 {
                ice_k_per_w.max(0.0) * part.outside_area_m2
            } else {
                0.0
            };
            parts.push(StepPart {
                water_c: first(now.t0),
                ice_fraction: if part.water_kg > 0.0 {
                    first(now.ice0) / part.water_kg
                } else {
                    0.0
                },
                enthalpy_j: self.enthalpy_j(i, first(now.t0), first(now.ice0)),
                film_w_m2k: 1.0 / (1.0 / first(now.film) + ice_m2k_per_w),
                ice_m2k_per_w,
                outside_c: first(now.outside_c) + first(self.follow) * first(self.air_shift),
                source_w: mean(q1, q2),
            });
        }
        Step {
            time_s,
            air_c,
            wind_m_s: weather.wind_m_s[hour] * lanes.shelter[0],
            sky_c: weather.sky_ratio[hour][0] * (air_c + ZERO_C_IN_K) - ZERO_C_IN_K,
            parts,
            links_w_per_k: links,
            ground_w_per_k: ground,
            gained_j,
            throughput_j,
            drip_j_per_k: first(self.drip_flow) * dt,
        }
    }

    fn enthalpy_j(&self, i: usize, t: f64, ice: f64) -> f64 {
        let part = &self.parts[i];
        let water = part.water_kg.to_f64();
        if ice <= 0.0 {
            part.liquid_j_per_k.to_f64() * t
        } else if ice < water {
            -LATENT_HEAT_J_KG * ice
        } else {
            part.solid_j_per_k.to_f64() * t - LATENT_HEAT_J_KG * water
        }
    }
}

/// The first member.
fn first<const W: usize, F: Real>(of: Lane<W, F>) -> f64 {
    of.0[0].to_f64()
}
