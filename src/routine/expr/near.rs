//! The nearest name to one that does not exist.

/// The candidate that a slip of the fingers most likely meant: the one reached by the fewest letters added, dropped,
/// changed, or swapped with their neighbour, if that is at most a third of the letters (and at least one is allowed).
/// Of candidates equally near, the first.
///
/// ```
/// use allroads::routine::nearest;
/// assert_eq!(nearest("nunber", ["colour", "number"]), Some("number"));
/// assert_eq!(nearest("elephant", ["colour", "number"]), None);
/// ```
#[must_use]
pub fn nearest<'a>(wrong: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wrong: Vec<char> = wrong.to_lowercase().chars().take(64).collect();
    let allowed = (wrong.len() / 3).max(1);
    let mut best: Option<(usize, &str)> = None;
    for candidate in candidates {
        let other: Vec<char> = candidate.to_lowercase().chars().take(64).collect();
        let far = distance(&wrong, &other);
        if far <= allowed && far < other.len() && best.is_none_or(|(least, _)| far < least) {
            best = Some((far, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Optimal string alignment distance, row by row.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.iter().enumerate() {
        let mut row = vec![i + 1];
        for (j, y) in b.iter().enumerate() {
            let mut least = (last[j] + usize::from(x != y))
                .min(last[j + 1] + 1)
                .min(row[j] + 1);
            if i > 0 && j > 0 && *x == b[j - 1] && a[i - 1] == *y {
                least = least.min(before[j - 1] + 1);
            }
            row.push(least);
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}
