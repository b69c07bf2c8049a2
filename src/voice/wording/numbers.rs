//! Whole numbers in words, in each language.
//!
//! The forms are the ones of each language's grammar books, from memory: British "a hundred and five" is kept to "one hundred and
//! five", American leaves out the "and"; French counts in France's way (soixante-dix, quatre-vingts). Numbers of a million
//! and more are read digit by digit.

use crate::cards::Lang;

/// A whole number in words: 21 is "twenty-one", −3 is "minus three".
#[must_use]
pub fn number(lang: Lang, n: i64) -> String {
    let size = n.unsigned_abs();
    let words = match u32::try_from(size) {
        Ok(small) if small < 1_000_000 => small_number(lang, small),
        _ => digits(lang, &size.to_string()),
    };
    if n < 0 {
        let minus = match lang {
            Lang::EnGb | Lang::EnUs | Lang::De => "minus",
            Lang::Es => "menos",
            Lang::Fr => "moins",
            Lang::It => "meno",
        };
        format!("{minus} {words}")
    } else {
        words
    }
}

/// Digits one by one.
pub(super) fn digits(lang: Lang, digits: &str) -> String {
    let words: Vec<String> = digits
        .chars()
        .filter_map(|c| c.to_digit(10))
        .map(|d| small_number(lang, d))
        .collect();
    words.join(" ")
}

/// A place in a row: "first", "twenty-first". English only; other languages say the number.
pub(super) fn ordinal(lang: Lang, n: u32) -> String {
    let plain = small_number(lang, n);
    match lang {
        Lang::EnGb | Lang::EnUs => {
            let at = plain.rfind([' ', '-']).map_or(0, |i| i + 1);
            let (before, last) = plain.split_at(at);
            let last = match last {
                "one" => "first".to_owned(),
                "two" => "second".to_owned(),
                "three" => "third".to_owned(),
                "five" => "fifth".to_owned(),
                "eight" => "eighth".to_owned(),
                "nine" => "ninth".to_owned(),
                "twelve" => "twelfth".to_owned(),
                tens if tens.ends_with('y') => format!("{}ieth", &tens[..tens.len() - 1]),
                other => format!("{other}th"),
            };
            format!("{before}{last}")
        }
        Lang::De | Lang::Es | Lang::Fr | Lang::It => plain,
    }
}

/// A number below a million.
fn small_number(lang: Lang, n: u32) -> String {
    match lang {
        Lang::EnGb => english(n, " and "),
        Lang::EnUs => english(n, " "),
        Lang::De => german(n, "eins"),
        Lang::Es => spanish(n),
        Lang::Fr => french(n, true),
        Lang::It => italian(n),
    }
}

/// The word at a place of a list; the lists hold every place that is asked for.
fn word(list: &str, at: u32) -> &str {
    usize::try_from(at)
        .ok()
        .and_then(|at| list.split(' ').nth(at))
        .unwrap_or("")
}

/// Thousands before, the rest behind.
fn joined(before: &str, join: &str, rest: &str) -> String {
    if rest.is_empty() {
        before.to_owned()
    } else {
        format!("{before}{join}{rest}")
    }
}

fn english(n: u32, and: &str) -> String {
    const ONES: &str = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen \
        sixteen seventeen eighteen nineteen";
    const TENS: &str = "- - twenty thirty forty fifty sixty seventy eighty ninety";
    let rest = |rest: u32| {
        if rest == 0 {
            String::new()
        } else {
            english(rest, and)
        }
    };
    match n {
        0..20 => word(ONES, n).to_owned(),
        20..100 => joined(word(TENS, n / 10), "-", &rest(n % 10)),
        100..1000 => joined(
            &format!("{} hundred", word(ONES, n / 100)),
            and,
            &rest(n % 100),
        ),
        _ => {
            let join = if n % 1000 < 100 { and } else { " " };
            joined(
                &format!("{} thousand", english(n / 1000, and)),
                join,
                &rest(n % 1000),
            )
        }
    }
}

/// `one` is how a last 1 is said: "eins" where the number ends, "ein" before another word.
fn german(n: u32, one: &str) -> String {
    const ONES: &str = "null ein zwei drei vier fünf sechs sieben acht neun zehn elf zwölf dreizehn vierzehn fünfzehn \
        sechzehn siebzehn achtzehn neunzehn";
    const TENS: &str = "- - zwanzig dreißig vierzig fünfzig sechzig siebzig achtzig neunzig";
    let rest = |rest: u32| {
        if rest == 0 {
            String::new()
        } else {
            german(rest, one)
        }
    };
    match n {
        1 => one.to_owned(),
        0..20 => word(ONES, n).to_owned(),
        20..100 => match n % 10 {
            0 => word(TENS, n / 10).to_owned(),
            ones => format!("{}und{}", word(ONES, ones), word(TENS, n / 10)),
        },
        100..1000 => joined(
            &format!("{}hundert", word(ONES, n / 100)),
            "",
            &rest(n % 100),
        ),
        _ => joined(
            &format!("{}tausend", german(n / 1000, "ein")),
            "",
            &rest(n % 1000),
        ),
    }
}

fn spanish(n: u32) -> String {
    const ONES: &str = "cero uno dos tres cuatro cinco seis siete ocho nueve diez once doce trece catorce quince \
        dieciséis diecisiete dieciocho diecinueve veinte veintiuno veintidós veintitrés veinticuatro veinticinco \
        veintiséis veintisiete veintiocho veintinueve";
    const TENS: &str = "- - - treinta cuarenta cincuenta sesenta setenta ochenta noventa";
    const HUNDREDS: &str = "- ciento doscientos trescientos cuatrocientos quinientos seiscientos setecientos ochocientos \
        novecientos";
    let rest = |rest: u32| {
        if rest == 0 {
            String::new()
        } else {
            spanish(rest)
        }
    };
    match n {
        0..30 => word(ONES, n).to_owned(),
        30..100 => joined(word(TENS, n / 10), " y ", &rest(n % 10)),
        100 => "cien".to_owned(),
        101..1000 => joined(word(HUNDREDS, n / 100), " ", &rest(n % 100)),
        _ => {
            let thousands = match n / 1000 {
                1 => "mil".to_owned(),
                // Before a noun the last "uno" is shortened.
                many => format!("{} mil", shortened(&spanish(many))),
            };
            joined(&thousands, " ", &rest(n % 1000))
        }
    }
}

/// Spanish before a noun: veintiún, treinta y un.
fn shortened(words: &str) -> String {
    if let Some(before) = words.strip_suffix("veintiuno") {
        format!("{before}veintiún")
    } else if let Some(before) = words.strip_suffix("uno") {
        format!("{before}un")
    } else {
        words.to_owned()
    }
}

/// `last` tells whether nothing follows: quatre-vingts, deux cents, but quatre-vingt mille.
fn french(n: u32, last: bool) -> String {
    const ONES: &str = "zéro un deux trois quatre cinq six sept huit neuf dix onze douze treize quatorze quinze seize \
        dix-sept dix-huit dix-neuf";
    const TENS: &str = "- - vingt trente quarante cinquante soixante";
    let rest = |rest: u32| {
        if rest == 0 {
            String::new()
        } else {
            french(rest, last)
        }
    };
    match n {
        0..20 => word(ONES, n).to_owned(),
        20..70 => match n % 10 {
            0 => word(TENS, n / 10).to_owned(),
            1 => format!("{} et un", word(TENS, n / 10)),
            ones => format!("{}-{}", word(TENS, n / 10), word(ONES, ones)),
        },
        71 => "soixante et onze".to_owned(),
        70..80 => format!("soixante-{}", word(ONES, n - 60)),
        80 => if last {
            "quatre-vingts"
        } else {
            "quatre-vingt"
        }
        .to_owned(),
        81..100 => format!("quatre-vingt-{}", word(ONES, n - 80)),
        100..200 => joined("cent", " ", &rest(n % 100)),
        200..1000 => {
            let plural = if n.is_multiple_of(100) && last {
                "s"
            } else {
                ""
            };
            joined(
                &format!("{} cent{plural}", word(ONES, n / 100)),
                " ",
                &rest(n % 100),
            )
        }
        _ => {
            let thousands = match n / 1000 {
                1 => "mille".to_owned(),
                many => format!("{} mille", french(many, false)),
            };
            joined(&thousands, " ", &rest(n % 1000))
        }
    }
}

fn italian(n: u32) -> String {
    const ONES: &str = "zero uno due tre quattro cinque sei sette otto nove dieci undici dodici tredici quattordici \
        quindici sedici diciassette diciotto diciannove";
    const TENS: &str = "- - venti trenta quaranta cinquanta sessanta settanta ottanta novanta";
    match n {
        0..20 => word(ONES, n).to_owned(),
        20..100 => {
            let tens = word(TENS, n / 10);
            match n % 10 {
                0 => tens.to_owned(),
                // Before uno and otto the tens lose their vowel; a last tre has an accent.
                ones @ (1 | 8) => format!("{}{}", &tens[..tens.len() - 1], word(ONES, ones)),
                3 => format!("{tens}tré"),
                ones => format!("{tens}{}", word(ONES, ones)),
            }
        }
        100..1000 => {
            let hundreds = match n / 100 {
                1 => "cento".to_owned(),
                many => format!("{}cento", word(ONES, many)),
            };
            match n % 100 {
                0 => hundreds,
                3 => format!("{hundreds}tré"),
                // Before otto and ottanta they lose it too.
                rest @ (8 | 80..90) => {
                    format!("{}{}", &hundreds[..hundreds.len() - 1], italian(rest))
                }
                rest => format!("{hundreds}{}", italian(rest)),
            }
        }
        _ => {
            let thousands = match n / 1000 {
                1 => "mille".to_owned(),
                // The accent is on the last syllable of all.
                many => format!("{}mila", italian(many).replace("tré", "tre")),
            };
            match n % 1000 {
                0 => thousands,
                3 => format!("{thousands}tré"),
                rest => format!("{thousands}{}", italian(rest)),
            }
        }
    }
}
