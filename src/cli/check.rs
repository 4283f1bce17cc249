//! `brimwater check`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `check`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `check`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`check` is not built yet").into())
}
