//! The standing watch: plans again and again, keeps each plan, and tells people when something that matters has changed.
//!
//! What matters is decided in [`decide`], which knows no clock and no file. [`keep`] holds what was told, so that nothing is told
//! twice and nothing is lost when a run is missed, cut off, or finds a service down.

pub mod config;
pub mod decide;
pub mod deliver;
pub mod keep;
pub mod mail;
pub mod newest;
pub mod tell;
pub mod verify;
