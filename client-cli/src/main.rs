//! The `fieldpost` command.

use std::process::ExitCode;

fn main() -> ExitCode {
    fieldpost_client::run(std::env::args_os())
}
