//! One plumbing system as a plumber reads it.

use super::closed::ClosingDevice;
use super::existing::ExistingTank;
use super::supply::{Regulator, Well};
use crate::language::{Language, Tongue};
use crate::physics::{air, materials};
use crate::units::{PA_PER_PSI, UnitSystem};
use serde::Serialize;

/// Compliance of a domestic storage heater's shell, 1/Pa: a steel cylinder of 16 in bore with a wall of
/// 0.0747 in (14 gauge), closed ends, thick-wall form: 7.146e-6 per psi.
///
/// A larger vessel for the same working pressure has a thicker wall in proportion, so the figure holds for every
/// size. It leaves out the flexing of the heads, so it gives an upper bound of the pressure. `[judgement]`
pub const HEATER_SHELL_COMPLIANCE_PER_PA: f64 = 7.146e-6 / PA_PER_PSI;
/// The usual limit on house pressure, Pa gauge: 80 psi. `[upc-608]` `[ipc-607]`
pub const USUAL_LIMIT_GAUGE_PA: f64 = 80.0 * PA_PER_PSI;
/// The same as a round figure of a metric gauge: 550 kPa, 5.5 bar; 0.3 % on the safe side. `[judgement]`
pub const USUAL_LIMIT_METRIC_GAUGE_PA: f64 = 550e3;

/// The usual limit as the gauges in use show it.
pub fn usual_limit_gauge_pa(units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => USUAL_LIMIT_GAUGE_PA,
        UnitSystem::Si | UnitSystem::Bar => USUAL_LIMIT_METRIC_GAUGE_PA,
    }
}

/// The usual setting of a heater's temperature and pressure relief valve, Pa gauge: 150 psi. `[ipc-504]`
pub const USUAL_HEATER_RELIEF_GAUGE_PA: f64 = 150.0 * PA_PER_PSI;
/// The temperature at which a listed temperature and pressure relief valve opens, °C: 210 °F. `[ansi-z21-22]`
pub const USUAL_HEATER_RELIEF_C: f64 = (210.0 - 32.0) / 1.8;
/// The highest setting of a relief valve used instead of a tank, Pa gauge: 100 psi. `[upc-608]`
pub const USUAL_RELIEF_CAP_GAUGE_PA: f64 = 100.0 * PA_PER_PSI;

/// One storage heater.
#[derive(Debug, Clone, PartialEq)]
pub struct Heater {
    /// Water volume, L.
    pub volume_l: f64,
    /// Relative growth of the shell's volume with pressure, 1/Pa.
    pub compliance_per_pa: f64,
    /// Linear thermal expansion of the shell, 1/K.
    pub linear_expansion_per_k: f64,
    /// Its own hottest storage, °C; `None`: that of the system.
    pub hot_c: Option<f64>,
}

impl Heater {
    /// A steel storage heater of this volume, L.
    pub fn steel(volume_l: f64) -> Self {
        Self {
            volume_l,
            compliance_per_pa: HEATER_SHELL_COMPLIANCE_PER_PA,
            linear_expansion_per_k: materials::STEEL.expansion_per_k,
            hot_c: None,
        }
    }
}

/// Kind of heater.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum HeaterKind {
    /// A storage heater.
    #[default]
    Storage,
    /// One that heats as water is drawn.
    Instantaneous,
    /// Storage heated by a heat pump.
    HeatPump,
    /// Storage heated by the sun.
    Solar,
    /// A closed heating loop: another standard sizes its expansion.
    Hydronic,
}

impl HeaterKind {
    /// All of them with the name that the command line and files use.
    pub const NAMES: [(&'static str, HeaterKind); 5] = [
        ("storage", HeaterKind::Storage),
        ("instantaneous", HeaterKind::Instantaneous),
        ("heat-pump", HeaterKind::HeatPump),
        ("solar", HeaterKind::Solar),
        ("hydronic", HeaterKind::Hydronic),
    ];

    /// Reads the name; spaces and underscores stand for hyphens, other words of the trade and Spanish are taken.
    pub fn parse(text: &str) -> Option<Self> {
        let name = text.trim().to_lowercase().replace(['_', ' '], "-");
        let name = match name.as_str() {
            "tank" | "almacenamiento" | "depósito" => "storage",
            "tankless" | "instantáneo" | "de-paso" => "instantaneous",
            "bomba-de-calor" => "heat-pump",
            "boiler" | "heating-loop" | "calefacción" => "hydronic",
            other => other,
        };
        Self::NAMES
            .iter()
            .find(|(known, _)| *known == name)
            .map(|(_, kind)| *kind)
    }
}

/// A run of piping.
#[derive(Debug, Clone, PartialEq)]
pub struct Piping {
    /// What it is, in words, such as "copper-L 0.750 in, 60.0 ft".
    pub name: String,
    /// Water volume, L.
    pub volume_l: f64,
    /// Relative growth of the bore's volume with pressure, 1/Pa.
    pub compliance_per_pa: f64,
    /// Linear thermal expansion, 1/K.
    pub linear_expansion_per_k: f64,
    /// Whether the pipe is metal: only metal earns a material credit.
    pub metal: bool,
    /// Whether its water is heated with the heater's (hot and recirculation piping).
    pub heated: bool,
}

/// One system: what is heated, between which temperatures and pressures, and what stands on it.
///
/// Volumes L, temperatures °C, pressures Pa gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct System {
    /// Storage heaters.
    pub heaters: Vec<Heater>,
    /// Piping, heated and not.
    pub piping: Vec<Piping>,
    /// Coldest supply of the year, °C.
    pub cold_c: f64,
    /// Hottest storage of any heater, °C, stacking, hygiene run and stagnation included.
    pub hot_c: f64,
    /// Kind of heater.
    pub kind: HeaterKind,
    /// Highest temperature of a hygiene run, °C, when there is one.
    pub hygiene_c: Option<f64>,
    /// Highest temperature of a solar store when nothing is drawn, °C.
    pub stagnation_c: Option<f64>,
    /// Whether a thermostatic mixing valve stands at the outlet.
    pub mixing_valve: bool,
    /// Whether hot water recirculates.
    pub recirculation: bool,
    /// Highest static pressure where the gauge reads, Pa gauge.
    pub static_gauge_pa: f64,
    /// Pressure that must not be passed where the gauge reads, Pa gauge.
    pub limit_gauge_pa: f64,
    /// Height of the site above sea level, m.
    pub elevation_m: f64,
    /// Height of the tank above the gauge that read the static pressure, m (below: negative).
    pub tank_above_gauge_m: f64,
    /// Temperature at which the tank stands in service, °C; `None`: as when its precharge was set.
    pub tank_ambient_c: Option<f64>,
    /// Temperature at which the precharge is or was set, °C.
    pub precharge_set_c: f64,
    /// Devices between the main and the heater.
    pub closed_by: Vec<ClosingDevice>,
    /// Highest pressure of the main, Pa gauge.
    pub street_gauge_pa: Option<f64>,
    /// The pressure regulator's own readings.
    pub regulator: Regulator,
    /// The well pump that feeds the house in place of a main.
    pub well: Option<Well>,
    /// Whether the expansion of the metal is taken off the demand.
    pub material_credit: bool,
    /// Whether the containers are taken as perfectly rigid (a bound, for checks).
    pub rigid: bool,
    /// Air trapped in the system at static pressure, L.
    pub trapped_air_l: f64,
    /// The tanks that are there, side by side.
    pub existing: Vec<ExistingTank>,
    /// Setting of a relief valve that is there or meant, Pa gauge.
    pub relief_at_gauge_pa: Option<f64>,
    /// Highest setting of an expansion relief that the local code lets, Pa gauge.
    pub relief_cap_gauge_pa: f64,
    /// Pressure setting of the heater's temperature and pressure relief valve, Pa gauge.
    pub heater_relief_gauge_pa: f64,
    /// Temperature at which that valve opens, °C.
    pub heater_relief_c: f64,
    /// Lowest pressure rating among the components, Pa gauge.
    pub lowest_rating_gauge_pa: Option<f64>,
    /// Heat input of all heaters, W.
    pub heat_input_w: Option<f64>,
    /// Share of the input that reaches the water, 0 to 1.
    pub efficiency: f64,
    /// Hot water drawn a day, L.
    pub daily_draw_l: Option<f64>,
    /// Largest tank that there is room for, L.
    pub room_for_tank_l: Option<f64>,
    /// Coldest air of the climate record, °C: whether an outdoor relief outlet can freeze.
    pub coldest_air_c: Option<f64>,
    /// Units that the words in the answer use.
    pub words: UnitSystem,
    /// Language of the words in the answer.
    pub language: Language,
    /// Whether readings outside the usual range are taken as they are.
    pub accept_unusual: bool,
}

impl System {
    /// A system of one steel heater with the usual limit of 80 psi at sea level and nothing else known.
    ///
    /// `heater_l` L, `cold_c` and `hot_c` °C, `static_gauge_pa` Pa gauge.
    pub fn new(heater_l: f64, cold_c: f64, hot_c: f64, static_gauge_pa: f64) -> Self {
        Self {
            heaters: vec![Heater::steel(heater_l)],
            piping: Vec::new(),
            cold_c,
            hot_c,
            kind: HeaterKind::Storage,
            hygiene_c: None,
            stagnation_c: None,
            mixing_valve: false,
            recirculation: false,
            static_gauge_pa,
            limit_gauge_pa: USUAL_LIMIT_GAUGE_PA,
            elevation_m: 0.0,
            tank_above_gauge_m: 0.0,
            tank_ambient_c: None,
            precharge_set_c: 20.0,
            closed_by: Vec::new(),
            street_gauge_pa: None,
            regulator: Regulator::default(),
            well: None,
            material_credit: false,
            rigid: false,
            trapped_air_l: 0.0,
            existing: Vec::new(),
            relief_at_gauge_pa: None,
            relief_cap_gauge_pa: USUAL_RELIEF_CAP_GAUGE_PA,
            heater_relief_gauge_pa: USUAL_HEATER_RELIEF_GAUGE_PA,
            heater_relief_c: USUAL_HEATER_RELIEF_C,
            lowest_rating_gauge_pa: None,
            heat_input_w: None,
            efficiency: 1.0,
            daily_draw_l: None,
            room_for_tank_l: None,
            coldest_air_c: None,
            words: UnitSystem::Us,
            language: Language::English,
            accept_unusual: false,
        }
    }

    /// Language and units of the answer's sentences.
    pub fn tongue(&self) -> Tongue {
        Tongue {
            language: self.language,
            units: self.words,
        }
    }

    /// Pressure of the air at the site, Pa absolute.
    pub fn air_abs_pa(&self) -> f64 {
        air::pressure_at_elevation_pa(self.elevation_m)
    }

    /// Pressure of the water column between the gauge and the tank, Pa; positive when the tank stands higher.
    ///
    /// Cold water of 15 °C: 0.433 psi a foot.
    pub fn column_pa(&self) -> f64 {
        const COLD_WATER_KG_M3: f64 = 999.1;
        const STANDARD_GRAVITY_M_S2: f64 = 9.806_65;
        COLD_WATER_KG_M3 * STANDARD_GRAVITY_M_S2 * self.tank_above_gauge_m
    }

    /// Heated water volume, L.
    pub fn heated_l(&self) -> f64 {
        self.heaters.iter().map(|heater| heater.volume_l).sum::<f64>()
            + self
                .piping
                .iter()
                .filter(|pipe| pipe.heated)
                .map(|pipe| pipe.volume_l)
                .sum::<f64>()
    }
}
