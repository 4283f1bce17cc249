//! Thermal expansion.
#![allow(clippy::unwrap_used, clippy::panic)]

mod advice;
mod command;
mod following;
mod pressure;
mod relief;
mod supply;
mod tank;
mod volume;
