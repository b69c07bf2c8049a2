//! Whole sessions, by keys and line by line.

use super::*;

/// A keeper for tests: remembers, and refuses from some answer on.
#[derive(Debug, Default)]
pub(super) struct Book {
    begun: Vec<String>,
    pub kept: Vec<Answered>,
    refuse_from: Option<usize>,
    pub ended: bool,
}

impl Keeper for Book {
    fn begin(&mut self, begun: &Begun) -> Result<(), KeepFault> {
        self.begun.push(begun.name.clone());
        Ok(())
    }
    fn keep(&mut self, answered: &Answered) -> Result<(), KeepFault> {
        if self.refuse_from.is_some_and(|from| self.kept.len() >= from) {
            return Err(KeepFault("the disk is full".into()));
        }
        self.kept.push(answered.clone());
        Ok(())
    }
    fn end(&mut self) -> Result<(), KeepFault> {
        self.ended = true;
        Ok(())
    }
    fn standing(&mut self, _: &str) -> Option<Standing> {
        None
    }
}

/// A routine small enough to read here, with a fork and things to know.
const MARKET: &str = r#"
allroads: 1
title: The Market
blurb: Two stalls and one customer.
principle: What is dealt off lies in reverse.
lang: en-GB
cards:
  packet: {list: "7H 4S 9D 2C KH QS"}
piles: [stall]
steps:
  - id: open
    title: Open the market
    say: This is everything I have to sell today.
    handling: Show the faces, then turn the packet face down.
    target: 10s
  - id: buy
    title: They buy some
    say: Tell me how many you would like, and I will count them out. You said {n}, a modest customer.
    fork: {name: n, about: the number they bought, says: "I take {n}.", number: {from: 2, to: 4}}
    do:
      - count: {from: packet, to: stall, count: n}
    claims:
      - count: {piles: [packet], is: "6 - n"}
finale:
  id: close
  title: Close the market
  say: And this one is for the road.
  do:
    - turn: {pile: packet, count: 1}
"#;

pub(super) fn market() -> Shelved {
    let routine = crate::routine::load(MARKET, "market", 0).unwrap();
    Shelved {
        name: "market".into(),
        routine: Arc::new(routine),
        standing: Standing::default(),
        proven: Proven::NotYet,
    }
}

pub(super) fn terms(questions: u32) -> Terms {
    Terms {
        questions: Some(questions),
        ..Terms::usual(7)
    }
}

/// Another routine of the same kind.
fn fair() -> Shelved {
    let text = MARKET
        .replace("The Market", "The Fair")
        .replace("market", "fair")
        .replace("7H 4S 9D 2C KH QS", "5C 8D JS 3H AC 10D");
    Shelved {
        name: "fair".into(),
        routine: Arc::new(crate::routine::load(&text, "fair", 0).unwrap()),
        standing: Standing::default(),
        proven: Proven::NotYet,
    }
}

/// The right answers to the questions of a session, taken from a second session that is asked the same.
fn right_answers(questions: u32) -> Vec<String> {
    right_answers_of(&[market()], questions)
}

fn right_answers_of(shelf: &[Shelved], questions: u32) -> Vec<String> {
    let plan = terms(questions).plan();
    let parts = shelf.iter().map(|one| one.session(plan.clone()).unwrap());
    let mut session = Interleaved::new(parts.collect()).unwrap();
    let mut answers = Vec::new();
    loop {
        let event = match session.prompt() {
            Prompt::Ask(question) => {
                answers.push(question.expected_keys.clone());
                crate::drill::Event::Answer {
                    text: question.expected_keys,
                    first_key: Millis(10),
                    total: Millis(10),
                }
            }
            Prompt::Done(_) => return answers,
            Prompt::Tell(_) | Prompt::Correct(_) | Prompt::Line(_) => crate::drill::Event::Go,
        };
        session.update(event);
    }
}

fn in_lines(answers: &[String], book: &mut Book) -> String {
    in_lines_of(&[market()], 6, answers, book)
}

fn in_lines_of(shelf: &[Shelved], questions: u32, answers: &[String], book: &mut Book) -> String {
    typed(answers, |lines| {
        plain(shelf, &terms(questions), book, lines, None).unwrap();
    })
}

#[test]
fn right_answers_line_by_line_are_all_right_and_kept_and_the_same_each_time() {
    let mut book = Book::default();
    let output = in_lines(&right_answers(6), &mut book);
    assert!(output.contains("summary: 6/6 right"), "{output}");
    assert_eq!(output.matches("right. kept.").count(), 6, "{output}");
    assert!(output.contains("choice: n="), "{output}");
    assert_eq!(book.kept.len(), 6);
    assert!(book.ended && book.kept.iter().all(|answered| answered.right));
    assert_eq!(output, in_lines(&right_answers(6), &mut Book::default()));
}

#[test]
fn several_routines_line_by_line_take_turns_and_each_answer_is_kept_with_its_own() {
    let shelf = [market(), fair()];
    let answers = right_answers_of(&shelf, 20);
    let mut book = Book::default();
    let output = in_lines_of(&shelf, 20, &answers, &mut book);
    assert!(output.contains("summary: 20/20 right"), "{output}");
    assert_eq!(output.matches("right. kept.").count(), 20, "{output}");
    // Each is introduced once, and named whenever its turn comes.
    assert_eq!(output.matches("set-up: 0").count(), 2, "{output}");
    assert_eq!(output.matches("proof: ").count(), 2, "{output}");
    let turns: Vec<&str> = output
        .lines()
        .filter_map(|line| line.strip_prefix("routine: "))
        .collect();
    assert!(turns.len() > 2, "{output}");
    for pair in turns.windows(2) {
        assert_ne!(
            pair[0], pair[1],
            "named anew only when it is another's turn"
        );
    }
    book.begun.sort();
    assert_eq!(book.begun, ["fair", "market"]);
    // Every answer belongs to the routine whose road it was asked on.
    let mut kept = book.kept.iter();
    let mut routine = "";
    for line in output.lines() {
        if let Some(title) = line.strip_prefix("routine: ") {
            routine = title;
        }
        if line == "right. kept." {
            assert_eq!(kept.next().unwrap().routine, routine);
        }
    }
    let again = in_lines_of(&shelf, 20, &answers, &mut Book::default());
    assert_eq!(output, again);
}

#[test]
fn what_was_missed_in_one_routine_and_comes_back_within_another_says_where_it_looks_back_to() {
    let shelf = [market(), fair()];
    let output = in_lines_of(&shelf, 20, &vec!["-".to_owned(); 60], &mut Book::default());
    let mut routine = "";
    let mut back = 0;
    for line in output.lines() {
        routine = line.strip_prefix("routine: ").unwrap_or(routine);
        if let Some(place) = line.strip_prefix("back at: ")
            && let Some((_, title)) = place.rsplit_once(" of ")
        {
            assert!(["The Market", "The Fair"].contains(&title), "{line}");
            assert_ne!(title, routine, "{line}");
            back += 1;
        }
    }
    assert!(back > 0, "{output}");
}

#[test]
fn one_key_takes_all_routines_of_the_planned_show_in_turns() {
    let mut shelf = vec![market(), fair()];
    let mut state = State::foyer(COLOUR, shelf.clone(), Terms::usual(7));
    press(&mut state, "a");
    assert!(matches!(state.page, Page::Foyer));
    assert!(
        state
            .notice
            .as_deref()
            .unwrap()
            .starts_with("No show is planned")
    );
    for shelved in &mut shelf {
        shelved.standing.show = Some(WholeShow {
            routines: vec!["fair".into(), "market".into()],
            minutes: 7,
        });
    }
    let mut state = State::foyer(COLOUR, shelf, Terms::usual(7));
    let foyer = shown(&state, 80, 24);
    assert!(
        foyer.contains("a all 2 routines of the show in turns"),
        "{foyer}"
    );
    let mut effects = press(&mut state, "a");
    let mut now = 0;
    let mut titles = Vec::new();
    while let Page::Rehearsal(rehearsal) = &state.page {
        assert_eq!(rehearsal.session.plan().minutes, Some(7));
        let walked = rehearsal.session.walked().title.clone();
        let keys = match &rehearsal.prompt {
            Prompt::Ask(_) => "-⏎",
            Prompt::Tell(_) | Prompt::Correct(_) | Prompt::Line(_) | Prompt::Done(_) => "⏎",
        };
        now += 5_000;
        update(&mut state, Event::Drawn(Millis(now)));
        let screen = shown(&state, 80, 24);
        assert!(screen.trim_start().starts_with(&walked), "{screen}");
        titles.push(walked);
        effects.extend(press_at(&mut state, keys, now + 3_000));
    }
    titles.sort();
    titles.dedup();
    assert_eq!(titles, ["The Fair", "The Market"]);
    let begun = effects.iter().filter_map(|effect| match effect {
        Effect::Begin(begun) => Some(begun.name.as_str()),
        _ => None,
    });
    let mut begun: Vec<&str> = begun.collect();
    begun.sort_unstable();
    assert_eq!(begun, ["fair", "market"]);
    assert!(effects.contains(&Effect::Stand(0)) && effects.contains(&Effect::Stand(1)));
    assert!(shown(&state, 80, 24).contains("The Market · The Fair"));
}

#[test]
fn a_question_that_comes_back_says_where_it_is_about() {
    let mut state = asked("");
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        panic!()
    };
    let mut question = question();
    question.again = true;
    question.spot.done = 1;
    rehearsal.prompt = Prompt::Ask(question.clone());
    assert!(!shown(&state, 80, 24).contains("Back at"));
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        panic!()
    };
    question.spot.done = 0;
    rehearsal.prompt = Prompt::Ask(question.clone());
    assert!(shown(&state, 80, 24).contains("Back at the very start, where you knew:"));
    let Page::Rehearsal(rehearsal) = &mut state.page else {
        panic!()
    };
    question.spot.road = 4;
    question.spot.done = 2;
    rehearsal.prompt = Prompt::Ask(question);
    assert!(shown(&state, 80, 24).contains("Back at “They choose a pier” on road 4"));
}

#[test]
fn wrong_answers_line_by_line_are_corrected_with_the_reason() {
    let mut book = Book::default();
    let output = in_lines(&vec!["-".to_owned(); 6], &mut book);
    assert!(output.contains("summary: 0/6 right"), "{output}");
    assert_eq!(output.matches("not quite. kept.").count(), 6);
    assert!(output.matches("answer: ").count() >= 5, "{output}");
    assert!(output.matches("why: ").count() >= 5, "{output}");
}

#[test]
fn a_full_disk_is_told_and_loses_nothing_kept_before() {
    let mut book = Book {
        refuse_from: Some(2),
        ..Book::default()
    };
    let output = in_lines(&right_answers(6), &mut book);
    assert_eq!(output.matches("right. kept.").count(), 2, "{output}");
    assert_eq!(
        output.matches("right. not kept: the disk is full").count(),
        4
    );
    assert_eq!(book.kept.len(), 2);
    assert!(output.contains("summary: 6/6 right"));
}

#[test]
fn the_end_of_the_input_ends_the_plain_session_with_its_summary() {
    let mut book = Book::default();
    let output = in_lines(&[], &mut book);
    assert!(output.contains("summary: 0/0 right"), "{output}");
    assert!(book.ended && book.kept.is_empty());
}

#[test]
fn an_answer_that_cannot_be_read_is_asked_again() {
    let mut answers = right_answers(6);
    answers.insert(0, String::new());
    answers.insert(0, "\u{1b}[2J?".to_owned());
    let output = in_lines(&answers, &mut Book::default());
    assert!(!output.contains('\u{1b}'));
    assert!(output.contains("not understood: "), "{output}");
}

#[test]
fn the_first_meeting_asks_for_no_line_and_the_next_one_may() {
    let drills = |days| {
        let mut shelved = market();
        shelved.standing.days = days;
        let mut state = State::foyer(COLOUR, vec![shelved], terms(6));
        press(&mut state, "⏎");
        match state.page {
            Page::Rehearsal(rehearsal) => rehearsal.session.plan().drills.clone(),
            Page::Foyer
            | Page::Walk(_)
            | Page::Live(_)
            | Page::Ended(_)
            | Page::Progress(_)
            | Page::After(_) => {
                panic!("a rehearsal begins")
            }
        }
    };
    assert_eq!(drills(None), [Drill::Picture, Drill::Reckon]);
    assert_eq!(drills(Some(1)), Drill::ASKED);
}

#[test]
fn a_whole_rehearsal_by_keys_asks_keeps_and_sums_up() {
    let every_drill = Terms {
        drills: Drill::ASKED.to_vec(),
        ..terms(6)
    };
    let mut state = State::foyer(COLOUR, vec![market()], every_drill);
    let mut kept = Vec::new();
    let mut effects = press(&mut state, "⏎");
    let mut now = 0;
    let mut answers = right_answers(6).into_iter();
    while let Page::Rehearsal(rehearsal) = &state.page {
        let keys = match &rehearsal.prompt {
            Prompt::Ask(_) => format!("{}⏎", answers.next().unwrap()),
            Prompt::Tell(_) | Prompt::Correct(_) | Prompt::Line(_) | Prompt::Done(_) => {
                "⏎".to_owned()
            }
        };
        now += 1_000;
        update(&mut state, Event::Drawn(Millis(now)));
        assert!(!shown(&state, 80, 24).is_empty());
        effects.extend(press_at(&mut state, &keys, now + 700));
    }
    for effect in &effects {
        if let Effect::Keep(answered) = effect {
            kept.push(answered.clone());
        }
    }
    assert_eq!(kept.len(), 6);
    for answered in &kept {
        assert!(answered.right, "{answered:?}");
        assert_eq!(
            (answered.first_key, answered.total),
            (Millis(700), Millis(700))
        );
    }
    assert_eq!(effects.last(), Some(&Effect::Stand(0)));
    assert!(shown(&state, 80, 24).contains("6 of 6 right."));
}
