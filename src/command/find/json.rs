//! `find --json`: one object.
//!
//! `{"routine","file","trait","classes":[{"sign","class","cards"}],"of","found","complete","patterns":[{"pattern":{PILE:"R B"},
//! "ways","others":[{PILE:"B R"}]}],"undecided","proved","refuted","moves","places","cut","seconds"}`
//!
//! * `classes`: the signs of the patterns, what they mean, and how many cards of each there are (null: as many as one likes);
//! * `of`: how many patterns were asked about, `found`: how many work, both decimal strings; `complete`: whether these are all;
//! * `patterns`: by pile, from the top, as a file's `pattern:` takes them; `ways`: in how many ways real cards can fill it, a decimal
//!   string; `others`: patterns that work too and differ only by an exchange of classes or by being read from the bottom (or cut, where
//!   that was asked for); none with `--all`;
//! * `undecided`: how many patterns could not be decided; `proved` and `refuted`: how many patterns were judged, null with
//!   `--survives`; `moves`: how many different moves were followed, and `places`: which places exchange their cards, from 1, both null
//!   without it;
//! * `cut`: what ended it early (`time`, `memory`, `asked`, or null); `seconds`: how long it took.

use super::signs::{patterns, signs};
use super::{How, Report};
use crate::command::lasting::Cut;
use crate::command::walk::ByName;
use serde::Serialize;

/// What was found.
#[derive(Serialize)]
pub(super) struct FindJson<'a> {
    routine: &'a str,
    file: &'a str,
    #[serde(rename = "trait")]
    by: &'a str,
    classes: Vec<ClassJson<'a>>,
    of: String,
    found: String,
    complete: bool,
    patterns: Vec<PatternJson<'a>>,
    undecided: usize,
    proved: Option<u64>,
    refuted: Option<u64>,
    moves: Option<usize>,
    places: Option<Vec<Vec<usize>>>,
    cut: Option<&'static str>,
    seconds: f64,
}

#[derive(Serialize)]
struct ClassJson<'a> {
    sign: String,
    class: &'a str,
    cards: Option<usize>,
}

#[derive(Serialize)]
struct PatternJson<'a> {
    pattern: ByName<'a, String>,
    ways: String,
    others: Vec<ByName<'a, String>>,
}

impl<'a> FindJson<'a> {
    /// Of a report.
    pub(super) fn of(report: &'a Report<'_>) -> Self {
        let canvas = report.canvas;
        let signs = signs(canvas);
        let written = |pattern: &[u8]| ByName(patterns(canvas, &signs, pattern));
        let found = &report.found;
        let (proved, refuted, moves, places) = match &found.how {
            How::Proved(tally) => (Some(tally.proved), Some(tally.refuted), None, None),
            How::Moved { moves, orbits, .. } => {
                let places = orbits
                    .iter()
                    .filter(|orbit| orbit.len() > 1)
                    .map(|orbit| orbit.iter().map(|cell| cell + 1).collect())
                    .collect();
                (None, None, Some(moves.turns.len()), Some(places))
            }
        };
        Self {
            routine: &canvas.routine().title,
            file: &report.source.origin,
            by: canvas.routine().pack.trait_name(canvas.class),
            classes: signs
                .iter()
                .zip(&canvas.kinds)
                .map(|(sign, kind)| ClassJson {
                    sign: sign.clone(),
                    class: &kind.label,
                    cards: kind.stock,
                })
                .collect(),
            of: report.of.to_string(),
            found: found
                .count
                .as_ref()
                .map_or_else(|| found.patterns.len().to_string(), ToString::to_string),
            complete: found.complete,
            patterns: report
                .groups
                .iter()
                .map(|group| PatternJson {
                    pattern: written(&group.first),
                    ways: canvas.ways(&group.first).to_string(),
                    others: group.others.iter().map(|other| written(other)).collect(),
                })
                .collect(),
            undecided: found.undecided,
            proved,
            refuted,
            moves,
            places,
            cut: report.cut.map(Cut::word),
            seconds: report.seconds,
        }
    }
}
