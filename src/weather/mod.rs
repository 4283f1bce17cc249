//! The hourly series and all that is computed from it.

pub mod readers;
pub mod series;

pub use series::{Kind, Series, Station};
