//! One-time codes by time as a second factor (RFC 6238): six figures, thirty seconds, HMAC-SHA-1, what every authenticator knows.

use crate::faults::{Fault, Severity};
use std::collections::HashMap;
use std::fs::{File, OpenOptions};
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use totp_rs::{Builder, Secret, Totp};

/// Bytes of a secret: RFC 4226, section 4, asks for 16 at least and recommends 20.
const SECRET_BYTES: usize = 20;
/// Fewest bytes of a secret that is taken.
const LEAST_BYTES: usize = 16;
/// Steps before and after the present one whose codes are taken too (RFC 6238, section 5.2: one, for the way and for clocks).
const WINDOW: u16 = 1;
/// Length of a step (RFC 6238, section 5.2).
const STEP_S: u64 = 30;

/// The secret of an account.
#[derive(Clone, PartialEq, Eq)]
pub struct Codes(Secret);

impl std::fmt::Debug for Codes {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Codes(…)")
    }
}

impl Codes {
    /// A new secret; `None` when the system gives no randomness.
    pub fn random() -> Option<Self> {
        let mut bytes = [0; SECRET_BYTES];
        getrandom::fill(&mut bytes).ok()?;
        Some(Self(Secret::from(bytes)))
    }

    /// Reads a secret written in base 32 (RFC 4648) without padding; `None` where it is none or too short.
    pub fn read(text: &str) -> Option<Self> {
        let secret = Secret::try_from_base32(text).ok()?;
        (secret.as_ref().len() >= LEAST_BYTES).then_some(Self(secret))
    }

    /// The secret in base 32, as the password file keeps it.
    pub fn written(&self) -> String {
        self.0.to_base32()
    }

    /// What an authenticator takes in, as a link or as a picture made of it: `otpauth://totp/…`.
    pub fn link(&self, name: &str) -> Option<String> {
        self.totp(name)?.to_url().ok()
    }

    fn totp(&self, name: &str) -> Option<Totp> {
        let builder = Builder::new().with_secret(self.0.clone()).with_skew(WINDOW);
        builder
            .with_account_name(name)
            .with_issuer(Some("Brimwater"))
            .build()
            .ok()
    }

    /// The number of the step that a code belongs to, if it is one of now, `unix_s` seconds since 1970; blanks in it are let through.
    pub fn step_of(&self, code: &str, unix_s: u64) -> Option<u64> {
        let code: String = code.chars().filter(|c| !c.is_whitespace()).collect();
        let figures = code.len() == 6 && code.bytes().all(|byte| byte.is_ascii_digit());
        self.totp("").filter(|_| figures)?.check(&code, unix_s)
    }
}

/// What the file of used codes begins with. One that does not was cut off, so what was used is not known.
const HEAD: &str = "# brimwater: one-time codes that were used, by name and step\n";
/// Stands in the file for every name.
const EVERYBODY: &str = "*";
/// Bytes of the file from which on the steps that nothing can use any more are left out.
const LONG: usize = 64 * 1024;
/// Most bytes of the file that are read.
const MOST: u64 = 16 * LONG as u64;

/// The last step that each account has used: a code that somebody looked at over a shoulder opens nothing. Kept in a file beside the
/// password file, so that a restart, or another desk with the same passwords, knows it too.
#[derive(Debug, Default)]
pub struct Used {
    kept: Mutex<Kept>,
    file: Option<PathBuf>,
}

#[derive(Debug, Default)]
struct Kept {
    last: HashMap<String, u64>,
    /// No step up to this one is taken: those before a start whose file does not tell what was used.
    floor: Option<u64>,
    /// Whether the last mark did not come into the file.
    unmarked: bool,
}

impl Used {
    /// The steps in `file`, which is begun when there is none. When it cannot be used, or was cut off, no code that can have been used
    /// before is taken, which makes people wait for a minute.
    ///
    /// Faults: `BW-D33` (warning).
    pub fn open(file: PathBuf, unix_s: u64) -> (Self, Option<Fault>) {
        // A code of the next step may have been used already, by a clock that is ahead.
        let floor = unix_s / STEP_S + u64::from(WINDOW);
        let known = with_file(&file, |handle, text, is_new| {
            if is_new {
                handle.write_all(HEAD.as_bytes())?;
            } else if !text.starts_with(HEAD) {
                handle.set_len(0)?;
                handle.write_all(format!("{HEAD}{EVERYBODY} {floor}\n").as_bytes())?;
                return Ok(false);
            }
            Ok(true)
        });
        let why = match &known {
            Ok(true) => None,
            Ok(false) => Some("it was cut off".to_owned()),
            Err(error) => Some(error.to_string()),
        };
        let kept = Kept {
            floor: why.is_some().then_some(floor),
            unmarked: known.is_err(),
            ..Kept::default()
        };
        let fault = why.map(|why| {
            let what = format!("the file of used one-time codes does not tell which were used: {why}");
            Fault::new("BW-D33", Severity::Warning, what)
                .file(file.display().to_string())
                .expected("a file beside the password file that the desk may write")
                .remedy("Codes of the last minute are refused now. Where this is told at each start, let the desk's account write there.")
        });
        let used = Self {
            kept: Mutex::new(kept),
            file: Some(file),
        };
        (used, fault)
    }

    /// Marks a step as used; `false` when it, or a later one, was used before.
    pub fn take(&self, name: &str, step: u64) -> bool {
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        let used = kept.last.get(name).copied().max(kept.floor);
        if used.is_some_and(|used| step <= used) {
            return false;
        }
        let marked = self.file.as_ref().map_or(Ok(true), |file| mark(file, name, step));
        // A full disk must not keep people from the desk on a cold night: what is in memory holds until the next start, and that finds a
        // file which it does not believe. A byte that is there already can be written on a full disk, too.
        kept.unmarked = marked.is_err();
        if let (Err(_), Some(file)) = (&marked, &self.file) {
            let _ = OpenOptions::new()
                .write(true)
                .open(file)
                .and_then(|mut file| file.write_all(b"?"));
        }
        let fresh = marked.unwrap_or(true);
        if fresh {
            kept.last.insert(name.to_owned(), step);
        }
        fresh
    }

    /// Does something while no other desk with this password file does the like.
    ///
    /// # Errors
    /// When the file cannot be held.
    pub fn alone<T>(&self, work: impl FnOnce() -> T) -> io::Result<T> {
        let Some(file) = &self.file else { return Ok(work()) };
        with_file(file, |handle, _, is_new| {
            if is_new {
                handle.write_all(HEAD.as_bytes())?;
            }
            Ok(work())
        })
    }

    /// Whether the file knows what was used.
    pub fn is_kept(&self) -> bool {
        !self.kept.lock().unwrap_or_else(PoisonError::into_inner).unmarked
    }
}

/// Does something with the file, its text, and whether it was begun just now, while no other desk does.
fn with_file<T>(path: &Path, work: impl FnOnce(&mut File, &str, bool) -> io::Result<T>) -> io::Result<T> {
    let mut options = OpenOptions::new();
    options.read(true).append(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
        options.custom_flags(rustix::fs::OFlags::NOFOLLOW.bits().cast_signed());
    }
    let (mut file, is_new) = match options.clone().create_new(true).open(path) {
        Ok(file) => (file, true),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => (options.open(path)?, false),
        Err(error) => return Err(error),
    };
    file.lock()?;
    let mut text = String::new();
    (&file).take(MOST).read_to_string(&mut text)?;
    work(&mut file, &text, is_new)
}

/// Writes a step down; `false` when it, or a later one, of this name stands there.
fn mark(path: &Path, name: &str, step: u64) -> io::Result<bool> {
    with_file(path, |file, text, is_new| {
        if is_new {
            file.write_all(HEAD.as_bytes())?;
        } else if !text.starts_with(HEAD) {
            return Err(io::Error::other("it was cut off"));
        }
        let lines = text.lines().skip(1).filter_map(|line| {
            let (name, step) = line.rsplit_once(' ')?;
            Some((name, step.parse::<u64>().ok()?))
        });
        if lines
            .clone()
            .any(|(of, used)| (of == name || of == EVERYBODY) && used >= step)
        {
            return Ok(false);
        }
        if text.len() > LONG {
            // Steps of an hour ago are refused for their age. Cut off in between, the file has no head and is not believed.
            let recent: String = lines
                .filter(|(_, used)| used + 120 > step)
                .map(|(name, step)| format!("{name} {step}\n"))
                .collect();
            file.set_len(0)?;
            file.write_all(format!("{HEAD}{recent}").as_bytes())?;
        }
        file.write_all(format!("{name} {step}\n").as_bytes())?;
        file.sync_data()?;
        Ok(true)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// X-Val: RFC 6238, Appendix B, SHA-1: secret "12345678901234567890"; the six-figure code is the end of the eight-figure one printed there.
    #[test]
    fn codes_are_those_of_the_standard() {
        let codes = Codes(Secret::from(b"12345678901234567890".to_vec()));
        for (unix_s, code) in [
            (59, "287082"),
            (1_111_111_109, "081804"),
            (1_111_111_111, "050471"),
            (1_234_567_890, "005924"),
            (2_000_000_000, "279037"),
            (20_000_000_000, "353130"),
        ] {
            assert_eq!(codes.step_of(code, unix_s), Some(unix_s / 30), "{unix_s}");
            // One step either way is let through, two are not.
            assert_eq!(codes.step_of(code, unix_s + 30), Some(unix_s / 30));
            assert_eq!(codes.step_of(code, unix_s - 30), Some(unix_s / 30));
            assert_eq!(codes.step_of(code, unix_s + 61), None);
        }
        for wrong in ["", "28708", "2870822", "28708a", "٢٨٧٠٨٢", "94287082"] {
            assert_eq!(codes.step_of(wrong, 59), None, "{wrong}");
        }
        assert_eq!(codes.step_of("287 082", 59), Some(1));
    }

    #[test]
    fn a_secret_is_written_and_read_and_a_short_one_refused() {
        let codes = Codes::random().unwrap();
        assert_eq!(Codes::read(&codes.written()), Some(codes.clone()));
        assert_ne!(Codes::random(), Some(codes.clone()));
        assert_eq!(Codes::read("MFRGG"), None);
        assert_eq!(Codes::read("not base 32!"), None);
        let link = codes.link("maria").unwrap();
        assert!(
            link.starts_with("otpauth://totp/") && link.contains(&codes.written()) && link.contains("maria"),
            "{link}"
        );
        assert!(!format!("{codes:?}").contains(&codes.written()));
    }

    #[test]
    fn a_step_is_used_once_and_none_before_it_after() {
        let used = Used::default();
        assert!(used.take("maria", 10) && !used.take("maria", 10) && !used.take("maria", 9) && used.take("maria", 11));
        assert!(used.take("omar", 10));
    }

    #[test]
    fn a_restart_and_another_desk_know_what_was_used() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("passwords.txt.used-codes");
        let (first, told) = Used::open(file.clone(), 300);
        assert!(told.is_none() && first.take("maria", 10) && first.is_kept());
        let (second, told) = Used::open(file.clone(), 300);
        assert!(told.is_none());
        assert!(!second.take("maria", 10) && !second.take("maria", 9) && second.take("omar", 10));
        // Both are open: what one takes the other refuses.
        assert!(second.take("maria", 11) && !first.take("maria", 11) && first.take("maria", 12));
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            assert_eq!(std::fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
        }
        // It does not grow without end, and what is recent stays known.
        for step in 20..6_000 {
            assert!(first.take("a-name-of-the-usual-length", step));
        }
        assert!(std::fs::metadata(&file).unwrap().len() < 2 * LONG as u64);
        assert!(!Used::open(file, 300).0.take("a-name-of-the-usual-length", 5_990));
    }

    #[test]
    fn where_the_file_does_not_tell_what_was_used_nothing_from_before_is_taken() {
        let folder = tempfile::tempdir().unwrap();
        let cut = folder.path().join("cut");
        std::fs::write(&cut, &HEAD[..20]).unwrap();
        // A folder stands for a place that cannot be written.
        for (file, kept) in [(cut.clone(), true), (folder.path().to_path_buf(), false)] {
            let (used, told) = Used::open(file, 3_000);
            assert_eq!(told.unwrap().code, "BW-D33");
            // 3,000 s is step 100; a clock that is ahead may have used 101.
            assert!(!used.take("maria", 100) && !used.take("maria", 101));
            assert!(used.take("maria", 102) && !used.take("maria", 102));
            assert_eq!(used.is_kept(), kept);
        }
        // The file that was mended says so to the next start as well.
        let (used, told) = Used::open(cut, 3_000);
        assert!(told.is_none() && !used.take("omar", 101) && !used.take("maria", 102) && used.take("omar", 102));
    }

    #[test]
    fn where_a_mark_cannot_be_written_a_code_serves_once_and_the_next_start_believes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("used");
        let (used, _) = Used::open(file.clone(), 300);
        std::fs::remove_file(&file).unwrap();
        std::fs::create_dir(&file).unwrap();
        assert!(used.take("maria", 10) && !used.take("maria", 10) && !used.is_kept());
        // The same with a file that somebody cut.
        std::fs::remove_dir(&file).unwrap();
        std::fs::write(&file, "# brim").unwrap();
        assert!(used.take("maria", 11) && !used.take("maria", 11) && !used.is_kept());
        assert!(std::fs::read_to_string(&file).unwrap().starts_with('?'));
        let (next, told) = Used::open(file, 330);
        assert!(told.is_some() && !next.take("maria", 11));
    }
}
