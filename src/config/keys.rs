//! Every key of the config with its unit, its ranges and its meaning: the one table that the reader checks by and
//! `brimwater config` prints.

mod freeze;
mod front;
mod outreach;
mod ranking;
mod season;
mod watch;

use super::Config;
use serde_json::Value;

/// One key. A `*` in its path stands for any name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Key {
    /// Path from the top, such as `freeze.step_s`.
    pub path: &'static str,
    /// Unit of a number, or what kind of value is wanted.
    pub unit: &'static str,
    /// Ranges; none where the value is no number.
    pub range: Option<Ranges>,
    /// What it does, in a sentence.
    pub meaning: &'static str,
}

/// What a number may be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranges {
    /// Outside these ends the run is refused.
    pub possible: [f64; 2],
    /// Outside these ends it is told and used.
    pub plausible: [f64; 2],
}

const fn number(
    path: &'static str,
    unit: &'static str,
    possible: [f64; 2],
    plausible: [f64; 2],
    meaning: &'static str,
) -> Key {
    Key {
        path,
        unit,
        range: Some(Ranges { possible, plausible }),
        meaning,
    }
}

const fn words(path: &'static str, kind: &'static str, meaning: &'static str) -> Key {
    Key {
        path,
        unit: kind,
        range: None,
        meaning,
    }
}

impl Key {
    /// Whether this row is about the path.
    pub fn covers(&self, path: &[&str]) -> bool {
        let mut own = self.path.split('.');
        path.iter()
            .all(|part| own.next().is_some_and(|wanted| wanted == "*" || wanted == *part))
            && own.next().is_none()
    }

    /// The default as TOML writes it; empty where the key has none.
    pub fn default_text(&self, defaults: &Value) -> String {
        let found = self.path.split('.').try_fold(defaults, |value, part| value.get(part));
        match found {
            None | Some(Value::Null) => String::new(),
            // Twenty-four numbers of a day are told once where they are alike.
            Some(Value::Array(items)) => {
                let items: Vec<String> = items.iter().map(ToString::to_string).collect();
                format!("[{}]", items.join(", "))
            }
            Some(value) => value.to_string(),
        }
    }
}

/// All keys, section by section.
pub fn all() -> impl Iterator<Item = &'static Key> {
    [
        front::KEYS,
        freeze::KEYS,
        ranking::KEYS,
        outreach::KEYS,
        watch::KEYS,
        season::KEYS,
    ]
    .into_iter()
    .flatten()
    .chain(season::MEASURES.iter().flatten())
}

/// The row of a path.
pub fn of(path: &[&str]) -> Option<&'static Key> {
    all().find(|key| key.covers(path))
}

/// The config's defaults by path.
pub fn defaults() -> Value {
    serde_json::to_value(Config::default()).unwrap_or(Value::Null)
}
