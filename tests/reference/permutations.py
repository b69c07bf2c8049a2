"""Writes permutations.txt, against which the fixed handling moves are compared.

    pip install "sympy==1.14.*"
    python tests/reference/permutations.py           # writes the file beside this one
    python tests/reference/permutations.py ELSEWHERE # to compare

Nothing here follows the moves' programs: each move is a formula on places or a slice of the packet,
and its order, and the size of the group that both faros make, come from SymPy. The output is the same every time.

Lines:
    move SIZE NAME order ORDER from PLACE PLACE ...   for each place from the top, the place (0-based) its card came from
    group SIZE ORDER                                  the group made by the out-faro and the in-faro
"""

import sys
from pathlib import Path

from sympy.combinatorics import Permutation, PermutationGroup

SIZES = range(2, 61)
GROUP_SIZES = range(2, 53, 2)


def from_goes_to(n, goes_to):
    """The packet after a move that sends the card at place j to place goes_to(j)."""
    packet = [None] * n
    for j in range(n):
        packet[goes_to(j)] = j
    assert None not in packet
    return packet


def out_faro(n):
    # Diaconis, Graham, Kantor 1983: j goes to 2j modulo n - 1, the last card stays; an odd packet: modulo n.
    if n % 2 == 1:
        return from_goes_to(n, lambda j: 2 * j % n)
    return from_goes_to(n, lambda j: j if j == n - 1 else 2 * j % (n - 1))


def in_faro(n):
    # The same source: j goes to 2j + 1 modulo n + 1; an odd packet: modulo n.
    modulus = n if n % 2 == 1 else n + 1
    return from_goes_to(n, lambda j: (2 * j + 1) % modulus)


def eliminated(packet, down):
    """The order in which the cards of an elimination deal are dealt, a round at a time."""
    if len(packet) <= 1:
        return packet
    dealt, rest = (packet[0::2], packet[1::2]) if down else (packet[1::2], packet[0::2])
    # After an odd number of cards the next round begins the other way.
    return dealt + eliminated(rest, down != (len(packet) % 2 == 1))


def piled(packet, piles):
    """Packets dealt card by card into piles, the first pile first."""
    return [packet[first::piles][::-1] for first in range(piles)]


def moves(n):
    """Name and resulting packet of every fixed move on n cards."""
    c = list(range(n))
    half = n // 2
    yield "out-faro", out_faro(n)
    yield "in-faro", in_faro(n)
    yield "inverse-faro-odds-on-top", c[0::2] + c[1::2]
    yield "inverse-faro-evens-on-top", c[1::2] + c[0::2]
    yield "monge-over", c[1::2][::-1] + c[0::2]
    yield "monge-under", c[0::2][::-1] + c[1::2]
    pairs = [card for i in reversed(range(half)) for card in (i, n - 1 - i)]
    yield "klondike", ([half] if n % 2 == 1 else []) + pairs
    yield "down-under", eliminated(c, True)[::-1]
    yield "under-down", eliminated(c, False)[::-1]
    yield "reverse", c[::-1]
    yield "cut-1", c[1:] + c[:1]
    yield "cut-half", c[half:] + c[:half]
    yield "cut-all-but-1", c[-1:] + c[:-1]
    for piles in (2, 3, 4):
        dealt = piled(c, piles)
        yield f"deal-{piles}-gather-first-on-top", sum(dealt, [])
        yield f"deal-{piles}-gather-last-on-top", sum(dealt[::-1], [])
    yield "count-half-to-bottom", c[half:] + c[:half][::-1]
    yield "count-half-to-top", c[:half][::-1] + c[half:]
    yield "count-half-from-bottom-to-top", c[n - half :][::-1] + c[: n - half]
    yield "count-half-from-bottom-to-bottom", c[: n - half] + c[n - half :][::-1]
    yield "move-half-from-bottom-to-top", c[n - half :] + c[: n - half]
    yield "turn-half", c[:half][::-1] + c[half:]
    yield "take-middle-to-top", [half] + c[:half] + c[half + 1 :]
    yield "take-middle-to-bottom", c[:half] + c[half + 1 :] + [half]
    yield "put-top-to-middle", c[1 : half + 1] + [0] + c[half + 1 :]
    yield "swap-top-and-bottom", [n - 1] + c[1:-1] + [0]
    yield "swap-top-and-middle", [half] + c[1:half] + [0] + c[half + 1 :]


def lines():
    """The whole file, line by line."""
    for n in SIZES:
        for name, packet in moves(n):
            assert sorted(packet) == list(range(n)), (n, name)
            order = Permutation(packet).order()
            yield f"move {n} {name} order {order} from {' '.join(map(str, packet))}"
    for n in GROUP_SIZES:
        both = PermutationGroup([Permutation(out_faro(n)), Permutation(in_faro(n))])
        yield f"group {n} {both.order()}"


def main():
    beside = Path(__file__).with_name("permutations.txt")
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else beside
    target.write_text("".join(line + "\n" for line in lines()), encoding="ascii", newline="\n")


if __name__ == "__main__":
    main()
