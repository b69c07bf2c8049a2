//! Writes the cue sounds: `cargo run --example make_sounds` writes them into `sounds/`, with a folder as argument into that.

#[path = "../sounds/make.rs"]
mod make;

fn main() -> std::io::Result<()> {
    let folder = std::env::args()
        .nth(1)
        .unwrap_or_else(|| "sounds".to_owned());
    for name in make::NAMES {
        if let Some(wav) = make::wav(name) {
            std::fs::write(format!("{folder}/{name}.wav"), wav)?;
        }
    }
    Ok(())
}
