//! What a list would be read as: the proposal of its columns and words, the config that says so, and the list read by that config alone.

use crate::config::Config;
use crate::faults::{Fault, Severity};
use crate::input::load::Files;
use crate::input::{file, parquet};
use crate::inventory::propose::{Proposal, propose};
use crate::inventory::{Inventory, read_mapped};
use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;

/// A proposal and what comes of it.
pub struct Proposed {
    /// Name of the list's file.
    pub name: String,
    /// What is taken for what.
    pub proposal: Proposal,
    /// The list, read by what is proposed.
    pub read: Inventory,
    /// The config that says it.
    pub config: String,
}

/// Proposes for the list of these files; what their config says of columns and words stays.
///
/// # Errors
/// When the list or the config cannot be read.
pub fn proposed(list: &Path, files: &Files) -> Result<Proposed, Fault> {
    let name = file::shown(list);
    let raw = file::read_whole(list)?;
    let (columns, values) = match &files.config {
        None => (BTreeMap::new(), BTreeMap::new()),
        Some(path) => {
            let bytes = file::read_whole(path)?;
            let (text, _) = file::text(&bytes, path);
            Config::mapping_of(text.strip_prefix('\u{feff}').unwrap_or(&text))
        }
    };
    let mut bytes = Vec::new();
    parquet::or_text(raw.as_slice(), &name)?
        .read_to_end(&mut bytes)
        .map_err(|error| {
            Fault::new("BW-I03", Severity::Fatal, format!("the file cannot be read: {error}")).file(name.clone())
        })?;
    let proposal = propose(&bytes, &name, &columns, &values)?;
    let read = read_mapped(bytes.as_slice(), &name, &proposal.columns(), &proposal.values());
    let config = proposal.toml(&name);
    Ok(Proposed {
        name,
        proposal,
        read,
        config,
    })
}
