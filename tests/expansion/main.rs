//! Thermal expansion.
#![allow(clippy::unwrap_used, clippy::panic)]

mod advice;
mod codes;
mod command;
mod following;
mod gauge;
mod pages;
mod pressure;
mod printed;
mod relief;
mod several;
mod supply;
mod tank;
mod volume;
