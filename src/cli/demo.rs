//! `brimwater demo`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `demo`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `demo`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`demo` is not built yet").into())
}
