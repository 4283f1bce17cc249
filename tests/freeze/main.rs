//! The freeze model against the outside.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/spells/mod.rs"]
mod spells;
#[path = "../support/tables/mod.rs"]
mod tables;

mod advice;
mod balance;
mod cloud;
mod cooldown;
mod drained;
mod judged;
mod kernel;
mod ladder;
mod near_ground;
mod nights;
mod ode;
mod properties;
mod regions;
mod reliability;
mod reports;
mod sanity;
mod show_network;
mod single;
mod spread;
mod teeth;
