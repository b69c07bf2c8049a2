//! The build script: finds the language files that come with the speech engine's package and lists them for embedding.
//!
//! The package does not say where its files are, so cargo is asked. Nothing is copied into the repository, and nothing is
//! fetched: the lock file names the package, and cargo has unpacked it already to build it.

use serde_json::Value;
use sha2::{Digest, Sha256};
use std::error::Error;
use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

/// The package that holds the engine's sources and the language files, and where in it they are.
const PACKAGE: &str = "ttspico-sys";
const FOLDER: &str = "build/pico/lang";
const NOTICE: &str = "build/pico/lib/NOTICE";

/// The voices: our tag, the file of the text analysis, the file of the speech generation.
const VOICES: [(&str, &str, &str); 6] = [
    ("en-GB", "en-GB_ta.bin", "en-GB_kh0_sg.bin"),
    ("en-US", "en-US_ta.bin", "en-US_lh0_sg.bin"),
    ("de", "de-DE_ta.bin", "de-DE_gl0_sg.bin"),
    ("es", "es-ES_ta.bin", "es-ES_zl0_sg.bin"),
    ("fr", "fr-FR_ta.bin", "fr-FR_nk0_sg.bin"),
    ("it", "it-IT_ta.bin", "it-IT_cm0_sg.bin"),
];

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed=src/voice/build.rs");
    println!("cargo::rerun-if-changed=Cargo.lock");
    let package = package_folder()?;
    let mut list = String::new();
    writeln!(
        list,
        "pub(super) const NOTICE: &str = {};",
        embedded("str", &package.join(NOTICE))?
    )?;
    writeln!(
        list,
        "pub(super) const EMBEDDED: [Embedded; {}] = [",
        VOICES.len()
    )?;
    for (tag, analysis, generation) in VOICES {
        writeln!(
            list,
            "    Embedded {{ tag: {tag:?}, analysis: {}, generation: {} }},",
            part(&package, analysis)?,
            part(&package, generation)?
        )?;
    }
    writeln!(list, "];")?;
    let out = PathBuf::from(env::var("OUT_DIR")?).join("voices.rs");
    fs::write(out, list)?;
    Ok(())
}

/// One language file: its name, its hash, its bytes.
fn part(package: &Path, name: &str) -> Result<String, Box<dyn Error>> {
    let path = package.join(FOLDER).join(name);
    let bytes = fs::read(&path).map_err(|cause| format!("{}: {cause}", path.display()))?;
    let mut hash = String::new();
    for byte in Sha256::digest(&bytes) {
        write!(hash, "{byte:02x}")?;
    }
    Ok(format!(
        "Part {{ name: {name:?}, sha256: {hash:?}, bytes: {} }}",
        embedded("bytes", &path)?
    ))
}

fn embedded(kind: &str, path: &Path) -> Result<String, Box<dyn Error>> {
    let path = path.to_str().ok_or("the package's path is not Unicode")?;
    println!("cargo::rerun-if-changed={path}");
    let call = if kind == "str" {
        "include_str"
    } else {
        "include_bytes"
    };
    Ok(format!("{call}!({path:?})"))
}

/// Where cargo keeps the package.
///
/// Cargo is asked about a package of our own making that needs nothing but this one: asked about the whole project it wants the
/// packages of our tests too, and those are not there yet where somebody only builds the program.
fn package_folder() -> Result<PathBuf, Box<dyn Error>> {
    let folder = PathBuf::from(env::var("OUT_DIR")?).join("asking");
    fs::create_dir_all(folder.join("src"))?;
    fs::write(folder.join("src/lib.rs"), "")?;
    fs::copy(
        Path::new(&env::var("CARGO_MANIFEST_DIR")?).join("Cargo.lock"),
        folder.join("Cargo.lock"),
    )?;
    let manifest = folder.join("Cargo.toml");
    fs::write(
        &manifest,
        format!(
            "[package]\nname = \"asking\"\nversion = \"0.0.0\"\nedition = \"2024\"\n\n[workspace]\n\n[dependencies]\n{PACKAGE} = \"*\"\n"
        ),
    )?;
    let cargo = env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let asked = Command::new(cargo)
        .args(["metadata", "--format-version=1", "--offline"])
        .arg("--filter-platform")
        .arg(env::var("TARGET")?)
        .arg("--manifest-path")
        .arg(&manifest)
        .current_dir(env::var("CARGO_MANIFEST_DIR")?)
        .output()?;
    if !asked.status.success() {
        let told = String::from_utf8_lossy(&asked.stderr).into_owned();
        return Err(format!("cargo metadata failed, so the voices cannot be found: {told}").into());
    }
    let answer: Value = serde_json::from_slice(&asked.stdout)?;
    let manifest = answer["packages"]
        .as_array()
        .into_iter()
        .flatten()
        .find(|package| package["name"] == PACKAGE)
        .and_then(|package| package["manifest_path"].as_str())
        .ok_or_else(|| format!("cargo metadata does not list the package {PACKAGE}"))?;
    Path::new(manifest)
        .parent()
        .map(Path::to_path_buf)
        .ok_or_else(|| "a manifest without a folder".into())
}
