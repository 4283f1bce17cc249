//! `brimwater expansion`.

use super::expansion_catalogue::read_catalogue;
use super::expansion_lists::{Batch, run_systems};
use super::expansion_readings::ReadingArgs;
use super::{Done, common, common::Common, common::Failure, common::Format};
use crate::expansion::catalogue::{CatalogueTank, chosen, wants_tank};
use crate::expansion::{Assessment, Told, assess};
use crate::faults::{Fault, Faults, Severity};
use crate::language::Language;
use crate::output::charts::Form;
use crate::output::safe::target::{Make, Target, may_write};
use crate::output::{charts_expansion, expansion_csv, expansion_record, expansion_text};
use crate::units::UnitSystem;
use std::path::{Path, PathBuf};

/// What else `expansion` does.
#[derive(clap::Subcommand)]
enum What {
    /// What a gauge read before, while and after a heating says about the plumbing.
    Reading(Box<super::expansion_reading::ReadingFile>),
}

/// Arguments of `expansion`.
#[derive(clap::Args)]
#[command(
    args_conflicts_with_subcommands = true,
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
    #[command(subcommand)]
    what: Option<What>,
    #[command(flatten)]
    readings: ReadingArgs,
    /// Tell everything: alternatives, every reason, all cautions.
    #[arg(long)]
    explain: bool,
    /// Language of the answer and the record: en or es.
    #[arg(long, value_name = "LANGUAGE", default_value = "en")]
    language: String,
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

/// Runs `expansion`.
pub fn run(args: Args, common: &Common) -> Done {
    let mut args = args;
    if let Some(What::Reading(reading)) = args.what.take() {
        return super::expansion_reading::run(*reading, common);
    }
    let mut notes = Faults::new();
    let mut told = args.readings.0.clone();
    told.language = read_language(&args.language)?;
    let targets = Targets::of(&args, common)?;
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
        common.tell(&notes);
        let batch = Batch {
            defaults: &told,
            coldest_air_c,
            tanks: &tanks,
            sensitivity: args.sensitivity,
        };
        return run_systems(path, targets.rejects, &batch, common);
    }
    let mut system = told.read(common.system())?;
    system.coldest_air_c = coldest_air_c;
    unit_notes(&told, common.system(), &mut notes);
    let mut answer = assess(&system)?;
    choose(&tanks, &mut answer, &mut notes);
    if let Some(target) = targets.record {
        target.write(expansion_record::html(&told, &system, &answer).as_bytes())?;
    }
    if let Some(target) = targets.chart {
        let svg = charts_expansion::pressure(&system, &answer, Form::Wide).map_err(|error| chart_fault(&error))?;
        target.write(svg.as_bytes())?;
    }
    if let Some(target) = targets.chart_tank {
        let svg = charts_expansion::tank_size(&system, &answer).map_err(|error| chart_fault(&error))?;
        target.write(svg.as_bytes())?;
    }
    let text = match common.format {
        Format::Table => expansion_text::text(&system, &answer, args.explain),
        Format::Json => json(&told, common.system(), &answer)?,
        Format::Csv => csv_rows(
            &expansion_csv::CSV_HEADER,
            &[expansion_csv::csv_cells("", &answer, system.tongue())],
        )?,
    };
    notes.append(Faults(answer.warnings));
    // Quiet keeps notes back, not a reading that looks wrong.
    common.tell(&notes);
    // A reading to look at again does not make the answer partial: all input was used.
    common::print(&text)
}

/// The files that the user names for an answer.
struct Targets<'a> {
    record: Option<Target<'a>>,
    chart: Option<Target<'a>>,
    chart_tank: Option<Target<'a>>,
    rejects: Option<Target<'a>>,
}

impl<'a> Targets<'a> {
    /// Checked before anything is read.
    fn of(args: &'a Args, common: &Common) -> Result<Self, Failure> {
        let markup =
            |option, path: &'a Option<PathBuf>| path.as_deref().map(|path| Target::new(option, path, Make::Markup));
        let path = |path: &'a Option<PathBuf>| path.as_deref();
        let targets = Self {
            record: path(&args.record).map(|path| Target::private("--record", path, Make::Markup)),
            chart: markup("--chart", &args.chart),
            chart_tank: markup("--chart-tank", &args.chart_tank),
            rejects: path(&args.rejects)
                .map(|path| Target::private("--rejects", path, Make::Table(&crate::output::rejects_csv::COLUMNS))),
        };
        let inputs: Vec<&Path> = [&args.series, &args.catalogue, &args.systems]
            .into_iter()
            .filter_map(path)
            .collect();
        let all = [targets.record, targets.chart, targets.chart_tank, targets.rejects];
        let all: Vec<Target<'_>> = all.into_iter().flatten().collect();
        may_write(&all, &inputs, common.force)?;
        Ok(targets)
    }
}

pub(super) fn read_language(word: &str) -> Result<Language, Fault> {
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

/// Names the smallest tank of a list that fits, or the fewest that fit together.
pub(super) fn choose<W>(tanks: &[CatalogueTank], answer: &mut Assessment<W>, notes: &mut Faults) {
    if tanks.is_empty() || !wants_tank(answer) {
        return;
    }
    answer.tank.from_catalogue = chosen(tanks, answer);
    if answer.tank.from_catalogue.is_none() {
        notes.push(
            Fault::new(
                "BW-X32",
                Severity::Note,
                "no tank of the list is large enough, nor are four of them side by side",
            )
            .remedy("Give a list with larger tanks, or lower the supply pressure."),
        );
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
        } else if units != UnitSystem::Us && squeezed.starts_with("gal") {
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
        Self {
            units: units.word(),
            inputs,
            answer,
        }
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

/// Rows as CSV under a header.
pub(super) fn csv_rows(header: &[&str], rows: &[Vec<String>]) -> Result<String, Fault> {
    let failed = |error: String| Fault::new("BW-O04", Severity::Fatal, format!("the CSV cannot be written: {error}"));
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(header).map_err(|error| failed(error.to_string()))?;
    for row in rows {
        writer.write_record(row).map_err(|error| failed(error.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|error| failed(error.to_string()))?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}

fn chart_fault(error: &crate::output::charts::ChartError) -> Fault {
    Fault::new("BW-O05", Severity::Fatal, error.to_string())
}
