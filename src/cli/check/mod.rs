//! `brimwater check`: reads everything, tells every problem, writes nothing.

mod answer;
mod page;
mod proposed;

use super::common::{Common, Format, print};
use super::inputs::InputArgs;
use super::{Done, common::Failure};
use crate::faults::{Fault, Severity};
use crate::input::file;
use crate::input::load::{Files, Loaded, load};
use crate::outreach::people::merge;
use std::path::PathBuf;

/// Arguments of `check`.
#[derive(clap::Args)]
#[command(
    after_help = "Example:\n  brimwater check --assemblies climate-samples/assemblies.csv --series climate-samples/forecast.csv \
--stations climate-samples/stations.csv --config climate-samples/config.toml\n\
  brimwater check --assemblies your-list.csv --propose your-config.toml\n\n\
Exit status: 0 all can be used, 1 rows would be rejected or data is gappy, 2 nothing could be computed."
)]
pub struct Args {
    #[command(flatten)]
    inputs: InputArgs,
    /// Most problems of one code that are told in full in the table; `--format csv` and `json` tell all.
    #[arg(long, value_name = "N", default_value_t = 5)]
    details: usize,
    /// Find out how the list is made, show which of its columns and words would be taken for which of ours, and write the
    /// `[columns]` and `[values]` of a config to this new file. With --config, what that says already is kept.
    #[arg(long, value_name = "FILE", requires = "assemblies")]
    propose: Option<PathBuf>,
}

/// Runs `check`.
pub fn run(args: Args, common: &Common) -> Done {
    let files = args.inputs.files().map_err(Failure::one)?;
    if files.assemblies.is_none() && files.series.is_empty() && files.stations.is_none() && files.config.is_none() {
        return Err(Fault::new("BW-P22", Severity::Fatal, "there is nothing to check")
            .expected("at least one of --assemblies, --series, --stations, --config")
            .remedy("Name the files to read.")
            .into());
    }
    if let Some(place) = &args.propose {
        return proposed::run(&files, place, common);
    }
    let mut loaded = load(&files);
    people(&mut loaded, &files);
    let text = match common.format {
        Format::Table => page::page(&loaded, common.units, args.details),
        Format::Json => answer::json(&loaded),
        Format::Csv => answer::csv(&loaded.faults),
    };
    print(&text)?;
    Ok(loaded.faults.exit_status())
}

/// Telephone numbers and e-mail addresses are told here as `plan` tells them.
fn people(loaded: &mut Loaded, files: &Files) {
    let list = files.assemblies.as_deref().map(file::shown).unwrap_or_default();
    if loaded.inventory.assemblies.is_empty() {
        return;
    }
    let (_, told) = merge(&loaded.inventory.assemblies, &loaded.config.outreach.people, &list);
    // Who is a switchboard and who opted out is the plan's matter; what can be corrected in the list is told here.
    let cells = told.0.into_iter().filter(|fault| fault.severity >= Severity::Warning);
    loaded.faults.0.extend(cells);
}
