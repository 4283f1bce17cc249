//! `brimwater demo`.

use super::common::{Common, Format, print_done};
use super::{Done, common::Failure, demo_winters};
use crate::demo::winters::MOST;
use crate::demo::{DEFAULT_ASSEMBLIES, DEFAULT_SEED, MOST_ASSEMBLIES, Wish, ZONE, write};
use crate::faults::{Fault, Severity};
use crate::output::safe::{Folder, Placed};
use chrono::{NaiveDate, TimeDelta, Utc};
use std::path::{Path, PathBuf};

/// Arguments of `demo`.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  brimwater demo --out demo\n  brimwater check --assemblies demo/assemblies.csv \
--series demo/forecast.csv --stations demo/stations.csv --config demo/config.toml\n\nEverything it writes is invented."
)]
pub struct Args {
    /// Folder to make; an existing one must be empty or made by this program.
    #[arg(long, value_name = "DIR")]
    out: PathBuf,
    /// Rows of the list.
    #[arg(long, value_name = "N", default_value_t = DEFAULT_ASSEMBLIES)]
    assemblies: usize,
    /// Seed of every draw: the same seed gives the same bytes.
    #[arg(long, value_name = "S", default_value_t = DEFAULT_SEED)]
    seed: u64,
    /// First day of the forecast; the cold nights are the third and fourth.
    #[arg(long, value_name = "DATE", default_value_t = Wish::default().first_day)]
    start: NaiveDate,
    /// Lets the spell be under way today: the first cold night was last night, the second is tonight. To rehearse the middle of a spell, with
    /// reports in the log, which takes no time that has not come.
    #[arg(long, conflicts_with = "start")]
    under_way: bool,
    /// Puts so many winters behind the town, planned and recorded, with a truth unlike the model's judgement: to see `review` learn. The
    /// programme stands in a folder of its own then.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1..=MOST as u64))]
    winters: Option<u64>,
}

/// The first day of a spell whose first cold night was last night, by the clock of the town.
fn under_way() -> NaiveDate {
    Utc::now().with_timezone(&ZONE).date_naive() - TimeDelta::days(3)
}

fn with_winters(out: &Path, wish: &Wish, count: usize, common: &Common) -> Done {
    let made = demo_winters::make(out, wish, count, common)?;
    let walk = demo_winters::walk(out).display().to_string();
    let text = match common.format {
        Format::Json => {
            let told = serde_json::json!({
                "schema": "brimwater.demo/1",
                "out": out.display().to_string(),
                "folders": made,
                "assemblies": wish.assemblies,
                "seed": wish.seed,
                "start": wish.first_day,
            });
            format!("{told}\n")
        }
        Format::Csv => format!("folder\n{}\n", made.join("\n")),
        Format::Table => format!(
            "Wrote an invented programme with {count} winters behind it into {}: {}.\nNext: the walk in {walk}\n",
            out.display(),
            made.join(", ")
        ),
    };
    Ok(print_done(&text, "The winters were written"))
}

/// Runs `demo`.
pub fn run(args: Args, common: &Common) -> Done {
    if !(1..=MOST_ASSEMBLIES).contains(&args.assemblies) {
        return Err(
            Fault::new("BW-P20", Severity::Fatal, "a programme of this size is not made")
                .column("--assemblies")
                .value(&args.assemblies.to_string())
                .expected(format!("1 to {MOST_ASSEMBLIES}"))
                .remedy("Give another number.")
                .into(),
        );
    }
    // Years that the calendars of time zones know.
    if !(1970..=2100).contains(&chrono::Datelike::year(&args.start)) {
        return Err(Fault::new("BW-P21", Severity::Fatal, "the forecast cannot begin then")
            .column("--start")
            .value(&args.start.to_string())
            .expected("a day from 1970 to 2100")
            .remedy("Give another day.")
            .into());
    }
    let wish = Wish {
        assemblies: args.assemblies,
        seed: args.seed,
        first_day: if args.under_way { under_way() } else { args.start },
    };
    if let Some(count) = args.winters {
        return with_winters(&args.out, &wish, count as usize, common);
    }
    let folder = Folder::build_beside(&args.out).map_err(Failure::one)?;
    let names = write(&wish, &folder).map_err(Failure::one)?;
    let Placed { place, told } = folder.finish().map_err(Failure::one)?;
    common.tell(&told);
    let shown = place.display().to_string();
    let text = match common.format {
        Format::Json => {
            let text = serde_json::json!({
                "schema": "brimwater.demo/1",
                "out": shown,
                "files": names,
                "assemblies": wish.assemblies,
                "seed": wish.seed,
                "start": wish.first_day,
            });
            format!("{text}\n")
        }
        Format::Csv => {
            let rows: String = names.iter().map(|name| format!("{name}\n")).collect();
            format!("file\n{rows}")
        }
        Format::Table => {
            let at = |name: &str| place.join(name).display().to_string();
            format!(
                "Wrote an invented programme of {} assemblies into {shown}: {}.\n\
                 The cold nights begin on {} and {}.\n\
                 Next: brimwater check --assemblies {} --series {} --stations {} --config {}\n",
                wish.assemblies,
                names.join(", "),
                wish.first_day + chrono::TimeDelta::days(2),
                wish.first_day + chrono::TimeDelta::days(3),
                at("assemblies.csv"),
                at("forecast.csv"),
                at("stations.csv"),
                at("config.toml"),
            )
        }
    };
    Ok(print_done(&text, "The programme was written").max(told.exit_status()))
}
