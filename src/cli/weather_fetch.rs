//! `brimwater weather fetch`.

use super::{Done, common::Common};
use crate::faults::{Fault, Severity};

/// Arguments of `weather fetch`.
#[derive(clap::Args)]
pub struct Args {}

/// Runs `weather fetch`.
pub fn run(_args: Args, _common: &Common) -> Done {
    Err(Fault::new("BW-P00", Severity::Fatal, "`weather fetch` is not built yet").into())
}
