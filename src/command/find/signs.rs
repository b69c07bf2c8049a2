//! Patterns as a routine's file writes them.

use crate::proof::find::Canvas;

/// The sign of each class: the first letter of its label that no other class has taken, as a capital; a number where all are taken.
pub(super) fn signs(canvas: &Canvas) -> Vec<String> {
    let mut signs: Vec<String> = Vec::new();
    for (n, kind) in canvas.kinds.iter().enumerate() {
        let mut letters = kind
            .label
            .chars()
            .filter(char::is_ascii_alphabetic)
            .map(|letter| letter.to_ascii_uppercase().to_string());
        let sign = letters
            .find(|letter| !signs.contains(letter))
            .unwrap_or_else(|| (n + 1).to_string());
        signs.push(sign);
    }
    signs
}

/// The pattern of each pile: its name, and its signs from the top.
pub(super) fn patterns<'a>(
    canvas: &'a Canvas,
    signs: &[String],
    pattern: &[u8],
) -> Vec<(&'a str, String)> {
    let mut classes = pattern.iter();
    canvas
        .piles
        .iter()
        .map(|(pile, up)| {
            let words: Vec<String> = up
                .iter()
                .zip(classes.by_ref())
                .map(|(up, class)| {
                    let sign = signs.get(usize::from(*class)).map_or("", String::as_str);
                    format!("{sign}{}", if *up { "^" } else { "" })
                })
                .collect();
            (canvas.routine().pile_name(*pile), words.join(" "))
        })
        .collect()
}

/// What the signs mean, as a file says it: `{R: red, B: black}`, only those of a pattern.
pub(super) fn meanings(canvas: &Canvas, signs: &[String], pattern: &str) -> String {
    let pack = &canvas.routine().pack;
    let mut meanings = Vec::new();
    for (sign, kind) in signs.iter().zip(&canvas.kinds) {
        let used = pattern
            .split(' ')
            .any(|word| word.trim_end_matches('^') == sign);
        if !used {
            continue;
        }
        let plain = pack.find_class(&kind.label) == Some((canvas.class, kind.class));
        let label = if plain {
            kind.label.clone()
        } else {
            format!("{}={}", pack.trait_name(canvas.class), kind.label)
        };
        meanings.push(format!("{sign}: {label}"));
    }
    format!("{{{}}}", meanings.join(", "))
}

/// The piles of a pattern as lines of a file.
pub(super) fn lines(canvas: &Canvas, signs: &[String], pattern: &[u8]) -> Vec<String> {
    patterns(canvas, signs, pattern)
        .into_iter()
        .map(|(pile, pattern)| {
            let meanings = meanings(canvas, signs, &pattern);
            format!("{pile}: {{pattern: \"{pattern}\", where: {meanings}}}")
        })
        .collect()
}
