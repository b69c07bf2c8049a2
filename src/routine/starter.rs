//! A first routine to change into one's own.

/// A commented routine of this name, which passes every check.
#[must_use]
pub fn starter(name: &str) -> String {
    STARTER.replace("TITLE", &quoted(&title(name)))
}

/// "my-first_routine" → "My first routine"; only what can be shown.
fn title(name: &str) -> String {
    const LONGEST: usize = 60;
    let words: String = name
        .chars()
        .map(|c| if matches!(c, '-' | '_') { ' ' } else { c })
        .filter(|c| !super::check::is_harmful(*c))
        .take(LONGEST)
        .collect();
    let mut letters = words.trim().chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => "A new routine".to_owned(),
    }
}

/// In quotes, as YAML reads it.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

const STARTER: &str = r##"# A routine: cards, handling, patter, what they may choose, and what must be true in the end.
# Change it line by line, and ask `allroads check` after every change. Whatever follows a # is a note to yourself.

allroads: 1              # the version of this language; leave it
title: TITLE
blurb: Ten people queue for bread, they think of one of them, and you know when that one is served.
principle: Dealing a packet out one by one turns its order round, so the place from the top becomes the place from the bottom.
lang: en-GB              # or en-US, de, es, fr, it: the language of the cards' names
running-time: 2m

# Every pile that holds cards at the start, the top card first. A ^ after a card would lay it face up.
# Instead of a list: {shuffled: full}, or {pattern: "R B R B", where: {R: red, B: black}} for cards drawn to fit.
cards:
  queue: {list: "4H 9S KD 2C 8D JS 3H 6C AD QS"}

# The other piles, empty at the start.
piles: [shop, served]

steps:
  # A step has an id of its own, and whatever else it needs.
  - id: think
    title: They think of somebody
    # Patter. A name or an expression in braces is said in words.
    say: >-
      Ten people queue for bread before dawn, in the rain. Look through them, like one of them best, and tell me
      only how many places that one is from the door.
    handling: They take the packet, look through it without mixing it, and square it up again.
    # What they choose. Here: a card of a pile. Other forks: number, option, pile, pile-order, place, cards, cut,
    # riffle, overhand.
    fork:
      name: friend                     # moves, patter and claims can speak of the choice by this name
      about: the card they like best
      says: "Number {place(friend)} from the door."
      seen: ["place(friend)"]          # what you learn of it; `all` or `nothing` are the other answers
      card: queue
    # What you must work out, and how it is asked for in practice.
    reckon:
      - name: turn
        is: "11 - place(friend)"
        asks: When will that one be served?
    target: 25s
    strays: [takes the card out, shuffles the packet]

  - id: open
    title: The baker opens
    say: The baker opens, and they all push in at once. You know what that does to a queue.
    handling: Deal all ten cards one by one onto a heap.
    # What is done, one move after the other.
    do:
      - count: {from: queue, to: shop}
    # What must be true now, whatever they chose.
    claims:
      - says: the one they like waits where you reckoned
        place: {card: friend, pile: shop, is: turn}
    target: 15s
    hint: The place from the door and the place in the shop make eleven together.

finale:
  id: bread
  title: Bread for a friend
  say: >-
    I say that yours gets the loaf number {turn}. Count with me. And the last one in our count, with the warm loaf,
    would be whom? Say the name first. Then turn it over.
  handling: Deal cards off the heap face up, counting aloud, up to the number.
  do:
    - deal: {from: shop, to: [served], count: turn, face: up}
  sees:
    - card: {pile: served, at: 1}
  claims:
    - says: the card they named lies on top, face up
      and:
        - place: {card: friend, pile: served, is: 1}
        - expr: "up(served, 1)"
  target: 30s
"##;
