//! The draft of steps, forks, replies and sights.

use super::draft::OneOrMany;
use super::draft_acts::Act;
use super::draft_claims::ClaimDraft;
use super::yaml_read::{At, Part, Text};
use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use std::borrow::Cow;

/// A step, or a part gone through again and again. The reader chooses by whether there is a key `again`.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum StepOrAgain {
    /// A step.
    Step(Box<At<Step>>),
    /// A part.
    Again(Box<At<Again>>),
}

/// A part gone through again, as often as they like.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Again {
    /// The name, remembered for the choice to go round again.
    pub(super) name: Text,
    /// What is said when it is asked.
    pub(super) says: Option<Text>,
    /// At most so many rounds.
    pub(super) at_most: Option<At<u16>>,
    /// How likely: stop, again.
    pub(super) weights: Option<Vec<At<u32>>>,
    /// The steps of one round.
    pub(super) steps: Vec<Part<StepOrAgain>>,
}

/// A step.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Step {
    /// Small letters, digits and hyphens; no other step may have it.
    #[schemars(required)]
    pub(super) id: Option<Part<Text>>,
    /// Only in outs: when this ending is taken.
    pub(super) when: Option<Part<Text>>,
    /// In a routine for two: the performer whose part this step is. Without it, it is everybody's.
    pub(super) by: Option<Part<Text>>,
    /// A few words.
    pub(super) title: Option<Part<Text>>,
    /// Patter, with expressions in braces.
    pub(super) say: Option<Part<Text>>,
    /// The handling in words for people.
    pub(super) handling: Option<Part<Text>>,
    /// What the spectator chooses.
    pub(super) fork: Option<Part<At<Fork>>>,
    /// What the performer works out.
    pub(super) reckon: Option<Part<Vec<Part<Reckon>>>>,
    /// What is done.
    #[serde(rename = "do")]
    pub(super) acts: Option<Part<Vec<Part<At<Act>>>>>,
    /// What the spectator answers.
    pub(super) reply: Option<Part<ReplyDraft>>,
    /// What the performer sees.
    pub(super) sees: Option<Part<Vec<Part<At<Sees>>>>>,
    /// What must be true afterwards.
    pub(super) claims: Option<Part<Vec<Part<At<ClaimDraft>>>>>,
    /// The time the step should take: `12s`.
    pub(super) target: Option<Part<Text>>,
    /// Strays that are met here often: names that the program knows, or ids of your own.
    pub(super) strays: Option<Part<Vec<Text>>>,
    /// What to be careful of.
    pub(super) caution: Option<Part<Text>>,
    /// A hint.
    pub(super) hint: Option<Part<Text>>,
}

/// Another ending. The reader chooses by whether there is a key `steps`.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Out {
    /// `when` with several steps.
    Long(At<LongOut>),
    /// One step that has a `when`.
    Short(Box<At<Step>>),
}

/// An out of several steps.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct LongOut {
    /// When it is taken.
    pub(super) when: Text,
    /// Its steps.
    pub(super) steps: Vec<Part<At<Step>>>,
}

/// A move with its words that sets things right.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Mend")]
pub(super) struct MendDraft {
    /// Its id.
    pub(super) id: Text,
    /// What is said.
    pub(super) say: Option<Part<Text>>,
    /// What is looked at first.
    pub(super) sees: Option<Part<Vec<Part<At<Sees>>>>>,
    /// What is done.
    #[serde(rename = "do")]
    pub(super) acts: Part<Vec<Part<At<Act>>>>,
    /// 1 is the least conspicuous.
    pub(super) rank: Option<Part<u16>>,
}

/// Something that spectators do and the routine does not offer, right after a step.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Stray")]
pub(super) struct StrayDraft {
    /// Its id.
    pub(super) id: Text,
    /// What the spectator says or does, in words.
    pub(super) says: Option<Part<Text>>,
    /// What is chosen in it, as at a step.
    pub(super) fork: Option<Part<At<Fork>>>,
    /// What it does to the table.
    #[serde(rename = "do")]
    pub(super) acts: Option<Part<Vec<Part<At<Act>>>>>,
    /// What you see of it.
    pub(super) sees: Option<Part<Vec<Part<At<Sees>>>>>,
    /// How often it is met, compared with others: 1 is seldom.
    pub(super) often: Option<Part<u16>>,
}

/// A spectator's choice: a name, and exactly one of number, option, pile, pile-order, place, card, cards, cut, riffle
/// and overhand.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct Fork {
    /// Under which name the choice is remembered.
    pub(super) name: Text,
    /// How to speak of it: "the number they named".
    pub(super) about: Option<Text>,
    /// What the spectator says.
    pub(super) says: Option<Text>,
    /// How likely each branch is.
    pub(super) weights: Option<Vec<At<u32>>>,
    /// What the performer learns: `all`, `nothing`, or a list of expressions.
    pub(super) seen: Option<At<OneOrMany>>,
    /// A number.
    pub(super) number: Option<Part<NumberFork>>,
    /// One of these words.
    pub(super) option: Option<Part<Vec<Text>>>,
    /// One of these piles.
    pub(super) pile: Option<Part<Vec<Text>>>,
    /// All of these piles, in an order.
    pub(super) pile_order: Option<Part<Vec<Text>>>,
    /// A place of this pile.
    pub(super) place: Option<Part<Text>>,
    /// A card of this pile.
    pub(super) card: Option<Part<Text>>,
    /// Any so many places of a pile.
    pub(super) cards: Option<Part<CardsFork>>,
    /// A cut.
    pub(super) cut: Option<Part<CutFork>>,
    /// A free riffle of two piles.
    pub(super) riffle: Option<Part<RiffleFork>>,
    /// A free overhand shuffle of this pile.
    pub(super) overhand: Option<Part<Text>>,
}

/// A number in a range.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct NumberFork {
    /// Smallest.
    pub(super) from: Text,
    /// Largest.
    pub(super) to: Text,
    /// Distance between neighbours.
    pub(super) by: Option<At<u16>>,
}

/// Any so many places of a pile.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct CardsFork {
    /// Of this pile.
    pub(super) pile: Text,
    /// How many.
    pub(super) count: Text,
}

/// A cut of a pile.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct CutFork {
    /// Of this pile.
    pub(super) pile: Text,
    /// The smallest part; 1 when absent.
    pub(super) least: Option<At<u16>>,
}

/// A free riffle of two piles.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct RiffleFork {
    /// The left part.
    pub(super) left: Text,
    /// The right part.
    pub(super) right: Text,
}

/// A value the performer works out.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Reckoning")]
pub(super) struct Reckon {
    /// Under which name it is remembered.
    pub(super) name: Text,
    /// How it is worked out.
    pub(super) is: Text,
    /// The question in practice.
    pub(super) asks: Option<Text>,
    /// How to speak of it.
    pub(super) about: Option<Text>,
}

/// An answer that the table determines.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case", rename = "Reply")]
pub(super) struct ReplyDraft {
    /// Under which name it is remembered.
    pub(super) name: Text,
    /// What the spectator is asked.
    pub(super) asks: Text,
    /// The answer.
    pub(super) is: Text,
    /// How to speak of it.
    pub(super) about: Option<Text>,
}

/// Something the performer sees.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case", rename = "Sight")]
pub(super) enum Sees {
    /// The card at a place.
    Card(CardSight),
    /// A trait of the card at a place.
    Trait(TraitSight),
    /// How many cards a pile holds.
    Count(Text),
    /// The value of an expression.
    Value(Text),
}

/// The card at a place.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct CardSight {
    /// In this pile.
    pub(super) pile: Text,
    /// At this place; negative from the bottom.
    pub(super) at: Text,
}

/// A trait of the card at a place.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(super) struct TraitSight {
    /// In this pile.
    pub(super) pile: Text,
    /// At this place; negative from the bottom.
    pub(super) at: Text,
    /// Which trait.
    #[serde(rename = "trait")]
    pub(super) class: Text,
}

impl JsonSchema for StepOrAgain {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "StepOrAgain".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let again = json_schema!({
            "type": "object",
            "properties": {"again": generator.subschema_for::<Again>()},
            "required": ["again"],
            "additionalProperties": false,
        });
        json_schema!({"anyOf": [generator.subschema_for::<Step>(), again]})
    }
}
impl JsonSchema for Out {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> Cow<'static, str> {
        "Out".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({"anyOf": [generator.subschema_for::<LongOut>(), generator.subschema_for::<Step>()]})
    }
}
