//! Routine files of the problems that the prover is held against, at any size.

/// A routine file with these cards, further piles, steps and claims at the end.
pub fn file(cards: &str, piles: &str, steps: &str, claims: &str) -> String {
    format!(
        "allroads: 1\ntitle: Held against the world outside\ncards:\n{cards}\npiles: [{piles}]\nsteps:\n{steps}finale:\n  id: end\n  claims: {claims}\n"
    )
}

/// So many different cards from the top, suit by suit; of faces made for it where a pack has no more.
pub fn any_cards(n: usize) -> String {
    if n > 52 {
        return of_own_faces(n);
    }
    let suits = ["C", "H", "S", "D"];
    let values = [
        "A", "2", "3", "4", "5", "6", "7", "8", "9", "T", "J", "Q", "K",
    ];
    let all = suits
        .iter()
        .flat_map(|suit| values.iter().map(move |value| format!("{value}{suit}")));
    let cards: Vec<String> = all.take(n).collect();
    format!("  packet: {{list: \"{}\"}}", cards.join(" "))
}

/// Colours that alternate, from an ordinary pack, or from a pack of faces made for it.
pub fn alternating(n: usize) -> String {
    if n > 52 {
        return of_own_faces(n);
    }
    let card = |at: usize| {
        let value = [
            "A", "2", "3", "4", "5", "6", "7", "8", "9", "T", "J", "Q", "K",
        ][at / 4];
        let suit = ["H", "C", "D", "S"][at % 4];
        format!("{value}{suit}")
    };
    let cards: Vec<String> = (0..n).map(card).collect();
    format!("  packet: {{list: \"{}\"}}", cards.join(" "))
}

fn of_own_faces(n: usize) -> String {
    let mut faces = String::from("  faces:\n");
    let mut cards = Vec::new();
    for at in 0..n {
        let colour = ["red", "black"][at % 2];
        faces += &format!("    p{at}: {{name: picture {at}, traits: {{colour: {colour}}}}}\n");
        cards.push(format!("p{at}"));
    }
    format!("{faces}  packet: {{list: \"{}\"}}", cards.join(" "))
}

/// What is done: before the deal, with the deal, and after the riffle; and what is claimed.
pub struct Handling<'a> {
    /// Moves before the deal.
    pub before: &'a str,
    /// How some are taken off.
    pub take: &'a str,
    /// Moves after the riffle.
    pub after: &'a str,
    /// Claims at the end.
    pub claims: &'a str,
}

/// Dealt one by one, each onto the last.
pub const DEAL: &str = "deal: {from: packet, to: [dealt], count: off}";
/// Every two cards differ in colour.
pub const PAIRS: &str = "[{blocks: {pile: packet, of: 2, trait: colour}}]";

/// A deal and a riffle, and nothing else.
pub const PLAIN: Handling<'_> = Handling {
    before: "",
    take: DEAL,
    after: "",
    claims: PAIRS,
};

/// Some are taken off, and riffled back.
pub fn riffled(cards: &str, n: usize, handling: &Handling<'_>) -> String {
    let Handling {
        before,
        take,
        after,
        claims,
    } = handling;
    let steps = format!(
        "  - id: before\n    do: [{before}]\n  - id: off\n    fork: {{name: off, says: '{{off}}', number: {{from: 0, to: {n}}}}}\n    do: [{{{take}}}]\n  - id: push\n    fork: {{name: mix, seen: nothing, riffle: {{left: dealt, right: packet}}}}\n    do: [{{riffle: {{left: dealt, right: packet, to: packet, by: mix}}}}]\n  - id: after\n    do: [{after}]\n"
    );
    file(cards, "dealt", &steps, claims)
}

/// Place i and the place half a packet further differ in colour.
pub fn half_apart(n: usize) -> String {
    let pairs: Vec<String> = (1..=n / 2)
        .map(|i| {
            let j = i + n / 2;
            format!("{{expr: 'colour(card(packet, {i})) != colour(card(packet, {j}))'}}")
        })
        .collect();
    format!("[{{and: [{}]}}]", pairs.join(", "))
}

/// B. Hummer 1946; Diaconis & Graham, Magical Mathematics, chapter 1: as many face up at even places as at odd.
pub const BALANCED: &str = "[{expr: showing_odd(packet) == showing_even(packet)}]";

/// Cut anywhere, turn two, as often as they like.
pub fn cut_and_turn_two(cards: &str, claims: &str) -> String {
    let steps = "  - again:\n      name: rounds\n      says: Once more?\n      steps:\n        - id: cut\n          fork: {name: off, seen: nothing, cut: {pile: packet, least: 0}}\n          do: [{cut: {pile: packet, at: off}}, {turn: {pile: packet, count: 2}}]\n";
    format!(
        "allroads: 1\ntitle: Cut and turn two\ncards:\n{cards}\nsteps:\n{steps}finale:\n  id: end\n  claims: {claims}\n"
    )
}

/// A spectator thinks of a card and names a number; three deals, each time a reply. `digits`: how many piles go on top of theirs,
/// each time. Dealt face up, every pile is turned over; dealt face down, it is not.
pub fn three_deals(face_up: bool, digits: [&str; 3]) -> String {
    let mut steps = String::from(
        "  - id: number\n    fork: {name: number, says: '{number}', number: {from: 1, to: 27}}\n  - id: think\n    fork: {name: theirs, seen: nothing, card: packet}\n",
    );
    for (round, digit) in (1..).zip(digits) {
        let (face, turned) = if face_up {
            ("up", "{turn: a}, {turn: b}, {turn: c}, ")
        } else {
            ("down", "")
        };
        steps += &format!(
            "  - id: deal{round}\n    do: [{{deal: {{from: packet, to: [a, b, c], face: {face}}}}}]\n    reply: {{name: heap{round}, asks: Which pile?, is: pile_of(theirs)}}\n  - id: gather{round}\n    reckon: [{{name: above{round}, is: {digit}, asks: How many on top?}}]\n    do: [{turned}{{gather: {{by: 'with_pile_at([a, b, c], heap{round}, above{round} + 1)', onto: packet}}}}]\n"
        );
    }
    file(
        &any_cards(27),
        "a, b, c",
        &steps,
        "[{place: {card: theirs, pile: packet, is: number}}]",
    )
}

/// Gergonne 1813; Ball & Coxeter; Gardner, Mathematics, Magic and Mystery (1956): dealt face up and turned, a + 3b + 9c.
pub const DIGITS: [&str; 3] = [
    "(number - 1) % 3",
    "(number - 1) / 3 % 3",
    "(number - 1) / 9",
];
