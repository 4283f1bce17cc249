//! `brimwater log`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `log`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `log`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`log` is not built yet").into())
}
