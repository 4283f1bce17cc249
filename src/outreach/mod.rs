//! People, channels, deadlines, capacity, messages, and the log of what happened.
//!
//! [`people`] merges assemblies into the persons to reach, [`schedule`] turns persons and outlooks
//! into the lines of a contact plan, [`replan`] compares two plans, and [`after`] lists what to
//! inspect and test once the spell is over.

pub mod about;
pub mod after;
pub mod assign;
mod board;
mod calls;
pub mod case;
pub mod clock;
mod clusters;
pub mod config;
pub mod email;
mod forbidden;
pub mod greedy;
pub mod gsm7;
mod hangers;
pub mod line;
mod listing;
pub mod messages;
pub mod outcome;
pub mod people;
pub mod phone;
mod placing;
pub mod readability;
pub mod replan;
pub mod schedule;
mod spacing;
pub mod stake;
pub mod summary;
mod templates;
pub mod thaw;
mod unreached;
pub mod words;
