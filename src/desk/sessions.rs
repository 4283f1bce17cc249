//! Who is at the desk: sessions, their one-time form tokens, and the opaque names of assemblies in links.

use super::rights::Role;
use super::second_factor::Codes;
use crate::inventory::Language;
use crate::units::UnitSystem;
use ring::hmac;
use std::collections::{BTreeMap, HashMap};
use std::sync::Mutex;
use std::time::Duration;

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
    /// Whether it opens nothing before its account has one-time codes.
    pub owes_codes: bool,
    /// Whether it sent a form of an earlier plan and has not been told.
    pub crossed: bool,
}

impl Session {
    /// Who stands in the audit.
    pub fn name(&self) -> &str {
        self.who.as_deref().unwrap_or("local")
    }
}

/// An open session, as its own person sees it.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenSession {
    /// Its name, for telling which one it is.
    pub id: String,
    /// How long it has been open.
    pub opened_ago: Duration,
    /// How long nobody has used it.
    pub seen_ago: Duration,
}

struct Kept {
    session: Session,
    opened: Duration,
    seen: Duration,
    /// A secret for one-time codes that was shown and not yet proved.
    offered: Option<Codes>,
}

impl Kept {
    fn is_over(&self, now: Duration) -> bool {
        now.saturating_sub(self.seen) >= IDLE || now.saturating_sub(self.opened) >= LONGEST
    }
}

/// Time since some beginning: it goes on while the computer sleeps, and no setting of the clock moves it.
#[cfg(any(target_os = "linux", target_os = "android"))]
fn since_start() -> Duration {
    let time = rustix::time::clock_gettime(rustix::time::ClockId::Boottime);
    let (seconds, nanoseconds) = (u64::try_from(time.tv_sec), u32::try_from(time.tv_nsec));
    Duration::new(seconds.unwrap_or(0), nanoseconds.unwrap_or(0))
}

/// Time since some beginning, which no setting of the clock moves. Whether it goes on while the computer sleeps is the system's matter.
#[cfg(not(any(target_os = "linux", target_os = "android")))]
fn since_start() -> Duration {
    static START: std::sync::LazyLock<std::time::Instant> = std::sync::LazyLock::new(std::time::Instant::now);
    START.elapsed()
}

/// All sessions of the desk.
///
/// Those who signed in, or need not, are kept in memory. A visitor before sign-in is not: the cookie itself says all there is to know
/// and carries a seal, so that no number of visitors makes room by throwing somebody out.
pub struct Sessions {
    kept: Mutex<HashMap<String, Kept>>,
    seal: hmac::Key,
    clock: Box<dyn Fn() -> Duration + Send + Sync>,
}

impl Default for Sessions {
    fn default() -> Self {
        let mut key = [0; 32];
        // Without randomness no session can be opened either, so a known key then seals nothing.
        let _ = getrandom::fill(&mut key);
        Self {
            kept: Mutex::default(),
            seal: hmac::Key::new(hmac::HMAC_SHA256, &key),
            clock: Box::new(since_start),
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
            owes_codes: false,
            crossed: false,
        };
        let now = (self.clock)();
        self.with(|map| {
            if map.len() >= MOST_SESSIONS {
                map.retain(|_, kept| !kept.is_over(now));
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
                    opened: now,
                    seen: now,
                    offered: None,
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
            owes_codes: false,
            crossed: false,
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
        let now = (self.clock)();
        self.with(|map| {
            if map.get(id)?.is_over(now) {
                map.remove(id);
                return None;
            }
            let kept = map.get_mut(id)?;
            kept.seen = now;
            Some(kept.session.clone())
        })
    }

    /// The session of a cookie as [`Sessions::get`] gives it, without marking it as seen: for what a page does by itself.
    pub fn peek(&self, id: &str) -> Option<Session> {
        if id.starts_with(VISITOR) {
            return self.sealed_visitor(id);
        }
        let now = (self.clock)();
        self.with(|map| {
            map.get(id)
                .filter(|kept| !kept.is_over(now))
                .map(|kept| kept.session.clone())
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

    /// The same session under another name and with another token, as after a sign-in; `None` when it is over or the system gives no
    /// randomness, which leaves it as it is.
    pub fn renew(&self, id: &str) -> Option<Session> {
        let (fresh, csrf) = (random_token()?, random_token()?);
        let now = (self.clock)();
        self.with(|map| {
            let mut kept = map.remove(id)?;
            kept.session.id.clone_from(&fresh);
            kept.session.csrf = csrf;
            (kept.opened, kept.seen, kept.offered) = (now, now, None);
            let session = kept.session.clone();
            map.insert(fresh, kept);
            Some(session)
        })
    }

    /// Ends all sessions of a name but one; how many there were.
    pub fn end_others(&self, who: &str, id: &str) -> usize {
        self.with(|map| {
            let before = map.len();
            map.retain(|each, kept| each == id || kept.session.who.as_deref() != Some(who));
            before - map.len()
        })
    }

    /// The secret that this session was offered for one-time codes: the same one until it is proved, so that a page that is drawn again
    /// does not put another one beside what a telephone has taken in. `None` when the session is over or the system gives no randomness.
    pub fn offered_codes(&self, id: &str) -> Option<Codes> {
        let new = Codes::random()?;
        self.with(|map| Some(map.get_mut(id)?.offered.get_or_insert(new).clone()))
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

    /// The open sessions of a name, the last used first.
    pub fn of(&self, who: &str) -> Vec<OpenSession> {
        let now = (self.clock)();
        let mut open: Vec<OpenSession> = self.with(|map| {
            map.values()
                .filter(|kept| !kept.is_over(now) && kept.session.who.as_deref() == Some(who))
                .map(|kept| OpenSession {
                    id: kept.session.id.clone(),
                    opened_ago: now.saturating_sub(kept.opened),
                    seen_ago: now.saturating_sub(kept.seen),
                })
                .collect()
        });
        open.sort_by_key(|one| one.seen_ago);
        open
    }

    /// How many sessions each name has open.
    pub fn by_name(&self) -> BTreeMap<String, usize> {
        let now = (self.clock)();
        self.with(|map| {
            let mut names = BTreeMap::new();
            for kept in map.values().filter(|kept| !kept.is_over(now)) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicU64, Ordering};

    /// Sessions by a clock that the test sets, in seconds.
    fn timed() -> (Sessions, Arc<AtomicU64>) {
        let seconds = Arc::new(AtomicU64::new(1_000));
        let told = seconds.clone();
        let sessions = Sessions {
            clock: Box::new(move || Duration::from_secs(told.load(Ordering::Relaxed))),
            ..Sessions::default()
        };
        (sessions, seconds)
    }

    fn opened(sessions: &Sessions) -> String {
        let who = Some("rosa".to_owned());
        let opened = sessions.open(who, Role::Rep, Language::English, UnitSystem::Us);
        opened.unwrap().id
    }

    #[test]
    fn a_session_ends_when_nobody_uses_it_and_in_any_case_after_a_long_shift() {
        let (sessions, clock) = timed();
        let idle = opened(&sessions);
        clock.fetch_add(8 * 3600 - 1, Ordering::Relaxed);
        assert!(sessions.get(&idle).is_some());
        // It was just looked at, so eight hours begin again.
        clock.fetch_add(8 * 3600, Ordering::Relaxed);
        assert_eq!(sessions.by_name().get("rosa"), None);
        assert!(sessions.get(&idle).is_none());
        assert_eq!(sessions.count(), 0, "it is over and still kept");
        let busy = opened(&sessions);
        for _ in 0..14 * 12 - 1 {
            clock.fetch_add(300, Ordering::Relaxed);
            assert!(sessions.get(&busy).is_some());
        }
        clock.fetch_add(300, Ordering::Relaxed);
        assert!(sessions.get(&busy).is_none(), "fourteen hours of use did not end it");
        // What has ended does not begin again.
        clock.fetch_sub(3600, Ordering::Relaxed);
        assert!(sessions.get(&busy).is_none());
    }

    #[test]
    fn what_a_page_does_by_itself_keeps_no_session_open() {
        let (sessions, clock) = timed();
        let left = opened(&sessions);
        for _ in 0..8 * 60 - 1 {
            clock.fetch_add(60, Ordering::Relaxed);
            assert!(sessions.peek(&left).is_some());
        }
        clock.fetch_add(60, Ordering::Relaxed);
        assert!(
            sessions.peek(&left).is_none(),
            "a board on a wall kept somebody signed in"
        );
        assert!(sessions.get(&left).is_none());
    }

    #[test]
    fn the_clock_of_sessions_goes_on() {
        let before = since_start();
        std::thread::sleep(Duration::from_millis(20));
        let passed = since_start().saturating_sub(before);
        assert!(
            passed >= Duration::from_millis(20) && passed < Duration::from_secs(20),
            "{passed:?}"
        );
    }

    #[test]
    fn where_all_places_are_taken_the_one_longest_unused_makes_room() {
        let (sessions, clock) = timed();
        let first = opened(&sessions);
        for _ in 1..MOST_SESSIONS {
            opened(&sessions);
        }
        clock.fetch_add(60, Ordering::Relaxed);
        assert!(sessions.get(&first).is_some());
        opened(&sessions);
        assert_eq!(sessions.count(), MOST_SESSIONS);
        assert!(sessions.get(&first).is_some(), "one in use was thrown out");
    }
}
