//! `brimwater watch`: plans again at intervals and tells people when something that matters has changed.

use super::common::{self, Common, Failure, Format};
use super::{Done, plan};
use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::input::file;
use crate::watch::config::WatchConfig;
use crate::watch::decide::Seen;
use crate::watch::deliver::{self, Said, Ways};
use crate::watch::keep::Kept;
use crate::watch::mail::Post;
use crate::watch::newest::STALE;
use crate::watch::tell;
use crate::weather::{ReadOptions, read_series};
use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use clap::Parser;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Arguments of `watch`.
#[derive(clap::Args, Debug, Clone)]
#[command(
    after_help = "Example, every hour from cron, which mails what is printed:\n  0 * * * *  brimwater watch --config config.toml --once --quiet\n\n\
    The section [watch] of the config names the list, the forecast, the folder of the plans and whom to tell. Exit status with --once: 0 nothing \
    new; 1 something was told; 2 not done."
)]
pub struct Args {
    /// The utility's own choices (TOML), with the section [watch].
    #[arg(long, value_name = "FILE")]
    config: PathBuf,
    /// One plan, then stop: for a line of cron.
    #[arg(long)]
    once: bool,
    /// Forecasts of earlier days, one file each, in the order of their names: what would have been told? Only the screen is told,
    /// and the plans go into this folder's `replay`.
    #[arg(long, value_name = "DIR")]
    replay: Option<PathBuf>,
}

/// The line of a plan, as the command line would read it.
#[derive(Parser)]
struct PlanLine {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    plan: plan::Args,
}

/// What every run of this watch shares.
struct Watch {
    rules: WatchConfig,
    zone: Tz,
    config: PathBuf,
    folder: PathBuf,
    ways: Ways,
    common: Common,
}

/// Runs `watch`.
pub fn run(args: Args, common: &Common) -> Done {
    let mut watch = open(&args, common)?;
    if let Some(folder) = &args.replay {
        return replay(&mut watch, folder);
    }
    loop {
        let done = watch.once(Utc::now(), None);
        if args.once {
            return done;
        }
        // A run that failed is told and tried again: a watch that stops at the first bad day is none.
        if let Err(failure) = done {
            failure.report();
        }
        std::thread::sleep(Duration::from_secs(watch.rules.every_minutes * 60));
    }
}

/// Reads the config and checks all that a run will need.
fn open(args: &Args, common: &Common) -> Result<Watch, Failure> {
    let bytes = file::read_whole(&args.config)?;
    let (text, _) = file::text(&bytes, &args.config);
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let config = Config::from_toml(text, &file::shown(&args.config)).map_err(Failure::from)?;
    let beside = args.config.parent().unwrap_or(Path::new("")).to_owned();
    let mut rules = config.watch;
    if args.replay.is_some() {
        // The forecasts are the folder's, and nobody is called out of bed by a rehearsal.
        rules.fetch = false;
        rules.series = vec!["replayed".into()];
        rules.webhook.clear();
        for text in [
            &mut rules.smtp,
            &mut rules.mail_from,
            &mut rules.mail_user,
            &mut rules.mail_secret_file,
        ] {
            text.clear();
        }
        rules.mail_to.clear();
    }
    let mut faults = rules.check();
    let mut ways = Ways::default();
    if !rules.webhook.is_empty() {
        let file = (!rules.webhook_secret_file.is_empty()).then(|| beside.join(&rules.webhook_secret_file));
        match (tell::address(&rules.webhook), tell::secret(file.as_deref())) {
            (Ok(url), Ok(secret)) => ways.webhook = Some((url, secret)),
            (url, secret) => [url.err(), secret.err()]
                .into_iter()
                .flatten()
                .for_each(|fault| faults.push(fault)),
        }
    }
    match Post::open(&rules, &beside) {
        Ok(post) => ways.post = post,
        Err(found) => faults.append(found),
    }
    if faults.is_fatal() {
        let place = file::shown(&args.config);
        let placed = faults.0.into_iter();
        return Err(Faults(
            placed
                .map(|one| if one.file.is_empty() { one.file(&place) } else { one })
                .collect(),
        )
        .into());
    }
    Ok(Watch {
        folder: match &args.replay {
            Some(folder) => folder.join("replay"),
            None => beside.join(&rules.folder),
        },
        zone: config.utility.zone.parse().unwrap_or(Tz::UTC),
        config: args.config.clone(),
        ways,
        rules,
        common: common.clone(),
    })
}

/// Runs the saved forecasts of a folder, each at the time of its issue or first hour, as if it were new.
fn replay(watch: &mut Watch, folder: &Path) -> Done {
    let unreadable = |why: String| {
        Fault::new("BW-W10", Severity::Fatal, format!("nothing can be replayed: {why}"))
            .file(file::shown(folder))
            .expected("a folder of saved forecasts, one file each, named in their order")
    };
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .map_err(|error| unreadable(error.to_string()))?
        .flatten()
        .map(|entry| entry.path())
        .filter(|path| path.is_file())
        // The list of what this program wrote lies hidden beside what `weather reforecast` wrote.
        .filter(|path| {
            !path
                .file_name()
                .is_some_and(|name| name.to_string_lossy().starts_with('.'))
        })
        .collect();
    files.sort();
    if files.is_empty() {
        return Err(unreadable("it holds no file".into()).into());
    }
    // A rehearsal begins with nothing told.
    let _ = std::fs::remove_file(watch.folder.join("state.json"));
    let _ = std::fs::remove_file(watch.folder.join(crate::watch::keep::TOLD));
    let mut status = 0;
    for path in files {
        let bytes = file::read_whole(&path)?;
        let options = ReadOptions {
            zone: Some(watch.zone),
            allow_gaps: true,
            ..ReadOptions::default()
        };
        let (series, told) = read_series(&bytes, &file::shown(&path), &options);
        let Some(first) = series.first() else {
            common::report(&told);
            status = 2;
            continue;
        };
        let now = first.issued.unwrap_or(first.start);
        watch.rules.series = vec![path.to_string_lossy().into_owned()];
        match watch.once(now, Some(&path)) {
            Ok(told) => status = status.max(told),
            Err(failure) => {
                failure.report();
                status = 2;
            }
        }
    }
    Ok(status)
}

impl Watch {
    /// One plan and what follows from it. 0 nothing new, 1 told, 2 no plan.
    fn once(&self, now: DateTime<Utc>, replayed: Option<&Path>) -> Done {
        let kept = Kept::open(&self.folder)?;
        // Read before the long work: a state that cannot be read stops here.
        let mut state = kept.state()?;
        let place = kept.plan_place(now);
        let planned = self.plan(&place, now, replayed);
        let seen = match &planned {
            Ok(()) => seen(&place)?,
            Err(failure) => Seen::Nothing { why: why(&failure.0) },
        };
        let by = deliver::Rules {
            rules: &self.rules,
            zone: self.zone,
            ways: &self.ways,
            say: &|word| {
                let language = self.rules.language;
                let sentence = tell::sentence(word, self.zone, self.common.system(), language);
                Said {
                    subject: tell::subject(word, language),
                    letter: tell::letter(word, &sentence, self.zone, language),
                    sentence,
                }
            },
            show: &|text, document| {
                let shown = if self.common.format == Format::Json {
                    document
                } else {
                    text
                };
                let _ = common::print(&format!("{shown}\n"));
            },
        };
        let (told, faults) = deliver::turn(&mut state, &kept, &seen, now, &by)?;
        kept.expire(now, self.rules.keep_days);
        if faults.is_fatal() {
            return Err(faults.into());
        }
        self.common.tell(&faults);
        match planned {
            Err(failure) => Err(failure),
            Ok(()) if told > 0 => Ok(1),
            Ok(()) => Ok(0),
        }
    }

    /// Makes the plan as `brimwater plan` makes it.
    fn plan(&self, place: &Path, now: DateTime<Utc>, replayed: Option<&Path>) -> Result<(), Failure> {
        let rules = &self.rules;
        let beside = self.config.parent().unwrap_or(Path::new(""));
        let text = |path: &Path| path.as_os_str().to_owned();
        let mut line = vec!["plan".into(), "--quiet".into()];
        let mut add = |option: &str, value: std::ffi::OsString| {
            let mut whole = std::ffi::OsString::from(format!("{option}="));
            whole.push(value);
            line.push(whole);
        };
        add("--config", text(&self.config));
        add("--assemblies", text(&beside.join(&rules.assemblies)));
        for series in &rules.series {
            // A replayed file is named as it lies, not beside the config.
            add("--series", replayed.map_or_else(|| text(&beside.join(series)), text));
        }
        if !rules.stations.is_empty() {
            add("--stations", text(&beside.join(&rules.stations)));
        }
        if !rules.log.is_empty() && replayed.is_none() {
            add("--log", text(&super::log_server::beside(beside, &rules.log)));
        }
        add("--members", rules.members.to_string().into());
        add("--seed", rules.seed.to_string().into());
        add("--out", text(place));
        if rules.fetch {
            add("--contact", rules.contact.clone().into());
            if !rules.service.is_empty() {
                add("--service", rules.service.clone().into());
            }
        }
        if replayed.is_some() {
            add("--now", now.to_rfc3339().into());
        }
        if rules.fetch {
            line.push("--fetch".into());
        }
        let parsed = PlanLine::try_parse_from(line).map_err(|error| {
            Fault::new(
                "BW-W11",
                Severity::Fatal,
                format!("the plan's options do not fit: {error}"),
            )
        })?;
        let mut line = parsed.plan;
        line.silent = true;
        let mut common = parsed.common;
        common.units = self.common.units;
        plan::run(line, &common).map(|_| ())
    }
}

/// What the plan in a folder says.
fn seen(place: &Path) -> Result<Seen, Fault> {
    let read = |name: &str| -> Result<Value, Fault> {
        let path = place.join(name);
        let bytes = file::read_whole(&path)?;
        serde_json::from_slice(&bytes).map_err(|error| {
            Fault::new(
                "BW-W12",
                Severity::Fatal,
                format!("the plan just made cannot be read: {error}"),
            )
            .file(file::shown(&path))
        })
    };
    let (plan, run) = (read("plan.json")?, read("run.json")?);
    let first: Vec<&Value> = plan
        .get("assemblies")
        .and_then(Value::as_array)
        .into_iter()
        .flatten()
        .filter(|one| one.get("tier").and_then(Value::as_str) == Some("call first"))
        .collect();
    let time = |one: &&Value| -> Option<DateTime<Utc>> { one.get("first_ice")?.get("p10")?.as_str()?.parse().ok() };
    let faults = run.get("faults");
    Ok(Seen::Plan {
        call_first: first
            .iter()
            .filter_map(|one| Some(one.get("assembly_id")?.as_str()?.to_owned()))
            .collect(),
        first_ice: first.iter().filter_map(time).min(),
        lowest_c: first
            .iter()
            .filter_map(|one| one.get("min_air_c")?.as_f64())
            .min_by(f64::total_cmp),
        stale: STALE
            .iter()
            .any(|code| faults.is_some_and(|faults| faults.get(code).is_some())),
    })
}

/// Why there is no plan: the codes and what they mean. Values of rows are left out, for they may be personal.
fn why(faults: &Faults) -> String {
    let mut found: Vec<String> = faults
        .0
        .iter()
        .filter(|fault| fault.severity == Severity::Fatal)
        .map(|fault| format!("{} ({})", fault.what, fault.code))
        .collect();
    found.dedup();
    found.truncate(3);
    found.join("; ")
}
