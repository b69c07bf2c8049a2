//! Lines said aloud, by a performer with a watch.

use super::*;
use crate::drill::question::Drill;
use crate::drill::spoken::prompt::Speaker;
use crate::drill::tests::play::{plan, shipped};

fn begun(routine: &Arc<Routine>, plan: Plan, helps: Vec<(StepId, Help)>) -> Aloud {
    Aloud::new(Arc::clone(routine), plan, helps).unwrap()
}

/// One road and no longer.
fn one_road(seed: u64) -> Plan {
    Plan {
        questions: None,
        ..plan(&[Drill::Lines], 0, seed)
    }
}

fn said(effects: &[SpokenEffect]) -> Vec<&Speech> {
    effects
        .iter()
        .filter_map(|effect| match effect {
            SpokenEffect::Say(speech) => Some(speech),
            _ => None,
        })
        .collect()
}

fn kept(effects: &[SpokenEffect]) -> Vec<&crate::drill::Answered> {
    effects
        .iter()
        .filter_map(|effect| match effect {
            SpokenEffect::Keep(answered) => Some(answered),
            _ => None,
        })
        .collect()
}

#[test]
fn hesitation_runs_from_the_end_of_the_cue_and_length_from_the_start() {
    let routine = &shipped()[0];
    let mut aloud = begun(routine, one_road(4), Vec::new());
    aloud.update(&Deed::Go, Millis(1_000));
    // The first line has no cue: it counts from where it is shown.
    let mut shown = 1_000;
    for (cue, hesitation, length) in [(0, 400, 6_000), (2_500, 800, 9_100), (3_000, 0, 5_000)] {
        let Phase::Line(line, _) = &aloud.phase else {
            panic!("{:?}", aloud.phase);
        };
        assert_eq!(line.cue.is_some(), cue > 0);
        // A performer who begins before the cue is over does not hesitate.
        if cue > 0 && hesitation > 0 {
            aloud.update(&Deed::Spoken, Millis(shown + cue));
        }
        let start = shown + cue + hesitation;
        let hushed = aloud.update(&Deed::Go, Millis(start));
        assert_eq!(hushed, [SpokenEffect::Hush]);
        let real = aloud.update(&Deed::Go, Millis(start + length));
        let Phase::Real(shows) = &aloud.phase else {
            panic!("{:?}", aloud.phase);
        };
        assert_eq!(said(&real)[0].words, shows.line);
        assert_eq!((shows.hesitation.0, shows.length.0), (hesitation, length));
        let judged = aloud.update(&Deed::Go, Millis(start + length + 1));
        let kept = kept(&judged);
        assert_eq!(kept.len(), 1);
        assert!(kept[0].right);
        assert_eq!(kept[0].first_key.0, hesitation);
        assert_eq!(kept[0].total.0, hesitation + length);
        shown = start + length + 1;
    }
}

#[test]
fn a_line_that_differed_is_kept_as_a_miss() {
    let routine = &shipped()[0];
    let mut aloud = begun(routine, one_road(4), Vec::new());
    for _ in 0..3 {
        aloud.update(&Deed::Go, Millis(10));
    }
    assert!(matches!(aloud.phase, Phase::Real(_)));
    let effects = aloud.update(&Deed::Back, Millis(20));
    assert!(!kept(&effects)[0].right);
    assert!(matches!(aloud.phase, Phase::Line(..)));
}

#[test]
fn the_cue_is_the_spectators_line_or_the_end_of_the_line_before() {
    for routine in shipped() {
        let mut aloud = begun(&routine, one_road(9), Vec::new());
        let mut effects = aloud.update(&Deed::Go, Millis(1));
        let mut before: Option<String> = None;
        let mut lines = 0;
        while let Phase::Line(cue, line) = aloud.phase.clone() {
            let walked = aloud.walk.next().unwrap().clone();
            let answered = aloud.spectator(&walked).or(aloud.answered_before(&walked));
            match (answered, &before) {
                (Some(spectator), _) => {
                    assert_eq!(said(&effects)[0].who, Speaker::Spectator);
                    assert_eq!(said(&effects)[0].words, spectator);
                }
                (None, Some(before)) => {
                    assert_eq!(said(&effects)[0].who, Speaker::Prompter);
                    assert!(before.ends_with(&said(&effects)[0].words));
                }
                (None, None) => assert!(said(&effects).is_empty()),
            }
            assert!(line.starts_with(cue.first_words.trim_end_matches(" …")));
            aloud.update(&Deed::Go, Millis(2));
            aloud.update(&Deed::Go, Millis(3));
            effects = aloud.update(&Deed::Go, Millis(4));
            before = Some(line);
            lines += 1;
        }
        assert!(lines >= 5, "{}", routine.title);
        assert!(matches!(aloud.phase, Phase::Done(_)));
    }
}

#[test]
fn the_better_a_step_is_held_the_less_of_its_cue_is_given() {
    let routine = &shipped()[0];
    let id = |n: usize| routine.stops[n].id.clone();
    let helps = vec![(id(0), Help::Road), (id(1), Help::Move)];
    let mut aloud = begun(routine, one_road(4), helps);
    aloud.update(&Deed::Go, Millis(1));
    for (help, first, handling) in [
        (Help::Road, false, false),
        (Help::Move, false, true),
        (Help::FirstWords, true, true),
    ] {
        let Phase::Line(cue, _) = aloud.phase.clone() else {
            panic!("no line");
        };
        // The prompter says the end of the line before, or the move, or nothing; spectators are always heard.
        let walked = aloud.walk.next().unwrap().clone();
        let expected = match (aloud.spectator(&walked), help) {
            (Some(spectator), _) => Some(spectator),
            (None, Help::Road) => None,
            (None, Help::Move) => Some(aloud.handling(&walked).join(" ")),
            (None, Help::FirstWords) => {
                aloud.cue(&walked, aloud.before.as_deref()).map(|s| s.words)
            }
        };
        let said: Vec<String> = aloud.said.iter().map(|said| said.words.clone()).collect();
        assert_eq!(said, Vec::from_iter(expected));
        assert_eq!(cue.help, help);
        assert_eq!(!cue.first_words.is_empty(), first);
        let walked = aloud.walk.next().unwrap().clone();
        let own = if handling {
            aloud.handling(&walked)
        } else {
            Vec::new()
        };
        assert_eq!(cue.handling, own);
        for _ in 0..3 {
            aloud.update(&Deed::Go, Millis(2));
        }
    }
}

#[test]
fn a_typed_line_is_marked_by_its_words() {
    let routine = &shipped()[0];
    let mut aloud = begun(routine, one_road(4), Vec::new());
    aloud.update(&Deed::Go, Millis(1));
    let Phase::Line(_, line) = aloud.phase.clone() else {
        panic!("no line");
    };
    let effects = aloud.update(&Deed::Answer(line), Millis(2_000));
    assert!(kept(&effects)[0].right);
    aloud.update(&Deed::Go, Millis(3_000));
    let effects = aloud.update(&Deed::Answer("xylophone".into()), Millis(4_000));
    assert!(!kept(&effects)[0].right);
    let after = aloud.update(&Deed::Go, Millis(5_000));
    // It was kept when it was marked, and not again.
    assert!(kept(&after).is_empty());
}

#[test]
fn the_patter_is_read_at_the_pace_of_a_performance() {
    for routine in shipped() {
        let mut aloud = begun(&routine, one_road(6), Vec::new());
        let Phase::Opening(opening) = aloud.phase.clone() else {
            panic!("no opening");
        };
        let mut now = 500;
        aloud.update(&Deed::Read, Millis(now));
        let mut whole = 0;
        while let Phase::Reading(reading) = aloud.phase.clone() {
            let target = reading.along.target.unwrap().0;
            if target == 0 {
                // Whoever only says yes or no needs no time of their own.
                assert!(reading.line.is_empty());
                aloud.update(&Deed::Spoken, Millis(now));
                continue;
            }
            // Speech that is over early waits for its time …
            aloud.update(&Deed::Spoken, Millis(now + 1));
            aloud.update(&Deed::Tick, Millis(now + target - 1));
            assert!(matches!(&aloud.phase, Phase::Reading(same) if *same == reading));
            now += target;
            whole += target;
            aloud.update(&Deed::Tick, Millis(now));
        }
        let Phase::Read(read) = &aloud.phase else {
            panic!("not read");
        };
        assert_eq!(read.took.0, whole);
        assert_eq!(read.running, routine.running_time);
        assert!(whole >= opening.reading.0);
        // … and the lines begin on the same road.
        aloud.update(&Deed::Go, Millis(now + 10));
        assert!(matches!(aloud.phase, Phase::Line(..)));
        assert_eq!(aloud.walk.road.seed, 6);
    }
}

#[test]
fn so_many_lines_and_no_more() {
    let routine = &shipped()[0];
    let mut aloud = begun(routine, plan(&[Drill::Lines], 2, 4), Vec::new());
    let mut finished = None;
    for n in 0..100 {
        for effect in aloud.update(&Deed::Go, Millis(n)) {
            if let SpokenEffect::Finished(summary) = effect {
                finished = Some(summary);
            }
        }
    }
    assert_eq!(finished.unwrap().asked, 2);
}
