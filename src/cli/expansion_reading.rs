//! `brimwater expansion reading FILE`: what a gauge read before, while and after a heating says about the plumbing.

use super::Done;
use super::common::{self, Common, Failure, Format};
use super::expansion::{csv_rows, read_language};
use super::expansion_readings::ReadingArgs;
use super::expansion_table::UnitTable;
use crate::expansion::Told;
use crate::expansion::gauge::{self, Doing, Errors, GaugeReading, Unusable};
use crate::faults::{Fault, Faults, Severity};
use crate::input::file;
use crate::output::expansion_gauge;
use crate::units::{
    UnitSystem, parse_gauge_pa, parse_temperature_c, parse_temperature_difference_k, show_gauge, show_temperature,
};
use std::path::{Path, PathBuf};

/// Arguments of `expansion reading`.
#[derive(clap::Args)]
#[command(after_help = "The file is a CSV list with a row a reading:\n  \
minute,gauge_psi,water_f,doing\n  0,60,110,rest\n  10,71,118,heating\n  20,82,125,heating\n  80,81.5,124.6,stand\n\
doing is rest (before), heating, or stand (after, nothing heats); taps shut all along. gauge_kpa, gauge_bar, water_c are read, too.\n\
water_f is the stored water, felt at the tap nearest to the heater or on its thermometer.\n\n\
Example: brimwater expansion reading test.csv --heater \"50 gal\" --existing-tank \"2 gal\" --precharge \"60 psi\"\n\n\
A planning aid: local code, the maker's instructions and licensed people decide.")]
pub struct ReadingFile {
    /// The readings (CSV): minute, gauge_psi, water_f, doing.
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// How far a pressure may be off, one standard error; 1 psi when left out.
    #[arg(long, value_name = "PRESSURE")]
    gauge_error: Option<String>,
    /// How far a temperature of the water may be off, one standard error; 3 °F when left out.
    #[arg(long, value_name = "DIFFERENCE")]
    temperature_error: Option<String>,
    /// Language of the answer: en or es.
    #[arg(long, value_name = "LANGUAGE", default_value = "en")]
    language: String,
    #[command(flatten)]
    readings: ReadingArgs,
}

/// Runs `expansion reading`.
pub(super) fn run(args: ReadingFile, common: &Common) -> Done {
    let units = common.system();
    let language = read_language(&args.language)?;
    let mut told = args.readings.0;
    told.language = language;
    let mut faults = Faults::new();
    let errors = read_errors(
        args.gauge_error.as_deref(),
        args.temperature_error.as_deref(),
        units,
        &mut faults,
    );
    let readings = read_file(&args.file, units)?;
    // The readings themselves tell cold, hot and static.
    stand_in(&mut told, &readings, units);
    let system = match told.read(units) {
        Ok(system) => system,
        Err(more) => {
            faults.append(more);
            return Err(faults.into());
        }
    };
    if faults.is_fatal() {
        return Err(faults.into());
    }
    let checked = system.check();
    if checked.is_fatal() {
        return Err(checked.into());
    }
    let answer = gauge::read(&system, &readings, &errors).map_err(|why| unusable(&why, &args.file))?;
    let text = match common.format {
        Format::Table => expansion_gauge::text(&answer, system.existing.len(), system.tongue()),
        Format::Json => serde_json::to_string_pretty(&answer)
            .map(|text| text + "\n")
            .map_err(|error| {
                Fault::new(
                    "BW-O04",
                    Severity::Fatal,
                    format!("the answer cannot be written as JSON: {error}"),
                )
            })?,
        Format::Csv => csv_rows(&expansion_gauge::CSV_HEADER, &[expansion_gauge::csv_cells(&answer)])?,
    };
    common::report(&faults);
    common::print(&text)
}

fn read_errors(gauge: Option<&str>, temperature: Option<&str>, units: UnitSystem, faults: &mut Faults) -> Errors {
    let mut errors = Errors::default();
    let mut read = |field: &str, text: Option<&str>, parsed: Option<Result<f64, String>>, target: &mut f64| match parsed
    {
        Some(Ok(value)) if value > 0.0 => *target = value,
        Some(other) => {
            let what = other
                .err()
                .unwrap_or_else(|| "an error of reading is above zero".into());
            faults.push(
                Fault::new("BW-X22", Severity::Fatal, what)
                    .column(field)
                    .value(text.unwrap_or("")),
            );
        }
        None => {}
    };
    let pressure = gauge.map(|text| parse_gauge_pa(text, units).map_err(|error| error.to_string()));
    let warmth = temperature.map(|text| parse_temperature_difference_k(text, units).map_err(|error| error.to_string()));
    read("gauge-error", gauge, pressure, &mut errors.gauge_pa);
    read("temperature-error", temperature, warmth, &mut errors.temperature_k);
    errors
}

/// Gives the system the cold, hot and static of the test, so that only heater, pipes and tank need be told.
fn stand_in(told: &mut Told, readings: &[GaugeReading], units: UnitSystem) {
    let waters = || readings.iter().filter_map(|each| each.water_c);
    let shown = |celsius: Option<f64>| celsius.map(|celsius| show_temperature(celsius, units));
    told.cold = told.cold.take().or(shown(waters().reduce(f64::min)));
    told.hot = told.hot.take().or(shown(waters().reduce(f64::max)));
    let rest = readings.iter().find(|each| each.doing == Doing::Rest);
    told.static_pressure = told
        .static_pressure
        .take()
        .or(rest.map(|each| show_gauge(each.gauge_pa, units)));
    // A test warms by less than a day does, and reaches what it reaches.
    told.accept_unusual = true;
}

fn unusable(why: &Unusable, path: &Path) -> Failure {
    let (what, expected) = match why {
        Unusable::NoRest => (
            "no reading at rest tells pressure and temperature".to_string(),
            "a row with doing = rest, its pressure and the stored water's temperature",
        ),
        Unusable::NoHeating => (
            "no reading of the heating tells pressure and temperature".to_string(),
            "a row with doing = heating at the end of the heating, its pressure and the stored water's temperature",
        ),
        Unusable::NotWarmed => (
            "the water is no warmer at the end of the heating than at rest".to_string(),
            "a heating of some 10 °F or more with the taps shut",
        ),
        Unusable::OutOfRange(error) => (error.to_string(), "liquid water"),
    };
    Fault::new("BW-X52", Severity::Fatal, what)
        .file(file::shown(path))
        .expected(expected)
        .remedy("Draw hot water until the burner starts, shut every tap, and read again.")
        .into()
}

/// Reads the file: every row, or every fault of it.
fn read_file(path: &Path, units: UnitSystem) -> Result<Vec<GaugeReading>, Failure> {
    let mut table = UnitTable::open(path, &["minute", "gauge", "water", "doing"])?;
    let (Some(minute), Some(pressure), Some(doing)) =
        (table.place("minute"), table.place("gauge"), table.place("doing"))
    else {
        return Err(table.lacks(
            "BW-X50",
            "a needed column is missing from the readings",
            "minute, gauge_psi, water_f, doing; or gauge_kpa, gauge_bar, water_c",
        ));
    };
    let water = table.place("water");
    let mut readings = Vec::new();
    while table.next()? {
        let mut wrong = Vec::new();
        let time = table
            .cell(minute.0)
            .parse::<f64>()
            .ok()
            .filter(|value| value.is_finite());
        if time.is_none() {
            wrong.push((
                "minute",
                "this is not a number of minutes".to_string(),
                "minutes from any start, such as 20",
            ));
        }
        let gauge_pa = match parse_gauge_pa(&table.with_unit(pressure), units) {
            Ok(pascal) if (0.0..=7e6).contains(&pascal) => Some(pascal),
            Ok(_) => {
                wrong.push(("gauge", "no gauge on plumbing reads this".into(), "0 to 1000 psi"));
                None
            }
            Err(error) => {
                wrong.push(("gauge", error.to_string(), "a pressure such as 60 psi"));
                None
            }
        };
        let told = water
            .map(|place| table.with_unit(place))
            .filter(|text| !text.is_empty());
        let water_c = match told.map(|text| parse_temperature_c(&text, units)) {
            None => None,
            Some(Ok(celsius)) if (0.0..=120.0).contains(&celsius) => Some(celsius),
            Some(Ok(_)) => {
                wrong.push((
                    "water",
                    "stored water is not at this temperature".into(),
                    "32 to 248 °F (0 to 120 °C)",
                ));
                None
            }
            Some(Err(error)) => {
                wrong.push(("water", error.to_string(), "a temperature such as 120 F"));
                None
            }
        };
        let what = Doing::parse(table.cell(doing.0));
        if what.is_none() {
            wrong.push(("doing", "this is not known".into(), "rest, heating or stand"));
        }
        for (field, what, expected) in wrong {
            table.wrong(
                Fault::new("BW-X51", Severity::Fatal, what)
                    .column(field)
                    .expected(expected)
                    .remedy("Mend the line, or take it out."),
            );
        }
        if let (Some(minute), Some(gauge_pa), Some(doing)) = (time, gauge_pa, what) {
            readings.push(GaugeReading {
                minute,
                gauge_pa,
                water_c,
                doing,
            });
        }
    }
    table.whole(readings)
}
