//! The words of the pages in both languages, and times as the pages tell them.
//!
//! The words stand in `words.toml` beside this file, one line each, so that whoever mends a wording needs no Rust.

use crate::language::Language;
use chrono::{DateTime, Datelike, TimeZone, Utc};
use std::collections::HashMap;
use std::sync::LazyLock;

static WORDS: LazyLock<HashMap<String, [String; 2]>> =
    LazyLock::new(|| toml::from_str(include_str!("words.toml")).unwrap_or_default());

/// A word by its key; the key itself when it is not known, which a test keeps from happening.
pub fn word(key: &str, language: Language) -> &str {
    known(key, language).unwrap_or(key)
}

/// A word by its key, where there is one.
pub fn known(key: &str, language: Language) -> Option<&'static str> {
    let [english, spanish] = WORDS.get(key)?;
    Some(language.pick(english.as_str(), spanish.as_str()))
}

/// A sentence with a capital at its head.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// Keys with their words in both languages, in no order.
pub fn all() -> impl Iterator<Item = (&'static str, [&'static str; 2])> {
    WORDS
        .iter()
        .map(|(key, [english, spanish])| (key.as_str(), [english.as_str(), spanish.as_str()]))
}

/// A moment as a note tells it: `Jan 5, 3:40 PM`, `5 ene, 3:40 PM`.
pub fn on<Z: TimeZone>(at: DateTime<Utc>, zone: &Z, language: Language) -> String
where
    Z::Offset: std::fmt::Display,
{
    let local = at.with_timezone(zone);
    format!("{}, {}", language.date(&local), local.format("%-I:%M %p"))
}

/// A moment of these days: `Fri 3:40 PM`, `vie 3:40 PM`.
pub fn day_and_time<Z: TimeZone>(at: DateTime<Utc>, zone: &Z, language: Language) -> String
where
    Z::Offset: std::fmt::Display,
{
    let local = at.with_timezone(zone);
    format!("{} {}", language.day_short(local.weekday()), local.format("%-I:%M %p"))
}
