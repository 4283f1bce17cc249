//! The desk's view of the log of contacts: outcomes of our calls, calls that came in, call-backs.

use super::notices::Notice;
use crate::faults::{Fault, Severity};
use crate::freeze::Reports;
use crate::inventory::Language;
use crate::outreach::outcome::{History, Outcome};
use crate::store::calls::CONTACT_PREFIX;
use crate::store::link::{Link, Standing};
use crate::store::open::is_moved;
use crate::store::server::address::{Address, is_server};
use crate::store::spool::usual_place;
use crate::store::{self, BadRow, Call, CallFilter, Event, Filter, NewCall, NewEvent, Step, Store};
use chrono::{DateTime, TimeDelta, Utc};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::time::Duration;

/// Notes shown on one card.
const SHOWN: u32 = 20;

/// An outcome of a call of ours, as a page sends it.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// When.
    pub at: DateTime<Utc>,
    /// Contact or assembly it is about.
    pub id: String,
    /// What came of it.
    pub outcome: Outcome,
    /// Text.
    pub text: String,
    /// By whom.
    pub by: String,
}

/// What the log holds about one assembly.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Told {
    /// Outcomes of our calls, newest first.
    pub events: Vec<Event>,
    /// Calls that came in, newest first.
    pub calls: Vec<Call>,
}

/// How long a page waits for its turn when another program holds the log: somebody is on the phone.
const WAIT: Duration = Duration::from_secs(4);

/// The log. One connection writes, another reads: a writer that waits for its turn keeps no page waiting.
pub struct Log {
    path: PathBuf,
    programme: Option<String>,
    write: Mutex<store::Log>,
    read: Mutex<store::Log>,
    /// Why the last access failed; `None` when it did not.
    trouble: Mutex<Option<String>>,
    /// What keeps this log and the server's together, where the log is on a server and this one is the desk's own beside it.
    link: Option<Link>,
}

/// The time of a note; a second after the last one about the same contact or assembly where a clock that was set back since would put the
/// new one before it, and the older word would go on counting.
fn not_before_the_last(log: &store::Log, name: &str, at: DateTime<Utc>) -> Result<DateTime<Utc>, Fault> {
    let other = name
        .strip_prefix(CONTACT_PREFIX)
        .map_or_else(|| format!("{CONTACT_PREFIX}{name}"), str::to_owned);
    let mut at = at;
    for contact in [name.to_owned(), other] {
        let filter = Filter {
            contact: Some(contact),
            last: Some(1),
            ..Filter::default()
        };
        let last = log.list(&filter)?.pop().filter(|last| last.counts && last.at > at);
        at = last.map_or(at, |last| last.at + TimeDelta::seconds(1));
    }
    Ok(at)
}

/// What makes a form that is sent twice count once.
fn uid(once: &str) -> Option<String> {
    Some(once)
        .filter(|once| !once.is_empty())
        .map(|once| NewEvent::uid_of(&["desk", once]))
}

impl Log {
    /// Opens the log, or begins one, and reads every page of it. What was told beside it (a damaged file set aside) comes second.
    ///
    /// # Errors
    /// As [`store::Log::open_whole`].
    pub fn open(path: &Path, programme: Option<&str>) -> Result<(Self, Option<Fault>), Fault> {
        let (write, aside) = store::Log::open_whole(path, programme)?;
        let (read, _) = store::Log::open(path, programme)?;
        for log in [&write, &read] {
            log.wait_at_most(WAIT)?;
        }
        let log = Self {
            path: path.to_path_buf(),
            programme: programme.map(str::to_owned),
            write: Mutex::new(write),
            read: Mutex::new(read),
            trouble: Mutex::new(None),
            link: None,
        };
        Ok((log, aside.map(|aside| aside.fault(path))))
    }

    /// Opens a log on a server, with `spool` as the desk's own beside it. A server that is away is told and tried again. What was told
    /// comes second.
    ///
    /// # Errors
    /// As [`Link::begin`] and [`store::Log::open_whole`].
    pub fn open_on_server(
        address: &Address,
        spool: &Path,
        programme: Option<&str>,
    ) -> Result<(Self, Vec<Fault>), Fault> {
        let (link, aside, standing) = Link::begin(address, spool, programme)?;
        let (mut log, _) = Self::open(spool, programme)?;
        log.link = Some(link);
        let mut told: Vec<Fault> = aside.map(|aside| aside.fault(spool)).into_iter().collect();
        for text in [standing.away, standing.clock].into_iter().flatten() {
            told.push(Fault::new(
                "BW-L44",
                Severity::Warning,
                format!("the desk begins, but: {text}"),
            ));
        }
        Ok((log, told))
    }

    /// How it stands with the server, where the log is on one.
    pub fn standing(&self) -> Option<Standing> {
        self.link.as_ref().map(Link::standing)
    }

    /// A time of now as the log has it: the server's clock counts where there is one.
    fn timed(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        self.link.as_ref().map_or(at, |link| link.as_server_has_it(at))
    }

    /// Opens the log of a place, a file or a server, and gives the desk's own file of it and what was told. `spool` is the desk's own
    /// file beside a server; in its usual place when `None`.
    ///
    /// # Errors
    /// As [`Log::open`], [`Log::open_on_server`] and [`Address::read`].
    pub fn open_at(
        place: &Path,
        spool: Option<&Path>,
        programme: Option<&str>,
    ) -> Result<(Self, PathBuf, Vec<Fault>), Fault> {
        if !is_server(place) {
            let (log, aside) = Self::open(place, programme)?;
            return Ok((log, place.to_path_buf(), aside.into_iter().collect()));
        }
        let address = Address::read(place)?;
        let path = match spool {
            Some(path) => path.to_path_buf(),
            None => usual_place(&address)?,
        };
        let (log, told) = Self::open_on_server(&address, &path, programme)?;
        Ok((log, path, told))
    }

    /// What is wrong with the log, on every page: all of them lean on it for who has been called, who waits and what was said.
    /// `planned_without` says that the plan was made without it.
    pub fn notices(&self, planned_without: bool, language: Language) -> Vec<Notice> {
        let mut notices = Vec::new();
        if let Some(detail) = self.trouble() {
            notices.push(Notice {
                text: crate::say!(language, "log-unread").into(),
                detail,
            });
        }
        let standing = self.standing().unwrap_or_default();
        if let Some(detail) = standing.away {
            notices.push(Notice {
                text: crate::say!(language, "log-away", count = standing.undelivered).into(),
                detail,
            });
        }
        if let Some(detail) = standing.refused {
            notices.push(Notice {
                text: crate::say!(language, "log-refused", count = standing.undelivered).into(),
                detail,
            });
        }
        if let Some(detail) = standing.clock {
            notices.push(Notice {
                text: crate::say!(language, "log-clock").into(),
                detail,
            });
        }
        if planned_without {
            notices.push(Notice::plain(crate::say!(language, "log-unread-by-plan")));
        }
        let rows = self.bad_rows();
        if !rows.is_empty() {
            let shown: Vec<String> = rows
                .iter()
                .take(8)
                .map(|row| format!("{} {} ({})", row.table, row.id, row.about))
                .collect();
            notices.push(Notice {
                text: crate::say!(language, "log-bad-rows", count = rows.len()).into(),
                detail: shown.join(", "),
            });
        }
        notices
    }

    /// Reads, and keeps what failed for every page to tell until something succeeds again.
    fn reading<T>(&self, read: impl FnOnce(&store::Log) -> Result<T, Fault>) -> Result<T, Fault> {
        let mut log = self.read.lock().unwrap_or_else(PoisonError::into_inner);
        let mut done = log.stands();
        if done.as_ref().is_err_and(is_moved) && self.renew(&mut log).is_ok() {
            done = Ok(());
        }
        let done = done.and_then(|()| read(&log));
        self.remember(done)
    }

    /// Writes; where another program has moved a damaged log aside meanwhile, into the one that stands in its place.
    fn writing<T>(&self, mut write: impl FnMut(&mut store::Log) -> Result<T, Fault>) -> Result<T, Fault> {
        let mut log = self.write.lock().unwrap_or_else(PoisonError::into_inner);
        let mut done = write(&mut log);
        if done.as_ref().is_err_and(is_moved) {
            done = self.renew(&mut log).and_then(|()| write(&mut log));
        }
        if let (Ok(_), Some(link)) = (&done, &self.link) {
            link.nudge();
        }
        self.remember(done)
    }

    fn renew(&self, log: &mut store::Log) -> Result<(), Fault> {
        let (fresh, _) = store::Log::open(&self.path, self.programme.as_deref())?;
        fresh.wait_at_most(WAIT)?;
        *log = fresh;
        Ok(())
    }

    fn remember<T>(&self, done: Result<T, Fault>) -> Result<T, Fault> {
        let told = done.as_ref().err().map(ToString::to_string);
        *self.trouble.lock().unwrap_or_else(PoisonError::into_inner) = told;
        done
    }

    /// Why the log cannot be used now, if it cannot.
    pub fn trouble(&self) -> Option<String> {
        self.trouble.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Looks whether the log can be read; what fails is then told on every page.
    pub fn probe(&self) {
        let _told_by_trouble = self.reading(|log| log.probe());
    }

    /// Where everybody stands after the contacts since a time; after all of them when `None`.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn history(&self, since: Option<DateTime<Utc>>) -> Result<History, Fault> {
        self.reading(|log| log.history(since))
    }

    /// Every contact that the log holds.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn events(&self) -> Result<Vec<Event>, Fault> {
        self.reading(|log| log.list(&store::Filter::default()))
    }

    /// The contacts that happened at or after a time.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn events_since(&self, since: DateTime<Utc>) -> Result<Vec<Event>, Fault> {
        let filter = store::Filter {
            since: Some(since),
            ..store::Filter::default()
        };
        self.reading(|log| log.list(&filter))
    }

    /// What was reported of assemblies since a time.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn reports(&self, since: Option<DateTime<Utc>>) -> Result<Reports, Fault> {
        self.reading(|log| Store::reports(log, since))
    }

    /// Rows of the log that cannot be read.
    pub fn bad_rows(&self) -> Vec<BadRow> {
        self.read.lock().unwrap_or_else(PoisonError::into_inner).bad_rows()
    }

    /// Saves an outcome; it is on the disk when this returns. `once` makes a form that is sent twice count once.
    ///
    /// # Errors
    /// When the note cannot be kept or the log cannot be written.
    pub fn save(&self, note: &Note, once: &str) -> Result<(), Fault> {
        let event = NewEvent {
            contact: note.id.clone(),
            outcome: note.outcome,
            at: self.timed(note.at),
            note: note.text.trim().to_string(),
            by: note.by.clone(),
            source: "desk",
            uid: uid(once),
        };
        self.writing(|log| {
            let at = not_before_the_last(log, &event.contact, event.at)?;
            log.add(&NewEvent { at, ..event.clone() }).map(|_| ())
        })
    }

    /// Keeps a call that came in; it is on the disk when this returns.
    ///
    /// # Errors
    /// When the call cannot be kept or the log cannot be written.
    pub fn record(&self, mut call: NewCall, once: &str) -> Result<(), Fault> {
        call.uid = uid(once);
        let at = self.timed(call.at);
        call.due = call.due.map(|due| due + (at - call.at));
        call.at = at;
        self.writing(|log| {
            // Only one that counts as a contact stands beside other contacts.
            let at = if call.told {
                not_before_the_last(log, &call.subject, call.at)?
            } else {
                call.at
            };
            log.record(&NewCall { at, ..call.clone() }).map(|_| ())
        })
    }

    /// Notes what became of a call-back.
    ///
    /// # Errors
    /// When the log cannot be written.
    pub fn step(&self, call: i64, step: Step, note: &str, by: &str, once: &str) -> Result<(), Fault> {
        self.writing(|log| log.step(call, step, note, by, uid(once)))
    }

    /// What the log holds about an assembly.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn about(&self, id: &str) -> Result<Told, Fault> {
        self.reading(|log| {
            let mut told = Told::default();
            for name in [id, &format!("C-{id}")] {
                let filter = Filter {
                    contact: Some(name.to_string()),
                    last: Some(SHOWN),
                    ..Filter::default()
                };
                // What came in stands below as a call.
                let own = log
                    .list(&filter)?
                    .into_iter()
                    .filter(|event| event.counts && event.source != "call");
                told.events.extend(own);
            }
            let filter = CallFilter {
                subject: Some(id.to_string()),
                last: Some(SHOWN),
                ..CallFilter::default()
            };
            told.calls = log.calls(&filter)?;
            told.events.sort_by_key(|event| std::cmp::Reverse(event.at));
            told.calls.sort_by_key(|call| std::cmp::Reverse(call.at));
            Ok(told)
        })
    }

    /// Call-backs that are owed, the earliest due first. Only keeping one ends it.
    ///
    /// # Errors
    /// When the log cannot be read.
    pub fn call_backs(&self) -> Result<Vec<Call>, Fault> {
        let filter = CallFilter {
            open: true,
            ..CallFilter::default()
        };
        self.reading(|log| log.calls(&filter))
    }
}
