//! `brimwater drip`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `drip`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `drip`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`drip` is not built yet").into())
}
