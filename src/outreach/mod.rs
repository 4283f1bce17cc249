//! People, channels, deadlines, capacity, messages, and the log of what happened.

pub mod config;
