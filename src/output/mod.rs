//! One writer a format, and the charts.

pub mod after;
pub mod call_sheets;
pub mod changes;
pub mod charts;
pub mod charts_drip;
pub mod charts_expansion;
pub mod charts_outreach;
pub mod charts_plan;
pub mod contacts;
pub mod defuse;
pub mod drip;
pub mod expansion_record;
pub mod expansion_text;
pub mod geojson;
pub mod manager_summary;
pub mod outreach_files;
pub mod plan;
pub mod plan_folder;
pub mod plan_json;
pub mod ranking_csv;
pub mod rejects_csv;
pub mod report;
pub mod run_json;
pub mod safe;
pub mod show_json;
pub mod table;
