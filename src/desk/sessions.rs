//! Who is at the desk: sessions, their one-time form tokens, and the opaque names of assemblies in links.

use super::rights::Role;
use crate::inventory::Language;
use crate::units::UnitSystem;
use ring::hmac;
use std::collections::{BTreeMap, HashMap};
use std::sync::Mutex;
use std::time::{Duration, Instant};

/// Sessions kept at once; the one longest unused makes room.
const MOST_SESSIONS: usize = 5_000;
/// A session ends after so much idleness.
pub const IDLE: Duration = Duration::from_secs(8 * 3600);
/// A session ends after so long, used or not: a long shift (judgement).
pub const LONGEST: Duration = Duration::from_secs(14 * 3600);
/// What the name of a visitor's session begins with.
const VISITOR: &str = "v1.";

/// What a request may know of its session.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// Name in the cookie.
    pub id: String,
    /// Token that every form of this session must send back.
    pub csrf: String,
    /// Who signed in, or typed a name; `None` before that.
    pub who: Option<String>,
    /// What it may do.
    pub role: Role,
    /// Language of the pages.
    pub language: Language,
    /// Units of the pages.
    pub system: UnitSystem,
    /// Whether the phone desk asks all its questions on one page, not one after the other.
    pub all_questions: bool,
}

struct Kept {
    session: Session,
    opened: Instant,
    seen: Instant,
}

impl Kept {
    fn is_over(&self) -> bool {
        self.seen.elapsed() >= IDLE || self.opened.elapsed() >= LONGEST
    }
}

/// All sessions of the desk.
///
/// Those who signed in, or need not, are kept in memory. A visitor before sign-in is not: the cookie itself says all there is to know
/// and carries a seal, so that no number of visitors makes room by throwing somebody out.
pub struct Sessions {
    kept: Mutex<HashMap<String, Kept>>,
    seal: hmac::Key,
}

impl Default for Sessions {
    fn default() -> Self {
        let mut key = [0; 32];
        // Without randomness no session can be opened either, so a known key then seals nothing.
        let _ = getrandom::fill(&mut key);
        Self {
            kept: Mutex::default(),
            seal: hmac::Key::new(hmac::HMAC_SHA256, &key),
        }
    }
}

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
        let mut map = self.kept.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        work(&mut map)
    }

    /// Opens a session; `None` when the system gives no randomness.
    pub fn open(&self, who: Option<String>, role: Role, language: Language, system: UnitSystem) -> Option<Session> {
        let session = Session {
            id: random_token()?,
            csrf: random_token()?,
            who,
            role,
            language,
            system,
            all_questions: false,
        };
        self.with(|map| {
            if map.len() >= MOST_SESSIONS {
                map.retain(|_, kept| !kept.is_over());
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
                    opened: Instant::now(),
                    seen: Instant::now(),
                },
            );
        });
        Some(session)
    }

    /// The session of a visitor who has not signed in; `None` when the system gives no randomness.
    pub fn visitor(&self, language: Language, system: UnitSystem) -> Option<Session> {
        let units = system.word();
        let told = format!("{VISITOR}{}.{}.{units}", random_token()?, language.word());
        let mark = hex(hmac::sign(&self.seal, told.as_bytes()).as_ref());
        Some(self.visitor_of(format!("{told}.{mark}"), language, system))
    }

    fn visitor_of(&self, id: String, language: Language, system: UnitSystem) -> Session {
        Session {
            csrf: hex(hmac::sign(&self.seal, format!("form of {id}").as_bytes()).as_ref()),
            id,
            who: None,
            role: Role::Rep,
            language,
            system,
            all_questions: false,
        }
    }

    /// The visitor behind a cookie that this desk sealed.
    fn sealed_visitor(&self, id: &str) -> Option<Session> {
        let (told, mark) = id.rsplit_once('.')?;
        let own = hex(hmac::sign(&self.seal, told.as_bytes()).as_ref());
        if !same(&own, mark) {
            return None;
        }
        let mut parts = told.rsplit('.');
        let system = UnitSystem::from_word(parts.next()?);
        let word = parts.next()?;
        let language = *Language::ALL.iter().find(|language| language.word() == word)?;
        Some(self.visitor_of(id.to_owned(), language, system))
    }

    /// Whether a session is a visitor's, which nobody can change: another one takes its place.
    pub fn is_visitor(session: &Session) -> bool {
        session.id.starts_with(VISITOR)
    }

    /// Ends the sessions of all names that `stays` does not keep.
    pub fn keep_only(&self, stays: impl Fn(&str) -> bool) {
        self.with(|map| map.retain(|_, kept| kept.session.who.as_deref().is_none_or(&stays)));
    }

    /// The session of a cookie, if it is open, not idle too long and not too old; marks it as seen.
    pub fn get(&self, id: &str) -> Option<Session> {
        if id.starts_with(VISITOR) {
            return self.sealed_visitor(id);
        }
        self.with(|map| {
            if map.get(id)?.is_over() {
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

    /// How many sessions each name has open.
    pub fn by_name(&self) -> BTreeMap<String, usize> {
        self.with(|map| {
            let mut names = BTreeMap::new();
            for kept in map.values().filter(|kept| !kept.is_over()) {
                if let Some(who) = &kept.session.who {
                    *names.entry(who.clone()).or_default() += 1;
                }
            }
            names
        })
    }

    /// Sessions open now.
    pub fn count(&self) -> usize {
        self.with(|map| map.len())
    }
}
