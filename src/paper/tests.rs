//! Pages, read back by a plain XML reader.

use super::{Astray, cue_sheet, progress};
use crate::coach::Progress;
use crate::coach::fixtures;
use crate::routine::{KnownStray, StopIndex, Stray};
use proptest::prelude::*;
use roxmltree::{Document, Node};
use std::collections::BTreeSet;

/// The page without its first line, which is HTML's own.
fn body(page: &str) -> &str {
    page.strip_prefix("<!DOCTYPE html>\n").unwrap()
}

/// The page without its style sheet, which is a file of its own.
fn without_style(page: &str) -> String {
    let (before, rest) = page.split_once("<style>").unwrap();
    let (_, after) = rest.split_once("</style>").unwrap();
    format!("{before}<style></style>{after}")
}

fn all<'a, 'd>(document: &'a Document<'d>, name: &'a str) -> impl Iterator<Item = Node<'a, 'd>> {
    document.descendants().filter(move |n| n.has_tag_name(name))
}

fn text(node: Node<'_, '_>) -> String {
    node.descendants()
        .filter_map(|n| n.text().filter(|_| n.is_text()))
        .collect()
}

/// What holds for every page.
fn checked(page: &str) {
    let document = Document::parse(body(page)).unwrap();
    assert_eq!(document.root_element().attribute("lang"), Some("en"));
    assert_eq!(all(&document, "main").count(), 1);
    assert_eq!(all(&document, "h1").count(), 1);
    assert!(!text(all(&document, "title").next().unwrap()).is_empty());
    // Names are given once, and lead somewhere.
    let ids: Vec<&str> = document
        .descendants()
        .filter_map(|n| n.attribute("id"))
        .collect();
    let once: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), once.len(), "{ids:?}");
    for node in document.descendants() {
        for by in ["aria-labelledby", "aria-describedby"] {
            for id in node
                .attribute(by)
                .into_iter()
                .flat_map(str::split_whitespace)
            {
                assert!(once.contains(id), "{id}");
            }
        }
    }
    // Every picture has a name and a description, or is passed over.
    for svg in all(&document, "svg") {
        let hidden = svg.attribute("aria-hidden") == Some("true");
        let told = svg.attribute("role") == Some("img")
            && ["title", "desc"].iter().all(|name| {
                svg.children()
                    .any(|n| n.has_tag_name(*name) && !text(n).is_empty())
            });
        assert!(hidden != told, "{}", &page[svg.range()][..120]);
    }
    // Every table has named columns, and each row as many cells.
    for table in all(&document, "table") {
        let rows: Vec<usize> = table
            .descendants()
            .filter(|n| n.has_tag_name("tr"))
            .map(|row| row.children().filter(Node::is_element).count())
            .collect();
        assert!(
            rows.len() > 1 && rows.iter().all(|n| *n == rows[0]),
            "{rows:?}"
        );
        for head in table.descendants().filter(|n| n.has_tag_name("th")) {
            assert!(head.attribute("scope").is_some() && !text(head).is_empty());
        }
    }
    // Nothing comes from elsewhere.
    for node in document.descendants() {
        for reach in [
            "src", "href", "srcset", "data", "action", "onload", "onclick",
        ] {
            assert_eq!(node.attribute(reach), None);
        }
    }
    assert_eq!(all(&document, "script").count(), 0);
    let lower = page.to_lowercase();
    for word in ["fsrs", "stability", "difficulty", "retrievab", "streak"] {
        assert!(!lower.contains(word), "{word}");
    }
}

/// Heads in order: none is skipped on the way down.
fn heads_in_order(page: &str) {
    let document = Document::parse(body(page)).unwrap();
    let levels: Vec<u32> = document
        .descendants()
        .filter_map(|n| n.tag_name().name().strip_prefix('h')?.parse().ok())
        .collect();
    assert_eq!(levels[0], 1);
    assert!(levels.windows(2).all(|w| w[1] <= w[0] + 1), "{levels:?}");
}

#[test]
fn every_page_is_well_formed_named_and_whole() {
    for weeks in [0, 1, 8, 60, 130] {
        for show in [None, Some(0), Some(12), Some(400)] {
            let page = progress::routine(&fixtures::progress(weeks, show));
            checked(&page);
            heads_in_order(&page);
        }
    }
    let some = [fixtures::progress(8, Some(12)), fixtures::progress(2, None)];
    for (routines, elsewhere) in [
        (&some[..], vec![("gone <away>".to_owned(), 7)]),
        (&[], Vec::new()),
    ] {
        let page = progress::all(routines, &elsewhere, fixtures::TODAY);
        checked(&page);
        heads_in_order(&page);
    }
}

#[test]
fn the_page_says_what_the_progress_says() {
    let progress = fixtures::progress(8, Some(12));
    let page = progress::routine(&progress);
    let document = Document::parse(body(&page)).unwrap();
    let said = text(document.root_element());
    for step in &progress.steps {
        assert!(said.contains(&step.title), "{}", step.title);
        assert!(said.contains(step.footing.hold.word()));
    }
    assert!(said.contains("Some go ashore: 2 slips, 1 stray"));
    let tables: Vec<Node<'_, '_>> = all(&document, "table").collect();
    let weeks = tables
        .iter()
        .find(|t| text(**t).contains("week of"))
        .unwrap();
    let rows = weeks.descendants().filter(|n| n.has_tag_name("tr")).count();
    assert_eq!(rows, progress.weeks.len() + 1);
    insta::assert_snapshot!("progress_page", without_style(&page));
}

/// What may be met at the second step, and what is harmless there.
fn astray() -> Vec<Astray> {
    let one = |stray, happens: &str, safe, brief: &str| Astray {
        stop: StopIndex(1),
        stray: Stray::Known(stray),
        happens: happens.to_owned(),
        safe,
        brief: brief.to_owned(),
    };
    vec![
        one(
            KnownStray::CutsAgain,
            "They cut once more.",
            false,
            "with 2 or 4: safe; with 1, 3 or 5: mend 1",
        ),
        one(
            KnownStray::CutsAgain,
            "They cut the pier once more.",
            true,
            "safe",
        ),
        one(KnownStray::Peeks, "They look at a card.", true, "safe"),
        one(KnownStray::Riffles, "They riffle it.", false, "lost"),
    ]
}

#[test]
fn the_cue_sheet_has_every_step_with_what_its_file_says() {
    let mut routine = fixtures::routine();
    routine.stops[1].strays = vec![Stray::Known(KnownStray::CutsAgain)];
    let page = cue_sheet(&routine, &astray());
    checked(&page);
    heads_in_order(&page);
    let document = Document::parse(body(&page)).unwrap();
    let rows: Vec<String> = all(&document, "tr").skip(1).map(text).collect();
    assert_eq!(rows.len(), routine.stops.len());
    for (row, words) in [
        (0, "1. They go on board 10\u{a0}s“Six people and one ferry."),
        (0, "Show the faces, then turn the packet face down."),
        (1, "They choose: where the wind blew."),
        (1, "Mind: Complete the cut at once."),
        (
            1,
            "It happens that somebody cuts again (with 2 or 4: safe; with 1, 3 or 5: mend 1; or safe).",
        ),
        // What hangs on a choice is no number.
        (
            1,
            "Cut the cards agreed on from the top of the packet to the bottom.",
        ),
        (
            2,
            "You said [how many went ashore], and so did their mothers.",
        ),
        (3, "They answer: Is the king still on board?"),
        (4, "Then as many are ashore as they said."),
    ] {
        assert!(rows[row].contains(words), "{}", rows[row]);
    }
    let said = text(document.root_element());
    assert!(
        said.contains("packet, 6 cards, from the top: 7♥ 4♠↑ 9♦ 2♣ K♥ Q♠"),
        "{said}"
    );
    // What is not listed at the step opens on a screen; what is harmless is not told.
    let more = text(all(&document, "details").next().unwrap());
    assert!(more.contains("They riffle it. Lost."), "{more}");
    assert!(!more.contains("They look at a card."), "{more}");
    insta::assert_snapshot!("cue_sheet", without_style(&page));
}

#[test]
fn the_rich_language_of_the_whole_fixture_fits_a_cue_sheet() {
    let text = include_str!("../../tests/fixtures/everything.yaml");
    let routine = crate::routine::load(text, "everything.yaml", 0).unwrap();
    checked(&cue_sheet(&routine, &[]));
}

/// The same progress with this text wherever a file has a say.
fn named(mut progress: Progress, words: &str) -> Progress {
    progress.name = words.to_owned();
    progress.title = words.to_owned();
    for step in &mut progress.steps {
        step.title = words.to_owned();
    }
    for untried in &mut progress.untried {
        untried.about = words.to_owned();
        for open in &mut untried.open {
            *open = words.to_owned();
        }
    }
    progress.gone = vec![crate::routine::StepId(words.into())];
    progress
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn any_text_of_a_routine_gives_a_well_formed_page(
        words in prop_oneof![
            any::<String>(),
            "[<>&\"'/! a-z\\-\\]]{1,40}",
            Just("</title><script>alert(1)</script>".to_owned()),
            Just("]]>--><!--\u{0}\u{FFFF}".to_owned()),
        ],
    ) {
        prop_assume!(!words.trim().is_empty());
        let progress = named(fixtures::progress(3, Some(9)), &words);
        let astray = [Astray {
            stop: StopIndex(0),
            stray: Stray::Own(0),
            happens: words.clone(),
            safe: false,
            brief: words.clone(),
        }];
        let mut routine = fixtures::routine();
        routine.title.clone_from(&words);
        routine.principle.clone_from(&words);
        routine.piles[0].clone_from(&words);
        routine.strays = vec![crate::routine::OwnStray {
            id: crate::routine::StepId(words.as_str().into()),
            says: crate::routine::Template::plain(&words),
            fork: None,
            acts: Vec::new(),
            sights: Vec::new(),
            often: 1,
            line: 1,
        }];
        for stop in &mut routine.stops {
            stop.title.clone_from(&words);
            stop.say = crate::routine::Template::plain(&words);
            stop.handling.clone_from(&words);
            stop.hint = Some(words.clone());
            stop.caution = Some(words.clone());
            stop.strays = vec![crate::routine::Stray::Own(0)];
        }
        let both = [
            cue_sheet(&routine, &astray),
            progress::routine(&progress),
            progress::all(&[progress], &[(words, 3)], fixtures::TODAY),
        ];
        for page in both {
            prop_assert!(Document::parse(body(&page)).is_ok());
            let document = Document::parse(body(&page)).unwrap();
            prop_assert_eq!(all(&document, "script").count(), 0);
            prop_assert_eq!(all(&document, "h1").count(), 1);
        }
    }
}
