//! One writer a format, and the charts.

pub mod charts;
pub mod charts_plan;
pub mod defuse;
pub mod drip;
pub mod geojson;
pub mod plan;
pub mod plan_json;
pub mod ranking_csv;
pub mod rejects_csv;
pub mod report;
pub mod run_json;
pub mod safe;
pub mod table;
