//! Words by mail: the programme's own server, one message for each address, so that one bad address keeps nobody else uninformed.
//!
//! A message that was put off, refused or cut off is sent again with the next run under the same `Message-ID`, so that a server which did take it
//! before the line broke can tell that it is the same (RFC 5321, section 4.2.5: without an answer to the end of the data it counts as not taken).

use super::config::WatchConfig;
use super::decide::Word;
use super::tell::secret_from;
use crate::faults::{Fault, Faults, Severity};
use lettre::message::header::{ContentType, HeaderName, HeaderValue};
use lettre::message::{Attachment, Mailbox, MultiPart, SinglePart};
use lettre::transport::smtp::authentication::Credentials;
use lettre::transport::smtp::client::{Tls, TlsParameters};
use lettre::{Message, SmtpTransport, Transport};
use reqwest::Url;
use std::path::Path;
use std::time::{Duration, SystemTime};

/// The environment's name of the password at the mail server.
pub const SECRET: &str = "BRIMWATER_MAIL_SECRET";
/// Longest wait for each answer of the server, s (judgement: RFC 5321 allows minutes, and a webhook and a record wait behind it).
const ANSWER_S: u64 = 20;

/// The mail of a watch, ready to send.
pub struct Post {
    transport: SmtpTransport,
    host: String,
    from: Mailbox,
    to: Vec<Mailbox>,
    secret: String,
}

/// Why a message was not taken.
pub struct Refused {
    /// `BW-W15`, a warning.
    pub fault: Fault,
    /// Whether the server answered: one that does not costs a wait each time.
    pub answered: bool,
}

fn unusable(column: &str, value: &str, expected: &str) -> Fault {
    Fault::new("BW-W14", Severity::Fatal, "mail cannot be sent with this")
        .column(column)
        .value(value)
        .expected(expected)
        .remedy("Change it in the section [watch] of the config.")
}

/// Scheme, host and port of a mail server, and how the line is kept secret.
fn server(text: &str) -> Result<(String, u16, Tls), Fault> {
    // The text may hold a password that does not belong there: it is not repeated.
    let wrong = || {
        unusable(
            "watch.smtp",
            "",
            "smtps://host:465, or smtp://host:587 where the server offers STARTTLS; no name and no password in it (watch.mail_user, watch.mail_secret_file)",
        )
    };
    let url = Url::parse(text).map_err(|_| wrong())?;
    let bare = url.username().is_empty()
        && url.password().is_none()
        && matches!(url.path(), "" | "/")
        && url.query().is_none()
        && url.fragment().is_none();
    let host = url
        .host_str()
        .filter(|host| bare && !host.is_empty())
        .ok_or_else(wrong)?;
    let here = matches!(host, "127.0.0.1" | "localhost" | "[::1]");
    let name = host.trim_matches(['[', ']']).to_owned();
    let sealed = || {
        let _ = rustls::crypto::ring::default_provider().install_default();
        TlsParameters::new_rustls(name.clone()).map_err(|_| wrong())
    };
    let (port, tls) = match url.scheme() {
        "smtps" => (465, Tls::Wrapper(sealed()?)),
        // To a server on this computer nobody listens in; to any other one STARTTLS is no wish but a condition.
        "smtp" if here => (25, Tls::None),
        "smtp" => (587, Tls::Required(sealed()?)),
        _ => return Err(wrong()),
    };
    Ok((name, url.port().unwrap_or(port), tls))
}

impl Post {
    /// Reads the mail of the config; `beside` is the config's folder. None when there is no `smtp`.
    ///
    /// # Errors
    /// `BW-W14` (fatal) server or addresses cannot be used, `BW-W13` (fatal) the password is missing or others may read it; all at once.
    pub fn open(rules: &WatchConfig, beside: &Path) -> Result<Option<Self>, Faults> {
        if rules.smtp.is_empty() {
            return Ok(None);
        }
        let mut faults = Faults::new();
        let mut box_of = |column: &str, text: &str| match text.parse::<Mailbox>() {
            Ok(found) => Some(found),
            // What is not named at all is told by the check of the config.
            Err(_) if text.is_empty() => None,
            Err(_) => {
                faults.push(unusable(column, text, "a mail address, as in water@example.com"));
                None
            }
        };
        let from = box_of("watch.mail_from", &rules.mail_from);
        let mut to: Vec<Mailbox> = Vec::new();
        for text in &rules.mail_to {
            // Named twice is told once.
            if let Some(found) = box_of("watch.mail_to", text)
                && to.iter().all(|one| one.email != found.email)
            {
                to.push(found);
            }
        }
        let place = server(&rules.smtp).map_err(|fault| faults.push(fault)).ok();
        let mut secret = String::new();
        if !rules.mail_user.is_empty() {
            let file = (!rules.mail_secret_file.is_empty()).then(|| beside.join(&rules.mail_secret_file));
            let found = secret_from(
                file.as_deref(),
                SECRET,
                "BW-W13",
                "the mail server's password",
                "watch.mail_secret_file",
            );
            match found.map(String::from_utf8) {
                Ok(Ok(text)) => secret = text,
                Ok(Err(_)) => faults.push(unusable("watch.mail_secret_file", "", "a password in UTF-8")),
                Err(fault) => faults.push(fault),
            }
        }
        let (Some(from), Some((host, port, tls)), false) = (from, place, faults.is_fatal()) else {
            return Err(faults);
        };
        let mut builder = SmtpTransport::builder_dangerous(&host)
            .port(port)
            .tls(tls)
            .timeout(Some(Duration::from_secs(ANSWER_S)));
        if !rules.mail_user.is_empty() {
            builder = builder.credentials(Credentials::new(rules.mail_user.clone(), secret.clone()));
        }
        Ok(Some(Self {
            transport: builder.build(),
            host,
            from,
            to,
            secret,
        }))
    }

    /// Those who get each word.
    pub fn addresses(&self) -> Vec<String> {
        self.to.iter().map(|one| one.email.to_string()).collect()
    }

    /// Sends a word to one of the addresses: subject, text, and the JSON document as a second part.
    ///
    /// # Errors
    /// When the server did not take it.
    pub fn send(&self, word: &Word, address: &str, mail: &Letter) -> Result<(), Refused> {
        let refused = |why: &str, answered| {
            // A server that repeats what it was sent must not bring the password into a log.
            let why = if !self.secret.is_empty() && why.contains(&self.secret) {
                "its words are left out"
            } else {
                why
            };
            let why: String = why.chars().filter(|sign| !sign.is_control()).take(200).collect();
            Refused {
                fault: Fault::new(
                    "BW-W15",
                    Severity::Warning,
                    format!("the mail to {address} was not taken by {}: {why}", self.host),
                )
                .remedy("It is sent again with the next run. If it is refused for ever, look at watch.mail_to and watch.smtp."),
                answered,
            }
        };
        let message = self
            .message(word, address, mail)
            .map_err(|error| refused(&error.to_string(), true))?;
        match self.transport.send(&message) {
            Ok(_) => Ok(()),
            Err(error) => Err(refused(&error.to_string(), error.status().is_some())),
        }
    }

    fn message(&self, word: &Word, address: &str, mail: &Letter) -> Result<Message, lettre::error::Error> {
        let mut builder = Message::builder()
            .from(self.from.clone())
            .date(SystemTime::from(word.time))
            // Number and time of the word make it the same at each try, and another one after a memory that was lost.
            .message_id(Some(format!(
                "<{}.{}@{}>",
                word.id,
                word.time.timestamp_millis(),
                self.from.email.domain()
            )))
            .subject(mail.subject.clone())
            // RFC 3834: absent people's machines do not answer it.
            .raw_header(HeaderValue::new(
                HeaderName::new_from_ascii_str("Auto-Submitted"),
                "auto-generated".into(),
            ));
        for one in self.to.iter().filter(|one| one.email.to_string() == address) {
            builder = builder.to(one.clone());
        }
        let json = ContentType::parse("application/json").unwrap_or(ContentType::TEXT_PLAIN);
        builder.multipart(
            MultiPart::mixed()
                .singlepart(SinglePart::plain(mail.text.clone()))
                .singlepart(Attachment::new("word.json".into()).body(mail.document.clone(), json)),
        )
    }
}

/// What a message says.
pub struct Letter {
    /// Its subject.
    pub subject: String,
    /// Its text.
    pub text: String,
    /// The word's JSON document.
    pub document: String,
}
