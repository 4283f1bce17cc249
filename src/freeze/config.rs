//! The `[freeze]` and `[ensemble]` sections of the config, with their defaults.
//!
//! What is marked judgement has no published source: it is open to recalibration by comparing
//! past spells with what broke.

use crate::weather::spread::Spread;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// The `[freeze]` section.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct FreezeConfig {
    /// What a repair costs, by kind, size and part.
    pub costs: super::costs::Costs,
    /// Time step of the model, s. 60 to 900.
    pub step_s: f64,
    /// Time step of the ensemble, s. The chance of damage moves by less than a percent from `step_s` to this.
    pub ensemble_step_s: f64,
    /// Emissivity of the surface, 0 to 1; left out, that of the body's metal: weathered bronze 0.7, coated iron 0.9 \[incropera\].
    pub emissivity: Option<f64>,
    /// Share of a part's view that is sky, 0 to 1, with nothing near; half for a part over open ground (geometry).
    pub sky_view: f64,
    /// Share of a part's view that what shelters it takes from the sky, by exposure.
    pub sky_hidden: SkyHidden,
    /// Share of a wrap's resistance that stands before a relief valve or the air inlet of a vacuum breaker, whose ports must stay open, 0
    /// to 1 (judgement, 0 to 0.3: what hangs around an open port keeps wind and sky off and holds little heat).
    pub wrap_over_ports: f64,
    /// Wind at 10 m taken where the series tells none, m/s (judgement).
    pub default_wind_m_s: f64,
    /// Air temperature minus dew point taken where the series tells no dew point, K (judgement).
    pub default_dew_depression_k: f64,
    /// Cloud cover taken where the series tells none, 0 to 1. Left out, the members draw it (`ensemble.sky_cover_mean`) and the cautious run
    /// takes a clear sky.
    pub default_sky_cover: Option<f64>,
    /// Exponent of the power law that brings the 10 m wind down to the part \[wind-profile\].
    pub wind_exponent: f64,
    /// Roughness of the ground, m (0.03 for short grass \[wind-profile\]): the wind comes down to the part by the logarithm of the height. Left out, by the
    /// power law, to which the level of the damage model is set.
    pub roughness_m: Option<f64>,
    /// How much colder the grass is than the screen on a calm, clear night, K (3 to 5 where it is measured, judgement); parts between the two
    /// have their share by height. 0, to which the level of the damage model is set, leaves the air as the station has it.
    pub grass_depression_k: f64,
    /// Share of the way from air to wet bulb that metal is taken down, 0 to 1, for metal that may be wet (judgement; 0 is dry, to which the level
    /// of the damage model is set).
    pub wet_metal: f64,
    /// Factor on wind by exposure.
    pub wind_shelter: WindShelter,
    /// The year's climate behind ground and supply water.
    pub climate: Climate,
    /// Covers and enclosures.
    pub enclosure: Enclosure,
    /// The thermostatic drip device.
    pub drip_device: DripDevice,
    /// Air temperature under which heat trace is on, °C (40 °F, the usual maintain temperature \[ieee-515\]).
    pub trace_on_below_c: f64,
    /// Water drawn through a 1 in assembly, litres in each hour of the day, by class.
    pub draws: Draws,
    /// Strength of mixing in a riser whose lower water is lighter: dispersion = this × diameter × exchange velocity (judgement).
    pub mixing: f64,
    /// Ice fraction at which a part passes no flow, 0 to 1 (judgement; dendritic ice blocks at a few
    /// percent, an annulus much later \[gilpin-1977\]).
    pub blocked_fraction: f64,
    /// Freezing pressures that parts stand, and what repair costs.
    pub damage: Damage,
    /// Overrides of the generic dimensions, keyed by type and size, such as `"RP 1"` or `"PVB 1-1/2"`.
    pub dimensions: BTreeMap<String, DimensionOverride>,
    /// Chance of damage under which a measure counts as enough (judgement).
    pub advice_target: f64,
    /// Chance that a line listed as drained holds water when the cold comes (judgement, 0.01 to 0.1): a shutoff that leaks, a low spot, a cock
    /// that nobody opened.
    pub drain_failed: f64,
    /// How often a report from the site is wrong.
    pub reports: super::reports::ReportErrors,
}

impl Default for FreezeConfig {
    fn default() -> Self {
        Self {
            step_s: 300.0,
            ensemble_step_s: 600.0,
            emissivity: None,
            sky_hidden: SkyHidden::default(),
            wrap_over_ports: 0.1,
            sky_view: 0.5,
            default_wind_m_s: 3.0,
            default_dew_depression_k: 4.0,
            default_sky_cover: None,
            wind_exponent: 0.143,
            roughness_m: None,
            grass_depression_k: 0.0,
            wet_metal: 0.0,
            wind_shelter: WindShelter::default(),
            climate: Climate::default(),
            enclosure: Enclosure::default(),
            drip_device: DripDevice::default(),
            trace_on_below_c: 40.0 / 9.0,
            draws: Draws::default(),
            mixing: 0.1,
            blocked_fraction: 0.2,
            damage: Damage::default(),
            dimensions: BTreeMap::new(),
            advice_target: 0.05,
            drain_failed: 0.03,
            costs: super::costs::Costs::default(),
            reports: super::reports::ReportErrors::default(),
        }
    }
}

/// Share of the view around a part that walls, hedges and eaves take from the sky. A long wall that ends at the elevation θ, seen from a
/// pipe along it, takes θ/2π (crossed strings \[incropera\]): an eighth where it is as high above the pipe as it is away.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SkyHidden {
    /// Nothing near.
    pub open: f64,
    /// One such wall (judgement).
    pub partial: f64,
    /// Two, or one with an eave (judgement).
    pub sheltered: f64,
}

impl Default for SkyHidden {
    fn default() -> Self {
        Self {
            open: 0.0,
            partial: 0.125,
            sheltered: 0.25,
        }
    }
}

/// Factor on the wind at the part's height by exposure (judgement).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct WindShelter {
    /// Nothing near.
    pub open: f64,
    /// Some shelter.
    pub partial: f64,
    /// Behind walls or hedges.
    pub sheltered: f64,
}

impl Default for WindShelter {
    fn default() -> Self {
        Self {
            open: 1.0,
            partial: 0.6,
            sheltered: 0.3,
        }
    }
}

/// The year's climate behind ground \[kusuda-achenbach-1965\] and supply water \[burch-christensen-2007\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Climate {
    /// Annual mean air temperature, °C. Left out, that of a record of a year or more where one is given, else a mild climate
    /// ([`MILD_MEAN_AIR_C`]), and that is told.
    pub annual_mean_air_c: Option<f64>,
    /// Warmest monthly mean minus coldest monthly mean, K; left out as above ([`MILD_RANGE_K`]).
    pub monthly_range_k: Option<f64>,
    /// Day of the year on which the ground surface is coldest, 1 to 366.
    pub coldest_day: f64,
    /// Soil diffusivity, m²/day.
    pub soil_diffusivity_m2_day: f64,
    /// Supply-water temperature, °C, where the utility knows it; else computed from the climate.
    pub supply_c: Option<f64>,
}

impl Default for Climate {
    fn default() -> Self {
        Self {
            annual_mean_air_c: None,
            monthly_range_k: None,
            coldest_day: 28.0,
            soil_diffusivity_m2_day: 0.05,
            supply_c: None,
        }
    }
}

/// Annual mean air of a mild climate, °C, where nobody tells another (judgement).
pub const MILD_MEAN_AIR_C: f64 = 18.5;
/// Its warmest less its coldest monthly mean, K (judgement).
pub const MILD_RANGE_K: f64 = 20.0;

impl Climate {
    /// Annual mean air, °C: as told, else the mild climate's.
    pub fn mean_air_c(&self) -> f64 {
        self.annual_mean_air_c.unwrap_or(MILD_MEAN_AIR_C)
    }

    /// Warmest less coldest monthly mean, K: as told, else the mild climate's.
    pub fn range_k(&self) -> f64 {
        self.monthly_range_k.unwrap_or(MILD_RANGE_K)
    }

    /// Day on which the ground surface is coldest: south of the equator half a year later than the built-in day, unless the config sets
    /// another.
    pub fn coldest_day_at(&self, south: bool) -> f64 {
        let northern = Self::default().coldest_day;
        if south && self.coldest_day == northern {
            // Half a year: geometry of the orbit.
            northern + 182.5
        } else {
            self.coldest_day
        }
    }
}

/// Covers and enclosures (judgement unless said).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Enclosure {
    /// Heat passed by an uninsulated cover with its films, W/m²K.
    pub cover_w_m2k: f64,
    /// Air leakage of an uninsulated cover, W/K per m² of cover surface.
    pub cover_leak_w_m2k: f64,
    /// Resistance of the walls of an insulated enclosure, m²K/W (R-8 of ASSE 1060 class I and II \[asse-1060\]).
    pub insulated_m2k_per_w: f64,
    /// Air leakage of an insulated enclosure, W/K per m² of surface.
    pub insulated_leak_w_m2k: f64,
    /// Heat passed between the enclosed air and the ground below, W/m²K of floor.
    pub ground_w_m2k: f64,
    /// Temperature that a heated enclosure holds, °C (40 °F, ASSE 1060 class I \[asse-1060\]).
    pub heated_hold_c: f64,
    /// Outdoor temperature at which the heater is at its limit, °C (−30 °F, ASSE 1060 class I \[asse-1060\]).
    pub heated_limit_c: f64,
    /// Temperature indoors, °C, cautious for an unattended room.
    pub indoors_c: f64,
    /// Share of the outside air in the air of a vault; the rest is ground.
    pub vault_air_share: f64,
}

impl Default for Enclosure {
    fn default() -> Self {
        Self {
            cover_w_m2k: 4.0,
            cover_leak_w_m2k: 1.0,
            insulated_m2k_per_w: 8.0 * crate::units::M2K_PER_W_PER_R_US,
            insulated_leak_w_m2k: 0.2,
            ground_w_m2k: 1.5,
            heated_hold_c: 40.0 / 9.0,
            heated_limit_c: -310.0 / 9.0,
            indoors_c: 10.0,
            vault_air_share: 0.25,
        }
    }
}

/// The thermostatic drip device (common practice, no datasheet found \[freeze-drip-practice\]).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DripDevice {
    /// Water temperature at which it opens, °C (36 °F).
    pub opens_c: f64,
    /// Water temperature at which it closes again, °C (40 °F).
    pub closes_c: f64,
    /// Flow when open, litres an hour (0.25 gal/min, the middle of a few drops to 0.5 gal/min).
    pub flow_l_per_h: f64,
}

impl Default for DripDevice {
    fn default() -> Self {
        Self {
            opens_c: 20.0 / 9.0,
            closes_c: 40.0 / 9.0,
            flow_l_per_h: 57.0,
        }
    }
}

/// Litres drawn through a 1 in assembly in each hour of the local day; larger sizes scale with the
/// square of the diameter (judgement, shaped after ordinary day curves; night hours are zero
/// because one quiet night is what freezes a line).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Draws {
    /// Households, `[24]`.
    pub residential_l: [f64; 24],
    /// Businesses and unknown, `[24]`.
    pub commercial_l: [f64; 24],
    /// Public bodies, `[24]`.
    pub public_l: [f64; 24],
}

impl Default for Draws {
    fn default() -> Self {
        let mut residential = [0.0; 24];
        for (hour, litres) in [
            (6, 30.0),
            (7, 60.0),
            (8, 50.0),
            (9, 30.0),
            (10, 25.0),
            (11, 25.0),
            (12, 25.0),
            (13, 20.0),
            (14, 15.0),
            (15, 15.0),
            (16, 20.0),
            (17, 35.0),
            (18, 50.0),
            (19, 45.0),
            (20, 35.0),
            (21, 30.0),
            (22, 15.0),
        ] {
            residential[hour] = litres;
        }
        let mut day = [0.0; 24];
        for litres in &mut day[7..18] {
            *litres = 60.0;
        }
        Self {
            residential_l: residential,
            commercial_l: day,
            public_l: day,
        }
    }
}

/// Internal pressure at which a kind of part gives, MPa, and the share of the replacement cost that
/// its repair takes. No freeze-burst pressure of bronze or iron bodies is published: the pressures
/// are judgement within the 700 to 2,000 psi band of the trade for bodies, and after annealed tube
/// for copper \[copper-tube-handbook\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Damage {
    /// Test cocks.
    pub test_cocks_mpa: f64,
    /// Bonnet and poppet of a vacuum breaker.
    pub bonnet_mpa: f64,
    /// Relief valve of a reduced pressure assembly.
    pub relief_valve_mpa: f64,
    /// Shutoff valves to 2 in.
    pub ball_valve_mpa: f64,
    /// Shutoff valves above 2 in.
    pub gate_valve_mpa: f64,
    /// Bodies to 2 in.
    pub small_body_mpa: f64,
    /// Bodies above 2 in.
    pub large_body_mpa: f64,
    /// Risers of copper, brass and steel.
    pub metal_riser_mpa: f64,
    /// Risers of PVC.
    pub pvc_riser_mpa: f64,
    /// Bypass of a detector assembly.
    pub bypass_mpa: f64,
    /// Extra volume that seats, seals, diaphragms and trapped air take up before pressure rises, share of the water of a
    /// 1 in part (judgement, 0.005 to 0.03); it falls with the bore.
    pub slack_fraction: f64,
    /// What the ball of a closed cock or a closed bypass gives: air in it, soft seats and packing, share of its water, median (judgement,
    /// 0.08 to 0.2: most cocks stand a night in which they are all ice; at more than the ninth part that ice gains a cavity never breaks).
    pub cavity_give: f64,
    /// Its spread from one cavity to the next: standard deviation of the logarithm (judgement).
    pub cavity_give_log_sd: f64,
    /// Share of its water that seeps past seats, packing and mesh out of a trapped chamber of a 1 in body in an hour for each MPa (judgement,
    /// held to how many winters bare assemblies live): slow ice is relieved, fast ice breaks.
    pub seep_per_mpa_h: f64,
    /// Heat leaving the surface of a chamber that halves its seepage, W/m²: it makes the metal of seats and packing colder than the water at
    /// 0 °C, and gaps in colder metal freeze over (judgement, 15 to 60).
    pub seep_halves_w_m2: f64,
    /// Time since first ice that halves it, h: the mesh of ice on the way out ripens to solid ice (judgement, 1 to 4).
    pub seep_halves_h: f64,
    /// Ice fractions at which the narrows of chambers close.
    pub shut_in: ShutIn,
    /// Whether plumbing behind the assembly takes up what ice pushes on while the way to it is free (judgement: the
    /// stretch of a few metres of buried or house pipe is more than the swelling of a small body).
    pub downstream_gives: bool,
    /// Spread of strength from one casting to the next: standard deviation of the logarithm (judgement).
    pub strength_log_sd: f64,
    /// How much harder castings are to break than the pressures and the seepage above say: a factor on both. It is what a programme's own
    /// records can teach of strength (`review --calibrate`); the pressures alone hardly move a chance.
    pub strength_factor: f64,
    /// Wall stretch of a metal part, 1/Pa (thin bronze wall of diameter to thickness 12 \[roark\]).
    pub metal_compliance_per_pa: f64,
    /// Wall stretch of a PVC riser, 1/Pa (schedule 40).
    pub pvc_compliance_per_pa: f64,
}

impl Default for Damage {
    fn default() -> Self {
        Self {
            test_cocks_mpa: 12.0,
            bonnet_mpa: 4.0,
            relief_valve_mpa: 8.0,
            ball_valve_mpa: 14.0,
            gate_valve_mpa: 9.0,
            small_body_mpa: 12.0,
            large_body_mpa: 7.0,
            metal_riser_mpa: 18.0,
            pvc_riser_mpa: 8.0,
            bypass_mpa: 10.0,
            slack_fraction: 0.01,
            cavity_give: 0.14,
            cavity_give_log_sd: 0.5,
            seep_per_mpa_h: 2.5,
            seep_halves_w_m2: 14.0,
            seep_halves_h: 1.5,
            shut_in: ShutIn::default(),
            downstream_gives: true,
            strength_log_sd: 0.2,
            strength_factor: 1.0,
            metal_compliance_per_pa: 1.2e-10,
            pvc_compliance_per_pa: 3.5e-9,
        }
    }
}

/// Ice fractions at which the narrows of a chamber close and shut in what is still liquid (judgement). Ice grows inward from the wall: where
/// a passage comes within a share s of the bore to the wall, an annulus of 1 − (1 − 2s)² closes it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ShutIn {
    /// Body between the checks: poppets freeze to seats that stand a fifteenth of the bore from the wall (0.15 to 0.5).
    pub checks: f64,
    /// Body after the checks: the way on is a fifth of the bore from the wall (0.4 to 0.8).
    pub body: f64,
    /// Throat of a relief valve or bonnet (0.3 to 0.7).
    pub throat: f64,
    /// Shutoff of full bore (0.8 to 0.98).
    pub valve: f64,
    /// Spread from one casting to the next: standard deviation of the logit.
    pub logit_sd: f64,
}

impl Default for ShutIn {
    fn default() -> Self {
        Self {
            checks: 0.25,
            body: 0.65,
            throat: 0.6,
            valve: 0.9,
            logit_sd: 0.7,
        }
    }
}

/// Overrides of the generic dimensions of one type and size; what is left out stays generic.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct DimensionOverride {
    /// Face to face with both shutoffs, m.
    pub face_to_face_m: Option<f64>,
    /// Water in body and shutoffs, kg.
    pub water_kg: Option<f64>,
    /// Dry mass with shutoffs, kg.
    pub metal_kg: Option<f64>,
    /// Outside area of body and shutoffs, m².
    pub outside_area_m2: Option<f64>,
}

/// The `[ensemble]` section: what differs from member to member.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct EnsembleConfig {
    /// Root-mean-square error of forecast air temperature, K, at the leads of `error_lead_h` (engineering
    /// assumption after published scores of day-ahead to week-ahead minima: judgement).
    pub error_k: Vec<f64>,
    /// Leads, h, rising.
    pub error_lead_h: Vec<f64>,
    /// Time over which forecast error stays alike, h: e-folding of its correlation (judgement).
    pub error_correlation_h: f64,
    /// Stations this near to each other share the forecast's error wholly, km (judgement after \[forecast-errors\]).
    pub error_alike_km: f64,
    /// Distance over which areas farther apart than that have less in common, km: e-folding of the correlation
    /// (fitted to \[forecast-errors\]).
    pub error_distance_km: f64,
    /// Spread of station-to-site difference, K (3 to 8 °F on calm clear nights is common practice; one third of the middle).
    pub site_k: f64,
    /// Spread of wind shelter: standard deviation of the logarithm (judgement).
    pub shelter_log_sd: f64,
    /// Mean nucleation temperature of supply water, °C: the middle of the published −4 to −7 °C \[gilpin-1978\].
    pub nucleation_mean_c: f64,
    /// Standard deviation of nucleation temperature, K (judgement).
    pub nucleation_sd_k: f64,
    /// Warmest nucleation allowed, °C: ice never starts above this without a seed.
    pub nucleation_max_c: f64,
    /// Spread of draws: standard deviation of the logarithm (judgement).
    pub draws_log_sd: f64,
    /// Chance that nobody is there in the spell and nothing is drawn (judgement).
    pub away: f64,
    /// Mean cloud cover of the members where the series tells none, 0 to 1 (judgement, 0.2 to 0.6: cold nights are clearer than the
    /// two thirds or so of all hours). Single members lie mostly near clear or near overcast.
    pub sky_cover_mean: f64,
    /// Members or percentiles that the forecaster gives, from a file; where they reach they stand in the place of `error_k`.
    #[serde(skip)]
    pub told: Option<Arc<Spread>>,
}

impl EnsembleConfig {
    /// Mean of the nucleation temperature, °C, its spread, K, and the warmest that is allowed, °C.
    pub fn nucleation(&self) -> (f64, f64, f64) {
        (self.nucleation_mean_c, self.nucleation_sd_k, self.nucleation_max_c)
    }
}

impl Default for EnsembleConfig {
    fn default() -> Self {
        Self {
            // °F planning values 3.5 … 7.8 (design references, engineering assumption), divided by 1.8.
            error_lead_h: vec![0.0, 24.0, 48.0, 72.0, 96.0, 120.0, 144.0, 168.0],
            error_k: vec![1.1, 1.94, 2.22, 2.61, 3.06, 3.44, 3.89, 4.33],
            error_correlation_h: 36.0,
            error_alike_km: 20.0,
            error_distance_km: 185.0,
            site_k: 1.0,
            shelter_log_sd: 0.35,
            nucleation_mean_c: -5.5,
            nucleation_sd_k: 1.2,
            nucleation_max_c: -0.5,
            draws_log_sd: 0.5,
            away: 0.05,
            sky_cover_mean: 0.4,
            told: None,
        }
    }
}
