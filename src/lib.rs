//! Brimwater advises on freezing and on thermal expansion in plumbing that stands behind a
//! backflow prevention assembly.
//!
//! Water is densest near 4 °C. Cooled below that it swells, warmed above that it swells, and where
//! the swelling has nowhere to go metal gives. The library computes both ends: which exposed
//! assemblies a cold spell will freeze and who must hear of it first, and how much room heated
//! water needs once an assembly has closed the plumbing.
//!
//! Data flows one way: [`inventory`] and [`weather`] feed [`freeze`], whose outlooks feed
//! [`ranking`], then [`outreach`], then [`output`] and [`desk`]. [`expansion`] and [`drip`] answer
//! one system and one caller. `physics`, `freeze`, `ranking`, `expansion` and `drip` touch no file,
//! clock, network or command-line type.
//!
//! Inside, everything is SI with the unit in the name. Units change only in [`units`] and in
//! readers and writers.

pub mod cli;
pub mod config;
pub mod demo;
pub mod desk;
pub mod drip;
pub mod expansion;
pub mod faults;
pub mod freeze;
pub mod input;
pub mod inventory;
pub mod language;
pub mod output;
pub mod outreach;
pub mod physics;
pub mod plan;
pub mod ranking;
pub mod records;
pub mod review;
pub mod season;
pub mod source;
pub mod store;
pub mod text;
pub mod units;
pub mod watch;
pub mod weather;
pub mod words;

/// The planning-aid line that ends every page and printout.
pub const PLANNING_AID: &str = "A planning aid, not an instruction: your local code, the maker's \
instructions for the device, and licensed or certified people have the last word.";

/// The program's version, as it is stamped into outputs.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
