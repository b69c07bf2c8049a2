//! The end of a road: did the ending come true, which packet lies there, and where did it go wrong?

use super::{Hands, Phase};
use crate::drill::question::Kind;
use crate::drill::say;
use crate::drill::spoken::packet::{Says, says};
use crate::drill::spoken::prompt::{
    EnterPacket, Judge, Sound, Speech, SpokenEffect, Verdict, WhereWrong,
};
use crate::drill::spoken::{kept, words};
use crate::drill::summary::Given;
use crate::rescue::slip::Got;
use crate::routine::{Millis, StopIndex, capital};
use crate::table::PileId;
use std::sync::Arc;

/// So many piles are asked for after an ending that did not come true.
const MOST_PILES: usize = 3;

impl Hands {
    pub(super) fn judging(&self, now: Millis) -> (Judge, Speech) {
        let routine = &self.routine;
        let finale = self
            .road
            .walked
            .last()
            .and_then(|last| routine.stop(last.stop));
        let mut claims: Vec<String> = Vec::new();
        for (name, value) in &self.road.thoughts {
            let what = say::about(routine, *name).unwrap_or_else(|| "what they thought of".into());
            let value = say::value(self.road.scene(routine), value);
            claims.push(format!("{}: {value}", capital(&what)));
        }
        claims.extend(
            finale
                .iter()
                .flat_map(|stop| &stop.claims)
                .map(|claim| claim.words.clone()),
        );
        let revealed: Vec<String> = claims
            .iter()
            .take(self.road.thoughts.len())
            .map(|line| format!("{line}."))
            .collect();
        let judge = Judge {
            along: self.along(now, None),
            claims,
        };
        let mut asks = revealed.join(" ");
        asks.push_str(" Did the ending come true?");
        (judge, words::prompter(asks.trim()))
    }

    pub(super) fn came_true(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let mut effects = self.keep_steps();
        effects.push(self.keep_ending(true, "yes"));
        effects.push(SpokenEffect::Hush);
        effects.push(SpokenEffect::Play(Sound::Done));
        effects.extend(self.road_over(now));
        effects
    }

    /// Each step of a road that ended well was done well.
    pub(super) fn keep_steps(&mut self) -> Vec<SpokenEffect> {
        let mut effects = Vec::new();
        for (stop, took) in std::mem::take(&mut self.times) {
            let Some(step) = self.routine.stop(stop) else {
                continue;
            };
            self.answers.push(Given {
                step: step.id.clone(),
                drill: self.drill,
                kind: Kind::Step,
                right: true,
                again: false,
                total: took,
            });
            effects.push(SpokenEffect::Keep(kept::lived(
                &self.routine,
                &self.road_so_far(),
                (self.drill, Kind::Step, stop),
                &kept::Lived {
                    question: "The step with real cards",
                    expected: "done",
                    given: "done",
                    right: true,
                    first: took,
                    total: took,
                },
            )));
        }
        effects
    }

    pub(super) fn road_so_far(&self) -> kept::SoFar {
        kept::SoFar {
            seed: self.road.seed,
            choices: self.road.choices.clone(),
            given: self
                .road
                .given
                .iter()
                .map(|said| said.text.clone())
                .collect(),
        }
    }

    pub(super) fn keep_ending(&mut self, right: bool, given: &str) -> SpokenEffect {
        let whole = self.wholes.last().copied().unwrap_or(Millis(0));
        let stop = self.finale();
        if let Some(step) = self.routine.stop(stop) {
            self.answers.push(Given {
                step: step.id.clone(),
                drill: self.drill,
                kind: Kind::Ending,
                right,
                again: false,
                total: whole,
            });
        }
        SpokenEffect::Keep(kept::lived(
            &self.routine,
            &self.road_so_far(),
            (self.drill, Kind::Ending, stop),
            &kept::Lived {
                question: "Did the ending come true?",
                expected: "yes",
                given,
                right,
                first: whole,
                total: whole,
            },
        ))
    }

    pub(super) fn finale(&self) -> StopIndex {
        self.road
            .walked
            .last()
            .map_or(StopIndex(0), |last| last.stop)
    }

    pub(super) fn not_true(&mut self, now: Millis) -> Vec<SpokenEffect> {
        self.packets = Got::default();
        self.typed.clear();
        let mut piles: Vec<(usize, PileId)> = self
            .road
            .scene(&self.routine)
            .world
            .table
            .piles()
            .filter(|(_, cards)| !cards.is_empty())
            .map(|(pile, cards)| (cards.len(), pile))
            .collect();
        piles.sort_by_key(|(size, _)| std::cmp::Reverse(*size));
        let piles: Vec<PileId> = piles
            .into_iter()
            .map(|(_, pile)| pile)
            .take(MOST_PILES)
            .collect();
        let mut effects = vec![SpokenEffect::Hush];
        effects.extend(self.ask_pile(piles, now));
        effects
    }

    pub(super) fn ask_pile(&mut self, mut piles: Vec<PileId>, now: Millis) -> Vec<SpokenEffect> {
        if piles.is_empty() {
            return self.ask_where("The cards alone do not tell.", now);
        }
        let pile = piles.remove(0);
        self.phase = Phase::Packet(
            EnterPacket {
                along: self.along(now, None),
                pile,
                name: say::pile(&self.routine, pile),
            },
            piles,
        );
        Vec::new()
    }

    pub(super) fn packet(
        &mut self,
        pile: PileId,
        rest: Vec<PileId>,
        text: &str,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        if !text.trim().is_empty() {
            if let Err(fault) = self.packets.add(&self.routine, pile, text) {
                return vec![SpokenEffect::Unread(format!(
                    "{}.",
                    capital(&fault.to_string())
                ))];
            }
            self.only_the_top();
            let name = self.routine.pile_name(pile);
            self.typed.push(format!("{name}: {}", text.trim()));
        }
        let said = says(&self.routine, &self.road.all, self.finale(), &self.packets);
        // Tables that were too many to be listed are followed in another way by who looks for slips.
        let listed = self.road.all.worlds().is_some();
        let look = match said {
            Says::CannotBe => true,
            Says::Nothing | Says::CouldBe => !listed && self.packets.says_something(),
        };
        if look && let Some(effects) = self.slipped(rest.clone(), now) {
            return effects;
        }
        match said {
            Says::CannotBe => self.ask_where(
                "No road leads to this packet: something went wrong in the hands.",
                now,
            ),
            Says::Nothing | Says::CouldBe if !rest.is_empty() => self.ask_pile(rest, now),
            Says::CouldBe => self.could_be(now),
            Says::Nothing => self.ask_where("The cards alone do not tell.", now),
        }
    }

    /// The cards could lie just so when all is done as written.
    pub(super) fn could_be(&mut self, now: Millis) -> Vec<SpokenEffect> {
        let given = self.typed.join("; ");
        let mut effects = self.keep_steps();
        effects.push(self.keep_ending(true, &given));
        effects.extend(self.verdict(
            "These cards could lie just so, and then the ending holds. Your hands were right; look at what you said and \
             turned at the end."
                .to_owned(),
            true,
            now,
        ));
        effects
    }

    pub(super) fn ask_where(&mut self, found: &str, now: Millis) -> Vec<SpokenEffect> {
        let routine = Arc::clone(&self.routine);
        let mut steps: Vec<(StopIndex, String)> = Vec::new();
        for walked in &self.road.walked {
            if !steps.iter().any(|(at, _)| *at == walked.stop)
                && let Some(stop) = routine.stop(walked.stop)
                && !say::is_gate(stop)
            {
                steps.push((walked.stop, say::heading(&routine, stop)));
            }
        }
        self.phase = Phase::Where(WhereWrong {
            along: self.along(now, None),
            steps,
            found: found.to_owned(),
        });
        let asks = format!("{found} Where did it go wrong?");
        self.say(vec![words::prompter(&asks)])
    }

    /// The last word on a road, shown and said.
    pub(super) fn verdict(&mut self, words: String, right: bool, now: Millis) -> Vec<SpokenEffect> {
        let told = words::prompter(&words);
        self.phase = Phase::Verdict(Verdict {
            along: self.along(now, None),
            words,
            right,
        });
        self.say(vec![told])
    }

    pub(super) fn lost_at(
        &mut self,
        lost: &WhereWrong,
        text: &str,
        now: Millis,
    ) -> Vec<SpokenEffect> {
        let text = text.trim();
        let at = text
            .parse::<usize>()
            .ok()
            .and_then(|n| lost.steps.get(n.checked_sub(1)?));
        let given = self.typed.join("; ");
        let unknown = ["", "?", "-"].contains(&text);
        let (effect, words) = match at {
            None if !unknown => {
                return vec![SpokenEffect::Unread(format!(
                    "Please type a number from 1 to {}, or press enter if you do not know.",
                    lost.steps.len()
                ))];
            }
            None => (
                self.keep_ending(false, if given.is_empty() { "no" } else { &given }),
                "It happens. Do the same road once more, slowly, and watch where the cards part ways."
                    .to_owned(),
            ),
            Some((stop, title)) => {
                let (stop, title) = (*stop, title.trim_end_matches('.').to_owned());
                (
                    self.keep_slip(stop, if given.is_empty() { "here" } else { &given }),
                    noted(&title),
                )
            }
        };
        let mut effects = vec![effect];
        effects.extend(self.verdict(words, false, now));
        effects
    }

    /// A slip at a step: it will come back.
    pub(super) fn keep_slip(&mut self, stop: StopIndex, given: &str) -> SpokenEffect {
        let took = self
            .times
            .iter()
            .find(|(at, _)| *at == stop)
            .map_or(Millis(0), |(_, took)| *took);
        if let Some(step) = self.routine.stop(stop) {
            self.answers.push(Given {
                step: step.id.clone(),
                drill: self.drill,
                kind: Kind::Slip,
                right: false,
                again: false,
                total: took,
            });
        }
        SpokenEffect::Keep(kept::lived(
            &self.routine,
            &self.road_so_far(),
            (self.drill, Kind::Slip, stop),
            &kept::Lived {
                question: "Where did it go wrong?",
                expected: "nowhere",
                given,
                right: false,
                first: took,
                total: took,
            },
        ))
    }
}

/// What comes of a slip at a step.
pub(super) fn noted(title: &str) -> String {
    format!("Noted: “{title}” will come back. Do it a few times by itself, slowly.")
}
