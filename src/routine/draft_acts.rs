//! The draft of what is done.

use super::yaml_read::{At, Part, Text};
use schemars::JsonSchema;
use serde::Deserialize;

/// One thing done.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", rename = "Move")]
pub(super) enum Act {
    /// A complete cut.
    Cut(Cut),
    /// A block, its order kept.
    Move(Block),
    /// A block counted off one by one, its order reversed.
    Count(Block),
    /// Cards dealt round piles.
    Deal(Deal),
    /// Piles put on each other.
    Gather(Gather),
    /// One down, one under.
    DownUnder(Elimination),
    /// One under, one down.
    UnderDown(Elimination),
    /// Top and bottom card together, again and again.
    Klondike(Text),
    /// One over, one under.
    Monge(Monge),
    /// A perfect riffle.
    Faro(Faro),
    /// Alternate cards out, the halves stacked.
    InverseFaro(InverseFaro),
    /// A riffle, by a choice.
    Riffle(Riffle),
    /// An overhand shuffle, by a choice.
    Overhand(Overhand),
    /// The top cards turned over as one block.
    Turn(Turn),
    /// Single cards turned over in place.
    TurnEach(TurnEach),
    /// The order reversed, facing kept.
    Reverse(Text),
    /// One card out of a pile.
    Take(Take),
    /// The top card of a pile back into another.
    Put(Put),
    /// Two cards swapped.
    Swap(Swap),
    /// One card for each letter.
    Spell(Spell),
    /// Counting along a chain of values.
    Chain(Chain),
    /// Several times.
    Repeat(Repeat),
    /// Only if.
    When(When),
}

/// An end of a pile.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum PileEnd {
    /// The top.
    Top,
    /// The bottom.
    Bottom,
}

/// A complete cut of the top cards.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Cut {
    /// Pile.
    pub(super) pile: Text,
    /// How many go under.
    pub(super) at: Text,
}

/// A block of cards from an end to an end.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Block {
    /// From this pile.
    pub(super) from: Text,
    /// To this pile.
    pub(super) to: Text,
    /// How many; all when absent.
    pub(super) count: Option<Text>,
    /// From which end; top when absent.
    pub(super) take: Option<PileEnd>,
    /// On which end; top when absent.
    pub(super) put: Option<PileEnd>,
}

/// Cards dealt one by one round piles.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Deal {
    /// From the top of this pile.
    pub(super) from: Text,
    /// Round these piles.
    pub(super) to: Vec<Text>,
    /// How many; all when absent.
    pub(super) count: Option<Text>,
    /// How they then face; as they lie when absent.
    pub(super) face: Option<Facing>,
}

/// Which way dealt cards face.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Facing {
    /// Face up.
    Up,
    /// Face down.
    Down,
    /// As they lie.
    AsIs,
}

/// Piles put on each other: `piles`, first on top, or `by` a value that is an order of piles.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Gather {
    /// Top first.
    pub(super) piles: Option<Vec<Text>>,
    /// An order of piles.
    pub(super) by: Option<Text>,
    /// Where the packet then lies.
    pub(super) onto: Text,
}

/// One down, one under, until so many are left.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Elimination {
    /// From this pile.
    pub(super) pile: Text,
    /// The dealt cards.
    pub(super) to: Text,
    /// Cards left; 0 when absent.
    pub(super) leave: Option<Text>,
}

/// One over, one under.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Monge {
    /// Pile.
    pub(super) pile: Text,
    /// Where the second card goes.
    pub(super) second: Second,
}

/// Where the second card goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Second {
    /// Over the first.
    Over,
    /// Under the first.
    Under,
}

/// A perfect riffle.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Faro {
    /// Pile.
    pub(super) pile: Text,
    /// `out` keeps the top card on top.
    pub(super) weave: WeaveWord,
}

/// Which perfect riffle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", rename = "Weave")]
pub(super) enum WeaveWord {
    /// The top card goes second.
    In,
    /// The top card stays on top.
    Out,
}

/// Alternate cards out, the halves stacked: `top`, or `odds-on-top`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct InverseFaro {
    /// Pile.
    pub(super) pile: Text,
    /// Which half goes on top.
    pub(super) top: Option<Half>,
    /// An expression: true puts the first, third … cards on top.
    pub(super) odds_on_top: Option<Text>,
}

/// Which half.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Half {
    /// Cards 1, 3, 5 …
    Odds,
    /// Cards 2, 4, 6 …
    Evens,
}

/// A riffle by a choice.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Riffle {
    /// Left part.
    pub(super) left: Text,
    /// Right part.
    pub(super) right: Text,
    /// Where the packet then lies.
    pub(super) to: Text,
    /// The name of a riffle fork.
    pub(super) by: Text,
}

/// An overhand shuffle by a choice.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Overhand {
    /// Pile.
    pub(super) pile: Text,
    /// The name of an overhand fork.
    pub(super) by: Text,
}

/// The top cards turned over as one block.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Turn {
    /// Pile.
    pub(super) pile: Text,
    /// How many; all when absent.
    pub(super) count: Option<Text>,
}

/// Single cards turned over: `at` places, or `by` a choice of cards.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct TurnEach {
    /// Pile.
    pub(super) pile: Text,
    /// Places.
    pub(super) at: Option<Vec<Text>>,
    /// The name of a cards fork.
    pub(super) by: Option<Text>,
}

/// One card out of a pile.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Take {
    /// From this pile.
    pub(super) from: Text,
    /// Its place.
    pub(super) at: Text,
    /// To this pile.
    pub(super) to: Text,
    /// On which end; top when absent.
    pub(super) put: Option<PileEnd>,
}

/// The top card of a pile into another.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Put {
    /// From the top of this pile.
    pub(super) from: Text,
    /// Into this pile.
    pub(super) to: Text,
    /// Where it then lies.
    pub(super) at: Text,
}

/// Two cards swapped.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Swap {
    /// Pile.
    pub(super) pile: Text,
    /// One place.
    pub(super) a: Text,
    /// The other.
    pub(super) b: Text,
}

/// One card for each letter of a `word`, or of the name of a `card`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Spell {
    /// From the top of this pile.
    pub(super) from: Text,
    /// Onto this pile.
    pub(super) to: Text,
    /// These words.
    pub(super) word: Option<Text>,
    /// The name of this card.
    pub(super) card: Option<Text>,
}

/// Counting along a chain: each card's value says how far on the next lies.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Chain {
    /// Pile.
    pub(super) pile: Text,
    /// From this place.
    pub(super) from: Text,
    /// What court cards count; 11, 12, 13 when absent.
    pub(super) court: Option<At<u16>>,
    /// Under which name the last place reached is remembered.
    pub(super) name: Text,
}

/// Several times.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Repeat {
    /// How often.
    pub(super) times: Text,
    /// What.
    #[serde(rename = "do")]
    pub(super) acts: Vec<Part<At<Act>>>,
}

/// Only if.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct When {
    /// The condition.
    pub(super) is: Text,
    /// Then.
    #[serde(rename = "do")]
    pub(super) acts: Vec<Part<At<Act>>>,
    /// Otherwise.
    #[serde(rename = "else")]
    pub(super) otherwise: Option<Vec<Part<At<Act>>>>,
}
