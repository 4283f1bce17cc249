//! Before the season: where protection money does most good.
//!
//! Yearly loss from the winters of a record ([`yearly`]),
//! the choice under a budget ([`choice`]), and whether the winters of the record are moving ([`moving`]).
//! Touches no file, clock or network.

pub mod answer;
pub mod choice;
pub mod choices_table;
pub mod config;
pub mod exposure;
pub mod losses;
pub mod measures;
pub mod minimise;
pub mod moving;
pub mod offers_log;
pub mod programme;
pub mod resampling;
pub mod spells;
pub mod warming;
pub mod yearly;
