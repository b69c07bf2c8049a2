//! The same problems as models for stateright: `checker bfs|dfs riffle CARDS`, `… cut-and-turn ROUNDS`, `… twenty-seven`, and
//! `… stepwise ROUNDS`, which takes the steps of the routine file one by one and remembers what the routine remembers. On two
//! threads. It says whether the claim holds, how many different states there were, and how many a second.

use stateright::{Checker, Model, Property};
use std::error::Error;
use std::hash::Hash;
use std::time::Instant;

const THREADS: usize = 2;

/// Cards in the packet that is cut and turned.
const CARDS: usize = 10;

/// A pile of red and black cards: a bit each, the lowest at the bottom.
#[derive(Clone, Copy, Debug, Default, Hash, PartialEq, Eq)]
struct Pile {
    cards: u64,
    count: u8,
}

impl Pile {
    fn lay_on_top(&mut self, card: u64) {
        self.cards |= card << self.count;
        self.count += 1;
    }

    fn take_from_top(&mut self) -> Option<u64> {
        self.count = self.count.checked_sub(1)?;
        let card = self.cards >> self.count & 1;
        self.cards &= !(1 << self.count);
        Some(card)
    }

    fn take_from_bottom(&mut self) -> Option<u64> {
        self.count = self.count.checked_sub(1)?;
        let card = self.cards & 1;
        self.cards >>= 1;
        Some(card)
    }
}

/// The alternating packet: any number dealt off one by one, the two parts riffled in any way, every pair one of each colour.
#[derive(Clone)]
struct Riffle {
    cards: u8,
}

#[derive(Clone, Copy, Debug, Hash, PartialEq, Eq)]
struct Riffled {
    dealing: bool,
    left: Pile,
    right: Pile,
    formed: Pile,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Fall {
    Deal,
    DealNoMore,
    Left,
    Right,
}

impl Model for Riffle {
    type State = Riffled;
    type Action = Fall;

    fn init_states(&self) -> Vec<Riffled> {
        let mut packet = Pile::default();
        for card in 0..self.cards {
            packet.lay_on_top(u64::from(card % 2));
        }
        vec![Riffled {
            dealing: true,
            left: Pile::default(),
            right: packet,
            formed: Pile::default(),
        }]
    }

    fn actions(&self, state: &Riffled, actions: &mut Vec<Fall>) {
        if state.dealing {
            actions.push(Fall::DealNoMore);
            if state.right.count > 0 {
                actions.push(Fall::Deal);
            }
            return;
        }
        if state.left.count > 0 {
            actions.push(Fall::Left);
        }
        if state.right.count > 0 {
            actions.push(Fall::Right);
        }
    }

    fn next_state(&self, state: &Riffled, fall: Fall) -> Option<Riffled> {
        let mut next = *state;
        match fall {
            Fall::Deal => next.left.lay_on_top(next.right.take_from_top()?),
            Fall::DealNoMore => next.dealing = false,
            Fall::Left => next.formed.lay_on_top(next.left.take_from_bottom()?),
            Fall::Right => next.formed.lay_on_top(next.right.take_from_bottom()?),
        }
        Some(next)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![Property::always(
            "pairs",
            |model: &Self, state: &Riffled| {
                let unlike = state.formed.cards ^ (state.formed.cards >> 1);
                let pairs = 0x5555_5555_5555_5555 & ((1 << model.cards) - 1);
                state.formed.count < model.cards || unlike & pairs == pairs
            },
        )]
    }
}

/// A card is its number, doubled, and 1 more where it is face up.
type Packet = [u8; CARDS];

fn fresh() -> Packet {
    std::array::from_fn(|card| 2 * card as u8)
}

fn turn_two(packet: &mut Packet) {
    packet.swap(0, 1);
    packet[0] ^= 1;
    packet[1] ^= 1;
}

fn showing_alike(packet: &Packet) -> bool {
    let showing = |from: usize| {
        packet
            .iter()
            .skip(from)
            .step_by(2)
            .filter(|card| **card & 1 == 1)
            .count()
    };
    showing(0) == showing(1)
}

/// Cut anywhere and turn the top two over as a block, at most so many rounds.
#[derive(Clone)]
struct CutAndTurn {
    rounds: u8,
}

#[derive(Clone, Debug, Hash, PartialEq, Eq)]
struct Turned {
    packet: Packet,
    rounds: u8,
}

impl Model for CutAndTurn {
    type State = Turned;
    type Action = usize;

    fn init_states(&self) -> Vec<Turned> {
        vec![Turned {
            packet: fresh(),
            rounds: 0,
        }]
    }

    fn actions(&self, state: &Turned, actions: &mut Vec<usize>) {
        if state.rounds < self.rounds {
            actions.extend(0..CARDS);
        }
    }

    fn next_state(&self, state: &Turned, cut: usize) -> Option<Turned> {
        let mut next = state.clone();
        next.packet.rotate_left(cut);
        turn_two(&mut next.packet);
        next.rounds += 1;
        Some(next)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![Property::always("alike", |_, state: &Turned| {
            showing_alike(&state.packet)
        })]
    }
}

/// The same, with the steps of the routine file one by one.
#[derive(Clone)]
struct Stepwise {
    rounds: u8,
}

#[derive(Clone, Debug, Hash, PartialEq, Eq)]
enum Step {
    Cut,
    Turn,
    Again,
    Finale,
    Done,
}

#[derive(Clone, Debug, Hash, PartialEq, Eq)]
struct Stage {
    packet: Packet,
    step: Step,
    rounds: u8,
    off: Option<u8>,
}

impl Model for Stepwise {
    type State = Stage;
    type Action = u8;

    fn init_states(&self) -> Vec<Stage> {
        vec![Stage {
            packet: fresh(),
            step: Step::Cut,
            rounds: 0,
            off: None,
        }]
    }

    fn actions(&self, state: &Stage, actions: &mut Vec<u8>) {
        match state.step {
            Step::Cut => actions.extend(0..CARDS as u8),
            Step::Turn | Step::Finale => actions.push(0),
            Step::Again if state.rounds < self.rounds => actions.extend([0, 1]),
            Step::Again => actions.push(0),
            Step::Done => {}
        }
    }

    fn next_state(&self, state: &Stage, choice: u8) -> Option<Stage> {
        let mut next = state.clone();
        next.step = match state.step {
            Step::Cut => {
                next.packet.rotate_left(usize::from(choice));
                next.off = Some(choice);
                Step::Turn
            }
            Step::Turn => {
                turn_two(&mut next.packet);
                next.rounds += 1;
                Step::Again
            }
            Step::Again if choice == 1 => Step::Cut,
            Step::Again => Step::Finale,
            Step::Finale => Step::Done,
            Step::Done => return None,
        };
        Some(next)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![Property::always("alike", |_, state: &Stage| {
            state.step != Step::Again || showing_alike(&state.packet)
        })]
    }
}

/// Twenty-seven cards, any of them thought of, any number named: three times dealt into three piles and gathered by the number.
#[derive(Clone)]
struct TwentySeven;

#[derive(Clone, Debug, Hash, PartialEq, Eq)]
struct Sorted {
    packet: Vec<u8>,
    named: Option<u8>,
    thought: Option<u8>,
    sorted: u8,
}

impl Model for TwentySeven {
    type State = Sorted;
    type Action = u8;

    fn init_states(&self) -> Vec<Sorted> {
        vec![Sorted {
            packet: (0..27).collect(),
            named: None,
            thought: None,
            sorted: 0,
        }]
    }

    fn actions(&self, state: &Sorted, actions: &mut Vec<u8>) {
        if state.named.is_none() {
            actions.extend(1..=27);
        } else if state.thought.is_none() {
            actions.extend(0..27);
        } else if state.sorted < 3 {
            actions.push(0);
        }
    }

    fn next_state(&self, state: &Sorted, choice: u8) -> Option<Sorted> {
        let mut next = state.clone();
        let (Some(named), Some(thought)) = (state.named, state.thought) else {
            if state.named.is_none() {
                next.named = Some(choice);
            } else {
                next.thought = Some(choice);
            }
            return Some(next);
        };
        let pile = |n: usize| state.packet.iter().skip(n).step_by(3).copied();
        let theirs = (0..3).find(|n| pile(*n).any(|card| card == thought))?;
        let above = usize::from((named - 1) / 3_u8.pow(u32::from(state.sorted)) % 3);
        let mut order: Vec<usize> = (0..3).filter(|n| *n != theirs).collect();
        order.insert(above, theirs);
        next.packet = order.into_iter().flat_map(pile).collect();
        next.sorted += 1;
        Some(next)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![Property::always("at the number", |_, state: &Sorted| {
            let (Some(named), Some(thought)) = (state.named, state.thought) else {
                return true;
            };
            state.sorted < 3 || state.packet[usize::from(named) - 1] == thought
        })]
    }
}

fn check<M>(model: M, depth_first: bool)
where
    M: Model + Send + Sync + 'static,
    M::State: Clone + std::fmt::Debug + Hash + PartialEq + Send + Sync + 'static,
    M::Action: Clone + std::fmt::Debug + PartialEq + Send + Sync + 'static,
{
    let start = Instant::now();
    let builder = model.checker().threads(THREADS);
    if depth_first {
        tell(&builder.spawn_dfs().join(), start);
    } else {
        tell(&builder.spawn_bfs().join(), start);
    }
}

fn tell<M: Model>(checker: &impl Checker<M>, start: Instant)
where
    M::State: Hash + std::fmt::Debug + PartialEq + Clone,
    M::Action: std::fmt::Debug + PartialEq + Clone,
{
    let seconds = start.elapsed().as_secs_f64();
    let states = checker.unique_state_count();
    let verdict = if checker.discoveries().is_empty() {
        "holds"
    } else {
        "fails"
    };
    let rate = states as f64 / seconds;
    println!("{verdict} states={states} seconds={seconds:.4} per-second={rate:.0}");
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let (depth_first, problem) = match arguments.split_first() {
        Some((&"dfs", problem)) => (true, problem),
        Some((&"bfs", problem)) => (false, problem),
        _ => return Err("say bfs or dfs first".into()),
    };
    match problem {
        ["riffle", cards] => check(
            Riffle {
                cards: cards.parse()?,
            },
            depth_first,
        ),
        ["cut-and-turn", rounds] => check(
            CutAndTurn {
                rounds: rounds.parse()?,
            },
            depth_first,
        ),
        ["stepwise", rounds] => check(
            Stepwise {
                rounds: rounds.parse()?,
            },
            depth_first,
        ),
        ["twenty-seven"] => check(TwentySeven, depth_first),
        _ => {
            return Err(
                "riffle CARDS | cut-and-turn ROUNDS | stepwise ROUNDS | twenty-seven".into(),
            );
        }
    }
    Ok(())
}
