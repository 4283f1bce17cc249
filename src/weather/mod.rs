//! The hourly series and all that is computed from it.

pub mod assemble;
pub mod local_time;
pub mod readers;
pub mod series;

pub use assemble::{AssembleOptions, RawReading, Report, SetAside, assemble};
pub use readers::{ReadOptions, read_series};
pub use series::{Kind, Series, Station};
