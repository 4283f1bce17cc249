//! `brimwater show`: one assembly in full.

use super::common::{Common, Failure, Format, Units, print};
use super::{Done, inputs::InputArgs, plan, plan_inputs};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::detail::{Detail, detail};
use crate::freeze::{Outlook, WhatIf};
use crate::input::load::Loaded;
use crate::inventory::Assembly;
use crate::output::plan::Plan;
use crate::output::{show_json, show_text};
use crate::plan::{Plan as Found, Programme, Run};
use crate::ranking::{Ranked, Words};
use chrono::{DateTime, Utc};
use std::path::PathBuf;
use std::sync::Arc;

/// Arguments of `show`.
#[derive(clap::Args, Debug, Clone)]
#[command(
    after_help = "Example:\n  brimwater show A-0042 --assemblies assemblies.csv --series forecast.csv\n  \
    brimwater show A-0042 --assemblies assemblies.csv --series forecast.csv --network --format json\n\n\
    The odds come from the ensemble; --network adds the parts and every step of the cautious run (ice at 32 °F), with all \
    coefficients, enough to integrate it again with another method."
)]
pub struct Args {
    /// Identifier of the assembly.
    id: String,
    #[command(flatten)]
    inputs: InputArgs,
    /// Members of the ensemble; 1 is the cautious run alone.
    #[arg(long, value_name = "N", default_value_t = 256)]
    members: usize,
    /// Seed of the ensemble.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// The time from which it looks ahead; the clock's when left out.
    #[arg(long, value_name = "TIME")]
    now: Option<String>,
    /// The log of `brimwater log`: what was reported of how it stands counts as in `plan --log`.
    #[arg(long, value_name = "FILE|ADDRESS")]
    log: Option<PathBuf>,
    /// A case that differs from the listed one.
    #[arg(long, value_name = "CASE", value_enum)]
    what_if: Option<plan::CaseName>,
    /// Parts, and every step of the cautious run.
    #[arg(long)]
    network: bool,
}

/// What was read and found for one assembly.
struct Shown {
    assembly: Assembly,
    loaded: Loaded,
    outlook: Arc<Outlook>,
    detail: Option<Detail>,
    ranked: Vec<Ranked>,
    words: Words,
    now: DateTime<Utc>,
    issued: Option<DateTime<Utc>>,
    series: usize,
    what_if: &'static str,
    stats: crate::freeze::RunStats,
}

/// Runs `show`.
pub fn run(args: Args, common: &Common) -> Done {
    let shown = find(&args, common)?;
    common.tell(&shown.loaded.faults);
    let outlooks = [Arc::clone(&shown.outlook)];
    let plan = Plan {
        assemblies: std::slice::from_ref(&shown.assembly),
        outlooks: &outlooks,
        series_of: &[shown.series],
        ranked: &shown.ranked,
        series: &shown.loaded.series,
        words: shown.words,
        now: shown.now,
        forecast_issued: shown.issued,
        window: (shown.outlook.window_start, shown.outlook.window_end),
        members: shown.outlook.members,
        seed: args.seed,
        what_if: shown.what_if,
        joins: &[],
        keepers: &[],
        over: false,
        rejected: 0,
        stats: shown.stats.clone(),
        total: None,
        faults: &shown.loaded.faults,
    };
    let text = match common.format {
        Format::Json => {
            show_json::text(&plan, &shown.assembly, &shown.outlook, shown.detail.as_ref()).map_err(unwritten)?
        }
        Format::Csv => show_json::hours_csv(&shown.outlook).map_err(unwritten)?,
        Format::Table => show_text::text(&plan, &shown.assembly, &shown.outlook),
    };
    print(&text)?;
    Ok(shown.loaded.faults.exit_status())
}

fn unwritten(error: std::io::Error) -> Failure {
    Failure::one(Fault::new(
        "BW-O04",
        Severity::Fatal,
        format!("the answer cannot be written: {error}"),
    ))
}

fn find(args: &Args, common: &Common) -> Result<Shown, Failure> {
    let mut faults = Faults::new();
    for (option, given) in [
        ("--assemblies", args.inputs.assemblies.is_some()),
        ("--series", !args.inputs.series.is_empty()),
    ] {
        if !given {
            faults.push(
                Fault::new("BW-P01", Severity::Fatal, format!("{option} is needed"))
                    .column(option)
                    .remedy(format!("Add {option}; see brimwater show --help.")),
            );
        }
    }
    if faults.is_fatal() {
        return Err(faults.into());
    }
    let mut programme = Programme::read(&args.inputs.files()?);
    let zone = programme.zone;
    let told = args
        .now
        .as_deref()
        .map(|text| plan_inputs::moment(text, zone))
        .transpose()?;
    if programme.loaded.faults.is_fatal() {
        return Err(Failure(programme.loaded.faults));
    }
    if let Some(path) = &args.log {
        let mut faults = Faults::new();
        plan_inputs::history(path, &mut programme, &mut faults);
        programme.loaded.faults.append(faults);
    }
    let (stand, told_faults) = programme.stand(told);
    programme.loaded.faults.append(told_faults);
    let loaded = &programme.loaded;
    let at = loaded
        .inventory
        .assemblies
        .iter()
        .position(|a| a.assembly_id.trim() == args.id.trim());
    let Some(at) = at else {
        return Err(no_such(&args.id, loaded).into());
    };
    let assembly = loaded.inventory.assemblies[at].clone();
    let Some(site) = programme.site(at) else {
        return Err(
            Fault::new("BW-S16", Severity::Fatal, "no series can be chosen for this assembly")
                .value(&assembly.assembly_id)
                .expected("coordinates, or a station_id that a series has")
                .remedy("Complete the row.")
                .into(),
        );
    };
    let words = Words {
        zone,
        us: common.units == Units::Us,
        language: crate::language::Language::English,
    };
    let run = Run {
        members: args.members.clamp(1, 65_536),
        seed: args.seed,
        what_if: args.what_if.map_or(WhatIf::AsListed, plan::CaseName::what_if),
        advice_cases: 1,
        trace: true,
    };
    let found = Found::find(&programme, &[site], stand, &run, &words, &|_| {}).ok_or_else(not_answered)?;
    let mut found = found.into_owned();
    let outlook = found.outlooks.pop().ok_or_else(not_answered)?;
    let outlook = run.with_band(&programme, site.place, stand, outlook);
    let config = &loaded.config;
    let detail = if args.network {
        let options = run.options(&programme, stand);
        detail(&site.place, &loaded.series, &options, &config.freeze, &config.ensemble)
    } else {
        None
    };
    let series = site.place.series;
    let mut loaded = programme.loaded;
    // What is wrong with other rows is not this question's.
    loaded
        .faults
        .0
        .retain(|fault| fault.line.is_none_or(|line| line == assembly.line) || !fault.code.starts_with("BW-A"));
    Ok(Shown {
        series,
        what_if: args.what_if.map_or("", plan::CaseName::words),
        assembly,
        loaded,
        outlook,
        detail,
        ranked: found.ranked,
        words,
        now: stand.now,
        issued: stand.issued,
        stats: found.stats,
    })
}

fn not_answered() -> Fault {
    Fault::new(
        "BW-P09",
        Severity::Fatal,
        "the freeze model did not answer for every assembly",
    )
}

fn no_such(id: &str, loaded: &Loaded) -> Fault {
    let rejected = loaded
        .inventory
        .rejects
        .iter()
        .any(|reject| reject.record.iter().any(|cell| cell.trim() == id.trim()));
    let near = loaded
        .inventory
        .assemblies
        .iter()
        .map(|a| (strsim::damerau_levenshtein(&a.assembly_id, id), a.assembly_id.as_str()))
        .min()
        .filter(|(distance, _)| *distance <= 3);
    let fault = Fault::new("BW-P14", Severity::Fatal, "no assembly has this identifier")
        .column("assembly_id")
        .value(id);
    match near {
        _ if rejected => fault.remedy("A row with it was set aside: run brimwater check to see why."),
        Some((_, name)) => fault.remedy(format!("Did you mean {name}?")),
        None => fault.remedy("Look it up in the list."),
    }
}
