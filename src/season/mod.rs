//! Before the season: where protection money does most good.
//!
//! Yearly loss of each assembly from decades of station climate ([`ladder`], [`record`], [`yearly`]), what each measure would save
//! of it ([`measures`]), the choice under a budget ([`choice`]), and whether the winters of the record are moving ([`moving`]).
//! Touches no file, clock or network.

pub mod choice;
pub mod minimise;
pub mod moving;
pub mod yearly;
