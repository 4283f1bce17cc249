//! What the caller sees, what the physics expects, what follows.

pub mod config;
