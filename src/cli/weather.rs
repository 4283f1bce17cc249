//! `brimwater weather`: get a forecast, see a series, cold extremes, coldest supply water.

use super::common::{self, Common, Failure, Format};
use super::{Done, weather_fetch, weather_replay};
use crate::faults::{Fault, Faults, Severity};
use crate::input::file::{read_whole, shown};
use crate::output::safe::target::{Make, Target, may_write};
use crate::output::weather_extremes::{extremes_json, extremes_table, winters_csv};
use crate::output::weather_inlet::{inlet_csv, inlet_json, inlet_table};
use crate::output::{charts_weather, weather as out};
use crate::weather::extremes::{Extremes, extremes, winters};
use crate::weather::inlet::inlet_of;
use crate::weather::readers::{Found, ReadOptions, read_reported};
use chrono_tz::Tz;
use std::path::{Path, PathBuf};

/// Arguments of `weather`.
#[derive(clap::Args)]
pub struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(clap::Subcommand)]
enum Command {
    /// Get the forecast for a point from the US weather service, or another one with its interface.
    Fetch(weather_fetch::Args),
    /// See a weather file: what it holds, by day, what is missing, what was set aside.
    #[command(after_help = "Example: brimwater weather show forecast.csv --chart forecast.svg")]
    Show(FileArgs),
    /// How cold it gets and how often, from a station's record of many winters.
    #[command(after_help = "Example: brimwater weather extremes USW00012345.dly --chart cold.svg")]
    Extremes(ExtremesArgs),
    /// Supply-water temperature through the year, from a record of a year or more.
    #[command(after_help = "Example: brimwater weather inlet station.csv --format json")]
    Inlet(FileArgs),
    /// Forecasts for the days of a record, with errors as large as measured ones: a winter to rehearse with.
    Reforecast(weather_replay::ReforecastArgs),
    /// What a watch told against the nights that came: misses, false alarms, how long before.
    Verify(weather_replay::VerifyArgs),
}

#[derive(clap::Args)]
struct FileArgs {
    /// A weather file of any format that is recognized.
    file: PathBuf,
    #[command(flatten)]
    reading: ReadingArgs,
}

#[derive(clap::Args)]
struct ExtremesArgs {
    /// Weather files of one station.
    #[arg(required = true)]
    files: Vec<PathBuf>,
    /// Tell the winters and no return periods; any length of record will do.
    #[arg(long)]
    winters_only: bool,
    #[command(flatten)]
    reading: ReadingArgs,
}

#[derive(clap::Args)]
pub(super) struct ReadingArgs {
    /// The station, when the file holds several.
    #[arg(long, value_name = "ID")]
    station: Option<String>,
    /// Time zone of times written without an offset, and of what is shown, such as America/Chicago.
    #[arg(long, value_name = "ZONE")]
    zone: Option<String>,
    /// Draw a chart into this SVG file.
    #[arg(long, value_name = "FILE.svg")]
    chart: Option<PathBuf>,
    /// Accepted for likeness with other commands: here gaps never stop the run, they are shown.
    #[arg(long, hide = true)]
    allow_gaps: bool,
}

/// Runs `weather`.
pub fn run(args: Args, common: &Common) -> Done {
    match args.command {
        Command::Fetch(args) => weather_fetch::run(args, common),
        Command::Show(args) => show(&args, common),
        Command::Extremes(args) => cold(&args, common),
        Command::Inlet(args) => inlet(&args, common),
        Command::Reforecast(args) => weather_replay::reforecasts(&args, common),
        Command::Verify(args) => weather_replay::verify(&args, common),
    }
}

/// Reads files; gaps are bridged here and shown, for looking at a gappy record is what these commands are for.
pub(super) fn read(
    files: &[&Path],
    reading: &ReadingArgs,
    common: &Common,
) -> Result<(Vec<Found>, Option<Tz>, Faults), Failure> {
    let chart = reading
        .chart
        .as_deref()
        .map(|path| Target::new("--chart", path, Make::Markup));
    may_write(chart.as_slice(), files, common.force)?;
    let mut faults = Faults::new();
    let zone = match &reading.zone {
        None => None,
        Some(name) => match name.parse::<Tz>() {
            Ok(zone) => Some(zone),
            Err(_) => {
                return Err(Fault::new("BW-C06", Severity::Fatal, "this time zone is not known")
                    .column("--zone")
                    .value(name)
                    .expected("a name such as America/Chicago or UTC")
                    .remedy("Correct the name.")
                    .into());
            }
        },
    };
    let options = ReadOptions {
        zone,
        allow_gaps: true,
        ..ReadOptions::default()
    };
    let mut found = Vec::new();
    for path in files {
        match read_whole(path) {
            Ok(bytes) => {
                let (mut these, told) = read_reported(&bytes, &shown(path), &options);
                found.append(&mut these);
                faults.append(told);
            }
            Err(fault) => faults.push(fault),
        }
    }
    if let Some(wanted) = &reading.station {
        let names: Vec<String> = found.iter().map(|one| one.station.station_id.clone()).collect();
        found.retain(|one| one.station.station_id == *wanted);
        if found.is_empty() && !faults.is_fatal() {
            faults.push(
                Fault::new("BW-S54", Severity::Fatal, "the files do not hold this station")
                    .column("--station")
                    .value(wanted)
                    .expected(format!("one of {}", names.join(", "))),
            );
        }
    }
    if faults.is_fatal() {
        return Err(faults.into());
    }
    Ok((found, zone, faults))
}

/// Writes the chart where it was asked for.
fn draw(
    place: Option<&PathBuf>,
    chart: impl FnOnce() -> Result<String, crate::output::charts::ChartError>,
) -> Result<(), Failure> {
    if let Some(place) = place {
        // Looked at before the files were read.
        let target = Target::new("--chart", place, Make::Markup);
        let svg = chart().map_err(|error| {
            Failure::one(Fault::new("BW-O10", Severity::Fatal, error.to_string()).file(shown(place)))
        })?;
        target.write(svg.as_bytes())?;
    }
    Ok(())
}

/// Prints the answer, tells the faults and gives the exit status.
fn answer(text: &str, faults: &Faults, common: &Common) -> Done {
    common::print(text)?;
    common.tell(faults);
    Ok(faults.exit_status())
}

fn pretty(value: &serde_json::Value) -> String {
    // Values of our own always serialize; an empty text would show if not.
    serde_json::to_string_pretty(value).unwrap_or_default() + "\n"
}

fn show(args: &FileArgs, common: &Common) -> Done {
    let (found, zone, mut faults) = read(&[&args.file], &args.reading, common)?;
    let zone = zone.unwrap_or(chrono_tz::UTC);
    if let (Some(_), [first, _, ..]) = (&args.reading.chart, found.as_slice()) {
        faults.push(
            Fault::new(
                "BW-S70",
                Severity::Note,
                format!(
                    "the chart shows {}, the first of {} stations",
                    first.station.station_id,
                    found.len()
                ),
            )
            .file(shown(&args.file))
            .remedy("Name another with --station."),
        );
    }
    draw(args.reading.chart.as_ref(), || match found.first() {
        Some(first) => charts_weather::series(first, common.system(), zone),
        None => Err(crate::output::charts::ChartError::new("nothing usable was found")),
    })?;
    let text = match common.format {
        Format::Json => {
            let mut all: Vec<serde_json::Value> = found.iter().filter_map(out::series_json).collect();
            match all.len() {
                1 => pretty(&all.remove(0)),
                _ => pretty(&serde_json::Value::Array(all)),
            }
        }
        Format::Csv => out::series_csv(&found),
        Format::Table => found
            .iter()
            .map(|one| out::series_table(one, common.system(), zone))
            .collect::<Vec<_>>()
            .join("\n"),
    };
    answer(&text, &faults, common)
}

fn cold(args: &ExtremesArgs, common: &Common) -> Done {
    let files: Vec<&Path> = args.files.iter().map(PathBuf::as_path).collect();
    let (found, _, faults) = read(&files, &args.reading, common)?;
    let result: Extremes = if args.winters_only {
        let winters = winters(&found)?;
        Extremes {
            seasons: winters.iter().filter(|winter| winter.is_complete()).count(),
            return_levels: Vec::new(),
            trend: None,
            winters,
            design_c: None,
            leverage: Vec::new(),
            cautions: Vec::new(),
        }
    } else {
        extremes(&found)?
    };
    draw(args.reading.chart.as_ref(), || {
        charts_weather::extremes(&result, common.system())
    })?;
    let text = match common.format {
        Format::Json => pretty(&extremes_json(&result)),
        Format::Csv => winters_csv(&result.winters),
        Format::Table => extremes_table(&result, common.system()),
    };
    answer(&text, &faults, common)
}

fn inlet(args: &FileArgs, common: &Common) -> Done {
    let (found, _, faults) = read(&[&args.file], &args.reading, common)?;
    let one = match found.as_slice() {
        [one] => one,
        several => {
            let names: Vec<&str> = several.iter().map(|one| one.station.station_id.as_str()).collect();
            return Err(
                Fault::new("BW-S52", Severity::Fatal, "the file does not hold exactly one station")
                    .file(shown(&args.file))
                    .expected(format!("one of: {}", names.join(", ")))
                    .remedy("Name one with --station.")
                    .into(),
            );
        }
    };
    let result = inlet_of(one).map_err(|fault| fault.file(shown(&args.file)))?;
    draw(args.reading.chart.as_ref(), || {
        charts_weather::inlet(&result, common.system())
    })?;
    let text = match common.format {
        Format::Json => pretty(&inlet_json(&result)),
        Format::Csv => inlet_csv(&result),
        Format::Table => inlet_table(&result, common.system()),
    };
    answer(&text, &faults, common)
}
