//! Random roads with random slips, planted by hands of the tests' own, and what the search says of the packets.
//!
//! The slips planted are drawn by the prior: a slip that is said to be twice as likely is planted twice as often. What is drawn is
//! the moment and the way together, over the whole road. The search knows nothing of the hands here: it is given the choices
//! and the packet, as a performer would.

#![expect(clippy::unwrap_used, reason = "a test may fail by panicking")]
#![allow(dead_code, reason = "the tests and the example each use a part of it")]

use allroads::handling::Move;
use allroads::rescue::slip::{
    Case, Found, Got, Held, MOST_STEPS, Report, Seen, Slip, SlipKind, Wrong, drops, explain,
    instead, weight,
};
use allroads::roads::{
    AsChosen, Choices, Draw, Shuffler, Walked, do_plainly, domain, pass_by_hand, start,
    unknown_start,
};
use allroads::routine::{Act, Fault, NameId, Routine, Seen as Learnt, StopIndex, Value, World};
use allroads::table::Table;
use std::collections::HashMap;
use std::time::{Duration, Instant};

/// One moment at which something is done.
#[derive(Debug, Clone)]
enum What {
    Step,
    Move(Move),
    Shuffle(Move),
    Rounds,
    Way,
}

/// What was done at a moment, and the table before it.
type Noted = (u16, What, Table);

/// A slip to make: at this moment of a step, in this way.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    pub moment: u16,
    pub wrong: Wrong,
    pub kind: SlipKind,
    pub moves: Vec<Move>,
}

/// Hands that note what they do, and make the slips of a plan.
struct Clumsy<'a> {
    plans: &'a [Plan],
    next: u16,
    noted: Vec<Noted>,
}

impl Clumsy<'_> {
    fn moment(&mut self, what: What, table: &Table) -> Option<Plan> {
        let at = self.next;
        self.next += 1;
        self.noted.push((at, what, table.clone()));
        self.plans.iter().find(|plan| plan.moment == at).cloned()
    }
}

fn do_all(world: &mut World, moves: &[Move]) -> Result<(), Fault> {
    moves.iter().try_for_each(|mv| do_plainly(world, mv))
}

impl Shuffler for Clumsy<'_> {
    fn shuffle(
        &mut self,
        routine: &Routine,
        world: &mut World,
        mv: &Move,
        by: NameId,
    ) -> Result<(), Fault> {
        match self.moment(What::Shuffle(mv.clone()), &world.table) {
            Some(plan) if plan.wrong == Wrong::LeftOut => Ok(()),
            Some(plan) => {
                AsChosen.shuffle(routine, world, mv, by)?;
                do_all(world, &plan.moves)
            }
            None => AsChosen.shuffle(routine, world, mv, by),
        }
    }
    fn passes(&mut self, acts: &[Act]) -> u16 {
        if acts.is_empty() {
            return 1;
        }
        match self.moment(What::Step, &Table::default()).map(|p| p.wrong) {
            Some(Wrong::LeftOut) => 0,
            Some(Wrong::Twice) => 2,
            _ => 1,
        }
    }
    fn carry_out(&mut self, world: &mut World, mv: &Move) -> Result<(), Fault> {
        match self.moment(What::Move(mv.clone()), &world.table) {
            Some(plan) => {
                if plan.kind == SlipKind::Dropped {
                    do_plainly(world, mv)?;
                }
                do_all(world, &plan.moves)
            }
            None => do_plainly(world, mv),
        }
    }
    fn rounds(&mut self, due: i64) -> i64 {
        match self
            .moment(What::Rounds, &Table::default())
            .map(|p| p.wrong)
        {
            Some(Wrong::More) => due + 1,
            Some(Wrong::Fewer) => due - 1,
            _ => due,
        }
    }
    fn way(&mut self, condition: bool) -> bool {
        condition ^ self.moment(What::Way, &Table::default()).is_some()
    }
}

/// A step with these slips; what was done at it.
fn step(
    routine: &Routine,
    world: &World,
    choice: Option<&Value>,
    plans: &[Plan],
) -> (Result<World, Fault>, Vec<Noted>) {
    let mut hands = Clumsy {
        plans,
        next: 0,
        noted: Vec::new(),
    };
    let next = pass_by_hand(routine, world, choice, &mut hands);
    (next, hands.noted)
}

/// The ways in which a moment can go wrong, each with its share of its kind's weight.
fn ways(routine: &Routine, noted: &Noted, world: &World) -> Vec<(Plan, f64)> {
    let (moment, what, table) = noted;
    let plan = |wrong, kind, moves| Plan {
        moment: *moment,
        wrong,
        kind,
        moves,
    };
    let with = |table: &Table, moves: &[Move]| {
        let mut after = World {
            table: table.clone(),
            ..world.clone()
        };
        do_all(&mut after, moves).ok().map(|()| after.table)
    };
    let mut plans: Vec<Plan> = match what {
        What::Step => vec![
            plan(Wrong::LeftOut, SlipKind::LeftOut, Vec::new()),
            plan(Wrong::Twice, SlipKind::Twice, Vec::new()),
        ],
        What::Rounds => vec![
            plan(Wrong::More, SlipKind::Count, Vec::new()),
            plan(Wrong::Fewer, SlipKind::Count, Vec::new()),
        ],
        What::Way => vec![plan(Wrong::OtherWay, SlipKind::WrongWay, Vec::new())],
        What::Move(mv) => {
            let right = with(table, std::slice::from_ref(mv));
            let mut plans: Vec<Plan> = instead(mv, table)
                .into_iter()
                .filter(|way| {
                    let after = with(table, &way.moves);
                    after.is_some() && after != right
                })
                .map(|way| plan(way.wrong, way.kind, way.moves))
                .collect();
            if let Some(right) = right {
                plans.extend(
                    drops(&mv.piles(), &right)
                        .into_iter()
                        .map(|way| plan(way.wrong, way.kind, way.moves)),
                );
            }
            plans
        }
        What::Shuffle(_) => vec![plan(Wrong::LeftOut, SlipKind::LeftOut, Vec::new())],
    };
    // A riffle done twice is not looked for, since nobody could say what it leads to.
    let shuffles = routine.stop(world.at).is_some_and(|stop| {
        let mut free = false;
        for act in &stop.acts {
            act.each_act(&mut |act| {
                free |= matches!(act, Act::Riffle { .. } | Act::Overhand { .. });
            });
        }
        free
    });
    plans.retain(|plan| !(shuffles && plan.wrong == Wrong::Twice));
    let mut among: HashMap<SlipKind, f64> = HashMap::new();
    for plan in &plans {
        *among.entry(plan.kind).or_default() += 1.0;
    }
    plans
        .into_iter()
        .map(|plan| {
            let share = weight(plan.kind) / among[&plan.kind];
            (plan, share)
        })
        .collect()
}

/// A road that was walked with slips.
pub struct Planted {
    /// The how-manieth stop, the plan, and the state after that step.
    pub slips: Vec<(u16, Plan, World)>,
    /// The states before each step, the choice made there.
    pub walked: Vec<(World, Option<Value>)>,
    /// The table at the end.
    pub end: World,
    /// The table that the same choices lead to without the slips, where they can be made.
    pub right: Option<World>,
    /// All choices that were made, and those that were seen.
    pub all: Choices,
    pub seen: Choices,
    pub start: World,
}

/// Draws where to slip, and walks on with it. `None` where the road breaks off.
pub fn plant(routine: &Routine, seed: u64, slips: usize) -> Option<Planted> {
    let begin = start(routine, seed);
    let mut draw = Draw::for_step(seed, "slip", 1);
    // The road as written, and all that could go wrong on it.
    let mut world = begin.clone();
    let mut visits: HashMap<StopIndex, u32> = HashMap::new();
    let mut open: Vec<(u16, Plan, u64)> = Vec::new();
    let mut nth = 0_u16;
    while routine.stop(world.at).is_some() {
        let visit = visits.entry(world.at).or_default();
        *visit += 1;
        let choice = choose(routine, &world, seed, *visit, None)?;
        let (next, noted) = step(routine, &world, choice.as_ref(), &[]);
        for one in &noted {
            for (plan, share) in ways(routine, one, &world) {
                open.push((nth, plan, (share * 1000.0) as u64));
            }
        }
        world = next.ok()?;
        nth += 1;
    }
    let mut plans: Vec<(u16, Plan)> = Vec::new();
    while plans.len() < slips {
        let weights: Vec<u64> = open.iter().map(|(.., weight)| *weight).collect();
        let (nth, plan, _) = open.get(draw.weighted(&weights))?;
        // Two at one step would shift each other's moments.
        if plans.iter().all(|(other, _)| other != nth) {
            plans.push((*nth, plan.clone()));
        }
    }
    plans.sort_by_key(|(nth, _)| *nth);
    walk(routine, begin, seed, &plans)
}

/// A choice as on the road of the seed; where it is not offered any more, another one.
fn choose(
    routine: &Routine,
    world: &World,
    seed: u64,
    visit: u32,
    meant: Option<&Value>,
) -> Option<Option<Value>> {
    let Some(open) = domain(routine, world).ok()? else {
        return Some(None);
    };
    if let Some(meant) = meant.filter(|meant| open.contains(meant)) {
        return Some(Some(meant.clone()));
    }
    let id = routine.stop(world.at)?.id.0.clone();
    Some(Some(open.sample(&mut Draw::for_step(seed, &id, visit))))
}

fn walk(routine: &Routine, begin: World, seed: u64, plans: &[(u16, Plan)]) -> Option<Planted> {
    let mut right = Some(begin.clone());
    let mut world = begin.clone();
    let mut visits: HashMap<StopIndex, u32> = HashMap::new();
    let mut walked = Vec::new();
    let mut roads: Vec<Walked> = Vec::new();
    let mut slips = Vec::new();
    let mut nth = 0_u16;
    while routine.stop(world.at).is_some() {
        let visit = visits.entry(world.at).or_default();
        *visit += 1;
        // The choices of the road as written, as long as they are offered.
        let meant = right
            .as_ref()
            .filter(|right| right.at == world.at)
            .and_then(|right| choose(routine, right, seed, *visit, None))
            .flatten();
        let choice = choose(routine, &world, seed, *visit, meant.as_ref())?;
        let mine: Vec<Plan> = plans
            .iter()
            .filter(|(at, _)| *at == nth)
            .map(|(_, plan)| plan.clone())
            .collect();
        let (next, _) = step(routine, &world, choice.as_ref(), &mine);
        let next = next.ok()?;
        right = right
            .filter(|right| right.at == world.at)
            .and_then(|right| step(routine, &right, choice.as_ref(), &[]).0.ok());
        for plan in mine {
            slips.push((nth, plan, next.clone()));
        }
        roads.push(Walked {
            stop: world.at,
            visit: *visit,
            choice: routine
                .stop(world.at)
                .and_then(|stop| Some((stop.fork.as_ref()?.name, choice.clone()?))),
            before: world.clone(),
            after: next.clone(),
            sights: Vec::new(),
        });
        walked.push((world, choice));
        world = next;
        nth += 1;
    }
    if slips.len() < plans.len() {
        return None;
    }
    let heard = |walked: &Walked| {
        routine
            .stop(walked.stop)
            .and_then(|stop| stop.fork.as_ref())
            .is_some_and(|fork| fork.seen == Learnt::All)
    };
    Some(Planted {
        slips,
        walked,
        end: world,
        right: right.filter(|right| routine.stop(right.at).is_none()),
        all: Choices::of_road(routine, &roads, |_| true),
        seen: Choices::of_road(routine, &roads, heard),
        start: begin,
    })
}

/// All piles of a state, as one would read them off the table.
pub fn got(world: &World) -> Got {
    Got {
        piles: world
            .table
            .piles()
            .map(|(pile, cards)| Found {
                pile,
                cards: cards
                    .iter()
                    .map(|laid| Seen {
                        held: world
                            .face_of(laid.card())
                            .map_or(Held::Unknown, Held::Print),
                        up: Some(laid.face_up()),
                    })
                    .collect(),
                open: false,
            })
            .collect(),
        foreign: Vec::new(),
    }
}

/// Whether slips that were named are those that were planted: at the same steps, with the same table after each.
pub fn same(routine: &Routine, planted: &Planted, named: &[Slip]) -> bool {
    named.len() == planted.slips.len()
        && named
            .iter()
            .zip(&planted.slips)
            .all(|(slip, (nth, _, after))| {
                if slip.nth != *nth || slip.wrong == Wrong::Lost {
                    return false;
                }
                let (before, choice) = &planted.walked[usize::from(*nth)];
                let kind = slip.kind;
                let (_, noted) = step(routine, before, choice.as_ref(), &[]);
                noted
                    .iter()
                    .filter(|(at, ..)| *at == slip.moment)
                    .flat_map(|one| ways(routine, one, before))
                    .filter(|(plan, _)| plan.wrong == slip.wrong && plan.kind == kind)
                    .any(|(plan, _)| {
                        step(routine, before, choice.as_ref(), &[plan]).0.as_ref() == Ok(after)
                    })
            })
}

/// What is counted over many roads.
#[derive(Debug, Default, Clone)]
pub struct Tally {
    pub roads: u32,
    /// The slip shows in nothing.
    pub hidden: u32,
    /// Fewer slips explain the packet as well.
    pub fewer: u32,
    pub among: u32,
    pub first: u32,
    /// Not everything could be followed.
    pub partly: u32,
    pub slowest: Duration,
    pub whole: Duration,
    /// Seeds of those that are not among the explanations.
    pub missed: Vec<u64>,
}

impl Tally {
    pub fn shown(&self) -> u32 {
        self.roads - self.hidden - self.fewer
    }
}

/// Plants slips on so many roads and asks for each. `open`: only what was seen is told.
pub fn tally(routine: &Routine, roads: u32, slips: usize, open: bool, patience: Duration) -> Tally {
    let mut tally = Tally::default();
    let mut seed = 0;
    while tally.roads < roads {
        seed += 1;
        assert!(seed < u64::from(roads) * 100, "no slip can be planted");
        let Some(planted) = plant(routine, seed, slips) else {
            continue;
        };
        tally.roads += 1;
        let unknown = unknown_start(routine);
        let report = asked(routine, &planted, open, &unknown, patience, &mut tally);
        let unchanged = planted
            .right
            .as_ref()
            .is_some_and(|right| right.table == planted.end.table);
        assert!(
            open || report.right == unchanged,
            "seed {seed}: the packet is said to be {}",
            if report.right { "right" } else { "wrong" }
        );
        assert!(report.cards.is_empty(), "seed {seed}: {:?}", report.cards);
        if report.right {
            tally.hidden += 1;
            continue;
        }
        if report
            .explanations
            .first()
            .is_some_and(|first| first.slips.len() < slips)
        {
            tally.fewer += 1;
            continue;
        }
        let at = report
            .explanations
            .iter()
            .position(|told| same(routine, &planted, &told.slips));
        match at {
            Some(at) => {
                tally.among += 1;
                tally.first += u32::from(at == 0);
            }
            None if !report.complete => {}
            None => tally.missed.push(seed),
        }
        tally.partly += u32::from(!report.complete);
    }
    tally
}

fn asked(
    routine: &Routine,
    planted: &Planted,
    open: bool,
    unknown: &World,
    patience: Duration,
    tally: &mut Tally,
) -> Report {
    let packet = got(&planted.end);
    let case = Case {
        routine,
        start: if open { unknown } else { &planted.start },
        choices: if open { &planted.seen } else { &planted.all },
        until: None,
        got: &packet,
        most_steps: MOST_STEPS,
    };
    let began = Instant::now();
    let report = explain(&case, &|| began.elapsed() > patience);
    let took = began.elapsed();
    tally.slowest = tally.slowest.max(took);
    tally.whole += took;
    report
}

/// The shipped routines by name.
pub fn shipped() -> Vec<(&'static str, Routine)> {
    allroads::command::SHIPPED
        .iter()
        .map(|one| {
            (
                one.name,
                allroads::routine::load(one.text, one.name, 0).unwrap(),
            )
        })
        .collect()
}
