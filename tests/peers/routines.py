"""Writes the problems as plain routine files.

    routines.py riffle CARDS
    routines.py cut-and-turn CARDS [ROUNDS]
    routines.py twenty-seven
"""

import sys

VALUES = "A23456789TJQK"


def listed(cards):
    return f'cards:\n  packet: {{list: "{" ".join(cards)}"}}'


def custom(faces, colour_of):
    """Faces of our own, where a pack has too few cards."""
    lines = ["cards:", "  faces:"]
    for face in faces:
        lines.append(f"    {face}: {{name: {face}, traits: {{colour: {colour_of(face)}}}}}")
    return "\n".join(lines + [f'  packet: {{list: "{" ".join(faces)}"}}'])


def routine(title, cards, piles, steps):
    piles = f"piles: [{', '.join(piles)}]\n" if piles else ""
    return f"""allroads: 1
title: {title}
blurb: One of the problems that other means were put to as well.
principle: The claims say it.
lang: en-GB
{cards}
{piles}steps:
{steps.strip(chr(10))}
finale:
  id: end
  title: End
  say: That is all.
"""


def riffle(count):
    """The alternating packet: any number dealt off, the two parts riffled in any way, every pair one of each colour."""
    if count <= 52:
        reds = [value + suit for suit in "HD" for value in VALUES]
        blacks = [value + suit for suit in "CS" for value in VALUES]
        cards = listed([(reds, blacks)[n % 2][n // 2] for n in range(count)])
    else:
        faces = ["rb"[n % 2] + str(n // 2 + 1) for n in range(count)]
        cards = custom(faces, lambda face: {"r": "red", "b": "black"}[face[0]])
    steps = f"""
  - id: deal
    title: Deal off any number
    say: "{{n}} of them, one by one."
    fork: {{name: n, says: "{{n}}.", number: {{from: 0, to: {count}}}}}
    do:
      - deal: {{from: packet, to: [dealt], count: n}}
  - id: riffle
    title: Riffle
    say: Riffle them together.
    fork: {{name: weave, says: "So.", seen: nothing, riffle: {{left: dealt, right: packet}}}}
    do:
      - riffle: {{left: dealt, right: packet, to: packet, by: weave}}
    claims:
      - says: every pair holds one of each colour
        blocks: {{pile: packet, of: 2, trait: colour}}
"""
    return routine(f"Deal and riffle {count}", cards, ["dealt"], steps)


def cut_and_turn(count, rounds=None):
    """Cut anywhere, turn the top two over as a block: as many face up at odd places as at even ones."""
    if count <= 52:
        cards = listed([value + suit for suit in "CHSD" for value in VALUES][:count])
    else:
        cards = custom([f"x{n + 1}" for n in range(count)], lambda face: "grey")
    at_most = f"      at-most: {rounds}\n" if rounds else ""
    steps = f"""
  - again:
      name: rounds
      says: Once more?
{at_most}      steps:
        - id: cut
          title: Cut
          say: Cut anywhere.
          fork: {{name: off, says: "There.", seen: nothing, cut: {{pile: packet, least: 0}}}}
          do:
            - cut: {{pile: packet, at: off}}
        - id: turn
          title: Turn two
          say: The top two, together.
          do:
            - turn: {{pile: packet, count: 2}}
          claims:
            - says: as many show at odd places as at even ones
              expr: showing_odd(packet) == showing_even(packet)
"""
    return routine(f"Cut and turn {count}", cards, [], steps)


def twenty_seven():
    """Any of twenty-seven cards, any number: three times dealt into three piles and gathered, it lies at the number."""
    cards = listed([value + suit for suit in "CHS" for value in VALUES[:9]])
    steps = """
  - id: number
    title: A number
    say: "Name a number from one to twenty-seven: {named}."
    fork: {name: named, says: "{named}.", number: {from: 1, to: 27}}
  - id: think
    title: A card
    say: Think of a card.
    fork: {name: theirs, says: "I have one.", seen: nothing, card: packet}
"""
    for n, above in enumerate(["(named - 1) % 3", "(named - 1) / 3 % 3", "(named - 1) / 9"], start=1):
        steps += f"""
  - id: deal-{n}
    title: Deal three piles
    say: Which pile is it in?
    do:
      - deal: {{from: packet, to: [left, middle, right], count: 27, face: up}}
    reply: {{name: pile_{n}, asks: "Which pile?", is: pile_of(theirs)}}
  - id: gather-{n}
    title: Gather
    say: Back together, {{pile_{n}}} where it belongs.
    do:
      - turn: left
      - turn: middle
      - turn: right
      - gather: {{by: "with_pile_at([left, middle, right], pile_{n}, {above} + 1)", onto: packet}}
"""
    steps += """    claims:
      - says: their card lies at their number
        place: {card: theirs, pile: packet, is: named}
"""
    return routine("Twenty-seven cards", cards, ["left", "middle", "right"], steps)


PROBLEMS = {"riffle": riffle, "cut-and-turn": cut_and_turn, "twenty-seven": twenty_seven}

if __name__ == "__main__":
    problem, *sizes = sys.argv[1:]
    print(PROBLEMS[problem](*map(int, sizes)), end="")
