//! The log on a PostgreSQL server, for many desks.

pub mod address;
mod calls;
mod carry;
mod connect;
mod events;
mod queue;
pub mod schema;
pub mod set_up;
pub mod trouble;

pub use carry::News;

use super::{Added, Ask, BadRow, Call, CallFilter, Event, Filter, NewCall, NewEvent, QueueItem, Step, Store};
use crate::faults::{Fault, Severity};
use crate::outreach::outcome::History;
use address::Address;
use chrono::{DateTime, TimeDelta, Utc};
use postgres::{Client, Transaction};
use std::cell::RefCell;
use std::path::Path;
use std::time::Duration;

/// How far a desk's clock may be from the server's before that is told, seconds (judgement: notes of two desks then still stand in order).
pub const CLOCK_TOLERANCE_S: i64 = 120;
/// How often a statement that met others is done once more.
const AGAIN: u32 = 6;

/// A log on a server. The connection is made anew when it was cut.
pub struct Server {
    address: Address,
    programme: Option<String>,
    /// The utility that the login role belongs to.
    utility: String,
    /// How far the server's clock is ahead of this computer's.
    ahead: TimeDelta,
    client: RefCell<Option<Client>>,
    /// This computer's clock.
    clock: fn() -> DateTime<Utc>,
}

impl std::fmt::Debug for Server {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?} for {}", self.address, self.utility)
    }
}

impl Server {
    /// Opens the log. `programme` names the utility's contact programme; a role of another utility is refused. With `None` any is taken.
    ///
    /// # Errors
    /// `BW-L32` to `BW-L39`: no encryption, not reached, not let in, no such log there, another version of it, no right; `BW-L03` when the
    /// role belongs to another programme.
    pub fn open(address: &Address, programme: Option<&str>) -> Result<Server, Fault> {
        Self::open_by(address, programme, Utc::now)
    }

    /// The same with another clock for this computer's.
    ///
    /// # Errors
    /// As [`Server::open`].
    pub fn open_by(address: &Address, programme: Option<&str>, clock: fn() -> DateTime<Utc>) -> Result<Server, Fault> {
        let mut client = connect::client(address)?;
        let (utility, ahead) = connect::greet(address, &mut client, programme, clock)?;
        Ok(Server {
            address: address.clone(),
            programme: programme.map(str::to_owned),
            utility,
            ahead,
            client: RefCell::new(Some(client)),
            clock,
        })
    }

    /// The server's address.
    pub fn address(&self) -> &Address {
        &self.address
    }

    /// The utility that the login role belongs to.
    pub fn utility(&self) -> &str {
        &self.utility
    }

    /// How far the server's clock is ahead of this computer's, where that is more than a little.
    pub fn clock_ahead(&self) -> Option<TimeDelta> {
        (self.ahead.num_seconds().abs() > CLOCK_TOLERANCE_S).then_some(self.ahead)
    }

    /// The fault that tells of a clock that is off.
    pub fn clock_fault(&self) -> Option<Fault> {
        let ahead = self.clock_ahead()?;
        let (minutes, way) = (
            ahead.num_minutes().abs(),
            if ahead > TimeDelta::zero() {
                "behind"
            } else {
                "ahead of"
            },
        );
        Some(
            Fault::new(
                "BW-L40",
                Severity::Warning,
                format!("this computer's clock is {minutes} minutes {way} the server's"),
            )
            .file(self.address.shown())
            .expected(format!("clocks that agree within {CLOCK_TOLERANCE_S} s"))
            .remedy("Set the clock. Until then calls are given out by the server's clock, and notes made now take the server's time."),
        )
    }

    /// A time of this computer as the server has it: times that stand for now, within ten minutes of it, are moved by what the clocks
    /// differ; any other was chosen and stands.
    pub fn as_server_has_it(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        match self.clock_ahead() {
            Some(ahead) if ((self.clock)() - at).abs() < TimeDelta::minutes(10) => at + ahead,
            _ => at,
        }
    }

    /// Does something with the connection; makes it anew when it was cut, and does it again when others were in the way. Everything that is
    /// done this way may be done twice.
    fn with<T>(&self, mut run: impl FnMut(&mut Client) -> Result<T, postgres::Error>) -> Result<T, Fault> {
        let mut cut = false;
        let mut passing = 0;
        loop {
            let mut kept = self.client.borrow_mut();
            let mut client = match kept.take().filter(|client| !client.is_closed()) {
                Some(client) => client,
                None => {
                    let mut fresh = connect::client(&self.address)?;
                    connect::greet(&self.address, &mut fresh, self.programme.as_deref(), self.clock)?;
                    fresh
                }
            };
            match run(&mut client) {
                Ok(done) => {
                    *kept = Some(client);
                    return Ok(done);
                }
                Err(error) if trouble::is_cut(&error) && !cut => cut = true,
                Err(error) if trouble::is_passing(&error) && passing < AGAIN => {
                    *kept = Some(client);
                    passing += 1;
                    std::thread::sleep(Duration::from_millis(10 << passing));
                }
                Err(error) => {
                    if !trouble::is_cut(&error) {
                        *kept = Some(client);
                    }
                    return Err(trouble::told(&self.address, &error));
                }
            }
        }
    }

    /// The same in one transaction.
    fn within<T>(&self, mut run: impl FnMut(&mut Transaction<'_>) -> Result<T, postgres::Error>) -> Result<T, Fault> {
        self.with(|client| {
            let mut transaction = client.transaction()?;
            let done = run(&mut transaction)?;
            transaction.commit()?;
            Ok(done)
        })
    }
}

/// A time without its fraction: the log keeps whole seconds, whatever keeps it.
fn whole(at: DateTime<Utc>) -> DateTime<Utc> {
    DateTime::from_timestamp(at.timestamp(), 0).unwrap_or(at)
}

/// Text that a server can keep.
fn clean(text: &str) -> String {
    text.trim().replace('\0', "\u{fffd}")
}

impl Store for Server {
    fn shown(&self) -> String {
        self.address.shown()
    }

    fn programme(&self) -> Result<String, Fault> {
        Ok(self.utility.clone())
    }

    fn add_all(&mut self, events: &[NewEvent]) -> Result<Added, Fault> {
        self.insert_events(events)
    }

    fn walk(&self, filter: &Filter, each: &mut dyn FnMut(Event)) -> Result<(), Fault> {
        self.walk_events(filter, each)
    }

    fn count(&self) -> Result<u64, Fault> {
        let count = self.with(|client| client.query_one("SELECT count(*) FROM brimwater.events", &[]))?;
        Ok(count.get::<_, i64>(0).unsigned_abs())
    }

    fn history(&self, since: Option<DateTime<Utc>>) -> Result<History, Fault> {
        self.standings(since)
    }

    fn record(&mut self, call: &NewCall) -> Result<i64, Fault> {
        self.insert_call(call)
    }

    fn step(&mut self, call: i64, step: Step, note: &str, by: &str, uid: Option<String>) -> Result<(), Fault> {
        self.insert_step(call, step, note, by, uid)
    }

    fn calls(&self, filter: &CallFilter) -> Result<Vec<Call>, Fault> {
        self.list_calls(filter)
    }

    fn load_queue(&mut self, items: &[QueueItem], since: DateTime<Utc>) -> Result<usize, Fault> {
        self.replace_queue(items, since)
    }

    fn next_call(&mut self, ask: &Ask) -> Result<Option<QueueItem>, Fault> {
        self.claim(ask)
    }

    fn open_calls(&self) -> Result<usize, Fault> {
        self.open_in_queue()
    }

    fn is_queued(&self, contact: &str) -> Result<bool, Fault> {
        self.is_in_queue(contact)
    }

    fn bad_rows(&self) -> Vec<BadRow> {
        // The server's own rules let no row in that says nothing.
        Vec::new()
    }

    fn backup(&self, to: &Path) -> Result<u64, Fault> {
        Err(Fault::new("BW-L09", Severity::Fatal, "a server's log is not copied with --backup")
            .file(to.display().to_string())
            .expected("--copy-to FILE, or the server's own backup")
            .remedy(
                "Take `brimwater log --db ADDRESS --copy-to FILE` for this utility's log, or let whoever runs the server use pg_dump; \
                 after reading a dump back run `brimwater log --set-up ADDRESS` once.",
            ))
    }

    fn probe(&self) -> Result<(), Fault> {
        self.with(|client| client.simple_query("SELECT 1")).map(|_| ())
    }
}
