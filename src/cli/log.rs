//! `brimwater log`: what came of a contact.

use super::Done;
use super::common::{self, Common, Failure, Format};
use super::log_shown::{events_text, print_calls, print_events};
use super::{log_import, log_next, log_server};
use crate::config::Config;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::{Report, Seen};
use crate::input::file;
use crate::output::safe::target::{Make, Target, may_write};
use crate::outreach::outcome::Outcome;
use crate::store::import;
use crate::store::open::is_damage;
use crate::store::server::address::is_server;
use crate::store::{Ask, CallFilter, Event, Filter, Log, NewEvent, NewReport, Store};
use crate::weather::local_time::{self, Written};
use chrono::{DateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use std::path::{Path, PathBuf};

/// Days back from which events count when a queue is loaded: one spell (judgement).
const SPELL_DAYS: i64 = 7;

/// Arguments of `log`.
#[derive(clap::Args, Debug, Clone)]
#[command(
    after_help = "Examples:\n  brimwater log --db calls.log --contact C-1042 --outcome reached --note \"will drain today\" --by Rosa\n  \
    brimwater log --db calls.log --import call_sheets/caller-01.csv --by Rosa\n  \
    brimwater log --db calls.log --import plan-friday/inspection_record.csv --config config.toml --by Rosa\n  \
    brimwater log --db calls.log --assembly A-1042 --seen fine --at \"2031-01-09 09:00\" --by Rosa\n  \
    brimwater log --db calls.log --queue plan-friday/contacts.csv\n  brimwater log --db calls.log --next --by Rosa\n  \
    brimwater log --db calls.log --list --format json\n\n\
    Events are only ever added. To correct one, enter what is right: the last entry counts, and both are kept.\n\n\
    Many desks, one log: a PostgreSQL server in place of the file.\n  \
    brimwater log --set-up postgres://ADMINISTRATOR@HOST/DATABASE\n  \
    brimwater log --db postgres://ADMINISTRATOR@HOST/DATABASE --enrol north_desk1 --utility north --job desk --password < FILE\n  \
    brimwater log --db calls.log --copy-to postgres://ROLE@HOST/DATABASE\n\
    Passwords come from PGPASSWORD, the password file (~/.pgpass) or the service file, never from the address."
)]
pub struct Args {
    /// The log: a file, begun if it does not exist, or a server, postgres://ROLE@HOST:PORT/DATABASE.
    #[arg(long, value_name = "FILE|ADDRESS", required_unless_present = "set_up")]
    db: Option<PathBuf>,
    /// Makes the tables and roles of the log on a server, or brings them up to date, and tells how to go on.
    #[arg(long, value_name = "ADDRESS", conflicts_with = "db")]
    set_up: Option<PathBuf>,
    /// Enrols a login role on the server for --utility and --job.
    #[arg(long, value_name = "ROLE")]
    enrol: Option<String>,
    /// With --enrol: the utility, as `outreach.programme_id` in its config says.
    #[arg(long, value_name = "NAME", requires = "enrol")]
    utility: Option<String>,
    /// With --enrol: desk, planner or reader.
    #[arg(long, value_name = "JOB", requires = "enrol")]
    job: Option<String>,
    /// With --enrol: sets the role's password, asked for, or read from standard input.
    #[arg(long, requires = "enrol")]
    password: bool,
    /// Copies the log into another, from file to server or back, and reads the copy to check it.
    #[arg(long, value_name = "FILE|ADDRESS")]
    copy_to: Option<PathBuf>,
    /// Removes personal data of what happened before this time; the counts stay.
    #[arg(long, value_name = "TIME")]
    forget_before: Option<String>,
    /// Whom it is about: the identifier on the call sheet, or an assembly's.
    #[arg(long, value_name = "ID")]
    contact: Option<String>,
    /// What came of it: reached, message-left, no-answer, wrong-number, declined or done.
    #[arg(long, value_name = "OUTCOME")]
    outcome: Option<String>,
    /// Of which assembly something was seen on site.
    #[arg(long, value_name = "ID", requires = "seen")]
    assembly: Option<String>,
    /// How it stands there: fine, ice, broken, or whole where nobody looked for ice; `plan --log` weighs its chances by it.
    #[arg(long, value_name = "STATE", requires = "assembly")]
    seen: Option<String>,
    /// A note; alone with --contact it needs an outcome too.
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// Who notes it.
    #[arg(long, value_name = "NAME")]
    pub(super) by: Option<String>,
    /// When it happened; now when left out.
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Takes in a filled call sheet, or a filled inspection_record.csv as reports of how assemblies stand.
    #[arg(long, value_name = "FILE")]
    import: Option<PathBuf>,
    /// Where rows that were not taken go; beside the sheet when left out.
    #[arg(long, value_name = "FILE")]
    pub(super) rejects: Option<PathBuf>,
    /// Lists events, oldest first.
    #[arg(long)]
    list: bool,
    /// Lists calls that came in, oldest first; with --open those that somebody waits to be called back for, the earliest due first.
    #[arg(long)]
    calls: bool,
    /// With --calls: only those with a call-back that is still owed.
    #[arg(long, requires = "calls")]
    open: bool,
    /// Copies the log into a new file while others go on writing, and reads every page of the copy.
    #[arg(long, value_name = "FILE")]
    backup: Option<PathBuf>,
    /// Lists, or counts for the queue, only what happened from this time on.
    #[arg(long, value_name = "TIME")]
    since: Option<String>,
    /// Lists only the last so many.
    #[arg(long, value_name = "N")]
    last: Option<u32>,
    /// Loads the calls of a plan's contacts.csv, so that --next gives them out.
    #[arg(long, value_name = "FILE")]
    queue: Option<PathBuf>,
    /// Gives out the next call to --by, and to nobody else for 20 minutes.
    #[arg(long)]
    next: bool,
    /// With --next: the plan's contacts.csv with the numbers; that of --queue when left out.
    #[arg(long, value_name = "FILE", requires = "next")]
    contacts: Option<PathBuf>,
    /// With --next: the caller speaks Spanish.
    #[arg(long)]
    speaks_spanish: bool,
    /// The utility's own choices: zone and programme.
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

/// What is told where the answer cannot be shown.
pub(super) const SAVED: &str = "What was noted is saved";

/// What is to be done.
enum Action {
    Add(NewEvent),
    Report(NewReport),
    Import(PathBuf),
    List(Filter),
    Calls(CallFilter),
    Backup(PathBuf),
    Queue(PathBuf, DateTime<Utc>),
    Next(Ask),
    Enrol(String),
    CopyTo(PathBuf),
    Forget(DateTime<Utc>),
}

/// Runs `log`.
pub fn run(args: Args, common: &Common) -> Done {
    if let Some(address) = &args.set_up {
        return log_server::make(address);
    }
    let config = match &args.config {
        Some(path) => read_config(path)?,
        None => Config::default(),
    };
    let zone: Tz = config.utility.zone.parse().unwrap_or(Tz::UTC);
    let programme = args.config.as_ref().map(|_| config.outreach.programme_id.as_str());
    let action = action(&args, zone)?;
    let targets = [
        args.rejects
            .as_deref()
            .map(|path| Target::private("--rejects", path, Make::New)),
        args.backup
            .as_deref()
            .map(|path| Target::private("--backup", path, Make::New)),
    ];
    let targets: Vec<Target<'_>> = targets.into_iter().flatten().collect();
    let others = args.import.iter().chain(&args.queue).chain(&args.config);
    let inputs: Vec<&Path> = others
        .map(PathBuf::as_path)
        .chain(args.db.as_deref().filter(|db| !is_server(db)))
        .collect();
    // A backup never replaces a file, which the log itself sees to.
    let checked = if args.backup.is_some() { &[] } else { targets.as_slice() };
    may_write(checked, &inputs, common.force)?;
    let mut faults = Faults::new();
    let mut times = [&args.at, &args.since, &args.forget_before].into_iter().flatten();
    let local = times.any(|text| !matches!(local_time::parse(text), Some(Written::Instant(_))));
    if args.config.is_none() && (local || args.import.is_some()) {
        // An hour read five or six hours off weighs another night.
        faults.push(
            Fault::new(
                "BW-L25",
                Severity::Note,
                "no config names the zone: times without an offset were read as UTC",
            )
            .expected("--config with zone under [utility], or times such as 2031-01-10T14:30:00-06:00")
            .remedy("Give --config; what was noted at a wrong hour is put right by noting it again."),
        );
    }
    let db = args.db.clone().unwrap_or_default();
    if let Some(done) = elsewhere(&action, &args, &db, programme, &mut faults) {
        common.tell(&faults);
        return done.map(|status| status.max(faults.exit_status()));
    }
    let mut log = open(&db, programme, &action, &mut faults)?;
    let done = act(log.as_mut(), &action, &args, zone, common, &mut faults);
    let done = match done {
        // Damage that shows only now: set the file aside and do it once more on the new one.
        Err(failure) if failure.0.0.iter().any(is_damage) => {
            drop(log);
            let (fresh, aside) = Log::after_damage(&db, programme)?;
            log = Box::new(fresh);
            faults.0.extend(aside.map(|aside| aside.fault(&db)));
            act(log.as_mut(), &action, &args, zone, common, &mut faults)
        }
        done => done,
    };
    faults.0.extend(log.bad_rows().iter().map(|row| row.fault(&db)));
    common.tell(&faults);
    done.map(|status| status.max(faults.exit_status()))
}

/// What does not go through one opened log.
fn elsewhere(action: &Action, args: &Args, db: &Path, programme: Option<&str>, faults: &mut Faults) -> Option<Done> {
    match action {
        Action::Enrol(role) => Some(log_server::enrol(
            db,
            role,
            args.utility.as_deref(),
            args.job.as_deref(),
            args.password,
        )),
        Action::CopyTo(to) => Some(log_server::copy_to(db, to, programme, faults)),
        Action::Forget(before) => Some(log_server::forget(db, *before, programme, faults)),
        _ => None,
    }
}

fn read_config(path: &Path) -> Result<Config, Failure> {
    let bytes = file::read_whole(path)?;
    // What is doubted there is told by the commands that compute with it.
    let (text, _) = file::text(&bytes, path);
    Ok(Config::from_toml(&text, &file::shown(path))?)
}

fn reads(action: &Action) -> bool {
    matches!(action, Action::List(_) | Action::Calls(_) | Action::Backup(_))
}

fn open(path: &Path, programme: Option<&str>, action: &Action, faults: &mut Faults) -> Result<Box<dyn Store>, Failure> {
    if is_server(path) {
        return Ok(Box::new(log_server::server(path, programme, faults)?));
    }
    let reads = reads(action);
    if (reads || matches!(action, Action::Next(_))) && !path.exists() {
        return Err(log_server::no_such_log(path).into());
    }
    // What only reads needs no right to write.
    if reads {
        match Log::open_to_read(path, programme) {
            Ok(log) => return Ok(Box::new(log)),
            // Set aside below, and read in its new file.
            Err(fault) if is_damage(&fault) => {}
            Err(fault) => return Err(fault.into()),
        }
    }
    let (log, aside) = Log::open(path, programme)?;
    faults.0.extend(aside.map(|aside| aside.fault(path)));
    Ok(Box::new(log))
}

/// What was typed, checked.
fn action(args: &Args, zone: Tz) -> Result<Action, Failure> {
    let usage = |what: &str, remedy: &str| -> Failure {
        Fault::new("BW-L21", Severity::Fatal, what)
            .expected("one of: --contact with --outcome and --by; --assembly with --seen and --by; --import; --list; --calls; --backup; --queue; --next with --by; --copy-to; \
                 --forget-before; --enrol; --set-up")
            .remedy(remedy)
            .into()
    };
    let adding = args.outcome.is_some() || (args.contact.is_some() && !args.list && !args.calls);
    let asked = [
        adding,
        args.seen.is_some(),
        args.import.is_some(),
        args.list,
        args.calls,
        args.backup.is_some(),
        args.queue.is_some(),
        args.next,
        args.enrol.is_some(),
        args.copy_to.is_some(),
        args.forget_before.is_some(),
    ];
    if asked.iter().filter(|asked| **asked).count() != 1 {
        return Err(usage("it is not clear what to do", "Ask for one thing at a time."));
    }
    let time = |text: &Option<String>| -> Result<Option<DateTime<Utc>>, Failure> {
        match text {
            None => Ok(None),
            Some(text) => match import::time(text, zone) {
                Ok(at) => Ok(Some(at)),
                Err(mut fault) => {
                    fault.severity = Severity::Fatal;
                    Err(fault.into())
                }
            },
        }
    };
    let by = || {
        let by = args.by.as_deref().map(str::trim).filter(|by| !by.is_empty());
        by.map(str::to_owned)
            .ok_or_else(|| usage("nobody is named", "Say who you are with --by."))
    };
    let now = Utc::now();
    if let Some(role) = &args.enrol {
        return Ok(Action::Enrol(role.clone()));
    }
    if let Some(to) = &args.copy_to {
        return Ok(Action::CopyTo(to.clone()));
    }
    if let Some(before) = midnight_or(&args.forget_before, time)? {
        if before > now {
            return Err(usage(
                "that time has not come yet",
                "Name a day that has passed, such as --forget-before 2030-04-01.",
            ));
        }
        return Ok(Action::Forget(before));
    }
    if let Some(path) = &args.import {
        return Ok(Action::Import(path.clone()));
    }
    if args.list {
        return Ok(Action::List(Filter {
            contact: args.contact.clone(),
            since: time(&args.since)?,
            last: args.last,
        }));
    }
    if args.calls {
        return Ok(Action::Calls(CallFilter {
            subject: args.contact.clone(),
            since: time(&args.since)?,
            open: args.open,
            last: args.last,
        }));
    }
    if let Some(path) = &args.backup {
        return Ok(Action::Backup(path.clone()));
    }
    if let Some(path) = &args.queue {
        let since = time(&args.since)?.unwrap_or(now - TimeDelta::days(SPELL_DAYS));
        return Ok(Action::Queue(path.clone(), since));
    }
    if args.next {
        return Ok(Action::Next(Ask {
            by: by()?,
            spanish: args.speaks_spanish,
            now,
            early_first: true,
        }));
    }
    let happened = || -> Result<DateTime<Utc>, Failure> {
        let at = time(&args.at)?.unwrap_or(now);
        if at > now + TimeDelta::minutes(10) {
            return Err(Fault::new("BW-L14", Severity::Fatal, "the call lies in the future")
                .column("--at")
                .expected("a time that has passed")
                .remedy("Correct the time, or leave it out.")
                .into());
        }
        Ok(at)
    };
    if let (Some(assembly), Some(word)) = (&args.assembly, &args.seen) {
        let seen = Seen::parse(word).ok_or_else(|| {
            Failure::from(
                Fault::new("BW-L13", Severity::Fatal, "what was seen cannot be read")
                    .column("--seen")
                    .value(word)
                    .expected(Seen::ALL.map(Seen::word).join(", "))
                    .remedy("Write one of these words, and the rest into --note."),
            )
        })?;
        let report = NewReport {
            assembly_id: assembly.trim().to_owned(),
            report: Report { at: happened()?, seen },
            seen_by: String::new(),
            note: args.note.clone().unwrap_or_default(),
            by: by()?,
            uid: None,
        };
        report.call().check().map_err(|mut fault| {
            fault.severity = Severity::Fatal;
            Failure::from(fault)
        })?;
        return Ok(Action::Report(report));
    }
    let (Some(contact), Some(word)) = (&args.contact, &args.outcome) else {
        return Err(usage(
            "a contact and an outcome belong together",
            "Give both --contact and --outcome.",
        ));
    };
    let outcome = Outcome::parse(word).ok_or_else(|| {
        Failure::from(
            Fault::new("BW-L13", Severity::Fatal, "the outcome cannot be read")
                .column("--outcome")
                .value(word)
                .expected(Outcome::ALL.map(Outcome::word).join(", "))
                .remedy("Write one of these words."),
        )
    })?;
    let event = NewEvent {
        at: happened()?,
        ..NewEvent::now(
            contact,
            outcome,
            args.note.as_deref().unwrap_or_default(),
            &by()?,
            "command",
        )
    };
    event.check().map_err(|mut fault| {
        fault.severity = Severity::Fatal;
        Failure::from(fault)
    })?;
    Ok(Action::Add(event))
}

/// A time, or the first moment of a day.
fn midnight_or(
    text: &Option<String>,
    time: impl Fn(&Option<String>) -> Result<Option<DateTime<Utc>>, Failure>,
) -> Result<Option<DateTime<Utc>>, Failure> {
    match text.as_deref().map(str::trim) {
        Some(day) if day.len() == 10 => time(&Some(format!("{day} 00:00"))),
        _ => time(text),
    }
}

fn act(log: &mut dyn Store, action: &Action, args: &Args, zone: Tz, common: &Common, faults: &mut Faults) -> Done {
    match action {
        Action::Add(event) => add(log, event, common, zone, faults),
        Action::Report(report) => {
            let id = log.record(&report.call())?;
            let seen = report.report.seen.word();
            let text = format!(
                "Noted as call {id}: {}, seen {seen}, by {}.\n",
                report.assembly_id,
                report.by.trim()
            );
            Ok(common::print_done(&text, SAVED))
        }
        Action::Import(path) => log_import::import(log, path, args, zone, common, faults),
        Action::List(filter) => list(log, filter, common, zone),
        Action::Calls(filter) => print_calls(&log.calls(filter)?, common, zone),
        Action::Backup(to) => {
            let events = log.backup(to)?;
            let text = format!("{events} events copied to {}; the copy is whole.\n", to.display());
            Ok(common::print_done(&text, "The copy was made"))
        }
        // Done before a log is opened.
        Action::Enrol(_) | Action::CopyTo(_) | Action::Forget(_) => Ok(0),
        Action::Queue(path, since) => {
            let items = import::read_queue(file::open(path)?, &file::shown(path))?;
            let open = log.load_queue(&items, *since)?;
            log_next::remember(args.db.as_deref(), path, faults);
            let text = format!("{} calls loaded, {open} of them open.\n", items.len());
            Ok(common::print_done(&text, "The calls were loaded"))
        }
        Action::Next(ask) => log_next::next(log, ask, (args.db.as_deref(), args.contacts.as_deref()), common, zone),
    }
}

fn add(log: &mut dyn Store, event: &NewEvent, common: &Common, zone: Tz, faults: &mut Faults) -> Done {
    let id = log.add(event)?;
    // A call list that does not know the contact hints at a slip of the pen.
    if log.open_calls()? > 0 && !log.is_queued(event.contact.trim())? {
        faults.push(
            Fault::new(
                "BW-L15",
                Severity::Note,
                "the loaded call list does not know this contact",
            )
            .value(&event.contact)
            .remedy("Check the identifier; the event was kept."),
        );
    }
    let filter = Filter {
        contact: Some(event.contact.trim().to_owned()),
        last: Some(1),
        ..Filter::default()
    };
    let kept: Vec<Event> = log.list(&filter)?.into_iter().filter(|kept| kept.id == id).collect();
    match common.format {
        Format::Table => Ok(common::print_done(
            &format!(
                "Noted as event {id}: {}, {}, by {}.\n",
                event.contact.trim(),
                event.outcome.word(),
                event.by.trim()
            ),
            SAVED,
        )),
        _ => Ok(common::print_done(&events_text(&kept, common, zone)?, SAVED)),
    }
}

fn list(log: &dyn Store, filter: &Filter, common: &Common, zone: Tz) -> Done {
    print_events(&log.list(filter)?, common, zone)
}
