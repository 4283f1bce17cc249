//! Records after a spell: scores, ranges, recalibration, the command.
#![allow(clippy::unwrap_used, clippy::panic)]

mod backtest;
mod command;
mod recalibration;
mod refusals;
mod round_trip;
mod scores;
mod totals;
