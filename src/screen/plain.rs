//! The plain mode: the same drills line by line, for pipes and screen readers.
//!
//! Every line that is not patter begins with a word that says what it is:
//!
//! ```text
//! road 1: seed=7
//! step: Deal off any number
//! say: "Name a number, any number."
//! do: Deal that many cards onto the table.
//! choice: n=5
//! seen: They named 5.
//! question 1: How many cards lie in the pile called dealt?
//! answer as: a number
//! > 5
//! right. kept.
//! ```
//!
//! Instead of an answer, `why?` tells why the question is asked. The word "kept" is printed only when the answer is on the disk. The end of the input ends the session as the last
//! question does. With a seed given, the output is the same each time, but for the times in the summary.

use super::ScreenFault;
use super::back::looks_back;
use super::correction::{sparse, typed_otherwise};
use super::plain_live;
use super::sheet::clean;
use super::shelf::{Begun, Keeper, Shelved};
use super::sound::Voices;
use super::state::Terms;
use super::summary::seconds;
use super::tiles::all_alike;
use crate::drill::{
    Correction, Effect, Event, Interleaved, Line, Plan, Prompt, Question, Spoken, Spread, Summary,
    Tell, Word,
};
use crate::roads::choice_name;
use crate::routine::{Millis, Routine, Seen};
use crate::voice::Settings;
use std::collections::BTreeSet;
use std::io::{BufRead, Write};
use std::sync::Arc;
use std::time::Instant;

/// Typed instead of an answer, this asks why the question is asked.
const WHY: [&str; 2] = ["why?", "why this?"];

/// Where the lines come from and go to, and what time it is.
pub struct Lines<'a> {
    /// Answers.
    pub input: &'a mut dyn BufRead,
    /// Everything else.
    pub output: &'a mut dyn Write,
    /// A monotonic clock.
    pub clock: &'a mut dyn FnMut() -> Millis,
}

impl std::fmt::Debug for Lines<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Lines")
    }
}

impl Lines<'_> {
    /// A line, on its way at once.
    pub(super) fn say(&mut self, line: &str) -> Result<(), ScreenFault> {
        writeln!(self.output, "{}", clean(line).trim_end())
            .and_then(|()| self.output.flush())
            .map_err(ScreenFault::Lines)
    }
    /// A line with a word before it; nothing for an empty text. Line breaks in the text begin the line anew.
    pub(super) fn tell(&mut self, word: &str, text: &str) -> Result<(), ScreenFault> {
        for line in text.lines().filter(|line| !line.trim().is_empty()) {
            self.say(&format!("{word}: {}", line.trim()))?;
        }
        Ok(())
    }
    /// The next answer, and how long it took; `None` at the end of the input.
    pub(super) fn ask(&mut self) -> Result<Option<(String, Millis)>, ScreenFault> {
        write!(self.output, "> ")
            .and_then(|()| self.output.flush())
            .map_err(ScreenFault::Lines)?;
        let before = (self.clock)();
        let mut line = Vec::new();
        let read = self
            .input
            .read_until(b'\n', &mut line)
            .map_err(ScreenFault::Lines)?;
        let passed = Millis((self.clock)().0.saturating_sub(before.0));
        writeln!(self.output).map_err(ScreenFault::Lines)?;
        Ok((read > 0).then(|| (String::from_utf8_lossy(&line).trim().to_owned(), passed)))
    }
}

/// A rehearsal of these routines line by line; of several it takes one road of one of them at a time.
///
/// # Errors
/// When it cannot begin, or reading or writing fails; every answer called kept is kept.
pub fn plain(
    shelf: &[Shelved],
    terms: &Terms,
    keeper: &mut dyn Keeper,
    lines: &mut Lines<'_>,
    sound: Option<Settings>,
) -> Result<Summary, ScreenFault> {
    let plan = terms.plan();
    if let (Some(_), [shelved]) = (Spoken::drill(&plan), shelf) {
        let mut voices = Voices::new(sound, Instant::now());
        return plain_live::speak(shelved, terms, keeper, lines, &mut voices);
    }
    let session = shelf
        .iter()
        .map(|shelved| shelved.session(plan.clone()))
        .collect::<Result<Vec<_>, _>>()
        .and_then(Interleaved::new)
        .map_err(|fault| ScreenFault::Begin(fault.to_string()))?;
    let began = (lines.clock)();
    let mut talk = Talk {
        session,
        shelf,
        plan,
        begun: BTreeSet::new(),
        turn: None,
        keeper,
        lines,
        began,
        here: None,
        choices: 0,
        told: BTreeSet::new(),
        asked: 0,
        summary: None,
    };
    let ended = talk.run();
    let summary = talk.summary.take().unwrap_or_default();
    if let Err(fault) = keeper.end() {
        lines.say(&format!(
            "notice: the end of this rehearsal was not kept: {fault}"
        ))?;
    }
    ended?;
    for shelved in shelf {
        if by_the_plan(&shelved.name, keeper, lines)? {
            break;
        }
    }
    Ok(summary)
}

/// What comes next by a plan, at the end of a session. False where there is none.
pub(super) fn by_the_plan(
    name: &str,
    keeper: &mut dyn Keeper,
    lines: &mut Lines<'_>,
) -> Result<bool, ScreenFault> {
    match keeper.standing(name).and_then(|standing| standing.planned) {
        Some(next) => lines.tell("by your plan", &next).map(|()| true),
        None => Ok(false),
    }
}

/// A session being talked through.
struct Talk<'a, 'l> {
    session: Interleaved,
    shelf: &'a [Shelved],
    plan: Plan,
    /// The routines begun.
    begun: BTreeSet<usize>,
    /// Whose road is being walked.
    turn: Option<usize>,
    keeper: &'a mut dyn Keeper,
    lines: &'a mut Lines<'l>,
    began: Millis,
    /// The last step told.
    here: Option<Tell>,
    /// How many choices of this road were told.
    choices: usize,
    /// What was told to be seen on this road: a question does not tell it again.
    told: BTreeSet<String>,
    asked: u32,
    summary: Option<Summary>,
}

impl Talk<'_, '_> {
    fn run(&mut self) -> Result<(), ScreenFault> {
        loop {
            match self.session.prompt() {
                Prompt::Tell(tell) => {
                    self.step(&tell)?;
                    self.hand(Event::Go)?;
                }
                Prompt::Ask(question) => self.question(&question)?,
                Prompt::Correct(correction) => {
                    self.correct(&correction)?;
                    self.hand(Event::Go)?;
                }
                Prompt::Line(line) => self.line(&line)?,
                Prompt::Done(summary) => {
                    sum_up(self.lines, &summary)?;
                    self.summary = Some(summary);
                    return Ok(());
                }
            }
        }
    }

    /// Hands an event to the session and keeps what is to be kept. True when the answer could be read.
    fn hand(&mut self, event: Event) -> Result<bool, ScreenFault> {
        let now = (self.lines.clock)();
        let elapsed = Event::Elapsed(Millis(now.0.saturating_sub(self.began.0)));
        let mut effects = self.session.update(event);
        effects.extend(self.session.update(elapsed));
        let mut read = true;
        for effect in effects {
            match effect {
                Effect::Keep(answered) => {
                    let mark = if answered.right { "right" } else { "not quite" };
                    match self.keeper.keep(&answered) {
                        Ok(()) => self.lines.say(&format!("{mark}. kept."))?,
                        Err(fault) => self.lines.say(&format!("{mark}. not kept: {fault}"))?,
                    }
                }
                Effect::Unread(how) => {
                    read = false;
                    self.lines.tell("not understood", &how)?;
                }
                Effect::Finished(_) => {}
            }
        }
        Ok(read)
    }

    fn step(&mut self, tell: &Tell) -> Result<(), ScreenFault> {
        if self.here.as_ref().map(|here| here.road) != Some(tell.road) {
            self.choices = 0;
            self.told.clear();
            if self.turn != Some(self.session.turn()) {
                self.take_turn()?;
            }
            self.lines.say("")?;
            self.lines
                .say(&format!("road {}: seed={}", tell.road, tell.seed))?;
        }
        self.here = Some(tell.clone());
        self.lines.tell("step", &tell.title)?;
        // The history of a question names each step by its title; this one was just named.
        self.told.insert(tell.title.clone());
        self.told.insert(format!("{}.", tell.title));
        if !tell.patter.is_empty() {
            self.lines.tell("say", &format!("\"{}\"", tell.patter))?;
        }
        for handling in &tell.handling {
            self.lines.tell("do", handling)?;
        }
        self.new_choices(&tell.choices)?;
        for seen in &tell.seen {
            self.lines.tell("seen", seen)?;
            self.told.insert(seen.clone());
        }
        Ok(())
    }

    /// Tells whose road comes next, and more where it is that routine's first.
    fn take_turn(&mut self) -> Result<(), ScreenFault> {
        let turn = self.session.turn();
        let Some(shelved) = self.shelf.get(turn) else {
            return Ok(());
        };
        if self.turn.replace(turn).is_some() {
            self.lines.say("")?;
        }
        self.lines.tell("routine", &shelved.routine.title)?;
        if !self.begun.insert(turn) {
            return Ok(());
        }
        let begun = Begun {
            name: shelved.name.clone(),
            content_hash: shelved.routine.content_hash.clone(),
            setup: shelved.routine.setup,
            seed: self.plan.seed,
            drills: self.plan.drills.clone(),
            plain: true,
        };
        self.lines.say(&format!("set-up: {}", begun.setup))?;
        self.lines.tell("proof", shelved.proven.sentence())?;
        if let Some(changed) = &shelved.standing.changed {
            self.lines.tell("notice", changed)?;
        }
        if let Err(fault) = self.keeper.begin(&begun) {
            self.lines
                .say(&format!("notice: this rehearsal may not be kept: {fault}"))?;
        }
        Ok(())
    }

    fn new_choices(&mut self, choices: &[String]) -> Result<(), ScreenFault> {
        for choice in choices.iter().skip(self.choices) {
            if self.spoken(choice) {
                self.lines.tell("choice", choice)?;
            }
        }
        self.choices = self.choices.max(choices.len());
        Ok(())
    }

    /// Whether the performer hears of this choice. One that is made in secret is not told; the road's seed holds it.
    fn spoken(&self, choice: &str) -> bool {
        let routine = self.session.walked();
        routine.find_name(choice_name(choice)).is_some_and(|name| {
            routine
                .stops
                .iter()
                .filter_map(|stop| stop.fork.as_ref())
                .any(|fork| fork.name == name && fork.seen == Seen::All)
        })
    }

    fn question(&mut self, question: &Question) -> Result<(), ScreenFault> {
        self.asked += 1;
        let back = looks_back(&self.session, self.here.as_ref(), question);
        if let Some(place) = &back {
            self.lines.tell("back at", place)?;
        }
        for given in &question.given {
            // Of where we are, only what is new; of an earlier place, all of it.
            if back.is_some() || self.told.insert(given.clone()) {
                self.lines.tell("seen", given)?;
            }
        }
        if back.is_none() {
            self.new_choices(&question.choices)?;
        }
        let again = if question.again { " once more" } else { "" };
        self.lines
            .tell(&format!("question {}{again}", self.asked), &question.text)?;
        self.lines.tell("answer as", &question.answer_as)?;
        loop {
            let Some((text, total)) = self.lines.ask()? else {
                self.hand(Event::Stop)?;
                return Ok(());
            };
            // A line comes in whole: its first key cannot be told from its end.
            if WHY.contains(&text.to_lowercase().as_str()) {
                if let Some(why) = self.session.why() {
                    self.lines.tell("why this", &why.words())?;
                }
                continue;
            }
            if self.hand(Event::Answer {
                text,
                first_key: total,
                total,
            })? {
                return Ok(());
            }
        }
    }

    fn correct(&mut self, correction: &Correction) -> Result<(), ScreenFault> {
        self.lines.tell("answer", &correction.answer)?;
        compare(self.lines, &correction.words)?;
        self.lines.tell("why", &correction.why)?;
        let routine = Arc::clone(self.session.routine());
        for spread in &correction.packet {
            let (pile, cards) = drawn(&routine, spread);
            self.lines.tell(pile, &cards)?;
        }
        Ok(())
    }

    fn line(&mut self, line: &Line) -> Result<(), ScreenFault> {
        self.lines.tell("line", &line.line)?;
        compare(self.lines, &line.words)?;
        for handling in &line.handling {
            self.lines.tell("goes with", handling)?;
        }
        if !line.aloud {
            self.hand(Event::Go)?;
            return Ok(());
        }
        loop {
            self.lines.say("did yours differ? yes or no")?;
            let Some((text, _)) = self.lines.ask()? else {
                self.hand(Event::Stop)?;
                return Ok(());
            };
            let differed = match text.to_lowercase().as_str() {
                "y" | "yes" | "d" => true,
                "n" | "no" | "s" => false,
                _ => continue,
            };
            self.hand(Event::Differed(differed))?;
            return Ok(());
        }
    }
}

/// The summary.
pub(super) fn sum_up(lines: &mut Lines<'_>, summary: &Summary) -> Result<(), ScreenFault> {
    lines.say("")?;
    lines.say(&format!(
        "summary: {}/{} right",
        summary.right, summary.asked
    ))?;
    for sentence in &summary.went_well {
        lines.tell("went well", sentence)?;
    }
    for step in &summary.weak {
        let time = match (step.median, step.target) {
            (Some(median), Some(target)) => {
                format!(", time {} of {}", seconds(median), seconds(target))
            }
            (Some(median), None) => format!(", time {}", seconds(median)),
            (None, _) => String::new(),
        };
        lines.tell(
            "look again at",
            &format!("{}, {}/{} right{time}", step.title, step.right, step.asked),
        )?;
    }
    // The line begins with the word already.
    let next = summary.next.strip_prefix("Next, ");
    lines.tell("next", next.unwrap_or(&summary.next))
}

/// A line word by word, told only where it differs; where only key words were typed, only what is not in the line.
pub(super) fn compare(lines: &mut Lines<'_>, words: &[Word]) -> Result<(), ScreenFault> {
    if !sparse(words) {
        let missed: Vec<&str> = words
            .iter()
            .filter_map(|word| match word {
                Word::Missed(word) | Word::Changed(word, _) => Some(word.as_str()),
                Word::Same(_) | Word::Added(_) => None,
            })
            .collect();
        lines.tell("missed", &missed.join(" "))?;
    }
    lines.tell("not in the line", &typed_otherwise(words))
}

/// A packet in one line, the top first: cards as letters, `^` after a card that lies face up, `--` for an unknown one.
fn drawn<'r>(routine: &'r Routine, spread: &Spread) -> (&'r str, String) {
    if let Some(words) = all_alike(spread) {
        let count = spread.count.unwrap_or(spread.tiles.len());
        return (
            routine.pile_name(spread.pile),
            format!("{count} cards, {words}"),
        );
    }
    let cards: Vec<String> = spread
        .tiles
        .iter()
        .map(|tile| {
            let face = match (tile.card, tile.traits.first()) {
                (Some(card), _) => routine.pack.short(card),
                (None, Some(&(id, class))) => routine.pack.label(id, class).to_owned(),
                (None, None) => "--".to_owned(),
            };
            format!("{face}{}", if tile.up == Some(true) { "^" } else { "" })
        })
        .collect();
    let more = match spread.count {
        Some(count) if count > cards.len() => format!(" and {} more", count - cards.len()),
        Some(_) => String::new(),
        None => " and perhaps more".to_owned(),
    };
    let text = if cards.is_empty() && more.is_empty() {
        "no cards".to_owned()
    } else {
        format!("{}{more}", cards.join(" "))
    };
    (routine.pile_name(spread.pile), text)
}
