//! What the program and its speech process say to one another.
//!
//! The child greets with [`GREETING`]. A request is: length of the rest (u32), voice (u8, place in [`Lang::ALL`]), pitch (u8),
//! pace (u8), text (UTF-8). An answer is: kind (u8, 0 for samples, 1 for a fault), length of the rest in bytes (u32), and the
//! samples (i16) or the fault's words (UTF-8). All numbers are little-endian.

use super::Manner;
use crate::cards::Lang;
use std::io::{self, Read, Write};

/// The child's first words: whatever does not say this is not our speech process.
pub(super) const GREETING: &[u8; 20] = b"allroads speech: 1\r\n";

/// The longest text of a request, in bytes.
pub(super) const LONGEST_TEXT: usize = 4096;

/// The longest answer taken, in bytes: two minutes of samples.
const LONGEST_ANSWER: usize = 2 * 120 * super::RATE as usize + 4096;

/// What the child answers.
pub(super) type Answer = Result<Vec<i16>, String>;

/// Writes a request.
pub(super) fn ask(to: &mut impl Write, manner: Manner, text: &str) -> io::Result<()> {
    let text = text.as_bytes();
    let voice = Lang::ALL.iter().position(|lang| *lang == manner.voice);
    let voice = voice.and_then(|v| u8::try_from(v).ok()).unwrap_or(0);
    let length = u32::try_from(text.len() + 3).map_err(io::Error::other)?;
    let mut frame = Vec::with_capacity(text.len() + 7);
    frame.extend(length.to_le_bytes());
    frame.extend([voice, manner.pitch, manner.pace]);
    frame.extend(text);
    to.write_all(&frame)?;
    to.flush()
}

/// Reads a request; nothing when the program has gone.
pub(super) fn asked(from: &mut impl Read) -> io::Result<Option<(Manner, String)>> {
    let mut length = [0; 4];
    match from.read_exact(&mut length) {
        Err(end) if end.kind() == io::ErrorKind::UnexpectedEof => return Ok(None),
        read => read?,
    }
    let length = usize::try_from(u32::from_le_bytes(length)).map_err(io::Error::other)?;
    if !(3..=LONGEST_TEXT + 3).contains(&length) {
        return Err(io::Error::other("a request of impossible length"));
    }
    let mut rest = vec![0; length];
    from.read_exact(&mut rest)?;
    let voice = Lang::ALL
        .get(usize::from(rest[0]))
        .copied()
        .ok_or_else(|| io::Error::other("a request for a voice that is not there"))?;
    let manner = Manner {
        voice,
        pitch: rest[1],
        pace: rest[2],
    };
    let text = String::from_utf8(rest.split_off(3)).map_err(io::Error::other)?;
    Ok(Some((manner, text)))
}

/// Writes an answer.
pub(super) fn answer(to: &mut impl Write, answer: &Answer) -> io::Result<()> {
    let (kind, rest) = match answer {
        Ok(samples) => (0, samples.iter().flat_map(|s| s.to_le_bytes()).collect()),
        Err(words) => (1, words.clone().into_bytes()),
    };
    let length = u32::try_from(rest.len()).map_err(io::Error::other)?;
    to.write_all(&[kind])?;
    to.write_all(&length.to_le_bytes())?;
    to.write_all(&rest)?;
    to.flush()
}

/// Reads an answer.
pub(super) fn answered(from: &mut impl Read) -> io::Result<Answer> {
    let mut head = [0; 5];
    from.read_exact(&mut head)?;
    let length = u32::from_le_bytes([head[1], head[2], head[3], head[4]]);
    let length = usize::try_from(length).map_err(io::Error::other)?;
    if length > LONGEST_ANSWER {
        return Err(io::Error::other("an answer of impossible length"));
    }
    let mut rest = vec![0; length];
    from.read_exact(&mut rest)?;
    match head[0] {
        0 => Ok(Ok(rest
            .chunks_exact(2)
            .map(|s| i16::from_le_bytes([s[0], s[1]]))
            .collect())),
        1 => Ok(Err(String::from_utf8_lossy(&rest).into_owned())),
        _ => Err(io::Error::other("an answer of no kind")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_asked_and_answered_arrives() {
        let manner = Manner {
            voice: Lang::Fr,
            pitch: 112,
            pace: 90,
        };
        let mut wire = Vec::new();
        ask(&mut wire, manner, "le sept de cœur").unwrap();
        let mut from = &wire[..];
        assert_eq!(
            asked(&mut from).unwrap(),
            Some((manner, "le sept de cœur".to_owned()))
        );
        assert_eq!(asked(&mut from).unwrap(), None);
        for told in [Ok(vec![0, -1, i16::MIN, i16::MAX]), Err("no".to_owned())] {
            let mut wire = Vec::new();
            answer(&mut wire, &told).unwrap();
            assert_eq!(answered(&mut &wire[..]).unwrap(), told);
            // Cut short anywhere, it is an error and not an answer.
            for end in 0..wire.len() {
                assert!(answered(&mut &wire[..end]).is_err());
            }
        }
    }

    #[test]
    fn nonsense_is_refused_without_taking_its_length_on_trust() {
        assert!(asked(&mut &[255, 255, 255, 255, 0][..]).is_err());
        assert!(asked(&mut &[4, 0, 0, 0, 99, 0, 0, 65][..]).is_err());
        assert!(asked(&mut &[4, 0, 0, 0, 0, 0, 0, 0xff][..]).is_err());
        assert!(answered(&mut &[0, 255, 255, 255, 255][..]).is_err());
        assert!(answered(&mut &[7, 0, 0, 0, 0][..]).is_err());
    }
}
