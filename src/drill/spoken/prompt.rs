//! What goes in and out of a spoken rehearsal: what to show, what to say aloud, what the performer did, what to keep.

use super::super::prompt::Answered;
use super::super::question::{Drill, Question};
use super::super::summary::Summary;
use crate::cards::Lang;
use crate::routine::{Millis, StopIndex};
use crate::table::PileId;

/// Who speaks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Speaker {
    /// Somebody in front of the performer.
    Spectator,
    /// The prompter, whom only the performer hears.
    Prompter,
}

/// Something to be said aloud.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Speech {
    /// By whom.
    pub who: Speaker,
    /// In which language.
    pub lang: Lang,
    /// The words.
    pub words: String,
}

/// A short sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sound {
    /// Something is asked.
    Ask,
    /// Right.
    Right,
    /// Not quite.
    Wrong,
    /// The time of the step is over.
    Time,
    /// Ready to begin.
    Ready,
    /// All done.
    Done,
}

/// What the performer did, or what happened.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Deed {
    /// Any key: on.
    Go,
    /// Once more, or back: the line before is said again. Where something is asked, no.
    Back,
    /// While the set-up is shown: tell it card by card.
    Cards,
    /// Before the lines begin: read the whole patter.
    Read,
    /// An answer typed: to a question, a packet, the number of a step.
    Answer(String),
    /// All that was to be said has been said.
    Spoken,
    /// Time goes by.
    Tick,
    /// Enough for today.
    Stop,
}

/// What is to be done outside.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SpokenEffect {
    /// Say this; [`Deed::Spoken`] tells when all of it was said.
    Say(Speech),
    /// Play this.
    Play(Sound),
    /// Be quiet at once.
    Hush,
    /// Keep this answer.
    Keep(Answered),
    /// The answer could not be read; the same thing stands. With what to type, in words.
    Unread(String),
    /// The rehearsal is over.
    Finished(Summary),
}

/// Where on the road we are. Times are those of the rehearsal, pauses not counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Along {
    /// Which road of the rehearsal, from 1.
    pub road: u32,
    /// Its seed.
    pub seed: u64,
    /// Stops done.
    pub done: usize,
    /// How many stops there will be, as far as can be told.
    pub of: usize,
    /// When this began.
    pub since: Millis,
    /// How long it should take.
    pub target: Option<Millis>,
    /// When the road began.
    pub road_since: Millis,
}

/// A card of the set-up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayCard {
    /// As it is read from afar: `7H`.
    pub short: String,
    /// In words: "seven of hearts", and whether it lies face up.
    pub words: String,
}

/// The cards of a pile of the set-up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lay {
    /// The pile.
    pub pile: PileId,
    /// In words: "the packet".
    pub name: String,
    /// Each card, the top first; none for a whole deck in any order.
    pub cards: Vec<LayCard>,
    /// Whether they must lie in this order.
    pub ordered: bool,
    /// How many cards.
    pub count: usize,
}

/// The set-up, shown or told card by card.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LaySetUp {
    /// Hands or dress.
    pub drill: Drill,
    /// Where we are.
    pub along: Along,
    /// The piles; empty in a dress rehearsal after which nothing is told.
    pub piles: Vec<Lay>,
    /// What was seen and heard before, where the road begins in the middle.
    pub so_far: Vec<String>,
    /// Which pile and card of it is being told, both from 0.
    pub telling: Option<(usize, usize)>,
    /// Which draw of the set-up.
    pub setup: u64,
}

/// A step to be done with real cards.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandStep {
    /// Hands or dress.
    pub drill: Drill,
    /// The step.
    pub stop: StopIndex,
    /// Where we are.
    pub along: Along,
    /// The one word that can be read from afar; empty where there is none.
    pub word: String,
    /// What the spectator says.
    pub spectator: Option<String>,
    /// What is free: the hands do as they like, and nobody is told.
    pub free: Option<String>,
    /// The step's title; empty in a dress rehearsal, as all that follows.
    pub title: String,
    /// The patter.
    pub patter: String,
    /// What is done.
    pub handling: Vec<String>,
    /// What is seen and heard at it, where that is told.
    pub seen: Vec<String>,
    /// What to be careful of.
    pub caution: Option<String>,
}

impl HandStep {
    /// A step of which nothing is told yet.
    pub(super) fn bare(drill: Drill, stop: StopIndex, along: Along) -> Self {
        Self {
            drill,
            stop,
            along,
            word: String::new(),
            spectator: None,
            free: None,
            title: String::new(),
            patter: String::new(),
            handling: Vec::new(),
            seen: Vec::new(),
            caution: None,
        }
    }
}

/// Something that only the table in front of the performer can tell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Which {
    /// Where we are.
    pub along: Along,
    /// The question.
    pub text: String,
    /// The answers, the first under the key 1.
    pub options: Vec<String>,
}

/// A question between two steps.
#[derive(Debug, Clone)]
pub struct HandQuestion {
    /// Where we are.
    pub along: Along,
    /// The question.
    pub question: Question,
    /// With so many keys the answer is whole: one or two.
    pub keys: usize,
}

/// A question marked.
#[derive(Debug, Clone)]
pub struct HandMarked {
    /// Where we are.
    pub along: Along,
    /// The question.
    pub question: Question,
    /// As typed.
    pub given: String,
    /// Whether it was right.
    pub right: bool,
    /// The right answer, as a sentence.
    pub answer: String,
    /// Why it is right; empty where only the table in front of the performer could tell.
    pub why: String,
}

/// Did the ending come true?
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Judge {
    /// Where we are.
    pub along: Along,
    /// What was to come true, in the file's words.
    pub claims: Vec<String>,
}

/// The packet in the hands, to be typed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EnterPacket {
    /// Where we are.
    pub along: Along,
    /// The pile.
    pub pile: PileId,
    /// In words.
    pub name: String,
}

/// Where did it go wrong?
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WhereWrong {
    /// Where we are.
    pub along: Along,
    /// The steps that were done, in order; the first under the number 1.
    pub steps: Vec<(StopIndex, String)>,
    /// What the packet says, in a sentence.
    pub found: String,
}

/// What the packet says after an ending that did not come true.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Where we are.
    pub along: Along,
    /// In a sentence or two.
    pub words: String,
    /// Whether the cards were right.
    pub right: bool,
}

/// Before the lines: what will happen, and what a key does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LinesOpening {
    /// Where we are.
    pub along: Along,
    /// What was seen and heard before, where the road begins in the middle.
    pub so_far: Vec<String>,
    /// How long a reading of the whole patter takes at performance pace.
    pub reading: Millis,
}

/// How much of a line's cue is given. The better a step is held, the less.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Help {
    /// The first words of the line, and its move.
    FirstWords,
    /// The move alone.
    Move,
    /// Only where on the road we are.
    Road,
}

/// How far a line is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Saying {
    /// The cue is being spoken; the next key says "I start".
    Cue,
    /// The line is being said; the next key says "I am done".
    Said,
}

/// A line to be said aloud.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineCue {
    /// The step.
    pub stop: StopIndex,
    /// Where we are.
    pub along: Along,
    /// How far it is.
    pub at: Saying,
    /// How much help there is.
    pub help: Help,
    /// What is heard before it; none at the very beginning.
    pub cue: Option<Speech>,
    /// Its first words, where there is that help.
    pub first_words: String,
    /// Its move, where there is that help.
    pub handling: Vec<String>,
}

/// The real line, after it was said.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RealLine {
    /// The step.
    pub stop: StopIndex,
    /// Where we are.
    pub along: Along,
    /// Its title.
    pub title: String,
    /// The line.
    pub line: String,
    /// Its move.
    pub handling: Vec<String>,
    /// From the end of the cue to the start.
    pub hesitation: Millis,
    /// From the start to the end.
    pub length: Millis,
    /// How long the line takes at the routine's pace.
    pub pace: Option<Millis>,
    /// Word by word, where it was typed instead of said.
    pub typed: Option<Vec<crate::drill::prompt::Word>>,
}

/// The whole patter being read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reading {
    /// The step.
    pub stop: StopIndex,
    /// Where we are.
    pub along: Along,
    /// Its title.
    pub title: String,
    /// What the spectator says there, if anything.
    pub spectator: Option<String>,
    /// The line.
    pub line: String,
}

/// After the reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ReadThrough {
    /// Where we are.
    pub along: Along,
    /// How long the whole took.
    pub took: Millis,
    /// How long a performance takes, if the routine says so.
    pub running: Option<Millis>,
}

/// A stray has happened: is it still safe?
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StrayMet {
    /// Where we are.
    pub along: Along,
    /// The step at which it happened.
    pub stop: StopIndex,
    /// Its name, as files and notes write it.
    pub name: String,
    /// What happened, in a sentence.
    pub told: String,
    /// What the spectator says with it.
    pub quip: String,
    /// What was seen of it.
    pub seen: Vec<String>,
    /// The table before it, as far as it can be known, a line for each pile.
    pub table: Vec<String>,
}

/// What makes it safe again?
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MendAsked {
    /// Where we are.
    pub along: Along,
    /// The step at which it happened.
    pub stop: StopIndex,
    /// What happened, in a sentence.
    pub told: String,
    /// What was seen of it, and what looks have shown since.
    pub seen: Vec<String>,
    /// The routine's mends, the first under the number 1: the name, what is done, what is said.
    pub mends: Vec<(String, String, String)>,
}

/// Something told in a rescue: how an answer was, how it went on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RescueTold {
    /// Where we are.
    pub along: Along,
    /// Whether an answer was right; none where nothing was answered.
    pub right: Option<bool>,
    /// In large letters.
    pub word: String,
    /// A line each.
    pub lines: Vec<String>,
    /// The packet before and after, a line each.
    pub packets: Vec<String>,
}

/// After an interruption: at which step to go on?
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WhereNow {
    /// Where we are; nothing is told of the road.
    pub along: Along,
    /// The table as an audience sees it, a line for each pile.
    pub table: Vec<String>,
    /// What was said so far.
    pub said: Vec<String>,
    /// The steps, in the order of the file; the first under the number 1.
    pub steps: Vec<(StopIndex, String)>,
}

/// What to show now.
#[derive(Debug, Clone)]
pub enum SpokenPrompt {
    /// A stray has happened: safe, mend, out or lost?
    Stray(StrayMet),
    /// What makes it safe?
    Mend(MendAsked),
    /// How that was.
    Rescue(RescueTold),
    /// Where are we?
    WhereNow(WhereNow),
    /// Lay the cards.
    SetUp(LaySetUp),
    /// Do this.
    Step(HandStep),
    /// What the table says.
    Which(Which),
    /// A question.
    Ask(HandQuestion),
    /// It is marked.
    Marked(HandMarked),
    /// Did the ending come true?
    Judge(Judge),
    /// Which cards lie there?
    Packet(EnterPacket),
    /// Where did it go wrong?
    Where(WhereWrong),
    /// What the packet says.
    Verdict(Verdict),
    /// Before the lines.
    Opening(LinesOpening),
    /// A line to say.
    Line(LineCue),
    /// The real line.
    Real(RealLine),
    /// The patter is read.
    Reading(Reading),
    /// It was read.
    Read(ReadThrough),
    /// The end.
    Done(Summary),
}
