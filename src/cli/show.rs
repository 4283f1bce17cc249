//! `brimwater show`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `show`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `show`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`show` is not built yet").into())
}
