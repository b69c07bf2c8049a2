//! What could be asked at a moment of a road, known or not.

use super::answer::{lookalike, worked_out_next};
use super::asking::{LONGEST_PATTERN, Moment};
use super::question::{Kind, Subject};
use super::say;
use super::watch::looks_at;
use crate::cards::{Card, TraitId};
use crate::roads::{Draw, Sighted};
use crate::routine::{Blank, NameId, NameKind, Seen, StopIndex, Template, Value};
use crate::table::{PileId, Place};

impl Moment<'_> {
    /// The piles with cards, those that the last step changed first, each part in random order.
    fn piles(&self, draw: &mut Draw) -> Vec<PileId> {
        let Some(world) = self.world() else {
            return Vec::new();
        };
        let mut piles: Vec<PileId> = world
            .table
            .piles()
            .filter(|(_, cards)| !cards.is_empty())
            .map(|(pile, _)| pile)
            .collect();
        draw.shuffle(&mut piles);
        piles.sort_by_key(|pile| !self.changed(*pile));
        piles
    }

    fn changed(&self, pile: PileId) -> bool {
        self.last()
            .is_some_and(|last| last.before.table.pile(pile) != last.after.table.pile(pile))
    }

    pub(super) fn just_seen(&self, saw: impl Fn(&Sighted) -> bool) -> bool {
        self.last().is_some_and(|last| last.sights.iter().any(saw))
    }

    /// What could be asked of this kind, in a random order that favours what the last step changed. Not all of it can be
    /// known.
    pub fn candidates(&self, kind: Kind, draw: &mut Draw) -> Vec<Subject> {
        match kind {
            Kind::Card => self
                .places(draw)
                .into_iter()
                .filter(|(pile, place)| {
                    !self.just_seen(|saw| {
                        matches!(saw, Sighted::Card { pile: p, place: n, .. } if p == pile && n == place)
                    })
                })
                .map(|(pile, place)| Subject::CardAt(pile, place))
                .collect(),
            Kind::Trait => self.trait_places(draw),
            Kind::Facing => self
                .mixed_piles(draw)
                .into_iter()
                .flat_map(|pile| {
                    let mut places = self.places_of(pile);
                    draw.shuffle(&mut places);
                    places.truncate(4);
                    places
                        .into_iter()
                        .map(move |place| Subject::FacingAt(pile, place))
                })
                .collect(),
            Kind::Where => self.cards(draw, Subject::WhereIs, Subject::WhereTheirs),
            Kind::Pile => self.cards(draw, Subject::PileOf, Subject::PileOfTheirs),
            Kind::Count => self
                .piles(draw)
                .into_iter()
                .filter(|pile| self.changed(*pile))
                .filter(|pile| {
                    !self.just_seen(|saw| matches!(saw, Sighted::Count { pile: p, .. } if p == pile))
                })
                .map(Subject::HowMany)
                .collect(),
            Kind::FaceUp => self
                .mixed_piles(draw)
                .into_iter()
                .map(Subject::FaceUp)
                .collect(),
            Kind::Pattern => self.patterns(draw),
            Kind::Follows => self.follows(draw),
            Kind::Claim => self.claims(draw),
            Kind::Next => self.next().map(|_| Subject::Next).into_iter().collect(),
            Kind::Reckoning => self.names(NameKind::Reckoning, draw),
            Kind::Chosen => self.names(NameKind::Fork, draw),
            Kind::Reply => self.names(NameKind::Reply, draw),
            // These are lived through, not asked.
            Kind::Verdict | Kind::Mend | Kind::Whereabouts | Kind::Step | Kind::Ending | Kind::Slip => Vec::new(),
            Kind::Line => self
                .next()
                .filter(|next| {
                    self.routine
                        .stop(next.stop)
                        .is_some_and(|stop| !stop.say.is_empty() && !stop.theirs)
                })
                .map(|next| Subject::Line(next.stop))
                .into_iter()
                .collect(),
        }
    }

    fn size(&self, pile: PileId) -> u16 {
        self.world().map_or(0, |world| {
            u16::try_from(world.table.size(pile)).unwrap_or(u16::MAX)
        })
    }

    fn places_of(&self, pile: PileId) -> Vec<Place> {
        (1..=self.size(pile)).map(Place).collect()
    }

    /// Places worth asking about: of each pile the top, a few near it, and a few anywhere.
    fn places(&self, draw: &mut Draw) -> Vec<(PileId, Place)> {
        let mut places = Vec::new();
        for pile in self.piles(draw) {
            let size = self.size(pile);
            let mut near: Vec<u16> = (1..=size.min(5)).chain([size]).collect();
            let far = 1 + draw.below(u64::from(size.max(1)));
            near.push(u16::try_from(far).unwrap_or(1));
            near.sort_unstable();
            near.dedup();
            draw.shuffle(&mut near);
            places.extend(near.into_iter().map(|n| (pile, Place(n))));
        }
        places
    }

    /// Pile by pile in turn would ask about the first pile only: one of each in turn.
    fn trait_places(&self, draw: &mut Draw) -> Vec<Subject> {
        let traits = self.traits();
        self.places(draw)
            .into_iter()
            .flat_map(|(pile, place)| {
                traits
                    .iter()
                    .map(move |class| Subject::TraitAt(pile, place, *class))
                    .collect::<Vec<_>>()
            })
            .filter(|subject| {
                !self.just_seen(|saw| match (saw, subject) {
                    (
                        Sighted::Trait {
                            pile, place, class, ..
                        },
                        Subject::TraitAt(p, n, of),
                    ) => (pile, place, class) == (p, n, of),
                    (Sighted::Card { pile, place, .. }, Subject::TraitAt(p, n, _)) => {
                        (pile, place) == (p, n)
                    }
                    (_, _) => false,
                })
            })
            .collect()
    }

    /// The traits by which the routine's cards differ, colour and the file's own first. The finer ones only where the routine
    /// itself looks at them.
    fn traits(&self) -> Vec<TraitId> {
        let mut traits: Vec<TraitId> = (0..self.routine.pack.traits().len())
            .filter_map(|n| u8::try_from(n).ok())
            .map(TraitId)
            .filter(|class| match *class {
                TraitId::FACE => false,
                TraitId::VALUE | TraitId::PARITY | TraitId::LETTERS | TraitId::COURT => {
                    looks_at(self.routine, *class)
                }
                _ => true,
            })
            .filter(|class| self.classes_in_use(*class) > 1)
            .collect();
        traits.sort_by_key(|class| match *class {
            TraitId::COLOUR => 0,
            TraitId::SUIT => 2,
            TraitId::VALUE | TraitId::PARITY | TraitId::LETTERS | TraitId::COURT => 3,
            _ => 1,
        });
        traits
    }

    fn classes_in_use(&self, class: TraitId) -> usize {
        let mut found: Vec<_> = self
            .routine
            .pack
            .cards()
            .filter_map(|card| self.routine.pack.class(card, class))
            .collect();
        found.sort_unstable();
        found.dedup();
        found.len()
    }

    /// Piles in which some cards face up and some down.
    fn mixed_piles(&self, draw: &mut Draw) -> Vec<PileId> {
        let mut piles = self.piles(draw);
        piles.retain(|pile| {
            self.world().is_some_and(|world| {
                let up = world
                    .table
                    .pile(*pile)
                    .iter()
                    .filter(|laid| laid.face_up())
                    .count();
                up > 0 && up < world.table.size(*pile)
            })
        });
        piles
    }

    /// Cards by what is printed on them, and the cards that spectators chose.
    fn cards(
        &self,
        draw: &mut Draw,
        by_print: impl Fn(Card) -> Subject,
        theirs: impl Fn(NameId) -> Subject,
    ) -> Vec<Subject> {
        let Some(world) = self.world() else {
            return Vec::new();
        };
        let mut subjects: Vec<Subject> = world
            .memory
            .iter()
            .enumerate()
            .filter(|(_, value)| matches!(value, Some(Value::Card(_))))
            .filter_map(|(n, _)| u16::try_from(n).ok())
            .map(|n| theirs(NameId(n)))
            .collect();
        let pack = &self.routine.pack;
        let mut prints: Vec<Card> = pack
            .cards()
            .filter(|card| {
                lookalike(self.routine, *card) == *card
                    && pack
                        .cards()
                        .all(|other| other == *card || !pack.same_look(other, *card))
            })
            .collect();
        draw.shuffle(&mut prints);
        prints.truncate(8);
        subjects.extend(prints.into_iter().map(by_print));
        draw.shuffle(&mut subjects);
        // Their card is what the routine is about: it comes first two times in three.
        if draw.below(3) > 0 {
            subjects.sort_by_key(|subject| {
                !matches!(subject, Subject::WhereTheirs(_) | Subject::PileOfTheirs(_))
            });
        }
        subjects
    }

    fn patterns(&self, draw: &mut Draw) -> Vec<Subject> {
        let piles = self.piles(draw);
        let traits = self.traits();
        let fitting: Vec<TraitId> = traits
            .into_iter()
            .filter(|class| say::initials(self.routine, *class).is_some_and(|all| all.len() <= 4))
            .collect();
        piles
            .into_iter()
            .filter(|pile| self.size(*pile) >= 2)
            .flat_map(|pile| {
                let places = self.size(pile).min(LONGEST_PATTERN);
                fitting.iter().map(move |class| Subject::Pattern {
                    pile,
                    class: *class,
                    places,
                })
            })
            .collect()
    }

    /// A place that is shown, and another: neighbours near the top, and the ends.
    fn follows(&self, draw: &mut Draw) -> Vec<Subject> {
        let traits = self.traits();
        let mut subjects = Vec::new();
        for pile in self.piles(draw) {
            let size = self.size(pile);
            let mut pairs: Vec<(u16, u16)> =
                (1..size.min(LONGEST_PATTERN)).map(|n| (n, n + 1)).collect();
            draw.shuffle(&mut pairs);
            pairs.truncate(4);
            // The top pair is what is dealt next.
            if size >= 2 {
                pairs.insert(0, (1, 2));
            }
            if size >= 3 {
                pairs.push((1, size));
            }
            for class in &traits {
                let labels = self
                    .routine
                    .pack
                    .traits()
                    .get(class.index())
                    .map_or(0, |table| table.labels.len());
                if labels > 4 {
                    continue;
                }
                let first = draw.below(u64::try_from(labels).unwrap_or(1)) as usize;
                for (shown, asked) in &pairs {
                    for n in 0..labels {
                        let shows = crate::cards::Class(
                            u8::try_from((first + n) % labels).unwrap_or_default(),
                        );
                        subjects.push(Subject::Follows {
                            pile,
                            class: *class,
                            shown: Place(*shown),
                            shows,
                            asked: Place(*asked),
                        });
                    }
                }
            }
        }
        subjects
    }

    /// Claims of the steps done, and of the next: what was made and may have been undone, and what is about to be made.
    fn claims(&self, draw: &mut Draw) -> Vec<Subject> {
        let near = self
            .walked
            .iter()
            .take(self.done + 1)
            .map(|walked| walked.stop);
        let mut stops: Vec<StopIndex> = near.collect();
        stops.sort_unstable();
        stops.dedup();
        let mut subjects: Vec<Subject> = Vec::new();
        for at in stops {
            let claims = self.routine.stop(at).map_or(&[][..], |stop| &stop.claims);
            for (index, claim) in claims.iter().enumerate() {
                if !claim.words.is_empty() {
                    subjects.push(Subject::Claim(at, index));
                }
            }
        }
        draw.shuffle(&mut subjects);
        subjects
    }

    /// Remembered names of a kind that have a value by now. What was said in the last step is no feat of memory: choices and
    /// replies wait for another step. How often they went round is asked only when a round is over. Reckonings come before their
    /// step where all that they need is there by then, and after it only where the patter has not told them.
    fn names(&self, kind: NameKind, draw: &mut Draw) -> Vec<Subject> {
        let Some(world) = self.world() else {
            return Vec::new();
        };
        let last = self.last().map(|last| last.stop);
        let mut names: Vec<(bool, NameId)> = Vec::new();
        for (n, name) in self.routine.names.iter().enumerate() {
            let Ok(n) = u16::try_from(n) else { break };
            let id = NameId(n);
            if name.kind != kind {
                continue;
            }
            if worked_out_next(self.routine, world.at, id).is_some() {
                names.push((true, id));
                continue;
            }
            if world.value(id).is_none() {
                continue;
            }
            let Some((made, stop)) = say::made_at(self.routine, id) else {
                continue;
            };
            let fresh = last == Some(made);
            let hidden = stop
                .fork
                .as_ref()
                .is_some_and(|fork| fork.name == id && fork.seen != Seen::All);
            match kind {
                NameKind::Reckoning if stop.theirs => {}
                NameKind::Reckoning if tells(&stop.say, id) => {}
                NameKind::Reckoning => names.push((fresh, id)),
                NameKind::Fork if say::is_gate(stop) => {
                    if fresh {
                        names.push((true, id));
                    }
                }
                NameKind::Fork | NameKind::Reply if !fresh && !hidden => names.push((false, id)),
                NameKind::Fork | NameKind::Reply => {}
            }
        }
        draw.shuffle(&mut names);
        names.sort_by_key(|(fresh, _)| !fresh);
        names
            .into_iter()
            .map(|(_, name)| Subject::Remembered(name))
            .collect()
    }
}

/// Whether a line tells the value of a name.
fn tells(line: &Template, name: NameId) -> bool {
    line.0.iter().any(|blank| match blank {
        Blank::Plain(_) => false,
        Blank::Value(expr) => expr.reads().names.contains(&name),
    })
}
