//! What a voice mispronounces, spelled so that it does not.

use crate::cards::Lang;

/// The text as this voice should be given it.
///
/// The British voice breathes so hard on the t of "eight" before "of" that a recogniser of speech takes it for "ace": wrong
/// for nobody but a card player. With "off" it says what British speakers say before a suit, and is understood.
pub(super) fn respelt(voice: Lang, text: &str) -> String {
    match voice {
        Lang::EnGb => ["clubs", "hearts", "spades", "diamonds"]
            .iter()
            .fold(text.to_owned(), |text, suit| {
                text.replace(&format!("ight of {suit}"), &format!("ight off {suit}"))
            }),
        Lang::EnUs | Lang::De | Lang::Es | Lang::Fr | Lang::It => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_eights_of_the_british_voice_change() {
        let said = |voice| {
            respelt(
                voice,
                "The eight of clubs, the six of clubs, eight of them.",
            )
        };
        assert_eq!(
            said(Lang::EnGb),
            "The eight off clubs, the six of clubs, eight of them."
        );
        assert_eq!(
            said(Lang::EnUs),
            "The eight of clubs, the six of clubs, eight of them."
        );
    }
}
