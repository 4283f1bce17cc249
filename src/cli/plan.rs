//! `brimwater plan`: from list and series to ranking, contacts, map, charts and report.

use super::common::{self, Common, Failure, Format, Units};
use super::plan_contacts::{self, Contacts, Given};
use super::plan_inputs::{prepare, rejects};
use super::weather_fetch::ServiceArgs;
use super::{Done, inputs::InputArgs};
use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Outlook, Place, WhatIf};
use crate::input::file;
use crate::inventory::{Assembly, Placement, WinterUse};
use crate::output::charts_plan::Case;
use crate::output::plan::Plan;
use crate::output::plan_folder::{self, Contents};
use crate::output::safe::Placed;
use crate::output::{plan_json, ranking_csv, run_json, table};
use crate::plan::total::{adopted, town_total};
use crate::plan::{Plan as Found, Programme, Run};
use crate::ranking::{self, Ranked, Tier, Words};
use crate::review::posterior::Prior;
use crate::review::worth::Learning;
use crate::weather::fetch::shown_service;
use crate::weather::window::Stand;
use chrono_tz::Tz;
use indicatif::{ProgressBar, ProgressStyle};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;
use std::sync::Arc;

/// Arguments of `plan`.
#[derive(clap::Args, Debug, Clone)]
#[command(
    after_help = "Example:\n  brimwater plan --assemblies assemblies.csv --series forecast.csv --stations stations.csv --out plan-friday\n\n\
    Reads the list and the forecast, and writes into plan-friday: ranking.csv, contacts.csv, rejects.csv, plan.json, map.geojson, \
    report.html, charts/ and run.json. Exit status 0: all input was used; 1: done, but rows were set aside or the weather was stale or \
    gappy; 2: not done."
)]
pub struct Args {
    #[command(flatten)]
    pub inputs: InputArgs,
    /// Members of the ensemble; 1 is one cautious run that gives the order but no odds.
    #[arg(long, value_name = "N", default_value_t = 256)]
    pub members: usize,
    /// Seed of the ensemble: the same seed gives the same plan.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// The time from which the plan looks ahead, such as 2031-01-08T16:00-06:00; the clock's when left out.
    #[arg(long, value_name = "TIME")]
    pub now: Option<String>,
    /// Folder that the plan is written into. It must be new, empty, or one that this program made.
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// A case that differs from the listed one.
    #[arg(long, value_name = "CASE", value_enum)]
    what_if: Option<CaseName>,
    /// Threads; all cores when left out. The result does not depend on it.
    #[arg(long, value_name = "N")]
    pub threads: Option<usize>,
    /// At most so many distinct cases get advice on what would protect them, those with the most at stake first.
    #[arg(long, value_name = "N", default_value_t = 400)]
    advice_cases: usize,
    /// Get the forecast from the weather service for the middle of the programme, in place of --series.
    #[arg(long)]
    pub fetch: bool,
    #[command(flatten)]
    pub service: ServiceArgs,
    /// An earlier plan (its folder or plan.json): tell what changed, and plan the calls that are left.
    #[arg(long, value_name = "PLAN")]
    pub since: Option<PathBuf>,
    /// Log of contacts: people who are done with are left out.
    #[arg(long, value_name = "FILE|ADDRESS")]
    pub log: Option<PathBuf>,
    /// Log of offers before the season (CSV: assembly_id, measure, outcome): measures that were fitted count as in place.
    #[arg(long, value_name = "FILE")]
    pub fitted: Option<PathBuf>,
    /// Withhold names, numbers and addresses, for sharing.
    #[arg(long)]
    pub redact: bool,
    /// Write the ranking as Parquet too (ranking.parquet), with types and units, for analysts.
    #[arg(long)]
    parquet: bool,
    /// Lines of the table on the terminal.
    #[arg(long, value_name = "N", default_value_t = 15)]
    top: usize,
    /// Nothing on standard output: the standing watch tells in its own words.
    #[arg(skip)]
    pub silent: bool,
}

/// A case that differs from the listed one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
#[value(rename_all = "kebab-case")]
pub(super) enum CaseName {
    /// Heaters and heat trace have no power.
    PowerOut,
    /// The main gives no water.
    SupplyOff,
}

impl CaseName {
    pub(super) fn what_if(self) -> WhatIf {
        match self {
            CaseName::PowerOut => WhatIf::PowerOut,
            CaseName::SupplyOff => WhatIf::SupplyOff,
        }
    }

    pub(super) fn words(self) -> &'static str {
        match self {
            CaseName::PowerOut => "power-out",
            CaseName::SupplyOff => "supply-off",
        }
    }
}

/// Cases that the charts of single assemblies show.
const CASES: usize = 6;

/// Runs `plan`.
pub fn run(args: Args, common: &Common) -> Done {
    match args.threads {
        None => plan(&args, common),
        Some(threads) => rayon::ThreadPoolBuilder::new()
            .num_threads(threads.clamp(1, 1_024))
            .build()
            .map_err(|error| {
                Fault::new(
                    "BW-P07",
                    Severity::Fatal,
                    format!("no threads could be started: {error}"),
                )
            })?
            .install(|| plan(&args, common)),
    }
}

fn plan(args: &Args, common: &Common) -> Done {
    let mut job = prepare(args)?;
    let (stand, told) = job.programme.stand(job.now);
    job.programme.loaded.faults.append(told);
    // Taken and not copied: a long list has many of both.
    let rejects = rejects(&mut job.programme)?;
    let mut faults = std::mem::take(&mut job.programme.loaded.faults);
    let programme = &job.programme;
    let (zone, loaded) = (programme.zone, &programme.loaded);
    let words = Words {
        zone,
        us: common.units == Units::Us,
        language: crate::language::Language::English,
    };
    let run = Run {
        members: args.members,
        seed: args.seed,
        what_if: args.what_if.map_or(WhatIf::AsListed, CaseName::what_if),
        advice_cases: args.advice_cases,
        trace: false,
    };
    let config = &loaded.config;
    let sites = programme.sites();
    let progress = progress(common, sites.len());
    let found = Found::find(programme, &sites, stand, &run, &words, &|done| {
        progress.set_position(done as u64);
    });
    progress.finish_and_clear();
    drop(sites);
    let found = found.ok_or_else(|| {
        Fault::new(
            "BW-P09",
            Severity::Fatal,
            "the freeze model did not answer for every assembly",
        )
    })?;
    let ranked = &found.ranked;
    let worst = worst(ranked, &found.outlooks);
    let (joins, traced) = run_again(programme, &found, &run, &worst);
    let cases = cases(&worst, &traced, ranked, &found.assemblies);

    let series_of: Vec<usize> = found.sites.iter().map(|site| site.0).collect();
    let window = programme.window().unwrap_or((stand.now, stand.now));
    let options = options_taken(args, common, zone);
    let members = found.outlooks.first().map_or(args.members, |outlook| outlook.members);
    let plan_id = run_json::plan_id(stand.now, args.seed, members, &options, &loaded.taken);
    let total = town_total(&found, programme, &run);
    let mut told = Faults::new();
    let mut contacts = plan_contacts::contacts(
        &Given {
            programme,
            plan: &found,
            window,
            history: &job.history,
            since: job.since.as_ref(),
            rejected: rejects.len(),
            seed: args.seed,
            redact: args.redact,
            plan_id: &plan_id,
            total,
            folder: &job.folder,
        },
        &mut told,
    )?;
    super::plan_reports::tell(programme, &found, &mut faults);
    faults.append(told);
    faults
        .0
        .extend(nobody_at_risk(ranked, &found.assemblies, &found.outlooks));
    let learning = (stand.over && members > 1).then(|| learning(config)).flatten();
    faults.0.extend(learning.map(teaches));
    let plan = Plan {
        assemblies: &found.assemblies,
        outlooks: &found.outlooks,
        series_of: &series_of,
        ranked,
        series: &loaded.series,
        words,
        now: stand.now,
        forecast_issued: stand.issued,
        window,
        members,
        seed: args.seed,
        what_if: args.what_if.map_or("", CaseName::words),
        joins: &joins,
        over: stand.over,
        keepers: &contacts.keepers,
        rejected: rejects.len(),
        stats: found.stats.clone(),
        total,
        faults: &faults,
    };
    let record = run_json::Run {
        plan_id,
        over: stand.over,
        learning,
        total: plan.total,
        adopted: adopted(config),
        now: stand.now,
        seed: args.seed,
        members: plan.members,
        options: options_told(args, &options),
        inputs: &loaded.taken,
        counts: plan.counts(),
        stats: &plan.stats,
        assumed: programme.assumed,
        faults: by_code(&faults),
    };
    let contents = Contents {
        plan: &plan,
        contacts: contacts.lines.as_slice(),
        rejects: &rejects,
        run: &record,
        utility: &config.utility.name,
        cases: &cases,
        figures: std::mem::take(&mut contacts.figures),
        parquet: args.parquet,
        files: std::mem::take(&mut contacts.files),
    };
    plan_folder::write(&job.folder, contents)?;
    let placed = job.folder.finish()?;
    let shown = if args.silent {
        0
    } else {
        tell(&plan, &contacts, &placed, args, common)?
    };
    Ok(faults.exit_status().max(placed.told.exit_status()).max(shown))
}

/// What would halve what is not known of the temperature at which ice starts.
fn learning(config: &Config) -> Option<Learning> {
    let (mean_c, spread_k, warmest_c) = config.ensemble.nucleation();
    Learning::to_halve(&Prior::about(mean_c, spread_k, warmest_c), config.ensemble.site_k)
}

fn teaches(learning: Learning) -> Fault {
    let Learning { spells, looks } = learning;
    Fault::new(
        "BW-P77",
        Severity::Note,
        format!(
            "{looks} looks at assemblies whose damage is a coin-flip, in {spells} spells, would halve what is not known of the temperature at which ice starts; \
             fewer spells cannot, however many looks"
        ),
    )
    .remedy("look_teaches_percent in inspection.csv says what each look is worth beside one at a coin-flip; [outreach.after] order = \"learning\" puts those first.")
}

/// Air of a hard freeze, °C: 20 °F, at which the trade expects bare pipe to freeze in a night (common practice).
const HARD_FREEZE_C: f64 = -6.67;

/// `BW-P41`: a hard freeze by the series over bare, filled assemblies, and nobody at risk. Some setting or column is more likely wrong
/// than the town safe.
fn nobody_at_risk(ranked: &[Ranked], assemblies: &[Assembly], outlooks: &[Arc<Outlook>]) -> Option<Fault> {
    if ranked.iter().any(|line| line.tier != Tier::NoContact) {
        return None;
    }
    let bare = |assembly: &Assembly| assembly.placement == Placement::Open && assembly.winter_use != WinterUse::Drained;
    let coldest_c = assemblies
        .iter()
        .zip(outlooks)
        .filter(|(assembly, _)| bare(assembly))
        .map(|(_, outlook)| outlook.min_air_c)
        .min_by(f64::total_cmp)?;
    (coldest_c <= HARD_FREEZE_C).then(|| {
        Fault::new(
            "BW-P41",
            Severity::Warning,
            "a hard freeze is forecast over bare assemblies, and this plan has nobody at risk",
        )
        .value(&format!("{coldest_c:.1} °C ({:.0} °F)", coldest_c * 1.8 + 32.0))
        .remedy("Do not rely on it: check the config, the placements and the wraps of the list, and run without --config to compare.")
    })
}

/// What is run beside the plan itself: the listed case where another is planned for, and the hours of the worst cases.
fn run_again(
    programme: &Programme,
    found: &Found<'_>,
    run: &Run,
    worst: &[(usize, usize)],
) -> (Vec<ranking::Join>, Vec<Arc<Outlook>>) {
    let (places, ranked) = (found.places(), &found.ranked);
    let quiet = Run {
        advice_cases: 0,
        ..*run
    };
    let listed = as_listed(&places, programme, found.stand, &quiet);
    let ranking = &programme.loaded.config.ranking;
    let joins = ranking::joins::joins(ranked, &found.assemblies, &listed, ranking);
    let worst: Vec<Place<'_>> = worst
        .iter()
        .filter_map(|at| places.get(ranked.get(at.0)?.index).copied())
        .collect();
    let (traced, _) = Run { trace: true, ..quiet }.outlooks(programme, &worst, found.stand, &|_| {});
    (joins, traced)
}

/// What would come as listed, of the places to which the case makes a difference.
fn as_listed(places: &[Place<'_>], programme: &Programme, stand: Stand, run: &Run) -> Vec<Option<Arc<Outlook>>> {
    let mut listed = vec![None; places.len()];
    let touched: Vec<usize> = (0..places.len())
        .filter(|&at| run.what_if.touches(places[at].assembly))
        .collect();
    let their_places: Vec<Place<'_>> = touched.iter().map(|&at| places[at]).collect();
    let run = Run {
        what_if: WhatIf::AsListed,
        ..*run
    };
    let (found, _) = run.outlooks(programme, &their_places, stand, &|_| {});
    for (at, outlook) in touched.into_iter().zip(found) {
        listed[at] = Some(outlook);
    }
    listed
}

/// Positions in the ranking of the worst distinct cases, and how many more share each.
fn worst(ranked: &[Ranked], outlooks: &[Arc<Outlook>]) -> Vec<(usize, usize)> {
    let mut found: Vec<(usize, usize, &Arc<Outlook>)> = Vec::new();
    for (at, line) in ranked.iter().enumerate() {
        let Some(outlook) = outlooks.get(line.index) else {
            continue;
        };
        let room = found.len() < CASES && (line.tier != Tier::NoContact || found.is_empty());
        match found.iter_mut().find(|case| Arc::ptr_eq(case.2, outlook)) {
            Some(case) => case.1 += 1,
            // Beyond those at risk one case is enough to show the spell.
            None if room => found.push((at, 0, outlook)),
            None => {}
        }
    }
    found.into_iter().map(|(at, alike, _)| (at, alike)).collect()
}

fn cases<'a>(
    worst: &[(usize, usize)],
    traced: &'a [Arc<Outlook>],
    ranked: &[Ranked],
    assemblies: &[Assembly],
) -> Vec<Case<'a>> {
    worst
        .iter()
        .zip(traced)
        .filter_map(|((at, alike), outlook)| {
            let line = ranked.get(*at)?;
            let assembly = assemblies.get(line.index)?;
            Some(Case {
                label: format!("{} · {}", line.rank, assembly.assembly_id),
                kind: format!(
                    "{} in {}, {}, {}",
                    assembly.nominal_size, assembly.device_type, assembly.placement, assembly.winter_use
                )
                .replace('_', " "),
                outlook,
                alike: *alike,
            })
        })
        .collect()
}

fn progress(common: &Common, total: usize) -> ProgressBar {
    if !common.progress() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new(total as u64);
    if let Ok(style) = ProgressStyle::with_template("{bar:40} {pos} of {len} assemblies, {eta} left") {
        bar.set_style(style);
    }
    bar
}

fn by_code(faults: &Faults) -> BTreeMap<&'static str, usize> {
    let mut codes = BTreeMap::new();
    for fault in &faults.0 {
        *codes.entry(fault.code).or_insert(0) += 1;
    }
    codes
}

fn options_taken(args: &Args, common: &Common, zone: Tz) -> BTreeMap<&'static str, String> {
    let mut options = BTreeMap::from([
        ("zone", zone.name().to_owned()),
        ("units", if common.units == Units::Us { "us" } else { "si" }.to_owned()),
        ("allow_gaps", args.inputs.allow_gaps.to_string()),
        ("what_if", args.what_if.map_or("as-listed", CaseName::words).to_owned()),
    ]);
    let mut given = |name, value: Option<String>| {
        if let Some(value) = value {
            options.insert(name, value);
        }
    };
    given("now", args.now.clone());
    given("spell", args.inputs.spell.clone());
    given("since", args.since.as_deref().map(file::shown));
    given("log", args.log.as_deref().map(super::log_server::noted));
    given("fitted", args.fitted.as_deref().map(file::shown));
    given("fetch", args.fetch.then(|| shown_service(&args.service.service)));
    given("advice_cases", Some(args.advice_cases.to_string()));
    options
}

/// All options by the name that the command line gives them, for the record: those that make the plan what it is, and those that only say
/// where it comes from and where it goes.
fn options_told(args: &Args, taken: &BTreeMap<&'static str, String>) -> BTreeMap<&'static str, String> {
    let mut options = taken.clone();
    options.entry("climate").or_insert_with(|| "none given".into());
    options.entry("spell").or_insert_with(|| "all of the series".into());
    let mut told = |name, value: String| drop(options.insert(name, value));
    told("members", args.members.to_string());
    told("seed", args.seed.to_string());
    told("redact", args.redact.to_string());
    told("parquet", args.parquet.to_string());
    told("top", args.top.to_string());
    let path = |path: &Option<PathBuf>| path.as_deref().map(file::shown);
    let inputs = &args.inputs;
    let paths = [
        ("assemblies", path(&inputs.assemblies)),
        ("spread", path(&inputs.spread)),
        ("climate", path(&inputs.climate)),
        ("stations", path(&inputs.stations)),
        ("config", path(&inputs.config)),
    ];
    for (name, value) in paths {
        if let Some(value) = value {
            told(name, value);
        }
    }
    if !inputs.series.is_empty() {
        let all: Vec<String> = inputs.series.iter().map(|path| file::shown(path)).collect();
        told("series", all.join("; "));
    }
    if args.fetch {
        let service = &args.service;
        told("service", shown_service(&service.service));
        told("contact", service.contact.clone().unwrap_or_default());
        told("cache", path(&service.cache).unwrap_or_else(|| "the user's own".into()));
        told("tries", service.tries.to_string());
        told("retry_wait", service.retry_wait.to_string());
        told("timeout", service.timeout.to_string());
    }
    options
}

/// Faults on standard error, the answer on standard output, the counts last.
fn tell(plan: &Plan<'_>, contacts: &Contacts, placed: &Placed, args: &Args, common: &Common) -> Result<u8, Failure> {
    common.tell_both(&placed.told, plan.faults);
    let failed = |error: std::io::Error| {
        Fault::new(
            "BW-O01",
            Severity::Fatal,
            format!("standard output cannot be written: {error}"),
        )
    };
    let changed = contacts.changed.as_ref().map_or(String::new(), |counts| {
        format!("since the earlier plan: {counts}; see changes.csv\n")
    });
    let thaw = contacts.thaw.as_ref().map_or(String::new(), |thaw| format!("{thaw}\n"));
    let unranked = match contacts.unranked {
        0 => String::new(),
        rows => format!("{rows} rows cannot be ranked and have somebody to tell: see unranked.csv, call too\n"),
    };
    let last = format!(
        "{changed}{thaw}{unranked}{}{}",
        table::coming(plan),
        table::last_line(plan, &placed.place.display().to_string())
    );
    let mut out = Vec::new();
    match common.format {
        Format::Table => out.extend_from_slice(format!("{}{last}", table::list(plan, args.top)).as_bytes()),
        Format::Json => plan_json::write(plan, contacts.lines.as_slice(), &mut out).map_err(failed)?,
        Format::Csv => ranking_csv::write(plan, &mut out).map_err(failed)?,
    }
    let status = common::print_done(&String::from_utf8_lossy(&out), "The plan was written");
    if common.format != Format::Table && !common.quiet {
        // A closed standard error is no reason to fail.
        let _ = std::io::stderr().write_all(last.as_bytes());
    }
    Ok(status)
}
