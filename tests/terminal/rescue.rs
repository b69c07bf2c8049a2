//! The rescue drill line by line and in a terminal, answered from what is printed alone: a performer who knows what a cut does to pairs,
//! because they have tried every riffle, and who mends with a move of their own.

use super::spoken::{NOWHERE, kept, what};
use super::{PATIENCE, Show, in_foyer, in_summary};
use serde_json::Value;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// Eight cards of alternating colours, some dealt off, both parts riffled; the pairs must hold one of each colour.
const TRAIN: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures/train.yaml");

/// Not the routine's own mend, which brings the top card to the bottom once.
const OWN_MEND: &str = "bottom to top";

/// Another: any odd number of single cards will do, as the words say.
const THREE_SINGLES: &str = "top to bottom; top to bottom; top to bottom";

/// What sets nothing right.
const TWO_SINGLES: &str = "top to bottom; top to bottom";

/// What is luck at best where a cut was odd.
const NOTHING: &str = "nothing";

/// Whether every pair holds both colours after any riffle, a cut of so many, and then so many single cards more brought from the top to the
/// bottom: all roads of the fixture, tried one by one.
fn pairs_hold(cut: usize, singles: usize) -> bool {
    let cards: Vec<bool> = (0..8).map(|n| n % 2 == 0).collect();
    (3..=5).all(|many| {
        // Dealing turns the order round.
        let dealt: Vec<bool> = cards[..many].iter().rev().copied().collect();
        let left = &cards[many..];
        (0_u32..1 << 8)
            .filter(|weave| weave.count_ones() as usize == many)
            .all(|weave| {
                let (mut one, mut other) = (dealt.iter(), left.iter());
                let mut packet: Vec<bool> = (0..8)
                    .map(|n| {
                        let next = if weave >> n & 1 == 1 {
                            one.next()
                        } else {
                            other.next()
                        };
                        *next.unwrap()
                    })
                    .collect();
                packet.rotate_left(cut);
                packet.rotate_left(singles);
                packet.chunks(2).all(|pair| pair[0] != pair[1])
            })
    })
}

/// What the performer says where a cut is seen after the riffle, by its size; none where something else happened.
fn seen_cut(text: &str) -> Option<usize> {
    let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let (_, after) = plain.rsplit_once(
        "After “They push in”: They cut the packet once more, and you see how many they lift.",
    )?;
    let (_, count) = after.split_once("You saw: ")?;
    count.split_whitespace().next()?.parse().ok()
}

/// Line by line with this seed, and this keyed where a cut that was seen is to be mended. What is printed, and what was kept.
fn in_lines(seed: u64, mute: bool, mend: &str) -> (String, Vec<Value>) {
    let data = tempfile::tempdir().unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_allroads"));
    command
        .args([
            "rehearse",
            TRAIN,
            "--plain",
            "--drill",
            "rescue",
            "--questions",
            "2",
        ])
        .args(["--seed", &seed.to_string()])
        .arg("--data")
        .arg(data.path())
        .envs(NOWHERE.iter().copied())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped());
    if mute {
        command.arg("--mute");
    }
    let mut child = command.spawn().unwrap();
    let mut to = child.stdin.take().unwrap();
    let mut from = child.stdout.take().unwrap();
    let mut printed = String::new();
    let mut cut = None;
    let mut bytes = [0; 4096];
    loop {
        let count = std::io::Read::read(&mut from, &mut bytes).unwrap();
        if count == 0 {
            break;
        }
        printed.push_str(&String::from_utf8_lossy(&bytes[..count]));
        if !printed.ends_with("\n> ") {
            continue;
        }
        let asked = printed.lines().rev().nth(1).unwrap_or_default();
        let answer = if asked.starts_with("safe, mend, out or lost?") {
            // The road before the last has cuts of its own.
            let here = printed.rsplit("prompter: ").next().unwrap_or_default();
            cut = seen_cut(&format!("prompter: {here}"));
            cut.map_or("-", verdict)
        } else if asked.starts_with("what makes it safe?") {
            if cut.is_some() { mend } else { "-" }
        } else if asked.starts_with("where do you go on?") {
            "-"
        } else {
            ""
        };
        // Whoever has ended reads no more.
        let _ = writeln!(to, "{answer}").and_then(|()| to.flush());
    }
    assert!(child.wait().unwrap().success());
    let kept = kept(data.path());
    (printed, kept)
}

fn verdict(cut: usize) -> &'static str {
    if pairs_hold(cut, 0) { "s" } else { "m" }
}

/// The cards of a row that was printed last, by their signs.
fn row(printed: &str, what: &str) -> Vec<String> {
    let line = printed
        .lines()
        .rev()
        .find(|line| line.starts_with(what))
        .unwrap();
    line[what.len()..]
        .split_whitespace()
        .map(str::to_owned)
        .collect()
}

/// A seed whose rehearsal has a cut that the performer mends in their own way.
fn mended() -> (u64, String, Vec<Value>) {
    (1..80)
        .find_map(|seed| {
            let (printed, kept) = in_lines(seed, true, OWN_MEND);
            let own = kept.iter().any(|answer| answer["answer"] == OWN_MEND);
            own.then_some((seed, printed, kept))
        })
        .unwrap()
}

#[test]
fn a_mend_of_ones_own_is_right_line_by_line_and_on_the_screen_with_sound_and_without() {
    // What is known of pairs: an even cut is safe, an odd one is not, and one card from bottom to top mends it.
    for cut in 1..8 {
        assert_eq!(pairs_hold(cut, 0), cut % 2 == 0);
        // Of eight cards seven singles to the bottom are one from bottom to top.
        for singles in [1, 3, 7] {
            assert_eq!(pairs_hold(cut, singles), cut % 2 == 1);
        }
    }
    let (seed, printed, muted) = mended();
    let answers = |kind: &str| -> Vec<&Value> {
        let known = |answer: &&Value| answer["kind"] == kind && answer["answer"] != "-";
        muted.iter().filter(known).collect()
    };
    for answer in answers("verdict").into_iter().chain(answers("mend")) {
        assert_eq!(answer["right"], true, "{answer}\n{printed}");
        assert_eq!(answer["drill"], "rescue");
        assert_eq!(answer["detail"], "cuts-again");
    }
    assert_eq!(answers("mend").len(), 1, "{printed}");
    for wanted in [
        "\nstray: cuts-again\n",
        "Safe now, on",
        "\nbefore: the packet: ",
        "\nafter: the packet: ",
        "\nthen: the packet: ",
        "The ending came true.",
        "right. kept.",
        "summary: ",
    ] {
        assert!(printed.contains(wanted), "{wanted}\n{printed}");
    }
    // The packet is mended as keyed: the bottom card has come to the top.
    let mut after = row(&printed, "after: the packet: ");
    after.rotate_right(1);
    assert_eq!(after, row(&printed, "then: the packet: "));
    // So do three cards one by one, and two do not.
    for (keyed, right) in [(THREE_SINGLES, true), (TWO_SINGLES, false)] {
        let (printed, kept) = in_lines(seed, true, keyed);
        let answer = kept.iter().find(|answer| answer["answer"] == keyed);
        assert_eq!(answer.unwrap()["right"], right, "{printed}");
    }
    let (_, aloud) = in_lines(seed, false, OWN_MEND);
    assert_eq!(what(&muted), what(&aloud));
    for (width, height) in [(80, 24), (120, 40)] {
        let mut show = on_the_train(width, height, seed);
        let summary = rehearse(&mut show, OWN_MEND);
        assert!(summary.contains(" right"), "{summary}");
        assert_eq!(what(&show.kept()), what(&muted));
        show.press("q");
        assert_eq!(show.end(), 0);
    }
}

/// A rehearsal of two strays on the train, on a screen of this size.
fn on_the_train(width: u16, height: u16, seed: u64) -> Show {
    let seed = seed.to_string();
    let mut arguments = vec!["rehearse", TRAIN, "--drill", "rescue"];
    arguments.extend(["--questions", "2", "--mute", "--seed", &seed]);
    Show::open(width, height, &arguments, NOWHERE)
}

#[test]
fn what_works_on_the_cards_that_lie_there_by_luck_alone_is_a_miss() {
    let (seed, printed, muted) = (1..200)
        .map(|seed| {
            let (printed, kept) = in_lines(seed, true, NOTHING);
            (seed, printed, kept)
        })
        .find(|(_, printed, _)| printed.contains("That is luck."))
        .unwrap();
    // Every pair of the packet that lies there holds both colours, and not every packet that could lie there does.
    let red = |card: &String| card.contains('\u{2665}') || card.contains('\u{2666}');
    let packet = row(&printed, "after: the packet: ");
    assert_eq!(packet.len(), 8, "{printed}");
    let well = |pair: &[String]| red(&pair[0]) != red(&pair[1]);
    assert!(packet.chunks(2).all(well), "{printed}");
    let mend = muted
        .iter()
        .find(|answer| answer["kind"] == "mend")
        .unwrap();
    assert_eq!(mend["answer"], NOTHING);
    assert_eq!(mend["right"], false, "{printed}");
    let mut show = on_the_train(80, 24, seed);
    rehearse(&mut show, NOTHING);
    assert_eq!(what(&show.kept()), what(&muted));
    show.press("q");
    assert_eq!(show.end(), 0);
}

/// Rehearses to the summary, from what is on the screen alone, and keys this to mend a cut that was seen.
fn rehearse(show: &mut Show, mend: &str) -> String {
    let until = Instant::now() + PATIENCE * 3;
    let mut cut = None;
    loop {
        let text = show.text();
        if in_summary(&text) {
            return text;
        }
        assert!(Instant::now() < until, "it never ends:\n{text}");
        let foot = show.foot();
        let keys = if foot.contains("s m o l the answer") {
            cut = seen_cut(&text);
            cut.map_or("-", verdict).to_owned()
        } else if text.contains("What makes it safe? Key what you do.") {
            format!("{}\r", if cut.is_some() { mend } else { "-" })
        } else if text.contains("At which step do you go on?") {
            "-\r".to_owned()
        } else if foot.contains("any key") || foot.contains("enter go on") {
            "\r".to_owned()
        } else {
            std::thread::sleep(Duration::from_millis(5));
            continue;
        };
        show.press(&keys);
        let _ = show.changed(&text);
    }
}

#[test]
fn an_evening_with_a_rescue_begins_from_the_foyer() {
    let mut show = Show::open(80, 24, &[], NOWHERE);
    let foyer = show.wait("the foyer", in_foyer);
    show.press("?");
    let help = show.wait("the help", |text| text.contains("put this away"));
    assert!(
        help.contains("when somebody does something odd"),
        "{foyer}\n{help}"
    );
    show.press("?");
    show.wait("the foyer again", in_foyer);
    show.press("o");
    show.wait("the drill", |text| {
        text.lines()
            .next()
            .is_some_and(|head| head.ends_with("rescue"))
    });
    show.press("\x1b");
    show.wait("the summary", in_summary);
    show.press("\r");
    show.wait("the foyer after it", in_foyer);
    show.press("q");
    assert_eq!(show.end(), 0);
}

#[test]
fn every_drill_begins_at_any_step_line_by_line() {
    for drill in ["picture", "lines", "hands", "dress", "rescue"] {
        let data = tempfile::tempdir().unwrap();
        let printed = begun(data.path(), drill, "push");
        assert!(
            printed.contains("The number they named: "),
            "{drill}:\n{printed}"
        );
    }
}

/// What is printed of a rehearsal from this step on, nothing answered.
fn begun(data: &Path, drill: &str, from: &str) -> String {
    let mut child = Command::new(env!("CARGO_BIN_EXE_allroads"))
        .args([
            "rehearse", TRAIN, "--plain", "--mute", "--drill", drill, "--from", from, "--seed", "3",
        ])
        .arg("--data")
        .arg(data)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut to = child.stdin.take().unwrap();
    let _ = to.write_all(b"\n\n");
    drop(to);
    let output = child.wait_with_output().unwrap();
    let printed = String::from_utf8(output.stdout).unwrap();
    assert!(output.status.success(), "{printed}");
    printed
}
