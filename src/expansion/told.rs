//! From what a plumber types to a [`System`]: one reading of the words for the command line, lists and pages.
//!
//! Every value may carry its unit; a bare number takes the one that the [`UnitSystem`] implies. All that cannot be read is
//! told at once.

use super::closed::ClosingDevice;
use super::existing::ExistingTank;
use super::pipe_words::parse_piping;
use super::supply::{RegulatorState, Well};
use super::system::{Heater, HeaterKind, Piping, System, usual_limit_gauge_pa};
use super::words::{Missing, Slip, TankSlip};
use crate::faults::{Faults, Severity};
use crate::language::{Language, Tongue};
use crate::units::refusal::{Problem, Wanted};
use crate::units::{
    UnitError, UnitSystem, parse_gauge_pa, parse_length_m, parse_power_w, parse_temperature_c,
    parse_temperature_difference_k, parse_volume_l,
};
use serde::Serialize;

/// Readings as text. Empty or missing means not told.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Told {
    /// Heater volumes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub heaters: Vec<String>,
    /// Heated pipes, such as "copper-L 3/4 in 60 ft".
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub pipes: Vec<String>,
    /// Unheated pipes.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cold_pipes: Vec<String>,
    /// Coldest supply.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cold: Option<String>,
    /// Coldest supply from a climate record, °C, when none was typed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cold_from_climate_c: Option<f64>,
    /// Hottest storage.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hot: Option<String>,
    /// What stacking adds to it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stacking: Option<String>,
    /// Static pressure.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub static_pressure: Option<String>,
    /// Pressure limit.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limit: Option<String>,
    /// Whether the metal's growth is taken off.
    #[serde(skip_serializing_if = "is_not_so")]
    pub material_credit: bool,
    /// Height above sea level.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub elevation: Option<String>,
    /// Height of the tank above the gauge.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tank_height: Option<String>,
    /// Closing devices.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub closed_by: Vec<String>,
    /// Highest pressure of the main.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub street: Option<String>,
    /// Setting of the pressure regulator.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub regulator_setting: Option<String>,
    /// How it behaves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub regulator: Option<String>,
    /// Pressure at which a well pump stops.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub well_cut_out: Option<String>,
    /// Pressure at which it starts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub well_cut_in: Option<String>,
    /// Volume of the well's pressure tank.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub well_tank: Option<String>,
    /// Pressure of the main by day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub street_day: Option<String>,
    /// Pressure of the main by night.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub street_night: Option<String>,
    /// Volumes of the tanks that are there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub existing_tank: Vec<String>,
    /// Their precharges: one for each, or one for all.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub precharge: Vec<String>,
    /// Their maximum acceptances, likewise.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub max_acceptance: Vec<String>,
    /// Their highest working pressures, likewise.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub tank_rating: Vec<String>,
    /// Kind of heater.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// Highest temperature of a hygiene run.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hygiene: Option<String>,
    /// Highest temperature of a solar store with no draw.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub stagnation: Option<String>,
    /// Whether a thermostatic mixing valve stands at the outlet.
    #[serde(skip_serializing_if = "is_not_so")]
    pub mixing_valve: bool,
    /// Whether hot water recirculates.
    #[serde(skip_serializing_if = "is_not_so")]
    pub recirculation: bool,
    /// Whether water came out of its air valve.
    #[serde(skip_serializing_if = "is_not_so")]
    pub water_at_air_valve: bool,
    /// Temperature where the tank stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tank_temperature: Option<String>,
    /// Temperature at which its precharge was set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub precharge_temperature: Option<String>,
    /// Relief setting asked about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub relief_at: Option<String>,
    /// Highest relief setting of the local code.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub relief_cap: Option<String>,
    /// Pressure setting of the heater's relief valve.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heater_relief: Option<String>,
    /// Temperature setting of the heater's relief valve.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heater_relief_temperature: Option<String>,
    /// Lowest rating among the components.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rating: Option<String>,
    /// Heat input.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub heat_input: Option<String>,
    /// Efficiency, 0.8 or "80 %".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub efficiency: Option<String>,
    /// Hot water drawn a day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub daily_draw: Option<String>,
    /// Room for a tank.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub room_for_tank: Option<String>,
    /// Air trapped in the system.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub trapped_air: Option<String>,
    /// Whether containers are taken as rigid.
    #[serde(skip_serializing_if = "is_not_so")]
    pub rigid: bool,
    /// Whether unusual readings are taken as they are.
    #[serde(skip_serializing_if = "is_not_so")]
    pub accept_unusual: bool,
    /// Language in which faults and the answer are told.
    pub language: Language,
}

fn is_not_so(value: &bool) -> bool {
    !*value
}

impl Told {
    /// Reads everything.
    ///
    /// # Errors
    /// Every value that cannot be read and every needed one that is missing. What the values mean together is checked by
    /// [`System::check`].
    pub fn read(&self, units: UnitSystem) -> Result<System, Faults> {
        let mut faults = Faults::new();
        let mut reader = Reader {
            tongue: Tongue {
                language: self.language,
                units,
            },
            faults: &mut faults,
        };
        let mut heaters = self.read_heaters(&mut reader);
        let pipes = self.read_pipes(&mut reader);
        if self.heaters.iter().all(|text| text.trim().is_empty()) && !pipes.iter().any(|pipe| pipe.heated) {
            reader.missing("heater", &Slip::Missing(Missing::Heater));
        }
        let cold = reader.option("cold", &self.cold, parse_temperature_c);
        let cold = match (cold, &self.cold, self.cold_from_climate_c) {
            (Some(cold), _, _) => Some(cold),
            (None, Some(text), _) if !text.trim().is_empty() => None,
            (None, _, Some(climate)) => Some(climate),
            _ => {
                reader.missing("cold", &Slip::Missing(Missing::Cold));
                None
            }
        };
        // Where every heater has its own, the hottest of them is the hottest storage.
        let own_hottest_c = heaters.iter().filter_map(|(_, own)| *own).reduce(f64::max);
        let all_own = !heaters.is_empty() && heaters.iter().all(|(_, own)| own.is_some());
        let hot = match (&self.hot, own_hottest_c) {
            (None, Some(own_c)) if all_own => Some(own_c),
            _ => reader.needed("hot", &self.hot, &Slip::Missing(Missing::Hot), parse_temperature_c),
        };
        let of_well = self.well_cut_out.as_ref().filter(|text| !text.trim().is_empty());
        let static_pa = match (&self.static_pressure, of_well) {
            // A well's house stands highest when the pump stops; whatever is wrong with that reading is told beside it.
            (None, Some(text)) => parse_gauge_pa(text, units).ok(),
            _ => reader.needed(
                "static",
                &self.static_pressure,
                &Slip::Missing(Missing::Static),
                parse_gauge_pa,
            ),
        };
        let mut system = System::new(0.0, cold.unwrap_or(0.0), hot.unwrap_or(0.0), static_pa.unwrap_or(0.0));
        system.words = units;
        system.language = self.language;
        system.piping = pipes;
        system.material_credit = self.material_credit;
        system.rigid = self.rigid;
        system.accept_unusual = self.accept_unusual;
        if let Some(more) = reader.option("stacking", &self.stacking, parse_temperature_difference_k) {
            if more < 0.0 {
                let slip = Slip::NegativeStacking.fault("BW-X22", Severity::Fatal, "stacking", reader.tongue);
                reader.faults.push(slip);
            }
            system.hot_c += more;
            for (_, own) in &mut heaters {
                *own = own.map(|celsius| celsius + more);
            }
        }
        self.read_kind(&mut reader, &mut system);
        system.mixing_valve = self.mixing_valve;
        system.recirculation = self.recirculation;
        // The hottest of all stands for the system; whoever is cooler keeps its own.
        let usual_c = system.hot_c;
        let hottest = [
            system.hygiene_c,
            system.stagnation_c,
            heaters.iter().filter_map(|(_, own)| *own).reduce(f64::max),
        ];
        system.hot_c = hottest.into_iter().flatten().fold(usual_c, f64::max);
        let one_for_all = system.hygiene_c.is_some() || system.stagnation_c.is_some();
        system.heaters = heaters
            .into_iter()
            .map(|(volume_l, own)| {
                let own_c = own.or((!one_for_all).then_some(usual_c));
                Heater {
                    hot_c: own_c.filter(|celsius| *celsius < system.hot_c - 1e-9),
                    ..Heater::steel(volume_l)
                }
            })
            .collect();
        self.read_settings(&mut reader, &mut system);
        // The highest seen counts, by day or by night.
        system.street_gauge_pa = [
            reader.option("street", &self.street, parse_gauge_pa),
            reader.option("street-day", &self.street_day, parse_gauge_pa),
            reader.option("street-night", &self.street_night, parse_gauge_pa),
        ]
        .into_iter()
        .flatten()
        .reduce(f64::max);
        system.relief_at_gauge_pa = reader.option("relief-at", &self.relief_at, parse_gauge_pa);
        system.lowest_rating_gauge_pa = reader.option("rating", &self.rating, parse_gauge_pa);
        system.heat_input_w = reader.option("heat-input", &self.heat_input, parse_power_w);
        system.daily_draw_l = reader.option("daily-draw", &self.daily_draw, parse_volume_l);
        system.room_for_tank_l = reader.option("room-for-tank", &self.room_for_tank, parse_volume_l);
        system.closed_by = self.read_devices(&mut reader);
        system.existing = self.read_tanks(&mut reader);
        self.read_supply(&mut reader, &mut system);
        if faults.is_fatal() {
            let more = self.also_wrong(&system, &faults);
            faults.append(more);
            Err(faults)
        } else {
            Ok(system)
        }
    }

    /// Volumes of the heaters, L, and their own temperatures, °C, where told.
    fn read_heaters(&self, reader: &mut Reader<'_>) -> Vec<(f64, Option<f64>)> {
        parts(&self.heaters)
            .filter_map(|text| {
                let (volume, own) = own_temperature(text);
                let own_c = match own {
                    Some(own) => Some(reader.one("heater", own, parse_temperature_c)?),
                    None => None,
                };
                Some((reader.one("heater", volume, parse_volume_l)?, own_c))
            })
            .collect()
    }

    fn read_devices(&self, reader: &mut Reader<'_>) -> Vec<ClosingDevice> {
        let mut devices = Vec::new();
        for text in parts(&self.closed_by) {
            match ClosingDevice::parse(text) {
                Some(device) => devices.push(device),
                None => {
                    let names: Vec<&str> = ClosingDevice::NAMES.iter().map(|(name, _)| *name).collect();
                    let slip = Slip::UnknownDevice {
                        names: names.join(", "),
                    };
                    reader.slip("BW-X20", "closed-by", text, &slip);
                }
            }
        }
        devices
    }

    fn read_pipes(&self, reader: &mut Reader<'_>) -> Vec<Piping> {
        let mut pipes: Vec<Piping> = Vec::new();
        for (field, list, heated) in [("pipe", &self.pipes, true), ("cold-pipe", &self.cold_pipes, false)] {
            for text in parts(list) {
                match parse_piping(text, heated, reader.tongue.units) {
                    Ok(pipe) => pipes.push(pipe),
                    Err(slip) => reader.slip("BW-X23", field, text, &slip),
                }
            }
        }
        pipes
    }

    /// Readings that have a usual value where they were not told, and the temperature of the tank.
    fn read_settings(&self, reader: &mut Reader<'_>, system: &mut System) {
        system.limit_gauge_pa = usual_limit_gauge_pa(reader.tongue.units);
        let set = |target: &mut f64, value: Option<f64>| {
            if let Some(value) = value {
                *target = value;
            }
        };
        set(
            &mut system.limit_gauge_pa,
            reader.option("limit", &self.limit, parse_gauge_pa),
        );
        set(
            &mut system.elevation_m,
            reader.option("elevation", &self.elevation, parse_length_m),
        );
        set(
            &mut system.tank_above_gauge_m,
            reader.option("tank-height", &self.tank_height, parse_length_m),
        );
        set(
            &mut system.relief_cap_gauge_pa,
            reader.option("relief-cap", &self.relief_cap, parse_gauge_pa),
        );
        set(
            &mut system.heater_relief_gauge_pa,
            reader.option("heater-relief", &self.heater_relief, parse_gauge_pa),
        );
        set(
            &mut system.heater_relief_c,
            reader.option(
                "heater-relief-temperature",
                &self.heater_relief_temperature,
                parse_temperature_c,
            ),
        );
        set(
            &mut system.precharge_set_c,
            reader.option(
                "precharge-temperature",
                &self.precharge_temperature,
                parse_temperature_c,
            ),
        );
        set(
            &mut system.trapped_air_l,
            reader.option("trapped-air", &self.trapped_air, parse_volume_l),
        );
        set(
            &mut system.efficiency,
            reader.option("efficiency", &self.efficiency, |text, _| parse_share(text)),
        );
        system.tank_ambient_c = reader.option("tank-temperature", &self.tank_temperature, parse_temperature_c);
    }

    /// The regulator's and the well's own readings.
    fn read_supply(&self, reader: &mut Reader<'_>, system: &mut System) {
        system.regulator.setting_gauge_pa = reader.option("regulator-setting", &self.regulator_setting, parse_gauge_pa);
        if let Some(text) = self.regulator.as_ref().filter(|text| !text.trim().is_empty()) {
            match RegulatorState::parse(text) {
                Some(state) => system.regulator.state = state,
                None => {
                    let names = RegulatorState::NAMES.map(|(name, _)| name).join(", ");
                    reader.slip("BW-X24", "regulator", text, &Slip::UnknownRegulatorState { names });
                }
            }
        }
        let cut_in = reader.option("well-cut-in", &self.well_cut_in, parse_gauge_pa);
        let tank_l = reader.option("well-tank", &self.well_tank, parse_volume_l);
        match reader.option("well-cut-out", &self.well_cut_out, parse_gauge_pa) {
            Some(cut_out_gauge_pa) => {
                system.well = Some(Well {
                    cut_out_gauge_pa,
                    cut_in_gauge_pa: cut_in,
                    tank_l,
                });
            }
            None if cut_in.is_some() || tank_l.is_some() => {
                reader.missing("well-cut-out", &Slip::Missing(Missing::CutOut))
            }
            None => {}
        }
    }

    /// What [`System::check`] finds in the readings that could be read, so that one round of mending is enough.
    ///
    /// A fault that weighs one reading against another counts only when both were read.
    fn also_wrong(&self, system: &System, faults: &Faults) -> Faults {
        let told_wrong = |name: &str| faults.0.iter().any(|fault| fault.column.as_deref() == Some(name));
        // A well's cut-out that cannot be read leaves no static pressure either.
        let unread = |name: &str| {
            told_wrong(name) || (name == "static" && self.static_pressure.is_none() && told_wrong("well-cut-out"))
        };
        let beside = |code: &str| -> &[&str] {
            match code {
                "BW-X06" => &["cold", "hot"],
                "BW-X08" | "BW-X09" => &["hot", "static", "heater-relief-temperature"],
                "BW-X12" => &["limit", "heater-relief"],
                "BW-X13" => &["street", "static"],
                _ => &[],
            }
        };
        let found = system.check().0.into_iter().filter(|fault| {
            let column = fault.column.as_deref().unwrap_or("");
            // A heater of which nothing was read is missing already.
            let heaterless = column == "heater" && system.heaters.is_empty();
            !heaterless && !unread(column) && !beside(fault.code).iter().any(|name| unread(name))
        });
        Faults(found.collect())
    }

    /// The kind of heater and what it reaches beyond its usual storage.
    fn read_kind(&self, reader: &mut Reader<'_>, system: &mut System) {
        if let Some(text) = self.kind.as_ref().filter(|text| !text.trim().is_empty()) {
            match HeaterKind::parse(text) {
                Some(kind) => system.kind = kind,
                None => {
                    let names = HeaterKind::NAMES.map(|(name, _)| name).join(", ");
                    reader.slip("BW-X24", "kind", text, &Slip::UnknownKind { names });
                }
            }
        }
        system.hygiene_c = reader.option("hygiene", &self.hygiene, parse_temperature_c);
        system.stagnation_c = reader.option("stagnation", &self.stagnation, parse_temperature_c);
        // A solar store stands far above its usual temperature when nobody draws; no usual figure stands in for that.
        let told = |text: &Option<String>| text.as_ref().is_some_and(|text| !text.trim().is_empty());
        if system.kind == HeaterKind::Solar && !told(&self.stagnation) {
            reader.missing("stagnation", &Slip::Missing(Missing::Stagnation));
        }
    }

    /// The tanks that are there: the first of each reading goes with the first tank, one alone goes for all.
    fn read_tanks(&self, reader: &mut Reader<'_>) -> Vec<ExistingTank> {
        let volumes = entries(&self.existing_tank);
        let precharges = entries(&self.precharge);
        let acceptances = entries(&self.max_acceptance);
        let ratings = entries(&self.tank_rating);
        if volumes.is_empty() {
            if !(precharges.is_empty() && acceptances.is_empty() && ratings.is_empty()) || self.water_at_air_valve {
                reader.missing("existing-tank", &Slip::Missing(Missing::Tank));
            }
            return Vec::new();
        }
        let count = volumes.len();
        for (field, told) in [
            ("precharge", &precharges),
            ("max-acceptance", &acceptances),
            ("tank-rating", &ratings),
        ] {
            if told.len() > 1 && told.len() != count {
                let slip = Slip::Tank(TankSlip::NotAsMany {
                    tanks: count.to_string(),
                });
                reader.slip("BW-X49", field, &told.join("; "), &slip);
                return Vec::new();
            }
        }
        if self.water_at_air_valve && count > 1 {
            reader.missing("water-at-air-valve", &Slip::Tank(TankSlip::WhichFailed));
            return Vec::new();
        }
        let pick = |told: &[&str], at: usize| -> Option<String> {
            let text = if told.len() == 1 { told.first() } else { told.get(at) };
            text.map(|text| (*text).to_string()).filter(|text| !text.is_empty())
        };
        let mut tanks = Vec::new();
        let mut unknown = false;
        for (at, volume) in volumes.iter().enumerate() {
            let precharge = pick(&precharges, at);
            let gave_water = self.water_at_air_valve
                || precharge
                    .as_ref()
                    .is_some_and(|text| matches!(text.to_lowercase().as_str(), "water" | "agua"));
            unknown |= precharge.is_none() && !gave_water;
            let precharge_pa = if gave_water && !self.water_at_air_valve {
                Some(0.0)
            } else {
                reader.option("precharge", &precharge, parse_gauge_pa)
            };
            let most = reader.option("max-acceptance", &pick(&acceptances, at), parse_volume_l);
            let rating = reader.option("tank-rating", &pick(&ratings, at), parse_gauge_pa);
            if let Some(volume_l) = reader.one("existing-tank", volume, parse_volume_l) {
                tanks.push(ExistingTank {
                    volume_l,
                    precharge_gauge_pa: precharge_pa.unwrap_or(0.0),
                    max_acceptance_l: most,
                    max_gauge_pa: rating,
                    water_at_air_valve: gave_water,
                });
            }
        }
        if unknown {
            reader.missing("precharge", &Slip::Missing(Missing::Precharge));
        }
        tanks
    }
}

/// The entries of a reading that may be told several times, or several in one text with semicolons.
fn parts(list: &[String]) -> impl Iterator<Item = &str> {
    list.iter()
        .flat_map(|text| text.split(';'))
        .map(str::trim)
        .filter(|text| !text.is_empty())
}

/// As [`parts`], with the blank places between entries kept, because they say whose reading is missing.
fn entries(list: &[String]) -> Vec<&str> {
    let mut found: Vec<&str> = list.iter().flat_map(|text| text.split(';')).map(str::trim).collect();
    while found.last().is_some_and(|text| text.is_empty()) {
        found.pop();
    }
    found
}

/// A heater's volume and its own temperature, as in "40 gal @ 140 F", "40 gal at 140 F" or "150 L a 60 C".
pub fn own_temperature(text: &str) -> (&str, Option<&str>) {
    for mark in ["@", " at ", " a "] {
        if let Some((volume, own)) = text.split_once(mark) {
            return (volume.trim(), Some(own.trim()));
        }
    }
    (text.trim(), None)
}

struct Reader<'a> {
    tongue: Tongue,
    faults: &'a mut Faults,
}

impl Reader<'_> {
    fn one(
        &mut self,
        field: &str,
        text: &str,
        parse: impl Fn(&str, UnitSystem) -> Result<f64, UnitError>,
    ) -> Option<f64> {
        match parse(text, self.tongue.units) {
            Ok(value) => Some(value),
            Err(error) => {
                self.slip("BW-X22", field, text, &Slip::Unreadable(error));
                None
            }
        }
    }

    fn option(
        &mut self,
        field: &str,
        text: &Option<String>,
        parse: impl Fn(&str, UnitSystem) -> Result<f64, UnitError>,
    ) -> Option<f64> {
        match text {
            Some(text) if !text.trim().is_empty() => self.one(field, text, parse),
            _ => None,
        }
    }

    fn needed(
        &mut self,
        field: &str,
        text: &Option<String>,
        missing: &Slip,
        parse: impl Fn(&str, UnitSystem) -> Result<f64, UnitError>,
    ) -> Option<f64> {
        match text {
            Some(text) if !text.trim().is_empty() => self.one(field, text, parse),
            _ => {
                self.missing(field, missing);
                None
            }
        }
    }

    fn missing(&mut self, field: &str, slip: &Slip) {
        self.faults
            .push(slip.fault("BW-X21", Severity::Fatal, field, self.tongue));
    }

    /// A slip in a text that was typed.
    fn slip(&mut self, code: &'static str, field: &str, text: &str, slip: &Slip) {
        self.faults
            .push(slip.fault(code, Severity::Fatal, field, self.tongue).value(text));
    }
}

/// A share from "0.8" or "80 %".
fn parse_share(text: &str) -> Result<f64, UnitError> {
    let trimmed = text.trim();
    let (number, scale) = match trimmed.strip_suffix('%') {
        Some(number) => (number.trim(), 0.01),
        None => (trimmed, 1.0),
    };
    match number.parse::<f64>() {
        Ok(value) if value.is_finite() => Ok(value * scale),
        _ => Err(UnitError::new(Wanted::Share, trimmed, Problem::NotANumber)),
    }
}
