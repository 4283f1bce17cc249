//! The log on a server, and what holds for every kind of log.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/server/mod.rs"]
mod server;

mod both;
mod sequences;
