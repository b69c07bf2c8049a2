//! `new`: a commented routine to begin from.

use super::failure::{Failure, Outcome};
use super::source::shown;
use super::walk::quoted;
use clap::Args;
use std::fs::File;
use std::io::{ErrorKind, Write};
use std::path::PathBuf;

/// The routine that `new` writes.
const STARTER: &str = include_str!("starter.yaml");

/// Which name.
#[derive(Debug, Args)]
pub struct NewArgs {
    /// The file's name; `.yaml` is added when it has no ending
    pub name: String,
}

/// Writes it.
pub(super) fn run(args: &NewArgs, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let mut path = PathBuf::from(&args.name);
    if path.file_name().is_none() || args.name.ends_with('/') {
        return Err(Failure::Wrong(format!(
            "{} is no name for a file",
            shown(&args.name)
        )));
    }
    if path.extension().is_none() {
        path.set_extension("yaml");
    }
    let mut file = File::create_new(&path).map_err(|source| match source.kind() {
        ErrorKind::AlreadyExists => Failure::Wrong(format!(
            "{} is there already, and was left alone\n  Choose another name.",
            shown(&path.display().to_string())
        )),
        _ => Failure::Unwritable {
            path: path.clone(),
            source,
        },
    })?;
    file.write_all(STARTER.as_bytes())
        .and_then(|()| file.sync_all())
        .map_err(|source| Failure::Unwritable {
            path: path.clone(),
            source,
        })?;
    let name = shown(&path.display().to_string());
    writeln!(out, "Wrote {name}, a routine to change into yours.")?;
    let name = quoted(&name);
    writeln!(out, "  allroads check {name}      after every change")?;
    writeln!(out, "  allroads walk {name}       one road of it")?;
    Ok(Outcome::Done)
}

#[cfg(test)]
mod tests {
    use super::STARTER;
    use crate::roads::{broken_claims, sample};
    use crate::routine::load;

    #[test]
    fn the_starter_has_no_fault_and_its_claims_hold() {
        let routine = load(STARTER, "starter", 0).unwrap();
        for seed in 0..50 {
            let road = sample(&routine, seed).unwrap();
            assert!(!road.walked.is_empty());
            for walked in &road.walked {
                let broken = broken_claims(&routine, walked).unwrap();
                assert!(broken.is_empty(), "{broken:?}");
            }
        }
    }
}
