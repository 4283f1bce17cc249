//! The readings that a plumber can tell, each defined once.
//!
//! Flags of the command line, columns of lists, fields of the form, lines of the record, the names in the JSON of inputs, the bands and
//! the test of completeness all come from [`READINGS`]. To add a reading: a field in [`Told`], a line here, its label in
//! `locales/*/expansion.ftl` (`expansion-reading-KEY`, with `.help` where the form explains it), and what [`Told::read`] makes of it.

use super::system::System;
use super::told::Told;
use crate::language::Language;
use crate::units::{L_PER_US_GAL, PA_PER_PSI};

/// Where a reading's text stands in [`Told`].
#[derive(Debug, Clone, Copy)]
pub enum Slot {
    /// At most one.
    One(fn(&mut Told) -> &mut Option<String>),
    /// Any number.
    Many(fn(&mut Told) -> &mut Vec<String>),
    /// Told or not.
    Flag(fn(&mut Told) -> &mut bool),
}

/// What a reading measures: its value's name in help, and how it is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// L.
    Volume,
    /// °C.
    Temperature,
    /// K.
    Difference,
    /// Pa gauge.
    Gauge,
    /// m.
    Length,
    /// W.
    Power,
    /// A share of one.
    Share,
    /// A run of pipe.
    Pipe,
    /// A device between main and heater.
    Device,
    /// A word of a short list.
    Word,
    /// Yes or no.
    YesNo,
}

impl Quantity {
    /// What stands for a value in help.
    pub fn value_name(self) -> &'static str {
        match self {
            Self::Volume => "VOLUME",
            Self::Temperature => "TEMPERATURE",
            Self::Difference => "DIFFERENCE",
            Self::Gauge => "PRESSURE",
            Self::Length => "HEIGHT",
            Self::Power => "HEAT",
            Self::Share => "SHARE",
            Self::Pipe => "PIPE",
            Self::Device => "DEVICES",
            Self::Word => "WORD",
            Self::YesNo => "",
        }
    }
}

/// Where a form asks for a reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ask {
    /// Needed always.
    Needed,
    /// Among the few that most answers want.
    First,
    /// What closes the line.
    Closed,
    /// Street, regulator, well.
    Supply,
    /// The tank that is there and the place for one.
    Tank,
    /// Relief valves and ratings.
    Relief,
    /// Heater and pipes in more detail.
    Heater,
    /// How readings are taken.
    How,
}

impl Ask {
    /// All, in the order of the form, with the key of their heading.
    pub const ALL: [(Ask, &'static str); 8] = [
        (Ask::Needed, "group_needed"),
        (Ask::Closed, "group_closed"),
        (Ask::First, "group_first"),
        (Ask::Supply, "group_supply"),
        (Ask::Tank, "group_existing"),
        (Ask::Heater, "group_heater"),
        (Ask::Relief, "group_relief"),
        (Ask::How, "group_how"),
    ];
}

/// Where a reading usually is, and where it can be at all, in the unit of [`Quantity`]. `[judgement]`
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Outside of this it is asked about.
    pub usual: [f64; 2],
    /// Outside of this it is refused.
    pub possible: [f64; 2],
}

/// One reading.
#[derive(Debug, Clone, Copy)]
pub struct Reading {
    /// Its name on the command line; lists and forms write `_` for `-`.
    pub key: &'static str,
    /// What it measures.
    pub quantity: Quantity,
    /// Where its text stands.
    pub slot: Slot,
    /// Where a form asks for it.
    pub ask: Ask,
    /// Its help on the command line.
    pub help: &'static str,
    /// Its band; `None` where a check of its own tells more.
    pub band: Option<Band>,
    /// Its values once read, in the unit of the quantity.
    pub values: fn(&System, &mut dyn FnMut(f64)),
}

impl Reading {
    /// Its name in lists, forms and files.
    pub fn field(&self) -> String {
        self.key.replace('-', "_")
    }

    /// Its name for people.
    pub fn label(&self, language: Language) -> String {
        crate::say!(language, &format!("expansion-reading-{}", self.key))
    }

    /// What a form says beside it; empty when nothing.
    pub fn form_help(&self, language: Language) -> String {
        let text = crate::say!(language, &format!("expansion-reading-{}.help", self.key));
        // A message that is not there comes back as its name in braces.
        if text.starts_with('{') { String::new() } else { text }
    }

    /// What was told of it, as typed.
    pub fn told(&self, told: &mut Told) -> Vec<String> {
        match self.slot {
            Slot::One(slot) => slot(told).clone().into_iter().collect(),
            Slot::Many(slot) => slot(told).clone(),
            Slot::Flag(slot) => (*slot(told)).then(|| "yes".to_string()).into_iter().collect(),
        }
    }
}

/// The reading of a name, as the command line has it.
pub fn reading(key: &str) -> Option<&'static Reading> {
    READINGS.iter().find(|reading| reading.key == key)
}

const fn psi(usual: [f64; 2], possible: [f64; 2]) -> Option<Band> {
    Some(Band {
        usual: [usual[0] * PA_PER_PSI, usual[1] * PA_PER_PSI],
        possible: [possible[0] * PA_PER_PSI, possible[1] * PA_PER_PSI],
    })
}

const fn gal(usual: [f64; 2], possible: [f64; 2]) -> Option<Band> {
    Some(Band {
        usual: [usual[0] * L_PER_US_GAL, usual[1] * L_PER_US_GAL],
        possible: [possible[0] * L_PER_US_GAL, possible[1] * L_PER_US_GAL],
    })
}

const fn plain(usual: [f64; 2], possible: [f64; 2]) -> Option<Band> {
    Some(Band { usual, possible })
}

/// A line of the table.
const fn line(
    key: &'static str,
    quantity: Quantity,
    ask: Ask,
    slot: Slot,
    band: Option<Band>,
    values: fn(&System, &mut dyn FnMut(f64)),
    help: &'static str,
) -> Reading {
    Reading {
        key,
        quantity,
        slot,
        ask,
        help,
        band,
        values,
    }
}

fn each(value: Option<f64>, see: &mut dyn FnMut(f64)) {
    if let Some(value) = value {
        see(value);
    }
}

use Quantity as Q;
use Slot::{Flag, Many, One};

/// Every reading, in the order of help.
#[rustfmt::skip]
pub const READINGS: &[Reading] = &[
    line("heater", Q::Volume, Ask::Needed, Many(|t| &mut t.heaters), gal([0.0, 5_000.0], [0.0, 20_000.0]),
        |s, see| s.heaters.iter().for_each(|h| see(h.volume_l)),
        "Volume of a storage heater, such as \"40 gal\", with its own temperature \"40 gal @ 140 F\" (repeatable)"),
    line("cold", Q::Temperature, Ask::Needed, One(|t| &mut t.cold), None, |s, see| see(s.cold_c),
        "Coldest supply of the year, such as \"40 F\""),
    line("hot", Q::Temperature, Ask::Needed, One(|t| &mut t.hot), None, |s, see| see(s.hot_c),
        "Hottest storage, such as \"140 F\": where the water is stored, not at the tap"),
    line("static", Q::Gauge, Ask::Needed, One(|t| &mut t.static_pressure), psi([0.0, 1e9], [0.0, 1000.0]),
        |s, see| see(s.static_gauge_pa), "Highest static gauge pressure in the house, such as \"60 psi\""),
    line("limit", Q::Gauge, Ask::Needed, One(|t| &mut t.limit), psi([0.0, 1e9], [0.0, 1000.0]),
        |s, see| see(s.limit_gauge_pa), "Pressure that must not be passed; 80 psi (550 kPa in metric) when left out"),
    line("closed-by", Q::Device, Ask::Closed, Many(|t| &mut t.closed_by), None, |_, _| {},
        "What stands between main and heater, with commas: backflow-assembly, check-valve, prv, prv-with-bypass, \
         meter-check, softener, softener-with-check, recirculation-check, nothing"),
    line("street", Q::Gauge, Ask::First, One(|t| &mut t.street), psi([0.0, 1e9], [0.0, 1000.0]),
        |s, see| each(s.street_gauge_pa, see), "Highest pressure of the main, seen over days"),
    line("street-day", Q::Gauge, Ask::Supply, One(|t| &mut t.street_day), psi([0.0, 1e9], [0.0, 1000.0]), |_, _| {},
        "Pressure of the main by day"),
    line("street-night", Q::Gauge, Ask::Supply, One(|t| &mut t.street_night), psi([0.0, 1e9], [0.0, 1000.0]), |_, _| {},
        "Pressure of the main by night, most often the highest"),
    line("regulator-setting", Q::Gauge, Ask::Supply, One(|t| &mut t.regulator_setting), psi([20.0, 150.0], [5.0, 400.0]),
        |s, see| each(s.regulator.setting_gauge_pa, see), "Setting of the pressure regulator"),
    line("regulator", Q::Word, Ask::Supply, One(|t| &mut t.regulator), None, |_, _| {},
        "How the pressure regulator behaves over a night: holds, creeps, failed-open"),
    line("well-cut-out", Q::Gauge, Ask::Supply, One(|t| &mut t.well_cut_out), psi([30.0, 100.0], [10.0, 300.0]),
        |s, see| each(s.well.map(|w| w.cut_out_gauge_pa), see),
        "Pressure at which the switch of a well pump stops it; then there is no street"),
    line("well-cut-in", Q::Gauge, Ask::Supply, One(|t| &mut t.well_cut_in), None,
        |s, see| each(s.well.and_then(|w| w.cut_in_gauge_pa), see),
        "Pressure at which it starts the pump; 20 psi lower when left out"),
    line("well-tank", Q::Volume, Ask::Supply, One(|t| &mut t.well_tank), gal([1.0, 500.0], [0.1, 20_000.0]),
        |s, see| each(s.well.and_then(|w| w.tank_l), see), "Volume of the well's pressure tank"),
    line("existing-tank", Q::Volume, Ask::Tank, Many(|t| &mut t.existing_tank), gal([0.1, 1000.0], [0.001, 20_000.0]),
        |s, see| s.existing.iter().for_each(|t| see(t.volume_l)),
        "Total volume of a tank that is there; needs --precharge (repeatable, in the order of its other readings)"),
    line("precharge", Q::Gauge, Ask::Tank, Many(|t| &mut t.precharge), psi([0.0, 1e9], [0.0, 1000.0]),
        |s, see| s.existing.iter().for_each(|t| see(t.precharge_gauge_pa)),
        "Its precharge, read at the air valve with the tank isolated and drained; the word water when water came out (repeatable)"),
    line("max-acceptance", Q::Volume, Ask::Tank, Many(|t| &mut t.max_acceptance), None,
        |s, see| s.existing.iter().for_each(|t| each(t.max_acceptance_l, see)),
        "Most water that it accepts, from its label (repeatable)"),
    line("tank-rating", Q::Gauge, Ask::Tank, Many(|t| &mut t.tank_rating), psi([30.0, 1000.0], [10.0, 3000.0]),
        |s, see| s.existing.iter().for_each(|t| each(t.max_gauge_pa, see)),
        "Its highest working pressure, from its label (repeatable)"),
    line("water-at-air-valve", Q::YesNo, Ask::Tank, Flag(|t| &mut t.water_at_air_valve), None, |_, _| {},
        "Water came out of its air valve: the diaphragm has failed"),
    line("room-for-tank", Q::Volume, Ask::First, One(|t| &mut t.room_for_tank), None,
        |s, see| each(s.room_for_tank_l, see), "Largest tank that there is room for; 0 for none"),
    line("tank-height", Q::Length, Ask::Tank, One(|t| &mut t.tank_height), None, |s, see| see(s.tank_above_gauge_m),
        "Height of the tank above the gauge that read static, such as \"20 ft\"; negative below it"),
    line("tank-temperature", Q::Temperature, Ask::Tank, One(|t| &mut t.tank_temperature), None,
        |s, see| each(s.tank_ambient_c, see), "Temperature where the tank stands, when not that at which the precharge was set"),
    line("precharge-temperature", Q::Temperature, Ask::Tank, One(|t| &mut t.precharge_temperature), None,
        |s, see| see(s.precharge_set_c), "Temperature at which the precharge is or was set; 68 °F when left out"),
    line("kind", Q::Word, Ask::Heater, One(|t| &mut t.kind), None, |_, _| {},
        "Kind of heater: storage, instantaneous, heat-pump, solar, hydronic (refused: another standard sizes it); storage when left out"),
    line("hygiene", Q::Temperature, Ask::Heater, One(|t| &mut t.hygiene), None, |s, see| each(s.hygiene_c, see),
        "Highest temperature of a hygiene run, such as \"150 F\": the water is sized for it"),
    line("stagnation", Q::Temperature, Ask::Heater, One(|t| &mut t.stagnation), None, |s, see| each(s.stagnation_c, see),
        "Highest temperature of a solar store when nothing is drawn: its controller's cut-off"),
    line("stacking", Q::Difference, Ask::Heater, One(|t| &mut t.stacking), None, |_, _| {},
        "What stacking adds to the hottest storage, such as \"10 F\""),
    line("mixing-valve", Q::YesNo, Ask::Heater, Flag(|t| &mut t.mixing_valve), None, |_, _| {},
        "A thermostatic mixing valve stands at the heater's outlet"),
    line("recirculation", Q::YesNo, Ask::Heater, Flag(|t| &mut t.recirculation), None, |_, _| {},
        "Hot water recirculates; tell its pipes with --pipe"),
    line("pipe", Q::Pipe, Ask::Heater, Many(|t| &mut t.pipes), None,
        |s, see| s.piping.iter().filter(|p| p.heated).for_each(|p| see(p.volume_l)),
        "Hot or recirculation pipe: family, size, length, such as \"copper-L 3/4 in 60 ft\" or \"PEX DN 20 18 m\" (repeatable)"),
    line("cold-pipe", Q::Pipe, Ask::Heater, Many(|t| &mut t.cold_pipes), None,
        |s, see| s.piping.iter().filter(|p| !p.heated).for_each(|p| see(p.volume_l)),
        "Cold pipe behind the closing device: gives a little, is not heated (repeatable)"),
    line("material-credit", Q::YesNo, Ask::Heater, Flag(|t| &mut t.material_credit), None, |_, _| {},
        "Take the metal's own growth off the demand"),
    line("elevation", Q::Length, Ask::Heater, One(|t| &mut t.elevation), None, |s, see| see(s.elevation_m),
        "Height of the site above sea level, such as \"5280 ft\""),
    line("heat-input", Q::Power, Ask::Heater, One(|t| &mut t.heat_input), plain([100.0, 1e6], [1.0, 1e8]),
        |s, see| each(s.heat_input_w, see), "Heat input of all heaters, such as \"40000 Btu/h\" or \"4.5 kW\""),
    line("efficiency", Q::Share, Ask::Heater, One(|t| &mut t.efficiency), None, |s, see| see(s.efficiency),
        "Share of the input that reaches the water, 0.8 or \"80 %\"; 1 when left out"),
    line("daily-draw", Q::Volume, Ask::Heater, One(|t| &mut t.daily_draw), gal([0.0, 20_000.0], [0.0, 1e6]),
        |s, see| each(s.daily_draw_l, see), "Hot water drawn a day, such as \"64 gal\""),
    line("trapped-air", Q::Volume, Ask::Heater, One(|t| &mut t.trapped_air), gal([0.0, 50.0], [0.0, 10_000.0]),
        |s, see| see(s.trapped_air_l), "Air trapped in the plumbing at static pressure"),
    line("relief-at", Q::Gauge, Ask::Relief, One(|t| &mut t.relief_at), psi([20.0, 250.0], [1.0, 1000.0]),
        |s, see| each(s.relief_at_gauge_pa, see), "Setting of an expansion relief that is there or meant"),
    line("relief-cap", Q::Gauge, Ask::Relief, One(|t| &mut t.relief_cap), psi([20.0, 250.0], [1.0, 1000.0]),
        |s, see| see(s.relief_cap_gauge_pa), "Highest expansion relief setting under the local code; 100 psi when left out"),
    line("heater-relief", Q::Gauge, Ask::Relief, One(|t| &mut t.heater_relief), psi([30.0, 250.0], [10.0, 1000.0]),
        |s, see| see(s.heater_relief_gauge_pa),
        "Pressure setting of the heater's temperature and pressure relief valve; 150 psi when left out"),
    line("heater-relief-temperature", Q::Temperature, Ask::Relief, One(|t| &mut t.heater_relief_temperature), None,
        |s, see| see(s.heater_relief_c), "Temperature setting of that valve; 210 °F when left out"),
    line("rating", Q::Gauge, Ask::Relief, One(|t| &mut t.rating), psi([30.0, 1000.0], [10.0, 3000.0]),
        |s, see| each(s.lowest_rating_gauge_pa, see), "Lowest pressure rating among the components"),
    line("rigid", Q::YesNo, Ask::How, Flag(|t| &mut t.rigid), None, |_, _| {}, "Take heater and pipe as perfectly rigid"),
    line("accept-unusual", Q::YesNo, Ask::How, Flag(|t| &mut t.accept_unusual), None, |_, _| {},
        "Take readings outside the usual range as they are"),
];
