//! What `plan` is given: typed-in arguments and files to a job whose every input is checked.

use super::common::Failure;
use super::log_server;
use super::plan::Args;
use crate::faults::{Fault, Faults, Severity};
use crate::input::load::{Files, Loaded, Taken, load};
use crate::input::{file, plain};
use crate::inventory::{Reject, place_assemblies};
use crate::output::safe::Folder;
use crate::output::safe::target::none_inside;
use crate::outreach::outcome::History;
use crate::outreach::replan::{self, OldPlan};
use crate::plan::Programme;
use crate::season::offers_log;
use crate::store::server::address::is_server;
use crate::weather::fetch::fetch;
use crate::weather::local_time::{self, FoldPolicy, GapPolicy, Resolver, Written};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// Most members that a run takes: the quasi-random sequence has no more points.
const MOST_MEMBERS: usize = 65_536;
/// Name under which a fetched forecast is kept in the plan's folder.
const FETCHED: &str = "forecast.json";

/// What was typed, checked as far as no file is needed.
pub struct Job {
    /// The folder being built.
    pub folder: Folder,
    /// What was read.
    pub programme: Programme,
    /// The time given, if any.
    pub now: Option<DateTime<Utc>>,
    /// An earlier plan to compare with.
    pub since: Option<OldPlan>,
    /// What came of contacts so far.
    pub history: History,
}

/// Reads and checks everything, so that all that is wrong is told at once.
pub fn prepare(args: &Args) -> Result<Job, Failure> {
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
    if args.inputs.series.is_empty() && !args.fetch {
        faults.push(needed("--series", "one or more temperature series, or --fetch"));
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
        Some(out) if inputs_inside(args, out, &mut faults) => None,
        // What is made for sharing is for others to read.
        Some(out) => match if args.redact {
            Folder::build_beside(out)
        } else {
            Folder::build_private(out)
        } {
            Ok(folder) => {
                faults.0.extend(folder.told());
                Some(folder)
            }
            Err(fault) => {
                faults.push(fault);
                None
            }
        },
    };
    let (files, mut loaded) = match args.inputs.files() {
        Ok(files) => {
            let loaded = load(&files);
            (files, loaded)
        }
        Err(fault) => {
            faults.push(fault);
            (Files::default(), Loaded::default())
        }
    };
    if args.fetch {
        if !args.inputs.series.is_empty() {
            faults.push(
                Fault::new("BW-P11", Severity::Fatal, "a plan takes either --series or --fetch")
                    .remedy("Leave one of them out."),
            );
        } else if !loaded.inventory.assemblies.is_empty() && !faults.is_fatal() && !loaded.faults.is_fatal() {
            fetched(args, &mut loaded, folder.as_ref());
        }
    }
    let mut programme = Programme::of(loaded, &files);
    let zone = programme.zone;
    let now = match args.now.as_deref().map(|text| moment(text, zone)).transpose() {
        Ok(now) => now,
        Err(fault) => {
            faults.push(fault);
            None
        }
    };
    let since = args.since.as_deref().and_then(|path| old_plan(path, &mut faults));
    faults.append(std::mem::take(&mut programme.loaded.faults));
    if let Some(path) = &args.fitted {
        fitted(path, &mut programme.loaded, &mut faults);
    }
    let history = args
        .log
        .as_deref()
        .map_or_else(History::default, |path| history(path, &mut programme, &mut faults));
    programme.loaded.faults = faults;
    match folder {
        Some(folder) if !programme.loaded.faults.is_fatal() => Ok(Job {
            folder,
            programme,
            now,
            since,
            history,
        }),
        _ => Err(Failure(programme.loaded.faults)),
    }
}

/// Puts the measures that were fitted after offers into the list.
fn fitted(path: &Path, loaded: &mut Loaded, faults: &mut Faults) {
    match file::read_whole(path) {
        Ok(bytes) => {
            let name = file::shown(path);
            let clean = match plain(&bytes, &name, &|cell| offers_log::COLUMNS.contains(&cell)) {
                Ok((clean, marks)) => {
                    faults.append(marks);
                    clean
                }
                Err(fault) => return faults.push(fault),
            };
            let (log, told) = offers_log::read(&clean, &name);
            faults.append(told);
            let config = &loaded.config;
            let list = &mut loaded.inventory.assemblies;
            let (_, told) = log.apply(list, &config.season.measures, &config.freeze, &name);
            faults.append(told);
            loaded.taken.push(Taken {
                role: "fitted",
                file: name,
                sha256: Sha256::digest(&bytes)
                    .iter()
                    .map(|byte| format!("{byte:02x}"))
                    .collect(),
            });
        }
        Err(fault) => faults.push(fault),
    }
}

/// Whether an input lies in the output folder and would go with what it replaces. The earlier plan may: it is read before.
fn inputs_inside(args: &Args, out: &Path, faults: &mut Faults) -> bool {
    let own = &args.inputs;
    let inputs: Vec<&Path> = own
        .series
        .iter()
        .chain(&own.assemblies)
        .chain(&own.stations)
        .chain(&own.config)
        .chain(&own.spread)
        .chain(&own.climate)
        .chain(args.log.iter().filter(|log| !is_server(log)))
        .chain(&args.fitted)
        .map(|path| path.as_path())
        .collect();
    match none_inside(out, &inputs) {
        Ok(()) => false,
        Err(told) => {
            faults.append(told);
            true
        }
    }
}

/// The earlier plan, given as its `plan.json` or the folder that holds it.
fn old_plan(path: &Path, faults: &mut Faults) -> Option<OldPlan> {
    let path = if path.is_dir() {
        path.join("plan.json")
    } else {
        path.to_path_buf()
    };
    let read = file::open(&path).and_then(|source| replan::read(source, &file::shown(&path)));
    read.map_err(|fault| faults.push(fault)).ok()
}

/// What came of contacts in the last days before the weather begins to be forecast, and what was reported from the sites.
pub(super) fn history(path: &Path, programme: &mut Programme, faults: &mut Faults) -> History {
    if !is_server(path) && !path.exists() {
        // Opening would begin a new log: a slip of the pen must not make everybody count as not yet called.
        faults.push(
            Fault::new(
                "BW-P12",
                Severity::Warning,
                "there is no such log: nobody counts as done with",
            )
            .file(file::shown(path))
            .remedy("Check the path; brimwater log begins a log."),
        );
        return History::default();
    }
    let name = &programme.loaded.config.outreach.programme_id;
    let since = programme.log_counts_since();
    let read =
        log_server::store(path, Some(name), faults).and_then(|log| Ok((log.history(since)?, log.reports(since)?)));
    match read {
        Ok((history, reports)) => {
            programme.reports = reports;
            history
        }
        Err(fault) => {
            faults.push(fault);
            History::default()
        }
    }
}

/// Fetches the forecast for the middle of the programme and keeps it in the plan's folder, where `plan --series` can take it again.
fn fetched(args: &Args, loaded: &mut Loaded, folder: Option<&Folder>) {
    let sites: Vec<(f64, f64)> = loaded
        .inventory
        .assemblies
        .iter()
        .filter_map(|assembly| assembly.latitude_deg.zip(assembly.longitude_deg))
        .collect();
    let middle = |pick: fn(&(f64, f64)) -> f64| {
        let mut values: Vec<f64> = sites.iter().map(pick).collect();
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied()
    };
    let (Some(latitude), Some(longitude)) = (middle(|site| site.0), middle(|site| site.1)) else {
        loaded.faults.push(
            Fault::new(
                "BW-P13",
                Severity::Fatal,
                "no assembly tells where it stands, so no forecast can be fetched",
            )
            .column("latitude, longitude")
            .remedy("Fill in coordinates, or fetch with brimwater weather fetch and give the file to --series."),
        );
        return;
    };
    let got = match fetch(latitude, longitude, &args.service.options()) {
        Ok(got) => got,
        Err(faults) => {
            loaded.faults.append(faults);
            return;
        }
    };
    loaded.faults.append(got.faults);
    if let Some(fault) = folder.and_then(|folder| folder.write(FETCHED, &got.bundle).err()) {
        loaded.faults.push(fault);
    }
    loaded.taken.push(Taken {
        role: "series",
        file: FETCHED.to_owned(),
        sha256: Sha256::digest(&got.bundle)
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect(),
    });
    loaded.series = vec![got.series];
    let list = args.inputs.assemblies.as_deref().map(file::shown).unwrap_or_default();
    let (choices, told) = place_assemblies(&loaded.inventory.assemblies, &loaded.series, &list);
    loaded.choices = choices;
    loaded.faults.append(told);
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

/// The rows that cannot be planned for, taken from the programme: those set aside in reading, and assemblies that have no weather.
///
/// # Errors
/// `BW-P10` when no assembly is left.
pub fn rejects(programme: &mut Programme) -> Result<Vec<Reject>, Failure> {
    let mut rejects = std::mem::take(&mut programme.loaded.inventory.rejects);
    let loaded = &programme.loaded;
    let header = Arc::new(vec!["assembly_id".to_owned()]);
    let why: BTreeMap<u64, &Fault> = loaded
        .faults
        .0
        .iter()
        .filter(|fault| fault.code == "BW-S16")
        .filter_map(|fault| Some((fault.line?, fault)))
        .collect();
    let mut usable = 0;
    for (at, assembly) in loaded.inventory.assemblies.iter().enumerate() {
        if programme.site(at).is_some() {
            usable += 1;
            continue;
        }
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
            record: vec![assembly.assembly_id.to_string()],
            header: Arc::clone(&header),
            faults: vec![fault],
        });
    }
    rejects.sort_by_key(|reject| reject.line);
    if usable == 0 {
        let mut faults = loaded.faults.clone();
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
    Ok(rejects)
}
