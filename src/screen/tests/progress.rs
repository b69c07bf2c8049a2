//! Progress on the screen, printed, and line by line.

use super::*;
use crate::coach::fixtures::progress;
use crate::screen::progress::{lines, plain, print, words};
use unicode_width::UnicodeWidthStr;

const BARE: Theme = Theme {
    colour: false,
    unicode: false,
};

fn looking(weeks: i32, show: Option<i32>) -> State {
    let mut state = foyer(true);
    let effects = press(&mut state, "p");
    // The routine rehearsed last is pointed at.
    assert_eq!(effects, [Effect::Look(1)]);
    update(
        &mut state,
        Event::Looked(1, Some(Box::new(progress(weeks, show)))),
    );
    state
}

#[test]
fn progress_fills_the_screen_and_scrolls() {
    let mut state = looking(8, Some(12));
    insta::assert_snapshot!("80x24_progress", shown(&state, 80, 24));
    press(&mut state, "↓↓↓");
    let third = shown(&state, 80, 24);
    press(&mut state, "↑");
    assert_ne!(shown(&state, 80, 24), third);
    press(&mut state, "↓");
    assert_eq!(shown(&state, 80, 24), third);
    update(&mut state, Event::Sized(120, 40));
    insta::assert_snapshot!("120x40_progress", shown(&state, 120, 40));
}

#[test]
fn from_the_end_one_row_up_is_one_row() {
    for (columns, rows) in [(80, 24), (120, 40), (60, 20)] {
        let mut state = looking(8, Some(12));
        update(&mut state, Event::Sized(columns, rows));
        for _ in 0..200 {
            press(&mut state, "j");
        }
        let end = shown(&state, columns, rows);
        assert!(end.contains("▸ Next, "), "{end}");
        let Page::Progress(page) = &state.page else {
            panic!("progress is shown")
        };
        if page.row > 0 {
            press(&mut state, "k");
            assert_ne!(shown(&state, columns, rows), end);
        }
    }
}

#[test]
fn keys_lead_from_progress_to_a_rehearsal_and_to_the_foyer() {
    let mut state = looking(8, None);
    press(&mut state, "⎋");
    assert_eq!(state.place(), Place::Foyer);
    let mut state = looking(8, None);
    assert!(matches!(
        press(&mut state, "r").as_slice(),
        [Effect::Begin(_)]
    ));
}

#[test]
fn progress_of_another_routine_is_not_taken_in() {
    let mut state = foyer(true);
    press(&mut state, "p");
    update(
        &mut state,
        Event::Looked(0, Some(Box::new(progress(3, None)))),
    );
    let Page::Progress(looking) = &state.page else {
        panic!("progress is shown")
    };
    assert!(looking.progress.is_none());
    assert!(shown(&state, 80, 24).contains("The logbook could not be read."));
}

#[test]
fn nothing_practised_says_how_to_begin() {
    insta::assert_snapshot!("80x24_progress_first", shown(&looking(0, None), 80, 24));
}

#[test]
fn every_line_fits_its_width_and_needs_nothing_but_ascii() {
    for weeks in [0, 1, 8, 60] {
        for show in [None, Some(0), Some(1), Some(400)] {
            let progress = progress(weeks, show);
            for width in [58, 78, 98] {
                for row in lines::lines(&progress, width, BARE) {
                    let text = print::line(&row, BARE);
                    assert!(text.is_ascii() && !text.contains('\u{1b}'), "{text}");
                    // A sign that no letter stands for would be a question mark; none of ours ask.
                    assert!(!text.contains('?') || text.contains("king?"), "{text}");
                    assert!(text.width() <= width, "{width}: {text}");
                }
            }
        }
    }
}

#[test]
fn the_longest_words_of_a_time_are_told_in_full_beside_it() {
    use crate::coach::{Curve, Tempo};
    use crate::drill::{Drill, Kind};
    let mut slow = progress(8, Some(12));
    // Ten times of 111.7 s: so goes the curve too.
    let times = vec![Millis(111_700); 10];
    for step in &mut slow.steps {
        step.footing.tempo = Some(Tempo {
            of: (Drill::Order, Kind::Next),
            lately: Millis(111_700),
            usual: Some(Millis(20_000)),
            target: Some(Millis(118_000)),
            fits: false,
            curve: Curve::fit(&times),
            times: times.clone(),
        });
    }
    let ends = format!(
        "{} of {}, slow for you › {}",
        words::seconds(Millis(111_700)),
        words::seconds(Millis(118_000)),
        words::seconds(Millis(111_700))
    );
    for width in [58, 78, 98, 118] {
        let rows = lines::lines(&slow, width, COLOUR);
        let told: Vec<String> = rows
            .iter()
            .map(|row| row.iter().map(|(text, _)| text.as_str()).collect())
            .collect();
        let whole = told.iter().filter(|row| row.ends_with(&ends)).count();
        assert_eq!(whole, slow.steps.len(), "{width}: {told:#?}");
        assert!(told.iter().all(|row| row.width() <= width), "{told:#?}");
    }
}

#[test]
fn a_road_longer_than_the_page_goes_on_below() {
    let mut long = progress(8, Some(12));
    long.steps = long.steps.iter().cycle().take(95).cloned().collect();
    for step in &mut long.steps {
        step.title =
            "A title that is far too long for any line of any screen, and then some".into();
    }
    for width in [58, 78, 98] {
        let rows: Vec<String> = lines::lines(&long, width, COLOUR)
            .iter()
            .map(|row| {
                print::line(
                    row,
                    Theme {
                        colour: false,
                        ..COLOUR
                    },
                )
            })
            .collect();
        for row in &rows {
            assert!(row.width() <= width, "{width}: {row}");
        }
        let on_roads: usize = rows
            .iter()
            .skip_while(|row| {
                let mut start = row.chars();
                !start.next().is_some_and(|mark| "○◔◑●".contains(mark)) || start.next() != Some('─')
            })
            .take_while(|row| row.contains("─"))
            .map(|row| row.chars().filter(|c| "○◔◑●".contains(*c)).count())
            .sum();
        assert_eq!(on_roads, 95);
    }
}

#[test]
fn printed_lines_have_the_codes_of_the_terminal_only_where_colours_may_be_used() {
    let progress = progress(8, Some(12));
    let rows = lines::lines(&progress, 78, COLOUR);
    let printed: Vec<String> = rows.iter().map(|row| print::line(row, COLOUR)).collect();
    let bare: Vec<String> = rows
        .iter()
        .map(|row| {
            print::line(
                row,
                Theme {
                    colour: false,
                    ..COLOUR
                },
            )
        })
        .collect();
    assert!(printed.iter().any(|line| line.contains("\u{1b}[1m")));
    assert!(printed.iter().any(|line| line.contains("38;5;33m")));
    // Each code is taken back within its line.
    for line in &printed {
        assert_eq!(
            line.matches("\u{1b}[").count(),
            2 * line.matches("\u{1b}[0m").count(),
            "{line}"
        );
    }
    insta::assert_snapshot!("printed_progress", bare.join("\n"));
}

#[test]
fn line_by_line_it_says_everything_in_words() {
    let told = plain::told(&progress(8, Some(12))).join("\n");
    insta::assert_snapshot!("plain_progress", told);
}

#[test]
fn nothing_on_any_progress_screen_uses_the_words_of_the_memory_model() {
    for (weeks, show) in [(0, None), (8, Some(12)), (60, None)] {
        let progress = progress(weeks, show);
        let mut text = plain::told(&progress).join("\n");
        for row in lines::lines(&progress, 98, COLOUR) {
            text.push_str(&print::line(&row, COLOUR));
        }
        text.push_str(&words::headline(&progress));
        let text = text.to_lowercase();
        for word in [
            "fsrs",
            "stability",
            "difficulty",
            "retrievab",
            "interval",
            "streak",
            "point",
        ] {
            assert!(!text.contains(word), "{word}");
        }
    }
}
