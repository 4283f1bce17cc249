//! What to say: templates for every channel, case and language.
//!
//! The defaults are built in. A folder may replace any of them by a file of the same name; a replacement that uses an unknown
//! name, breaks a rule of safety or does not fit a text message is told and the built-in one is used.

use super::case::Case;
use super::config::{AdviceConfig, OutreachConfig};
pub use super::forbidden::forbidden;
use super::gsm7;
use super::readability;
use super::templates::{BUILT_IN, environment, tidy};
use super::words;
use crate::config::Utility;
use crate::faults::{Fault, Faults, Severity};
use crate::inventory::Language;
use minijinja::{Environment, context};
use serde::Serialize;
use std::collections::BTreeMap;

/// The kinds of message.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Text message.
    Text,
    /// What a caller says.
    Call,
    /// E-mail; the first line is the subject.
    Email,
    /// Letter.
    Letter,
    /// Door hanger.
    Hanger,
    /// Text message once it thaws.
    ThawText,
    /// E-mail once it thaws; the first line is the subject.
    Thaw,
    /// The steps alone, with their caution: for lists and the phone desk.
    Steps,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Kind; 8] = [
        Kind::Text,
        Kind::Call,
        Kind::Email,
        Kind::Letter,
        Kind::Hanger,
        Kind::ThawText,
        Kind::Thaw,
        Kind::Steps,
    ];
}

/// One assembly as a message lists it.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Item {
    /// Identifier.
    pub id: String,
    /// What it is: size and kind.
    pub what: String,
    /// Street address, or empty.
    pub address: String,
}

/// What a message is about. Every name in a template is one of these fields or one of the utility's (`utility`, `sender`, `phone`,
/// `emergency_phone`, `advice`, `warm_enough`, `heading`).
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct About {
    /// Name of the person, or empty.
    pub name: String,
    /// Street address of the only assembly, or empty.
    pub address: String,
    /// Assemblies at risk.
    pub count: usize,
    /// Wording cases, distinct, fire first.
    pub cases: Vec<&'static str>,
    /// Whether all of them were seen with ice already.
    pub iced: bool,
    /// When ice is likely, such as `Friday night`.
    pub when: String,
    /// By when to act, such as `3 pm on Friday`, or empty.
    pub by: String,
    /// Lowest air expected, such as `19 °F`, or empty.
    pub low: String,
    /// Whether it gets colder than a light freeze.
    pub hard: bool,
    /// The assemblies, the most at risk first; e-mails list them.
    pub list: Vec<Item>,
}

/// The templates, ready to use.
pub struct Messages {
    environment: Environment<'static>,
    utility: Utility,
    sender: String,
    advice: AdviceConfig,
    warm_enough: &'static str,
}

impl std::fmt::Debug for Messages {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Messages")
            .field("sender", &self.sender)
            .finish_non_exhaustive()
    }
}

impl Messages {
    /// The built-in templates with those of `replacements` (`en/text_fire.txt` and its text) in their place.
    ///
    /// A replacement is set aside, with a fault, when its name is unknown, when it does not parse or uses a name that no
    /// message has, when a text does not fit 160 GSM-7 characters, or when it says what must never be said. `si` turns
    /// temperatures into °C.
    pub fn new(
        utility: &Utility,
        config: &OutreachConfig,
        replacements: &BTreeMap<String, String>,
        si: bool,
    ) -> (Messages, Faults) {
        let mut faults = Faults::new();
        let sender = if config.text_sender.trim().is_empty() {
            &utility.name
        } else {
            &config.text_sender
        };
        let mut messages = Messages {
            environment: environment(BUILT_IN.iter().map(|(name, text)| (*name, *text))),
            utility: utility.clone(),
            sender: sender.trim().to_owned(),
            advice: config.advice.clone(),
            warm_enough: if si { "4 °C" } else { "40 °F" },
        };
        let mut accepted: BTreeMap<&str, &str> = BUILT_IN.iter().copied().collect();
        for (name, text) in replacements {
            let Some(place) = BUILT_IN.iter().map(|(known, _)| *known).find(|known| known == name) else {
                faults.push(
                    Fault::new(
                        "BW-P72",
                        Severity::Warning,
                        "no message has this name; the file was not used",
                    )
                    .file(name)
                    .expected("one of the built-in names, such as en/text_irrigation.txt")
                    .remedy("Rename the file, or move it out of the templates folder."),
                );
                continue;
            };
            let mut trial = accepted.clone();
            trial.insert(place, text);
            let before = std::mem::replace(
                &mut messages.environment,
                environment(trial.iter().map(|(name, text)| (*name, *text))),
            );
            match messages.try_all(place) {
                Ok(()) => {
                    accepted.insert(place, text);
                }
                Err(fault) => {
                    messages.environment = before;
                    faults.push(fault.file(name));
                }
            }
        }
        for language in Language::ALL {
            if let Some(fault) = messages.too_long(*language) {
                faults.push(fault);
            }
        }
        (messages, faults)
    }

    /// The built-in templates alone.
    pub fn built_in(utility: &Utility, config: &OutreachConfig) -> Messages {
        Messages::new(utility, config, &BTreeMap::new(), false).0
    }

    /// Renders one message.
    ///
    /// Texts come back inside the GSM 7-bit alphabet.
    ///
    /// # Errors
    /// `BW-P71` when a template fails; the built-in ones do not.
    pub fn render(&self, kind: Kind, language: Language, about: &About) -> Result<String, Fault> {
        let text = self.raw(&name(kind, language, about), language, about)?;
        Ok(match kind {
            Kind::Text | Kind::ThawText => gsm7::fold(&tidy(&text)).replace('\n', " "),
            _ => tidy(&text),
        })
    }

    /// Subject and body of an e-mail.
    ///
    /// # Errors
    /// As [`Messages::render`].
    pub fn email(&self, kind: Kind, language: Language, about: &About) -> Result<(String, String), Fault> {
        let text = self.render(kind, language, about)?;
        let (first, rest) = text.split_once('\n').unwrap_or((&text, ""));
        let subject = first.strip_prefix("Subject:").map_or(first, str::trim);
        Ok((subject.trim().to_owned(), rest.trim_start().to_owned()))
    }

    fn raw(&self, name: &str, language: Language, about: &About) -> Result<String, Fault> {
        let failed = |error: minijinja::Error| {
            Fault::new("BW-P71", Severity::Rejected, format!("the message template fails: {error:#}"))
                .line(error.line().unwrap_or_default() as u64)
                .expected(
                    "the names utility, sender, phone, emergency_phone, name, address, count, cases, iced, when, by, low, hard, list, advice, \
                     warm_enough and heading",
                )
                .remedy("Correct the template; the built-in one was used.")
        };
        let heading: BTreeMap<&str, &str> = Case::ALL
            .iter()
            .map(|case| (case.word(), words::case_heading(*case, language)))
            .collect();
        let template = self.environment.get_template(name).map_err(failed)?;
        template
            .render(context! {
                utility => self.utility.name.as_str(),
                sender => self.sender.as_str(),
                phone => self.utility.phone.as_str(),
                emergency_phone => self.utility.emergency_phone.as_str(),
                advice => minijinja::Value::from(minijinja::value::Serde(&self.advice)),
                warm_enough => self.warm_enough,
                heading => heading,
                ..minijinja::Value::from(minijinja::value::Serde(about))
            })
            .map_err(failed)
    }

    /// Renders everything that a replaced file can reach, and checks what came out.
    fn try_all(&self, place: &str) -> Result<(), Fault> {
        let language = if place.starts_with("es/") {
            Language::Spanish
        } else {
            Language::English
        };
        for about in samples(language) {
            for kind in Kind::ALL {
                let text = self.render(kind, language, &about)?;
                if let Some(phrase) = forbidden(&text) {
                    return Err(Fault::new(
                        "BW-P74",
                        Severity::Rejected,
                        "the message says what must never be said; the built-in one was used",
                    )
                    .value(&phrase)
                    .expected("no word to plug or cap a relief, use flame, shut a fire line or lower a heater")
                    .remedy("Take the sentence out, or turn it into a warning."));
                }
                if matches!(kind, Kind::Text | Kind::ThawText)
                    && place.contains("text_")
                    && name(kind, language, &about) == place
                {
                    self.fits(&text)?;
                }
            }
        }
        Ok(())
    }

    fn fits(&self, text: &str) -> Result<(), Fault> {
        match gsm7::septets(text) {
            Ok(length) if length <= gsm7::LIMIT => Ok(()),
            Ok(length) => Err(Fault::new(
                "BW-P73",
                Severity::Rejected,
                format!("the text message takes {length} characters"),
            )
            .value(text)
            .expected(format!("at most {} GSM-7 characters", gsm7::LIMIT))
            .remedy("Shorten it, or set a shorter `outreach.text_sender`.")),
            Err(sign) => Err(Fault::new(
                "BW-P73",
                Severity::Rejected,
                format!("the text message holds {sign:?}, which halves what a message can hold"),
            )
            .expected("signs of the GSM-7 alphabet")
            .remedy("Write it another way.")),
        }
    }

    /// Whether the utility's own name and number make some text too long.
    fn too_long(&self, language: Language) -> Option<Fault> {
        let mut worst = (0, String::new());
        for about in samples(language) {
            for kind in [Kind::Text, Kind::ThawText] {
                if let Ok(text) = self.render(kind, language, &about)
                    && let Ok(length) = gsm7::septets(&text)
                    && length > worst.0
                {
                    worst = (length, text);
                }
            }
        }
        (worst.0 > gsm7::LIMIT).then(|| {
            Fault::new(
                "BW-P73",
                Severity::Warning,
                format!(
                    "with this sender and number a text message takes {} characters",
                    worst.0
                ),
            )
            .column("outreach.text_sender")
            .value(&self.sender)
            .expected(format!("at most {} characters in the whole message", gsm7::LIMIT))
            .remedy("Set a shorter `outreach.text_sender`; such a message is sent as two.")
        })
    }
}

/// Which template a message starts from.
fn name(kind: Kind, language: Language, about: &About) -> String {
    let folder = language.word();
    let file = match kind {
        Kind::Text if about.iced && about.cases != [Case::FireIced.word()] => "text_iced".to_owned(),
        Kind::Text if about.count > 1 || about.cases.len() > 1 => "text_several".to_owned(),
        Kind::Text => format!("text_{}", about.cases.first().copied().unwrap_or(Case::Domestic.word())),
        Kind::Call => "call".to_owned(),
        Kind::Email => "email".to_owned(),
        Kind::Letter => "letter".to_owned(),
        Kind::Hanger => "hanger".to_owned(),
        Kind::ThawText => "text_thaw".to_owned(),
        Kind::Thaw => "thaw".to_owned(),
        Kind::Steps => "steps".to_owned(),
    };
    format!("{folder}/{file}.txt")
}

/// Samples that reach every template: each case alone, and all at once.
pub fn samples(language: Language) -> Vec<About> {
    let sample = |cases: Vec<&'static str>| About {
        name: "Ana Example".into(),
        address: "12 Example Street".into(),
        count: cases.len(),
        iced: cases
            .iter()
            .all(|case| [Case::Iced.word(), Case::FireIced.word()].contains(case)),
        cases,
        when: words::longest_when(language).to_owned(),
        by: words::by_sample(language).to_owned(),
        low: "19 °F".into(),
        hard: true,
        list: vec![Item {
            id: "A-1".into(),
            what: "1 in".into(),
            address: "12 Example Street".into(),
        }],
    };
    let mut all: Vec<About> = Case::ALL.iter().map(|case| sample(vec![case.word()])).collect();
    all.push(sample(Case::ALL.iter().map(|case| case.word()).collect()));
    for case in [Case::Irrigation, Case::Iced] {
        let mut many = sample(vec![case.word()]);
        many.count = 200;
        all.push(many);
    }
    all.push(sample(vec![Case::FireIced.word(), Case::Iced.word()]));
    all
}

/// Reading ease of a message: the English grade (lower is easier) or the Spanish index (higher is easier).
pub fn ease(text: &str, language: Language) -> Option<f64> {
    match language {
        Language::English => {
            readability::flesch_kincaid_grade(readability::count(text, readability::english_syllables))
        }
        Language::Spanish => readability::fernandez_huerta(readability::count(text, readability::spanish_syllables)),
    }
}
