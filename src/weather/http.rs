//! One careful way to ask a weather service: limits on size, time and redirects, few tries with growing waits, one request at a time.

use chrono::{DateTime, Utc};
use reqwest::blocking::{Client, Response};
use reqwest::header::{
    ACCEPT, CACHE_CONTROL, CONTENT_TYPE, DATE, ETAG, HeaderMap, IF_MODIFIED_SINCE, IF_NONE_MATCH, LAST_MODIFIED,
    LOCATION, RETRY_AFTER,
};
use reqwest::redirect::Policy;
use reqwest::{StatusCode, Url};
use std::io::Read;
use std::time::{Duration, Instant};

/// Limits of a request.
#[derive(Debug, Clone)]
pub struct Limits {
    /// Longest body after decompression, bytes.
    pub max_bytes: u64,
    /// Longest time of one request with its body.
    pub timeout: Duration,
    /// Most redirects followed.
    pub max_redirects: usize,
    /// Most tries of one address.
    pub tries: u32,
    /// Wait before the second try; it doubles with each further one, and up to half of it is added by chance.
    pub first_wait: Duration,
    /// Longest wait that the service may ask for; if it asks for more the request is given up.
    pub longest_wait: Duration,
}

impl Default for Limits {
    /// The service's own policy asks for a few seconds between tries; the rest is judgement.
    fn default() -> Self {
        Self {
            max_bytes: 16 * 1024 * 1024,
            timeout: Duration::from_secs(20),
            max_redirects: 4,
            tries: 3,
            first_wait: Duration::from_secs(5),
            longest_wait: Duration::from_secs(60),
        }
    }
}

/// A good reply.
#[derive(Debug, Clone)]
pub enum Reply {
    /// The document with what is needed to ask again.
    Body {
        /// The body as it came, decompressed.
        bytes: Vec<u8>,
        /// `Last-Modified`.
        last_modified: Option<String>,
        /// `ETag`.
        etag: Option<String>,
        /// `max-age` of `Cache-Control`.
        max_age_s: Option<u64>,
        /// The service's clock.
        date: Option<DateTime<Utc>>,
    },
    /// The kept document is still current.
    NotModified {
        /// The service's clock.
        date: Option<DateTime<Utc>>,
    },
}

/// Why there is no good reply.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum HttpError {
    /// The address cannot be used.
    #[error("the address {0} cannot be used: {1}")]
    Address(String, String),
    /// Nothing answers there.
    #[error("no answer: {0}")]
    Connection(String),
    /// Too slow.
    #[error("not finished within {0} s")]
    Timeout(u64),
    /// The body broke off or is damaged.
    #[error("the reply broke off: {0}")]
    Truncated(String),
    /// Too large.
    #[error("the reply is larger than {0} MiB")]
    TooLarge(u64),
    /// Redirected too often or elsewhere.
    #[error("redirected {0}")]
    Redirect(String),
    /// The service says no, in its own words.
    #[error("the service answered {status}: {words}")]
    Status {
        /// HTTP status.
        status: u16,
        /// Title and detail of a problem document, or what kind of page came instead.
        words: String,
        /// How long the service asks to wait, s.
        retry_after_s: Option<u64>,
    },
    /// Not what was asked for.
    #[error("the reply is {0}, not JSON")]
    ContentType(String),
}

impl HttpError {
    /// Whether another try may help: not after a refusal that will stay one.
    pub fn may_pass(&self) -> bool {
        match self {
            Self::Connection(_) | Self::Timeout(_) | Self::Truncated(_) | Self::ContentType(_) => true,
            // The content network blocks with 403 for some seconds; 429 and 5xx pass by their nature.
            Self::Status { status, .. } => matches!(status, 403 | 408 | 429 | 500..=599),
            Self::Address(..) | Self::TooLarge(_) | Self::Redirect(_) => false,
        }
    }
}

/// What is known of the kept reply, for a conditional request.
#[derive(Debug, Clone, Default)]
pub struct Kept {
    /// Its `Last-Modified`.
    pub last_modified: Option<String>,
    /// Its `ETag`.
    pub etag: Option<String>,
}

/// Asks one service, one request at a time.
pub struct Asker {
    client: Client,
    limits: Limits,
    /// Set after an address was given up: the next ones are tried once only, so that a dead service costs one round of waits.
    given_up: bool,
}

/// The only place that builds a client: the TLS provider must be installed before.
///
/// # Errors
/// When the TLS roots of the system cannot be read.
fn client(user_agent: &str, limits: &Limits) -> Result<Client, HttpError> {
    // A second call finds the provider installed: that is no error.
    let _ = rustls::crypto::ring::default_provider().install_default();
    Client::builder()
        .user_agent(user_agent)
        .timeout(limits.timeout)
        .connect_timeout(limits.timeout.min(Duration::from_secs(10)))
        // Redirects are followed by hand, to count them and to stay at the service.
        .redirect(Policy::none())
        .build()
        .map_err(|error| HttpError::Connection(error.to_string()))
}

impl Asker {
    /// An asker that names itself with this user agent.
    ///
    /// # Errors
    /// When the client cannot be built.
    pub fn new(user_agent: &str, limits: Limits) -> Result<Self, HttpError> {
        Ok(Self {
            client: client(user_agent, &limits)?,
            limits,
            given_up: false,
        })
    }

    /// Gets a JSON document, with the tries and waits of the limits.
    ///
    /// # Errors
    /// The last try's error.
    pub fn get(&mut self, url: &str, kept: &Kept) -> Result<Reply, HttpError> {
        let tries = if self.given_up { 1 } else { self.limits.tries.max(1) };
        let mut wait = self.limits.first_wait;
        let mut attempt = 1;
        loop {
            let error = match self.once(url, kept) {
                Ok(reply) => return Ok(reply),
                Err(error) => error,
            };
            // A reply that never ends costs the whole time limit: it gets one more chance, not two.
            let tries = if matches!(error, HttpError::Timeout(_)) {
                tries.min(2)
            } else {
                tries
            };
            if !error.may_pass() || attempt >= tries {
                self.given_up |= error.may_pass();
                return Err(error);
            }
            let mut pause = wait + chance_of(wait / 2);
            if let HttpError::Status {
                retry_after_s: Some(asked),
                ..
            } = &error
            {
                let asked = Duration::from_secs(*asked);
                if asked > self.limits.longest_wait {
                    self.given_up = true;
                    return Err(error);
                }
                pause = pause.max(asked);
            }
            std::thread::sleep(pause);
            wait = (wait * 2).min(self.limits.longest_wait);
            attempt += 1;
        }
    }

    fn once(&self, url: &str, kept: &Kept) -> Result<Reply, HttpError> {
        let began = Instant::now();
        let mut place =
            Url::parse(url).map_err(|error| HttpError::Address(super::fetch::shown_service(url), error.to_string()))?;
        for _ in 0..=self.limits.max_redirects {
            let mut request = self
                .client
                .get(place.clone())
                .header(ACCEPT, "application/geo+json, application/json");
            if let Some(time) = &kept.last_modified {
                request = request.header(IF_MODIFIED_SINCE, time);
            }
            if let Some(tag) = &kept.etag {
                request = request.header(IF_NONE_MATCH, tag);
            }
            let response = request.send().map_err(|error| self.connection(&error))?;
            if !response.status().is_redirection() || response.status() == StatusCode::NOT_MODIFIED {
                return self.reply(response, began);
            }
            place = next_place(&place, response.headers())?;
        }
        Err(HttpError::Redirect(format!(
            "more than {} times",
            self.limits.max_redirects
        )))
    }

    fn connection(&self, error: &reqwest::Error) -> HttpError {
        if error.is_timeout() {
            return HttpError::Timeout(self.limits.timeout.as_secs());
        }
        // The innermost cause says it best: "Connection refused" and not "error sending request".
        let mut words = error.to_string();
        let mut cause = std::error::Error::source(error);
        while let Some(inner) = cause {
            words = inner.to_string();
            cause = inner.source();
        }
        HttpError::Connection(words)
    }

    fn reply(&self, response: Response, began: Instant) -> Result<Reply, HttpError> {
        let status = response.status();
        let headers = response.headers().clone();
        let text = |name| {
            headers
                .get(name)
                .and_then(|value| value.to_str().ok())
                .map(str::to_owned)
        };
        let date = text(DATE).and_then(|date| http_date(&date));
        if status == StatusCode::NOT_MODIFIED {
            return Ok(Reply::NotModified { date });
        }
        let kind = text(CONTENT_TYPE).unwrap_or_else(|| "of no stated type".into());
        let is_json = kind.split(';').next().is_some_and(|kind| kind.trim().ends_with("json"));
        if !status.is_success() {
            let retry_after_s = text(RETRY_AFTER).and_then(|asked| retry_after(&asked, date));
            let words = match self.body(response, began) {
                Ok(bytes) if is_json => problem_words(&bytes),
                _ if is_json => "an unreadable problem document".into(),
                _ => format!("a page of type {kind}"),
            };
            return Err(HttpError::Status {
                status: status.as_u16(),
                words,
                retry_after_s,
            });
        }
        if !is_json {
            return Err(HttpError::ContentType(kind));
        }
        let bytes = self.body(response, began)?;
        Ok(Reply::Body {
            bytes,
            last_modified: text(LAST_MODIFIED),
            etag: text(ETAG),
            max_age_s: text(CACHE_CONTROL).and_then(|value| max_age(&value)),
            date,
        })
    }

    /// The body, read in pieces so that size and time hold for what never ends and for what swells when decompressed.
    fn body(&self, mut response: Response, began: Instant) -> Result<Vec<u8>, HttpError> {
        let mut bytes = Vec::new();
        let mut piece = vec![0_u8; 64 * 1024];
        loop {
            if began.elapsed() > self.limits.timeout {
                return Err(HttpError::Timeout(self.limits.timeout.as_secs()));
            }
            let count = match response.read(&mut piece) {
                Ok(0) => return Ok(bytes),
                Ok(count) => count,
                Err(error) if error.kind() == std::io::ErrorKind::TimedOut || began.elapsed() > self.limits.timeout => {
                    return Err(HttpError::Timeout(self.limits.timeout.as_secs()));
                }
                Err(error) => return Err(HttpError::Truncated(error.to_string())),
            };
            bytes.extend_from_slice(piece.get(..count).unwrap_or_default());
            if bytes.len() as u64 > self.limits.max_bytes {
                return Err(HttpError::TooLarge(self.limits.max_bytes / 1024 / 1024));
            }
        }
    }
}

/// Where a redirect leads: relative to where it came from, and at the same service only.
fn next_place(from: &Url, headers: &HeaderMap) -> Result<Url, HttpError> {
    let location = headers
        .get(LOCATION)
        .and_then(|value| value.to_str().ok())
        .ok_or_else(|| HttpError::Redirect("without saying where".into()))?;
    let to = from
        .join(location)
        .map_err(|error| HttpError::Redirect(format!("to {location}: {error}")))?;
    let same = to.scheme() == from.scheme()
        && to.host_str() == from.host_str()
        && to.port_or_known_default() == from.port_or_known_default();
    if same {
        Ok(to)
    } else {
        Err(HttpError::Redirect(format!(
            "to another host, {}",
            to.host_str().unwrap_or("unknown")
        )))
    }
}

/// Title and detail of an RFC 7807 problem document.
fn problem_words(bytes: &[u8]) -> String {
    let value: serde_json::Value = serde_json::from_slice(bytes).unwrap_or_default();
    let text = |key: &str| {
        value
            .get(key)
            .and_then(serde_json::Value::as_str)
            .unwrap_or("")
            .to_owned()
    };
    let words = match (text("title"), text("detail")) {
        (title, detail) if title.is_empty() => detail,
        (title, detail) if detail.is_empty() || detail == title => title,
        (title, detail) => format!("{title}: {detail}"),
    };
    if words.is_empty() {
        "a problem without words".into()
    } else {
        words.chars().take(300).collect()
    }
}

/// A date as HTTP writes it.
fn http_date(text: &str) -> Option<DateTime<Utc>> {
    DateTime::parse_from_rfc2822(text).ok().map(|time| time.to_utc())
}

/// Seconds from `Retry-After`, a number or a date.
fn retry_after(text: &str, date: Option<DateTime<Utc>>) -> Option<u64> {
    text.trim().parse().ok().or_else(|| {
        let until = http_date(text)? - date?;
        u64::try_from(until.num_seconds()).ok()
    })
}

fn max_age(text: &str) -> Option<u64> {
    text.split(',')
        .find_map(|part| part.trim().strip_prefix("max-age=")?.parse().ok())
}

/// Up to `most`, by chance, so that many users do not come back at the same instant.
fn chance_of(most: Duration) -> Duration {
    let mut byte = [0_u8; 1];
    if getrandom::fill(&mut byte).is_err() {
        return most / 2;
    }
    most.mul_f64(f64::from(byte[0]) / 255.0)
}
