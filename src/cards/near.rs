//! The known word nearest to one that nobody knows.

/// The known word that a slip of the fingers most likely meant: the one that the fewest letters added, dropped,
/// changed or swapped with their neighbour turn into the written one, if those are at most a third of its
/// letters (one is always allowed). Of several equally near, the first. Case counts nothing.
///
/// ```
/// use allroads::cards::nearest;
/// assert_eq!(nearest("haerts", ["clubs", "hearts"]), Some("hearts"));
/// assert_eq!(nearest("elephants", ["clubs", "hearts"]), None);
/// ```
#[must_use]
pub fn nearest<'a>(written: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let letters = |word: &str| word.to_lowercase().chars().take(64).collect::<Vec<char>>();
    let written = letters(written);
    let allowed = (written.len() / 3).max(1);
    known
        .into_iter()
        .map(|word| (slips(&written, &letters(word)), word))
        .filter(|(far, word)| *far <= allowed && *far < word.chars().count())
        .min_by_key(|(far, _)| *far)
        .map(|(_, word)| word)
}

/// Optimal string alignment: the least number of letters added, dropped, changed or swapped with their
/// neighbour, no letter touched twice (the restricted form of Damerau's distance). `row[j]` is that number between
/// the letters read so far and the first `j` letters of the other word.
fn slips(a: &[char], b: &[char]) -> usize {
    let mut two_ago: Vec<usize> = Vec::new();
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for (i, letter) in a.iter().enumerate() {
        let mut row = Vec::with_capacity(b.len() + 1);
        row.push(i + 1);
        for (j, other) in b.iter().enumerate() {
            let changed = above[j] + usize::from(letter != other);
            let mut least = changed.min(above[j + 1] + 1).min(row[j] + 1);
            if i > 0 && j > 0 && *letter == b[j - 1] && a[i - 1] == *other {
                least = least.min(two_ago[j - 1] + 1);
            }
            row.push(least);
        }
        two_ago = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn far(a: &str, b: &str) -> usize {
        let letters = |word: &str| word.chars().collect::<Vec<char>>();
        slips(&letters(a), &letters(b))
    }

    #[test]
    fn slips_are_counted_letter_by_letter() {
        for (a, b, count) in [
            ("", "", 0),
            ("", "ace", 3),
            ("ace", "ace", 0),
            ("sevn", "seven", 1),
            ("haerts", "hearts", 1),
            ("spaeds", "spades", 1),
            ("nine", "vine", 1),
            ("king", "clubs", 5),
            // The restricted form may not swap two letters and put one between them.
            ("ca", "abc", 3),
        ] {
            assert_eq!(far(a, b), count, "{a} {b}");
            assert_eq!(far(b, a), count, "{b} {a}");
        }
    }

    #[test]
    fn only_near_words_are_offered_and_the_first_of_equals() {
        assert_eq!(nearest("Sevn", ["six", "seven"]), Some("seven"));
        assert_eq!(nearest("x", ["a", "b"]), None);
        assert_eq!(nearest("bat", ["cat", "hat"]), Some("cat"));
        assert_eq!(nearest("", ["cat"]), None);
    }
}
