//! `brimwater expansion`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `expansion`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `expansion`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`expansion` is not built yet").into())
}
