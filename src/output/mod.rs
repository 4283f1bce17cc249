//! One writer a format, and the charts.

pub mod charts;
pub mod charts_plan;
pub mod safe;
