//! Opening files and reading delimited text, whoever wrote it: the part that every table reader shares.
//!
//! Nothing here knows what the columns mean.

pub mod file;
pub mod records;

pub use records::{Record, Records};
