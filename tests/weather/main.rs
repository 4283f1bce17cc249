//! Readers, quality, extremes, fetch.
#![allow(clippy::unwrap_used, clippy::panic)]

mod daily_plain;
mod diurnal;
mod duration;
mod extremes;
mod fetch;
mod forecasts;
mod gev;
mod inlet;
mod malformed;
mod native;
mod quality;
mod readers;
mod service_documents;
mod show;
mod stretch;
mod sun;
mod tmy2;
mod window;
