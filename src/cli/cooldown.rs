//! `brimwater cooldown`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `cooldown`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `cooldown`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`cooldown` is not built yet").into())
}
