//! The commands as a whole.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/deskside/mod.rs"]
mod deskside;

mod assumed;
mod brief;
mod campaign;
mod check;
mod cooldown;
mod demo;
#[cfg(target_os = "linux")]
mod demonstration;
mod exports;
mod kept;
#[cfg(target_os = "linux")]
mod kills;
#[cfg(target_os = "linux")]
mod memory;
mod outputs;
mod parquet;
mod plan;
mod random;
mod report;
mod told;
mod totals;
mod week;
