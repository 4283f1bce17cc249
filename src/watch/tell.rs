//! How a word reaches people: the sentence, the document, the signed webhook.

use super::decide::{About, Word};
use crate::faults::{Fault, Severity};
use crate::language::Language;
use crate::say;
use crate::units::{UnitSystem, show_temperature};
use chrono_tz::Tz;
use reqwest::Url;
use reqwest::blocking::Client;
use reqwest::redirect::Policy;
use ring::hmac;
use std::path::Path;
use std::time::Duration;

/// Header of the signature: `sha256=` and the hexadecimal HMAC-SHA-256 (RFC 2104) of the body.
pub const SIGNATURE: &str = "X-Brimwater-Signature";
/// The environment's name of the secret.
pub const SECRET: &str = "BRIMWATER_WEBHOOK_SECRET";

/// The sentence that people read.
pub fn sentence(word: &Word, zone: Tz, units: UnitSystem, language: Language) -> String {
    let ice = word.first_ice.map_or_else(String::new, |ice| {
        ice.with_timezone(&zone).format("%Y-%m-%d %H:%M %Z").to_string()
    });
    let lowest = word
        .lowest_c
        .map_or_else(String::new, |air| show_temperature(air, units));
    let (sites, new) = (word.sites as f64, word.new as f64);
    let text = match word.about {
        About::FirstNight => say!(language, "watch-first-night", sites = sites, ice = ice, lowest = lowest),
        About::MoreToCall => say!(
            language,
            "watch-more-to-call",
            sites = sites,
            new = new,
            ice = ice,
            lowest = lowest
        ),
        About::Stale => say!(language, "watch-stale"),
        About::NoPlan => say!(language, "watch-no-plan", why = word.why.clone()),
        About::Thaw => say!(language, "watch-thaw"),
    };
    if word.reminder {
        format!("{} {text}", say!(language, "watch-reminder"))
    } else {
        text
    }
}

/// Subject of a mail.
pub fn subject(word: &Word, language: Language) -> String {
    let sites = word.sites as f64;
    let text = match word.about {
        About::FirstNight => say!(language, "watch-subject-first-night", sites = sites),
        About::MoreToCall => say!(language, "watch-subject-more-to-call", sites = sites),
        About::Stale => say!(language, "watch-subject-stale"),
        About::NoPlan => say!(language, "watch-subject-no-plan"),
        About::Thaw => say!(language, "watch-subject-thaw"),
    };
    if word.reminder {
        format!("{} {text}", say!(language, "watch-reminder"))
    } else {
        text
    }
}

/// Text of a mail: the sentence, when it was decided, what it leans on.
pub fn letter(word: &Word, sentence: &str, zone: Tz, language: Language) -> String {
    let time = word.time.with_timezone(&zone).format("%Y-%m-%d %H:%M %Z").to_string();
    let foot = say!(language, "watch-letter-foot", time = time, id = word.id.to_string());
    format!("{sentence}\r\n\r\n{foot}\r\n")
}

/// The word as a JSON document. It holds counts and times, no names and no addresses.
pub fn document(word: &Word, text: &str) -> String {
    serde_json::json!({
        "schema": "brimwater.told/1",
        "id": word.id,
        "time": word.time,
        "about": word.about,
        "reminder": word.reminder,
        "sites_to_call_first": word.sites,
        "new": word.new,
        "first_ice": word.first_ice,
        "lowest_air_c": word.lowest_c,
        "text": text,
    })
    .to_string()
}

/// The secret of the signature: the environment's, else the file's.
///
/// # Errors
/// `BW-W07` there is none, or others may read its file. Its text is never told.
pub fn secret(file: Option<&Path>) -> Result<Vec<u8>, Fault> {
    secret_from(
        file,
        SECRET,
        "BW-W07",
        "the webhook's secret",
        "watch.webhook_secret_file",
    )
}

/// A secret from the environment, else from a file that its owner alone may read. `whose` names it in messages, `key` is the config's.
///
/// # Errors
/// The fault `code`: there is none, or others may read its file. Its text is never told.
pub(super) fn secret_from(
    file: Option<&Path>,
    variable: &str,
    code: &'static str,
    whose: &str,
    key: &str,
) -> Result<Vec<u8>, Fault> {
    if let Some(value) = std::env::var_os(variable).filter(|value| !value.is_empty()) {
        return Ok(value.into_encoded_bytes());
    }
    let wrong = |what: String| {
        let fault = Fault::new(code, Severity::Fatal, what)
            .expected(format!("{variable} in the environment, or a file with mode 0600"))
            .remedy(format!(
                "Set the one, or {key} in the config and chmod 600 on the file."
            ));
        match file {
            Some(path) => fault
                .file(path.display().to_string())
                .remedy(format!("Put the secret there and run: chmod 600 {}", path.display())),
            None => fault,
        }
    };
    let path = file.ok_or_else(|| wrong(format!("{whose} is missing")))?;
    let meta = std::fs::metadata(path).map_err(|error| wrong(format!("{whose} cannot be read: {error}")))?;
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        if meta.permissions().mode() & 0o077 != 0 {
            return Err(wrong(format!("others may read {whose}")));
        }
    }
    if meta.len() > 4_096 {
        return Err(wrong(format!("{whose} is longer than 4096 bytes")));
    }
    let bytes = std::fs::read(path).map_err(|error| wrong(format!("{whose} cannot be read: {error}")))?;
    let trimmed = bytes.trim_ascii().to_vec();
    if trimmed.is_empty() {
        return Err(wrong(format!("{whose} is empty")));
    }
    Ok(trimmed)
}

/// Checks the address of a webhook: `https`, or `http` to this computer itself.
///
/// # Errors
/// `BW-W08` when it is something else.
pub fn address(text: &str) -> Result<Url, Fault> {
    let url = Url::parse(text).ok().filter(|url| {
        let here = matches!(url.host_str(), Some("127.0.0.1" | "localhost" | "[::1]"));
        url.scheme() == "https" || (url.scheme() == "http" && here)
    });
    url.ok_or_else(|| {
        Fault::new("BW-W08", Severity::Fatal, "the webhook's address cannot be used")
            .column("watch.webhook")
            .expected("https://host/path; http only to this computer")
    })
}

/// Sends a word. Anything but an answer of 2xx is a failure, which is tried again with the next run.
///
/// # Errors
/// `BW-W09` (warning) when it was not taken.
pub fn send(url: &Url, secret: &[u8], body: &str) -> Result<(), Fault> {
    let refused = |why: String| {
        Fault::new(
            "BW-W09",
            Severity::Warning,
            format!("the webhook did not take the word: {why}"),
        )
        .value(url.host_str().unwrap_or(""))
        .remedy("It is sent again with the next run.")
    };
    let _ = rustls::crypto::ring::default_provider().install_default();
    let client = Client::builder()
        .timeout(Duration::from_secs(20))
        // A redirect could lead the word elsewhere.
        .redirect(Policy::none())
        .build()
        .map_err(|error| refused(error.without_url().to_string()))?;
    let signature = hmac::sign(&hmac::Key::new(hmac::HMAC_SHA256, secret), body.as_bytes());
    let hex: String = signature.as_ref().iter().map(|byte| format!("{byte:02x}")).collect();
    let answer = client
        .post(url.clone())
        .header("Content-Type", "application/json")
        .header(SIGNATURE, format!("sha256={hex}"))
        .body(body.to_owned())
        .send()
        // An address may carry a token: it stays out of the words.
        .map_err(|error| refused(error.without_url().to_string()))?;
    if answer.status().is_success() {
        Ok(())
    } else {
        Err(refused(format!("it answered {}", answer.status().as_u16())))
    }
}
