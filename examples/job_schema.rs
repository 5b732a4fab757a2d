//! Prints the JSON Schema of the job file.

use std::io::{self, Write};

fn main() -> io::Result<()> {
    // Written rather than printed, so that a closed pipe (`| head`) is an error and not a panic.
    writeln!(io::stdout().lock(), "{:#}", neckwright::job::job_schema())
}
