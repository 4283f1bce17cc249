//! Ranking, people, schedule, words, plan files.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "../support/campaign/mod.rs"]
mod campaign;
#[path = "../support/made/mod.rs"]
mod made;

mod after;
mod assign;
mod crash;
mod messages;
mod nights;
mod output_charts;
mod output_contacts;
mod output_plan;
mod people;
mod ranking;
mod replan;
mod schedule;
mod thaw;
mod words;
