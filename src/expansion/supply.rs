//! The supply: street, regulator or well, house. Which static pressure and which limit count, and which reading decided.

use super::closed::ClosingDevice;
use super::existing::has_failed;
use super::system::System;
use crate::units::PA_PER_PSI;
use serde::Serialize;

/// Share of the heater's relief valve setting that the house must stay below, so that its safety device does not weep: 0.9.
/// Common practice, no source. `[common-practice]`
pub const SHARE_OF_HEATER_RELIEF: f64 = 0.9;

/// How the pressure regulator behaves, as read over a night.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RegulatorState {
    /// It holds its setting.
    #[default]
    Holds,
    /// Its seat leaks: with no draw the house creeps up to the street.
    Creeps,
    /// It has failed open: the house stands at the street.
    FailedOpen,
}

impl RegulatorState {
    /// All of them with the name that the command line and files use.
    pub const NAMES: [(&'static str, RegulatorState); 3] = [
        ("holds", RegulatorState::Holds),
        ("creeps", RegulatorState::Creeps),
        ("failed-open", RegulatorState::FailedOpen),
    ];

    /// Reads the name; spaces and underscores stand for hyphens.
    pub fn parse(text: &str) -> Option<Self> {
        let name = text.trim().to_lowercase().replace(['_', ' '], "-");
        // As the forms ask for it in Spanish, too.
        let name = match name.as_str() {
            "failed" | "abierta" => "failed-open",
            "retiene" => "holds",
            "sube" => "creeps",
            other => other,
        };
        Self::NAMES
            .iter()
            .find(|(known, _)| *known == name)
            .map(|(_, state)| *state)
    }
}

/// A pressure regulator between street and house.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Regulator {
    /// Setting, Pa gauge, when it was read.
    pub setting_gauge_pa: Option<f64>,
    /// How it behaves.
    pub state: RegulatorState,
}

/// A well pump with its pressure tank, which lies before every device of the house.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Well {
    /// Pressure at which the switch stops the pump, Pa gauge.
    pub cut_out_gauge_pa: f64,
    /// Pressure at which it starts the pump, Pa gauge; 20 psi below when it was not read (common practice, no source).
    pub cut_in_gauge_pa: Option<f64>,
    /// Volume of the pressure tank, L, when it was read.
    pub tank_l: Option<f64>,
}

impl Well {
    /// Pressure at which the pump starts, Pa gauge.
    pub fn cut_in_pa(&self) -> f64 {
        self.cut_in_gauge_pa
            .unwrap_or(self.cut_out_gauge_pa - 20.0 * PA_PER_PSI)
    }

    /// Precharge of the pressure tank, Pa gauge: 2 psi below cut-in. Common practice, no source. `[common-practice]`
    pub fn precharge_pa(&self) -> f64 {
        (self.cut_in_pa() - 2.0 * PA_PER_PSI).max(0.0)
    }
}

/// The reading that decided the static pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum StaticFrom {
    /// The static pressure read in the house.
    Static,
    /// The street, with no regulator between.
    Street,
    /// The regulator's setting.
    RegulatorSetting,
    /// The street, behind a regulator that creeps or has failed open.
    StreetThroughRegulator,
    /// The well's cut-out.
    WellCutOut,
}

/// The reading that decided the limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitFrom {
    /// The limit told, or the usual one.
    Limit,
    /// The lowest rating of a component.
    Rating,
    /// The lowest rating of a tank that is there.
    TankRating,
    /// The margin under the heater's relief valve.
    HeaterRelief,
}

/// The static pressure and the limit that count.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Supply {
    /// Highest static pressure of the house, kPa gauge.
    pub static_gauge_kpa: f64,
    /// The reading that decided it.
    pub static_from: StaticFrom,
    /// Pressure that must not be passed, kPa gauge.
    pub limit_gauge_kpa: f64,
    /// The reading that decided it.
    pub limit_from: LimitFrom,
    /// Whether a regulator stands between street and house.
    pub has_regulator: bool,
}

/// Whether a regulator was told of, by its device or by its own readings.
pub fn has_regulator(system: &System) -> bool {
    system.regulator != Regulator::default()
        || system
            .closed_by
            .iter()
            .any(|device| matches!(device, ClosingDevice::Prv | ClosingDevice::PrvWithBypass))
}

/// What counts for a system as it was read.
///
/// Without a regulator the house stands at the street whenever nothing is drawn, whatever the gauge read by day; a regulator that
/// holds keeps the street out; one that creeps or has failed does not. `[asse-1003]`, common practice.
pub fn judge(system: &System) -> Supply {
    let regulated = has_regulator(system);
    let mut highest = (system.static_gauge_pa, StaticFrom::Static);
    let mut at_least = |pascal: Option<f64>, from: StaticFrom| {
        if let Some(pascal) = pascal
            && pascal > highest.0
        {
            highest = (pascal, from);
        }
    };
    if regulated {
        at_least(system.regulator.setting_gauge_pa, StaticFrom::RegulatorSetting);
        if system.regulator.state != RegulatorState::Holds {
            at_least(system.street_gauge_pa, StaticFrom::StreetThroughRegulator);
        }
    } else {
        at_least(system.street_gauge_pa, StaticFrom::Street);
        // The cut-out stands for static where none was read.
        if let Some(well) = system.well
            && well.cut_out_gauge_pa >= highest.0
        {
            highest = (well.cut_out_gauge_pa, StaticFrom::WellCutOut);
        }
    }
    let mut lowest = (system.limit_gauge_pa, LimitFrom::Limit);
    let heater = SHARE_OF_HEATER_RELIEF * system.heater_relief_gauge_pa;
    // A tank that has failed comes out, and its rating with it.
    let tanks = system.existing.iter().filter(|tank| !has_failed(tank));
    let tank_rating = tanks.filter_map(|tank| tank.max_gauge_pa).reduce(f64::min);
    for (pascal, from) in [
        (system.lowest_rating_gauge_pa, LimitFrom::Rating),
        (tank_rating, LimitFrom::TankRating),
        (Some(heater), LimitFrom::HeaterRelief),
    ] {
        if let Some(pascal) = pascal
            && pascal < lowest.0
        {
            lowest = (pascal, from);
        }
    }
    Supply {
        static_gauge_kpa: highest.0 / 1e3,
        static_from: highest.1,
        limit_gauge_kpa: lowest.0 / 1e3,
        limit_from: lowest.1,
        has_regulator: regulated,
    }
}

/// The system with the static pressure and the limit that count in place of those read.
pub fn counted(system: &System) -> System {
    let mut counted = system.clone();
    count(&mut counted);
    counted
}

/// Puts the static pressure and the limit that count in the place of those read.
pub(super) fn count(system: &mut System) {
    let supply = judge(system);
    system.static_gauge_pa = supply.static_gauge_kpa * 1e3;
    system.limit_gauge_pa = supply.limit_gauge_kpa * 1e3;
}
