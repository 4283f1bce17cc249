//! Records after a spell: scores, ranges, recalibration, the command.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/taught/mod.rs"]
mod taught;

mod backtest;
mod command;
mod kernel;
mod recalibration;
mod refusals;
mod round_trip;
mod scores;
mod strength;
mod totals;
mod winters;
