//! Spoken rehearsals line by line. What is spoken is printed too, with the word for whoever speaks before it:
//!
//! ```text
//! road 1: seed=7
//! lay: the packet, 4 cards, from the top: AH KS 3D 9C
//! enter when it is laid
//! >
//! prompter: They name a number
//! spectator: "Let's say 9."
//! large: 9
//! do: Deal that many cards.
//! >
//! did the ending come true? yes or no
//! > yes
//! right. kept.
//! ```
//!
//! An empty line goes on; `repeat` says it once more, `q` ends. The end of the input ends the rehearsal.

use super::ScreenFault;
use super::live::performer;
use super::live_lines::in_words;
use super::live_view::counted;
use super::plain::{Lines, by_the_plan, compare, sum_up};
use super::plain_rescue;
use super::shelf::{Begun, Keeper, Shelved};
use super::sound::Voices;
use super::state::Terms;
use crate::drill::{
    Along, Deed, HandStep, LaySetUp, LineCue, RealLine, Saying, Speaker, Spoken, SpokenEffect,
    SpokenPrompt, Summary,
};
use crate::routine::Millis;
use std::sync::Arc;

/// A spoken rehearsal line by line.
///
/// # Errors
/// When it cannot begin, or reading or writing fails; every answer called kept is kept.
pub(super) fn speak(
    shelved: &Shelved,
    terms: &Terms,
    keeper: &mut dyn Keeper,
    lines: &mut Lines<'_>,
    talk: &mut Voices,
) -> Result<Summary, ScreenFault> {
    let plan = shelved.aimed(terms.plan());
    let begun = Begun {
        name: shelved.name.clone(),
        content_hash: shelved.routine.content_hash.clone(),
        setup: shelved.routine.setup,
        seed: plan.seed,
        drills: plan.drills.clone(),
        plain: true,
    };
    let session = Spoken::new(Arc::clone(&shelved.routine), plan, performer(shelved))
        .map_err(|fault| ScreenFault::Begin(fault.to_string()))?;
    lines.tell("routine", &shelved.routine.title)?;
    lines.say(&format!("set-up: {}", begun.setup))?;
    lines.tell("proof", shelved.proven.sentence())?;
    if let Some(changed) = &shelved.standing.changed {
        lines.tell("notice", changed)?;
    }
    if let Err(fault) = keeper.begin(&begun) {
        lines.say(&format!("notice: this rehearsal may not be kept: {fault}"))?;
    }
    talk.wake();
    let began = (lines.clock)();
    talk.begin();
    let mut here = Here {
        session,
        keeper,
        lines,
        talk,
        began,
        road: 0,
    };
    let ended = here.run();
    here.talk.hush();
    for (name, value) in here.talk.to_remember() {
        // How loud it was is no answer: what cannot be kept is asked for again next time.
        let _ = here.keeper.remember(name, &value);
    }
    if let Err(fault) = here.keeper.end() {
        here.lines.say(&format!(
            "notice: the end of this rehearsal was not kept: {fault}"
        ))?;
    }
    let summary = ended?;
    by_the_plan(&shelved.name, here.keeper, here.lines)?;
    Ok(summary)
}

/// A spoken rehearsal being held.
struct Here<'a, 'l> {
    session: Spoken,
    keeper: &'a mut dyn Keeper,
    lines: &'a mut Lines<'l>,
    talk: &'a mut Voices,
    began: Millis,
    road: u32,
}

impl Here<'_, '_> {
    fn run(&mut self) -> Result<Summary, ScreenFault> {
        loop {
            if let Some(notice) = self.talk.notice() {
                self.lines.tell("notice", &notice)?;
            }
            let prompt = self.session.prompt();
            if let SpokenPrompt::Done(summary) = prompt {
                sum_up(self.lines, &summary)?;
                return Ok(summary);
            }
            self.show(&prompt)?;
            self.talk.ahead(&self.session.ahead());
            let Some((text, _)) = self.lines.ask()? else {
                self.hand(&Deed::Stop)?;
                continue;
            };
            self.heard()?;
            let deed = deed(&prompt, &text);
            self.hand(&deed)?;
        }
    }

    fn now(&mut self) -> Millis {
        Millis((self.lines.clock)().0.saturating_sub(self.began.0))
    }

    /// Takes in that speech has ended in the meantime, and when. The voice and the rehearsal began at the same time.
    fn heard(&mut self) -> Result<(), ScreenFault> {
        match self.talk.over() {
            Some(at) => {
                let now = self.now();
                self.hand_at(&Deed::Spoken, at.min(now))
            }
            None => Ok(()),
        }
    }

    fn hand(&mut self, deed: &Deed) -> Result<(), ScreenFault> {
        let now = self.now();
        self.hand_at(deed, now)
    }

    fn hand_at(&mut self, deed: &Deed, now: Millis) -> Result<(), ScreenFault> {
        // How many were kept, and how many of them were right: all steps of a road are kept at its end, and told in one line.
        let mut kept = (0, 0);
        for effect in self.session.update(deed, now) {
            if !matches!(effect, SpokenEffect::Keep(_)) {
                self.tell_kept(std::mem::take(&mut kept))?;
            }
            match effect {
                SpokenEffect::Say(speech) => {
                    match speech.who {
                        Speaker::Spectator => self
                            .lines
                            .tell("spectator", &format!("\"{}\"", speech.words))?,
                        Speaker::Prompter => self.lines.tell("prompter", &speech.words)?,
                    }
                    self.talk.say(&speech);
                }
                SpokenEffect::Play(sound) => self.talk.play(sound),
                SpokenEffect::Hush => self.talk.hush(),
                SpokenEffect::Keep(answered) => match self.keeper.keep(&answered) {
                    Ok(()) => {
                        kept.0 += 1;
                        kept.1 += u32::from(answered.right);
                    }
                    Err(fault) => {
                        let mark = if answered.right { "right" } else { "not quite" };
                        self.lines.say(&format!("{mark}. not kept: {fault}"))?;
                    }
                },
                SpokenEffect::Unread(how) => self.lines.tell("not understood", &how)?,
                SpokenEffect::Finished(_) => {}
            }
        }
        self.tell_kept(kept)
    }

    /// Says that so many answers are on disk, and how many of them were right.
    fn tell_kept(&mut self, (kept, right): (u32, u32)) -> Result<(), ScreenFault> {
        match (kept, right) {
            (0, _) => Ok(()),
            (1, 0) => self.lines.say("not quite. kept."),
            (1, _) => self.lines.say("right. kept."),
            (_, _) if kept == right => self.lines.say(&format!("{kept} right. kept.")),
            (_, _) => {
                let not = kept - right;
                self.lines
                    .say(&format!("{right} right, {not} not quite. kept."))
            }
        }
    }

    fn road(&mut self, along: &Along) -> Result<(), ScreenFault> {
        road(along, self.lines, &mut self.road)
    }

    fn show(&mut self, prompt: &SpokenPrompt) -> Result<(), ScreenFault> {
        match prompt {
            SpokenPrompt::Stray(_)
            | SpokenPrompt::Mend(_)
            | SpokenPrompt::Rescue(_)
            | SpokenPrompt::WhereNow(_) => plain_rescue::show(prompt, self.lines, &mut self.road),
            SpokenPrompt::SetUp(lay) => self.set_up(lay),
            SpokenPrompt::Step(step) => self.step(step),
            SpokenPrompt::Which(which) => {
                self.lines.tell("they are asked", &which.text)?;
                for (n, option) in which.options.iter().enumerate() {
                    self.lines.say(&format!("{}: {option}", n + 1))?;
                }
                self.lines.say("the number of the answer")
            }
            SpokenPrompt::Ask(ask) => {
                self.lines.tell("question", &ask.question.text)?;
                self.lines.tell("answer as", &ask.question.answer_as)
            }
            SpokenPrompt::Marked(marked) => {
                self.lines.tell("answer", &marked.question.expected_words)?;
                self.lines.tell("why", &marked.why)?;
                self.lines.say("enter goes on")
            }
            SpokenPrompt::Judge(judge) => {
                for claim in &judge.claims {
                    self.lines.tell("was to be", claim)?;
                }
                self.lines.say("did the ending come true? yes or no")
            }
            SpokenPrompt::Packet(packet) => self.lines.say(&format!(
                "which cards lie in {}, from the top? cards (7h), colours (rbrb) or suits; ? for one not known; enter \
                 alone leaves it out",
                packet.name
            )),
            SpokenPrompt::Where(lost) => {
                self.lines.tell("packet", &lost.found)?;
                for (n, (_, title)) in lost.steps.iter().enumerate() {
                    self.lines.say(&format!("{}: {title}", n + 1))?;
                }
                self.lines
                    .say("where did it go wrong? the number of the step; enter alone if you do not know")
            }
            SpokenPrompt::Verdict(verdict) => {
                self.lines.tell("packet", &verdict.words)?;
                self.lines.say("enter goes on")
            }
            SpokenPrompt::Opening(opening) => {
                self.road(&opening.along)?;
                for line in &opening.so_far {
                    self.lines.tell("so far", line)?;
                }
                let time = in_words(opening.reading);
                self.lines.say(&format!(
                    "enter: line by line; r: the whole patter is read, which takes {time} at the pace of a performance"
                ))
            }
            SpokenPrompt::Line(cue) => self.cue(cue),
            SpokenPrompt::Real(real) => self.real(real),
            SpokenPrompt::Reading(reading) => {
                self.lines.tell("step", &reading.title)?;
                if let Some(pace) = reading.along.target {
                    self.lines.tell("its time", &in_words(pace))?;
                }
                self.lines.say("enter reads on")
            }
            SpokenPrompt::Read(read) => {
                let took = in_words(read.took);
                self.lines.say(&format!("the whole patter took {took}"))?;
                if let Some(running) = read.running {
                    let running = in_words(running);
                    self.lines.say(&format!("a performance takes {running}"))?;
                }
                self.lines.say("enter: now line by line")
            }
            SpokenPrompt::Done(_) => Ok(()),
        }
    }

    fn set_up(&mut self, lay: &LaySetUp) -> Result<(), ScreenFault> {
        self.road(&lay.along)?;
        if lay.telling.is_some() {
            return self.lines.say("enter: the next card");
        }
        for line in &lay.so_far {
            self.lines.tell("so far", line)?;
        }
        for pile in &lay.piles {
            let cards: Vec<&str> = pile.cards.iter().map(|card| &*card.short).collect();
            let order = if pile.ordered {
                "from the top"
            } else {
                "shuffled"
            };
            self.lines.tell(
                "lay",
                format!(
                    "{}, {}, {order}: {}",
                    pile.name,
                    counted(pile.count),
                    cards.join(" ")
                )
                .trim_end_matches([':', ' ']),
            )?;
        }
        self.lines.say(if lay.piles.is_empty() {
            "enter when it is laid"
        } else {
            "enter when it is laid; c: card by card"
        })
    }

    fn step(&mut self, step: &HandStep) -> Result<(), ScreenFault> {
        self.road(&step.along)?;
        self.lines.tell("large", &step.word)?;
        if let Some(free) = &step.free {
            self.lines.tell("free", free)?;
        }
        for line in &step.handling {
            self.lines.tell("do", line)?;
        }
        for line in &step.seen {
            self.lines.tell("seen", line)?;
        }
        if let Some(caution) = &step.caution {
            self.lines.tell("careful", caution)?;
        }
        if !step.patter.is_empty() {
            self.lines.tell("say", &format!("\"{}\"", step.patter))?;
        }
        self.lines.say("enter when it is done")
    }

    fn cue(&mut self, cue: &LineCue) -> Result<(), ScreenFault> {
        if cue.at == Saying::Said {
            return self.lines.say("enter when you are done");
        }
        if cue.cue.is_none() {
            let whose = if cue.along.done == 0 {
                "it begins with you"
            } else {
                "your line"
            };
            self.lines.say(whose)?;
        }
        if !cue.first_words.is_empty() {
            self.lines
                .tell("begins", &format!("\"{}\"", cue.first_words))?;
        }
        for line in &cue.handling {
            self.lines.tell("goes with", line)?;
        }
        self.lines
            .say("say it aloud: enter when you begin; or type its main words")
    }

    fn real(&mut self, real: &RealLine) -> Result<(), ScreenFault> {
        for line in &real.handling {
            self.lines.tell("goes with", line)?;
        }
        match &real.typed {
            None => self.lines.say("did yours differ? yes or no"),
            Some(words) => {
                compare(self.lines, words)?;
                self.lines.say("enter goes on")
            }
        }
    }
}

/// Tells a new road.
pub(super) fn road(
    along: &Along,
    lines: &mut Lines<'_>,
    last: &mut u32,
) -> Result<(), ScreenFault> {
    if along.road != *last {
        *last = along.road;
        lines.say("")?;
        lines.say(&format!("road {}: seed={}", along.road, along.seed))?;
    }
    Ok(())
}

/// What a line typed means where this is shown.
fn deed(prompt: &SpokenPrompt, text: &str) -> Deed {
    let word = text.trim().to_lowercase();
    let yes = matches!(word.as_str(), "" | "y" | "yes");
    let on = || match word.as_str() {
        "q" | "quit" => Deed::Stop,
        "repeat" | "r" => Deed::Back,
        _ => Deed::Go,
    };
    match prompt {
        SpokenPrompt::SetUp(_) if word == "c" => Deed::Cards,
        SpokenPrompt::Opening(_) if word == "r" => Deed::Read,
        SpokenPrompt::SetUp(_)
        | SpokenPrompt::Step(_)
        | SpokenPrompt::Rescue(_)
        | SpokenPrompt::Marked(_)
        | SpokenPrompt::Verdict(_)
        | SpokenPrompt::Opening(_)
        | SpokenPrompt::Reading(_)
        | SpokenPrompt::Read(_)
        | SpokenPrompt::Done(_) => on(),
        SpokenPrompt::Ask(_) if word == "repeat" => Deed::Back,
        SpokenPrompt::Judge(_) if yes => Deed::Go,
        SpokenPrompt::Judge(_) if matches!(word.as_str(), "n" | "no") => Deed::Back,
        // Anything else leaves the question standing.
        SpokenPrompt::Judge(_) => Deed::Tick,
        SpokenPrompt::Line(LineCue {
            at: Saying::Cue, ..
        }) if matches!(word.as_str(), "repeat" | "q" | "quit") => on(),
        SpokenPrompt::Line(LineCue {
            at: Saying::Cue, ..
        }) if !word.is_empty() => Deed::Answer(text.to_owned()),
        SpokenPrompt::Line(_) => Deed::Go,
        SpokenPrompt::Real(real) if real.typed.is_some() => on(),
        SpokenPrompt::Real(_) => match word.as_str() {
            "y" | "yes" | "d" => Deed::Back,
            "q" | "quit" => Deed::Stop,
            "" | "n" | "no" | "s" => Deed::Go,
            _ => Deed::Tick,
        },
        SpokenPrompt::Stray(_) | SpokenPrompt::Mend(_) | SpokenPrompt::WhereNow(_)
            if matches!(word.as_str(), "q" | "quit") =>
        {
            Deed::Stop
        }
        SpokenPrompt::Stray(_)
        | SpokenPrompt::Mend(_)
        | SpokenPrompt::WhereNow(_)
        | SpokenPrompt::Which(_)
        | SpokenPrompt::Ask(_)
        | SpokenPrompt::Packet(_)
        | SpokenPrompt::Where(_) => Deed::Answer(text.to_owned()),
    }
}
