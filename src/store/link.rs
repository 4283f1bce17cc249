//! What keeps a desk's spool and its server together, and how it stands between them.

use super::SetAside;
use super::server::Server;
use super::server::address::Address;
use super::server::trouble::is_away;
use super::spool::Spool;
use crate::faults::Fault;
use chrono::{DateTime, TimeDelta, Utc};
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// How often the server is asked for what is new.
const LOOK: Duration = Duration::from_millis(1_000);
/// How long after a failed try the next one waits.
const AGAIN: Duration = Duration::from_millis(1_500);

/// How it stands with the server.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Standing {
    /// Why the server cannot be used now, if it cannot.
    pub away: Option<String>,
    /// Notes that are only here.
    pub undelivered: usize,
    /// Why the server refused one of them for good.
    pub refused: Option<String>,
    /// How far this computer's clock is off, in words.
    pub clock: Option<String>,
}

#[derive(Default)]
struct Shared {
    standing: Mutex<Standing>,
    /// The server's time ahead of this computer's, seconds; where it is worth moving a note by.
    ahead_s: Mutex<i64>,
    nudged: Mutex<bool>,
    bell: Condvar,
    ends: AtomicBool,
}

/// The thread that keeps a spool and its server together.
pub struct Link {
    shared: Arc<Shared>,
    thread: Option<JoinHandle<()>>,
}

impl Link {
    /// Begins to deliver and to fetch. The first look is made before this returns, so that pages begin with what the server knows; a
    /// server that is away is told, and tried again. A spool and a server that do not belong together are refused at once.
    ///
    /// # Errors
    /// Whatever but a server that is away stands in the way.
    pub fn begin(
        address: &Address,
        path: &Path,
        programme: Option<&str>,
    ) -> Result<(Link, Option<SetAside>, Standing), Fault> {
        let (mut spool, aside) = Spool::open(path, &address.place(), programme)?;
        let shared = Arc::new(Shared::default());
        let mut server = None;
        spool.try_refused_again()?;
        if let Err(fault) = round(&mut server, address, programme, &mut spool, &shared)
            && !is_away(&fault)
        {
            return Err(fault);
        }
        let standing = shared.standing.lock().unwrap_or_else(PoisonError::into_inner).clone();
        let (kept, address, programme) = (shared.clone(), address.clone(), programme.map(str::to_owned));
        let thread = std::thread::spawn(move || go_on(server, &address, programme.as_deref(), spool, &kept));
        let link = Link {
            shared,
            thread: Some(thread),
        };
        Ok((link, aside, standing))
    }

    /// Says that something was noted, so that it is delivered at once.
    pub fn nudge(&self) {
        *self.shared.nudged.lock().unwrap_or_else(PoisonError::into_inner) = true;
        self.shared.bell.notify_all();
    }

    /// How it stands with the server.
    pub fn standing(&self) -> Standing {
        self.shared
            .standing
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    /// A time of this computer as the server has it, for a note made now.
    pub fn as_server_has_it(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        let ahead = *self.shared.ahead_s.lock().unwrap_or_else(PoisonError::into_inner);
        if (Utc::now() - at).abs() < TimeDelta::minutes(10) {
            at + TimeDelta::seconds(ahead)
        } else {
            at
        }
    }
}

impl Drop for Link {
    fn drop(&mut self) {
        self.shared.ends.store(true, Ordering::Release);
        self.shared.bell.notify_all();
        if let Some(thread) = self.thread.take() {
            // A thread that panicked has nothing left to deliver here.
            let _ = thread.join();
        }
    }
}

fn go_on(mut server: Option<Server>, address: &Address, programme: Option<&str>, mut spool: Spool, shared: &Shared) {
    while !shared.ends.load(Ordering::Acquire) {
        let away = shared
            .standing
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .away
            .is_some();
        wait(shared, if away { AGAIN } else { LOOK }, away);
        if shared.ends.load(Ordering::Acquire) {
            break;
        }
        if let Err(fault) = round(&mut server, address, programme, &mut spool, shared) {
            // Told by the standing; a damaged or lost spool is told by the desk's own look at it.
            let mut standing = shared.standing.lock().unwrap_or_else(PoisonError::into_inner);
            standing.away = Some(fault.to_string());
        }
    }
}

/// Waits for a note, or its time. While the server is away a note does not shorten the wait.
fn wait(shared: &Shared, time: Duration, whole: bool) {
    let until = Instant::now() + time;
    let mut nudged = shared.nudged.lock().unwrap_or_else(PoisonError::into_inner);
    while !shared.ends.load(Ordering::Acquire) && (whole || !*nudged) {
        let left = until.saturating_duration_since(Instant::now());
        if left.is_zero() {
            break;
        }
        nudged = shared
            .bell
            .wait_timeout(nudged, left)
            .unwrap_or_else(PoisonError::into_inner)
            .0;
    }
    *nudged = false;
}

/// One round: connect if need be, deliver, fetch, and say how it stands.
fn round(
    server: &mut Option<Server>,
    address: &Address,
    programme: Option<&str>,
    spool: &mut Spool,
    shared: &Shared,
) -> Result<(), Fault> {
    let mut run = || -> Result<(), Fault> {
        let open = match server.take() {
            Some(open) => open,
            None => Server::open(address, programme)?,
        };
        let open = server.insert(open);
        *shared.ahead_s.lock().unwrap_or_else(PoisonError::into_inner) =
            open.clock_ahead().map_or(0, |ahead| ahead.num_seconds());
        spool.deliver(open)?;
        spool.fetch(open)?;
        Ok(())
    };
    let done = run();
    if done.is_err() {
        *server = None;
    }
    let (undelivered, refused) = spool.undelivered().unwrap_or_default();
    let mut standing = shared.standing.lock().unwrap_or_else(PoisonError::into_inner);
    *standing = Standing {
        away: done.as_ref().err().map(ToString::to_string),
        undelivered,
        refused,
        clock: server
            .as_ref()
            .and_then(Server::clock_fault)
            .map(|fault| fault.to_string()),
    };
    done
}
