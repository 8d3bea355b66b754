//! The program: hands its arguments to the library and ends with the code that comes back.

use std::process::ExitCode;

fn main() -> ExitCode {
    everyline::run(std::env::args_os()).into()
}
