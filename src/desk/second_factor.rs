//! One-time codes by time as a second factor (RFC 6238): six figures, thirty seconds, HMAC-SHA-1, what every authenticator knows.

use std::collections::HashMap;
use std::sync::{Mutex, PoisonError};
use totp_rs::{Builder, Secret, Totp};

/// Bytes of a secret: RFC 4226, section 4, asks for 16 at least and recommends 20.
const SECRET_BYTES: usize = 20;
/// Fewest bytes of a secret that is taken.
const LEAST_BYTES: usize = 16;
/// Steps before and after the present one whose codes are taken too (RFC 6238, section 5.2: one, for the way and for clocks).
const WINDOW: u16 = 1;

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

/// The last step that each account has used: a code that somebody looked at over a shoulder opens nothing.
#[derive(Debug, Default)]
pub struct Used(Mutex<HashMap<String, u64>>);

impl Used {
    /// Marks a step as used; `false` when it, or a later one, was used before.
    pub fn take(&self, name: &str, step: u64) -> bool {
        let mut last = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let fresh = last.get(name).is_none_or(|before| step > *before);
        if fresh {
            last.insert(name.to_owned(), step);
        }
        fresh
    }
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
}
