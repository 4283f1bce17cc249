//! Thermal expansion.
#![allow(clippy::unwrap_used, clippy::panic)]

mod advice;
mod command;
mod pressure;
mod relief;
mod tank;
mod volume;
