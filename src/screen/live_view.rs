//! A spoken rehearsal for quiet eyes: one large word, the time that is left, and a few lines for whoever looks closer.
//!
//! ```text
//!  The routine                                      road 1
//!  ●───◆───◉───○───◇
//!
//!   ███  █████
//!  █   █    █          the one word
//!   ████   █
//!
//!   ███    █  ███
//!  █   █   █ █   █     the time that is left
//!
//!  ▸ “I cut about here.”
//!  · Complete the cut.
//! ```

use super::large;
use super::live::Live;
use super::live_lines;
use super::live_rescue;
use super::proven::Proven;
use super::road::{Mark, RoadLine};
use super::sheet::{Sheet, wrap};
use super::theme::Theme;
use crate::drill::{Along, Drill, HandStep, Judge, LaySetUp, SpokenPrompt, WhereWrong, Which};
use crate::routine::{Millis, Routine};
use ratatui::layout::Rect;
use ratatui::style::Style;
use unicode_width::UnicodeWidthStr;

/// Rows kept for the words under the large ones.
const WORDS: u16 = 6;

/// Draws a spoken rehearsal. Gives back where the cursor stands while something is typed.
pub fn draw(live: &Live, proven: Proven, sheet: &mut Sheet<'_>) -> Option<(u16, u16)> {
    let routine = live.session.routine();
    let along = along(&live.prompt);
    head(live, (routine, proven), along, sheet);
    if live.paused {
        large_word("PAUSE", sheet, 1);
        sheet.pieces(&[("The watch stands still; nothing is lost.", Style::new())]);
        return None;
    }
    match &live.prompt {
        SpokenPrompt::Stray(met) => live_rescue::stray(live, met, sheet),
        SpokenPrompt::Mend(asked) => return live_rescue::mend(live, asked, sheet),
        SpokenPrompt::Rescue(told) => live_rescue::told(told, sheet),
        SpokenPrompt::WhereNow(asked) => return live_rescue::where_now(live, asked, sheet),
        SpokenPrompt::SetUp(lay) => set_up(lay, sheet),
        SpokenPrompt::Step(step) => doing(live, step, sheet),
        SpokenPrompt::Which(which) => choosing(live, which, sheet),
        SpokenPrompt::Ask(ask) => {
            large_word("?", sheet, 1);
            sheet.text(&ask.question.text, sheet.theme.strong());
            let how = live.unread.as_deref().unwrap_or(&ask.question.answer_as);
            return typing(live, how, sheet);
        }
        SpokenPrompt::Marked(marked) => {
            large_word(&marked.question.expected_keys.to_uppercase(), sheet, 1);
            sheet.text(&marked.question.text, Style::new());
            let answer = format!("Not quite. {}", marked.answer);
            sheet.text(&answer, sheet.theme.strong());
            if !marked.why.is_empty() {
                sheet.hanging("Why: ", &marked.why, Style::new());
            }
        }
        SpokenPrompt::Judge(judge) => judging(judge, sheet),
        SpokenPrompt::Packet(packet) => {
            sheet.text(
                &format!("Look at {}, from the top.", packet.name),
                sheet.theme.strong(),
            );
            sheet.skip(1);
            sheet.text(
                "Type the cards (7h), or only their colours (rbrb) or suits, as far down as you like; ? for one you do \
                 not know. Enter alone leaves this pile out.",
                Style::new(),
            );
            sheet.skip(1);
            let how = live.unread.as_deref().unwrap_or_default();
            return typing(live, how, sheet);
        }
        SpokenPrompt::Where(lost) => return lost_where(live, lost, sheet),
        SpokenPrompt::Verdict(verdict) => {
            let word = if verdict.right { "COULD BE" } else { "NOTED" };
            large_word(word, sheet, 1);
            sheet.text(&verdict.words, Style::new());
        }
        SpokenPrompt::Opening(opening) => live_lines::opened(opening, sheet),
        SpokenPrompt::Line(cue) => live_lines::cued(live, cue, sheet),
        SpokenPrompt::Real(real) => live_lines::really(real, sheet),
        SpokenPrompt::Reading(reading) => live_lines::read(live, reading, sheet),
        SpokenPrompt::Read(through) => live_lines::read_through(through, sheet),
        SpokenPrompt::Done(_) => {}
    }
    None
}

fn along(prompt: &SpokenPrompt) -> Option<&Along> {
    Some(match prompt {
        SpokenPrompt::Stray(met) => &met.along,
        SpokenPrompt::Mend(asked) => &asked.along,
        SpokenPrompt::Rescue(told) => &told.along,
        SpokenPrompt::WhereNow(asked) => &asked.along,
        SpokenPrompt::SetUp(lay) => &lay.along,
        SpokenPrompt::Step(step) => &step.along,
        SpokenPrompt::Which(which) => &which.along,
        SpokenPrompt::Ask(ask) => &ask.along,
        SpokenPrompt::Marked(marked) => &marked.along,
        SpokenPrompt::Judge(judge) => &judge.along,
        SpokenPrompt::Packet(packet) => &packet.along,
        SpokenPrompt::Where(lost) => &lost.along,
        SpokenPrompt::Verdict(verdict) => &verdict.along,
        SpokenPrompt::Opening(opening) => &opening.along,
        SpokenPrompt::Line(cue) => &cue.along,
        SpokenPrompt::Real(real) => &real.along,
        SpokenPrompt::Reading(reading) => &reading.along,
        SpokenPrompt::Read(through) => &through.along,
        SpokenPrompt::Done(_) => return None,
    })
}

/// The routine, the drill, and the road without a title: where we are and no more.
fn head(
    live: &Live,
    (routine, proven): (&Routine, Proven),
    along: Option<&Along>,
    sheet: &mut Sheet<'_>,
) {
    let theme = sheet.theme;
    let drill = live.session.plan().drills.first().map_or("", |d| d.word());
    let right = match (along.map(|along| along.road), live.tally) {
        (_, (asked, right)) if asked > 0 && drill != Drill::Dress.word() => {
            format!("{drill}   {right} of {asked} right")
        }
        (Some(road), _) if road > 1 => format!("{drill}   road {road}"),
        (_, _) => drill.to_owned(),
    };
    let verdict = proven.words();
    let gap = usize::from(sheet.width())
        .saturating_sub(routine.title.width() + 3 + verdict.width() + right.width());
    sheet.pieces(&[
        (&routine.title, theme.quiet()),
        ("   ", Style::new()),
        (verdict, proven.style(theme)),
        (&" ".repeat(gap), Style::new()),
        (&right, theme.quiet()),
    ]);
    let Some(along) = along else {
        return;
    };
    let marks: Vec<Mark> = (0..along.of.max(1))
        .map(|n| match n.cmp(&along.done) {
            std::cmp::Ordering::Less => Mark::Past,
            std::cmp::Ordering::Equal => Mark::Here,
            std::cmp::Ordering::Greater => Mark::Ahead,
        })
        .collect();
    sheet.widget(
        1,
        RoadLine {
            marks: &marks,
            here: Some(along.done.min(marks.len() - 1)),
            title: "",
            theme,
        },
    );
    sheet.skip(1);
}

/// A large word, in one of so many equal parts of what is left over the words below; and a free row.
pub(super) fn large_word(word: &str, sheet: &mut Sheet<'_>, parts: u16) {
    let keep = WORDS.min(sheet.left() / 3);
    let room = sheet.left().saturating_sub(keep) / parts.max(1);
    let area = Rect {
        height: room,
        ..sheet.rest()
    };
    let style = sheet.theme.here();
    let rows = large::draw(word, area, sheet.buffer, style);
    if rows > 0 {
        sheet.skip(rows + 1);
    } else if !word.is_empty() {
        sheet.pieces(&[(word, style)]);
    }
}

/// A time as a clock shows it; what is over the time has a plus before it.
pub(super) fn clock(target: Option<Millis>, spent: u64) -> String {
    let shown = |seconds: u64| format!("{}:{:02}", seconds / 60, seconds % 60);
    match target {
        // What is left is rounded up: the countdown shows 0:00 only when the time is over.
        Some(target) if spent <= target.0 => shown((target.0 - spent).div_ceil(1_000)),
        Some(target) => format!("+{}", shown((spent - target.0) / 1_000)),
        None => shown(spent / 1_000),
    }
}

fn set_up(lay: &LaySetUp, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    if lay.drill == Drill::Dress && lay.so_far.is_empty() {
        large_word("SET UP", sheet, 1);
        sheet.text(
            "The whole routine, on a road that nobody has told you. Lay your cards as for a show; no help comes \
             until the end.",
            Style::new(),
        );
        return;
    }
    if let Some((pile, card)) = lay.telling {
        let told = lay
            .piles
            .get(pile)
            .and_then(|pile| Some((pile, pile.cards.get(card)?)));
        if let Some((pile, told)) = told {
            let word: String = told.short.chars().map(letter_of_suit).collect();
            large_word(&word, sheet, 1);
            sheet.text(&told.words, theme.strong());
            let count = pile.cards.len();
            let up = pile
                .cards
                .iter()
                .any(|card| card.words.ends_with("face up"));
            let order = match (pile.ordered, up) {
                (true, false) => {
                    "the top card first; lay each face up on the one before, then turn the packet over"
                }
                (true, true) => {
                    "the top card first; lay each face up on the one before (where face up is told, face down), then turn \
                     the packet over"
                }
                (false, _) => "in any order",
            };
            sheet.text(
                &format!("{}: card {} of {count}, {order}.", pile.name, card + 1),
                Style::new(),
            );
        }
        return;
    }
    large_word("SET UP", sheet, 2);
    for line in &lay.so_far {
        sheet.hanging("· ", line, theme.quiet());
    }
    for pile in &lay.piles {
        let count = counted(pile.count);
        let how = if pile.ordered {
            "from the top"
        } else {
            "shuffled"
        };
        let cards: Vec<&str> = pile.cards.iter().map(|card| &*card.short).collect();
        let up = pile
            .cards
            .iter()
            .any(|card| card.words.ends_with("face up"));
        let note = if up {
            " (c tells which lie face up)"
        } else {
            ""
        };
        let end = if cards.is_empty() { "." } else { ":" };
        sheet.text(
            &format!("{}, {count}, {how}{note}{end}", pile.name),
            theme.strong(),
        );
        sheet.text(&cards.join(" "), Style::new());
    }
}

/// So many cards, in words.
pub(super) fn counted(cards: usize) -> String {
    match cards {
        1 => "one card".to_owned(),
        n => format!("{n} cards"),
    }
}

/// A suit's sign as the letter that large letters have.
fn letter_of_suit(sign: char) -> char {
    super::theme::fold(sign)
}

fn doing(live: &Live, step: &HandStep, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    let spent = live.now.0.saturating_sub(step.along.since.0);
    // A dress rehearsal has one clock for the whole of it.
    let whole = live.now.0.saturating_sub(step.along.road_since.0);
    let running = live.session.routine().running_time;
    let time = match step.drill {
        Drill::Dress => clock(running, whole),
        Drill::Picture
        | Drill::Order
        | Drill::Reckon
        | Drill::Lines
        | Drill::Hands
        | Drill::Rescue => clock(step.along.target, spent),
    };
    let told = told(step, theme);
    let rows: usize = told
        .iter()
        .map(|(lead, text, _)| {
            wrap(
                text,
                usize::from(sheet.width()).saturating_sub(lead.width()),
            )
        })
        .map(|lines| lines.len())
        .sum();
    // Word and time under one another as long as all words find room under them, else beside one another.
    let stacked = 2 * usize::from(large::ROWS + 1) + rows;
    if stacked > usize::from(sheet.left()) && large_pair(&step.word, &time, sheet) {
        // Both are drawn.
    } else {
        if !step.word.is_empty() {
            large_word(&step.word, sheet, 2);
        }
        large_word(&time, sheet, 1);
    }
    for (lead, text, style) in &told {
        sheet.hanging(lead, text, *style);
    }
}

/// The words of a step, each with the sign before it.
fn told(step: &HandStep, theme: Theme) -> Vec<(&'static str, String, Style)> {
    let mut told = Vec::new();
    let said = |words: &str| format!("“{words}”");
    told.extend(
        step.spectator
            .iter()
            .map(|s| ("▸ ", said(s), theme.strong())),
    );
    told.extend(step.free.iter().map(|f| ("▸ ", f.clone(), theme.strong())));
    told.push(("", step.title.clone(), Style::new()));
    told.extend(
        step.handling
            .iter()
            .map(|h| ("· ", h.clone(), Style::new())),
    );
    told.extend(step.seen.iter().map(|s| ("› ", s.clone(), Style::new())));
    told.extend(step.caution.iter().map(|c| ("! ", c.clone(), theme.here())));
    if !step.patter.is_empty() {
        told.push(("  ", said(&step.patter), theme.speech()));
    }
    told
}

/// A large word and the time beside one another, and a free row; false where there is no room for both.
fn large_pair(word: &str, time: &str, sheet: &mut Sheet<'_>) -> bool {
    let both = format!("{word} {time}");
    let area = Rect {
        height: large::ROWS.min(sheet.left()),
        ..sheet.rest()
    };
    if word.is_empty() || large::width(&both) > area.width {
        return false;
    }
    let style = sheet.theme.here();
    let rows = large::draw(&both, area, sheet.buffer, style);
    sheet.skip(rows + u16::from(rows > 0));
    rows > 0
}

fn choosing(live: &Live, which: &Which, sheet: &mut Sheet<'_>) {
    let theme = sheet.theme;
    large_word("?", sheet, 2);
    sheet.text(&format!("“{}”", which.text), theme.strong());
    sheet.skip(1);
    for (n, option) in which.options.iter().enumerate() {
        sheet.hanging(&format!("{}  ", n + 1), option, Style::new());
    }
    if let Some(unread) = &live.unread {
        sheet.text(unread, theme.here());
    }
}

/// The line to type on, and under it how.
pub(super) fn typing(live: &Live, how: &str, sheet: &mut Sheet<'_>) -> Option<(u16, u16)> {
    let theme = sheet.theme;
    let cursor = sheet.typed(&live.input)?;
    let style = if live.unread.is_some() {
        theme.here()
    } else {
        theme.quiet()
    };
    sheet.hanging("  ", how, style);
    Some(cursor)
}

fn judging(judge: &Judge, sheet: &mut Sheet<'_>) {
    large_word("TRUE?", sheet, 1);
    sheet.text("Did the ending come true?", sheet.theme.strong());
    for claim in &judge.claims {
        sheet.hanging("· ", claim, Style::new());
    }
}

/// Steps with their numbers, in columns where there are more of them than rows; so many rows below stay free.
pub(super) fn in_columns(titles: &[(usize, &str)], keep: u16, sheet: &mut Sheet<'_>) {
    let room = usize::from(sheet.left().saturating_sub(keep)).max(1);
    let columns = titles.len().div_ceil(room).max(1);
    let rows = titles.len().div_ceil(columns);
    let wide = usize::from(sheet.width()) / columns;
    for row in 0..rows {
        let mut line = String::new();
        for column in 0..columns {
            if let Some((n, title)) = titles.get(column * rows + row) {
                let entry = format!("{n:>2}  {title}");
                let entry = wrap(&entry, wide.saturating_sub(2))
                    .first()
                    .cloned()
                    .unwrap_or_default();
                let gap = " ".repeat((wide * column).saturating_sub(line.width()));
                line.push_str(&gap);
                line.push_str(&entry);
            }
        }
        sheet.pieces(&[(&line, Style::new())]);
    }
}

fn lost_where(live: &Live, lost: &WhereWrong, sheet: &mut Sheet<'_>) -> Option<(u16, u16)> {
    let theme = sheet.theme;
    sheet.text(&lost.found, Style::new());
    sheet.text("Where did it go wrong?", theme.strong());
    sheet.skip(1);
    let titles: Vec<(usize, &str)> = (1..)
        .zip(lost.steps.iter().map(|(_, title)| title.as_str()))
        .collect();
    in_columns(&titles, 4, sheet);
    sheet.skip(1);
    let how = live
        .unread
        .as_deref()
        .unwrap_or("its number; enter alone if you do not know");
    typing(live, how, sheet)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_countdown_ends_at_nought_and_then_counts_up() {
        let target = Some(Millis(20_000));
        assert_eq!(clock(target, 0), "0:20");
        assert_eq!(clock(target, 1), "0:20");
        assert_eq!(clock(target, 19_001), "0:01");
        assert_eq!(clock(target, 20_000), "0:00");
        assert_eq!(clock(target, 20_999), "+0:00");
        assert_eq!(clock(target, 85_000), "+1:05");
        assert_eq!(clock(None, 61_000), "1:01");
    }
}
