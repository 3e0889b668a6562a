//! The program `breathroom`: everything it does is in the library's command line.

use std::process::ExitCode;

fn main() -> ExitCode {
    breathroom_analysis::cli::main()
}
