//! Before the season: yearly loss, choice under a budget, warming.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/made/mod.rs"]
mod made;

mod choice;
mod command;
mod exposure;
mod measures;
mod moving;
mod programme;
mod tables;
mod warming;
mod yearly;
