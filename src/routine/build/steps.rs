//! Steps laid out as stops: the main steps, gates after the parts that are gone through again, then each ending.

use super::names::Names;
use super::{acts, claims, forks, head, strays};
use crate::routine::check::{Gathered, Spot};
use crate::routine::draft::{
    CardSight, Out, Reckon, ReplyDraft, RoutineFile, Sees, Step, StepOrAgain,
};
use crate::routine::expr::Kind;
use crate::routine::model::{
    Ending, Mend, Reckoning, Reply, Sight, SightKind, StepId, Stop, StopIndex, Template, Then,
};
use crate::routine::stray::Stray;
use crate::routine::yaml_read::{At, Part, Text};

/// The most steps, endings included.
const MOST: usize = 300;
/// The deepest parts inside parts.
const DEEPEST: usize = 4;

/// All stops and endings.
#[derive(Default)]
pub(super) struct Plan {
    pub(super) stops: Vec<Stop>,
    pub(super) endings: Vec<Ending>,
    ids: Vec<(String, Spot)>,
    /// The ids of the routine's own strays, in order.
    strays: Vec<String>,
}

pub(super) fn plan(draft: &RoutineFile, names: &Names<'_>, gathered: &Gathered<'_>) -> Plan {
    let mut plan = Plan {
        strays: strays::ids(draft),
        ..Plan::default()
    };
    if let Some(steps) = draft.steps.as_ref().and_then(|s| s.get()) {
        if steps.value.is_empty() {
            gathered.advise(steps.spot, "there are no steps", "list at least one");
        }
        plan.lay(&steps.value, names, 0);
    }
    // A gate at the end needs no more: it goes on to the first ending's first stop, which means the endings.
    if let Some(last) = plan.stops.last_mut()
        && matches!(last.then, Then::Go(_))
    {
        last.then = Then::Endings;
    }
    for out in draft.outs.iter().filter_map(|o| o.get()).flatten() {
        if let Some(out) = out.get() {
            plan.out(out, names);
        }
    }
    if let Some(finale) = draft.finale.as_ref().and_then(|f| f.get()) {
        if let Some(when) = finale.value.when.as_ref().and_then(|w| w.get()) {
            gathered.advise(
                when.spot,
                "the finale has no condition",
                "take `when` out; what is taken only sometimes belongs under `outs`",
            );
        }
        let first = plan.here();
        plan.stop(finale, names, Then::Finish);
        if let Some(stop) = plan.stops.get(first.index()) {
            let id = stop.id.clone();
            plan.endings.push(Ending {
                id,
                when: None,
                first,
            });
        }
    }
    if plan.stops.len() > MOST {
        let spot = plan.ids.last().map(|(_, spot)| *spot).unwrap_or_default();
        let message = format!("{} steps are too many", plan.stops.len());
        gathered.advise(spot, message, format!("at most {MOST}"));
    }
    plan
}

impl Plan {
    fn here(&self) -> StopIndex {
        StopIndex(u16::try_from(self.stops.len()).unwrap_or(u16::MAX))
    }

    fn next(&self) -> StopIndex {
        StopIndex(u16::try_from(self.stops.len() + 1).unwrap_or(u16::MAX))
    }

    fn lay(&mut self, parts: &[Part<StepOrAgain>], names: &Names<'_>, depth: usize) {
        for part in parts.iter().filter_map(|p| p.get()) {
            match part {
                StepOrAgain::Step(step) => {
                    if let Some(when) = step.value.when.as_ref().and_then(|w| w.get()) {
                        names.gathered.advise(
                            when.spot,
                            "only an out has `when`",
                            "put the moves that depend on something into `do: [{when: …}]`",
                        );
                    }
                    let then = Then::Go(self.next());
                    self.stop(step, names, then);
                }
                StepOrAgain::Again(again) => {
                    let first = self.here();
                    let spot = again.spot;
                    let again = &again.value;
                    if depth >= DEEPEST {
                        names.gathered.say(spot, "too many parts inside each other");
                        return;
                    }
                    if again.steps.is_empty() {
                        names.gathered.advise(
                            again.name.spot,
                            "this part has no steps",
                            "list them under its `steps:`",
                        );
                    }
                    self.lay(&again.steps, names, depth + 1);
                    let id = self.id(&again.name, names, true);
                    let then = Then::Gate {
                        again: first,
                        on: self.next(),
                    };
                    let fork = forks::gate(again, names);
                    // What is asked there says more than the name it is remembered by.
                    let asked = fork.says.open();
                    let title = if asked.is_empty() {
                        again.name.text.clone()
                    } else {
                        asked
                    };
                    self.stops.push(Stop {
                        title,
                        fork: Some(fork),
                        ..Stop::bare(id, then, again.name.spot.line)
                    });
                }
            }
        }
    }

    fn out(&mut self, out: &Out, names: &Names<'_>) {
        let mark = names.mark();
        let first = self.here();
        let (when, steps): (_, Vec<&At<Step>>) = match out {
            Out::Long(out) => {
                let steps = out.value.steps.iter().filter_map(|s| s.get());
                if out.value.steps.is_empty() {
                    let message = "this out has no steps";
                    names
                        .gathered
                        .advise(out.spot, message, "list them under its `steps:`");
                }
                (Some(&out.value.when), steps.collect())
            }
            Out::Short(step) => {
                if step.value.when.is_none() {
                    names.gathered.advise(
                        step.spot,
                        "this out does not say when it is taken",
                        "add `when:` with a condition",
                    );
                }
                let when = step.value.when.as_ref();
                (when.and_then(|w| w.get()), vec![&**step])
            }
        };
        let when = when.and_then(|when| names.expr(when, Kind::Bool));
        let last = steps.len().saturating_sub(1);
        for (at, step) in steps.into_iter().enumerate() {
            let then = if at == last {
                Then::Finish
            } else {
                Then::Go(self.next())
            };
            self.stop(step, names, then);
        }
        names.forget_since(mark);
        if let (Some(when), Some(stop)) = (when, self.stops.get(first.index())) {
            let id = stop.id.clone();
            self.endings.push(Ending {
                id,
                when: Some(when),
                first,
            });
        }
    }

    /// An id that no other step has.
    fn id(&mut self, text: &Text, names: &Names<'_>, is_name: bool) -> StepId {
        if !is_name {
            good_id(text, names.gathered);
        }
        if let Some((_, first)) = self.ids.iter().find(|(id, _)| *id == text.text) {
            names.gathered.advise(
                text.spot,
                format!("there is a step \"{}\" already", text.text),
                format!(
                    "it is on line {}; give one of the two another id",
                    first.line
                ),
            );
        }
        self.ids.push((text.text.clone(), text.spot));
        StepId(text.text.as_str().into())
    }

    /// The strays that a step lists.
    fn listed(&self, texts: &[Text], names: &Names<'_>) -> Vec<Stray> {
        texts
            .iter()
            .filter_map(|text| strays::named(text, &self.strays, names))
            .collect()
    }

    fn stop(&mut self, draft: &At<Step>, names: &Names<'_>, then: Then) {
        let step = &draft.value;
        let (id, line) = match step.id.as_ref().and_then(|id| id.get()) {
            Some(id) => (self.id(id, names, false), id.spot.line),
            None => (StepId("".into()), draft.spot.line),
        };
        let plain = |part: &Option<Part<Text>>| {
            let text = part.as_ref().and_then(|p| p.get());
            text.map(|t| t.text.trim().to_owned())
        };
        let fork = step.fork.as_ref().and_then(|f| f.get());
        let fork = fork.and_then(|fork| forks::fork(fork, names));
        let reckons = step.reckon.iter().filter_map(|r| r.get()).flatten();
        let reckonings = reckons.filter_map(|r| reckoning(r.get()?, names)).collect();
        let acts = step.acts.as_ref().and_then(|a| a.get());
        let acts = acts.map(|acts| acts::acts(acts, names)).unwrap_or_default();
        let reply = step.reply.as_ref().and_then(|r| r.get());
        let reply = reply.and_then(|r| reply_of(r, names));
        let sights = sights(step.sees.as_ref(), names);
        let claims = step.claims.as_ref().and_then(|c| c.get());
        let claims = claims.map(|c| claims::claims(c, names)).unwrap_or_default();
        let target = step.target.as_ref().and_then(|t| t.get());
        let strays = step.strays.as_ref().and_then(|s| s.get());
        self.stops.push(Stop {
            by: plain(&step.by).map(std::sync::Arc::from),
            title: plain(&step.title).unwrap_or_else(|| id.0.replace('-', " ")),
            say: say(step.say.as_ref(), names),
            handling: plain(&step.handling).unwrap_or_default(),
            fork,
            reckonings,
            acts,
            reply,
            sights,
            claims,
            target: target.and_then(|t| head::time(t, names.gathered)),
            strays: self.listed(strays.map(Vec::as_slice).unwrap_or_default(), names),
            caution: plain(&step.caution),
            hint: plain(&step.hint),
            ..Stop::bare(id, then, line)
        });
    }
}

pub(super) fn good_id(text: &Text, gathered: &Gathered<'_>) {
    let good = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if text.text.is_empty() || text.text.len() > 60 || !text.text.chars().all(good) {
        gathered.advise(
            text.spot,
            format!("`{}` cannot be an id", text.text),
            "use small letters, digits and hyphens, at most 60",
        );
    }
}

pub(super) fn say(draft: Option<&Part<Text>>, names: &Names<'_>) -> Template {
    match draft.and_then(|say| say.get()) {
        Some(say) => names.template(say),
        None => Template::default(),
    }
}

fn reckoning(draft: &Reckon, names: &Names<'_>) -> Option<Reckoning> {
    let is = names.expr(&draft.is, Kind::Any);
    let name = names.learn();
    let is = is?;
    names.settle(name, is.kind());
    Some(Reckoning {
        name,
        is,
        asks: draft.asks.as_ref().map(|a| a.text.trim().to_owned()),
    })
}

fn reply_of(draft: &ReplyDraft, names: &Names<'_>) -> Option<Reply> {
    let is = names.expr(&draft.is, Kind::Any);
    let name = names.learn();
    let is = is?;
    names.settle(name, is.kind());
    Some(Reply {
        name,
        asks: draft.asks.text.trim().to_owned(),
        is,
    })
}

pub(super) fn sights(drafts: Option<&Part<Vec<Part<At<Sees>>>>>, names: &Names<'_>) -> Vec<Sight> {
    let drafts = drafts.and_then(|d| d.get()).into_iter().flatten();
    drafts
        .filter_map(|draft| {
            let draft = draft.get()?;
            let kind = match &draft.value {
                Sees::Card(CardSight { pile, at }) => {
                    let pile = names.pile(pile);
                    let at = names.expr(at, Kind::Int);
                    SightKind::Card {
                        pile: pile?,
                        at: at?,
                    }
                }
                Sees::Trait(sight) => {
                    let pile = names.pile(&sight.pile);
                    let at = names.expr(&sight.at, Kind::Int);
                    let class = names.class(&sight.class);
                    SightKind::Trait {
                        pile: pile?,
                        at: at?,
                        class: class?,
                    }
                }
                Sees::Count(pile) => SightKind::Count(names.pile(pile)?),
                Sees::Value(value) => SightKind::Value(names.expr(value, Kind::Any)?),
            };
            Some(Sight {
                kind,
                line: draft.spot.line,
            })
        })
        .collect()
}

pub(super) fn mends(draft: &RoutineFile, names: &Names<'_>, gathered: &Gathered<'_>) -> Vec<Mend> {
    let drafts = draft.mends.iter().filter_map(|m| m.get()).flatten();
    let mut ids: Vec<(&str, Spot)> = Vec::new();
    let mut mends = Vec::new();
    for draft in drafts.filter_map(|m| m.get()) {
        good_id(&draft.id, gathered);
        if let Some((_, first)) = ids.iter().find(|(id, _)| *id == draft.id.text) {
            gathered.advise(
                draft.id.spot,
                format!("there is a mend \"{}\" already", draft.id.text),
                format!(
                    "it is on line {}; give one of the two another id",
                    first.line
                ),
            );
        }
        ids.push((&draft.id.text, draft.id.spot));
        let acts = draft.acts.get().map(Vec::as_slice).unwrap_or_default();
        mends.push(Mend {
            id: StepId(draft.id.text.as_str().into()),
            say: say(draft.say.as_ref(), names),
            looks: sights(draft.sees.as_ref(), names),
            acts: acts::acts(acts, names),
            rank: draft
                .rank
                .as_ref()
                .and_then(|r| r.get())
                .copied()
                .unwrap_or(1),
        });
    }
    mends
}
