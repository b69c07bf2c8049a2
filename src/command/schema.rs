//! `schema`: what an editor needs to help with a routine file.

use super::failure::{Failure, Outcome};
use std::io::{self, Write};

/// Prints the JSON Schema.
pub(super) fn run(out: &mut dyn Write) -> Result<Outcome, Failure> {
    serde_json::to_writer_pretty(&mut *out, &crate::routine::schema()).map_err(io::Error::from)?;
    writeln!(out)?;
    Ok(Outcome::Done)
}
