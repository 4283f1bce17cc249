//! Who may sign in, as the desk keeps it: the password file taken anew, changed by its own people, and their second factor.

use super::audit::{Entry, Event};
use super::passwords::{Account, Passwords, too_open, with_line};
use super::second_factor::Used;
use super::state::{DESK, Desk, Options, read, write};
use crate::faults::{Fault, Faults, Severity};
use crate::output::safe::write_private_file;
use chrono::Utc;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;
use std::sync::{Arc, PoisonError};

/// The codes that were used before this start, from their file beside the password file.
pub(super) fn used_codes(options: &Options) -> (Used, Faults) {
    let Some(path) = &options.password_file else {
        return (Used::default(), Faults::new());
    };
    let mut name = path.clone().into_os_string();
    name.push(".used-codes");
    let needed = options
        .passwords
        .as_ref()
        .is_some_and(|passwords| passwords.all().any(|(_, account)| account.codes.is_some()));
    let now_s = u64::try_from(Utc::now().timestamp()).unwrap_or(0);
    let (used, told) = Used::open(PathBuf::from(name), now_s);
    let mut faults = Faults::new();
    if let Some(fault) = told.filter(|_| needed) {
        faults.push(fault);
    }
    (used, faults)
}

/// Why an account was not changed.
#[derive(Debug, Clone, PartialEq)]
pub enum NotChanged {
    /// It is another one by now.
    Meanwhile,
    /// The password file cannot be taken or written.
    File(String),
}

/// Somebody who changes the own account on a page.
#[derive(Debug, Clone, Copy)]
pub struct Changer<'a> {
    /// The name signed in with.
    pub name: &'a str,
    /// The session, which goes on; all others of the name end.
    pub session: &'a str,
    /// Where it is asked from.
    pub address: IpAddr,
}

/// The file and what it holds; what is wrong with it otherwise.
fn taken(path: &Path) -> Result<(String, Passwords), Faults> {
    let unread = |error: std::io::Error| {
        let what = format!("the password file cannot be read: {error}");
        Fault::new("BW-D25", Severity::Fatal, what).file(path.display().to_string())
    };
    let text = std::fs::read_to_string(path).map_err(unread)?;
    let (passwords, mut faults) = Passwords::read(&text, &path.display().to_string());
    too_open(path, &mut faults);
    if faults.is_fatal() {
        Err(faults)
    } else {
        Ok((text, passwords))
    }
}

/// Puts one account in the place of another in the file, and leaves all else in it as it is.
fn put(path: &Path, name: &str, before: &Account, after: &Account) -> Result<(), NotChanged> {
    let told = |what: String| NotChanged::File(what);
    // A link stays one: what it leads to is written.
    let place = std::fs::canonicalize(path).map_err(|error| told(error.to_string()))?;
    let (text, passwords) = taken(&place).map_err(|faults| {
        let first = faults.0.first();
        told(first.map_or_else(String::new, ToString::to_string))
    })?;
    if passwords.account(name) != Some(before) {
        return Err(NotChanged::Meanwhile);
    }
    write_private_file(&place, with_line(&text, name, after).as_bytes()).map_err(|fault| told(fault.to_string()))
}

impl Desk {
    /// Names and hashes as they are now; `None` where nobody signs in.
    pub fn passwords(&self) -> Option<Arc<Passwords>> {
        read(&self.passwords).clone()
    }

    /// Whether somebody must sign in.
    pub fn asks_who(&self) -> bool {
        self.options.passwords.is_some()
    }

    /// Whether an account must have one-time codes and has none.
    pub fn owes_codes(&self, account: &Account) -> bool {
        self.options.require_codes.is_some_and(|least| account.role >= least) && account.codes.is_none()
    }

    /// Takes the password file as it is now, and ends the sessions of those who are no longer in it or whose password changed. A file
    /// that cannot be read or has faults changes nothing, and every page says so.
    pub fn reload_passwords(&self) {
        let _held = self.taking_passwords.lock().unwrap_or_else(PoisonError::into_inner);
        self.take_passwords(None);
    }

    fn take_passwords(&self, by: Option<Changer<'_>>) {
        let Some(path) = &self.options.password_file else {
            return;
        };
        let Ok((_, fresh)) = taken(path) else {
            // Told once, not at every look.
            if !self.passwords_stale.swap(true, Ordering::Relaxed) {
                self.note_entry(Entry::of(DESK, Event::AccountsNotTaken));
            }
            return;
        };
        self.passwords_stale.store(false, Ordering::Relaxed);
        let before = self.passwords().unwrap_or_default();
        let fresh = Arc::new(fresh);
        *write(&self.passwords) = Some(fresh.clone());
        let own = |name: &str| by.filter(|by| by.name == name);
        self.sessions
            .keep_only(|name| own(name).is_some() || fresh.same_as(&before, name));
        if let Some(by) = by {
            self.sessions.end_others(by.name, by.session);
        }
        for (name, what) in fresh.changes(&before) {
            self.note_entry(Entry {
                account: Some(name),
                what: &what,
                address: own(name).map(|by| by.address),
                ..Entry::of(own(name).map_or(DESK, |by| by.name), Event::AccountChanged)
            });
        }
    }

    /// Puts `after` in the place of the account `before` of whoever asks, in the password file and at once in force. All other sessions
    /// of the name end.
    ///
    /// # Errors
    /// Why nothing was changed.
    pub fn change_account(&self, by: Changer<'_>, before: &Account, after: &Account) -> Result<(), NotChanged> {
        let Some(path) = &self.options.password_file else {
            return Err(NotChanged::File(String::new()));
        };
        // The look at changed files must not find the new line first: it would end this session as well.
        let _held = self.taking_passwords.lock().unwrap_or_else(PoisonError::into_inner);
        self.codes_used
            .alone(|| put(path, by.name, before, after))
            .map_err(|error| NotChanged::File(error.to_string()))??;
        self.take_passwords(Some(by));
        Ok(())
    }

    /// Whether the code is right where the account has a second factor; each code serves once.
    pub fn second_factor_fits(&self, name: &str, account: &Account, code: &str) -> bool {
        let Some(codes) = &account.codes else { return true };
        let unix_s = u64::try_from(Utc::now().timestamp()).unwrap_or(0);
        let Some(step) = codes.step_of(code, unix_s) else {
            return false;
        };
        let taken = self.codes_used.take(name, step);
        self.codes_unmarked.store(!self.codes_used.is_kept(), Ordering::Relaxed);
        taken
    }

    /// Marks a code that proved a new secret as used.
    pub fn code_was_used(&self, name: &str, step: u64) {
        self.codes_used.take(name, step);
        self.codes_unmarked.store(!self.codes_used.is_kept(), Ordering::Relaxed);
    }
}

#[cfg(test)]
mod tests {
    use super::super::rights::Role;
    use super::super::second_factor::Codes;
    use super::*;

    const NAMES: [&str; 8] = ["ana", "beto", "cleo", "dora", "elio", "fina", "gil", "hugo"];

    /// A file with an account for each name, and the account.
    fn file(folder: &Path) -> (PathBuf, Account) {
        let account = Account::new("ana", "four quiet herons wade", Role::Rep, None).unwrap();
        let path = folder.join("passwords.txt");
        let lines: Vec<String> = NAMES.iter().map(|name| account.line(name)).collect();
        write_private_file(&path, lines.join("\n").as_bytes()).unwrap();
        (path, account)
    }

    #[test]
    fn changes_made_at_once_by_desks_beside_each_other_are_all_kept() {
        let folder = tempfile::tempdir().unwrap();
        let (path, before) = file(folder.path());
        std::thread::scope(|scope| {
            for name in NAMES {
                let (path, before) = (&path, &before);
                scope.spawn(move || {
                    let (used, _) = Used::open(path.with_extension("used-codes"), 300);
                    let after = before.with_codes(Codes::random().unwrap());
                    used.alone(|| put(path, name, before, &after)).unwrap().unwrap();
                });
            }
        });
        let (_, now) = taken(&path).unwrap();
        let with_codes = now.all().filter(|(_, account)| account.codes.is_some());
        assert_eq!(with_codes.count(), NAMES.len());
    }

    #[test]
    fn an_account_that_is_another_one_by_now_is_left_as_it_is() {
        let folder = tempfile::tempdir().unwrap();
        let (path, before) = file(folder.path());
        let text = std::fs::read_to_string(&path).unwrap();
        let other = before.with_codes(Codes::random().unwrap());
        assert_eq!(put(&path, "ana", &other, &before), Err(NotChanged::Meanwhile));
        assert_eq!(put(&path, "nobody", &before, &other), Err(NotChanged::Meanwhile));
        // Nor is a file that has a fault, wherever it stands, or that others may read.
        let spoilt = format!("{text}\nrosa");
        write_private_file(&path, spoilt.as_bytes()).unwrap();
        assert!(matches!(put(&path, "ana", &before, &other), Err(NotChanged::File(why)) if why.contains("BW-D23")));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), spoilt);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            write_private_file(&path, text.as_bytes()).unwrap();
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o640)).unwrap();
            assert!(matches!(put(&path, "ana", &before, &other), Err(NotChanged::File(why)) if why.contains("BW-D08")));
            assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
        }
    }
}
