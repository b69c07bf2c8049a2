//! Routines made up at random: cards, moves, forks, replies, glimpses and claims thrown together by dice.

use super::play::{plan, play, wrong};
use crate::drill::Drill;
use crate::roads::Draw;
use crate::routine::{Routine, load};
use std::fmt::Write;
use std::sync::Arc;

fn one_of<'a>(draw: &mut Draw, of: &[&'a str]) -> &'a str {
    of[draw.below(of.len() as u64) as usize]
}

/// A routine file; the same for the same number. The packet keeps all its cards between the steps, so that every step can
/// be done on every road.
pub fn file(number: u64) -> String {
    let mut draw = Draw::for_step(number, "made-up", 1);
    let cards = 4 + draw.below(4);
    let mut faces: Vec<String> = ["C", "H", "S", "D"]
        .iter()
        .flat_map(|suit| {
            (1..=9).map(move |n| {
                format!(
                    "{}{suit}",
                    if n == 1 {
                        "A".to_owned()
                    } else {
                        n.to_string()
                    }
                )
            })
        })
        .collect();
    draw.shuffle(&mut faces);
    faces.truncate(cards as usize);
    for face in &mut faces {
        if draw.below(4) == 0 {
            face.push('^');
        }
    }
    let packet = match draw.below(5) {
        0 => {
            let plain: Vec<&str> = faces
                .iter()
                .map(|f| f.trim_end_matches('^'))
                .take(4)
                .collect();
            format!("{{shuffled: \"{}\"}}", plain.join(" "))
        }
        1 => "{pattern: \"R B R B R B\", where: {R: red, B: black}}".to_owned(),
        _ => format!("{{list: \"{}\"}}", faces.join(" ")),
    };
    let mut text = format!(
        "allroads: 1\ntitle: Made up {number}\nblurb: By dice.\nprinciple: None.\nlang: en-GB\ncards:\n  packet: {packet}\npiles: [left, right, spare]\nsteps:\n"
    );
    let steps = 3 + draw.below(3);
    let mut asked = 0;
    for n in 0..steps {
        let again = draw.below(5) == 0;
        let pad = if again { "      " } else { "" };
        if again {
            let _ = writeln!(
                text,
                "  - again:\n      name: rounds{n}\n      says: Once more?\n      at-most: 2\n      steps:"
            );
        }
        for line in step(n, &mut draw, &mut asked).lines() {
            let _ = writeln!(text, "{pad}{line}");
        }
    }
    text.push_str(
        "finale:\n  id: ending\n  title: The ending\n  say: And there we are, friends.\n  claims: [{says: every card is back, count: {piles: [left, right, spare], is: 0}}]\n  target: 10s\n",
    );
    text
}

fn step(n: u64, draw: &mut Draw, asked: &mut u64) -> String {
    let word = one_of(
        draw,
        &[
            "Marmalade",
            "Harbour",
            "Lantern",
            "Orchard",
            "Violin",
            "Thunder",
        ],
    );
    let mut text = format!("  - id: step{n}\n    title: {word} number {n}\n");
    let mut before = String::new();
    let seen = one_of(draw, &["all", "nothing"]);
    let name = format!("c{n}");
    let (fork, acts, says) = match draw.below(13) {
        0 => (
            format!("number: {{from: 1, to: {}}}", 2 + draw.below(2)),
            vec![format!("cut: {{pile: packet, at: {name}}}")],
            seen == "all",
        ),
        1 => (
            "cut: {pile: packet, least: 1}".to_owned(),
            vec![format!("cut: {{pile: packet, at: {name}}}")],
            false,
        ),
        2 => (
            "cards: {pile: packet, count: 2}".to_owned(),
            vec![format!("turn-each: {{pile: packet, by: {name}}}")],
            false,
        ),
        3 => (
            "riffle: {left: left, right: packet}".to_owned(),
            vec![format!(
                "riffle: {{left: left, right: packet, to: packet, by: {name}}}"
            )],
            false,
        ),
        4 => (
            "option: [kind, cruel]".to_owned(),
            vec![format!(
                "when: {{is: '{name} == \"kind\"', do: [{{reverse: packet}}], else: [{{turn: packet}}]}}"
            )],
            seen == "all",
        ),
        5 => (
            "place: packet".to_owned(),
            vec![
                format!("take: {{from: packet, at: {name}, to: spare}}"),
                "put: {from: spare, to: packet, at: 2}".to_owned(),
            ],
            seen == "all",
        ),
        6 => (
            "overhand: packet".to_owned(),
            vec![format!("overhand: {{pile: packet, by: {name}}}")],
            false,
        ),
        7 => (
            "pile: [left, right]".to_owned(),
            vec![
                "deal: {from: packet, to: [left, right]}".to_owned(),
                "gather: {piles: [right, left], onto: packet}".to_owned(),
            ],
            false,
        ),
        8 => (String::new(), vec!["klondike: packet".to_owned()], false),
        9 => (
            String::new(),
            vec!["monge: {pile: packet, second: under}".to_owned()],
            false,
        ),
        10 => (
            String::new(),
            vec![
                "down-under: {pile: packet, to: spare}".to_owned(),
                "move: {from: spare, to: packet}".to_owned(),
            ],
            false,
        ),
        11 => (
            String::new(),
            vec!["turn: {pile: packet, count: 2}".to_owned()],
            false,
        ),
        _ => (
            String::new(),
            vec!["count: {from: packet, to: packet, count: 3, put: bottom}".to_owned()],
            false,
        ),
    };
    // A riffle needs two piles: the packet is parted in a step of its own.
    if fork.starts_with("riffle") {
        let _ = write!(
            before,
            "  - id: part{n}\n    title: Parting number {n}\n    say: Some of them walk over to the far meadow.\n    do: [{{deal: {{from: packet, to: [left], count: 2}}}}]\n"
        );
    }
    if says {
        let _ = writeln!(
            text,
            "    say: \"You said {{{name}}} about the {word}, and bright weather follows.\""
        );
    } else {
        let _ = writeln!(
            text,
            "    say: Now the {word} begins to sing above cold rivers."
        );
    }
    if !fork.is_empty() {
        let used = acts.iter().any(|act| act.contains(&name)) || says;
        if used {
            let _ = writeln!(
                text,
                "    fork: {{name: {name}, about: their choice {n}, says: Here., seen: {seen}, {fork}}}"
            );
        }
        if fork.starts_with("number") || fork.starts_with("place") {
            let _ = writeln!(
                text,
                "    reckon: [{{name: r{n}, is: \"{name} * 2 + 1\", asks: What is twice that and one}}]"
            );
            let _ = writeln!(
                text,
                "    claims: [{{says: the sum is odd, expr: \"r{n} % 2 == 1\"}}]"
            );
        }
    }
    let _ = writeln!(text, "    do:");
    for act in acts {
        let _ = writeln!(text, "      - {act}");
    }
    match draw.below(5) {
        0 => text.push_str("    sees: [{card: {pile: packet, at: 1}}]\n"),
        1 => text.push_str("    sees: [{trait: {pile: packet, at: -1, trait: colour}}]\n"),
        2 => text.push_str("    sees: [{count: packet}]\n"),
        3 => {
            *asked += 1;
            let _ = writeln!(
                text,
                "    reply: {{name: a{n}, asks: Is the top card red?, about: the colour question {n}, is: \"colour(card(packet, 1)) == \\\"red\\\"\"}}"
            );
        }
        _ => {}
    }
    before + &text
}

pub fn made_up(number: u64) -> Arc<Routine> {
    let text = file(number);
    Arc::new(load(&text, "made up", 1).unwrap_or_else(|troubles| {
        panic!(
            "{text}\n{}",
            troubles
                .iter()
                .map(|t| format!("{t:?}"))
                .collect::<Vec<_>>()
                .join("\n")
        )
    }))
}

#[test]
fn ten_made_up_routines_pass_every_drill_with_right_and_with_wrong_answers() {
    for number in 1..=10 {
        let routine = made_up(number);
        for drill in Drill::ASKED {
            let right = play(&routine, plan(&[drill], 12, number), |_, question| {
                question.expected_keys.clone()
            });
            assert_eq!(right.unread, 0, "{number} {drill:?}");
            assert_eq!(
                right.summary.right, right.summary.asked,
                "{number} {drill:?}"
            );
            assert_eq!(right.kept.len(), right.asked.len());
            if drill != Drill::Reckon {
                assert_eq!(right.summary.asked, 12, "{number} {drill:?}");
            }
            let missed = play(&routine, plan(&[drill], 12, number), |_, question| {
                wrong(&routine, question)
            });
            assert_eq!(missed.unread, 0, "{number} {drill:?}");
            assert_eq!(missed.summary.right, 0, "{number} {drill:?}");
            assert_eq!(
                missed.summary.asked, right.summary.asked,
                "{number} {drill:?}"
            );
        }
    }
}
