//! The log on a server, and what holds for every kind of log.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/callers/mod.rs"]
mod callers;
#[path = "../support/deskside/mod.rs"]
mod deskside;
#[path = "../support/server/mod.rs"]
mod server;

mod address;
mod both;
mod desk;
mod keep;
mod many;
mod refusals;
mod reports;
mod rights;
mod sequences;
mod spool;
