//! `setup`: how the cards lie before the routine begins.

use super::failure::{Failure, Outcome};
use super::pages::{counted, paragraph};
use super::source::Source;
use crate::roads::unknown_start;
use crate::routine::{Routine, World};
use crate::table::{Laid, Pile};
use clap::Args;
use std::io::{self, Write};
use unicode_width::UnicodeWidthStr;

/// Which set-up.
#[derive(Debug, Args)]
pub struct SetupArgs {
    /// The routine: a name, or a path
    pub routine: String,
    /// Which draw of the set-up, where cards are drawn to fit a pattern
    #[arg(long, visible_alias = "seed", default_value_t = 0)]
    pub setup: u64,
}

/// Prints it.
pub(super) fn run(args: &SetupArgs, out: &mut dyn Write) -> Result<Outcome, Failure> {
    let source = Source::find(&args.routine)?;
    let routine = source.load(args.setup)?;
    // Another draw tells whether there is anything to draw.
    let drawn = is_drawn(&routine, &source.load(args.setup.wrapping_add(1))?);
    let world = unknown_start(&routine);
    paragraph(out, "", &routine.title)?;
    if drawn {
        writeln!(out, "set-up {}", args.setup)?;
    }
    for (id, pile) in world.table.piles() {
        if pile.is_empty() {
            continue;
        }
        writeln!(
            out,
            "\n{}: {}",
            routine.pile_name(id),
            counted(pile.len(), "card")
        )?;
        if pile.iter().all(|l| world.face_of(l.card()).is_none()) {
            shuffled(out, &routine, pile)?;
        } else {
            listed(out, &routine, &world, pile)?;
        }
    }
    let watch = what_to_watch(&routine, &world, drawn);
    if !watch.is_empty() {
        writeln!(out, "\nWatch for this")?;
        for line in watch {
            paragraph(out, "   - ", &line)?;
        }
    }
    Ok(Outcome::Done)
}

/// Whether two draws of the set-up differ.
pub(super) fn is_drawn(one: &Routine, other: &Routine) -> bool {
    one.pack.faces() != other.pack.faces() || one.start != other.start
}

/// A pile whose order nobody knows: which cards it needs.
fn shuffled(out: &mut dyn Write, routine: &Routine, pile: &Pile) -> io::Result<()> {
    let mut cards: Vec<_> = pile.iter().map(|l| l.card()).collect();
    if cards.len() == 52 && routine.pack.customs().is_empty() {
        return writeln!(out, "   The full deck, shuffled, face down.");
    }
    cards.sort_by_key(|card| {
        let face = routine.pack.face(*card);
        face.map(|f| (f.suit().map(|s| s.letter()), f.value()))
    });
    let signs: Vec<String> = cards.iter().map(|c| routine.pack.symbol(*c)).collect();
    writeln!(
        out,
        "   These cards, shuffled, face down; the order does not matter."
    )?;
    paragraph(out, "   ", &signs.join(" "))
}

/// A pile card by card, from the top.
fn listed(out: &mut dyn Write, routine: &Routine, world: &World, pile: &Pile) -> io::Result<()> {
    let lines: Vec<String> = pile
        .iter()
        .enumerate()
        .map(|(n, laid)| {
            let (sign, name) = match world.face_of(laid.card()) {
                Some(print) => (routine.pack.symbol(print), routine.pack.name(print)),
                None => ("?".to_owned(), "any of the shuffled cards"),
            };
            let facing = if laid.face_up() { ", FACE UP" } else { "" };
            let pad = " ".repeat(4usize.saturating_sub(sign.width()));
            format!("{:>3}  {sign}{pad}{name}{facing}", n + 1)
        })
        .collect();
    writeln!(
        out,
        "   from the top, face down{}",
        if pile.iter().any(|l| l.face_up()) {
            " unless it says otherwise"
        } else {
            ""
        }
    )?;
    // Two columns, read downwards, once one would not fit on a screen with the rest.
    let rows = if lines.len() > 14 {
        lines.len().div_ceil(2)
    } else {
        lines.len()
    };
    let wide = lines.iter().map(|l| l.width()).max().unwrap_or(0);
    if wide * 2 + 3 > 78 || rows == lines.len() {
        for line in &lines {
            writeln!(out, "{line}")?;
        }
        return Ok(());
    }
    for row in 0..rows {
        let left = &lines[row];
        match lines.get(row + rows) {
            Some(right) => {
                let pad = " ".repeat(wide - left.width() + 3);
                writeln!(out, "{left}{pad}{right}")?;
            }
            None => writeln!(out, "{left}")?,
        }
    }
    Ok(())
}

/// What tells that it is laid rightly, and what is easily got wrong.
fn what_to_watch(routine: &Routine, world: &World, drawn: bool) -> Vec<String> {
    let mut watch = Vec::new();
    if drawn {
        watch.push(
            "These cards were drawn to fit a pattern. Others that fit it do as well: `--seed` with another number draws them."
                .to_owned(),
        );
    }
    for (id, pile) in world.table.piles() {
        let prints: Option<Vec<_>> = pile.iter().map(|l| world.face_of(l.card())).collect();
        let Some(prints) = prints.filter(|p| p.len() > 1) else {
            continue;
        };
        let name = routine.pile_name(id);
        let (Some(top), Some(bottom)) = (prints.first(), prints.last()) else {
            continue;
        };
        watch.push(format!(
            "When {name} is laid, {} is its top card and {} its bottom card.",
            routine.pack.name(*top),
            routine.pack.name(*bottom)
        ));
        if let Some(words) = colours(routine, &prints) {
            watch.push(format!("{name}: {words}."));
        }
        let n = prints.len();
        if n % 2 == 0 && (0..n / 2).all(|i| routine.pack.are_mates(prints[i], prints[n - 1 - i])) {
            watch.push(format!(
                "{name}: the lower half mirrors the upper half; top and bottom card are mates, and so on inwards."
            ));
        }
        let up: Vec<String> = pile
            .iter()
            .enumerate()
            .filter(|(_, l): &(usize, &Laid)| l.face_up())
            .map(|(n, _)| (n + 1).to_string())
            .collect();
        if !up.is_empty() && up.len() < n {
            watch.push(format!("{name}: face up lie the places {}.", up.join(", ")));
        }
    }
    if let Some(caution) = routine.stops.first().and_then(|s| s.caution.clone()) {
        watch.push(caution);
    }
    watch
}

/// Whether the colours alternate, in words.
fn colours(routine: &Routine, prints: &[crate::cards::Card]) -> Option<String> {
    let by = routine
        .pack
        .traits()
        .iter()
        .position(|t| t.name == "colour")
        .and_then(|n| u8::try_from(n).ok())
        .map(crate::cards::TraitId)?;
    let classes: Option<Vec<_>> = prints
        .iter()
        .map(|card| routine.pack.class(*card, by))
        .collect();
    let classes = classes?;
    if classes.len() < 4 || !classes.windows(2).all(|w| w[0] != w[1]) {
        return None;
    }
    if !classes.windows(3).all(|w| w[0] == w[2]) {
        return None;
    }
    Some(format!(
        "the colours alternate, {} on top, {} under it",
        routine.pack.label(by, classes[0]),
        routine.pack.label(by, classes[1])
    ))
}
