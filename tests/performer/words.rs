//! Questions in words, and their answers on a table.

use super::table::Walk;
use serde_json::Value;

const ORDINALS: [&str; 12] = [
    "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth",
    "eleventh", "twelfth",
];
const VALUES: [(&str, &str); 13] = [
    ("A", "ace"),
    ("2", "two"),
    ("3", "three"),
    ("4", "four"),
    ("5", "five"),
    ("6", "six"),
    ("7", "seven"),
    ("8", "eight"),
    ("9", "nine"),
    ("T", "ten"),
    ("J", "jack"),
    ("Q", "queen"),
    ("K", "king"),
];
const SUITS: [(&str, &str, &str); 4] = [
    ("C", "clubs", "black"),
    ("H", "hearts", "red"),
    ("S", "spades", "black"),
    ("D", "diamonds", "red"),
];

/// A moment of a road: the table after so many steps.
struct Moment<'a> {
    walk: &'a Walk,
    done: usize,
}

/// The answer, where this road has one: an "if" may not be true on it.
pub fn answer(walk: &Walk, done: usize, question: &str) -> Option<String> {
    let moment = Moment { walk, done };
    moment
        .remembered(question)
        .or_else(|| moment.told(question))
        .unwrap_or_else(|| moment.on_the_table(question))
}

/// The text between two others.
fn between<'q>(question: &'q str, before: &str, after: &str) -> Option<&'q str> {
    question.strip_prefix(before)?.strip_suffix(after)
}

fn ordinal(text: &str) -> Option<usize> {
    let word = ORDINALS.iter().position(|o| *o == text).map(|n| n + 1);
    word.or_else(|| {
        let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        if digits.is_empty() {
            None
        } else {
            digits.parse().ok()
        }
    })
}

fn value_and_suit(card: &str) -> (usize, usize) {
    let (value, suit) = card.split_at(card.len() - 1);
    let value = if value == "10" { "T" } else { value };
    (
        VALUES.iter().position(|(code, _)| *code == value).unwrap(),
        SUITS.iter().position(|(code, ..)| *code == suit).unwrap(),
    )
}

fn full_name(card: &str) -> String {
    let (value, suit) = value_and_suit(card);
    format!("{} of {}", VALUES[value].1, SUITS[suit].1)
}

/// The class of a card by a trait.
fn class(card: &str, by: &str) -> String {
    let (value, suit) = value_and_suit(card);
    let parity = |n: usize| if n.is_multiple_of(2) { "even" } else { "odd" };
    match by {
        "colour" => SUITS[suit].2,
        "suit" => SUITS[suit].1,
        "value" => VALUES[value].1,
        "parity" => parity(value + 1),
        "letters" => parity(
            full_name(card)
                .chars()
                .filter(|c| c.is_alphabetic())
                .count(),
        ),
        "court" => {
            if value >= 10 {
                "court"
            } else {
                "spot"
            }
        }
        _ => panic!("no class of {card} by {by}"),
    }
    .to_owned()
}

impl Moment<'_> {
    fn pile_spoken(&self, text: &str) -> Option<String> {
        self.walk
            .piles(self.done)
            .keys()
            .find(|name| {
                let spoken = name.replace(['_', '-'], " ");
                [
                    format!("the {spoken}"),
                    format!("the {spoken} pile"),
                    format!("pile {spoken}"),
                ]
                .contains(&text.to_owned())
            })
            .cloned()
    }

    /// "the third card of the packet".
    fn card_spoken(&self, text: &str) -> Option<(String, usize)> {
        let (which, pile) = text.strip_prefix("the ")?.split_once(" card of ")?;
        let pile = self.pile_spoken(pile)?;
        let place = self.place_in(&pile, which)?;
        Some((pile, place))
    }

    /// "third from the top of the packet".
    fn place_spoken(&self, text: &str) -> Option<(String, usize)> {
        if let Some(pile) = text.strip_prefix("on top of ") {
            return Some((self.pile_spoken(pile)?, 1));
        }
        if let Some(pile) = text.strip_prefix("at the bottom of ") {
            let pile = self.pile_spoken(pile)?;
            let place = self.place_in(&pile, "bottom")?;
            return Some((pile, place));
        }
        let (which, pile) = text.split_once(" from the top of ")?;
        Some((self.pile_spoken(pile)?, ordinal(which)?))
    }

    /// "top", "third", "bottom".
    fn place_in(&self, pile: &str, which: &str) -> Option<usize> {
        match which {
            "top" => Some(1),
            "bottom" => Some(self.walk.cards(self.done, pile).len()),
            _ => ordinal(which),
        }
    }

    fn card_at(&self, (pile, place): (String, usize)) -> (String, bool) {
        self.walk.cards(self.done, &pile)[place - 1].clone()
    }

    fn last(&self) -> Option<&Value> {
        self.walk.steps().get(self.done.checked_sub(1)?)
    }

    /// The value of a name by now.
    fn value(&self, name: &Value) -> Option<String> {
        // What is worked out at a step where nobody chooses is asked before it.
        let next = self.walk.steps().get(self.done).filter(|next| {
            name["kind"] == "reckoning" && next["step"] == name["step"] && next["choice"].is_null()
        });
        if let Some(next) = next {
            let value = next["remembered"].get(name["name"].as_str()?)?;
            return Some(value.as_str()?.replace(',', " "));
        }
        let value = self.last()?["remembered"].get(name["name"].as_str()?)?;
        Some(value.as_str()?.replace(',', " "))
    }

    fn names(&self) -> &[Value] {
        self.walk.0["names"].as_array().unwrap()
    }

    /// A question about what was chosen, answered or worked out.
    fn remembered(&self, question: &str) -> Option<Option<String>> {
        if question == "How many rounds have they had so far?" {
            // The gate of a part that is gone through again is called as its choice is.
            let gate = self
                .names()
                .iter()
                .find(|name| name["name"] == name["step"])?;
            return Some(self.value(gate));
        }
        let name = self.names().iter().find(|name| {
            let text = |key: &str| name[key].as_str().unwrap_or("");
            let about = text("about").trim_end_matches(['.', '?', ':']);
            let title = self
                .step_titled(|step| step["step"] == name["step"])
                .unwrap_or_default();
            let asked = if text("kind") == "reckoning" {
                vec![
                    text("asks").to_owned(),
                    format!("Work out {about}."),
                    format!("What is {about}?"),
                    format!("Work it out: what is {}?", text("name")),
                ]
            } else {
                vec![
                    format!("Remind me {about}."),
                    format!("What was {about}?"),
                    format!("You asked “{}” What was the answer?", text("asks")),
                    format!("What did they choose at “{title}”?"),
                    format!("What did they choose at “{title}”"),
                ]
            };
            asked.iter().any(|asked| asked == question)
        })?;
        Some(self.value(name))
    }

    fn step_titled(&self, wanted: impl Fn(&Value) -> bool) -> Option<String> {
        let step = self.walk.steps().iter().find(|step| wanted(step))?;
        Some(step["title"].as_str()?.trim_end_matches('.').to_owned())
    }

    /// A question about steps, patter and claims.
    fn told(&self, question: &str) -> Option<Option<String>> {
        let steps = self.walk.steps();
        if ["What comes next?", "How does it begin?"].contains(&question) {
            let next = steps.get(self.done)?;
            return Some(Some(next["title"].as_str()?.to_owned()));
        }
        // A title that asks brings its own mark.
        let said = question.trim_end_matches('?');
        if let Some(title) = between(said, "What do you say at “", "”") {
            let titled =
                |step: &&Value| step["title"].as_str().unwrap().trim_end_matches('.') == title;
            let step = steps[self.done..].iter().find(titled)?;
            return Some(Some(step["say"].as_str()?.to_owned()));
        }
        let claim = between(question, "Is this true now: ", "?")?;
        let now = match self.last() {
            Some(step) => &step["now"],
            None => &self.walk.0["start"]["now"],
        };
        let holds = now
            .as_array()
            .unwrap()
            .iter()
            .find(|now| now["claim"].as_str().unwrap().trim_end_matches('.') == claim)?;
        Some(holds["holds"].as_bool().map(yes))
    }

    /// A question about the cards on the table.
    fn on_the_table(&self, question: &str) -> Option<String> {
        if question.starts_with("If ") {
            return self.what_follows(question);
        }
        if let Some(place) = between(question, "Which card lies ", "?") {
            return Some(self.card_at(self.place_spoken(place)?).0);
        }
        if let Some(card) = between(question, "Does ", " lie face up?") {
            return Some(yes(self.card_at(self.card_spoken(card)?).1));
        }
        if let Some(pile) = between(question, "How many cards are in ", "?") {
            return Some(
                self.walk
                    .cards(self.done, &self.pile_spoken(pile)?)
                    .len()
                    .to_string(),
            );
        }
        if let Some(pile) = between(question, "How many cards of ", " lie face up?") {
            let cards = self.walk.cards(self.done, &self.pile_spoken(pile)?);
            return Some(cards.iter().filter(|(_, up)| *up).count().to_string());
        }
        if let Some(card) = between(
            question,
            "In which pile is ",
            ", and at which place from the top?",
        ) {
            let (pile, place) = self.place_of(card)?;
            return Some(format!("{pile} {place}"));
        }
        if let Some(card) = between(question, "In which pile is ", "?") {
            return Some(self.place_of(card)?.0);
        }
        if let Some(card) = between(question, "At which place from the top is ", "?") {
            return Some(self.place_of(card)?.1.to_string());
        }
        self.pattern(question).or_else(|| self.one_trait(question))
    }

    /// Where a card lies that is named, or was chosen.
    fn place_of(&self, spoken: &str) -> Option<(String, usize)> {
        let theirs = self
            .names()
            .iter()
            .find(|name| {
                name["about"]
                    .as_str()
                    .is_some_and(|about| about.trim_end_matches('.') == spoken)
            })
            .and_then(|name| self.value(name));
        let piles: Vec<String> = self.walk.piles(self.done).keys().cloned().collect();
        piles.into_iter().find_map(|pile| {
            let at = self
                .walk
                .cards(self.done, &pile)
                .iter()
                .position(|(card, _)| {
                    theirs.as_ref() == Some(card) || spoken == format!("the {}", full_name(card))
                })?;
            Some((pile, at + 1))
        })
    }

    fn pattern(&self, question: &str) -> Option<String> {
        let asked = question.strip_prefix("What are the ")?;
        let of_all = asked
            .strip_suffix(", from the top down?")
            .and_then(|asked| asked.rsplit_once(" in "))
            .map(|(what, pile)| (what, None, pile));
        let (what, count, pile) = match of_all {
            Some(all) => all,
            None => {
                let (what, rest) = asked.split_once(" of the top ")?;
                let (count, pile) = rest.strip_suffix('?')?.split_once(" cards of ")?;
                (what, Some(count.parse().ok()?), pile)
            }
        };
        let by = match what {
            "colours" => "colour",
            "suits" => "suit",
            "odd and even names" => "letters",
            "odd and even values" => "parity",
            "court and spot cards" => "court",
            other => other.strip_prefix("classes by ")?,
        };
        let cards = self.walk.cards(self.done, &self.pile_spoken(pile)?);
        let cards = &cards[..count.unwrap_or(cards.len())];
        let classes: Vec<String> = cards.iter().map(|(card, _)| class(card, by)).collect();
        Some(classes.join(" "))
    }

    fn one_trait(&self, question: &str) -> Option<String> {
        let (by, card) = if let Some(place) = between(question, "Which colour lies ", "?") {
            ("colour", self.place_spoken(place)?)
        } else if let Some(place) = between(question, "Court card or spot card: what lies ", "?") {
            ("court", self.place_spoken(place)?)
        } else if let Some(card) = between(question, "Odd or even: the value of ", "?") {
            ("parity", self.card_spoken(card)?)
        } else if let Some(card) = between(
            question,
            "Odd or even: the number of letters in the name of ",
            "?",
        ) {
            ("letters", self.card_spoken(card)?)
        } else {
            let (by, place) = question.strip_prefix("Which ")?.split_once(" lies ")?;
            (by, self.place_spoken(place.strip_suffix('?')?)?)
        };
        Some(class(&self.card_at(card).0, by))
    }

    /// "If the top card of the packet is red, which colour is the next one?"
    fn what_follows(&self, question: &str) -> Option<String> {
        let text = question.strip_prefix("If ")?.strip_suffix('?')?;
        let (by, condition, which) = if let Some((condition, which)) =
            text.split_once(" number of letters, odd or even: ")
        {
            ("letters", condition.strip_prefix("the name of ")?, which)
        } else if let Some((condition, which)) = text.split_once(" value, odd or even: ") {
            ("parity", condition, which)
        } else if let Some((condition, which)) = text.split_once(" card, court or spot: ") {
            ("court", condition, which)
        } else if let Some((condition, asked)) = text.split_once(", which ") {
            let (by, which) = asked.split_once(" is ")?;
            (by, condition, which)
        } else {
            let (condition, asked) = text.split_once(", what is ")?;
            let (which, by) = asked.split_once(", by ")?;
            (by, condition, which)
        };
        let (card, label) = [" is a ", " is ", " shows ", " has an "]
            .iter()
            .find_map(|verb| condition.rsplit_once(verb))?;
        let (pile, place) = self.card_spoken(card)?;
        let which = between(which, "the ", " one")?;
        let other = if which == "next" {
            place + 1
        } else {
            self.place_in(&pile, which)?
        };
        let shown = self.card_at((pile.clone(), place)).0;
        (class(&shown, by) == label).then(|| class(&self.card_at((pile, other)).0, by))
    }
}

fn yes(is: bool) -> String {
    if is { "yes" } else { "no" }.to_owned()
}

/// What is typed by somebody who does not know.
pub const NOT_KNOWN: &str = "-";

/// An answer that can be read and is wrong.
pub fn wrong(question: &str, right: &str, piles: &[String]) -> String {
    let words: Vec<&str> = right.split(' ').collect();
    let other = |word: &str| -> Option<String> {
        let pairs = [
            ("red", "black"),
            ("odd", "even"),
            ("court", "spot"),
            ("yes", "no"),
            ("hearts", "clubs"),
            ("spades", "diamonds"),
        ];
        for (one, two) in pairs {
            if word == one {
                return Some(two.to_owned());
            }
            if word == two {
                return Some(one.to_owned());
            }
        }
        if let Ok(number) = word.parse::<i64>() {
            return Some((number + 1).to_string());
        }
        if let Some(at) = VALUES.iter().position(|(_, word_of)| *word_of == word) {
            return Some(VALUES[(at + 1) % 13].1.to_owned());
        }
        if let Some(at) = piles.iter().position(|pile| pile == word) {
            return Some(piles[(at + 1) % piles.len()].clone());
        }
        None
    };
    if question.starts_with("Which card ") {
        let (value, suit) = right.split_at(right.len() - 1);
        let suit = if suit == "H" { "S" } else { "H" };
        return format!("{value}{suit}");
    }
    if let (Some((last, front)), true) = (words.split_last(), words.len() == 2) {
        // A pile and a place.
        if let (Ok(place), true) = (last.parse::<i64>(), piles.contains(&front[0].to_owned())) {
            return format!("{} {}", front[0], place + 1);
        }
    }
    match words
        .iter()
        .map(|word| other(word))
        .collect::<Option<Vec<String>>>()
    {
        Some(others) => others.join(" "),
        // A title, a line, a word: what nobody says.
        None => NOT_KNOWN.to_owned(),
    }
}
