//! One thermal case: all that does not differ from member to member.
//!
//! Numbers without a tag of their own: judgement.

use super::config::{Damage, FreezeConfig};
use super::film_fit::FilmFit;
use super::network::{Network, PartKind, body_metal, network};
use super::run::WhatIf;
use crate::inventory::{
    Assembly, CustomerClass, DeviceType, Placement, RiserMaterial, Service, WindExposure, WinterUse,
};
use crate::physics::{film, ground, ice, inlet, water};
use std::sync::LazyLock;

/// Film temperature of the fits, K: the middle between metal at freezing and air some degrees below.
const FILM_K: f64 = 270.0;
/// Sea-level pressure, Pa: the denser air of sea level is the cautious side.
const ABS_PA: f64 = 101_325.0;
/// Blockage and damage come over hours: a look every quarter of an hour loses nothing, s.
const JUDGE_EVERY_S: f64 = 600.0;
/// Roughness-free height below which the power law is not carried down further, m (judgement).
const LOWEST_WIND_M: f64 = 0.15;

/// What the parts stand in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Surround {
    /// Wind and sky.
    Open,
    /// An air node behind walls.
    Enclosed {
        /// Walls and leakage to the outside, W/K.
        out_w_per_k: f64,
        /// To the ground, W/K.
        ground_w_per_k: f64,
        /// Ground temperature under the floor, °C.
        ground_c: f64,
        /// Heater at its limit, W; 0 without a heater or without power.
        heater_w: f64,
        /// Temperature that the heater holds, °C.
        hold_c: f64,
    },
    /// A room at one temperature.
    Room {
        /// Its temperature, °C.
        air_c: f64,
    },
}

/// A thermostatic drip device.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drip {
    /// Opens at this temperature of its part, °C.
    pub opens_c: f64,
    /// Closes at this temperature, °C.
    pub closes_c: f64,
    /// Heat capacity flow when open, W/K.
    pub flow_w_per_k: f64,
}

/// When the liquid of a part is trapped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trap {
    /// By construction: the ball of a closed cock, a bypass between closed valves.
    Always,
    /// A chamber on the body: once its own throat is closed, or the body's ways out are.
    Hung,
    /// Unless it can push back to the main or on into plumbing that gives.
    UnlessOpen,
    /// As `UnlessOpen`, but the zone's relief valve vents it while that is not closed by ice.
    UnlessVented,
    /// As `UnlessOpen`, but the bonnet gives first and then opens the chamber.
    UnlessBonnetGone,
}

/// What a part can take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limit {
    /// When its liquid is trapped.
    pub trap: Trap,
    /// Internal pressure at which it gives, Pa.
    pub pressure_pa: f64,
    /// Stretch of its wall, 1/Pa.
    pub compliance_per_pa: f64,
    /// Logit of the ice fraction at which its narrows close, and the spread of that logit from one casting to the next.
    pub shut_in_logit: f64,
    /// Its standard deviation.
    pub shut_in_logit_sd: f64,
    /// Volume that gives before pressure rises, share of the water, median.
    pub slack: f64,
    /// Standard deviation of its logarithm.
    pub slack_log_sd: f64,
    /// What seeps away of the trapped liquid, share of the part's water per pascal and second.
    pub seep_per_pa_s: f64,
    /// Heat leaving its surface that halves that, W/m².
    pub seep_halves_w_m2: f64,
    /// Time since first ice that halves it, s.
    pub seep_halves_s: f64,
}

/// One thermal case.
#[derive(Debug, Clone, PartialEq)]
pub struct Setup {
    /// The network.
    pub net: Network,
    /// Films, one a distinct diameter.
    pub films: Vec<FilmFit>,
    /// Which film each part has, `[parts]`.
    pub film_of: Vec<usize>,
    /// Wind at the part over wind at 10 m, before the member's shelter, `[parts]`.
    pub wind_factor: Vec<f64>,
    /// Emissivity of the surface.
    pub emissivity: f64,
    /// Share of the view that is sky.
    pub sky_view: f64,
    /// What the parts stand in.
    pub surround: Surround,
    /// Temperature of each ground link, °C, `[net.ground]`.
    pub ground_c: Vec<f64>,
    /// Supply water, °C.
    pub supply_c: f64,
    /// Heat capacity flow of draws by local hour, W/K, `[24]`.
    pub draw_w_per_k: [f64; 24],
    /// Heat capacity flow of a trickle left running, W/K.
    pub trickle_w_per_k: f64,
    /// Drip device, if fitted and supplied.
    pub drip: Option<Drip>,
    /// Heat trace on each part, W, `[parts]`.
    pub trace_w: Vec<f64>,
    /// Air temperature under which the trace is on, °C.
    pub trace_on_below_c: f64,
    /// Film coefficient that replaces convection and radiation, W/m²K.
    pub film_override_w_m2k: Option<f64>,
    /// Whether the metal's heat capacity counts (`cooldown --no-metal` ignores it).
    pub limits: Vec<Limit>,
    /// Whether plumbing behind the assembly can take up pushed-on water.
    pub downstream_open: bool,
    /// Ice fraction at which a part passes no flow.
    pub blocked_fraction: f64,
    /// Time step, s.
    pub step_s: f64,
    /// Whether hours in which nothing is near freezing take one step.
    pub coarse_when_warm: bool,
    /// Seconds between looks at blockage and damage.
    pub judge_every_s: f64,
    /// Number of days since 1 January, for ground and supply.
    pub day_of_year: f64,
}

impl Setup {
    /// The case of an assembly on a day of the year.
    pub fn new(assembly: &Assembly, day_of_year: f64, what_if: WhatIf, config: &FreezeConfig) -> Self {
        let net = network(assembly, config);
        let climate = &config.climate;
        let south = assembly.latitude_deg.is_some_and(|latitude| latitude < 0.0);
        let coldest_day = climate.coldest_day_at(south);
        let ground_at = |depth_m: f64| {
            ground::ground_temperature_c(
                climate.mean_air_c(),
                0.5 * climate.range_k(),
                coldest_day,
                climate.soil_diffusivity_m2_day,
                depth_m,
                day_of_year,
            )
        };
        let supply_c = climate
            .supply_c
            .unwrap_or_else(|| inlet::mains_temperature_c(climate.mean_air_c(), climate.range_k(), day_of_year, south));
        let supplied = what_if != WhatIf::SupplyOff;
        let powered = what_if != WhatIf::PowerOut;
        let surround = surround(assembly, &net, powered, config, ground_at(0.1), ground_at(0.5));

        let (exposure, hidden) = match assembly.wind_exposure {
            WindExposure::Open => (config.wind_shelter.open, config.sky_hidden.open),
            WindExposure::Partial => (config.wind_shelter.partial, config.sky_hidden.partial),
            WindExposure::Sheltered => (config.wind_shelter.sheltered, config.sky_hidden.sheltered),
        };
        let law = match config.roughness_m {
            Some(roughness_m) => film::WindLaw::Log { roughness_m },
            None => film::WindLaw::Power {
                exponent: config.wind_exponent,
            },
        };
        let wind_factor = net
            .parts
            .iter()
            .map(|part| exposure * film::wind_at_height_m_s(1.0, part.height_m.max(LOWEST_WIND_M), law))
            .collect();
        let (films, film_of) = films(&net, FILM_K);

        let trace_each = if powered { assembly.heat_trace_w.max(0.0) } else { 0.0 };
        // Cable lies along pipe and body in proportion to the surface that loses heat.
        let chain_area: f64 = net.parts.iter().map(|part| part.outside_area_m2).sum();
        let trace_w = net
            .parts
            .iter()
            .map(|part| trace_each * part.outside_area_m2 / chain_area)
            .collect();

        let limits = net
            .parts
            .iter()
            .map(|part| limit(part, assembly, &config.damage))
            .collect();
        Self {
            ground_c: net.ground.iter().map(|link| ground_at(link.depth_m)).collect(),
            draw_w_per_k: if supplied { draws(assembly, config) } else { [0.0; 24] },
            trickle_w_per_k: 0.0,
            drip: (assembly.freeze_drip && supplied).then_some(Drip {
                opens_c: config.drip_device.opens_c,
                closes_c: config.drip_device.closes_c,
                flow_w_per_k: flow_w_per_k(config.drip_device.flow_l_per_h),
            }),
            films,
            film_of,
            wind_factor,
            emissivity: config
                .emissivity
                .unwrap_or_else(|| body_metal(assembly.device_type, assembly.nominal_size, config).emissivity),
            sky_view: (config.sky_view - hidden).max(0.0),
            surround,
            supply_c,
            trace_w,
            trace_on_below_c: config.trace_on_below_c,
            film_override_w_m2k: None,
            limits,
            downstream_open: config.damage.downstream_gives,
            blocked_fraction: config.blocked_fraction,
            // A drip device opens and closes within minutes.
            step_s: if assembly.freeze_drip {
                0.5 * config.step_s
            } else {
                config.step_s
            },
            coarse_when_warm: false,
            judge_every_s: JUDGE_EVERY_S,
            day_of_year,
            net,
        }
    }
}

impl Setup {
    /// The case as an ensemble runs it: odds need no minutes, and warm hours no small steps.
    pub fn for_ensemble(mut self, config: &FreezeConfig) -> Self {
        self.step_s = self.step_s.max(config.ensemble_step_s * self.step_s / config.step_s);
        self.coarse_when_warm = true;
        self
    }
}

/// Heat capacity flow, W/K, of litres an hour.
pub fn flow_w_per_k(litres_per_h: f64) -> f64 {
    litres_per_h * water::DENSITY_0C_KG_M3 / 1000.0 / 3600.0 * water::CP_0C_J_KGK
}

/// Litres an hour of a heat capacity flow, W/K.
pub fn litres_per_h(flow_w_per_k: f64) -> f64 {
    flow_w_per_k / water::CP_0C_J_KGK * 3600.0 / (water::DENSITY_0C_KG_M3 / 1000.0)
}

/// One film a distinct diameter, and which of them each part has.
pub fn films(net: &Network, film_k: f64) -> (Vec<FilmFit>, Vec<usize>) {
    let mut diameters: Vec<f64> = Vec::new();
    let mut films = Vec::new();
    let film_of = net
        .parts
        .iter()
        .map(|part| {
            let d = part.outside_diameter_m;
            diameters
                .iter()
                .position(|known| (known - d).abs() < 1e-9)
                .unwrap_or_else(|| {
                    diameters.push(d);
                    films.push(FilmFit::new(d, film_k, ABS_PA));
                    diameters.len() - 1
                })
        })
        .collect();
    (films, film_of)
}

fn draws(assembly: &Assembly, config: &FreezeConfig) -> [f64; 24] {
    let in_use = assembly.winter_use == WinterUse::InUse;
    let served = !matches!(assembly.service, Service::Irrigation | Service::Fire);
    if !(in_use && served) {
        return [0.0; 24];
    }
    let litres = match assembly.customer_class {
        CustomerClass::Residential => &config.draws.residential_l,
        CustomerClass::Public => &config.draws.public_l,
        CustomerClass::Commercial | CustomerClass::Unknown => &config.draws.commercial_l,
    };
    let scale = assembly.nominal_size.inches().powi(2);
    litres.map(|l| flow_w_per_k(l.max(0.0) * scale))
}

fn surround(
    assembly: &Assembly,
    net: &Network,
    powered: bool,
    config: &FreezeConfig,
    floor_c: f64,
    vault_c: f64,
) -> Surround {
    let e = &config.enclosure;
    match assembly.placement {
        Placement::Open => Surround::Open,
        Placement::Indoors => Surround::Room { air_c: e.indoors_c },
        Placement::Vault => {
            // The vault's air is a fixed mix of outside air and ground.
            let share = e.vault_air_share.clamp(0.0, 1.0);
            Surround::Enclosed {
                out_w_per_k: 100.0 * share,
                ground_w_per_k: 100.0 * (1.0 - share),
                ground_c: vault_c,
                heater_w: 0.0,
                hold_c: 0.0,
            }
        }
        Placement::Cover => Surround::Enclosed {
            out_w_per_k: net.cover_m2 * (e.cover_w_m2k + e.cover_leak_w_m2k),
            ground_w_per_k: net.footprint_m2 * e.ground_w_m2k,
            ground_c: floor_c,
            heater_w: 0.0,
            hold_c: 0.0,
        },
        Placement::InsulatedEnclosure | Placement::HeatedEnclosure => {
            // R of the wall with the usual inside and outside films, 0.12 and 0.03 m²K/W [ashrae-fundamentals].
            let wall = net.cover_m2 * (1.0 / (e.insulated_m2k_per_w + 0.15) + e.insulated_leak_w_m2k);
            let heated = assembly.placement == Placement::HeatedEnclosure && powered;
            Surround::Enclosed {
                out_w_per_k: wall,
                ground_w_per_k: net.footprint_m2 * e.ground_w_m2k,
                ground_c: floor_c,
                // A class I enclosure holds 40 °F inside at −30 °F outside, by its walls and leakage alone.
                heater_w: if heated {
                    wall * (e.heated_hold_c - e.heated_limit_c).max(0.0)
                } else {
                    0.0
                },
                hold_c: e.heated_hold_c,
            }
        }
    }
}

/// What a part of an assembly can take.
fn limit(part: &super::network::Part, assembly: &Assembly, damage: &Damage) -> Limit {
    let large = assembly.nominal_size.inches() > 2.0;
    let pvc = assembly.riser_material == RiserMaterial::Pvc;
    let usual = Damage::default();
    let body = |d: &Damage| if large { d.large_body_mpa } else { d.small_body_mpa };
    let valve = |d: &Damage| if large { d.gate_valve_mpa } else { d.ball_valve_mpa };
    let shut_in = &damage.shut_in;
    // When it is trapped, pressure it stands, pressure that its kind usually stands, where its narrows close.
    let (trap, mpa, usual_mpa, closes) = match part.kind {
        PartKind::TestCocks => (Trap::Always, damage.test_cocks_mpa, usual.test_cocks_mpa, 0.0),
        PartKind::Bypass => (Trap::Always, damage.bypass_mpa, usual.bypass_mpa, 0.0),
        PartKind::Bonnet => (Trap::Hung, damage.bonnet_mpa, usual.bonnet_mpa, shut_in.throat),
        PartKind::ReliefValve => (
            Trap::Hung,
            damage.relief_valve_mpa,
            usual.relief_valve_mpa,
            shut_in.throat,
        ),
        PartKind::FirstShutoff | PartKind::SecondShutoff => {
            (Trap::UnlessOpen, valve(damage), valve(&usual), shut_in.valve)
        }
        PartKind::BodyBetweenChecks => {
            let trap = match assembly.device_type {
                DeviceType::Rp | DeviceType::Rpda => Trap::UnlessVented,
                DeviceType::Dc | DeviceType::Dcda => Trap::UnlessOpen,
                DeviceType::Pvb | DeviceType::Svb | DeviceType::Avb => Trap::UnlessBonnetGone,
            };
            (trap, body(damage), body(&usual), shut_in.checks)
        }
        PartKind::BodyAfterChecks => (Trap::UnlessOpen, body(damage), body(&usual), shut_in.body),
        PartKind::InletRiser | PartKind::OutletRiser | PartKind::Pipe => {
            let mpa = if pvc {
                damage.pvc_riser_mpa
            } else {
                damage.metal_riser_mpa
            };
            let mut line = Limit::of_line(mpa, part.bore_m, damage);
            if pvc {
                line.compliance_per_pa = damage.pvc_compliance_per_pa.max(0.0);
            }
            return line;
        }
    };
    let cavity = trap == Trap::Always;
    Limit {
        trap,
        pressure_pa: stands_pa(mpa, damage),
        compliance_per_pa: damage.metal_compliance_per_pa.max(0.0),
        shut_in_logit: logit(closes),
        shut_in_logit_sd: if cavity { 0.0 } else { shut_in.logit_sd },
        slack: if cavity {
            damage.cavity_give
        } else {
            slack(damage, part.bore_m)
        },
        slack_log_sd: if cavity { damage.cavity_give_log_sd } else { 0.0 },
        seep_per_pa_s: seep_per_pa_s(damage, usual_mpa, part.bore_m)
            * if part.kind == PartKind::Bonnet {
                BONNET_LIFTS
            } else {
                1.0
            },
        seep_halves_w_m2: damage.seep_halves_w_m2.max(1.0),
        seep_halves_s: damage.seep_halves_h.max(0.01) * 3600.0,
    }
}

/// Pressure, Pa, that parts of a kind stand whose config says `mpa`.
fn stands_pa(mpa: f64, damage: &Damage) -> f64 {
    (mpa * damage.strength_factor).max(0.01) * 1e6
}

/// Seepage of a chamber, share of its water per pascal and second. Gaps of seats and packing are as wide in all sizes and as long as the
/// bore is round, and the water goes with its cube; to 1 in castings are of one gauge. A kind that is built to stand less (covers on gaskets,
/// diaphragms) is looser in proportion (judgement).
fn seep_per_pa_s(damage: &Damage, usual_mpa: f64, bore_m: f64) -> f64 {
    let build = SEEP_AT_MPA / usual_mpa.max(0.01);
    let size = (SEEP_AT_BORE_M / bore_m.max(SEEP_AT_BORE_M)).powi(2);
    damage.seep_per_mpa_h.max(0.0) * damage.strength_factor.max(0.01) / 1e6 / 3600.0 * build * size
}

/// Slack of a chamber, share of its water: seals and what sticks to the walls grow with the surface, so above 1 in it falls with the bore
/// (judgement).
fn slack(damage: &Damage, bore_m: f64) -> f64 {
    damage.slack_fraction.max(0.0) * SEEP_AT_BORE_M / bore_m.max(SEEP_AT_BORE_M)
}

/// Bore, m, and strength, MPa, of the chamber that `seep_per_mpa_h` speaks of: the bronze body of a 1 in assembly.
const SEEP_AT_BORE_M: f64 = 0.0325;
const SEEP_AT_MPA: f64 = 12.0;
/// How much more seeps under a bonnet, whose float and poppet lift (judgement).
const BONNET_LIFTS: f64 = 1.5;
/// Ice fraction at which a plain line is frozen across: a line of slush still seeps.
const LINE_SHUT_IN: f64 = 0.98;

fn logit(share: f64) -> f64 {
    let share = share.clamp(0.0, 1.0);
    (share / (1.0 - share)).ln()
}

impl Limit {
    /// A plain line of this bore, m, that stands `mpa`: nothing in it is narrow.
    pub fn of_line(mpa: f64, bore_m: f64, damage: &Damage) -> Self {
        Self {
            trap: Trap::UnlessOpen,
            pressure_pa: stands_pa(mpa, damage),
            compliance_per_pa: damage.metal_compliance_per_pa.max(0.0),
            shut_in_logit: logit(LINE_SHUT_IN),
            shut_in_logit_sd: 0.0,
            slack: slack(damage, bore_m),
            slack_log_sd: 0.0,
            seep_per_pa_s: seep_per_pa_s(damage, SEEP_AT_MPA, bore_m),
            seep_halves_w_m2: damage.seep_halves_w_m2.max(1.0),
            seep_halves_s: damage.seep_halves_h.max(0.01) * 3600.0,
        }
    }

    /// Ice fraction at which the narrows of a casting of this shape (a standard score) close; 0 for what is closed by construction.
    pub fn shut_in(&self, shape: f64) -> f64 {
        1.0 / (1.0 + (-self.shut_in_logit - self.shut_in_logit_sd * shape).exp())
    }

    /// Volume that gives before pressure rises, share of the water, for a casting of this shape.
    pub fn slack(&self, shape: f64) -> f64 {
        self.slack.max(0.0) * (self.slack_log_sd * shape).exp()
    }

    /// Volume that the water and the walls take up for each pascal, share of the water.
    pub fn give_per_pa(&self) -> f64 {
        ice::EXPANSION_ON_FREEZING * ice::trapped_fraction_to_pressure(1.0, self.compliance_per_pa)
    }

    /// Temperature that the surroundings must be below for ice to go on growing against that pressure, °C.
    pub fn melting_c(&self, strength: f64) -> f64 {
        // Straight lines between whole megapascals: within 1e-4 K of the melting curve.
        let at = (self.pressure_pa * strength / 1e6).clamp(0.0, (MELTING_C.len() - 2) as f64);
        let lower = at as usize;
        MELTING_C[lower] + (at - lower as f64) * (MELTING_C[lower + 1] - MELTING_C[lower])
    }
}

/// Melting temperature of ice Ih at 0, 1, 2 … MPa, °C. Beyond its range ice cannot raise the pressure further.
static MELTING_C: LazyLock<Vec<f64>> = LazyLock::new(|| {
    (0..=201)
        .map(|mpa| {
            ice::melting_temperature_c(f64::from(mpa.max(1)) * 1e6 * if mpa == 0 { 1e-3 } else { 1.0 }).unwrap_or(-22.0)
        })
        .collect()
});
