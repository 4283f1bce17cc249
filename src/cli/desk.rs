//! `brimwater desk`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `desk`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `desk`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`desk` is not built yet").into())
}
