//! The password file: one `name:hash` a line, argon2id in the PHC string format, with `:role=rep|planner|admin` and `:codes=SECRET` after it.
//! A line without a role is a planner's, what every line was before there were roles.

use super::rights::Role;
use super::second_factor::Codes;
use crate::faults::{Fault, Faults, Severity};
use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use zxcvbn::{Score, zxcvbn};

/// Fewest characters of a password (judgement, after NIST SP 800-63B's floor of 15 for a sole factor, from memory).
pub const SHORTEST: usize = 15;
/// Most characters that are hashed.
pub const LONGEST: usize = 256;

/// Least score of a password, of 4: safely unguessable where the hash is slow (the estimator's own words for 3).
const LEAST_SCORE: Score = Score::Three;

/// One who may sign in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Account {
    hash: String,
    /// What it may do.
    pub role: Role,
    /// Its one-time codes, when it has a second factor.
    pub codes: Option<Codes>,
}

/// Names with their accounts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Passwords(BTreeMap<String, Account>);

/// Whether a name may stand in the file: letters, digits, `.`, `_`, `-`, 1 to 40 characters.
pub fn name_is_usable(name: &str) -> bool {
    (1..=40).contains(&name.chars().count()) && name.chars().all(|c| c.is_alphanumeric() || ".-_".contains(c))
}

/// Why a password is not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unusable {
    /// Too short or too long.
    Length,
    /// One of the first that a guesser tries; what is weak about it, where the estimator knows a name for it.
    Guessable(Option<String>),
    /// The system could not hash it.
    Hash(String),
}

impl Unusable {
    fn fault(self) -> Fault {
        match self {
            Self::Length => Fault::new("BW-D21", Severity::Fatal, "the password is too short or too long")
                .expected(format!(
                    "{SHORTEST} to {LONGEST} characters; a few words in a row are good"
                ))
                .remedy("Choose another one."),
            Self::Guessable(why) => Fault::new(
                "BW-D27",
                Severity::Fatal,
                "the password is one of the first that a guesser tries",
            )
            .expected(why.unwrap_or_else(|| "words that do not belong together".to_owned()))
            .remedy("Choose another one: four or five words drawn at random are good, the name or the town is not."),
            Self::Hash(error) => Fault::new(
                "BW-D22",
                Severity::Fatal,
                format!("the password cannot be hashed: {error}"),
            ),
        }
    }
}

/// Whether a password is long enough and not one of the first that a guesser of this name would try.
///
/// # Errors
/// Why it is not taken.
pub fn is_usable(name: &str, password: &str) -> Result<(), Unusable> {
    if !(SHORTEST..=LONGEST).contains(&password.chars().count()) {
        return Err(Unusable::Length);
    }
    let strength = zxcvbn(password, &[name, "brimwater"]);
    if strength.score() < LEAST_SCORE {
        let why = strength.feedback().and_then(|feedback| feedback.warning());
        return Err(Unusable::Guessable(why.map(|why| why.to_string())));
    }
    Ok(())
}

impl Account {
    /// An account with a usable password.
    ///
    /// # Errors
    /// Why the password is not taken.
    pub fn new(name: &str, password: &str, role: Role, codes: Option<Codes>) -> Result<Self, Unusable> {
        is_usable(name, password)?;
        let hash = Argon2::default()
            .hash_password(password.as_bytes())
            .map_err(|error| Unusable::Hash(error.to_string()))?;
        Ok(Self {
            hash: hash.to_string(),
            role,
            codes,
        })
    }

    /// The same account with other codes.
    pub fn with_codes(&self, codes: Codes) -> Self {
        Self {
            codes: Some(codes),
            ..self.clone()
        }
    }

    /// Its line of the file.
    pub fn line(&self, name: &str) -> String {
        let codes = self
            .codes
            .as_ref()
            .map_or_else(String::new, |codes| format!(":codes={}", codes.written()));
        format!("{name}:{}:role={}{codes}", self.hash, self.role.word())
    }
}

/// The line of the file for a name and a password, its role, and its one-time codes.
///
/// # Errors
/// When the name or the password cannot be used; the password is not repeated.
pub fn line(name: &str, password: &str, role: Role, codes: Option<&Codes>) -> Result<String, Fault> {
    if !name_is_usable(name) {
        return Err(Fault::new("BW-D20", Severity::Fatal, "this name cannot be used")
            .value(name)
            .expected("1 to 40 letters, digits, dots, hyphens or underscores"));
    }
    let account = Account::new(name, password, role, codes.cloned()).map_err(Unusable::fault)?;
    Ok(account.line(name))
}

/// The file's text with another line for a name; all other lines stay as they are.
pub fn with_line(text: &str, name: &str, account: &Account) -> String {
    let of_name = |line: &str| line.trim().split_once(':').is_some_and(|(of, _)| of == name);
    text.split_inclusive('\n')
        .map(|line| {
            if !of_name(line) {
                return line.to_owned();
            }
            let end = &line[line.trim_end_matches(['\r', '\n']).len()..];
            format!("{}{end}", account.line(name))
        })
        .collect()
}

/// A file with secrets that others on this computer may read.
///
/// Faults: `BW-D08` (fatal).
pub fn too_open(path: &Path, faults: &mut Faults) {
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let Ok(meta) = std::fs::metadata(path) else { return };
        let mode = meta.permissions().mode() & 0o777;
        if mode & 0o077 != 0 {
            faults.push(
                Fault::new(
                    "BW-D08",
                    Severity::Fatal,
                    "others on this computer may read this file of secrets",
                )
                .file(path.display().to_string())
                .value(&format!("mode {mode:04o}"))
                .expected("mode 0600 or 0400")
                .remedy(format!("Run: chmod 600 {}", path.display())),
            );
        }
    }
    #[cfg(not(unix))]
    let _ = (path, faults);
}

/// The account that a line's text behind the name tells.
fn account(name: &str, rest: &str) -> Result<Account, &'static str> {
    let mut parts = rest.split(':');
    let hash = parts.next().unwrap_or("");
    if !name_is_usable(name) || PasswordHash::new(hash).is_err() {
        return Err("this line has no usable name or hash");
    }
    let (mut role, mut codes) = (None, None);
    for part in parts {
        match part.split_once('=') {
            Some(("role", word)) if role.is_none() => {
                role = Some(Role::read(word).ok_or("this line has a role that is none")?);
            }
            Some(("codes", secret)) if codes.is_none() => {
                codes = Some(Codes::read(secret).ok_or("this line has a secret for codes that is none")?);
            }
            // What is not understood could be a right that was to be taken away.
            _ => return Err("this line has a part that is not understood"),
        }
    }
    Ok(Account {
        hash: hash.to_owned(),
        role: role.unwrap_or(Role::Planner),
        codes,
    })
}

impl Passwords {
    /// Reads the file's text; `file` is named in faults. Blank lines and lines that begin with `#` are left out.
    pub fn read(text: &str, file: &str) -> (Self, Faults) {
        let mut faults = Faults::new();
        let mut names = BTreeMap::new();
        for (at, line) in text.lines().enumerate() {
            let line = line.trim();
            if line.is_empty() || line.starts_with('#') {
                continue;
            }
            let fault = |what: &str| {
                // The value is not shown: it may be a password typed in the wrong place.
                Fault::new("BW-D23", Severity::Fatal, what)
                    .file(file)
                    .line(at as u64 + 1)
                    .expected("name:$argon2id$..., and after it :role=rep, planner or admin, and :codes=SECRET")
                    .remedy("Make the line with `brimwater desk --password-line NAME`.")
            };
            let Some((name, rest)) = line.split_once(':') else {
                faults.push(fault("this line has no colon"));
                continue;
            };
            match account(name, rest) {
                Ok(account) => {
                    if names.insert(name.to_string(), account).is_some() {
                        faults.push(fault("this name stands here twice"));
                    }
                }
                Err(what) => faults.push(fault(what)),
            }
        }
        if names.is_empty() && faults.0.is_empty() {
            faults.push(
                Fault::new("BW-D24", Severity::Fatal, "the password file holds no name")
                    .file(file)
                    .remedy("Make a line with `brimwater desk --password-line NAME`."),
            );
        }
        (Self(names), faults)
    }

    /// Whether a name stands here with the password, the role and the codes that it had before.
    pub fn same_as(&self, before: &Passwords, name: &str) -> bool {
        self.0
            .get(name)
            .is_some_and(|account| before.0.get(name) == Some(account))
    }

    /// Names whose accounts are others than `before`, and what of each: added, removed, password, role, codes.
    pub fn changes<'a>(&'a self, before: &'a Passwords) -> Vec<(&'a str, Vec<&'static str>)> {
        let names: BTreeSet<&str> = self.0.keys().chain(before.0.keys()).map(String::as_str).collect();
        let changes = names.into_iter().map(|name| {
            let what = match (before.0.get(name), self.0.get(name)) {
                (None, _) => vec!["added"],
                (_, None) => vec!["removed"],
                (Some(old), Some(new)) => [
                    ("password", old.hash != new.hash),
                    ("role", old.role != new.role),
                    ("codes", old.codes != new.codes),
                ]
                .into_iter()
                .filter_map(|(what, differs)| differs.then_some(what))
                .collect(),
            };
            (name, what)
        });
        changes.filter(|(_, what)| !what.is_empty()).collect()
    }

    /// The account of a name.
    pub fn account(&self, name: &str) -> Option<&Account> {
        self.0.get(name)
    }

    /// All names with their accounts, in order.
    pub fn all(&self) -> impl Iterator<Item = (&str, &Account)> {
        self.0.iter().map(|(name, account)| (name.as_str(), account))
    }

    /// Whether the password is this name's. An unknown name takes as long as a known one.
    pub fn accept(&self, name: &str, password: &str) -> bool {
        let known = self.0.get(name);
        // Any stored hash serves for the time; its answer is thrown away for an unknown name.
        let Some(account) = known.or_else(|| self.0.values().next()) else {
            return false;
        };
        if password.chars().count() > LONGEST {
            return false;
        }
        let fits = PasswordHash::new(&account.hash)
            .is_ok_and(|hash| Argon2::default().verify_password(password.as_bytes(), &hash).is_ok());
        known.is_some() && fits
    }
}
