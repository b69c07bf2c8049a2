//! Which letters a voice can read, and what becomes of the others.

/// What becomes of one character of a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reading {
    /// It is a letter that every voice reads.
    Letter(char),
    /// It is read as other letters.
    Letters(&'static str),
    /// It is a digit.
    Digit(char),
    /// It makes a pause: one of `.`, `,`, `?`, `!`, `:`, `;`.
    Pause(char),
    /// It joins or parts words.
    Gap,
    /// It is an apostrophe.
    Apostrophe,
    /// It is a hyphen.
    Hyphen,
    /// The sign of a suit, by the letter of its code.
    Suit(char),
    /// It leaves no trace.
    Nothing,
}

/// How a character is read.
pub(super) fn reading(c: char) -> Reading {
    match c {
        'a'..='z' | 'A'..='Z' => Reading::Letter(c),
        '0'..='9' => Reading::Digit(c),
        // The letters of western Europe.
        'À'..='Ö' | 'Ø'..='ö' | 'ø'..='ÿ' | 'œ' | 'Œ' => Reading::Letter(c),
        '.' | ',' | '?' | '!' | ':' | ';' => Reading::Pause(c),
        '…' => Reading::Pause('.'),
        '–' | '—' | '(' | ')' => Reading::Pause(','),
        '\'' | '\u{2018}' | '\u{2019}' => Reading::Apostrophe,
        '-' | '\u{2010}' | '\u{2011}' | '\u{2212}' => Reading::Hyphen,
        '♣' | '♧' => Reading::Suit('C'),
        '♥' | '♡' => Reading::Suit('H'),
        '♠' | '♤' => Reading::Suit('S'),
        '♦' | '♢' => Reading::Suit('D'),
        c => other_letter(c),
    }
}

/// Letters of neighbouring languages lose their marks; everything else is a gap, or nothing if it shows nothing.
fn other_letter(c: char) -> Reading {
    let plain = match c {
        'Ā' | 'Ă' | 'Ą' => "A",
        'ā' | 'ă' | 'ą' => "a",
        'Ć' | 'Ĉ' | 'Ċ' | 'Č' => "C",
        'ć' | 'ĉ' | 'ċ' | 'č' => "c",
        'Ď' | 'Đ' => "D",
        'ď' | 'đ' => "d",
        'Ē' | 'Ĕ' | 'Ė' | 'Ę' | 'Ě' => "E",
        'ē' | 'ĕ' | 'ė' | 'ę' | 'ě' => "e",
        'Ğ' | 'Ģ' => "G",
        'ğ' | 'ģ' => "g",
        'Ī' | 'Į' | 'İ' => "I",
        'ī' | 'į' | 'ı' => "i",
        'Ł' | 'Ľ' | 'Ĺ' => "L",
        'ł' | 'ľ' | 'ĺ' => "l",
        'Ń' | 'Ň' => "N",
        'ń' | 'ň' => "n",
        'Ō' | 'Ő' => "O",
        'ō' | 'ő' => "o",
        'Ř' | 'Ŕ' => "R",
        'ř' | 'ŕ' => "r",
        'Ś' | 'Ş' | 'Š' | 'Ș' => "S",
        'ś' | 'ş' | 'š' | 'ș' => "s",
        'Ť' | 'Ţ' | 'Ț' => "T",
        'ť' | 'ţ' | 'ț' => "t",
        'Ū' | 'Ů' | 'Ű' | 'Ų' => "U",
        'ū' | 'ů' | 'ű' | 'ų' => "u",
        'Ź' | 'Ż' | 'Ž' => "Z",
        'ź' | 'ż' | 'ž' => "z",
        // Marks that go on the letter before, marks of direction, and what has no width: gone without a gap.
        '\u{300}'..='\u{36f}' | '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' => {
            return Reading::Nothing;
        }
        '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{ad}' | '\u{fe00}'..='\u{fe0f}' => {
            return Reading::Nothing;
        }
        _ => return Reading::Gap,
    };
    Reading::Letters(plain)
}
