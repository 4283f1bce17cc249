//! Who is at the desk: sessions, their one-time form tokens, and the opaque names of assemblies in links.

use crate::inventory::Language;
use crate::units::UnitSystem;
use std::collections::HashMap;
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Sessions kept at once; the one longest unused makes room.
const MOST_SESSIONS: usize = 5_000;
/// A session ends after so much idleness.
pub const IDLE: Duration = Duration::from_secs(8 * 3600);

/// What a request may know of its session.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// Name in the cookie.
    pub id: String,
    /// Token that every form of this session must send back.
    pub csrf: String,
    /// Who signed in, or typed a name; `None` before that.
    pub who: Option<String>,
    /// Language of the pages.
    pub language: Language,
    /// Units of the pages.
    pub system: UnitSystem,
}

struct Kept {
    session: Session,
    seen: Instant,
}

/// All sessions of the desk, in memory only.
#[derive(Default)]
pub struct Sessions(Mutex<HashMap<String, Kept>>);

/// 32 random bytes as hexadecimal; `None` when the system gives no randomness.
pub fn random_token() -> Option<String> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).ok()?;
    Some(hex(&bytes))
}

/// Bytes as hexadecimal digits.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Whether two texts are the same, in a time that depends on their length only.
pub fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |bits, (x, y)| bits | (x ^ y)) == 0
}

impl Sessions {
    fn with<T>(&self, work: impl FnOnce(&mut HashMap<String, Kept>) -> T) -> T {
        // A panic elsewhere must not lock everybody out: the map is usable after any of its single steps.
        let mut map = self.0.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        work(&mut map)
    }

    /// Opens a session; `None` when the system gives no randomness.
    pub fn open(&self, who: Option<String>, language: Language, system: UnitSystem) -> Option<Session> {
        let session = Session {
            id: random_token()?,
            csrf: random_token()?,
            who,
            language,
            system,
        };
        self.with(|map| {
            if map.len() >= MOST_SESSIONS {
                map.retain(|_, kept| kept.seen.elapsed() < IDLE);
            }
            if map.len() >= MOST_SESSIONS
                && let Some(oldest) = map.iter().min_by_key(|(_, kept)| kept.seen).map(|(id, _)| id.clone())
            {
                map.remove(&oldest);
            }
            map.insert(
                session.id.clone(),
                Kept {
                    session: session.clone(),
                    seen: Instant::now(),
                },
            );
        });
        Some(session)
    }

    /// The session of a cookie, if it is open and not idle too long; marks it as seen.
    pub fn get(&self, id: &str) -> Option<Session> {
        self.with(|map| {
            if map.get(id)?.seen.elapsed() >= IDLE {
                map.remove(id);
                return None;
            }
            let kept = map.get_mut(id)?;
            kept.seen = Instant::now();
            Some(kept.session.clone())
        })
    }

    /// Changes a session in place.
    pub fn change(&self, id: &str, change: impl FnOnce(&mut Session)) {
        self.with(|map| {
            if let Some(kept) = map.get_mut(id) {
                change(&mut kept.session);
            }
        });
    }

    /// Ends a session.
    pub fn close(&self, id: &str) {
        self.with(|map| map.remove(id));
    }

    /// The name under which this session links to an assembly or a person. It says nothing to anybody else and ends with the
    /// session.
    pub fn link(&self, session: &Session, id: &str) -> String {
        super::links::seal(&session.id, id)
    }

    /// What is behind a link of this session.
    pub fn linked(&self, session: &Session, name: &str) -> Option<String> {
        super::links::open(&session.id, name)
    }

    /// Sessions open now.
    pub fn count(&self) -> usize {
        self.with(|map| map.len())
    }
}
