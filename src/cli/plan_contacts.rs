//! The contact side of `plan`: persons, schedule, words and files.

use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::Outlook;
use crate::input::file;
use crate::inventory::Assembly;
use crate::output;
use crate::output::outreach_files::{self, Campaign};
use crate::output::report::Figure;
use crate::outreach::about::Facts;
use crate::outreach::after::{self, Queue, Spell, Visit};
use crate::outreach::clock::{self, DayLight};
use crate::outreach::line::ContactLine;
use crate::outreach::messages::Messages;
use crate::outreach::outcome::History;
use crate::outreach::people::{self, Person};
use crate::outreach::replan::{self, OldPlan};
use crate::outreach::schedule::{self, PlanInput};
use crate::outreach::thaw::{self, Air, Thaw};
use crate::ranking::{Ranked, Words};
use crate::weather::{Series, sun};
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Longest message template, bytes.
const MOST_TEMPLATE_BYTES: usize = 64 * 1024;

/// What the contacts are made from.
pub struct Given<'a> {
    /// Assemblies that were used.
    pub assemblies: &'a [Assembly],
    /// Their outlooks.
    pub outlooks: &'a [Arc<Outlook>],
    /// The list.
    pub ranked: &'a [Ranked],
    /// The weather.
    pub series: &'a [Series],
    /// Series and offset of each assembly, K.
    pub sites: &'a [(usize, f64)],
    /// Name of the list's file, for faults.
    pub file: &'a str,
    /// The config.
    pub config: &'a Config,
    /// Folder that a relative folder of templates is sought in: that of the config file.
    pub beside: Option<&'a Path>,
    /// How people read.
    pub words: Words,
    /// The time of planning.
    pub now: DateTime<Utc>,
    /// The window of the spell.
    pub window: (DateTime<Utc>, DateTime<Utc>),
    /// What came of contacts so far.
    pub history: &'a History,
    /// An earlier plan to compare with.
    pub since: Option<&'a OldPlan>,
    /// Whether the spell is over, so that the assemblies are to be looked at.
    pub over: bool,
    /// Seed of what is drawn at random.
    pub seed: u64,
    /// Whether the files are made for sharing.
    pub redact: bool,
}

/// The contact plan and its files.
pub struct Contacts {
    /// Lines, as `plan.json` carries them.
    pub lines: Vec<ContactLine>,
    /// Files by name under the plan's folder.
    pub files: Vec<(String, Vec<u8>)>,
    /// Charts with their file names.
    pub figures: Vec<(&'static str, Figure)>,
    /// What changed against the earlier plan, counted in words.
    pub changed: Option<String>,
    /// Thaw notices that are due, counted in words.
    pub thaw: Option<String>,
}

/// Makes the contact plan.
///
/// # Errors
/// When a file cannot be made; warnings go to `faults`.
pub fn contacts(given: &Given<'_>, faults: &mut Faults) -> Result<Contacts, Faults> {
    let config = given.config;
    let (people, told) = people::merge(given.assemblies, &config.outreach.people, given.file);
    faults.append(told);
    let light = light(given);
    let input = PlanInput {
        people: &people,
        assemblies: given.assemblies,
        outlooks: given.outlooks,
        ranked: given.ranked,
        now: given.now,
        zone: given.words.zone,
        daylight: &*light,
        history: given.history,
    };
    let (mut plan, told) = schedule::plan(&input, &config.outreach);
    if given.over {
        plan = plan.after_the_spell();
    } else {
        faults.append(told);
    }
    if let Some(old) = given.since {
        replan::mark_repeats(old, &mut plan.lines, given.now);
    }
    let (replacements, told) = templates(&config.outreach.templates, given.beside);
    faults.append(told);
    let (messages, told) = Messages::new(&config.utility, &config.outreach, &replacements, !given.words.us);
    faults.append(told);
    let air = Air {
        series: given.series,
        sites: given.sites,
    };
    let thaw = thaw::notices(&input, &air, &config.outreach);
    tell_thaw(&thaw, given, faults);
    let visits = given.over.then(|| after_visits(given, &people));
    let campaign = Campaign {
        plan: &plan,
        facts: Facts {
            people: &people,
            assemblies: given.assemblies,
            outlooks: given.outlooks,
            words: given.words,
        },
        messages: &messages,
        config,
        issued: given.now,
        window: given.window,
        redact: given.redact,
        ranked: given.ranked,
        thaw: &thaw,
        over: given.over,
        visits: visits.as_ref().map(|(_, visits)| {
            let drawn = visits.iter().filter(|visit| visit.queue == Queue::Sample).count();
            (visits.len(), drawn)
        }),
    };
    let mut files = outreach_files::files(&campaign)?;
    let mut changed = None;
    if let Some(old) = given.since {
        let now = replan::Now {
            assemblies: given.assemblies,
            outlooks: given.outlooks,
            ranked: given.ranked,
            people: &people,
            history: given.history,
        };
        let found = replan::changes(old, &now);
        changed = Some(replan::count_line(&found));
        files.push((
            "changes.csv".into(),
            output::changes::csv(&found, &given.words).map_err(one)?,
        ));
    }
    if let Some((spell, visits)) = &visits {
        files.extend(after_files(given, spell, visits)?);
    }
    let figures = outreach_files::figure(&plan, config).into_iter().collect();
    Ok(Contacts {
        lines: plan.lines,
        files,
        figures,
        changed,
        thaw: (!thaw.notices.is_empty() && !given.redact).then(|| {
            format!(
                "{} thaw notices to send, in thaw_notices.csv with their hours; {} people at risk get none, without text and e-mail or opted out",
                thaw.notices.len(),
                thaw.without
            )
        }),
    })
}

fn one(fault: Fault) -> Faults {
    Faults(vec![fault])
}

/// Tells which thaw notices are due, and for whom there is none.
///
/// Faults, all notes: `BW-P75` notices are due, `BW-P76` the thaw is too long gone for any.
fn tell_thaw(thaw: &Thaw, given: &Given<'_>, faults: &mut Faults) {
    if !thaw.notices.is_empty() || thaw.without > 0 {
        let place = if given.redact || thaw.notices.is_empty() {
            ""
        } else {
            ", listed in thaw_notices.csv with the hours between which each is to be sent"
        };
        faults.push(
            Fault::new(
                "BW-P75",
                Severity::Note,
                format!(
                    "thaw is near: {} notices to look for leaks are due{place}; {} people at risk get none, without text and e-mail or opted out",
                    thaw.notices.len(),
                    thaw.without
                ),
            )
            .remedy("Send them from 6 h before the air rises above freezing to 48 h after; tell the others by telephone or radio."),
        );
    } else if thaw.too_late > 0 && given.over {
        faults.push(
            Fault::new(
                "BW-P76",
                Severity::Note,
                "the thaw began more than 48 h before the time of planning: no thaw notice is listed",
            )
            .remedy("Plan again with --now at the time of the thaw if notices are still to go."),
        );
    }
}

/// After the spell: whom to visit.
fn after_visits<'a>(given: &Given<'a>, people: &'a [Person]) -> (Spell<'a>, Vec<Visit>) {
    let day = |time: DateTime<Utc>| time.with_timezone(&given.words.zone).date_naive();
    let spell = Spell {
        assemblies: given.assemblies,
        outlooks: given.outlooks,
        ranked: given.ranked,
        people,
        history: given.history,
        first_day: day(given.now.max(given.window.1))
            .succ_opt()
            .unwrap_or_else(|| day(given.now)),
        seed: given.seed,
    };
    let visits = after::visits(&spell, &given.config.outreach.after);
    (spell, visits)
}

/// The list of visits, the form to fill, and the words that it knows.
fn after_files(given: &Given<'_>, spell: &Spell<'_>, visits: &[Visit]) -> Result<Vec<(String, Vec<u8>)>, Faults> {
    let day = |time: DateTime<Utc>| time.with_timezone(&given.words.zone).date_naive();
    let event = format!("cold spell of {} to {}", day(given.window.0), day(given.window.1));
    Ok(vec![
        (
            "inspection.csv".into(),
            output::after::inspection_csv(visits, spell, given.redact).map_err(one)?,
        ),
        (
            "inspection_record.csv".into(),
            output::after::record_csv(visits, spell, &event, &given.words).map_err(one)?,
        ),
        ("inspection_words.csv".into(), output::after::words_csv().map_err(one)?),
    ])
}

/// Daylight from the sun at the middle of the programme; by the clock of the config where no site is known or the sun does not set.
fn light<'a>(given: &Given<'a>) -> Box<DayLight<'a>> {
    let sites: Vec<(f64, f64)> = given
        .assemblies
        .iter()
        .filter_map(|assembly| assembly.latitude_deg.zip(assembly.longitude_deg))
        .collect();
    let by_clock = clock::clock_daylight(given.words.zone, &given.config.outreach.shift);
    let n = sites.len() as f64;
    if sites.is_empty() {
        return Box::new(by_clock);
    }
    let latitude = sites.iter().map(|site| site.0).sum::<f64>() / n;
    let longitude = sites.iter().map(|site| site.1).sum::<f64>() / n;
    Box::new(move |date: NaiveDate| sun::sunrise_sunset(latitude, longitude, date).unwrap_or_else(|| by_clock(date)))
}

/// The templates of a folder: `en/*.txt` and `es/*.txt`, by name such as `en/text_fire.txt`.
///
/// Faults: `BW-P72` the folder or one of its files cannot be read (warning: the built-in words are used).
fn templates(folder: &str, beside: Option<&Path>) -> (BTreeMap<String, String>, Faults) {
    let mut found = BTreeMap::new();
    let mut faults = Faults::new();
    if folder.is_empty() {
        return (found, faults);
    }
    let root = match beside {
        Some(beside) => beside.join(folder),
        None => PathBuf::from(folder),
    };
    let mut unreadable = |path: &Path, why: String| {
        faults.push(
            Fault::new(
                "BW-P72",
                Severity::Warning,
                format!("message templates cannot be read: {why}"),
            )
            .file(file::shown(path))
            .expected("a folder with en/ and es/ and UTF-8 files in them")
            .remedy("The built-in words were used."),
        );
    };
    if !root.is_dir() {
        unreadable(&root, "there is no such folder".into());
        return (found, faults);
    }
    for language in ["en", "es"] {
        let Ok(entries) = std::fs::read_dir(root.join(language)) else {
            continue;
        };
        let mut paths: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
        paths.sort();
        for path in paths
            .iter()
            .filter(|path| path.extension().is_some_and(|end| end == "txt"))
        {
            let name = path
                .file_name()
                .map(|name| name.to_string_lossy().into_owned())
                .unwrap_or_default();
            match file::read_whole(path) {
                Err(fault) => unreadable(path, fault.what),
                Ok(bytes) if bytes.len() > MOST_TEMPLATE_BYTES => unreadable(path, "it is too long".into()),
                Ok(bytes) => match String::from_utf8(bytes) {
                    Ok(text) => {
                        found.insert(format!("{language}/{name}"), text);
                    }
                    Err(_) => unreadable(path, "it is not UTF-8".into()),
                },
            }
        }
    }
    (found, faults)
}
