//! `[values]` of the config: what a utility writes in a cell, and the word of ours that it means.

use super::columns::{Column, nearest, normal};
use super::dates;
use super::parse;
use crate::faults::{Fault, Faults, Severity};
use std::collections::{BTreeMap, HashMap};

/// A utility's own words for cells, column by column.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Synonyms {
    by_column: BTreeMap<Column, HashMap<String, String>>,
}

/// A cell in the form in which it is looked up: small letters, marks as one underscore; a cell of nothing but marks stays as it is.
fn key(cell: &str) -> String {
    let plain = normal(cell);
    if plain.is_empty() {
        cell.trim().to_owned()
    } else {
        plain
    }
}

impl Synonyms {
    /// From `[values]`: column, then theirs on the left, ours on the right; ours may be empty for "not told".
    ///
    /// Faults, both fatal: `BW-C30` a column that does not exist, `BW-C31` a word on the right that the column does not take.
    pub fn new(own: &BTreeMap<String, BTreeMap<String, String>>) -> (Self, Faults) {
        let mut faults = Faults::new();
        let mut out = Self::default();
        for (name, words) in own {
            let Some(column) = Column::named(name) else {
                let near = nearest(name).map_or_else(String::new, |near| format!(" Did you mean [values.{near}]?"));
                faults.push(
                    Fault::new(
                        "BW-C30",
                        Severity::Fatal,
                        "the config gives values of a column that does not exist",
                    )
                    .column("values")
                    .value(name)
                    .expected(Column::names())
                    .remedy(format!("Correct the name.{near}")),
                );
                continue;
            };
            for (theirs, ours) in words {
                if !ours.trim().is_empty() && read(column, ours).is_none() {
                    faults.push(
                        Fault::new(
                            "BW-C31",
                            Severity::Fatal,
                            "the config gives a value that the column does not take",
                        )
                        .column(format!("values.{name}"))
                        .value(ours)
                        .expected(expected(column, ours))
                        .remedy(format!("Correct what stands right of \"{theirs}\".")),
                    );
                    continue;
                }
                out.by_column
                    .entry(column)
                    .or_default()
                    .insert(key(theirs), ours.trim().to_owned());
            }
        }
        (out, faults)
    }

    /// Our word for a cell, when the config has one.
    pub fn ours(&self, column: Column, cell: &str) -> Option<&str> {
        let words = self.by_column.get(&column)?;
        words.get(&key(cell)).map(String::as_str)
    }
}

/// What a cell of a column is read as, in the words of the interface; `None` where it cannot be read. Blank cells are read as empty.
/// Columns of free text read everything.
pub fn read(column: Column, cell: &str) -> Option<String> {
    fn told<T>(read: Result<Option<T>, parse::Unread>, word: impl Fn(T) -> String) -> Option<String> {
        read.ok().map(|value| value.map(word).unwrap_or_default())
    }
    let yes = |yes: bool| if yes { "yes" } else { "no" }.to_owned();
    let number = |value: f64| value.to_string();
    match column {
        Column::DeviceType => told(parse::device_type(cell), |read| read.device_type.to_string()),
        Column::NominalSize => told(parse::nominal_size(cell), |read| read.size.to_string()),
        Column::CustomerClass => told(parse::customer_class(cell), |value| value.to_string()),
        Column::Service => told(parse::service(cell), |value| value.to_string()),
        Column::Placement => told(parse::placement(cell), |value| value.to_string()),
        Column::RiserMaterial => told(parse::riser_material(cell), |value| value.to_string()),
        Column::WindExposure => told(parse::wind_exposure(cell), |value| value.to_string()),
        Column::WinterUse => told(parse::winter_use(cell), |value| value.to_string()),
        Column::FreezeDrip | Column::ExpansionRelief => told(parse::yes_no(cell), yes),
        Column::Language => told(parse::language(cell), |value| value.word().to_owned()),
        Column::Channels => told(parse::channels(cell), |list| {
            let words: Vec<&str> = list.iter().map(|channel| channel.word()).collect();
            if words.is_empty() {
                "none".into()
            } else {
                words.join(";")
            }
        }),
        Column::Latitude | Column::Longitude => told(parse::degrees(cell, false), number),
        Column::Elevation => told(parse::elevation_m(cell, false), number),
        Column::Wrap => told(parse::wrap_m2k_per_w(cell, false), number),
        Column::RiserHeight => told(parse::height_m(cell, false), number),
        Column::HeatTrace => told(parse::power_w(cell, false), number),
        Column::LastTest if parse::is_blank(cell) => Some(String::new()),
        Column::LastTest => dates::parse(cell).map(|_| cell.trim().to_owned()),
        _ => Some(cell.trim().to_owned()),
    }
}

/// What a column takes, in the words of its reader.
pub fn expected(column: Column, cell: &str) -> &'static str {
    fn of<T>(read: Result<Option<T>, parse::Unread>) -> &'static str {
        read.err().map_or("text", |unread| unread.expected)
    }
    match column {
        Column::DeviceType => of(parse::device_type(cell)),
        Column::NominalSize => of(parse::nominal_size(cell)),
        Column::CustomerClass => of(parse::customer_class(cell)),
        Column::Service => of(parse::service(cell)),
        Column::Placement => of(parse::placement(cell)),
        Column::RiserMaterial => of(parse::riser_material(cell)),
        Column::WindExposure => of(parse::wind_exposure(cell)),
        Column::WinterUse => of(parse::winter_use(cell)),
        Column::FreezeDrip | Column::ExpansionRelief => of(parse::yes_no(cell)),
        Column::Language => of(parse::language(cell)),
        Column::Channels => of(parse::channels(cell)),
        Column::Latitude | Column::Longitude => of(parse::degrees(cell, false)),
        Column::Elevation => of(parse::elevation_m(cell, false)),
        Column::Wrap => of(parse::wrap_m2k_per_w(cell, false)),
        Column::RiserHeight => of(parse::height_m(cell, false)),
        Column::HeatTrace => of(parse::power_w(cell, false)),
        Column::LastTest => "a date, such as 2025-03-14",
        _ => "text",
    }
}

/// Whether the cells of a column are one of few words (or sizes), so that a utility's words can be laid beside ours.
pub fn is_worded(column: Column) -> bool {
    matches!(
        column,
        Column::DeviceType
            | Column::NominalSize
            | Column::CustomerClass
            | Column::Service
            | Column::Placement
            | Column::RiserMaterial
            | Column::WindExposure
            | Column::WinterUse
            | Column::FreezeDrip
            | Column::ExpansionRelief
            | Column::Language
            | Column::Channels
    )
}
