//! `brimwater weather`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `weather`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `weather`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`weather` is not built yet").into())
}
