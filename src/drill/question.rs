//! Questions: what is asked, what was seen and heard so far, and the right answer.

use crate::cards::{Card, Class, TraitId};
use crate::roads::Sighted;
use crate::routine::{NameId, StepId, StopIndex};
use crate::table::{PileId, Place};

/// A way of practising.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Drill {
    /// The packet in mind.
    Picture,
    /// What comes next.
    Order,
    /// What must be worked out or remembered while talking.
    Reckon,
    /// The patter.
    Lines,
    /// Real cards in the hands, the spectators spoken.
    Hands,
    /// The whole routine, no help, judged at the end.
    Dress,
    /// When a spectator does something odd.
    Rescue,
}

impl Drill {
    /// All drills there are.
    pub const ALL: [Self; 7] = [
        Self::Picture,
        Self::Order,
        Self::Reckon,
        Self::Lines,
        Self::Hands,
        Self::Dress,
        Self::Rescue,
    ];
    /// The drills that are questions between steps told, and can be mixed.
    pub const ASKED: [Self; 4] = [Self::Picture, Self::Order, Self::Reckon, Self::Lines];
    /// The word for it, as commands and the logbook write it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Picture => "picture",
            Self::Order => "order",
            Self::Reckon => "reckon",
            Self::Lines => "lines",
            Self::Hands => "hands",
            Self::Dress => "dress",
            Self::Rescue => "rescue",
        }
    }
    /// Whether what it asks is asked of a performer in a run in which nothing goes wrong.
    #[must_use]
    pub fn in_a_clean_run(self) -> bool {
        match self {
            Self::Picture
            | Self::Order
            | Self::Reckon
            | Self::Lines
            | Self::Hands
            | Self::Dress => true,
            Self::Rescue => false,
        }
    }
    /// The drill with this word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|drill| drill.word() == word)
    }
}

/// What sort of question it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Which card lies at a place.
    Card,
    /// A trait of the card at a place.
    Trait,
    /// Whether the card at a place faces up.
    Facing,
    /// Where a card lies.
    Where,
    /// In which pile a card lies.
    Pile,
    /// How many cards a pile holds.
    Count,
    /// How many cards of a pile face up.
    FaceUp,
    /// The pattern of a packet by a trait.
    Pattern,
    /// What must follow from a card shown.
    Follows,
    /// Whether a claim holds now.
    Claim,
    /// Which step comes next.
    Next,
    /// A value to be worked out live.
    Reckoning,
    /// What a spectator chose some steps ago.
    Chosen,
    /// What a spectator answered some steps ago.
    Reply,
    /// The next line of patter.
    Line,
    /// A step done with real cards.
    Step,
    /// Whether the ending came true.
    Ending,
    /// Where the hands went wrong.
    Slip,
    /// Whether it is still safe after a stray.
    Verdict,
    /// What makes it safe again.
    Mend,
    /// At which step to go on after an interruption.
    Whereabouts,
}

/// Whose time an answer took.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Timed {
    /// The answer's own: one step's can be compared with another's.
    Answer,
    /// The whole step's, with its handling and its patter: only its own target says whether it is long.
    Step,
    /// The whole routine's: it says nothing about the step.
    Whole,
}

impl Kind {
    /// All kinds there are.
    pub const ALL: [Self; 21] = [
        Self::Card,
        Self::Trait,
        Self::Facing,
        Self::Where,
        Self::Pile,
        Self::Count,
        Self::FaceUp,
        Self::Pattern,
        Self::Follows,
        Self::Claim,
        Self::Next,
        Self::Reckoning,
        Self::Chosen,
        Self::Reply,
        Self::Line,
        Self::Step,
        Self::Ending,
        Self::Slip,
        Self::Verdict,
        Self::Mend,
        Self::Whereabouts,
    ];
    /// What an answer of this kind says something about, for the coach: where hands went wrong at a step, the step done with real
    /// cards was missed, and whoever does it well the next time has made up for it.
    #[must_use]
    pub fn practises(self) -> Self {
        match self {
            Self::Slip => Self::Step,
            Self::Card
            | Self::Trait
            | Self::Facing
            | Self::Where
            | Self::Pile
            | Self::Count
            | Self::FaceUp
            | Self::Pattern
            | Self::Follows
            | Self::Claim
            | Self::Next
            | Self::Reckoning
            | Self::Chosen
            | Self::Reply
            | Self::Line
            | Self::Step
            | Self::Verdict
            | Self::Mend
            | Self::Whereabouts
            | Self::Ending => self,
        }
    }
    /// Whose time an answer of this kind took.
    #[must_use]
    pub fn timed(self) -> Timed {
        match self {
            Self::Card
            | Self::Trait
            | Self::Facing
            | Self::Where
            | Self::Pile
            | Self::Count
            | Self::FaceUp
            | Self::Pattern
            | Self::Follows
            | Self::Claim
            | Self::Next
            | Self::Reckoning
            | Self::Chosen
            | Self::Reply
            | Self::Line
            | Self::Verdict
            | Self::Mend
            | Self::Whereabouts => Timed::Answer,
            Self::Step | Self::Slip => Timed::Step,
            Self::Ending => Timed::Whole,
        }
    }
    /// The kind with this word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.word() == word)
    }
    /// The word for it, as the logbook writes it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Card => "card",
            Self::Trait => "trait",
            Self::Facing => "facing",
            Self::Where => "where",
            Self::Pile => "pile",
            Self::Count => "count",
            Self::FaceUp => "face-up",
            Self::Pattern => "pattern",
            Self::Follows => "follows",
            Self::Claim => "claim",
            Self::Next => "next",
            Self::Reckoning => "reckoning",
            Self::Chosen => "chosen",
            Self::Reply => "reply",
            Self::Line => "line",
            Self::Step => "step",
            Self::Ending => "ending",
            Self::Slip => "slip",
            Self::Verdict => "verdict",
            Self::Mend => "mend",
            Self::Whereabouts => "whereabouts",
        }
    }
}

/// What a question is about, exactly: with it the answer can be worked out again on any table.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Subject {
    /// The card at a place.
    CardAt(PileId, Place),
    /// A trait of the card at a place.
    TraitAt(PileId, Place, TraitId),
    /// Whether the card at a place faces up.
    FacingAt(PileId, Place),
    /// Pile and place of a card, by what is printed on it.
    WhereIs(Card),
    /// The pile of a card, by what is printed on it.
    PileOf(Card),
    /// Pile and place of the card that a spectator chose, whatever it is.
    WhereTheirs(NameId),
    /// The pile of the card that a spectator chose, whatever it is.
    PileOfTheirs(NameId),
    /// How many cards a pile holds.
    HowMany(PileId),
    /// How many cards of a pile face up.
    FaceUp(PileId),
    /// The classes of the top cards of a pile.
    Pattern {
        /// The pile.
        pile: PileId,
        /// By which trait.
        class: TraitId,
        /// So many from the top.
        places: u16,
    },
    /// The class at one place, if another place shows a class.
    Follows {
        /// The pile.
        pile: PileId,
        /// By which trait.
        class: TraitId,
        /// The place that is shown.
        shown: Place,
        /// What it shows.
        shows: Class,
        /// The place asked about.
        asked: Place,
    },
    /// Whether a claim (of this stop, with this index) holds now.
    Claim(StopIndex, usize),
    /// The next stop.
    Next,
    /// A value remembered: a choice, a reply, a reckoning.
    Remembered(NameId),
    /// The patter of a stop.
    Line(StopIndex),
}

/// The right answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Expected {
    /// A card, by what is printed on it.
    Card(Card),
    /// A class of a trait.
    Class(TraitId, Class),
    /// Face up (true) or face down.
    Facing(bool),
    /// A place of a pile.
    Place(PileId, Place),
    /// A number.
    Number(i64),
    /// Classes of a trait from the top.
    Pattern(TraitId, Vec<Class>),
    /// A pile.
    Pile(PileId),
    /// Yes or no.
    Yes(bool),
    /// A step.
    Step(StopIndex),
    /// Piles in an order.
    Order(Vec<PileId>),
    /// Places, rising.
    Places(Vec<u16>),
    /// A word.
    Word(String),
    /// A line of patter, whole.
    Line(String),
}

/// What makes two questions the same question, on whatever road.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key {
    /// The step.
    pub step: StepId,
    /// The drill.
    pub drill: Drill,
    /// The sort of question.
    pub kind: Kind,
    /// What exactly: `packet 1 colour`.
    pub detail: String,
}

/// Where on the road a question is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Spot {
    /// Which road of the session, from 1.
    pub road: u32,
    /// The last stop done; for a question before the first, the first.
    pub stop: StopIndex,
    /// Which visit of that stop, from 1.
    pub visit: u32,
    /// How many stops of this road are done.
    pub done: usize,
}

/// A question.
#[derive(Debug, Clone)]
pub struct Question {
    /// What makes it the same question as another.
    pub key: Key,
    /// In words: "Which card lies on top of the packet?"
    pub text: String,
    /// How to answer, in a few words: "a card, like 7H".
    pub answer_as: String,
    /// What the performer has seen and heard so far, one short line each, in order.
    pub given: Vec<String>,
    /// The right answer.
    pub expected: Expected,
    /// The right answer in words.
    pub expected_words: String,
    /// The shortest answer that is marked right, as the performer would type it.
    pub expected_keys: String,
    /// What it is about, exactly.
    pub subject: Subject,
    /// Where on the road.
    pub spot: Spot,
    /// Everything seen and heard so far, from which the answer follows.
    pub sights: Vec<Sighted>,
    /// The seed of the road.
    pub seed: u64,
    /// The choices so far, each as `--choose` takes it.
    pub choices: Vec<String>,
    /// Whether all cards lie in one pile, so that a place alone says where a card is.
    pub one_pile: bool,
    /// Whether it was missed before and comes back.
    pub again: bool,
}
