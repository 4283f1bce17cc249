//! `brimwater weather reforecast` and `brimwater weather verify`: a winter that is over, to rehearse with, and what was told in it.

use super::Done;
use super::common::{self, Common, Failure, Format};
use super::weather::{ReadingArgs, read};
use crate::faults::{Fault, Faults, Severity};
use crate::input::file::shown;
use crate::output::safe::Folder;
use crate::output::weather::hours_of;
use crate::output::weather_verify::{verify_json, verify_table};
use crate::units::parse_temperature_c;
use crate::watch::newest::words;
use crate::watch::verify::count;
use crate::weather::Series;
use crate::weather::reforecast::{Wish, file_name, reforecast};
use chrono_tz::Tz;
use std::path::{Path, PathBuf};

/// Arguments of `reforecast`.
#[derive(clap::Args)]
#[command(after_help = "Example, a winter of your own record, rehearsed:\n  \
brimwater weather reforecast winter.csv --zone America/Chicago --out rehearsal\n  \
brimwater watch --config config.toml --replay rehearsal\n  \
brimwater weather verify winter.csv --zone America/Chicago --told rehearsal/replay/told.jsonl")]
pub struct ReforecastArgs {
    /// The hours that came: a weather file of any format that is recognized.
    file: PathBuf,
    #[command(flatten)]
    reading: ReadingArgs,
    /// Folder for the forecasts, one file a day, named by its issue.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Seed of the errors: the same seed draws the same winter.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Days that a forecast reaches.
    #[arg(long, default_value_t = 7, value_parser = clap::value_parser!(u8).range(2..=10))]
    days: u8,
    /// Local hour at which each day's forecast is issued.
    #[arg(long, default_value_t = 6, value_parser = clap::value_parser!(u8).range(0..=23))]
    hour: u8,
}

/// Arguments of `verify`.
#[derive(clap::Args)]
#[command(
    after_help = "Example: brimwater weather verify winter.csv --zone America/Chicago --told rehearsal/replay/told.jsonl"
)]
pub struct VerifyArgs {
    /// The hours that came: a weather file of any format that is recognized.
    file: PathBuf,
    #[command(flatten)]
    reading: ReadingArgs,
    /// What the watch told: the told.jsonl of its folder, or of a replay.
    #[arg(long, value_name = "FILE")]
    told: PathBuf,
    /// A night counts as one that froze when its air came down to this.
    #[arg(long, value_name = "TEMPERATURE", default_value = "28 F")]
    below: String,
}

/// The one station of a record that is to be rehearsed, and the zone of its nights.
fn one(file: &Path, reading: &ReadingArgs, common: &Common) -> Result<(Series, Tz, Faults), Failure> {
    let (found, zone, mut faults) = read(&[file], reading, common)?;
    let mut names: Vec<String> = found.iter().map(|one| one.station.station_id.clone()).collect();
    names.dedup();
    let mut hourly = found.into_iter().filter_map(|one| one.series);
    let series = hourly.next();
    match series {
        Some(series) if names.len() == 1 => Ok((series, zone.unwrap_or(Tz::UTC), faults)),
        Some(_) => {
            faults.push(
                Fault::new(
                    "BW-S95",
                    Severity::Fatal,
                    "the file holds several stations, and one is rehearsed",
                )
                .file(shown(file))
                .expected(format!("--station, one of {}", names.join(", "))),
            );
            Err(faults.into())
        }
        None => {
            faults.push(
                Fault::new(
                    "BW-S96",
                    Severity::Fatal,
                    "the file holds no hours that can be rehearsed",
                )
                .file(shown(file))
                .expected("an hourly record; a daily one has no hours"),
            );
            Err(faults.into())
        }
    }
}

/// Runs `reforecast`.
pub fn reforecasts(args: &ReforecastArgs, common: &Common) -> Done {
    let (record, zone, faults) = one(&args.file, &args.reading, common)?;
    let wish = Wish {
        seed: args.seed,
        hour: u32::from(args.hour),
        reach_h: usize::from(args.days) * 24,
        zone,
    };
    let all = reforecast(&record, &wish);
    let (Some(first), Some(last)) = (all.first(), all.last()) else {
        let fault = Fault::new(
            "BW-S97",
            Severity::Fatal,
            "the record is too short: no day of it has the hour of issue and a day after it",
        )
        .file(shown(&args.file))
        .expected("two days or more");
        return Err(fault.into());
    };
    let folder = Folder::build_beside(&args.out)?;
    for forecast in &all {
        folder.write(&file_name(forecast.start), hours_of(forecast).as_bytes())?;
    }
    let said = match common.format {
        Format::Json => format!(
            "{}\n",
            serde_json::json!({
                "schema": "brimwater.reforecast/1",
                "forecasts": all.len(),
                "first": first.start,
                "last": last.start,
                "seed": args.seed,
                "folder": shown(&args.out),
            })
        ),
        _ => format!(
            "{} forecasts of {} days, one a day from {} to {}, drawn with seed {}, are in {}.\n\
             They rehearse: no service made them, and their errors are drawn.\n\
             Next: brimwater watch --config config.toml --replay {}\n",
            all.len(),
            args.days,
            first.start.with_timezone(&zone).format("%Y-%m-%d"),
            last.start.with_timezone(&zone).format("%Y-%m-%d"),
            args.seed,
            shown(&args.out),
            shown(&args.out)
        ),
    };
    folder.finish()?;
    common.tell(&faults);
    Ok(common::print_done(&said, "The forecasts were written").max(faults.exit_status()))
}

/// Runs `verify`.
pub fn verify(args: &VerifyArgs, common: &Common) -> Done {
    let below_c = parse_temperature_c(&args.below, common.system()).map_err(|error| {
        Fault::new("BW-S98", Severity::Fatal, "this is no temperature")
            .column("--below")
            .value(&args.below)
            .expected(error.expected().to_owned())
    })?;
    let (record, zone, mut faults) = one(&args.file, &args.reading, common)?;
    let (words, unread) = words(&args.told)?;
    if unread > 0 {
        faults.push(
            Fault::new(
                "BW-W32",
                Severity::Rejected,
                format!("{unread} lines of the record hold no word and were left out"),
            )
            .file(shown(&args.told)),
        );
    }
    let count = count(&record, &words, below_c, zone, record.start);
    let said = match common.format {
        Format::Json => format!("{}\n", verify_json(&count, below_c)),
        _ => verify_table(&count, below_c, zone, common.system()),
    };
    common.tell(&faults);
    Ok(common::print_done(&said, "The count was made").max(faults.exit_status()))
}
