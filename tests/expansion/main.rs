//! Thermal expansion.
#![allow(clippy::unwrap_used, clippy::panic)]

mod advice;
mod following;
mod command;
mod pressure;
mod relief;
mod supply;
mod tank;
mod volume;
