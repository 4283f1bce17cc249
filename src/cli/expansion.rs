//! `brimwater expansion`.

use super::expansion_catalogue::read_catalogue;
use super::expansion_lists::{Batch, run_systems};
use super::{Done, common, common::Common, common::Format};
use crate::expansion::catalogue::{CatalogueTank, Choice, smallest_that_fits};
use crate::expansion::{Assessment, Step, System, Told, assess};
use crate::faults::{Fault, Faults, Severity};
use crate::language::Language;
use crate::output::safe::write_file_atomically;
use crate::output::{charts_expansion, expansion_record, expansion_text};
use crate::units::UnitSystem;
use std::path::PathBuf;

/// Arguments of `expansion`.
#[derive(clap::Args)]
#[command(
    after_help = "Example: a 40 gal heater behind an assembly, 50 to 120 °F, 60 psi static, limit 80 psi.\n  \
brimwater expansion --heater \"40 gal\" --cold \"50 F\" --hot \"120 F\" --static \"60 psi\" --closed-by backflow-assembly\n\
The same with the tank that is there, and a record to leave behind:\n  \
brimwater expansion --heater 40 --cold 50 --hot 120 --static 60 --closed-by backflow-assembly \\\n    \
--existing-tank 2 --precharge 40 --record record.html\n\
Lists: --systems reads system_id, heater_gal, cold_f, hot_f, static_psi, limit_psi, street_psi, closed_by, existing_tank_gal,\n\
precharge_psi, max_acceptance_gal, relief_at_psi, pipes and others; _l, _c, _kpa, _m likewise; several in a cell with semicolons;\n\
other columns pass through. --catalogue reads name, volume_gal, max_acceptance_gal, max_pressure_psi.\n\
Pressures are gauge readings. A bare number takes the unit of --units; \"50 gal\" is US, write \"40 imp gal\" for imperial.\n\n\
A planning aid: local code, the maker's instructions and licensed people decide."
)]
pub struct Args {
    /// Volume of a storage heater, such as "40 gal" (repeatable).
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    heater: Vec<String>,
    /// Coldest supply of the year, such as "40 F".
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    cold: Option<String>,
    /// Hottest storage, such as "140 F": where the water is stored, not at the tap.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    hot: Option<String>,
    /// What stacking adds to the hottest storage, such as "10 F".
    #[arg(long, value_name = "DIFFERENCE", allow_hyphen_values = true)]
    stacking: Option<String>,
    /// Highest static gauge pressure in the house, such as "60 psi".
    #[arg(long = "static", value_name = "PRESSURE", allow_hyphen_values = true)]
    static_pressure: Option<String>,
    /// Pressure that must not be passed; 80 psi when left out.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    limit: Option<String>,
    /// Hot or recirculation pipe: family, size, length, such as "copper-L 3/4 in 60 ft" (repeatable).
    #[arg(long, value_name = "PIPE")]
    pipe: Vec<String>,
    /// Cold pipe behind the closing device: gives a little, is not heated (repeatable).
    #[arg(long, value_name = "PIPE")]
    cold_pipe: Vec<String>,
    /// Take the metal's own growth off the demand.
    #[arg(long)]
    material_credit: bool,
    /// Height of the site above sea level, such as "5280 ft".
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    elevation: Option<String>,
    /// Height of the tank above the gauge that read static, such as "20 ft"; negative below it.
    #[arg(long, value_name = "HEIGHT", allow_hyphen_values = true)]
    tank_height: Option<String>,
    /// What stands between main and heater, with commas: backflow-assembly, check-valve, prv, prv-with-bypass,
    /// meter-check, softener, softener-with-check, recirculation-check, nothing.
    #[arg(long, value_name = "DEVICES", value_delimiter = ',')]
    closed_by: Vec<String>,
    /// Highest pressure of the main.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    street: Option<String>,
    /// Total volume of the tank that is there; needs --precharge.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    existing_tank: Option<String>,
    /// Its precharge, read at the air valve with the tank isolated and drained.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    precharge: Option<String>,
    /// Most water that it accepts, from its label.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    max_acceptance: Option<String>,
    /// Water came out of its air valve: the diaphragm has failed.
    #[arg(long)]
    water_at_air_valve: bool,
    /// Temperature where the tank stands, when not that at which the precharge was set.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    tank_temperature: Option<String>,
    /// Temperature at which the precharge is or was set; 68 °F when left out.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    precharge_temperature: Option<String>,
    /// Setting of an expansion relief that is there or meant.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    relief_at: Option<String>,
    /// Highest expansion relief setting under the local code; 100 psi when left out.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    relief_cap: Option<String>,
    /// Pressure setting of the heater's temperature and pressure relief valve; 150 psi when left out.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    heater_relief: Option<String>,
    /// Temperature setting of that valve; 210 °F when left out.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    heater_relief_temperature: Option<String>,
    /// Lowest pressure rating among the components.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    rating: Option<String>,
    /// Heat input of all heaters, such as "40000 Btu/h" or "4.5 kW".
    #[arg(long, value_name = "HEAT", allow_hyphen_values = true)]
    heat_input: Option<String>,
    /// Share of the input that reaches the water, 0.8 or "80 %"; 1 when left out.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    efficiency: Option<String>,
    /// Hot water drawn a day, such as "64 gal".
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    daily_draw: Option<String>,
    /// Largest tank that there is room for; 0 for none.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    room_for_tank: Option<String>,
    /// Air trapped in the plumbing at static pressure.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    trapped_air: Option<String>,
    /// Take heater and pipe as perfectly rigid.
    #[arg(long)]
    rigid: bool,
    /// Take readings outside the usual range as they are.
    #[arg(long)]
    accept_unusual: bool,
    /// Tell everything: alternatives, every reason, all cautions.
    #[arg(long)]
    explain: bool,
    /// Language of the answer and the record: en or es.
    #[arg(long, value_name = "LANGUAGE", default_value = "en")]
    language: String,
    /// Setting of the pressure regulator.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    regulator_setting: Option<String>,
    /// How the pressure regulator behaves over a night: holds, creeps, failed-open.
    #[arg(long, value_name = "STATE")]
    regulator: Option<String>,
    /// Pressure at which the switch of a well pump stops it; then there is no street.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    well_cut_out: Option<String>,
    /// Pressure at which it starts the pump; 20 psi lower when left out.
    #[arg(long, value_name = "PRESSURE", allow_hyphen_values = true)]
    well_cut_in: Option<String>,
    /// Volume of the well's pressure tank.
    #[arg(long, value_name = "VOLUME", allow_hyphen_values = true)]
    well_tank: Option<String>,
    /// Climate record from which the coldest supply is computed when --cold is left out.
    #[arg(long, value_name = "FILE")]
    series: Option<PathBuf>,
    /// List of tanks (CSV) from which the smallest that fits is named.
    #[arg(long, value_name = "FILE")]
    catalogue: Option<PathBuf>,
    /// Write a one-page record to print (HTML).
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// Write the chart of pressure against water temperature (SVG).
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// Write the chart of tank size against supply pressure (SVG).
    #[arg(long, value_name = "FILE")]
    chart_tank: Option<PathBuf>,
    /// Many systems from a CSV list; the readings above then serve where the list leaves a cell blank.
    #[arg(long, value_name = "FILE")]
    systems: Option<PathBuf>,
    /// With --systems: write the rows that cannot be used, with the reason (CSV).
    #[arg(long, value_name = "FILE", requires = "systems")]
    rejects: Option<PathBuf>,
    /// With --systems: search for the readings that would overturn each answer (slower).
    #[arg(long, requires = "systems")]
    sensitivity: bool,
}

impl Args {
    fn told(&self) -> Told {
        Told {
            heaters: self.heater.clone(),
            pipes: self.pipe.clone(),
            cold_pipes: self.cold_pipe.clone(),
            cold: self.cold.clone(),
            cold_from_climate_c: None,
            hot: self.hot.clone(),
            stacking: self.stacking.clone(),
            static_pressure: self.static_pressure.clone(),
            limit: self.limit.clone(),
            material_credit: self.material_credit,
            elevation: self.elevation.clone(),
            tank_height: self.tank_height.clone(),
            closed_by: self.closed_by.clone(),
            street: self.street.clone(),
            existing_tank: self.existing_tank.clone(),
            precharge: self.precharge.clone(),
            max_acceptance: self.max_acceptance.clone(),
            water_at_air_valve: self.water_at_air_valve,
            tank_temperature: self.tank_temperature.clone(),
            precharge_temperature: self.precharge_temperature.clone(),
            relief_at: self.relief_at.clone(),
            relief_cap: self.relief_cap.clone(),
            heater_relief: self.heater_relief.clone(),
            heater_relief_temperature: self.heater_relief_temperature.clone(),
            rating: self.rating.clone(),
            heat_input: self.heat_input.clone(),
            efficiency: self.efficiency.clone(),
            daily_draw: self.daily_draw.clone(),
            room_for_tank: self.room_for_tank.clone(),
            trapped_air: self.trapped_air.clone(),
            rigid: self.rigid,
            accept_unusual: self.accept_unusual,
            regulator_setting: self.regulator_setting.clone(),
            regulator: self.regulator.clone(),
            well_cut_out: self.well_cut_out.clone(),
            well_cut_in: self.well_cut_in.clone(),
            well_tank: self.well_tank.clone(),
            language: Language::English,
        }
    }
}

/// Runs `expansion`.
pub fn run(args: Args, common: &Common) -> Done {
    let mut notes = Faults::new();
    let mut told = args.told();
    told.language = read_language(&args.language)?;
    let mut coldest_air_c = None;
    if let Some(path) = &args.series {
        let climate = super::expansion_climate::read(path)?;
        told.cold_from_climate_c = Some(climate.coldest_supply_c);
        coldest_air_c = climate.coldest_air_c;
        notes.append(climate.faults);
        for caution in climate.cautions {
            notes.push(Fault::new("BW-X30", Severity::Note, caution));
        }
        if told.cold.is_none() {
            notes.push(
                Fault::new(
                    "BW-X30",
                    Severity::Note,
                    format!(
                        "coldest supply taken from the climate record: {}",
                        crate::units::show_temperature(climate.coldest_supply_c, common.system())
                    ),
                )
                .remedy("It is a norm; a surface supply in a cold spell can be several degrees colder. Give --cold where it is measured."),
            );
        }
    }
    let tanks = match &args.catalogue {
        Some(path) => read_catalogue(path, common.system())?,
        None => Vec::new(),
    };
    if let Some(path) = &args.systems {
        for (given, option) in [
            (args.record.is_some(), "--record"),
            (args.chart.is_some(), "--chart"),
            (args.chart_tank.is_some(), "--chart-tank"),
        ] {
            if given {
                return Err(Fault::new(
                    "BW-X31",
                    Severity::Fatal,
                    format!("{option} is for one system and does not go with --systems"),
                )
                .remedy("Run the one system alone.")
                .into());
            }
        }
        notes.0.retain(|fault| !common.quiet || fault.severity > Severity::Note);
        common::report(&notes);
        let batch = Batch {
            defaults: &told,
            coldest_air_c,
            tanks: &tanks,
            sensitivity: args.sensitivity,
        };
        return run_systems(path, args.rejects.as_deref(), &batch, common);
    }
    let mut system = told.read(common.system())?;
    system.coldest_air_c = coldest_air_c;
    unit_notes(&told, common.system(), &mut notes);
    let mut answer = assess(&system)?;
    choose(&tanks, &system, &mut answer, &mut notes);
    if let Some(path) = &args.record {
        write_file_atomically(path, expansion_record::html(&told, &system, &answer).as_bytes())?;
    }
    if let Some(path) = &args.chart {
        let svg = charts_expansion::pressure(&system, &answer).map_err(|error| chart_fault(&error))?;
        write_file_atomically(path, svg.as_bytes())?;
    }
    if let Some(path) = &args.chart_tank {
        let svg = charts_expansion::tank_size(&system, &answer).map_err(|error| chart_fault(&error))?;
        write_file_atomically(path, svg.as_bytes())?;
    }
    let text = match common.format {
        Format::Table => expansion_text::text(&system, &answer, args.explain),
        Format::Json => json(&told, common.system(), &answer)?,
        Format::Csv => csv_text(&[expansion_text::csv_cells("", &answer)])?,
    };
    notes.append(Faults(answer.warnings));
    // Quiet keeps notes back, not a reading that looks wrong.
    notes.0.retain(|fault| !common.quiet || fault.severity > Severity::Note);
    common::report(&notes);
    // A reading to look at again does not make the answer partial: all input was used.
    common::print(&text)
}

fn read_language(word: &str) -> Result<Language, Fault> {
    Language::ALL
        .iter()
        .copied()
        .find(|language| language.word() == word.trim())
        .ok_or_else(|| {
            Fault::new("BW-X35", Severity::Fatal, "this language is not there")
                .value(word)
                .expected("en or es")
        })
}

/// Names the smallest tank of a list that fits.
pub(super) fn choose(tanks: &[CatalogueTank], system: &System, answer: &mut Assessment, notes: &mut Faults) {
    // A tank is named only where one is advised.
    let fits = answer
        .recommendation
        .steps
        .iter()
        .any(|step| matches!(step, Step::FitTank { .. }));
    let Some(min_volume_l) = answer.tank.min_volume_l.filter(|_| fits) else {
        return;
    };
    if tanks.is_empty() || answer.expansion.volume_l <= 0.0 {
        return;
    }
    match smallest_that_fits(tanks, min_volume_l, answer.expansion.volume_l, system.limit_gauge_pa) {
        Some(tank) => {
            answer.tank.from_catalogue = Some(Choice {
                name: tank.name.clone(),
                volume_l: tank.volume_l,
                max_acceptance_l: tank.max_acceptance_l,
            });
        }
        None => notes.push(
            Fault::new("BW-X32", Severity::Note, "no tank of the list is large enough")
                .remedy("Two tanks side by side share the work, or lower the supply pressure."),
        ),
    }
}

/// Notes about units that are easily mistaken.
fn unit_notes(told: &Told, units: UnitSystem, notes: &mut Faults) {
    for text in &told.heaters {
        let squeezed: String = text
            .to_lowercase()
            .chars()
            .filter(|c| c.is_ascii_alphabetic())
            .collect();
        if squeezed.starts_with("imp") || squeezed.starts_with("uk") {
            notes.push(
                Fault::new("BW-X33", Severity::Note, "read as imperial gallons of 4.546 L")
                    .column("heater")
                    .value(text),
            );
        } else if units == UnitSystem::Si && squeezed.starts_with("gal") {
            notes.push(
                Fault::new("BW-X33", Severity::Note, "read as US gallons of 3.785 L")
                    .column("heater")
                    .value(text)
                    .remedy("Write \"imp gal\" for imperial gallons."),
            );
        }
    }
}

/// The inputs as they were told with the units of bare numbers, so that the answer can be made again, and the answer.
#[derive(serde::Serialize)]
pub(super) struct Echoed<'a> {
    units: &'static str,
    inputs: &'a Told,
    #[serde(flatten)]
    answer: &'a Assessment,
}

impl<'a> Echoed<'a> {
    pub(super) fn new(inputs: &'a Told, units: UnitSystem, answer: &'a Assessment) -> Self {
        let units = match units {
            UnitSystem::Us => "us",
            UnitSystem::Si => "si",
        };
        Self { units, inputs, answer }
    }
}

fn json(told: &Told, units: UnitSystem, answer: &Assessment) -> Result<String, Fault> {
    serde_json::to_string_pretty(&Echoed::new(told, units, answer))
        .map(|text| text + "\n")
        .map_err(|error| {
            Fault::new(
                "BW-O04",
                Severity::Fatal,
                format!("the answer cannot be written as JSON: {error}"),
            )
        })
}

/// Rows of results as CSV with their header.
pub(super) fn csv_text(rows: &[Vec<String>]) -> Result<String, Fault> {
    let failed = |error: String| Fault::new("BW-O04", Severity::Fatal, format!("the CSV cannot be written: {error}"));
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer
        .write_record(expansion_text::CSV_HEADER)
        .map_err(|error| failed(error.to_string()))?;
    for row in rows {
        writer.write_record(row).map_err(|error| failed(error.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(error.to_string()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn chart_fault(error: &crate::output::charts::ChartError) -> Fault {
    Fault::new("BW-O05", Severity::Fatal, error.to_string())
}
