//! Who looked at what: one JSON line an event, appended to a file of its own.
//!
//! Events name the assembly by its identifier and the person at the desk by the name signed in with; they hold no customer's
//! name, number or address, and no text that was searched for.

use crate::faults::{Fault, Severity};
use chrono::{DateTime, SecondsFormat, Utc};
use std::fs::{File, OpenOptions};
use std::io::Write;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

/// Something done at the desk.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Event {
    /// The desk began to serve.
    Opened,
    /// Signed in.
    SignIn,
    /// Tried to sign in and was refused.
    SignInRefused,
    /// Tried to sign in too soon after wrong tries; what was sent was not looked at.
    SignInSlowed,
    /// Wanted to change its own account and gave a wrong password or code.
    ChangeRefused,
    /// The same too soon after wrong tries; what was sent was not looked at.
    ChangeSlowed,
    /// Asked for a page that its role does not open.
    NotAllowed,
    /// Ended somebody's sessions.
    SessionsEnded,
    /// An account is another one: the person changed it on a page, or the password file was read anew.
    AccountChanged,
    /// The password file changed and could not be taken.
    AccountsNotTaken,
    /// Signed out.
    SignOut,
    /// Searched; the count of hits is kept, the text is not.
    Search,
    /// Opened an assembly's card.
    Card,
    /// Answered a drip question.
    Drip,
    /// Saved a note or an outcome.
    Note,
    /// Opened the list of who is called next.
    CallList,
    /// Opened the list of visits after a spell.
    RecordList,
    /// Saved what was found on a visit.
    Inspected,
    /// Opened the review of lists and findings.
    Review,
    /// Opened the ranking.
    Ranking,
    /// Asked more often than one address may.
    TooMany,
    /// Asked under a name that is not the desk's.
    ForeignHost,
    /// Sent a form from another site.
    ForeignForm,
    /// Came past the proxy.
    PastTheProxy,
    /// An answer failed within the desk.
    Failed,
}

/// What is written of an event.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Entry<'a> {
    /// Who did it.
    pub who: &'a str,
    /// What was done.
    pub event: Event,
    /// The assembly that it was about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub assembly_id: Option<&'a str>,
    /// The account that it was about.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub account: Option<&'a str>,
    /// What of it became another: `added`, `removed`, `password`, `role`, `codes`.
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    pub what: &'a [&'static str],
    /// The page, without what is of one assembly or session.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub page: Option<&'static str>,
    /// How many.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<usize>,
    /// Where it came from.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub address: Option<IpAddr>,
}

impl<'a> Entry<'a> {
    /// Who did what, and nothing more.
    pub fn of(who: &'a str, event: Event) -> Self {
        Self {
            who,
            event,
            assembly_id: None,
            account: None,
            what: &[],
            page: None,
            count: None,
            address: None,
        }
    }
}

/// An entry with its time, which stands first.
#[derive(serde::Serialize)]
struct Line<'a> {
    time: String,
    #[serde(flatten)]
    entry: &'a Entry<'a>,
}

/// The audit trail; without a file, events are counted only.
#[derive(Default)]
pub struct Audit {
    file: Option<Mutex<File>>,
}

impl Audit {
    /// Opens the file for appending.
    ///
    /// # Errors
    /// When it cannot be opened, is a link, or is reached through somebody else's link.
    pub fn open(path: &Path) -> Result<Self, Fault> {
        let is_link = |place: &Path| {
            let what = if place == path {
                "the audit file is a link to another place".to_owned()
            } else {
                format!(
                    "the audit file is reached through a link of somebody else, {}",
                    place.display()
                )
            };
            Fault::new("BW-D31", Severity::Fatal, what)
                .file(path.display().to_string())
                .expected("a file of its own, by a way that nobody else can turn")
                .remedy("Name the file itself with --audit.")
        };
        if let Some(place) = turned_by_others(path) {
            return Err(is_link(&place));
        }
        let mut options = OpenOptions::new();
        options.create(true).append(true);
        #[cfg(unix)]
        {
            use std::os::unix::fs::OpenOptionsExt;
            options.mode(0o600);
            // A link that is put there between the look and the opening is not followed either.
            options.custom_flags(rustix::fs::OFlags::NOFOLLOW.bits().cast_signed());
        }
        let file = options.open(path).map_err(|error| {
            if std::fs::symlink_metadata(path).is_ok_and(|meta| meta.is_symlink()) {
                return is_link(path);
            }
            Fault::new(
                "BW-D30",
                Severity::Fatal,
                format!("the audit file cannot be opened: {error}"),
            )
            .file(path.display().to_string())
            .remedy("Name a place that you may write to with --audit.")
        })?;
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // One that was begun by an earlier program or a loose umask is the owner's alone from now on.
            let _ = file.set_permissions(std::fs::Permissions::from_mode(0o600));
        }
        Ok(Self {
            file: Some(Mutex::new(file)),
        })
    }

    /// Writes one event; `false` when the file did not take it.
    pub fn note(&self, now: DateTime<Utc>, entry: &Entry<'_>) -> bool {
        let Some(file) = &self.file else { return true };
        let time = now.to_rfc3339_opts(SecondsFormat::Secs, true);
        let Ok(mut line) = serde_json::to_string(&Line { time, entry }) else {
            return false;
        };
        line.push('\n');
        // One write a line: lines of several writers do not mix.
        let mut file = file.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
        file.write_all(line.as_bytes()).is_ok()
    }
}

/// The link that leads elsewhere, if there is one: the file itself, or a folder on the way to it whose link belongs neither to us nor
/// to the system's administrator. What of the way is ours or the system's own (`/var/run`) is as it is meant.
fn turned_by_others(path: &Path) -> Option<PathBuf> {
    let link = |place: &Path| std::fs::symlink_metadata(place).ok().filter(|meta| meta.is_symlink());
    if link(path).is_some() {
        return Some(path.to_path_buf());
    }
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        let ours = rustix::process::geteuid().as_raw();
        let whole = std::path::absolute(path).ok()?;
        for place in whole.ancestors().skip(1) {
            if link(place).is_some_and(|meta| meta.uid() != 0 && meta.uid() != ours) {
                return Some(place.to_path_buf());
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_holds_what_it_was_told_and_no_empty_fields() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("audit.jsonl");
        let audit = Audit::open(&path).unwrap();
        let now = "2026-01-15T21:30:00Z".parse().unwrap();
        assert!(audit.note(now, &Entry::of("rosa", Event::Ranking)));
        let more = Entry {
            account: Some("omar"),
            what: &["role", "codes"],
            address: Some(IpAddr::from([192, 0, 2, 1])),
            ..Entry::of("(password file)", Event::AccountChanged)
        };
        assert!(audit.note(now, &more));
        let text = std::fs::read_to_string(&path).unwrap();
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(
            lines[0],
            r#"{"time":"2026-01-15T21:30:00Z","who":"rosa","event":"ranking"}"#
        );
        assert!(
            lines[1].contains(r#""account":"omar","what":["role","codes"],"address":"192.0.2.1""#),
            "{}",
            lines[1]
        );
    }

    #[cfg(unix)]
    #[test]
    fn a_link_is_not_followed_and_a_loose_mode_is_tightened() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("audit.jsonl");
        std::fs::write(&path, "").unwrap();
        std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o664)).unwrap();
        Audit::open(&path).unwrap();
        assert_eq!(std::fs::metadata(&path).unwrap().permissions().mode() & 0o777, 0o600);
        let link = folder.path().join("link");
        std::os::unix::fs::symlink(&path, &link).unwrap();
        assert_eq!(Audit::open(&link).err().unwrap().code, "BW-D31");
        // A folder's link of our own, or of the system's, is a way as any other.
        let way = folder.path().join("way");
        std::os::unix::fs::symlink(folder.path(), &way).unwrap();
        assert!(Audit::open(&way.join("audit.jsonl")).is_ok());
        // One of somebody else's is not: only the administrator can make such a one for a test.
        if std::os::unix::fs::lchown(&way, Some(65_534), None).is_ok() {
            let told = Audit::open(&way.join("audit.jsonl")).err().unwrap();
            assert!(
                told.code == "BW-D31" && told.to_string().contains("somebody else"),
                "{told}"
            );
        }
    }
}
