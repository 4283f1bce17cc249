//! The hourly series and all that is computed from it.

pub mod assemble;
pub mod cache;
pub mod daily;
pub mod diurnal;
pub mod duration;
pub mod extremes;
pub mod fetch;
pub mod gev;
pub mod http;
pub mod inlet;
pub mod leverage;
pub mod local_time;
pub mod near;
pub mod neighbours;
pub mod nights;
pub mod normals;
pub mod quality;
pub mod readers;
pub mod reforecast;
pub mod series;
pub mod spells;
pub mod spread;
pub mod stations;
pub mod stretch;
pub mod sun;
pub mod trend;
pub mod window;
pub mod winters;

pub use assemble::{AssembleOptions, RawReading, Report, SetAside, assemble};
pub use daily::{DailyDay, DailyRecord};
pub use readers::{ReadOptions, read_series};
pub use series::{Kind, Series, Station};
