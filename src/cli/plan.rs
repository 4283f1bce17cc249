//! `brimwater plan`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `plan`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `plan`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`plan` is not built yet").into())
}
