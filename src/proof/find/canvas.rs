//! A routine whose cards are open: cells, classes, and the cards there are to fill them.

use super::asks::{Asks, bare};
use super::solver::Bounds;
use super::truth::Filling;
use crate::cards::{Card, Class, Face, Pack, TraitId};
use crate::roads::unknown_start;
use crate::routine::{Routine, World};
use crate::table::{Laid, PileId, Table};
use num_bigint::BigUint;
use std::collections::BTreeMap;

/// The most classes of a pattern.
const MOST_CLASSES: usize = 4;

/// Which patterns are wanted.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wish {
    /// Classes of this trait; when absent, of the one that the claims ask for.
    pub class: Option<TraitId>,
    /// These classes; all of the trait when there are none here.
    pub classes: Vec<Class>,
    /// By class, how many cells it has; as many as it likes when absent.
    pub counts: Vec<Option<usize>>,
    /// So many cards instead of those of the file.
    pub cards: Option<usize>,
    /// The pile whose cards are open; when absent, all piles that hold cards.
    pub pile: Option<PileId>,
    /// Only the moves matter, not the claims, nor what a step looks at.
    pub moves_only: bool,
}

/// Why no pattern can be sought for a routine.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Unfit {
    /// Nobody knows the order.
    #[error(
        "the cards of this routine lie in an order that nobody knows, so there is no set-up to look for"
    )]
    Shuffled,
    /// No card at the start.
    #[error("no card lies there at the start")]
    NoCards,
    /// A number of cards for more than one pile.
    #[error(
        "cards lie in several piles at the start ({0}); say for which pile the number of cards is meant"
    )]
    WhichPile(String),
    /// Something asks for more of a card than its class.
    #[error(
        "a pattern of classes cannot say whether this routine works, because more is asked of its cards than a class:{}",
        listed(.0)
    )]
    AsksMore(Vec<String>),
    /// Something asks for another trait.
    #[error("a pattern by {by} cannot say whether this routine works, because other traits are asked for:{}", listed(.asked))]
    OtherTraits {
        /// The trait of the pattern.
        by: String,
        /// Which traits, and where.
        asked: Vec<String>,
    },
    /// The trait has too many classes, or too few.
    #[error("{name} has {} classes here ({}); choose two to four of them", .labels.len(), some(.labels))]
    Classes {
        /// The trait.
        name: String,
        /// Its classes.
        labels: Vec<String>,
    },
    /// No card is of this class.
    #[error("no card is {0}")]
    NoSuchCard(String),
    /// The counts do not add up.
    #[error("the counts do not fit: there are {cells} cards and {classes} classes")]
    Counts {
        /// How many cards.
        cells: usize,
        /// How many classes.
        classes: usize,
    },
}

fn listed(lines: &[String]) -> String {
    lines.iter().map(|line| format!("\n  {line}")).collect()
}

fn some(labels: &[String]) -> String {
    if labels.len() > 6 {
        format!("{}, \u{2026}", labels[..5].join(", "))
    } else {
        labels.join(", ")
    }
}

/// One class of the pattern.
#[derive(Debug, Clone)]
pub struct Kind {
    /// Which class.
    pub class: Class,
    /// Its label: `red`.
    pub label: String,
    /// The faces that are of it.
    faces: Vec<Face>,
    /// How many cards of it there are; as many as one likes when absent (faces of the file's own).
    pub stock: Option<usize>,
}

/// A routine whose cards are open.
#[derive(Debug, Clone)]
pub struct Canvas {
    /// The routine with its cells laid somehow, and a card of each class after all others in its pack.
    routine: Routine,
    /// By cell, its card. Cells go from the top of the first pile down.
    cells: Vec<Card>,
    /// The piles that hold cells, each with the facing of its cards from the top.
    pub piles: Vec<(PileId, Vec<bool>)>,
    /// The trait.
    pub class: TraitId,
    /// Its classes.
    pub kinds: Vec<Kind>,
    /// A card of each class.
    prints: Vec<Card>,
    /// By class, how many cells it may have.
    bounds: Vec<Bounds>,
    /// Whether nothing tells the classes by their names, so that an exchange of classes changes nothing.
    pub swaps: bool,
    /// Whether anything that matters hangs on the pattern at all.
    pub matters: bool,
}

impl Canvas {
    /// Opens the cards of a routine.
    ///
    /// # Errors
    /// When a pattern of classes cannot say whether the routine works, or the wish contradicts itself.
    pub fn new(routine: &Routine, wish: &Wish) -> Result<Self, Unfit> {
        if !routine.shuffled.is_empty() {
            return Err(Unfit::Shuffled);
        }
        let mut routine = routine.clone();
        if wish.moves_only {
            for stop in &mut routine.stops {
                stop.claims.clear();
                stop.sights.clear();
            }
        }
        bare(&mut routine);
        let asks = if wish.moves_only {
            Asks::default()
        } else {
            Asks::of(&routine)
        };
        if !asks.prints.is_empty() {
            return Err(Unfit::AsksMore(asks.prints));
        }
        let pool = pool(&routine.pack)?;
        let class = match wish.class {
            Some(class) => class,
            None => usual(&pool, &asks),
        };
        let classes = classes(&pool, class, &wish.classes)?;
        determined(&pool, class, &classes, &asks)?;
        let piles = cells_of(&routine, wish)?;
        let fixed = fixed(&routine, &piles);
        let kinds: Vec<Kind> = classes
            .iter()
            .map(|of| kind(&pool, class, *of, &fixed))
            .collect();
        let count: usize = piles.iter().map(|(_, up)| up.len()).sum();
        let bounds = bounds(&kinds, &wish.counts, count)?;
        let swaps = !asks.by_name;
        let matters = !asks.traits.is_empty();
        let mut canvas = Self {
            routine,
            cells: Vec::new(),
            piles,
            class,
            kinds,
            prints: Vec::new(),
            bounds,
            swaps,
            matters,
        };
        canvas.lay(count)?;
        Ok(canvas)
    }

    /// Numbers the cards anew, pile by pile, with a card of each class after them.
    fn lay(&mut self, count: usize) -> Result<(), Unfit> {
        let first = |kind: &Kind| kind.faces.first().cloned();
        let Some(filler) = self.kinds.first().and_then(first) else {
            return Err(Unfit::NoCards);
        };
        let mut faces = Vec::new();
        let mut start = Table::empty(self.routine.start.count());
        for (id, pile) in self.routine.start.piles() {
            let open = self.piles.iter().find(|(open, _)| *open == id);
            let laid: Vec<(Face, bool)> = match open {
                Some((_, up)) => up.iter().map(|up| (filler.clone(), *up)).collect(),
                None => pile
                    .iter()
                    .filter_map(|laid| {
                        let face = self.routine.pack.face(laid.card())?;
                        Some((face.clone(), laid.face_up()))
                    })
                    .collect(),
            };
            for (face, up) in laid {
                let card = numbered(faces.len());
                faces.push(face);
                start.pile_mut(id).push_back(Laid::new(card, up));
                if open.is_some() {
                    self.cells.push(card);
                }
            }
        }
        for kind in &self.kinds {
            self.prints.push(numbered(faces.len()));
            faces.extend(first(kind));
        }
        debug_assert_eq!(self.cells.len(), count, "every cell has its card");
        for claim in self.routine.stops.iter_mut().flat_map(|s| &mut s.claims) {
            claim.kind.remember_start(&start);
        }
        self.routine.start = start;
        self.routine.pack = repacked(&self.routine.pack, faces)?;
        Ok(())
    }

    /// How many cells.
    #[must_use]
    pub fn size(&self) -> usize {
        self.cells.len()
    }

    /// How many classes.
    #[must_use]
    pub fn classes(&self) -> usize {
        self.kinds.len()
    }

    /// The routine, its cells laid somehow.
    #[must_use]
    pub fn routine(&self) -> &Routine {
        &self.routine
    }

    pub(super) fn bounds(&self) -> &[Bounds] {
        &self.bounds
    }

    pub(super) fn filling(&self) -> Filling<'_> {
        Filling {
            routine: &self.routine,
            prints: &self.prints,
        }
    }

    /// Whether a pattern has as many cells of each class as are wanted.
    #[must_use]
    pub fn fits(&self, pattern: &[u8]) -> bool {
        pattern.len() == self.size()
            && self
                .bounds
                .iter()
                .zip(self.counts(pattern))
                .all(|(bounds, count)| (bounds.least..=bounds.most).contains(&count))
    }

    fn counts(&self, pattern: &[u8]) -> Vec<usize> {
        let mut counts = vec![0; self.classes()];
        for class in pattern {
            if let Some(count) = counts.get_mut(usize::from(*class)) {
                *count += 1;
            }
        }
        counts
    }

    /// The start with some cells laid by a pattern and the others open.
    pub(super) fn open(&self, pattern: &[u8], laid: &[bool]) -> World {
        let mut world = unknown_start(&self.routine);
        world.faces = self.routine.pack.cards().map(Some).collect();
        for ((card, class), laid) in self.cells.iter().zip(pattern).zip(laid) {
            world.faces[card.index()] = laid.then(|| self.prints[usize::from(*class)]);
        }
        world
    }

    /// The routine with real cards laid by a pattern, each class's cards in their order.
    ///
    /// # Errors
    /// Never for patterns of this canvas.
    pub fn laid(&self, pattern: &[u8]) -> Result<Routine, Unfit> {
        let mut faces: Vec<Face> = self.routine.pack.faces().to_vec();
        let mut used = vec![0; self.classes()];
        for (card, class) in self.cells.iter().zip(pattern) {
            let class = usize::from(*class);
            let of = &self.kinds[class].faces;
            faces[card.index()] = of[used[class] % of.len()].clone();
            used[class] += 1;
        }
        faces.truncate(faces.len() - self.kinds.len());
        let mut routine = self.routine.clone();
        routine.pack = repacked(&self.routine.pack, faces)?;
        Ok(routine)
    }

    /// In how many ways real cards can fill a pattern: of a pack with `N` cards of a class, `m` cells can be filled in
    /// `N (N − 1) … (N − m + 1)` ways; of faces of the file's own, each as often as one likes, in `N^m`.
    #[must_use]
    pub fn ways(&self, pattern: &[u8]) -> BigUint {
        let mut ways = BigUint::from(1u8);
        for (kind, count) in self.kinds.iter().zip(self.counts(pattern)) {
            for filled in 0..count {
                ways *= match kind.stock {
                    Some(stock) => stock.saturating_sub(filled),
                    None => kind.faces.len(),
                };
            }
        }
        ways
    }

    /// How many patterns there are in all, whether they work or not.
    #[must_use]
    pub fn patterns(&self) -> BigUint {
        self.colourings(&vec![1; self.size()])
    }

    /// How many patterns there are with parts of these sizes each of one class.
    pub(super) fn colourings(&self, parts: &[usize]) -> BigUint {
        // Part by part: how many ways there are, by the number of cells of each class.
        let mut ways: BTreeMap<Vec<usize>, BigUint> = BTreeMap::new();
        ways.insert(vec![0; self.classes()], BigUint::from(1u8));
        for part in parts {
            let mut next: BTreeMap<Vec<usize>, BigUint> = BTreeMap::new();
            for (counts, so_far) in &ways {
                for (class, bounds) in self.bounds.iter().enumerate() {
                    let mut counts = counts.clone();
                    counts[class] += part;
                    if counts[class] <= bounds.most {
                        *next.entry(counts).or_default() += so_far;
                    }
                }
            }
            ways = next;
        }
        let enough = |counts: &Vec<usize>| {
            let bounds = self.bounds.iter().zip(counts);
            bounds
                .into_iter()
                .all(|(bounds, count)| *count >= bounds.least)
        };
        ways.iter()
            .filter(|(counts, _)| enough(counts))
            .map(|(_, ways)| ways)
            .sum()
    }

    /// The cards of a table at the places of the cells.
    pub(super) fn places(&self, table: &Table) -> Vec<Card> {
        let piles = self.piles.iter();
        piles
            .flat_map(|(pile, _)| table.pile(*pile).iter().map(|laid| laid.card()))
            .collect()
    }
}

fn numbered(index: usize) -> Card {
    Card(u16::try_from(index).unwrap_or(u16::MAX))
}

fn repacked(pack: &Pack, faces: Vec<Face>) -> Result<Pack, Unfit> {
    pack.with_faces(faces)
        .map_err(|fault| Unfit::NoSuchCard(fault.to_string()))
}

/// All faces that cards may bear: the 52 unless all cards of the routine are its own, and the file's.
fn pool(pack: &Pack) -> Result<Pack, Unfit> {
    let standard = |face: &Face| matches!(face, Face::Standard(..));
    let mut faces = Vec::new();
    if pack.customs().is_empty() || pack.faces().iter().any(standard) {
        faces = Face::all52();
    }
    let customs = pack.customs().iter();
    faces.extend(customs.map(|custom| Face::Custom(custom.code.clone())));
    repacked(pack, faces)
}

/// The classes of a trait that some card of the pool is of.
fn met(pool: &Pack, id: TraitId) -> Vec<Class> {
    let mut met: Vec<Class> = pool
        .cards()
        .filter_map(|card| pool.class(card, id))
        .collect();
    met.sort_unstable();
    met.dedup();
    met
}

/// The trait of which all that are asked for follow; the first asked for where there is none such, the colour where none is.
fn usual(pool: &Pack, asks: &Asks) -> TraitId {
    let enough = |id: &&TraitId| determined(pool, **id, &met(pool, **id), asks).is_ok();
    asks.traits
        .keys()
        .find(enough)
        .or_else(|| asks.traits.keys().next())
        .copied()
        .unwrap_or(TraitId::COLOUR)
}

fn classes(pool: &Pack, id: TraitId, wanted: &[Class]) -> Result<Vec<Class>, Unfit> {
    let met = met(pool, id);
    let chosen = if wanted.is_empty() { &met } else { wanted };
    if let Some(missing) = chosen.iter().find(|class| !met.contains(class)) {
        return Err(Unfit::NoSuchCard(pool.label(id, *missing).to_owned()));
    }
    if (2..=MOST_CLASSES).contains(&chosen.len()) {
        Ok(chosen.to_vec())
    } else {
        Err(Unfit::Classes {
            name: pool.trait_name(id).to_owned(),
            labels: met.iter().map(|c| pool.label(id, *c).to_owned()).collect(),
        })
    }
}

/// Whether every trait that is asked for is the same on all cards of each class.
fn determined(pool: &Pack, id: TraitId, classes: &[Class], asks: &Asks) -> Result<(), Unfit> {
    let follows = |asked: TraitId| {
        classes.iter().all(|class| {
            let mut of = pool
                .cards()
                .filter(|card| pool.class(*card, id) == Some(*class))
                .map(|card| pool.class(card, asked));
            let first = of.next();
            of.all(|other| Some(other) == first)
        })
    };
    let asked: Vec<String> = asks
        .traits
        .iter()
        .filter(|(asked, _)| !follows(**asked))
        .map(|(asked, place)| format!("{}: {place}", pool.trait_name(*asked)))
        .collect();
    if asked.is_empty() {
        Ok(())
    } else {
        Err(Unfit::OtherTraits {
            by: pool.trait_name(id).to_owned(),
            asked,
        })
    }
}

/// The piles whose cards are open, each with the facing of its cards.
fn cells_of(routine: &Routine, wish: &Wish) -> Result<Vec<(PileId, Vec<bool>)>, Unfit> {
    let mut piles: Vec<(PileId, Vec<bool>)> = routine
        .start
        .piles()
        .filter(|(id, pile)| !pile.is_empty() && wish.pile.is_none_or(|wanted| wanted == *id))
        .map(|(id, pile)| (id, pile.iter().map(|laid| laid.face_up()).collect()))
        .collect();
    if let Some(cards) = wish.cards {
        let [(_, up)] = piles.as_mut_slice() else {
            let names = piles.iter().map(|(id, _)| routine.pile_name(*id));
            return Err(match piles.len() {
                0 => Unfit::NoCards,
                _ => Unfit::WhichPile(names.collect::<Vec<_>>().join(", ")),
            });
        };
        // Cards added face as the bottom card does.
        let bottom = up.last().copied().unwrap_or(false);
        up.resize(cards, bottom);
    }
    if piles.iter().all(|(_, up)| up.is_empty()) {
        return Err(Unfit::NoCards);
    }
    Ok(piles)
}

/// The faces of cards that are not open.
fn fixed(routine: &Routine, open: &[(PileId, Vec<bool>)]) -> Vec<Face> {
    let stay = routine
        .start
        .piles()
        .filter(|(id, _)| !open.iter().any(|(open, _)| open == id));
    stay.flat_map(|(_, pile)| pile.iter())
        .filter_map(|laid| routine.pack.face(laid.card()).cloned())
        .collect()
}

fn kind(pool: &Pack, id: TraitId, class: Class, fixed: &[Face]) -> Kind {
    let mut faces: Vec<Face> = pool
        .cards()
        .filter(|card| pool.class(*card, id) == Some(class))
        .filter_map(|card| pool.face(card).cloned())
        .collect();
    let own = |face: &Face| matches!(face, Face::Custom(_));
    let stock = if faces.iter().any(own) {
        None
    } else {
        faces.retain(|face| !fixed.contains(face));
        Some(faces.len())
    };
    Kind {
        class,
        label: pool.label(id, class).to_owned(),
        faces,
        stock,
    }
}

fn bounds(kinds: &[Kind], counts: &[Option<usize>], cells: usize) -> Result<Vec<Bounds>, Unfit> {
    let fault = Unfit::Counts {
        cells,
        classes: kinds.len(),
    };
    if !counts.is_empty() && counts.len() != kinds.len() {
        return Err(fault);
    }
    let bounds: Vec<Bounds> = kinds
        .iter()
        .enumerate()
        .map(|(n, kind)| {
            let there = kind.stock.map_or(cells, |stock| stock.min(cells));
            match counts.get(n).copied().flatten() {
                Some(count) => Bounds {
                    least: count,
                    most: count.min(there),
                },
                None => Bounds {
                    least: 0,
                    most: there,
                },
            }
        })
        .collect();
    let least: usize = bounds.iter().map(|b| b.least).sum();
    let most: usize = bounds.iter().map(|b| b.most).sum();
    if (least..=most).contains(&cells) && bounds.iter().all(|b| b.least <= b.most) {
        Ok(bounds)
    } else {
        Err(fault)
    }
}
