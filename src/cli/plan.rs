//! `brimwater plan`: from list and series to ranking, contacts, map, charts and report.

use super::common::{self, Common, Failure, Format, Units};
use super::plan_contacts::{self, Given};
use super::{Done, inputs::InputArgs};
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Outlook, Place, RunOptions, WhatIf, outlooks};
use crate::input::file;
use crate::input::load::{Loaded, load};
use crate::inventory::{Assembly, Reject};
use crate::output::charts_plan::Case;
use crate::output::plan::Plan;
use crate::output::plan_folder::{self, Contents};
use crate::output::safe::Folder;
use crate::output::{plan_json, ranking_csv, run_json, table};
use crate::outreach::line::ContactLine;
use crate::outreach::outcome::History;
use crate::ranking::{self, Ranked, Tier, Words};
use crate::weather::local_time::{self, FoldPolicy, GapPolicy, Resolver, Written};
use crate::weather::window;
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use indicatif::{ProgressBar, ProgressStyle};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
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
    inputs: InputArgs,
    /// Members of the ensemble; 1 is one cautious run that gives the order but no odds.
    #[arg(long, value_name = "N", default_value_t = 256)]
    members: usize,
    /// Seed of the ensemble: the same seed gives the same plan.
    #[arg(long, value_name = "S", default_value_t = 1)]
    seed: u64,
    /// The time from which the plan looks ahead, such as 2031-01-08T16:00-06:00; the clock's when left out.
    #[arg(long, value_name = "TIME")]
    now: Option<String>,
    /// Folder that the plan is written into. It must be new, empty, or one that this program made.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// A case that differs from the listed one.
    #[arg(long, value_name = "CASE", value_enum)]
    what_if: Option<CaseName>,
    /// Threads; all cores when left out. The result does not depend on it.
    #[arg(long, value_name = "N")]
    threads: Option<usize>,
    /// At most so many distinct cases get advice on what would protect them, those with the most at stake first.
    #[arg(long, value_name = "N", default_value_t = 400)]
    advice_cases: usize,
    /// Withhold names, numbers and addresses, for sharing.
    #[arg(long)]
    redact: bool,
    /// Lines of the table on the terminal.
    #[arg(long, value_name = "N", default_value_t = 15)]
    top: usize,
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

/// Most members that a run takes: the quasi-random sequence has no more points.
const MOST_MEMBERS: usize = 65_536;
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

/// What was typed, checked as far as no file is needed.
struct Job {
    folder: Folder,
    loaded: Loaded,
    zone: Tz,
    now: Option<DateTime<Utc>>,
}

fn plan(args: &Args, common: &Common) -> Done {
    let mut job = prepare(args)?;
    let (stand, told) = window::stand(job.now, Utc::now(), &job.loaded.series);
    job.loaded.faults.append(told);
    let words = Words {
        zone: job.zone,
        us: common.units == Units::Us,
    };
    let (usable, places_of, rejects) = usable(&mut job)?;
    let loaded = &job.loaded;
    let mut options = RunOptions {
        members: args.members,
        seed: args.seed,
        now: stand.now,
        zone: job.zone,
        what_if: args.what_if.map_or(WhatIf::AsListed, CaseName::what_if),
        advice: true,
        advice_cases: args.advice_cases,
        trace: false,
    };
    let config = &loaded.config;
    let places: Vec<Place<'_>> = usable
        .iter()
        .zip(&places_of)
        .map(|(assembly, (series, offset_k))| Place {
            assembly,
            series: *series,
            offset_k: *offset_k,
        })
        .collect();
    let progress = progress(common, places.len());
    let (found, stats) = outlooks(
        &places,
        &loaded.series,
        &options,
        &config.freeze,
        &config.ensemble,
        &|done| {
            progress.set_position(done as u64);
        },
    );
    progress.finish_and_clear();
    if found.len() != usable.len() {
        return Err(Fault::new(
            "BW-P09",
            Severity::Fatal,
            "the freeze model did not answer for every assembly",
        )
        .into());
    }
    let ranked = ranking::rank(&usable, &found, &config.ranking, &words);

    options.advice = false;
    options.trace = true;
    let worst = worst(&ranked, &found);
    let worst_places: Vec<Place<'_>> = worst
        .iter()
        .filter_map(|at| places.get(ranked.get(at.0)?.index).copied())
        .collect();
    let (traced, _) = outlooks(
        &worst_places,
        &loaded.series,
        &options,
        &config.freeze,
        &config.ensemble,
        &|_| {},
    );
    let cases = cases(&worst, &traced, &ranked, &usable);

    let series_of: Vec<usize> = places_of.iter().map(|place| place.0).collect();
    let window = loaded
        .series
        .first()
        .map_or((stand.now, stand.now), |series| (series.start, series.end()));
    let history = History::default();
    let list = args.inputs.assemblies.as_deref().map(file::shown).unwrap_or_default();
    let mut told = Faults::new();
    let contacts = plan_contacts::contacts(
        &Given {
            assemblies: &usable,
            outlooks: &found,
            ranked: &ranked,
            file: &list,
            config,
            beside: args.inputs.config.as_deref().and_then(Path::parent),
            words,
            now: stand.now,
            window,
            history: &history,
            redact: args.redact,
        },
        &mut told,
    )?;
    let mut faults = loaded.faults.clone();
    faults.append(told);
    let plan = Plan {
        assemblies: &usable,
        outlooks: &found,
        series_of: &series_of,
        ranked: &ranked,
        series: &loaded.series,
        words,
        now: stand.now,
        forecast_issued: stand.issued,
        window,
        members: found.first().map_or(args.members, |outlook| outlook.members),
        seed: args.seed,
        what_if: args.what_if.map_or("", CaseName::words),
        rejected: rejects.len(),
        stats,
        faults: &faults,
    };
    let record = run_json::Run {
        now: stand.now,
        seed: args.seed,
        members: plan.members,
        options: options_taken(args, common, job.zone),
        inputs: &loaded.taken,
        counts: plan.counts(),
        stats: &plan.stats,
        faults: by_code(&faults),
    };
    let contents = Contents {
        plan: &plan,
        contacts: contacts.lines.as_slice(),
        rejects: &rejects,
        run: &record,
        utility: &config.utility.name,
        cases: &cases,
        figures: contacts.figures,
        files: contacts.files,
    };
    plan_folder::write(&job.folder, contents)?;
    let place = job.folder.finish()?;
    tell(&plan, &contacts.lines, &place.display().to_string(), args, common)?;
    Ok(faults.exit_status())
}

/// Reads and checks everything, so that all that is wrong is told at once.
fn prepare(args: &Args) -> Result<Job, Failure> {
    let mut faults = Faults::new();
    let needed = |option: &str, what: &str| {
        Fault::new("BW-P01", Severity::Fatal, format!("{option} is needed"))
            .column(option)
            .expected(what.to_owned())
            .remedy(format!("Add {option}; see brimwater plan --help."))
    };
    if args.inputs.assemblies.is_none() {
        faults.push(needed("--assemblies", "the list of assemblies"));
    }
    if args.inputs.series.is_empty() {
        faults.push(needed("--series", "one or more temperature series"));
    }
    if !(1..=MOST_MEMBERS).contains(&args.members) {
        faults.push(
            Fault::new("BW-P02", Severity::Fatal, "this number of members cannot be run")
                .column("--members")
                .value(&args.members.to_string())
                .expected(format!("1 to {MOST_MEMBERS}"))
                .remedy("256 is enough for most lists."),
        );
    }
    if args.threads == Some(0) {
        faults.push(
            Fault::new("BW-P07", Severity::Fatal, "no thread cannot do the work")
                .column("--threads")
                .value("0")
                .expected("1 or more"),
        );
    }
    let folder = match &args.out {
        None => {
            faults.push(needed("--out", "the folder that the plan is written into"));
            None
        }
        Some(out) => match Folder::build_beside(out) {
            Ok(folder) => Some(folder),
            Err(fault) => {
                faults.push(fault);
                None
            }
        },
    };
    let mut loaded = match args.inputs.files() {
        Ok(files) => load(&files),
        Err(fault) => {
            faults.push(fault);
            Loaded::default()
        }
    };
    let zone = zone(&args.inputs, &loaded);
    let now = match args.now.as_deref().map(|text| moment(text, zone)).transpose() {
        Ok(now) => now,
        Err(fault) => {
            faults.push(fault);
            None
        }
    };
    if !loaded.series.is_empty() {
        loaded.faults.append(window::cut_to_common(&mut loaded.series));
    }
    faults.append(std::mem::take(&mut loaded.faults));
    loaded.faults = faults;
    match folder {
        Some(folder) if !loaded.faults.is_fatal() => Ok(Job {
            folder,
            loaded,
            zone,
            now,
        }),
        _ => Err(Failure(loaded.faults)),
    }
}

/// The zone that people read: as typed, else the config's, else that of a station.
pub(super) fn zone(inputs: &InputArgs, loaded: &Loaded) -> Tz {
    let told = |name: &str| name.parse::<Tz>().ok();
    inputs
        .zone
        .as_deref()
        .and_then(told)
        .or_else(|| told(&loaded.config.utility.zone).filter(|zone| *zone != Tz::UTC))
        .or_else(|| loaded.stations.zones.values().next().copied())
        .unwrap_or(Tz::UTC)
}

/// A time as typed.
pub(super) fn moment(text: &str, zone: Tz) -> Result<DateTime<Utc>, Fault> {
    let wrong = || {
        Fault::new("BW-P08", Severity::Fatal, "this is not a time")
            .column("--now")
            .value(text)
            .expected("a time such as 2031-01-08T16:00:00-06:00, or without the offset in the zone of --zone")
            .remedy("Correct it, or leave --now out to take the clock's.")
    };
    match local_time::parse(text).ok_or_else(wrong)? {
        Written::Instant(time) => Ok(time),
        Written::Local(local) => Resolver::new(zone, FoldPolicy::Earlier, GapPolicy::OffsetBefore)
            .resolve(local)
            .map_err(|_| wrong()),
    }
}

/// Assemblies that have weather, with their series and offset; the others join the rejects.
#[allow(clippy::type_complexity)]
fn usable(job: &mut Job) -> Result<(Vec<Assembly>, Vec<(usize, f64)>, Vec<Reject>), Failure> {
    let loaded = &mut job.loaded;
    let mut rejects = std::mem::take(&mut loaded.inventory.rejects);
    let all = std::mem::take(&mut loaded.inventory.assemblies);
    let mut usable = Vec::with_capacity(all.len());
    let mut places = Vec::with_capacity(all.len());
    let mut choices = std::mem::take(&mut loaded.choices).into_iter();
    let header = Arc::new(vec!["assembly_id".to_owned()]);
    let why: BTreeMap<u64, &Fault> = loaded
        .faults
        .0
        .iter()
        .filter(|fault| fault.code == "BW-S16")
        .filter_map(|fault| Some((fault.line?, fault)))
        .collect();
    for assembly in all {
        match choices.next().flatten() {
            Some(choice) => {
                places.push((choice.series, choice.offset_k));
                usable.push(assembly);
            }
            None => {
                let fault = why.get(&assembly.line).map_or_else(
                    || {
                        Fault::new(
                            "BW-S16",
                            Severity::Rejected,
                            "no series can be chosen for this assembly",
                        )
                    },
                    |fault| (*fault).clone(),
                );
                rejects.push(Reject {
                    line: assembly.line,
                    record: vec![assembly.assembly_id],
                    header: Arc::clone(&header),
                    faults: vec![fault],
                });
            }
        }
    }
    rejects.sort_by_key(|reject| reject.line);
    if usable.is_empty() {
        let mut faults = std::mem::take(&mut loaded.faults);
        faults.push(
            Fault::new(
                "BW-P10",
                Severity::Fatal,
                "no assembly can be used, so there is nothing to plan",
            )
            .value(&format!("{} rows set aside", rejects.len()))
            .remedy("Correct the rows told above; brimwater check tells all of them."),
        );
        return Err(Failure(faults));
    }
    Ok((usable, places, rejects))
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
    if let Some(now) = &args.now {
        options.insert("now", now.clone());
    }
    options
}

/// Faults on standard error, the answer on standard output, the counts last.
fn tell(plan: &Plan<'_>, contacts: &[ContactLine], place: &str, args: &Args, common: &Common) -> Result<(), Failure> {
    if !common.quiet {
        common::report(plan.faults);
    }
    let failed = |error: std::io::Error| {
        Fault::new(
            "BW-O01",
            Severity::Fatal,
            format!("standard output cannot be written: {error}"),
        )
    };
    let last = table::last_line(plan, place);
    let mut out = Vec::new();
    match common.format {
        Format::Table => out.extend_from_slice(format!("{}{last}", table::list(plan, args.top)).as_bytes()),
        Format::Json => plan_json::write(plan, contacts, &mut out).map_err(failed)?,
        Format::Csv => ranking_csv::write(plan, &mut out).map_err(failed)?,
    }
    common::print(&String::from_utf8_lossy(&out))?;
    if common.format != Format::Table && !common.quiet {
        eprint!("{last}");
    }
    Ok(())
}
