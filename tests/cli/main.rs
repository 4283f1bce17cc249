//! The commands as a whole.
#![allow(clippy::unwrap_used, clippy::panic)]

mod brief;
mod campaign;
mod check;
mod cooldown;
mod demo;
mod exports;
mod kept;
mod outputs;
mod parquet;
mod plan;
mod random;
mod report;
mod told;
mod week;
