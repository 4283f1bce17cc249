//! Telephone numbers: read as people write them, checked by the rules of the North American
//! Numbering Plan, and kept with the text they came from.

use crate::text::Text;
use serde::Serialize;

/// A telephone number that can be dialled.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Phone {
    /// The number in the form of ITU-T E.164 `[itu-e164]`, such as `+12025550123`.
    pub e164: Text,
    /// Extension behind a switchboard, digits only.
    pub extension: Option<String>,
    /// The text as it was listed.
    pub raw: Text,
}

impl Phone {
    /// Whether the number is of the North American Numbering Plan.
    pub fn is_nanp(&self) -> bool {
        self.e164.len() == 12 && self.e164.starts_with("+1")
    }

    /// The number as people read it: `202-555-0123 ext. 4`.
    pub fn display(&self) -> String {
        let mut text = match (
            self.is_nanp(),
            self.e164.get(2..5),
            self.e164.get(5..8),
            self.e164.get(8..12),
        ) {
            (true, Some(area), Some(office), Some(line)) => format!("{area}-{office}-{line}"),
            _ => self.e164.to_string(),
        };
        if let Some(extension) = &self.extension {
            text.push_str(" ext. ");
            text.push_str(extension);
        }
        text
    }

    /// What makes two listings the same line: the number with its extension.
    pub fn key(&self) -> String {
        match &self.extension {
            Some(extension) => format!("{}x{extension}", self.e164),
            None => self.e164.to_string(),
        }
    }
}

/// Why a text is no number that can be dialled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, thiserror::Error)]
pub enum PhoneFault {
    /// Letters stand among the digits. A keypad could turn them into digits, but in a list they are more often a slip.
    #[error("letters stand among the digits")]
    Letters,
    /// Too few digits.
    #[error("too few digits")]
    TooShort,
    /// Seven digits and no area code is set in the config.
    #[error("seven digits without an area code")]
    NoAreaCode,
    /// Too many digits.
    #[error("too many digits")]
    TooLong,
    /// The area code starts with 0 or 1, or is a service code such as 911.
    #[error("the area code cannot exist")]
    AreaCode,
    /// The exchange starts with 0 or 1, or is a service code such as 411.
    #[error("the exchange cannot exist")]
    Exchange,
    /// All digits alike or in a row: a filler.
    #[error("a filler, not a number")]
    Filler,
    /// A sign that no number carries.
    #[error("a sign that no telephone number carries")]
    Sign,
    /// The cell says that the person is not to be called.
    #[error("the cell asks not to call")]
    Refused,
}

/// Words beside a number that say which of a person's numbers it is or who answers, in English and Spanish. Any other word makes the
/// number doubtful (`old`, `fax`, `disconnected`), and it is told and not dialled.
const LABELS: &[&str] = &[
    "c",
    "cell",
    "cellular",
    "mobile",
    "mob",
    "m",
    "h",
    "hm",
    "home",
    "house",
    "w",
    "wk",
    "work",
    "o",
    "office",
    "ofc",
    "off",
    "d",
    "day",
    "days",
    "daytime",
    "e",
    "eve",
    "evening",
    "evenings",
    "night",
    "nights",
    "main",
    "desk",
    "front",
    "direct",
    "landline",
    "tel",
    "telephone",
    "phone",
    "ph",
    "p",
    "t",
    "voice",
    "text",
    "sms",
    "primary",
    "secondary",
    "alt",
    "alternate",
    "alternative",
    "other",
    "emergency",
    "best",
    "preferred",
    "first",
    "second",
    "1st",
    "2nd",
    "tenant",
    "owner",
    "landlord",
    "manager",
    "mgr",
    "management",
    "super",
    "maintenance",
    "caretaker",
    "custodian",
    "gardener",
    "neighbor",
    "neighbour",
    "wife",
    "husband",
    "spouse",
    "son",
    "daughter",
    "mother",
    "father",
    "mom",
    "dad",
    "brother",
    "sister",
    "partner",
    "her",
    "his",
    "mrs",
    "mr",
    "ms",
    "cel",
    "celular",
    "móvil",
    "movil",
    "casa",
    "trabajo",
    "oficina",
    "teléfono",
    "telefono",
    "esposa",
    "esposo",
    "hijo",
    "hija",
    "madre",
    "padre",
    "hermano",
    "hermana",
    "dueño",
    "dueña",
    "encargado",
    "encargada",
    "vecino",
    "vecina",
];

/// Words in brackets after a number that make it doubtful; other words there are taken for a name.
const DOUBTS: &[&str] = &[
    "no",
    "not",
    "dont",
    "don't",
    "never",
    "old",
    "former",
    "ex",
    "wrong",
    "bad",
    "invalid",
    "disconnected",
    "dead",
    "deceased",
    "stop",
    "dnc",
    "fax",
    "pager",
    "moved",
    "sold",
    "after",
    "before",
    "until",
    "only",
    "unless",
    "viejo",
    "vieja",
    "antiguo",
    "equivocado",
    "desconectado",
    "nunca",
    "fallecido",
    "fallecida",
];

/// Phrases by which a cell asks not to call.
const REFUSALS: &[&str] = &[
    "do not call",
    "don't call",
    "dont call",
    "do not contact",
    "no calls",
    "never call",
    "dnc",
    "no llamar",
    "no contactar",
];

fn is_label(word: &str) -> bool {
    LABELS.contains(&word.trim_matches(['.', ':', ',', '-', '*']))
}

/// The text without the words that say which number it is: `201-555-0112 cell`, `C: 201-555-0112`, `201-555-0112 (wife)`.
fn without_labels(lower: &str) -> String {
    let mut text = String::with_capacity(lower.len());
    let mut rest = lower;
    while let Some((before, after)) = rest.split_once('(') {
        let Some((inside, behind)) = after.split_once(')') else {
            break;
        };
        text.push_str(before);
        let words: Vec<&str> = inside.split_whitespace().collect();
        let harmless = !words.is_empty()
            && words.len() <= 3
            && inside.chars().all(|c| c.is_alphabetic() || " .'-".contains(c))
            && !words.iter().any(|word| DOUBTS.contains(&word.trim_matches('.')));
        if harmless {
            text.push(' ');
        } else {
            text.push('(');
            text.push_str(inside);
            text.push(')');
        }
        rest = behind;
    }
    text.push_str(rest);
    // "cell:201…" stands without a blank.
    let spaced = text.replace(':', ": ");
    let kept: Vec<&str> = spaced.split_whitespace().filter(|word| !is_label(word)).collect();
    kept.join(" ")
}

/// What is wrong with an area code (`None`: nothing). NXX with N from 2 to 9, and not N11 `[nanp]`.
pub fn area_code_fault(code: &str) -> Option<PhoneFault> {
    let digits = code.as_bytes();
    let plausible = digits.len() == 3
        && digits.iter().all(u8::is_ascii_digit)
        && matches!(digits.first(), Some(b'2'..=b'9'))
        && !code.ends_with("11");
    (!plausible).then_some(PhoneFault::AreaCode)
}

/// Reads one number. `area_code` is put before seven digits; empty means that seven digits are a fault.
///
/// Accepted: any of `202-555-0123`, `(202) 555 0123`, `+1 202.555.0123`, `1-202-555-0123`, with an extension written `x12`,
/// `ext. 12`, `extension 12`, `#12` or `;ext=12` (RFC 3966 `[rfc-3966]`); and `+` with a country code other than 1,
/// which is only checked for its length (ITU-T E.164: at most 15 digits `[itu-e164]`). Words that say which number it is are passed
/// over: `202-555-0123 cell`, `H: 202-555-0123`, `202-555-0123 (wife)`.
///
/// # Errors
/// The first rule that the text breaks.
pub fn parse(text: &str, area_code: &str) -> Result<Phone, PhoneFault> {
    let raw = text.trim().to_owned();
    let lower = raw.to_lowercase();
    let lower = lower.strip_prefix("tel:").unwrap_or(&lower);
    let bare = if lower.contains(char::is_alphabetic) {
        without_labels(lower)
    } else {
        lower.to_owned()
    };
    let (number, extension) = split_extension(&bare)?;
    let international = number.trim_start().starts_with('+');
    let mut digits = String::new();
    for (position, sign) in number.trim().chars().enumerate() {
        match sign {
            '0'..='9' => digits.push(sign),
            '+' if position == 0 => {}
            ' ' | '-' | '.' | '(' | ')' | '/' | '\u{a0}' | '\u{2010}'..='\u{2014}' => {}
            sign if sign.is_alphabetic() => return Err(PhoneFault::Letters),
            _ => return Err(PhoneFault::Sign),
        }
    }
    if international && !digits.starts_with('1') {
        return match digits.len() {
            0..8 => Err(PhoneFault::TooShort),
            8..=15 if digits.starts_with('0') => Err(PhoneFault::AreaCode),
            8..=15 => Ok(Phone {
                e164: format!("+{digits}").into(),
                extension,
                raw: raw.into(),
            }),
            _ => Err(PhoneFault::TooLong),
        };
    }
    let national = match (digits.len(), digits.strip_prefix('1')) {
        (11, Some(rest)) => rest.to_owned(),
        (10, _) => digits,
        (7, _) if area_code.is_empty() => return Err(PhoneFault::NoAreaCode),
        (7, _) => format!("{area_code}{digits}"),
        (0..10, _) => return Err(PhoneFault::TooShort),
        _ => return Err(PhoneFault::TooLong),
    };
    if is_filler(&national) {
        return Err(PhoneFault::Filler);
    }
    let (area, rest) = national.split_at(3);
    if let Some(fault) = area_code_fault(area) {
        return Err(fault);
    }
    let exchange = &rest[..3];
    if matches!(exchange.as_bytes().first(), Some(b'0' | b'1')) || exchange.ends_with("11") {
        return Err(PhoneFault::Exchange);
    }
    Ok(Phone {
        e164: format!("+1{national}").into(),
        extension,
        raw: raw.into(),
    })
}

/// Reads a cell that may hold several numbers, parted by `;`, `,`, `/`, `&`, `or` or by the words that say which is which.
pub fn parse_all(cell: &str, area_code: &str) -> Vec<Result<Phone, (String, PhoneFault)>> {
    let lower = cell.to_lowercase().replace('’', "'");
    if REFUSALS.iter().any(|phrase| has_phrase(&lower, phrase)) {
        return vec![Err((cell.trim().to_owned(), PhoneFault::Refused))];
    }
    // A slash also stands inside one number (202/555-0123): if the whole cell reads as one number it is one.
    if let Ok(one) = parse(cell, area_code) {
        return vec![Ok(one)];
    }
    let guarded = cell
        .replace(";ext=", " ext ")
        .replace(" or ", ";")
        .replace(" and ", ";");
    let pieces: Vec<&str> = guarded
        .split([';', ',', '/', '&', '\n', '|'])
        .map(str::trim)
        .filter(|piece| !piece.is_empty())
        // Of "cell/home: 202-555-0123" the word alone is no number and no fault.
        .filter(|piece| !piece.to_lowercase().split_whitespace().all(is_label))
        .collect();
    pieces
        .into_iter()
        .flat_map(|piece| match parse(piece, area_code) {
            Err(PhoneFault::TooLong) => parted_by_labels(piece, area_code),
            read => vec![read.map_err(|fault| (piece.to_owned(), fault))],
        })
        .collect()
}

/// `202-555-0123 cell 202-555-0124 home`: numbers with nothing but words between them.
fn parted_by_labels(piece: &str, area_code: &str) -> Vec<Result<Phone, (String, PhoneFault)>> {
    let mut parts = vec![String::new()];
    for word in piece.replace(':', ": ").split_whitespace() {
        if is_label(&word.to_lowercase()) {
            parts.push(String::new());
        } else if let Some(last) = parts.last_mut() {
            last.push(' ');
            last.push_str(word);
        }
    }
    let read: Result<Vec<Phone>, PhoneFault> = parts
        .iter()
        .filter(|part| !part.is_empty())
        .map(|part| parse(part, area_code))
        .collect();
    match read {
        Ok(phones) => phones.into_iter().map(Ok).collect(),
        Err(_) => vec![Err((piece.to_owned(), PhoneFault::TooLong))],
    }
}

/// Whether the words of a phrase stand in a text as words.
fn has_phrase(text: &str, phrase: &str) -> bool {
    text.match_indices(phrase).any(|(at, _)| {
        let before = text.get(..at).and_then(|text| text.chars().next_back());
        let after = text.get(at + phrase.len()..).and_then(|text| text.chars().next());
        !before.is_some_and(char::is_alphanumeric) && !after.is_some_and(char::is_alphanumeric)
    })
}

/// Cuts the extension off, if one is written.
fn split_extension(text: &str) -> Result<(&str, Option<String>), PhoneFault> {
    const MARKS: [&str; 6] = [";ext=", "extension", "ext.", "ext", "x", "#"];
    for mark in MARKS {
        if let Some((number, extension)) = text.split_once(mark) {
            let extension: String = extension
                .chars()
                .filter(|sign| !matches!(sign, ' ' | '.' | ':'))
                .collect();
            if extension.is_empty() || !extension.bytes().all(|byte| byte.is_ascii_digit()) {
                return Err(PhoneFault::Letters);
            }
            if extension.len() > 8 {
                return Err(PhoneFault::TooLong);
            }
            return Ok((number, Some(extension)));
        }
    }
    Ok((text, None))
}

/// All ten digits alike, or counting up or down.
fn is_filler(national: &str) -> bool {
    let digits = national.as_bytes();
    let steps: Vec<i16> = digits
        .windows(2)
        .map(|pair| i16::from(pair[1]) - i16::from(pair[0]))
        .collect();
    let all = |step: i16| steps.iter().all(|&s| s == step);
    all(0) || national == "1234567890" || national == "0123456789" || all(-1)
}
