#!/usr/bin/env python3
"""Writes an export of a logbook with made-up answers, the same each time: for the tests of pages, and to look at.

made_up.py ROUTINE.yaml… --weeks N --until 2031-11-05 [--answers-a-week N] > export.jsonl

The form is what `allroads log export` writes. Steps are read from the routine's file as the lines `id:` of its steps; which are hard,
and how long answers take, follows from sums over their names."""

import argparse
import datetime
import json
import pathlib
import re
import zlib

KINDS = [("picture", "card"), ("picture", "trait"), ("order", "next"), ("lines", "line"), ("reckon", "chosen")]


def steps_of(text):
    """The ids of steps: lines that begin `- id:` or, for the finale, `id:`, before the mends."""
    text = re.split(r"^mends:", text, flags=re.M)[0]
    return re.findall(r"^\s*(?:- )?id: *([\w-]+)", text, flags=re.M)


def lot(*parts):
    """A number from 0 to 1 that hangs on these alone."""
    return zlib.crc32("/".join(map(str, parts)).encode()) / 2**32


def answers(routine, steps, weeks, until, a_week):
    for week in range(weeks):
        # Now and then a week is free.
        if week % 6 == 4:
            continue
        monday = until - datetime.timedelta(days=until.weekday(), weeks=weeks - 1 - week)
        days = [0, 2, 3, 5][: 3 + week % 2]
        for n in range(a_week):
            day = monday + datetime.timedelta(days=days[n % len(days)])
            if day > until:
                continue
            step = steps[int(lot(routine, week, n, "step") ** 1.3 * len(steps))]
            drill, kind = KINDS[int(lot(routine, step, n % 2, "kind") * len(KINDS))]
            hard = lot(routine, step, "hard")
            known = 1 - hard * 0.6 / (1 + week / 3)
            right = lot(routine, week, n, "right") < known
            slow = 2_500 + 9_000 * hard + 14_000 / (1 + week) * lot(routine, week, n, "time")
            at = datetime.datetime.combine(day, datetime.time(19)) + datetime.timedelta(seconds=40 * n)
            yield at, step, drill, kind, right, int(slow), n


def lines(routine, steps, weeks, until, a_week):
    sessions = {}
    rows = []
    for at, step, drill, kind, right, ms, n in answers(routine, steps, weeks, until, a_week):
        day = at.date().isoformat()
        session = f"{zlib.crc32(f'{routine}/{day}'.encode()):032x}"
        stamp = at.isoformat(timespec="milliseconds") + "+00:00"
        sessions.setdefault(session, (stamp, stamp))
        sessions[session] = (sessions[session][0], stamp)
        rows.append((session, stamp, step, drill, kind, right, ms, n))
    for session, (begun, ended) in sessions.items():
        yield {
            "session": {
                "id": session,
                "routine": routine,
                "content_hash": "0" * 64,
                "seed": "7",
                "setup": "0",
                "drills": ["picture", "order", "lines", "reckon"],
                "manner": "screen",
                "started": begun,
                "ended": ended,
            }
        }
    ordinals = {}
    for session, stamp, step, drill, kind, right, ms, n in rows:
        ordinals[session] = ordinals.get(session, 0) + 1
        yield {
            "answer": {
                "session": session,
                "ordinal": ordinals[session],
                "routine": routine,
                "content_hash": "0" * 64,
                "step": step,
                "drill": drill,
                "kind": kind,
                "detail": "packet 1",
                "again": False,
                "question": "Which card lies on top?",
                "seed": "7",
                "choices": [f"thirsty={4 + n % 9}", f"n={2 + n % 2}"],
                "given": "",
                "expected": "7♥",
                "answer": "7h" if right else "8h",
                "right": right,
                "first_key_ms": 800,
                "total_ms": ms,
                "at": stamp,
            }
        }


def main():
    read = argparse.ArgumentParser()
    read.add_argument("routines", nargs="+", type=pathlib.Path)
    read.add_argument("--weeks", type=int, required=True)
    read.add_argument("--until", type=datetime.date.fromisoformat, required=True)
    read.add_argument("--answers-a-week", type=int, default=60)
    read.add_argument("--show", type=datetime.date.fromisoformat)
    told = read.parse_args()
    all_lines = []
    for path in told.routines:
        steps = steps_of(path.read_text(encoding="utf-8"))
        all_lines += lines(path.stem, steps, told.weeks, told.until, told.answers_a_week)
    print(json.dumps({"logbook": "allroads", "version": 1}, separators=(",", ":")))
    for kind in ("session", "answer"):
        for line in all_lines:
            if kind in line:
                print(json.dumps(line, ensure_ascii=False, separators=(",", ":")))
    if told.show:
        for path in told.routines:
            key = f"show of {path.stem}"
            print(json.dumps({"setting": {"key": key, "value": told.show.isoformat()}}, separators=(",", ":")))


if __name__ == "__main__":
    main()
