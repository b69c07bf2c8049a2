//! Learning a routine: one road from start to end, step by step, with everything open on the table.

use super::road::{Mark, RoadLine};
use super::sheet::Sheet;
use super::tiles::draw_spread;
use crate::drill::{Spread, Tile};
use crate::roads::{self, Road, Walked};
use crate::routine::{Fault, Routine, Scene, StepId, Then, World};
use ratatui::style::Style;
use std::collections::BTreeMap;
use std::sync::Arc;

/// A walk through a routine.
#[derive(Debug, Clone)]
pub struct Walk {
    /// The routine.
    pub routine: Arc<Routine>,
    /// The road walked.
    pub road: Road,
    /// 0 is the set-up, then each stop.
    pub at: usize,
    /// By step, which slips are fatal there, in words.
    pub careful: BTreeMap<StepId, String>,
}

impl Walk {
    /// A walk along the road of this seed, at the set-up.
    ///
    /// # Errors
    /// When the road cannot be walked.
    pub fn new(routine: Arc<Routine>, seed: u64) -> Result<Self, Fault> {
        let road = roads::sample(&routine, seed)?;
        Ok(Self {
            routine,
            road,
            at: 0,
            careful: BTreeMap::new(),
        })
    }
    /// The last place.
    #[must_use]
    pub fn last(&self) -> usize {
        self.road.walked.len()
    }
    /// A step on.
    pub fn on(&mut self) {
        self.at = (self.at + 1).min(self.last());
    }
    /// A step back.
    pub fn back(&mut self) {
        self.at = self.at.saturating_sub(1);
    }
    /// Another road, from the set-up; if the next seed has none, this one stays.
    pub fn another(&mut self) {
        if let Ok(road) = roads::sample(&self.routine, self.road.seed.wrapping_add(1)) {
            self.road = road;
            self.at = 0;
        }
    }
    /// The step shown; none at the set-up. Whether they go round again is no step to begin at: the step before it is.
    #[must_use]
    pub fn step(&self) -> Option<&StepId> {
        let before = self.road.walked.get(..self.at)?;
        let stops = before
            .iter()
            .rev()
            .filter_map(|walked| self.routine.stop(walked.stop));
        let mut own = stops.filter(|stop| !matches!(stop.then, Then::Gate { .. }));
        own.next().map(|stop| &stop.id)
    }
    fn walked(&self) -> Option<&Walked> {
        self.road.walked.get(self.at.checked_sub(1)?)
    }
    /// The state of the table shown.
    fn world(&self) -> World {
        match (self.walked(), self.road.walked.first()) {
            (Some(walked), _) => walked.after.clone(),
            (None, Some(first)) => first.before.clone(),
            (None, None) => roads::start(&self.routine, self.road.seed),
        }
    }
}

/// Draws the walk.
pub fn draw(walk: &Walk, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let routine = &*walk.routine;
    sheet.pieces(&[
        (&routine.title, theme.quiet()),
        ("   walking one road, everything open", theme.quiet()),
    ]);
    let marks = marks(walk);
    let title = walk
        .walked()
        .and_then(|walked| routine.stop(walked.stop))
        .map_or("the set-up", |stop| stop.title.as_str());
    sheet.widget(
        2,
        RoadLine {
            marks: &marks,
            here: Some(walk.at),
            title,
            theme,
        },
    );
    sheet.skip(1);
    let world = walk.world();
    match walk.walked() {
        Some(walked) => step(walk, walked, sheet),
        None => {
            sheet.text(&routine.blurb, Style::new());
            sheet.skip(1);
            sheet.hanging("Why it works: ", &routine.principle, Style::new());
        }
    }
    sheet.skip(1);
    for spread in open(&world) {
        if sheet.left() < 3 {
            break;
        }
        draw_spread(sheet, routine, &spread);
    }
}

fn step(walk: &Walk, walked: &Walked, sheet: &mut Sheet<'_>) {
    let (theme, routine) = (sheet.theme, &*walk.routine);
    let Some(stop) = routine.stop(walked.stop) else {
        return;
    };
    let scene = Scene {
        routine,
        world: &walked.after,
    };
    // Where a blank has no value yet, the line shows what would stand there.
    let say = stop.say.render(scene).unwrap_or_else(|_| stop.say.open());
    if !say.is_empty() {
        sheet.hanging("  ", &format!("“{say}”"), theme.speech());
        sheet.skip(1);
    }
    if !stop.handling.is_empty() {
        sheet.hanging("· ", &stop.handling, Style::new());
    }
    if let Some(choice) = chosen(routine, walked) {
        sheet.hanging("▸ ", &choice, theme.strong());
    }
    if let Some(caution) = &stop.caution {
        sheet.hanging("! ", caution, theme.here());
    }
    if let Some(careful) = walk.careful.get(&stop.id) {
        sheet.hanging("! ", careful, theme.here());
    }
    if let Some(hint) = &stop.hint {
        sheet.hanging("· ", hint, theme.quiet());
    }
}

/// What was chosen on this road, in words: "the number they named: seven".
fn chosen(routine: &Routine, walked: &Walked) -> Option<String> {
    let (id, value) = walked.choice.as_ref()?;
    let name = routine.names.get(id.index())?;
    let about = name.about.as_deref().unwrap_or(&name.name);
    let scene = Scene {
        routine,
        world: &walked.after,
    };
    let value = value
        .in_words(scene)
        .unwrap_or_else(|_| value.show(routine));
    Some(format!("On this road, {about}: {value}"))
}

fn marks(walk: &Walk) -> Vec<Mark> {
    let fork = |n: usize| {
        n.checked_sub(1)
            .and_then(|n| walk.road.walked.get(n))
            .is_some_and(|walked| walked.choice.is_some())
    };
    (0..=walk.last())
        .map(|n| match (n.cmp(&walk.at), fork(n)) {
            (std::cmp::Ordering::Less, false) => Mark::Past,
            (std::cmp::Ordering::Less, true) => Mark::PastFork,
            (std::cmp::Ordering::Equal, false) => Mark::Here,
            (std::cmp::Ordering::Equal, true) => Mark::HereFork,
            (std::cmp::Ordering::Greater, false) => Mark::Ahead,
            (std::cmp::Ordering::Greater, true) => Mark::Fork,
        })
        .collect()
}

/// Every pile that holds a card, all faces open; small piles first, so that a whole deck does not push them out of sight.
fn open(world: &World) -> Vec<Spread> {
    let mut spreads: Vec<Spread> = world
        .table
        .piles()
        .filter(|(_, cards)| !cards.is_empty())
        .map(|(pile, cards)| Spread {
            pile,
            count: Some(cards.len()),
            tiles: cards
                .iter()
                .map(|laid| Tile {
                    card: world.face_of(laid.card()),
                    up: Some(laid.face_up()),
                    traits: Vec::new(),
                })
                .collect(),
        })
        .collect();
    spreads.sort_by_key(|spread| spread.tiles.len());
    spreads
}
