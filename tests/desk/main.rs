//! The log and the local pages.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/deskside/mod.rs"]
mod deskside;

mod account;
mod browser;
mod calls;
mod doors;
mod driver;
mod entry;
mod follows;
mod http;
mod journeys;
mod log_cli;
mod log_store;
mod record;
mod reviewed;
mod roles;
mod same;
mod search;
mod season;
mod seen;
mod sessions;
mod shift;
mod spanish;
mod tls;
mod trouble;
mod visits;
