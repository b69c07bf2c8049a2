//! The draft of claims.

use super::yaml_read::{At, Part, Text};
use schemars::JsonSchema;
use serde::Deserialize;

/// What must be true: exactly one kind, with words if you like.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Claim")]
pub(super) struct ClaimDraft {
    /// In words.
    pub(super) says: Option<Text>,
    /// All cards of these piles are of one class.
    pub(super) all: Option<Part<AllClaim>>,
    /// Place by place from the top.
    pub(super) sequence: Option<Part<SequenceClaim>>,
    /// Every block holds one of each class.
    pub(super) blocks: Option<Part<BlocksClaim>>,
    /// So many cards.
    pub(super) count: Option<Part<CountClaim>>,
    /// A card lies at a place.
    pub(super) place: Option<Part<PlaceClaim>>,
    /// At a place lies a card.
    pub(super) lies: Option<Part<LiesClaim>>,
    /// First and last, second and last but one … belong together.
    pub(super) mirror: Option<Part<MirrorClaim>>,
    /// Places 1 and 2, 3 and 4 … are mates.
    pub(super) mates: Option<Part<Text>>,
    /// The pile is as it was at the start.
    pub(super) same_as_start: Option<Part<SameClaim>>,
    /// The values add up.
    pub(super) sum: Option<Part<SumClaim>>,
    /// All of these.
    pub(super) and: Option<Part<Vec<Part<At<ClaimDraft>>>>>,
    /// One of these at least.
    pub(super) or: Option<Part<Vec<Part<At<ClaimDraft>>>>>,
    /// Not this.
    pub(super) not: Option<Part<Box<At<ClaimDraft>>>>,
    /// An expression is true.
    pub(super) expr: Option<Part<Text>>,
}

/// All cards of these piles are of one class of a trait.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct AllClaim {
    /// Piles.
    pub(super) piles: Vec<Text>,
    /// Trait.
    #[serde(rename = "trait")]
    pub(super) class: Text,
}

/// Place by place from the top.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct SequenceClaim {
    /// Pile.
    pub(super) pile: Text,
    /// Classes with spaces between; `*` is anything.
    pub(super) is: Text,
}

/// Every block of so many cards holds one of each class.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct BlocksClaim {
    /// Pile.
    pub(super) pile: Text,
    /// Block size.
    pub(super) of: At<u16>,
    /// Trait.
    #[serde(rename = "trait")]
    pub(super) class: Text,
}

/// So many cards of a class, or facing up or down, at all, odd or even places.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct CountClaim {
    /// Piles.
    pub(super) piles: Vec<Text>,
    /// Class.
    pub(super) class: Option<Text>,
    /// Facing.
    pub(super) up: Option<bool>,
    /// Which places.
    pub(super) places: Option<Parity>,
    /// How many.
    pub(super) is: Text,
}

/// Which places.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Parity {
    /// 1, 3, 5 …
    Odd,
    /// 2, 4, 6 …
    Even,
}

/// A card lies at a place.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct PlaceClaim {
    /// The card.
    pub(super) card: Text,
    /// Pile.
    pub(super) pile: Text,
    /// Place.
    pub(super) is: Text,
}

/// At a place lies a card.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct LiesClaim {
    /// Pile.
    pub(super) pile: Text,
    /// Place.
    pub(super) at: Text,
    /// The card: a name that is remembered, an expression, or a card such as `7H`.
    pub(super) card: Text,
}

/// Place i from the top and place i from the bottom belong together.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct MirrorClaim {
    /// Pile.
    pub(super) pile: Text,
    /// `mates`, or a trait.
    pub(super) by: Text,
}

/// The pile is as at the start.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct SameClaim {
    /// Pile.
    pub(super) pile: Text,
    /// Compared by this trait; by card when absent.
    #[serde(rename = "trait")]
    pub(super) class: Option<Text>,
    /// Up to what.
    pub(super) up_to: Option<Vec<UpTo>>,
}

/// What may differ.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum UpTo {
    /// Where the packet is cut.
    Rotation,
    /// From which end it is read.
    Reversal,
}

/// The values of the cards add up.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct SumClaim {
    /// Piles.
    pub(super) piles: Vec<Text>,
    /// What court cards count; 11, 12, 13 when absent.
    pub(super) court: Option<At<u16>>,
    /// To this.
    pub(super) is: Text,
}
