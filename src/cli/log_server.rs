//! `brimwater log` where a server keeps the log: setting it up, enrolling roles, copying, forgetting.

use super::Done;
use super::common::{self, Failure};
use crate::faults::{Fault, Faults, Severity};
use crate::input::file;
use crate::store::copy::{Carries, Copied, copy};
use crate::store::rows::Counts;
use crate::store::server::address::{Address, is_server, shown};
use crate::store::server::set_up::{self, Job};
use crate::store::server::{Server, schema};
use crate::store::{Log, Store};
use chrono::{DateTime, Utc};
use std::path::{Path, PathBuf};

/// Opens the log on a server.
///
/// # Errors
/// As [`Server::open`], and what is wrong with the address.
pub fn server(place: &Path, programme: Option<&str>, faults: &mut Faults) -> Result<Server, Fault> {
    let server = Server::open(&Address::read(place)?, programme)?;
    faults.0.extend(server.clock_fault());
    Ok(server)
}

/// Opens a log to read it, wherever it is; one that does not exist is not begun.
///
/// # Errors
/// As [`server`] and [`Log::open`]; `BW-L06` when there is no such file.
pub fn store(place: &Path, programme: Option<&str>, faults: &mut Faults) -> Result<Box<dyn Store>, Fault> {
    if is_server(place) {
        return Ok(Box::new(server(place, programme, faults)?));
    }
    if !place.exists() {
        return Err(no_such_log(place));
    }
    let (log, aside) = Log::open(place, programme)?;
    faults.0.extend(aside.map(|aside| aside.fault(place)));
    Ok(Box::new(log))
}

/// The fault of a log that is not there.
pub fn no_such_log(place: &Path) -> Fault {
    Fault::new("BW-L06", Severity::Fatal, "there is no such log")
        .file(file::shown(place))
        .remedy("Check the name; a log begins with its first event, import or queue.")
}

/// `log --set-up ADDRESS`.
pub fn make(place: &Path) -> Done {
    if !is_server(place) {
        return Err(Fault::new(
            "BW-L31",
            Severity::Fatal,
            "a file needs no set-up: it begins with its first event",
        )
        .file(file::shown(place))
        .expected("the address of a server: postgres://ADMINISTRATOR@HOST:PORT/DATABASE")
        .remedy("Name the server's address, as a role that may make roles and tables there.")
        .into());
    }
    let address = Address::read(place)?;
    let before = set_up::set_up(&address)?;
    let after = schema::version();
    let done = match before {
        0 => format!(
            "The log was set up in the database {} (tables of version {after}).",
            address.database
        ),
        same if same == after => format!(
            "The log in the database {} is set up already (tables of version {after}).",
            address.database
        ),
        other => format!(
            "The log in the database {} was brought from version {other} to {after}.",
            address.database
        ),
    };
    let (admin, place) = (address.shown(), format!("{}:{}", address.host, address.port));
    let (database, own) = (&address.database, address.shown_for("ROLE"));
    common::print(&format!(
        "{done}\n\n\
         Next, a login role for each desk, planner and reader, for the utility that its config names as outreach.programme_id:\n  \
         brimwater log --db {admin} --enrol north_desk1 --utility north --job desk --password < file-with-the-password\n\
         desk     notes outcomes and calls and asks for the next call\n\
         planner  the same, loads the queue (--queue) and removes old personal data (--forget-before)\n\
         reader   reads, for plans and reviews\n\n\
         On each computer put the line {place}:{database}:ROLE:PASSWORD into ~/.pgpass, run chmod 600 ~/.pgpass, and name the log\n  \
         brimwater desk ... --log {own}\n\
         Nobody works as the role that did this set-up.\n\n\
         Backup: pg_dump {database} by whoever runs the server, or for one utility brimwater log --db ADDRESS --copy-to FILE.\n\
         Restore: read the dump into an empty database and give this same command once more, or --copy-to the other way.\n"
    ))
}

/// `log --enrol ROLE --utility NAME --job JOB`.
pub fn enrol(place: &Path, role: &str, utility: Option<&str>, job: Option<&str>, with_password: bool) -> Done {
    let wanting = |what: &str, value: &str, expected: String| -> Failure {
        Fault::new("BW-L43", Severity::Fatal, what)
            .value(value)
            .expected(expected)
            .remedy("For example: brimwater log --db ADDRESS --enrol north_desk1 --utility north --job desk --password < FILE")
            .into()
    };
    let utility = utility.ok_or_else(|| {
        wanting(
            "the utility is not named",
            "",
            "--utility NAME, as outreach.programme_id says".into(),
        )
    })?;
    let word = job.unwrap_or_default();
    let job =
        Job::parse(word).ok_or_else(|| wanting("the job cannot be read", word, Job::ALL.map(Job::word).join(", ")))?;
    if !is_server(place) {
        return Err(wanting(
            "roles are enrolled on a server",
            &file::shown(place),
            "--db postgres://ADMINISTRATOR@HOST/DATABASE".into(),
        ));
    }
    let password = if with_password { Some(password()?) } else { None };
    let address = Address::read(place)?;
    set_up::enrol(&address, role, utility, job, password.as_deref())?;
    let how = if with_password {
        "its password was set"
    } else {
        "no password was set: the server must let it in another way"
    };
    common::print(&format!(
        "{role} is enrolled as {} of {utility}; {how}.\nIt logs in as {}\n",
        job.word(),
        address.shown_for(role)
    ))
}

fn password() -> Result<String, Failure> {
    let read = super::secret::password().ok().flatten();
    let usable = |line: &String| line.chars().count() >= 8 && !line.chars().any(char::is_control);
    read.filter(usable).ok_or_else(|| {
        Fault::new("BW-L43", Severity::Fatal, "the password cannot be used")
            .expected("one line of at least 8 characters, the same twice where it is asked for")
            .remedy("Type it again, or write it into a file that only you may read, and give that file with < FILE.")
            .into()
    })
}

fn carrier(place: &Path, programme: Option<&str>, faults: &mut Faults) -> Result<Box<dyn Carries>, Fault> {
    if is_server(place) {
        return Ok(Box::new(server(place, programme, faults)?));
    }
    let (log, aside) = Log::open(place, programme)?;
    faults.0.extend(aside.map(|aside| aside.fault(place)));
    Ok(Box::new(log))
}

/// `log --copy-to PLACE`: into another log, whichever of the two is a file or on a server.
pub fn copy_to(from: &Path, to: &Path, programme: Option<&str>, faults: &mut Faults) -> Done {
    let name = store(from, programme, faults)?.programme()?;
    let source = carrier(from, programme, faults)?;
    let mut other = carrier(to, Some(&name), faults)?;
    let Copied { given, new, digest } = copy(source.as_ref(), other.as_mut())?;
    common::print(&format!(
        "Copied to {}: {} events ({} new there), {} calls ({} new), {} notes of call-backs ({} new).\n\
         Read back and found the same: digest {digest}.\n\
         The queue of calls was not copied: load it there with --queue.\n",
        shown(to),
        given.events,
        new.events,
        given.calls,
        new.calls,
        given.steps,
        new.steps
    ))
}

/// `log --forget-before TIME`.
pub fn forget(place: &Path, before: DateTime<Utc>, programme: Option<&str>, faults: &mut Faults) -> Done {
    let kept = store(place, programme, faults)?.count()?;
    let counts: Counts = if is_server(place) {
        server(place, programme, faults)?.forget_before(before)?
    } else {
        let (mut log, _) = Log::open(place, programme)?;
        log.forget_before(before)?
    };
    common::print(&format!(
        "Personal data of what happened before {} were removed: from {} events, {} calls and {} notes of call-backs.\n\
         All {kept} events stay and count by day and outcome; names, numbers, addresses, words and who noted them are gone.\n\
         Calls that somebody still waits to be called back for were left whole.\n\
         Events are otherwise only ever added; this is the one exception, for the duty not to keep personal data longer than needed.\n\
         Copies and backups made before still hold them: remove those as well.{}\n",
        before.format("%Y-%m-%d %H:%M UTC"),
        counts.events,
        counts.calls,
        counts.steps,
        if is_server(place) {
            " Desks that are connected follow by themselves."
        } else {
            ""
        }
    ))
}

/// A log's name as it may be noted in a run.
pub fn noted(place: &Path) -> String {
    if is_server(place) {
        shown(place)
    } else {
        file::shown(place)
    }
}

/// The place of a log that a config beside `folder` names.
pub fn beside(folder: &Path, name: &str) -> PathBuf {
    if is_server(Path::new(name)) {
        PathBuf::from(name)
    } else {
        folder.join(name)
    }
}
