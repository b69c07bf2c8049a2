//! Files for people, written whole or not at all: into a new file beside the one that is wanted, which then takes its name.
//! Something else than a file that stands there (a pipe, a terminal) is written into as it is.

use super::failure::{Failure, Outcome};
use super::source::shown;
use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Whether a file of this name could be written, as far as its name tells.
///
/// # Errors
/// When it is a folder, names no file, or its folder does not exist.
pub(super) fn could_be(path: &Path) -> Result<(), Failure> {
    let name = shown(&path.to_string_lossy());
    if path.is_dir() || path.as_os_str().is_empty() || path.file_name().is_none() {
        return Err(Failure::Wrong(format!(
            "“{name}” is a folder or no name; name the file to be written"
        )));
    }
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => {
            Err(Failure::Wrong(format!(
                "“{name}”: there is no folder {}\n  Make the folder first, or name another.",
                shown(&folder.to_string_lossy())
            )))
        }
        Some(_) | None => Ok(()),
    }
}

/// Writes a text, and says so. A file of that name is replaced.
///
/// # Errors
/// When it cannot be written; then what was there before is as it was.
pub(super) fn page(path: &Path, text: &str, out: &mut dyn Write) -> Result<Outcome, Failure> {
    whole(path, text)?;
    writeln!(out, "Written: {}", shown(&path.to_string_lossy()))?;
    Ok(Outcome::Done)
}

/// Writes a text. A file of that name is replaced.
///
/// # Errors
/// When it cannot be written; then what was there before is as it was.
pub(super) fn whole(path: &Path, text: &str) -> Result<(), Failure> {
    could_be(path)?;
    replace(path, text.as_bytes()).map_err(|source| Failure::Unwritable {
        path: path.to_path_buf(),
        source,
    })
}

fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    // A link stays one: what it leads to is replaced.
    let target = fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let before = fs::metadata(&target).ok();
    if before.as_ref().is_some_and(|meta| !meta.is_file()) {
        return fs::OpenOptions::new()
            .write(true)
            .open(&target)?
            .write_all(bytes);
    }
    // A file that may not be written into is not replaced either.
    if before.is_some() {
        drop(fs::OpenOptions::new().write(true).open(&target)?);
    }
    let beside = beside(&target);
    let done = File::create_new(&beside).and_then(|mut file| {
        file.write_all(bytes)?;
        if let Some(before) = &before {
            file.set_permissions(before.permissions())?;
        }
        file.sync_all()?;
        drop(file);
        fs::rename(&beside, &target)
    });
    if done.is_err() {
        // Half a page would only mislead; the error that matters is the one in hand.
        drop(fs::remove_file(&beside));
    }
    done
}

/// A name beside a file that nobody else has.
fn beside(path: &Path) -> PathBuf {
    let mut name = std::ffi::OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.new", std::process::id()));
    path.with_file_name(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_is_written_and_replaced_and_nothing_is_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("page.html");
        for text in ["one", "two, and longer"] {
            let mut out = Vec::new();
            page(&file, text, &mut out).unwrap();
            assert_eq!(fs::read_to_string(&file).unwrap(), text);
            assert!(String::from_utf8(out).unwrap().starts_with("Written: "));
        }
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn folders_and_names_that_are_none_are_refused_with_words() {
        let folder = tempfile::tempdir().unwrap();
        for (path, words) in [
            (folder.path().to_path_buf(), "is a folder"),
            (PathBuf::from(".."), "is a folder"),
            (PathBuf::new(), "is a folder"),
            (folder.path().join("no/page.html"), "there is no folder"),
        ] {
            let failure = page(&path, "text", &mut Vec::new()).unwrap_err();
            assert!(matches!(failure, Failure::Wrong(_)));
            assert!(failure.to_string().contains(words), "{path:?}: {failure}");
        }
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_what_is_no_file_is_written_into() {
        let folder = tempfile::tempdir().unwrap();
        let (file, link) = (
            folder.path().join("page.html"),
            folder.path().join("link.html"),
        );
        fs::write(&file, "before").unwrap();
        std::os::unix::fs::symlink(&file, &link).unwrap();
        page(&link, "after", &mut Vec::new()).unwrap();
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(fs::read_to_string(&file).unwrap(), "after");
        page(Path::new("/dev/null"), "gone", &mut Vec::new()).unwrap();
        assert!(!fs::metadata("/dev/null").unwrap().is_file());
    }
}
