//! Lines of patter: their key words, and how close a typed line comes.
//!
//! The key words of a line are its words without the small ones (articles, pronouns, prepositions, forms of "to
//! be" and "to have"); a line made of small words only keeps them all. A typed line is right when at least 60 % of
//! the key words are there in the line's order, small typing mistakes forgiven: one in a word of four letters or more,
//! two in a word of eight or more. Nothing else that is typed counts against it.

use super::prompt::Word;
use crate::cards::Lang;

/// So many of a hundred key words are enough.
pub(super) const ENOUGH_PERCENT: usize = 60;

const SMALL_EN: &str = "a an the and or but if so of to in on at by for from with as is are was were be been am do does did has have had i you he she it we they me him her us them my your his its our their this that these those there here not no will would can could shall should may might just then than too very up down out off over under into onto about what which who when where how all any some one let lets im youre its ill youll dont";
const SMALL_DE: &str = "der die das den dem des ein eine einen einem einer und oder aber wenn so von zu zum zur in im an am auf aus bei mit nach für als ist sind war waren sein bin hat haben hatte ich du er sie es wir ihr mich dich ihn uns euch mir dir ihm ihnen mein dein sein nicht kein wird kann hier da dann auch noch nur was wer wie wo";
const SMALL_ES: &str = "el la los las un una unos unas y o pero si de del a al en por para con como es son era ser está están ha han he yo tú él ella nosotros ellos me te se lo le nos les mi tu su este esta esto ese esa eso no que qué quien cuando donde más muy ya aquí";
const SMALL_FR: &str = "le la les l un une des du de d et ou mais si à au aux en dans sur par pour avec comme est sont était être a ont ai je j tu il elle nous vous ils elles me m te t se s lui leur mon ma mes ton ta tes son sa ses ce c cette ces ne n pas que qu qui quand où plus très y";
const SMALL_IT: &str = "il lo la i gli le l un uno una e o ma se di del della dei a al alla in nel nella su per con come è sono era essere ha hanno ho io tu lui lei noi voi loro mi ti si ci vi mio tuo suo questo questa quello non che chi quando dove più molto qui";

/// Lower case, without signs and common accents.
pub(super) fn plain(word: &str) -> String {
    word.chars()
        .flat_map(char::to_lowercase)
        .filter_map(|c| match c {
            'à' | 'á' | 'â' | 'ä' => Some('a'),
            'è' | 'é' | 'ê' | 'ë' => Some('e'),
            'ì' | 'í' | 'î' | 'ï' => Some('i'),
            'ò' | 'ó' | 'ô' | 'ö' => Some('o'),
            'ù' | 'ú' | 'û' | 'ü' => Some('u'),
            'ç' => Some('c'),
            'ñ' => Some('n'),
            c if c.is_alphanumeric() => Some(c),
            _ => None,
        })
        .collect()
}

fn small_words(lang: Lang) -> impl Iterator<Item = String> {
    let words = match lang {
        Lang::EnGb | Lang::EnUs => SMALL_EN,
        Lang::De => SMALL_DE,
        Lang::Es => SMALL_ES,
        Lang::Fr => SMALL_FR,
        Lang::It => SMALL_IT,
    };
    words.split(' ').map(plain)
}

/// The words of a text, plain, in order.
pub(super) fn words(text: &str) -> Vec<String> {
    text.split(|c: char| c.is_whitespace() || matches!(c, '-' | '–' | '—' | '/' | '…'))
        .map(plain)
        .filter(|word| !word.is_empty())
        .collect()
}

/// The key words of a text, plain, in order.
pub(super) fn key_words(text: &str, lang: Lang) -> Vec<String> {
    let all = words(text);
    let small: Vec<String> = small_words(lang).collect();
    let keys: Vec<String> = all
        .iter()
        .filter(|word| !small.contains(word))
        .cloned()
        .collect();
    if keys.is_empty() { all } else { keys }
}

/// Whether a typed word is the wanted one, small typing mistakes forgiven.
pub(super) fn close(typed: &str, wanted: &str) -> bool {
    if typed == wanted {
        return true;
    }
    // Digits are never a typing mistake: 6 is not 7.
    if typed
        .chars()
        .chain(wanted.chars())
        .any(|c| c.is_ascii_digit())
    {
        return false;
    }
    let forgiven = match wanted.chars().count() {
        0..=3 => 0,
        4..=7 => 1,
        _ => 2,
    };
    distance(typed, wanted) <= forgiven
}

/// The least number of letters put in, left out, changed or swapped with their neighbour (Damerau 1964; the form that
/// edits no stretch twice).
fn distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let width = b.len() + 1;
    let mut table = vec![0usize; (a.len() + 1) * width];
    for i in 0..=a.len() {
        for j in 0..=b.len() {
            table[i * width + j] = if i == 0 || j == 0 {
                i + j
            } else {
                let change = usize::from(a[i - 1] != b[j - 1]);
                let mut least = (table[(i - 1) * width + j] + 1)
                    .min(table[i * width + j - 1] + 1)
                    .min(table[(i - 1) * width + j - 1] + change);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    least = least.min(table[(i - 2) * width + j - 2] + 1);
                }
                least
            };
        }
    }
    table[a.len() * width + b.len()]
}

/// How many of the wanted words are typed, in order: the longest common run of both, with gaps.
pub(super) fn in_order(typed: &[String], wanted: &[String]) -> usize {
    let width = wanted.len() + 1;
    let mut table = vec![0usize; (typed.len() + 1) * width];
    for i in 1..=typed.len() {
        for j in 1..=wanted.len() {
            table[i * width + j] = if close(&typed[i - 1], &wanted[j - 1]) {
                table[(i - 1) * width + j - 1] + 1
            } else {
                table[(i - 1) * width + j].max(table[i * width + j - 1])
            };
        }
    }
    table[typed.len() * width + wanted.len()]
}

/// Whether enough of the line's key words are typed.
pub(super) fn right_line(typed: &str, line: &str, lang: Lang) -> bool {
    let wanted = key_words(line, lang);
    !wanted.is_empty() && in_order(&words(typed), &wanted) * 100 >= wanted.len() * ENOUGH_PERCENT
}

/// A line against what was typed, word by word: the line's own words, the missing and the added ones. A word typed in
/// the place of another is shown as changed.
pub(super) fn differences(typed: &str, line: &str) -> Vec<Word> {
    let split =
        |text: &str| -> Vec<String> { text.split_whitespace().map(str::to_owned).collect() };
    let (typed, line) = (split(typed), split(line));
    let (a, b): (Vec<String>, Vec<String>) = (
        typed.iter().map(|w| plain(w)).collect(),
        line.iter().map(|w| plain(w)).collect(),
    );
    let width = b.len() + 1;
    // table[i][j]: the longest common run of what follows the first i typed and j real words.
    let mut table = vec![0usize; (a.len() + 1) * width];
    for i in (0..a.len()).rev() {
        for j in (0..b.len()).rev() {
            table[i * width + j] = if close(&a[i], &b[j]) {
                table[(i + 1) * width + j + 1] + 1
            } else {
                table[(i + 1) * width + j].max(table[i * width + j + 1])
            };
        }
    }
    let (mut i, mut j) = (0, 0);
    let (mut added, mut missed) = (Vec::new(), Vec::new());
    let mut found = Vec::new();
    while i < a.len() || j < b.len() {
        if i < a.len() && j < b.len() && close(&a[i], &b[j]) {
            settle(&mut found, &mut added, &mut missed);
            found.push(Word::Same(line[j].clone()));
            i += 1;
            j += 1;
        } else if j < b.len()
            && (i == a.len() || table[i * width + j + 1] >= table[(i + 1) * width + j])
        {
            missed.push(line[j].clone());
            j += 1;
        } else {
            added.push(typed[i].clone());
            i += 1;
        }
    }
    settle(&mut found, &mut added, &mut missed);
    found
}

/// Between two words that agree: one word for one word is a change, the rest is missing or added.
fn settle(found: &mut Vec<Word>, added: &mut Vec<String>, missed: &mut Vec<String>) {
    if added.len() == missed.len() {
        found.extend(
            missed
                .drain(..)
                .zip(added.drain(..))
                .map(|(line, typed)| Word::Changed(line, typed)),
        );
    } else {
        found.extend(missed.drain(..).map(Word::Missed));
        found.extend(added.drain(..).map(Word::Added));
    }
}
