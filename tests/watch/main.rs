//! The standing watch.
#![allow(clippy::unwrap_used, clippy::panic)]

mod command;
mod decide;
mod mail;
mod rehearsal;
