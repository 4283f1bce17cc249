//! What all requests share.

use super::audit::{Audit, Entry, Event};
use super::data::{Data, Planned, Stamp, stamp};
use super::follow::{Follow, Followed};
use super::limits::{Limiter, SignIns};
use super::looks::Looked;
use super::passwords::Passwords;
use super::rights::Role;
use super::second_factor::Used;
use super::sessions::{Session, Sessions};
use super::shift::Claims;
use crate::faults::{Fault, Faults, Severity};
use crate::freeze::run::outlook_text;
use crate::freeze::{Outlook, Reports};
use crate::input::load::Files;
use crate::inventory::Language;
use crate::outreach::outcome::History;
use crate::plan::Run;
use crate::ranking::Words;
use crate::units::UnitSystem;
use chrono::{DateTime, TimeDelta, Utc};
use minijinja::Environment;
use std::collections::HashMap;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError, RwLock};

/// How a desk is opened.
#[derive(Debug, Clone)]
pub struct Options {
    /// Files of the programme.
    pub files: Files,
    /// Log of contacts, a file or the address of a server; without it nothing can be saved.
    pub log: Option<PathBuf>,
    /// Where the desk keeps what a server cannot be told at once; its usual place when `None`.
    pub spool: Option<PathBuf>,
    /// Audit file; beside the log when `None` and a log is given.
    pub audit: Option<PathBuf>,
    /// How the model is run.
    pub run: Run,
    /// Time that stands for now; the clock's when `None`.
    pub now: Option<DateTime<Utc>>,
    /// Units in which pages start.
    pub system: UnitSystem,
    /// Names that may stand in the Host header, with or without port.
    pub hosts: Vec<String>,
    /// Names and hashes; `None` asks nobody to sign in, which is for loopback only.
    pub passwords: Option<Passwords>,
    /// Whether the pages travel over TLS, here or in front: cookies are then marked secure.
    pub secure: bool,
    /// Addresses of the proxy in front, which tells the address of the client; empty without one.
    pub proxies: Vec<std::net::IpAddr>,
    /// The file that the passwords came from; read again when it changes.
    pub password_file: Option<PathBuf>,
    /// The least role that must have one-time codes; nobody when `None`.
    pub require_codes: Option<Role>,
    /// Requests a second that one address may make.
    pub requests_per_second: f64,
    /// A folder that `season` wrote, or its choices.csv: the page of budgets.
    pub season: Option<PathBuf>,
    /// Folders that `plan` wrote: the visits after a spell, and the record that is filled there.
    pub plans: Vec<PathBuf>,
    /// The watch whose plans are taken up; `files` then names no series.
    pub follow: Option<Followed>,
}

/// Where the plan stands.
#[derive(Clone)]
pub enum PlanState {
    /// No series was given.
    NoWeather,
    /// It is being computed.
    Computing,
    /// It is there.
    Ready(Arc<Planned>),
}

/// The desk.
pub struct Desk {
    /// How it was opened.
    pub options: Options,
    /// Sessions.
    pub sessions: Sessions,
    /// Requests of each address.
    pub limiter: Limiter<std::net::IpAddr>,
    /// Wrong passwords.
    pub sign_ins: SignIns,
    /// Turns at the hashing of passwords: each takes 19 MiB and a core for tens of milliseconds.
    pub hashing: tokio::sync::Semaphore,
    /// Lines of the audit about those who are turned away, so that a flood of them does not fill the disk.
    turned_away: Limiter<std::net::IpAddr>,
    /// Who looked at what.
    pub audit: Audit,
    /// Templates.
    pub templates: Environment<'static>,
    /// The log of contacts.
    pub log: Option<super::log::Log>,
    /// What may be offered before the season.
    pub season: Option<super::pages_season::Choices>,
    /// The visits after a spell and what was found.
    pub record: Option<super::record_file::Record>,
    /// Names and hashes as they are now.
    pub(super) passwords: RwLock<Option<Arc<Passwords>>>,
    /// Held while the password file is taken or written.
    pub(super) taking_passwords: Mutex<()>,
    /// One-time codes that were used.
    pub(super) codes_used: Used,
    /// Whether a used code could be marked in memory only.
    pub(super) codes_unmarked: AtomicBool,
    /// The watch that is followed.
    pub(super) follow: Option<Follow>,
    /// Which plan each person looked at last.
    pub(super) looked: Looked,
    /// Who is calling whom.
    pub(super) claims: Claims,
    /// What was read and the plan of it: they change places together, so that no page numbers the rows of one list by another.
    held: RwLock<(Arc<Data>, PlanState)>,
    /// Why the changed files were not taken, if they were not.
    refused: RwLock<Option<String>>,
    /// Whether the audit file did not take an event.
    pub(super) audit_fails: AtomicBool,
    /// Whether the password file changed and could not be taken.
    pub(super) passwords_stale: AtomicBool,
    /// Whether the plan that is there was made without the log, which could not be read then.
    pub(super) planned_without_log: AtomicBool,
    stamp: Mutex<Stamp>,
    cards: Mutex<HashMap<String, (DateTime<Utc>, Arc<Outlook>)>>,
    /// Whether a plan is being computed now.
    computing: AtomicBool,
}

/// The turn at computing a plan, given back when dropped, also where the work panics.
pub(super) struct Turn<'a>(&'a AtomicBool);

impl Drop for Turn<'_> {
    fn drop(&mut self) {
        self.0.store(false, Ordering::Release);
    }
}

/// Cards kept with their hours; more are forgotten, not refused.
const MOST_CARDS: usize = 4_000;
/// A card is worked out anew after so long: the hours ahead have moved on.
const CARD_LASTS: TimeDelta = TimeDelta::hours(1);

/// Who stands in the audit for what the desk itself saw happen.
pub(super) const DESK: &str = "(desk)";

pub(super) fn read<T>(lock: &RwLock<T>) -> std::sync::RwLockReadGuard<'_, T> {
    lock.read().unwrap_or_else(PoisonError::into_inner)
}

pub(super) fn write<T>(lock: &RwLock<T>) -> std::sync::RwLockWriteGuard<'_, T> {
    lock.write().unwrap_or_else(PoisonError::into_inner)
}

impl Desk {
    /// Reads the files and opens log and audit. The plan is computed by [`Desk::compute_plan`].
    ///
    /// # Errors
    /// All faults at once.
    pub fn open(options: Options) -> Result<(Self, Faults), Faults> {
        let now = options.now.unwrap_or_else(Utc::now);
        let stamp = stamp(&options.files);
        let mut faults = Faults::new();
        let follow = options.follow.clone().map(Follow::open);
        let files = follow
            .as_ref()
            .map_or_else(|| options.files.clone(), |follow| follow.files(&options.files));
        let data = match Data::read(&files, now) {
            Ok(data) => Some(data),
            Err(told) => {
                faults.append(told);
                None
            }
        };
        let programme = data.as_ref().map(|data| data.config().outreach.programme_id.clone());
        let programme = programme.as_deref().filter(|name| !name.is_empty());
        let opened = options
            .log
            .as_deref()
            .map(|place| super::log::Log::open_at(place, options.spool.as_deref(), programme));
        let mut own = options.log.clone();
        let log = match opened.transpose() {
            Ok(opened) => opened.map(|(log, path, told)| {
                told.into_iter().for_each(|fault| faults.push(fault));
                own = Some(path);
                log
            }),
            Err(fault) => {
                faults.push(fault);
                own = None;
                None
            }
        };
        let season = options.season.as_deref().and_then(|path| {
            let (choices, told) = super::pages_season::read(path);
            faults.append(told);
            choices
        });
        let record = super::record_file::Record::open(&options.plans).unwrap_or_else(|fault| {
            faults.push(fault);
            None
        });
        let beside = own.map(|log| log.with_extension("audit.jsonl"));
        let audit = match options
            .audit
            .clone()
            .or(beside)
            .map(|path| Audit::open(&path))
            .transpose()
        {
            Ok(audit) => audit.unwrap_or_default(),
            Err(fault) => {
                faults.push(fault);
                Audit::default()
            }
        };
        let (codes_used, told) = super::accounts::used_codes(&options);
        faults.append(told);
        let templates = match super::render::templates() {
            Ok(templates) => templates,
            Err(error) => {
                faults.push(Fault::new(
                    "BW-D02",
                    Severity::Fatal,
                    format!("a page template is broken: {error}"),
                ));
                Environment::new()
            }
        };
        let Some(data) = data.filter(|_| !faults.is_fatal()) else {
            return Err(faults);
        };
        faults.append(data.programme.loaded.faults.clone());
        // What is wrong with the utility's own messages is told before the first call.
        faults.append(data.programme.messages(options.system != UnitSystem::Us).1);
        if let Some(follow) = &follow {
            follow.compare_taken(&data);
        }
        let plan = if data.programme.loaded.series.is_empty() {
            PlanState::NoWeather
        } else {
            PlanState::Computing
        };
        let rate = options.requests_per_second;
        let desk = Self {
            sessions: Sessions::default(),
            limiter: Limiter::new(rate, rate * 4.0),
            sign_ins: SignIns::default(),
            hashing: tokio::sync::Semaphore::new(std::thread::available_parallelism().map_or(2, usize::from)),
            turned_away: Limiter::new(1.0 / 60.0, 20.0),
            audit,
            templates,
            log,
            season,
            record,
            codes_used,
            codes_unmarked: AtomicBool::new(false),
            taking_passwords: Mutex::new(()),
            passwords: RwLock::new(options.passwords.clone().map(Arc::new)),
            follow,
            looked: Looked::default(),
            claims: Claims::default(),
            held: RwLock::new((Arc::new(data), plan)),
            refused: RwLock::new(None),
            audit_fails: AtomicBool::new(false),
            passwords_stale: AtomicBool::new(false),
            planned_without_log: AtomicBool::new(false),
            stamp: Mutex::new(stamp),
            cards: Mutex::new(HashMap::new()),
            computing: AtomicBool::new(false),
            options,
        };
        let accounts = desk.passwords().map(|passwords| passwords.all().count());
        desk.note_entry(Entry {
            count: accounts,
            ..Entry::of(DESK, Event::Opened)
        });
        Ok((desk, faults))
    }

    /// Now, or the time that stands for it.
    pub fn now(&self) -> DateTime<Utc> {
        self.options.now.unwrap_or_else(Utc::now)
    }

    /// What was read.
    pub fn data(&self) -> Arc<Data> {
        read(&self.held).0.clone()
    }

    /// Where the plan stands.
    pub fn plan(&self) -> PlanState {
        read(&self.held).1.clone()
    }

    /// What was read and the plan of it, of one moment.
    pub fn both(&self) -> (Arc<Data>, PlanState) {
        read(&self.held).clone()
    }

    /// Why changed files were not taken.
    pub fn refused(&self) -> Option<String> {
        read(&self.refused).clone()
    }

    /// Computes the plan of the present data and keeps it, unless the data has changed meanwhile. The plan that was there stays
    /// in use until then. Returns at once when one is being computed already.
    pub fn compute_plan(&self) {
        let Some(_turn) = self.turn() else { return };
        loop {
            let data = self.data();
            if data.programme.loaded.series.is_empty() {
                break;
            }
            let made = self.work_out(&data);
            let mut held = write(&self.held);
            if Arc::ptr_eq(&data, &held.0) {
                if let Some((planned, unread)) = made {
                    self.planned_without_log.store(unread, Ordering::Relaxed);
                    held.1 = PlanState::Ready(Arc::new(planned));
                }
                break;
            }
        }
    }

    /// The turn at computing; `None` while somebody else has it.
    pub(super) fn turn(&self) -> Option<Turn<'_>> {
        (!self.computing.swap(true, Ordering::AcqRel)).then(|| Turn(&self.computing))
    }

    /// The plan of what was read, and whether the log could not be read for it.
    pub(super) fn work_out(&self, data: &Data) -> Option<(Planned, bool)> {
        let words = Words {
            zone: data.zone(),
            us: self.options.system == UnitSystem::Us,
            language: Language::English,
        };
        let since = data.programme.log_counts_since();
        // A plan that knows of no call is still a plan, but every page then says what it lacks.
        let (history, unread) = match self.log.as_ref().map(|log| log.history(since)) {
            None => (History::default(), false),
            Some(Ok(history)) => (history, false),
            Some(Err(_)) => (History::default(), true),
        };
        let reports = self
            .log
            .as_ref()
            .and_then(|log| log.reports(since).ok())
            .unwrap_or_default();
        let told = (&history, &reports);
        let planned = Planned::compute(data, &self.options.run, told, self.options.now, self.now(), &words)?;
        Some((planned, unread))
    }

    /// Puts what was read and its plan in the place of the earlier ones, in one step. `fresh` is the stamp of the files before they were read.
    pub(super) fn take(&self, data: Arc<Data>, planned: Planned, unread: bool, fresh: Stamp) {
        *self.stamp.lock().unwrap_or_else(PoisonError::into_inner) = fresh;
        *write(&self.held) = (data, PlanState::Ready(Arc::new(planned)));
        self.planned_without_log.store(unread, Ordering::Relaxed);
        *write(&self.refused) = None;
        self.cards.lock().unwrap_or_else(PoisonError::into_inner).clear();
    }

    /// Whether a plan is being computed now.
    pub fn is_computing(&self) -> bool {
        self.computing.load(Ordering::Acquire)
    }

    /// What the log says of contacts; empty without a log.
    ///
    /// # Errors
    /// When the log cannot be read: nobody may take that for "nobody has been called".
    pub fn history(&self) -> Result<History, Fault> {
        self.log.as_ref().map_or_else(
            || Ok(History::default()),
            |log| log.history(self.data().programme.log_counts_since()),
        )
    }

    /// What was reported from the sites; nothing without a log, or while it cannot be read, which every page says.
    pub fn reports(&self) -> Reports {
        let since = self.data().programme.log_counts_since();
        let read = self.log.as_ref().and_then(|log| log.reports(since).ok());
        read.unwrap_or_default()
    }

    /// Reads the files again when they have changed and keep still. Returns whether new data was taken.
    ///
    /// A file that is being written has another stamp at the next look, so it is left until two looks agree: `seen` is the stamp of
    /// the last look.
    pub fn reload(&self, seen: &mut Stamp) -> bool {
        let fresh = stamp(&self.options.files);
        let settled = *seen == fresh;
        *seen = fresh.clone();
        {
            let taken = self.stamp.lock().unwrap_or_else(PoisonError::into_inner);
            if *taken == fresh || !settled {
                return false;
            }
        }
        let own = &self.options.files;
        let files = self
            .follow
            .as_ref()
            .map_or_else(|| own.clone(), |follow| follow.files(own));
        let result = Data::read(&files, self.now());
        *self.stamp.lock().unwrap_or_else(PoisonError::into_inner) = fresh;
        match result {
            Ok(data) => {
                if let Some(follow) = &self.follow {
                    follow.compare_taken(&data);
                }
                let plan = if data.programme.loaded.series.is_empty() {
                    PlanState::NoWeather
                } else {
                    PlanState::Computing
                };
                *write(&self.held) = (Arc::new(data), plan);
                *write(&self.refused) = None;
                self.cards.lock().unwrap_or_else(PoisonError::into_inner).clear();
                true
            }
            Err(faults) => {
                let first = faults.0.iter().find(|fault| fault.severity == Severity::Fatal);
                *write(&self.refused) = Some(first.map_or_else(String::new, ToString::to_string));
                false
            }
        }
    }

    /// The outlook of one assembly with its hours; computed once and kept for an hour while the data stays.
    pub fn card(&self, data: &Data, at: usize) -> Option<Arc<Outlook>> {
        let id = &data.assemblies().get(at)?.assembly_id;
        let now = self.now();
        let reports = self.reports();
        let reported = reports.of(id, DateTime::<Utc>::MIN_UTC, DateTime::<Utc>::MAX_UTC);
        // Assemblies of one thermal case share an outlook, until something is reported of one of them.
        let key = if reported.is_empty() {
            outlook_text(&data.programme.site(at)?.place)
        } else {
            format!("{id} {reported:?}")
        };
        // A page that began with the earlier files must not leave their outlook to the later ones.
        let key = format!("{} {key}", data.reading);
        let kept = self
            .cards
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .get(&key)
            .filter(|(made, _)| (now - *made).abs() < CARD_LASTS)
            .map(|(_, outlook)| outlook.clone());
        if kept.is_some() {
            return kept;
        }
        let outlook = data.outlook(at, &self.options.run, self.options.now, &reports)?;
        let mut cards = self.cards.lock().unwrap_or_else(PoisonError::into_inner);
        if cards.len() >= MOST_CARDS {
            cards.clear();
        }
        cards.insert(key, (now, outlook.clone()));
        Some(outlook)
    }

    /// Notes who did what.
    pub fn note(&self, session: &Session, event: Event, assembly_id: Option<&str>, count: Option<usize>) {
        self.note_entry(Entry {
            assembly_id,
            count,
            ..Entry::of(session.name(), event)
        });
    }

    /// Notes an event with all that is known of it.
    pub fn note_entry(&self, entry: Entry<'_>) {
        // A full disk must not stop an answer about somebody's safety; the notice on every page says so.
        let kept = self.audit.note(Utc::now(), &entry);
        self.audit_fails.store(!kept, Ordering::Relaxed);
    }

    /// Notes that somebody was turned away: of one address twenty at once, then one a minute.
    pub fn note_turned_away(&self, who: &str, event: Event, address: std::net::IpAddr) {
        if self
            .turned_away
            .take(super::address::counted(address), std::time::Instant::now())
        {
            self.note_entry(Entry {
                address: Some(address),
                ..Entry::of(who, event)
            });
        }
    }
}
