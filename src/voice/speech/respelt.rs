//! What a voice mispronounces, spelled so that it does not.

use crate::cards::Lang;

/// The text as this voice should be given it.
///
/// Both English voices breathe so hard on the t of "eight" before "of" that a recogniser of speech takes it for "ace": wrong
/// for nobody but a card player. With "off" they say what many people say before a suit, and are understood.
pub(super) fn respelt(voice: Lang, text: &str) -> String {
    match voice {
        Lang::EnGb | Lang::EnUs => ["clubs", "hearts", "spades", "diamonds"]
            .iter()
            .fold(text.to_owned(), |text, suit| {
                text.replace(&format!("ight of {suit}"), &format!("ight off {suit}"))
            }),
        Lang::De | Lang::Es | Lang::Fr | Lang::It => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_eights_of_the_english_voices_change() {
        let said = |voice| {
            respelt(
                voice,
                "The eight of clubs, the six of clubs, eight of them.",
            )
        };
        let changed = "The eight off clubs, the six of clubs, eight of them.";
        assert_eq!([said(Lang::EnGb), said(Lang::EnUs)], [changed, changed]);
        assert_eq!(respelt(Lang::De, "eight of clubs"), "eight of clubs");
    }
}
