//! Before the season: yearly loss, choice under a budget, warming.
#![allow(clippy::unwrap_used, clippy::panic)]

mod choice;
mod command;
mod moving;
mod tables;
mod yearly;
