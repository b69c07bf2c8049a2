//! The language files inside the program, and their copies in the cache folder: the engine takes paths only.

use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

/// A voice as it is embedded.
pub(super) struct Embedded {
    /// Its language's tag.
    pub(super) tag: &'static str,
    /// The text analysis.
    pub(super) analysis: Part,
    /// The speech generation.
    pub(super) generation: Part,
}

/// A language file.
pub(super) struct Part {
    name: &'static str,
    sha256: &'static str,
    bytes: &'static [u8],
}

mod listed {
    use super::{Embedded, Part};
    include!(concat!(env!("OUT_DIR"), "/voices.rs"));
}

/// The licence of the engine and its language files, as their package states it.
pub const NOTICE: &str = listed::NOTICE;

/// The voice of this language.
pub(super) fn voice(tag: &str) -> Option<&'static Embedded> {
    listed::EMBEDDED.iter().find(|voice| voice.tag == tag)
}

impl Part {
    /// The path of a copy in this folder, whose hash was checked just now; written first where there is none or it is
    /// not what it should be.
    ///
    /// # Errors
    /// When the folder cannot be written.
    pub(super) fn unpacked(&self, folder: &Path) -> io::Result<PathBuf> {
        let path = folder.join(format!("{}-{}", &self.sha256[..16], self.name));
        if fs::read(&path).is_ok_and(|bytes| self.is(&bytes)) {
            return Ok(path);
        }
        fs::create_dir_all(folder)?;
        // Several processes may unpack at once: each writes a file of its own, and the last name given wins.
        let draft = folder.join(format!("{}.{}.part", self.name, std::process::id()));
        fs::write(&draft, self.bytes)?;
        fs::rename(&draft, &path)?;
        if fs::read(&path).is_ok_and(|bytes| self.is(&bytes)) {
            Ok(path)
        } else {
            Err(io::Error::other("a voice was not written as it should be"))
        }
    }

    fn is(&self, bytes: &[u8]) -> bool {
        let mut hash = String::with_capacity(64);
        for byte in Sha256::digest(bytes) {
            // Writing to a string cannot fail.
            let _ = write!(hash, "{byte:02x}");
        }
        hash == self.sha256
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cards::Lang;

    #[test]
    fn every_language_has_a_voice() {
        for lang in Lang::ALL {
            assert!(voice(lang.tag()).is_some(), "{lang}");
        }
        assert!(NOTICE.contains("Apache License"));
    }

    #[test]
    fn a_spoilt_copy_is_written_again() {
        let folder = tempfile::tempdir().unwrap();
        let part = &voice("it").unwrap().analysis;
        let path = part.unpacked(folder.path()).unwrap();
        assert_eq!(fs::read(&path).unwrap(), part.bytes);
        fs::write(&path, b"something else").unwrap();
        assert_eq!(part.unpacked(folder.path()).unwrap(), path);
        assert_eq!(fs::read(&path).unwrap(), part.bytes);
        // Nothing else is left in the folder.
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
