//! Opening files and reading delimited text, whoever wrote it: the part that every table reader shares.
//!
//! Only [`load`], which joins the readers, knows what the columns mean.

pub mod file;
pub mod load;
pub mod parquet;
pub mod plain;
pub mod records;

pub use plain::plain;
pub use records::{Ledger, Record, Records};
