"""Writes memory.txt, against which the memory model is compared step by step.

    pip install "fsrs==6.3.*"
    python tests/reference/memory.py           # writes the file beside this one
    python tests/reference/memory.py ELSEWHERE # to compare

Ten series of right and wrong answers with gaps of whole days (0 is the same day), some at the published parameters and some at
others within their bounds. The numbers are those of the package's own scheduler; nothing is worked out here.

Lines:
    parameters VALUE ...                         the 21 parameters of the series that follow
    series NAME
    answer GAP RIGHT LASTS RESISTS               after each answer
    recall GAP CHANCE                            the chance so many days after the last answer
"""

import sys
from datetime import datetime, timedelta, timezone
from pathlib import Path

from fsrs import Card, Rating, Scheduler
from fsrs.scheduler import DEFAULT_PARAMETERS

# (name, other parameters by index, [(gap in days, right)])
SERIES = [
    ("all right", {}, [(0, 1), (1, 1), (3, 1), (8, 1), (20, 1), (45, 1)]),
    ("all wrong", {}, [(0, 0), (1, 0), (1, 0), (2, 0), (1, 0)]),
    ("same day", {}, [(0, 0), (0, 1), (0, 1), (1, 1), (0, 1), (0, 0), (0, 1)]),
    ("misses between", {}, [(0, 1), (2, 1), (5, 0), (0, 1), (1, 1), (4, 1), (9, 0), (0, 1), (2, 1)]),
    ("first wrong", {}, [(0, 0), (1, 1), (2, 1), (6, 1), (14, 1)]),
    ("long gaps", {}, [(0, 1), (30, 0), (1, 1), (90, 1), (365, 1)]),
    ("daily", {}, [(0, 1)] + [(1, 1)] * 20),
    ("quick to fade", {0: 0.1, 2: 0.8, 20: 0.5}, [(0, 1), (1, 0), (0, 1), (1, 1), (2, 1), (4, 1)]),
    ("slow to learn", {8: 1.1, 11: 0.9, 17: 0.9}, [(0, 0), (0, 1), (1, 1), (2, 0), (1, 1), (3, 1), (0, 1)]),
    ("gets hard", {6: 3.8, 9: 0.3, 10: 1.4}, [(0, 1), (1, 0), (1, 0), (1, 1), (2, 0), (1, 1), (3, 1), (7, 1)]),
]
GAPS = [1, 2, 7, 30, 365]


def lines():
    start = datetime(2031, 1, 1, 12, tzinfo=timezone.utc)
    for name, other, answers in SERIES:
        parameters = [other.get(n, value) for n, value in enumerate(DEFAULT_PARAMETERS)]
        scheduler = Scheduler(parameters=parameters, enable_fuzzing=False)
        yield "parameters " + " ".join(repr(value) for value in parameters)
        yield f"series {name}"
        card, at = Card(card_id=1), start
        for gap, right in answers:
            at += timedelta(days=gap)
            card, _ = scheduler.review_card(card, Rating.Good if right else Rating.Again, at)
            yield f"answer {gap} {right} {card.stability!r} {card.difficulty!r}"
        for gap in GAPS:
            chance = scheduler.get_card_retrievability(card, at + timedelta(days=gap))
            yield f"recall {gap} {chance!r}"


if __name__ == "__main__":
    where = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).with_suffix(".txt")
    where.write_text("\n".join(lines()) + "\n", encoding="utf-8")
