//! One document: asked for, kept, or the last good one when the service fails.

use super::FetchOptions;
use crate::faults::{Fault, Faults, Severity};
use crate::weather::cache::Remembered;
use crate::weather::http::{Asker, HttpError, Kept, Reply};
use chrono::{DateTime, SecondsFormat, Utc};
use serde_json::Value;

/// Difference of the clocks from which it is told, min (judgement).
const CLOCKS_APART_MIN: i64 = 10;

/// One document of the bundle.
pub(super) struct Document {
    pub(super) role: &'static str,
    pub(super) url: String,
    pub(super) retrieved: DateTime<Utc>,
    pub(super) stale: bool,
    pub(super) body: Value,
}

/// One run of questions to a service, with what it told on the way.
pub(super) struct Session<'o> {
    pub(super) options: &'o FetchOptions,
    pub(super) asker: Asker,
    pub(super) faults: Faults,
    pub(super) clock_told: bool,
    /// The service's clock, which ages are measured by.
    pub(super) service_now: Option<DateTime<Utc>>,
}

pub(super) fn age(from: DateTime<Utc>, to: DateTime<Utc>) -> String {
    let minutes = (to - from).num_minutes().max(0);
    match minutes {
        0..=119 => format!("{minutes} min"),
        120..=2879 => format!("{:.1} h", minutes as f64 / 60.0),
        _ => format!("{:.1} days", minutes as f64 / 1440.0),
    }
}

pub(super) fn rfc3339(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::Secs, true)
}

/// An address without the name and password that it may carry: those belong in no file and in no message.
pub(super) fn without_credentials(url: &str) -> String {
    match reqwest::Url::parse(url) {
        Ok(mut parsed) if !parsed.username().is_empty() || parsed.password().is_some() => {
            let _ = parsed.set_username("");
            let _ = parsed.set_password(None);
            let shown = parsed.to_string();
            // A bare host gains a slash when it is parsed.
            if url.ends_with('/') {
                shown
            } else {
                shown.trim_end_matches('/').to_owned()
            }
        }
        // What cannot be parsed may carry them all the same.
        Err(_) if url.contains('@') => "(an address that cannot be read)".to_owned(),
        _ => url.to_owned(),
    }
}

/// When a forecast document was made.
pub(super) fn update_time(body: &Value) -> Option<DateTime<Utc>> {
    let text = body.get("properties")?.get("updateTime")?.as_str()?;
    DateTime::parse_from_rfc3339(text).ok().map(|time| time.to_utc())
}

impl Session<'_> {
    pub(super) fn now(&self) -> DateTime<Utc> {
        self.service_now.unwrap_or(self.options.now)
    }

    fn clock(&mut self, date: Option<DateTime<Utc>>) {
        let Some(date) = date else { return };
        self.service_now = Some(date);
        let apart = date - self.options.now;
        if apart.num_minutes().abs() >= CLOCKS_APART_MIN && !self.clock_told {
            self.clock_told = true;
            self.faults.push(
                Fault::new(
                    "BW-S62",
                    Severity::Warning,
                    format!(
                        "this computer's clock is {} from the service's",
                        age(DateTime::UNIX_EPOCH, DateTime::UNIX_EPOCH + apart.abs())
                    ),
                )
                .remedy(
                    "Ages are told by the service's clock. Set this computer's clock before you rely on deadlines.",
                ),
            );
        }
    }

    /// A document from the service, or the last good one when the service fails; only documents that pass `usable` are kept and used.
    ///
    /// `fresh_s`: a kept document that is younger than its own `max-age`, or than this when it has none, is used without asking.
    pub(super) fn document(
        &mut self,
        role: &'static str,
        path: &str,
        fresh_s: Option<u64>,
        usable: &dyn Fn(&Value) -> bool,
    ) -> Result<Document, String> {
        let asked = format!("{}{path}", self.options.service.trim_end_matches('/'));
        let url = without_credentials(&asked);
        let kept = self.options.cache.get(&url).and_then(|(facts, bytes)| {
            let body: Value = serde_json::from_slice(&bytes).ok()?;
            usable(&body).then_some((facts, body))
        });
        let from_kept = |facts: &Remembered, body: &Value, stale: bool| Document {
            role,
            url: url.clone(),
            retrieved: facts.retrieved,
            stale,
            body: body.clone(),
        };
        if let (Some((facts, body)), Some(fresh_s)) = (&kept, fresh_s) {
            let old = self.options.now - facts.validated;
            let fresh = i64::try_from(facts.max_age_s.unwrap_or(fresh_s)).unwrap_or(i64::MAX);
            if (0..fresh).contains(&old.num_seconds()) {
                return Ok(from_kept(facts, body, false));
            }
        }
        let condition = kept.as_ref().map_or_else(Kept::default, |(facts, _)| Kept {
            last_modified: facts.last_modified.clone(),
            etag: facts.etag.clone(),
        });
        let why = match self.asker.get(&asked, &condition) {
            Ok(Reply::NotModified { date }) => {
                self.clock(date);
                match &kept {
                    Some((facts, body)) => {
                        let noted = self.options.cache.validated(&url, self.options.now);
                        self.cache_trouble(noted);
                        return Ok(from_kept(facts, body, false));
                    }
                    None => "the service says that nothing changed, and nothing is kept".to_owned(),
                }
            }
            Ok(Reply::Body {
                bytes,
                last_modified,
                etag,
                max_age_s,
                date,
            }) => {
                self.clock(date);
                match serde_json::from_slice::<Value>(&bytes) {
                    Ok(body) if usable(&body) => {
                        // A cache on the way may serve an older forecast than the one that is kept.
                        if let Some((facts, newer)) = &kept
                            && let (Some(served), Some(held)) = (update_time(&body), update_time(newer))
                            && served < held
                        {
                            self.faults.push(Fault::new(
                                "BW-S63",
                                Severity::Warning,
                                format!(
                                    "the service gave an older {role} ({}) than the one kept ({}); the newer was used",
                                    rfc3339(served),
                                    rfc3339(held)
                                ),
                            ));
                            return Ok(from_kept(facts, newer, true));
                        }
                        let facts = Remembered {
                            url: url.clone(),
                            retrieved: self.options.now,
                            validated: self.options.now,
                            last_modified,
                            etag,
                            max_age_s,
                            sha256: String::new(),
                        };
                        let kept = self.options.cache.put(facts, &bytes);
                        self.cache_trouble(kept);
                        return Ok(Document {
                            role,
                            url,
                            retrieved: self.options.now,
                            stale: false,
                            body,
                        });
                    }
                    Ok(_) => "the reply is JSON without what was asked for".to_owned(),
                    Err(error) => format!("the reply is broken JSON: {error}"),
                }
            }
            Err(error) => said(&error),
        };
        match &kept {
            Some((facts, body)) => {
                // An old grid or station list is no old weather.
                let severity = if matches!(role, "point" | "stations") {
                    Severity::Note
                } else {
                    Severity::Warning
                };
                self.faults.push(
                    Fault::new(
                        "BW-S36",
                        severity,
                        format!(
                            "the service failed for the {role} ({why}); the last good reply was used, retrieved {} ({} ago)",
                            rfc3339(facts.retrieved),
                            age(facts.retrieved, self.options.now)
                        ),
                    )
                    .remedy("Fetch again before you act on it."),
                );
                Ok(from_kept(facts, body, true))
            }
            None => Err(why),
        }
    }

    fn cache_trouble(&mut self, done: std::io::Result<()>) {
        if let Err(error) = done {
            self.faults.push(
                Fault::new(
                    "BW-S64",
                    Severity::Note,
                    format!("the reply could not be kept for later: {error}"),
                )
                .remedy("Name another folder with --cache."),
            );
        }
    }
}

/// An error with the service's wish to wait, in words.
fn said(error: &HttpError) -> String {
    match error {
        HttpError::Status {
            retry_after_s: Some(seconds),
            ..
        } => format!("{error}; it asks to wait {seconds} s"),
        _ => error.to_string(),
    }
}
