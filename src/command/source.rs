//! ROUTINE on the command line: the name of a shipped routine, or the path of a file.

use super::failure::Failure;
use super::shipped::{self, SHIPPED};
use crate::routine::{Routine, load};
use std::io::Read;
use std::path::Path;

/// The largest routine file that is read, in bytes.
const LARGEST: u64 = 1 << 20;

/// The text of a routine, and where it is from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// What the logbook and the foyer call it: the shipped name, or the file's name without its ending.
    pub name: String,
    /// What messages call it: the shipped name, or the path as it was given.
    pub origin: String,
    /// The text.
    pub text: String,
}

impl Source {
    /// Finds what was named. A shipped name comes first; `./name` means the file.
    ///
    /// # Errors
    /// When there is no such routine, or the file cannot be read or is no text.
    pub fn find(named: &str) -> Result<Self, Failure> {
        if let Some(routine) = shipped::find(named) {
            return Ok(Self {
                name: routine.name.to_owned(),
                origin: routine.name.to_owned(),
                text: routine.text.to_owned(),
            });
        }
        let path = Path::new(named);
        let meta = std::fs::metadata(path);
        match meta {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => Err(unknown(named)),
            Ok(meta) if meta.is_dir() => Err(Failure::Wrong(format!(
                "{} is a folder; name a routine's file in it",
                shown(named)
            ))),
            Ok(_) | Err(_) => Self::read(named, path),
        }
    }

    /// The routine with this draw of its set-up.
    ///
    /// # Errors
    /// All faults of the file.
    pub fn load(&self, setup: u64) -> Result<Routine, Failure> {
        load(&self.text, &self.origin, setup).map_err(Failure::Routine)
    }

    fn read(named: &str, path: &Path) -> Result<Self, Failure> {
        let unreadable = |source| Failure::Unreadable {
            path: path.to_path_buf(),
            source,
        };
        let mut bytes = Vec::new();
        std::fs::File::open(path)
            .and_then(|file| file.take(LARGEST + 1).read_to_end(&mut bytes))
            .map_err(unreadable)?;
        if bytes.len() as u64 > LARGEST {
            return Err(Failure::Wrong(format!(
                "{} is larger than a routine may be ({LARGEST} bytes)",
                shown(named)
            )));
        }
        let text = String::from_utf8(bytes).map_err(|e| {
            let good = &e.as_bytes()[..e.utf8_error().valid_up_to()];
            let line = 1 + good.iter().filter(|b| **b == b'\n').count();
            Failure::Wrong(format!(
                "{}:{line}: this is not UTF-8 text; save the file as UTF-8",
                shown(named)
            ))
        })?;
        let name = path
            .file_stem()
            .map_or_else(|| named.to_owned(), |s| s.to_string_lossy().into_owned());
        Ok(Self {
            name,
            origin: named.to_owned(),
            text,
        })
    }
}

/// What was typed, without anything that could move the cursor.
pub(super) fn shown(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_control() { '\u{FFFD}' } else { c })
        .collect()
}

fn unknown(named: &str) -> Failure {
    let mut told = format!("there is no routine and no file named {}", shown(named));
    if let Some(name) = crate::cards::nearest(named, SHIPPED.iter().map(|s| s.name)) {
        told.push_str(&format!("\n  Did you mean {name}?"));
    } else if SHIPPED.is_empty() {
        told.push_str("\n  Name the path of a routine's file.");
    } else {
        let names: Vec<&str> = SHIPPED.iter().map(|s| s.name).collect();
        told.push_str(&format!(
            "\n  Name the path of a file, or one of these: {}.",
            names.join(", ")
        ));
    }
    Failure::Wrong(told)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_is_read_with_its_name_and_a_wrong_one_is_told() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("my own.yaml");
        std::fs::write(&file, "title: é\n").unwrap();
        let found = Source::find(file.to_str().unwrap()).unwrap();
        assert_eq!(found.name, "my own");
        assert_eq!(found.text, "title: é\n");

        std::fs::write(&file, b"a\nb\n\xff\n").unwrap();
        let words = Source::find(file.to_str().unwrap())
            .unwrap_err()
            .to_string();
        assert!(words.contains(".yaml:3: this is not UTF-8"), "{words}");

        std::fs::write(&file, vec![b' '; (1 << 20) + 1]).unwrap();
        let words = Source::find(file.to_str().unwrap())
            .unwrap_err()
            .to_string();
        assert!(words.contains("larger than a routine may be"), "{words}");

        let words = Source::find(folder.path().to_str().unwrap())
            .unwrap_err()
            .to_string();
        assert!(words.contains("is a folder"), "{words}");
        let words = Source::find("no/such\u{1b}[2J").unwrap_err().to_string();
        assert!(
            words.starts_with("there is no routine and no file"),
            "{words}"
        );
        assert!(!words.contains('\u{1b}'));
    }
}
