//! The config file to the config: all faults at once, each with its line.

use super::Config;
use crate::faults::{Fault, Faults, Severity};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::ops::Range;
use toml::de::{DeTable, DeValue};
use toml::{Deserializer, Spanned};

/// Faults told of one file; more would not be read (judgement).
const MOST_FAULTS: usize = 50;

/// `[columns]` and `[values]` of a config.
pub type Mapping = (BTreeMap<String, String>, BTreeMap<String, BTreeMap<String, String>>);

impl Config {
    /// What can be had of `[columns]` and `[values]` from a config that has faults elsewhere: one wrong key must not void the mapping,
    /// for then the list would be blamed for what it does not lack.
    pub fn mapping_of(text: &str) -> Mapping {
        let table: toml::Table = text.parse().unwrap_or_default();
        let strings = |value: &toml::Value| -> BTreeMap<String, String> {
            let entries = value.as_table().into_iter().flatten();
            entries
                .filter_map(|(key, value)| Some((key.clone(), value.as_str()?.to_owned())))
                .collect()
        };
        let columns = table.get("columns").map(strings).unwrap_or_default();
        let values = table
            .get("values")
            .and_then(toml::Value::as_table)
            .into_iter()
            .flatten();
        (
            columns,
            values.map(|(column, words)| (column.clone(), strings(words))).collect(),
        )
    }
    /// Reads a config; what it leaves out keeps its default.
    ///
    /// # Errors
    /// All faults together, each fatal and with its line: `BW-C01` not TOML, `BW-C02` a key that does not exist, `BW-C03` a value of the
    /// wrong kind, `BW-C04` a number that is not finite, `BW-C05` `[columns]` names no column, `BW-C06` an unknown time zone, `BW-C07` a number that cannot be,
    /// `BW-C09` numbers that contradict each other, `BW-C30` and `BW-C31` as [`crate::inventory::synonyms::Synonyms::new`] has them.
    pub fn from_toml(text: &str, file_name: &str) -> Result<Self, Faults> {
        Self::read(text, file_name).map(|(config, _)| config)
    }

    /// As [`Config::from_toml`], with what was used and is doubted: `BW-C08`.
    ///
    /// # Errors
    /// As [`Config::from_toml`].
    pub fn read(text: &str, file_name: &str) -> Result<(Self, Faults), Faults> {
        let reader = Reader { text, file_name };
        let mut faults = Faults::new();
        let (mut table, syntax) = DeTable::parse_recoverable(text);
        for error in syntax.iter().take(MOST_FAULTS) {
            faults.push(
                reader
                    .at(
                        Fault::new(
                            "BW-C01",
                            Severity::Fatal,
                            format!("this is not TOML: {}", error.message()),
                        ),
                        error.span(),
                    )
                    .remedy("Correct the line."),
            );
        }
        if !faults.0.is_empty() {
            return Err(faults);
        }
        reader.numbers(table.get_ref(), &mut faults);
        reader.ranges(table.get_ref(), &mut faults);
        // A reader of structures stops at the first fault: take it out and try again, so that all are told.
        let config = loop {
            match Config::deserialize(Deserializer::from(table.clone())) {
                Ok(config) => break config,
                Err(error) => {
                    faults.push(reader.wrong(&error));
                    let span = error.span().unwrap_or(0..0);
                    if faults.0.len() >= MOST_FAULTS || !take_out(table.get_mut(), &span) {
                        return Err(faults);
                    }
                }
            }
        };
        reader.columns(&config, &mut faults);
        reader.values(&config, &mut faults);
        reader.zone(&config, &mut faults);
        reader.relations(&config, table.get_ref(), &mut faults);
        if faults.is_fatal() {
            Err(faults)
        } else {
            Ok((config, faults))
        }
    }
}

pub(super) struct Reader<'t> {
    text: &'t str,
    file_name: &'t str,
}

impl Reader<'_> {
    fn line(&self, at: usize) -> u64 {
        1 + self.text.bytes().take(at).filter(|byte| *byte == b'\n').count() as u64
    }

    pub(super) fn at(&self, fault: Fault, span: Option<Range<usize>>) -> Fault {
        let fault = fault.file(self.file_name);
        match span {
            None => fault,
            Some(span) => {
                let value = self.text.get(span.clone()).unwrap_or("").trim();
                let fault = fault.line(self.line(span.start));
                if value.is_empty() { fault } else { fault.value(value) }
            }
        }
    }

    /// What serde says, in our words where it can be told apart.
    fn wrong(&self, error: &toml::de::Error) -> Fault {
        let message = error.message();
        let key = error.span().and_then(|span| self.text.get(span)).unwrap_or("").trim();
        if message.starts_with("unknown field") {
            let known: Vec<&str> = message.split('`').skip(3).step_by(2).collect();
            let near = known
                .iter()
                .map(|name| (strsim::jaro_winkler(name, key), *name))
                .filter(|(likeness, _)| *likeness > 0.8)
                .max_by(|a, b| a.0.total_cmp(&b.0));
            let remedy = near.map_or_else(
                || "Remove it, or look the key up.".to_owned(),
                |(_, name)| format!("Did you mean {name}?"),
            );
            self.at(
                Fault::new("BW-C02", Severity::Fatal, "there is no such key"),
                error.span(),
            )
            .expected(if known.is_empty() {
                "no keys here".to_owned()
            } else {
                known.join(", ")
            })
            .remedy(remedy)
        } else {
            self.at(
                Fault::new("BW-C03", Severity::Fatal, format!("this value does not fit: {message}")),
                error.span(),
            )
            .remedy("Correct the value.")
        }
    }

    /// TOML has `nan` and `inf`; no key of ours takes them.
    fn numbers(&self, table: &DeTable<'_>, faults: &mut Faults) {
        for value in table.values() {
            self.number(value, faults);
        }
    }

    fn number(&self, value: &Spanned<DeValue<'_>>, faults: &mut Faults) {
        match value.get_ref() {
            DeValue::Float(float) if !float.as_str().parse::<f64>().is_ok_and(f64::is_finite) => {
                faults.push(
                    self.at(
                        Fault::new("BW-C04", Severity::Fatal, "this number is not finite"),
                        Some(value.span()),
                    )
                    .expected("a plain number")
                    .remedy("Correct the value."),
                );
            }
            DeValue::Array(array) => array.iter().for_each(|item| self.number(item, faults)),
            DeValue::Table(table) => self.numbers(table, faults),
            _ => {}
        }
    }

    fn columns(&self, config: &Config, faults: &mut Faults) {
        let (_, told) = crate::inventory::columns::Names::new(&config.columns);
        self.mapping(told, faults);
    }

    fn values(&self, config: &Config, faults: &mut Faults) {
        let (_, told) = crate::inventory::synonyms::Synonyms::new(&config.values);
        self.mapping(told, faults);
    }

    fn mapping(&self, told: Faults, faults: &mut Faults) {
        for fault in told.0 {
            let line = fault.value.as_deref().and_then(|key| self.line_of_key(key));
            let fault = fault.file(self.file_name);
            faults.push(match line {
                Some(line) => fault.line(line),
                None => fault,
            });
        }
    }

    fn zone(&self, config: &Config, faults: &mut Faults) {
        if config.utility.zone.parse::<chrono_tz::Tz>().is_err() {
            let fault = Fault::new("BW-C06", Severity::Fatal, "this time zone is not known")
                .file(self.file_name)
                .column("utility.zone")
                .value(&config.utility.zone)
                .expected("a name such as America/Chicago or UTC")
                .remedy("Correct the name.");
            faults.push(match self.line_of_key("zone") {
                Some(line) => fault.line(line),
                None => fault,
            });
        }
    }

    fn line_of_key(&self, key: &str) -> Option<u64> {
        (1..).zip(self.text.lines()).find_map(|(number, line)| {
            let (left, _) = line.split_once('=')?;
            (left.trim().trim_matches(['"', '\'']) == key).then_some(number)
        })
    }
}

/// Takes the innermost entry out whose key or value covers the span; whether there was one.
fn take_out(table: &mut DeTable<'_>, span: &Range<usize>) -> bool {
    let covers = |outer: &Range<usize>| outer.start <= span.start && span.end <= outer.end;
    for (_, value) in table.iter_mut() {
        if let DeValue::Table(inner) = value.get_mut()
            && take_out(inner, span)
        {
            return true;
        }
    }
    let hit = table
        .iter()
        .find(|(key, value)| covers(&key.span()) || covers(&value.span()))
        .map(|(key, _)| key.clone());
    hit.is_some_and(|key| table.remove(&key).is_some())
}
