//! The `brimwater` command: parse, run, exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    brimwater::cli::main()
}
