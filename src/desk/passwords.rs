//! The password file: one `name:hash` a line, argon2id in the PHC string format.

use crate::faults::{Fault, Faults, Severity};
use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use std::collections::BTreeMap;

/// Fewest characters of a password (judgement, after NIST SP 800-63B's floor of 15 for a sole factor, from memory).
pub const SHORTEST: usize = 15;
/// Most characters that are hashed.
pub const LONGEST: usize = 256;

/// Names with their hashes.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Passwords(BTreeMap<String, String>);

/// Whether a name may stand in the file: letters, digits, `.`, `_`, `-`, 1 to 40 characters.
pub fn name_is_usable(name: &str) -> bool {
    (1..=40).contains(&name.chars().count()) && name.chars().all(|c| c.is_alphanumeric() || ".-_".contains(c))
}

/// The line of the file for a name and a password.
///
/// # Errors
/// When the name or the password cannot be used; the password is not repeated.
pub fn line(name: &str, password: &str) -> Result<String, Fault> {
    if !name_is_usable(name) {
        return Err(Fault::new("BW-D20", Severity::Fatal, "this name cannot be used")
            .value(name)
            .expected("1 to 40 letters, digits, dots, hyphens or underscores"));
    }
    let length = password.chars().count();
    if !(SHORTEST..=LONGEST).contains(&length) {
        return Err(
            Fault::new("BW-D21", Severity::Fatal, "the password is too short or too long")
                .expected(format!(
                    "{SHORTEST} to {LONGEST} characters; a few words in a row are good"
                ))
                .remedy("Choose another one."),
        );
    }
    let hash = Argon2::default().hash_password(password.as_bytes()).map_err(|error| {
        Fault::new(
            "BW-D22",
            Severity::Fatal,
            format!("the password cannot be hashed: {error}"),
        )
    })?;
    Ok(format!("{name}:{hash}"))
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
                    .expected("name:$argon2id$...")
                    .remedy("Make the line with `brimwater desk --password-line NAME`.")
            };
            match line.split_once(':') {
                Some((name, hash)) if name_is_usable(name) && PasswordHash::new(hash).is_ok() => {
                    if names.insert(name.to_string(), hash.to_string()).is_some() {
                        faults.push(fault("this name stands here twice"));
                    }
                }
                Some(_) => faults.push(fault("this line has no usable name or hash")),
                None => faults.push(fault("this line has no colon")),
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

    /// Whether a name stands here with the hash that it had before.
    pub fn same_as(&self, before: &Passwords, name: &str) -> bool {
        self.0.get(name).is_some_and(|hash| before.0.get(name) == Some(hash))
    }

    /// Whether the password is this name's. An unknown name takes as long as a known one.
    pub fn accept(&self, name: &str, password: &str) -> bool {
        let known = self.0.get(name);
        // Any stored hash serves for the time; its answer is thrown away for an unknown name.
        let Some(hash) = known.or_else(|| self.0.values().next()) else {
            return false;
        };
        if password.chars().count() > LONGEST {
            return false;
        }
        let fits = PasswordHash::new(hash)
            .is_ok_and(|hash| Argon2::default().verify_password(password.as_bytes(), &hash).is_ok());
        known.is_some() && fits
    }
}
