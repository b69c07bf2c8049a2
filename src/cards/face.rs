//! Faces: what is printed on a card.

use std::fmt;

/// A suit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Suit {
    /// ♣
    Clubs,
    /// ♥
    Hearts,
    /// ♠
    Spades,
    /// ♦
    Diamonds,
}

/// The colour a suit is printed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Colour {
    /// Hearts and diamonds.
    Red,
    /// Clubs and spades.
    Black,
}

impl Colour {
    /// Both colours, red first.
    pub const ALL: [Colour; 2] = [Colour::Red, Colour::Black];

    /// Its English word, which files use too.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Colour::Red => "red",
            Colour::Black => "black",
        }
    }
}

impl Suit {
    /// All suits in the order of [`Face::all52`]: clubs, hearts, spades, diamonds.
    pub const ALL: [Suit; 4] = [Suit::Clubs, Suit::Hearts, Suit::Spades, Suit::Diamonds];

    /// The colour it is printed in.
    #[must_use]
    pub fn colour(self) -> Colour {
        match self {
            Suit::Hearts | Suit::Diamonds => Colour::Red,
            Suit::Clubs | Suit::Spades => Colour::Black,
        }
    }

    /// The other suit of the same colour.
    #[must_use]
    pub fn partner(self) -> Suit {
        match self {
            Suit::Clubs => Suit::Spades,
            Suit::Hearts => Suit::Diamonds,
            Suit::Spades => Suit::Clubs,
            Suit::Diamonds => Suit::Hearts,
        }
    }

    /// The letter of the short code: `C`, `H`, `S`, `D`.
    #[must_use]
    pub fn letter(self) -> char {
        match self {
            Suit::Clubs => 'C',
            Suit::Hearts => 'H',
            Suit::Spades => 'S',
            Suit::Diamonds => 'D',
        }
    }

    /// The printed sign: `♣`, `♥`, `♠`, `♦`.
    #[must_use]
    pub fn symbol(self) -> char {
        match self {
            Suit::Clubs => '♣',
            Suit::Hearts => '♥',
            Suit::Spades => '♠',
            Suit::Diamonds => '♦',
        }
    }

    /// Its English word, which files use too: `clubs`.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Suit::Clubs => "clubs",
            Suit::Hearts => "hearts",
            Suit::Spades => "spades",
            Suit::Diamonds => "diamonds",
        }
    }

    /// The suit of a letter in either case, or of a sign, filled or outlined.
    #[must_use]
    pub fn from_sign(sign: char) -> Option<Suit> {
        match sign {
            'c' | 'C' | '♣' | '♧' => Some(Suit::Clubs),
            'h' | 'H' | '♥' | '♡' => Some(Suit::Hearts),
            's' | 'S' | '♠' | '♤' => Some(Suit::Spades),
            'd' | 'D' | '♦' | '♢' => Some(Suit::Diamonds),
            _ => None,
        }
    }
}

/// A value, ace = 1 to king = 13.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Value(pub u8);

impl Value {
    /// The ace.
    pub const ACE: Value = Value(1);
    /// The jack.
    pub const JACK: Value = Value(11);
    /// The king.
    pub const KING: Value = Value(13);

    /// The English words of the values, which files use too.
    pub const WORDS: [&'static str; 13] = [
        "ace", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "jack",
        "queen", "king",
    ];

    /// A value from its number, 1..=13.
    #[must_use]
    pub fn new(number: u8) -> Option<Value> {
        (1..=13).contains(&number).then_some(Value(number))
    }

    /// Ace to king.
    pub fn all() -> impl Iterator<Item = Value> {
        (1..=13).map(Value)
    }

    /// Its number, ace = 1 to king = 13.
    #[must_use]
    pub fn number(self) -> u8 {
        self.0
    }

    /// Whether it is a jack, queen or king.
    #[must_use]
    pub fn is_court(self) -> bool {
        self >= Value::JACK
    }

    /// As the short code writes it: `A`, `2` … `10`, `J`, `Q`, `K`.
    #[must_use]
    pub fn code(self) -> String {
        match self.0 {
            1 => "A".to_owned(),
            11 => "J".to_owned(),
            12 => "Q".to_owned(),
            13 => "K".to_owned(),
            number => number.to_string(),
        }
    }

    /// Reads the value part of a short code in either case; `T` is a ten.
    #[must_use]
    pub fn from_code(text: &str) -> Option<Value> {
        let number = match text {
            "a" | "A" => 1,
            "2" => 2,
            "3" => 3,
            "4" => 4,
            "5" => 5,
            "6" => 6,
            "7" => 7,
            "8" => 8,
            "9" => 9,
            "10" | "t" | "T" => 10,
            "j" | "J" => 11,
            "q" | "Q" => 12,
            "k" | "K" => 13,
            _ => return None,
        };
        Some(Value(number))
    }
}

/// What is printed on a card.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Face {
    /// One of the 52.
    Standard(Value, Suit),
    /// A face the file defines, by its code.
    Custom(String),
}

impl Face {
    /// The 52 faces, always in this order: clubs, hearts, spades, diamonds, each from ace to king.
    #[must_use]
    pub fn all52() -> Vec<Face> {
        Suit::ALL
            .into_iter()
            .flat_map(|suit| Value::all().map(move |value| Face::Standard(value, suit)))
            .collect()
    }

    /// The face of the same value and colour; custom faces have theirs from the file.
    #[must_use]
    pub fn mate(&self) -> Option<Face> {
        match self {
            Face::Standard(value, suit) => Some(Face::Standard(*value, suit.partner())),
            Face::Custom(_) => None,
        }
    }

    /// The short code: `7H`, `10H`; a custom face's own code.
    #[must_use]
    pub fn short(&self) -> String {
        match self {
            Face::Standard(value, suit) => format!("{}{}", value.code(), suit.letter()),
            Face::Custom(code) => code.clone(),
        }
    }

    /// With the suit's sign: `7♥`; a custom face's own code.
    #[must_use]
    pub fn symbol(&self) -> String {
        match self {
            Face::Standard(value, suit) => format!("{}{}", value.code(), suit.symbol()),
            Face::Custom(code) => code.clone(),
        }
    }

    /// Its value, if it is one of the 52.
    #[must_use]
    pub fn value(&self) -> Option<Value> {
        match self {
            Face::Standard(value, _) => Some(*value),
            Face::Custom(_) => None,
        }
    }

    /// Its suit, if it is one of the 52.
    #[must_use]
    pub fn suit(&self) -> Option<Suit> {
        match self {
            Face::Standard(_, suit) => Some(*suit),
            Face::Custom(_) => None,
        }
    }
}

impl fmt::Display for Face {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.short())
    }
}
