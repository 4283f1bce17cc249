//! The rows that a review was made of, as Parquet for analysts: what was said, done and found of each assembly in each spell.

use super::columns::{Column, Kind};
use super::parquet;
use crate::review::Row;
use std::io;

/// The columns, those of a table for `review --rows` and whether somebody looked by design.
fn columns<'a>() -> Vec<Column<'a, &'a Row>> {
    let chance = |name, cell: fn(&Row) -> Option<f64>| {
        Column::new(name, Kind::Number(6), "1", move |row: &&Row| cell(row).into())
    };
    vec![
        Column::text("spell", |row: &&'a Row| row.spell.as_str()),
        Column::text("assembly_id", |row: &&'a Row| row.assembly_id.as_str()),
        chance("p_issued", |row| Some(row.p_issued)),
        chance("p_hindcast", |row| row.p_hindcast),
        chance("p_protected", |row| row.p_protected),
        Column::new("loss_usd", Kind::Number(2), "USD", |row: &&Row| row.loss_usd.into()),
        Column::new("rank", Kind::Number(0), "", |row: &&Row| row.rank.into()),
        Column::text("contact", |row: &&Row| row.contact.word()),
        Column::text("protected", |row: &&Row| match row.protected {
            Some(true) => "yes",
            Some(false) => "no",
            None => "",
        }),
        chance("inclusion_probability", |row| Some(row.inclusion)),
        Column::text("found", |row: &&Row| row.state.word()),
        Column::text("by_design", |row: &&Row| if row.by_design { "yes" } else { "no" }),
    ]
}

/// The rows as a Parquet file.
///
/// # Errors
/// When it cannot be made.
pub fn parquet(rows: &[Row]) -> io::Result<Vec<u8>> {
    let mut out = Vec::new();
    parquet::write("review_rows", &columns(), rows.iter(), &mut out)?;
    Ok(out)
}
