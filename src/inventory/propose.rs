//! A list of any make to the mapping that reads it: which column is which, by names and contents, and which of their words is which
//! of ours.
//!
//! What is proposed is shown and written as config, never used unseen: a guess that is wrong is corrected in one line.

mod guess;
mod hints;
mod told;

use super::columns::{Column, Names};
use super::synonyms::{self, is_worded};
use super::{parse, synonyms::Synonyms};
use crate::faults::{Fault, Faults};
use crate::input::{Record, Records};
use std::collections::BTreeMap;

/// Rows that the guess of the columns looks at (judgement: enough to see every kind of cell).
const SAMPLE_ROWS: usize = 2000;
/// Distinct unread words of one column that are asked for (judgement: more is not a column of words).
const MOST_WORDS: usize = 60;

/// How sure the proposal is of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sure {
    /// The interface's own name, an undoubted other one, or the config's.
    Known,
    /// Name and contents speak for it.
    Likely,
    /// Look before using it.
    Guess,
}

impl Sure {
    /// The word that pages use.
    pub fn word(self) -> &'static str {
        match self {
            Sure::Known => "known",
            Sure::Likely => "likely",
            Sure::Guess => "a guess: look",
        }
    }
}

/// A column of theirs taken for one of ours.
#[derive(Debug, Clone, PartialEq)]
pub struct TakenColumn {
    /// Ours.
    pub column: Column,
    /// Their header.
    pub header: String,
    /// How sure.
    pub sure: Sure,
    /// Cells with something in them.
    pub filled: usize,
    /// Of these, how many can be read as they are.
    pub readable: usize,
    /// The most frequent contents, at most three.
    pub examples: Vec<String>,
}

/// A word of theirs in a column of few words that is not read as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Word {
    /// The column.
    pub column: Column,
    /// Theirs.
    pub theirs: String,
    /// Rows that have it.
    pub rows: usize,
    /// Ours, where it can be guessed.
    pub ours: Option<String>,
}

/// What would be taken for what.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Proposal {
    /// Line of the header.
    pub header_line: u64,
    /// Rows below it.
    pub rows: usize,
    /// Columns, in the order of the interface.
    pub columns: Vec<TakenColumn>,
    /// Columns of ours that matter and were not found.
    pub missing: Vec<Column>,
    /// Their columns that stay unread.
    pub unread: Vec<String>,
    /// Words that need one of ours beside them, by column and then the most frequent first.
    pub words: Vec<Word>,
    /// What the config had already.
    kept: BTreeMap<String, BTreeMap<String, String>>,
}

/// The ten columns that matter: who, what, where and how to reach them. Without the first three nothing can be computed.
pub const TEN: [Column; 10] = [
    Column::AssemblyId,
    Column::DeviceType,
    Column::NominalSize,
    Column::Latitude,
    Column::Longitude,
    Column::Service,
    Column::Placement,
    Column::ContactName,
    Column::Phone,
    Column::SiteAddress,
];

/// Proposes a mapping for a list. `columns` and `values` are what a config says already and stay as they are.
///
/// # Errors
/// Those of [`Records::open`] and of reading on.
pub fn propose(
    bytes: &[u8],
    file_name: &str,
    columns: &BTreeMap<String, String>,
    values: &BTreeMap<String, BTreeMap<String, String>>,
) -> Result<Proposal, Fault> {
    let (names, _) = Names::new(columns);
    let (synonyms, _) = Synonyms::new(values);
    let mut records = Records::open(bytes, file_name, |cell| {
        names.column(cell).is_some() || hints::is_hint(cell)
    })?
    .long_rows_are_mine();
    let header = records.header().to_vec();
    let mut rows: Vec<Vec<String>> = Vec::new();
    let mut record = Record::default();
    // Faults of rows are told when the list is read for use.
    let mut aside = Faults::new();
    while records.read(&mut record, &mut aside)? {
        if !record.repeats(&header) {
            rows.push(record.fields.clone());
        }
    }
    let chosen = guess::columns(
        &header,
        rows.get(..rows.len().min(SAMPLE_ROWS)).unwrap_or_default(),
        &names,
    );
    let mut out = Proposal {
        header_line: records.header_line(),
        rows: rows.len(),
        kept: values.clone(),
        ..Proposal::default()
    };
    for (column, (at, sure)) in &chosen {
        let cells = || {
            rows.iter()
                .filter_map(|row| row.get(*at))
                .filter(|cell| !parse::is_blank(cell))
        };
        let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
        let (mut filled, mut readable) = (0, 0);
        for cell in cells() {
            filled += 1;
            let ours = synonyms.ours(*column, cell).unwrap_or(cell);
            if guess::fits(*column, ours) {
                readable += 1;
            }
            *counts.entry(cell.as_str()).or_default() += 1;
        }
        let mut counts: Vec<(&str, usize)> = counts.into_iter().collect();
        counts.sort_by(|a, b| b.1.cmp(&a.1).then(a.0.cmp(b.0)));
        if is_worded(*column) {
            out.words.extend(unread_words(*column, &counts, &synonyms));
        }
        out.columns.push(TakenColumn {
            column: *column,
            header: header.get(*at).cloned().unwrap_or_default(),
            sure: *sure,
            filled,
            readable,
            examples: counts.iter().take(3).map(|(cell, _)| (*cell).to_owned()).collect(),
        });
    }
    out.missing = TEN
        .iter()
        .copied()
        .filter(|column| !chosen.contains_key(column))
        .collect();
    out.unread = (0..)
        .zip(&header)
        .filter(|(at, cell)| !cell.is_empty() && !chosen.values().any(|(taken, _)| taken == at))
        .map(|(_, cell)| cell.clone())
        .collect();
    Ok(out)
}

fn unread_words(column: Column, counts: &[(&str, usize)], synonyms: &Synonyms) -> Vec<Word> {
    counts
        .iter()
        .filter(|(cell, _)| synonyms.ours(column, cell).is_none() && synonyms::read(column, cell).is_none())
        .take(MOST_WORDS)
        .map(|(cell, rows)| Word {
            column,
            theirs: (*cell).to_owned(),
            rows: *rows,
            ours: guess::word(column, cell),
        })
        .collect()
}

impl Proposal {
    /// `[columns]` of the config that is proposed: ours, theirs.
    pub fn columns(&self) -> BTreeMap<String, String> {
        self.columns
            .iter()
            .map(|taken| (taken.column.name().to_owned(), taken.header.clone()))
            .collect()
    }

    /// `[values]` of the config that is proposed: column, theirs, ours. Words that could not be guessed are not in it.
    pub fn values(&self) -> BTreeMap<String, BTreeMap<String, String>> {
        let mut out = self.kept.clone();
        for word in &self.words {
            if let Some(ours) = &word.ours {
                out.entry(word.column.name().to_owned())
                    .or_default()
                    .insert(word.theirs.clone(), ours.clone());
            }
        }
        out
    }
}
