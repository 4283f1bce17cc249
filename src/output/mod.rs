//! One writer a format, and the charts.

pub mod safe;
