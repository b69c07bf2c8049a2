//! Routine files thrown together by dice: cards, forks, moves and claims, most of them without rhyme or reason.

use allroads::roads::Draw;
use std::collections::BTreeMap;
use std::fmt::Write;

/// A file, with claims still to be chosen from.
pub struct File {
    text: String,
    /// By the id of their step, each step's claims in order.
    pub claims: BTreeMap<String, Vec<String>>,
}

impl File {
    /// The text of the file.
    pub fn text(&self) -> String {
        let mut text = self.text.clone();
        for (step, claims) in &self.claims {
            let claims = claims.join(", ");
            text = text.replace(&format!("@{step}@"), &claims);
        }
        text
    }
}

/// A file being written.
struct Dice {
    claims: BTreeMap<String, Vec<String>>,
    /// How many claims a step may make.
    most_claims: u64,
    draw: Draw,
    /// How many cards lie in the packet before each step.
    cards: u64,
    /// Whether their order is unknown.
    shuffled: bool,
    /// How many roads there are at most, so far.
    roads: u64,
    /// A choice of a card made so far, if any.
    chosen: Option<String>,
    /// Numbers chosen or worked out so far.
    numbers: Vec<String>,
    /// Every name so far: the patter of the ending says them all, so that each is of some use.
    names: Vec<String>,
}

/// At most so many roads, so that all can be walked.
const MOST_ROADS: u64 = 400;

/// The file with this number; the same for the same number.
pub fn file(number: u64) -> File {
    let mut dice = Dice {
        claims: BTreeMap::new(),
        // Where the dice are to be heeded less, there is more to choose from.
        most_claims: 2 + number % 2 * 6,
        draw: Draw::for_step(number, "made-up-proof", 1),
        cards: 0,
        shuffled: false,
        roads: 1,
        chosen: None,
        numbers: Vec::new(),
        names: Vec::new(),
    };
    let packet = dice.packet();
    let mut text = format!(
        "allroads: 1\ntitle: Made up {number}\ncards:\n  packet: {packet}\npiles: [left, right, spare]\nsteps:\n  - id: square\n    do: [{{gather: {{piles: [left, right, spare, packet], onto: packet}}}}]\n"
    );
    for n in 0..2 + dice.below(3) {
        let again = n > 0 && dice.below(6) == 0 && dice.roads < 12;
        if again {
            let weights = dice.weights(2);
            let _ = writeln!(
                text,
                "  - again:\n      name: rounds{n}\n      says: Once more?\n      at-most: 2\n{weights}      steps:"
            );
            let before = dice.roads;
            let step = dice.step(n);
            for line in step.lines() {
                let _ = writeln!(text, "      {line}");
            }
            // Once, or once more.
            dice.roads += before * (dice.roads / before).pow(2);
        } else {
            text += &dice.step(n);
        }
    }
    let claims = dice.claims("ending");
    let said: Vec<String> = dice
        .names
        .iter()
        .map(|name| format!("{{{name}}}"))
        .collect();
    let _ = write!(
        text,
        "finale:\n  id: ending\n  say: \"Said {}.\"\n  {}",
        said.join(" "),
        claims.trim_start()
    );
    if let Some(number) = dice
        .numbers
        .first()
        .filter(|_| number.is_multiple_of(4))
        .cloned()
    {
        let claims = dice.claims("out");
        let _ = write!(
            text,
            "outs:\n  - id: out\n    when: {number} == 1\n{claims}"
        );
    }
    File {
        text,
        claims: dice.claims,
    }
}

/// A file in which a part with a choice or two is gone through as often as they like, and the claims are of the kind that such parts
/// may keep.
pub fn rounds(number: u64) -> String {
    let mut draw = Draw::for_step(number, "made-up-rounds", 1);
    let mut one_of = |of: &[&str]| -> String {
        let at = draw.below(of.len() as u64);
        of[usize::try_from(at).expect("small")].to_owned()
    };
    let cards = one_of(&[
        "AC 2H 3S 4D",
        "AC 2H^ 3S 4D^",
        "AC 2H^ 3S 4D",
        "AC 2H 2D AS",
        "AC 2H 3S",
    ]);
    let (fork, first) = match one_of(&["cut", "cut", "option", "number", "none"]).as_str() {
        "cut" => (
            "fork: {name: c, seen: nothing, cut: {pile: packet, least: 0}}",
            "cut: {pile: packet, at: c}",
        ),
        "option" => (
            "fork: {name: c, option: [kind, cruel]}",
            "when: {is: 'c == \"kind\"', do: [{reverse: packet}], else: [{cut: {pile: packet, at: 2}}]}",
        ),
        "number" => (
            "fork: {name: c, number: {from: 1, to: 4, by: 1}}",
            "count: {from: packet, to: packet, count: c, put: bottom}",
        ),
        _ => ("say: Nobody chooses here.", "cut: {pile: packet, at: 2}"),
    };
    let mut second = || {
        one_of(&[
            "turn: {pile: packet, count: 2}",
            "turn: {pile: packet, count: 4}",
            "turn: {pile: packet, count: 1}",
            "turn: packet",
            "reverse: packet",
            "klondike: packet",
            "inverse-faro: {pile: packet, top: evens}",
            "swap: {pile: packet, a: 1, b: 3}",
            "cut: {pile: packet, at: 2}",
            "when: {is: 'up(packet, 1)', do: [{turn: {pile: packet, count: 2}}]}",
        ])
    };
    let (second, third) = (second(), second());
    let claims = [
        "{expr: showing_odd(packet) == showing_even(packet)}",
        "{expr: showing(packet) % 2 == 0}",
        "{blocks: {pile: packet, of: 2, trait: colour}}",
        "{mirror: {pile: packet, by: mates}}",
        "{mirror: {pile: packet, by: colour}}",
        "{same-as-start: {pile: packet, up-to: [rotation, reversal]}}",
        "{same-as-start: {pile: packet, trait: colour, up-to: [rotation]}}",
        "{expr: 'colour(card(packet, 1)) != colour(card(packet, 2))'}",
        "{expr: 'up(packet, 1) == up(packet, 2)'}",
        "{count: {piles: [packet], class: red, up: true, is: 0}}",
    ];
    let inside = match one_of(&["yes", "no"]).as_str() {
        "yes" => format!("          claims: [{}]\n", one_of(&claims)),
        _ => String::new(),
    };
    let (one, other) = (one_of(&claims), one_of(&claims));
    format!(
        "allroads: 1\ntitle: Made up rounds {number}\ncards:\n  packet: {{list: \"{cards}\"}}\nsteps:\n  - again:\n      name: rounds\n      says: Once more?\n      steps:\n        - id: round\n          {fork}\n          do: [{{{first}}}, {{{second}}}, {{{third}}}]\n{inside}finale:\n  id: ending\n  claims: [{one}, {other}]\n"
    )
}

const VALUES: [&str; 9] = ["A", "2", "3", "4", "5", "6", "7", "8", "9"];

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.draw.below(n)
    }

    fn one_of(&mut self, of: &[&str]) -> String {
        let at = self.below(of.len() as u64);
        of[usize::try_from(at).expect("small")].to_owned()
    }

    fn packet(&mut self) -> String {
        let mut faces: Vec<String> = ["C", "H", "S", "D"]
            .iter()
            .flat_map(|suit| VALUES.iter().map(move |value| format!("{value}{suit}")))
            .collect();
        self.draw.shuffle(&mut faces);
        match self.below(6) {
            0 => {
                self.shuffled = true;
                self.cards = 3 + self.below(2);
                self.roads = 24;
                faces.truncate(usize::try_from(self.cards).expect("small"));
                format!("{{shuffled: \"{}\"}}", faces.join(" "))
            }
            1 => {
                self.cards = 4;
                "{pattern: \"R B R B\", where: {R: red, B: black}}".to_owned()
            }
            2 => {
                self.cards = 4;
                "{list: \"AC 2H 2D AS\"}".to_owned()
            }
            _ => {
                self.cards = 4 + self.below(3);
                faces.truncate(usize::try_from(self.cards).expect("small"));
                for face in &mut faces {
                    if self.draw.below(4) == 0 {
                        face.push('^');
                    }
                }
                format!("{{list: \"{}\"}}", faces.join(" "))
            }
        }
    }

    /// Weights for a fork of so many branches, a line of their own or none; none of them is 0.
    fn weights(&mut self, branches: u64) -> String {
        if self.below(3) > 0 {
            return String::new();
        }
        let weights: Vec<String> = (0..branches)
            .map(|_| (1 + self.below(4)).to_string())
            .collect();
        format!("      weights: [{}]\n", weights.join(", "))
    }

    /// Whether a fork with so many branches may still come.
    fn room(&mut self, branches: u64) -> bool {
        let room = self.roads * branches <= MOST_ROADS;
        if room {
            self.roads *= branches;
        }
        room
    }

    fn fork(&mut self, name: &str, branches: u64, kind: &str) -> String {
        self.names.push(name.to_owned());
        let weights = self.weights(branches);
        let seen = self.one_of(&["all", "nothing"]);
        format!("    fork:\n      name: {name}\n      seen: {seen}\n{weights}      {kind}\n")
    }

    /// One step. The packet holds all cards again after it, but for slips of the dice.
    fn step(&mut self, n: u64) -> String {
        let mut text = format!("  - id: step{n}\n");
        let (fork, acts, name) = self.handling(n);
        text += &fork;
        if let Some(name) = name
            && self.below(2) == 0
        {
            let _ = writeln!(
                text,
                "    reckon: [{{name: worked{n}, is: \"{name} % 2 + {}\"}}]",
                self.below(2)
            );
            self.numbers.push(format!("worked{n}"));
            self.names.push(format!("worked{n}"));
        }
        let mut acts = acts;
        if self.below(3) == 0 {
            acts.push(self.fixed_move());
        }
        if !acts.is_empty() {
            text += "    do:\n";
            for act in acts {
                let _ = writeln!(text, "      - {act}");
            }
        }
        if let Some(card) = self.chosen.clone()
            && self.below(4) == 0
        {
            let _ = writeln!(
                text,
                "    reply: {{name: told{n}, asks: Where is it?, is: place({card})}}"
            );
            self.numbers.push(format!("told{n}"));
            self.names.push(format!("told{n}"));
        }
        if self.below(3) == 0 {
            text += "    sees: [{card: {pile: packet, at: 1}}]\n";
        }
        if self.below(3) == 0 {
            // A riffle is a step of its own, after the one that takes some off.
            let riffle = format!("riffle{n}");
            let own = if text.contains(&riffle) {
                riffle
            } else {
                format!("step{n}")
            };
            text += &self.claims(&own);
        }
        text
    }

    /// A fork or none, moves that heed it, and its name where it is a number.
    fn handling(&mut self, n: u64) -> (String, Vec<String>, Option<String>) {
        let name = format!("c{n}");
        let cards = self.cards;
        let none = (String::new(), vec![self.fixed_move()], None);
        match self.below(14) {
            0 => {
                let most = 2 + self.below(2);
                if !self.room(most) {
                    return none;
                }
                let fork = self.fork(&name, most, &format!("number: {{from: 1, to: {most}}}"));
                let act = self.one_of(&[
                    "cut: {pile: packet, at: N}",
                    "count: {from: packet, to: packet, count: N, put: bottom}",
                    "turn: {pile: packet, count: N}",
                    "repeat: {times: N, do: [{cut: {pile: packet, at: 1}}, {turn: {pile: packet, count: 2}}]}",
                    "swap: {pile: packet, a: 1, b: N + 1}",
                    "chain: {pile: packet, from: N, court: 2, name: reachedN}",
                ]);
                let act = act
                    .replace("reachedN", &format!("reached{n}"))
                    .replace('N', &name);
                self.numbers.push(name.clone());
                (fork, vec![act], Some(name))
            }
            1 => {
                if !self.room(cards - 1) {
                    return none;
                }
                let fork = self.fork(&name, cards - 1, "cut: {pile: packet, least: 1}");
                (
                    fork,
                    vec![format!("cut: {{pile: packet, at: {name}}}")],
                    None,
                )
            }
            2 => {
                let branches = cards * (cards - 1) / 2;
                if !self.room(branches) {
                    return none;
                }
                let fork = self.fork(&name, branches, "cards: {pile: packet, count: 2}");
                (
                    fork,
                    vec![format!("turn-each: {{pile: packet, by: {name}}}")],
                    None,
                )
            }
            3 => {
                // Some are dealt or lifted off first, by a step of their own kind: here always two.
                let branches = cards * (cards - 1) / 2;
                if !self.room(branches) {
                    return none;
                }
                let off = self.one_of(&["count", "move"]);
                let first = format!(
                    "    do: [{{{off}: {{from: packet, to: left, count: 2}}}}]\n  - id: riffle{n}\n"
                );
                let fork = self.fork(&name, branches, "riffle: {left: left, right: packet}");
                let act = format!("riffle: {{left: left, right: packet, to: packet, by: {name}}}");
                (first + &fork, vec![act], None)
            }
            4 | 5 => {
                if !self.room(2) {
                    return none;
                }
                let fork = self.fork(&name, 2, "option: [kind, cruel]");
                let (one, other) = (self.fixed_move(), self.fixed_move());
                let act = format!(
                    "when: {{is: '{name} == \"kind\"', do: [{{{one}}}], else: [{{{other}}}]}}"
                );
                (fork, vec![act], None)
            }
            6 => {
                if !self.room(cards) {
                    return none;
                }
                let fork = self.fork(&name, cards, "place: packet");
                let put = 1 + self.below(2);
                let acts = vec![
                    format!("take: {{from: packet, at: {name}, to: spare}}"),
                    format!("put: {{from: spare, to: packet, at: {put}}}"),
                ];
                self.numbers.push(name.clone());
                (fork, acts, Some(name))
            }
            7 => {
                let branches = 1 << (cards - 1);
                if !self.room(branches) {
                    return none;
                }
                let fork = self.fork(&name, branches, "overhand: packet");
                (
                    fork,
                    vec![format!("overhand: {{pile: packet, by: {name}}}")],
                    None,
                )
            }
            8 => {
                if !self.room(6) {
                    return none;
                }
                let fork = self.fork(&name, 6, "pile-order: [left, right, spare]");
                let face = self.one_of(&["up", "down", "as-is"]);
                let acts = vec![
                    format!("deal: {{from: packet, to: [left, right, spare], face: {face}}}"),
                    format!("gather: {{by: {name}, onto: packet}}"),
                ];
                (fork, acts, None)
            }
            9 => {
                if !self.room(2) {
                    return none;
                }
                let fork = self.fork(&name, 2, "pile: [left, right]");
                let acts = vec![
                    "deal: {from: packet, to: [left, right]}".to_owned(),
                    format!(
                        "gather: {{by: \"with_pile_at([left, right], {name}, 1)\", onto: packet}}"
                    ),
                ];
                (fork, acts, None)
            }
            10 | 11 => {
                if self.chosen.is_some() || !self.room(cards) {
                    return none;
                }
                self.chosen = Some(name.clone());
                let fork = self.fork(&name, cards, "card: packet");
                let act = self.one_of(&[
                    "cut: {pile: packet, at: place(N)}",
                    "when: {is: 'colour(N) == \"red\"', do: [{reverse: packet}]}",
                    "when: {is: 'value(N) > 4', do: [{cut: {pile: packet, at: 1}}], else: [{turn: packet}]}",
                ]);
                (fork, vec![act.replace('N', &name)], None)
            }
            _ => none,
        }
    }

    /// A move without a choice; now and then one that cannot always be done.
    fn fixed_move(&mut self) -> String {
        let acts = [
            "klondike: packet",
            "monge: {pile: packet, second: under}",
            "inverse-faro: {pile: packet, top: evens}",
            "reverse: packet",
            "turn: {pile: packet, count: 2}",
            "turn: packet",
            "swap: {pile: packet, a: 1, b: 3}",
            "cut: {pile: packet, at: 1}",
            "cut: {pile: packet, at: 2}",
            "turn-each: {pile: packet, at: [1]}",
            "when: {is: 'up(packet, 1)', do: [{cut: {pile: packet, at: 1}}], else: [{reverse: packet}]}",
            "when: {is: 'colour(card(packet, 1)) == \"red\"', do: [{turn: {pile: packet, count: 1}}]}",
            "cut: {pile: packet, at: 'value(card(packet, 1)) % 2'}",
            "repeat: {times: 3, do: [{move: {from: packet, to: packet, count: 1, put: bottom}}]}",
            // An odd packet cannot be woven perfectly by everybody's definition; a small one has no fifth card.
            "faro: {pile: packet, weave: out}",
            "swap: {pile: packet, a: 1, b: 5}",
            "turn: {pile: packet, count: 5}",
            "take: {from: packet, at: 'value(card(packet, 1))', to: packet}",
        ];
        let rare = self.below(8) == 0;
        let usual = acts.len() - usize::from(!rare) * 4;
        self.one_of(&acts[..usual])
    }

    fn claims(&mut self, step: &str) -> String {
        let count = 1 + self.below(self.most_claims);
        let claims = (0..count).map(|_| self.claim(true)).collect();
        self.claims.insert(step.to_owned(), claims);
        format!("    claims: [@{step}@]\n")
    }

    fn claim(&mut self, deep: bool) -> String {
        let n = self.cards;
        let place = 1 + self.below(n);
        match self.below(if deep { 20 } else { 17 }) {
            0 => format!("{{count: {{piles: [packet], is: {n}}}}}"),
            1 => "{blocks: {pile: packet, of: 2, trait: colour}}".to_owned(),
            2 => "{mirror: {pile: packet, by: colour}}".to_owned(),
            3 => "{mirror: {pile: packet, by: mates}}".to_owned(),
            4 => "{mates: packet}".to_owned(),
            5 => {
                let how =
                    self.one_of(&["", ", up-to: [rotation]", ", up-to: [rotation, reversal]"]);
                format!("{{same-as-start: {{pile: packet{how}}}}}")
            }
            6 => {
                let how = self.one_of(&["", ", up-to: [rotation]", ", up-to: [reversal]"]);
                format!("{{same-as-start: {{pile: packet, trait: colour{how}}}}}")
            }
            7 => format!(
                "{{count: {{piles: [packet], class: red, up: true, is: {}}}}}",
                self.below(3)
            ),
            8 => format!(
                "{{count: {{piles: [packet], up: false, places: odd, is: {}}}}}",
                n.div_ceil(2)
            ),
            9 => "{expr: showing_odd(packet) == showing_even(packet)}".to_owned(),
            10 => format!("{{expr: 'colour(card(packet, 1)) == colour(card(packet, {place}))'}}"),
            11 => format!("{{expr: 'value(card(packet, {place})) < 8'}}"),
            12 => format!("{{sum: {{piles: [packet], court: 10, is: {}}}}}", 10 + n),
            13 => "{all: {piles: [left, right, spare], trait: suit}}".to_owned(),
            14 | 15 => match self.chosen.clone() {
                Some(card) => format!("{{place: {{card: {card}, pile: packet, is: {place}}}}}"),
                None => "{expr: '!up(packet, 1)'}".to_owned(),
            },
            16 => match self.numbers.last().cloned() {
                Some(number) => format!("{{expr: '{number} <= 2'}}"),
                None => format!("{{expr: 'size(packet) == {n}'}}"),
            },
            17 => format!("{{not: {}}}", self.claim(false)),
            18 => format!("{{or: [{}, {}]}}", self.claim(false), self.claim(false)),
            _ => format!("{{and: [{}, {}]}}", self.claim(false), self.claim(false)),
        }
    }
}
