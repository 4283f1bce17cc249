//! The proposal as the text of a config.

use super::{Proposal, Sure};
use crate::inventory::columns::Column;
use crate::inventory::synonyms;
use std::collections::BTreeSet;
use std::fmt::Write;

/// A basic string of TOML, good for keys too: JSON's escapes are a part of TOML's.
fn quoted(text: &str) -> String {
    serde_json::to_string(&text.replace('\u{7f}', " ")).unwrap_or_default()
}

/// A cell that no column takes, to learn what it takes.
const NO_WORD: &str = "zzz";

impl Proposal {
    /// `[columns]` and `[values]` in TOML, each line with what speaks for it; words that could not be guessed stand as comments, to be
    /// filled in.
    pub fn toml(&self, file_name: &str) -> String {
        let mut out = String::new();
        let _ = writeln!(
            out,
            "# Proposed for {} (header on line {}, {} rows). Look at each line before using it.\n",
            file_name.replace(char::is_control, " "),
            self.header_line,
            self.rows
        );
        out.push_str("# Ours on the left, the list's header on the right.\n[columns]\n");
        for taken in &self.columns {
            let note = match taken.sure {
                Sure::Known => String::new(),
                sure => format!(
                    "  # {}; {} of {} cells can be read",
                    sure.word(),
                    taken.readable,
                    taken.filled
                ),
            };
            let _ = writeln!(out, "{} = {}{note}", taken.column.name(), quoted(&taken.header));
        }
        for missing in &self.missing {
            let _ = writeln!(out, "# {} = \"\"  # not found in the list", missing.name());
        }
        out.push_str("\n# The list's word on the left, ours on the right; \"\" says that it is not told.\n");
        let values = self.values();
        let asked: BTreeSet<Column> = self.words.iter().map(|word| word.column).collect();
        for column in Column::ALL {
            let kept = values.get(column.name());
            if kept.is_none() && !asked.contains(column) {
                continue;
            }
            let _ = writeln!(
                out,
                "[values.{}]  # takes {}",
                column.name(),
                synonyms::expected(*column, NO_WORD)
            );
            for (theirs, ours) in kept.into_iter().flatten() {
                let rows = self
                    .words
                    .iter()
                    .find(|word| word.column == *column && &word.theirs == theirs);
                let note = rows.map_or_else(String::new, |word| format!("  # {} rows; a guess: look", word.rows));
                let _ = writeln!(out, "{} = {}{note}", quoted(theirs), quoted(ours));
            }
            for word in self
                .words
                .iter()
                .filter(|word| word.column == *column && word.ours.is_none())
            {
                let _ = writeln!(out, "# {} = \"\"  # {} rows: fill in", quoted(&word.theirs), word.rows);
            }
            out.push('\n');
        }
        out
    }
}
