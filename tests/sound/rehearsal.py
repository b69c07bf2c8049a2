"""Rehearsals with real cards, of the real program in a real terminal, heard at the monitor of a sound server's sink: run by
`.ci/run`.

    python rehearsal.py PROGRAM EXAMPLES WORK [SEED]

PROGRAM is the release binary, EXAMPLES the folder of the release examples (`phrases`), WORK an empty folder. Needs the Debian
packages `pulseaudio` and `pulseaudio-utils`, and the PyPI packages `pocketsphinx`, `numpy`, `pyte` and `num2words`.

What was to be said is read from the screen, and the choices from `walk --json` with the same seed; the program's voice is not
asked. Then the server is killed in the middle of a rehearsal, comes late, and the program is stopped and woken.
"""

import json
import re
import signal
import subprocess
import sys
import threading
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

from recognise import Recogniser, words
from stage import Recorder, Server
from theatre import GO_ON, Show, Turn, aloud

program, examples, work = (Path(word).resolve() for word in sys.argv[1:4])
SEED = int(sys.argv[4]) if len(sys.argv) > 4 else 3
failed = []


def want(true, said):
    print(("  ok      " if true else "  MISSED  ") + said, flush=True)
    if not true:
        failed.append(said)


def run(*arguments, data=None):
    more = ["--data", data] if data else []
    return subprocess.run([program, *more, *arguments], capture_output=True, text=True)


def english_routines():
    """The shipped routines in English, with what may be said in each."""
    listed = subprocess.run([examples / "phrases", "24"], check=True, capture_output=True, text=True).stdout.splitlines()
    phrases = {}
    for line in listed:
        routine, _, _, phrase = line.split("\t")
        phrases.setdefault(routine, []).append(phrase)
    return phrases


class Performer:
    """Rehearses a routine with real cards, as the screen tells, and notes what was to be said and what was done."""

    def __init__(self, routine, seed, server, folder, columns, rows, more=()):
        folder.mkdir(parents=True, exist_ok=True)
        self.data, self.server, self.recorder = folder / "data", server, None
        self.show = Show(program, ["--data", self.data, "rehearse", routine, "--drill", "hands", "--seed", str(seed), *more],
                         server.environment, folder, columns, rows)
        self.turns, self.presses = [], 0
        self.since = time.time()
        self.show.wait("the set-up", lambda text: "begin or next" in text)

    def listen(self):
        self.recorder = Recorder(self.server, latency=30)

    def turn(self, meanwhile=None):
        """Takes what is on the screen, waits until all is said, and goes on. `meanwhile` happens while it is being said."""
        self.show.settled()
        turn = Turn(self.show)
        turn.since = self.since
        if turn.kind is None:
            raise SystemExit(f"a screen that nobody knows:\n{self.show.text()}")
        self.turns.append(turn)
        if meanwhile:
            meanwhile(turn)
        if self.recorder:
            self.recorder.wait_for_silence(turn.since, 12 if turn.spoken else 0.4)
            turn.samples = self.recorder.between(turn.since, time.time())
        if turn.kind == "summary":
            return turn
        before = self.show.rows()[1:]
        self.since = time.time()
        self.presses += 1
        self.show.press(turn.key or GO_ON[self.presses % len(GO_ON)])
        if turn.kind == "question":
            # A short answer is whole with its last key, another with enter.
            self.show.wait("the answer", lambda _: self.show.rows()[1:] != before)
            self.show.settled()
            if "enter answer" in self.show.foot():
                before = self.show.rows()[1:]
                self.show.press(b"\r")
        self.show.wait("what comes next", lambda _: self.show.rows()[1:] != before)
        return turn

    def to_the_end(self):
        while self.turn().kind != "summary":
            pass
        self.show.press(b"q")
        code = self.show.end()
        if self.recorder:
            self.recorder.stop()
        return code

    def until(self, holds):
        """Takes turns until one is on the screen that is wanted; it is not taken."""
        while True:
            self.show.settled()
            turn = Turn(self.show)
            if holds(turn):
                return turn
            if turn.kind == "summary":
                raise SystemExit("the rehearsal was over before that")
            self.turn()


def answers(data):
    """What the logbook holds of each answer, but for the times."""
    exported = run("log", "export", data=data)
    lines = [json.loads(line) for line in exported.stdout.splitlines()]
    kept = [line["answer"] for line in lines if "answer" in line]
    return [(one["kind"], one["step"], one["question"], one["answer"], one["right"]) for one in kept]


def parts(spoken):
    """A text in the parts in which it may be recognised."""
    return [part for part in re.split(r"(?<=[.!?…])\s+", aloud(spoken)) if words(part)]


def heard(routine, phrases, turns):
    """Recognises what was said at each turn: whether each thing was understood, and what was heard instead."""
    own = [part for spoken, _ in turns for _, text in spoken for part in parts(text)]
    recogniser = Recogniser(phrases + own)
    results = []
    for spoken, samples in turns:
        loudest = max(1, int(np.abs(samples.astype(int)).max(initial=1)))
        # Quiet as it starts, and as loud in the ear as anything.
        samples = (samples.astype(float) * min(20.0, 16_000 / loudest)).astype("<i2")
        got = recogniser.hear_all(samples)
        for kind, text in spoken:
            wanted = " ".join(words(aloud(text)))
            results.append((kind, text, f" {wanted} " in f" {got} ", got))
    return routine, results


def perform(routine, seed, done):
    folder = work / f"{routine}-{seed}"
    server = Server(folder / "server")
    try:
        server.start()
        performer = Performer(routine, seed, server, folder, 110, 48)
        performer.show.wait("the first notice", lambda text: "sound" in text)
        performer.listen()
        code = performer.to_the_end()
        done[routine, seed] = (performer, code)
    finally:
        server.stop()


def every_choice_and_question_is_heard(phrases):
    print("rehearsals with real cards in a terminal, heard at the monitor and recognised")
    done = {}
    for seed in (SEED, SEED + 1):
        threads = [threading.Thread(target=perform, args=(routine, seed, done)) for routine in phrases]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    jobs = []
    for (routine, seed), (performer, code) in sorted(done.items()):
        if code != 0 or performer.show.errors.read_text():
            raise SystemExit(f"{routine}: code {code}, {performer.show.errors.read_text()}")
        walk = json.loads(run("walk", routine, "--seed", str(seed), "--json").stdout)
        # Where only the table can tell something, the performer's table says another thing than the seed's: up to there.
        table = next((n for n, turn in enumerate(performer.turns) if turn.kind == "table"), None)
        steps = [turn for turn in performer.turns[:table] if turn.kind == "step" and turn.title]
        steps = [turn for turn in steps if turn.title in {step["title"] for step in walk["steps"]}]
        if table is not None:
            walk["steps"] = walk["steps"][:len(steps)]
        if [turn.title for turn in steps] != [step["title"] for step in walk["steps"]]:
            raise SystemExit(f"{routine}: these are not the steps of its road: {[turn.title for turn in steps]}")
        jobs.append((routine, phrases[routine], [(turn.spoken, turn.samples) for turn in performer.turns if turn.spoken],
                     chosen(routine, walk, steps)))
    want(len(done) == 2 * len(phrases), f"{len(done)} rehearsals of {len(phrases)} routines came to their end, and stderr is empty")
    right = {"choice": 0, "question": 0, "title": 0, "correction": 0}
    said = dict.fromkeys(right, 0)
    with ProcessPoolExecutor(2) as pool:
        for routine, results in pool.map(heard, *zip(*[job[:3] for job in jobs])):
            for kind, text, good, got in results:
                said[kind] += 1
                right[kind] += good
                if not good:
                    print(f"      {routine}: the {kind} was   {text}\n      and was heard as {got or 'nothing'}")
    told = ", ".join(f"{right[kind]} of {said[kind]} {kind}s" for kind in right)
    good, count = right["choice"] + right["question"], said["choice"] + said["question"]
    choices = sum(job[3] for job in jobs)
    print(f"    {told}; {choices} choices are those of `walk --json`")
    want(good >= 0.98 * count and count >= 8 * len(phrases), f"{good} of {count} choices and questions understood "
         f"({100 * good / max(count, 1):.1f} %; wanted: 98 %)")


def chosen(routine, walk, steps):
    """How many choices were spoken as `walk` tells them with the same seed; all that hands can follow must be."""
    rest, count = list(steps), 0
    for step in walk["steps"]:
        turn = next(turn for turn in rest if turn.title == step["title"])
        rest.remove(turn)
        if step["choice"] is None or "the program does not look" in " ".join(" ".join(turn.rows).split()):
            continue
        said = words(aloud(next(text for kind, text in turn.spoken if kind == "choice")))
        if step["choice"] in ("yes", "no"):
            fits = said[0] == step["choice"]
        else:
            fits = set(words(aloud(step["choice"]))) <= {word.removesuffix("s") for word in said} | set(said)
        if not fits:
            raise SystemExit(f"{routine}: {step['step']} is {step['choice']}, and {said} was said")
        count += 1
    return count


def told(rows):
    """What a screen says in words, but for what the sound has to say and how far the proof is."""
    return [row for row in rows[1:] if re.search(r"[a-z]{2}", row) and not re.search(r"\bsound\b", row, re.IGNORECASE)]


def the_server_is_killed(phrases):
    print("the server is killed in the middle of a rehearsal and comes back")
    routine = "chairlift" if "chairlift" in phrases else sorted(phrases)[0]
    server = Server(work / "killed" / "server")
    twin = Performer(routine, SEED, Server(work / "nobody"), work / "muted", 80, 24, ["--mute"])
    twin.to_the_end()
    want(not twin.show.notices, f"with --mute nothing is told of the sound: {twin.show.notices}")
    try:
        server.start()
        performer = Performer(routine, SEED, server, work / "killed", 80, 24)
        show = performer.show
        show.wait("the first notice", lambda text: "sound" in text)
        performer.listen()

        def kill(_turn):
            begun = performer.recorder.wait_for_sound(performer.since, 5)
            time.sleep(0.4)
            server.kill()
            want(begun, "it is killed while somebody speaks")
            show.wait("the notice", lambda text: "The sound went away" in text, 5)
            show.settled()
            nothing_but_what_is_drawn(show, "after the server died")
            performer.recorder.stop()
            performer.recorder = None

        performer.until(lambda turn: any(kind == "choice" for kind, _ in turn.spoken))
        show.notices.clear()
        performer.turn(kill)
        performer.until(lambda turn: turn.kind == "question")
        performer.turn()
        # Answered while there was none; and now it comes back.
        server.start()
        performer.listen()
        show.wait("the notice", lambda text: "The sound is back" in text, 8)
        performer.until(lambda turn: any(kind == "choice" for kind, _ in turn.spoken))
        turn = performer.turn()
        nothing_but_what_is_drawn(show, "after it came back")
        _, results = heard(routine, phrases[routine], [(turn.spoken, turn.samples)])
        want(all(good for _, _, good, _ in results), f"speech resumes, and is understood at the new monitor: {results[0][3]}")
        code = performer.to_the_end()
        went = [re.sub(r"\s+", " ", notice) for notice in show.notices]
        want(went == ["The sound went away. Everything is shown instead, and it comes back by itself.", "The sound is back."],
             f"one notice for each change, and no more: {went}")
        want(code == 0 and show.errors.read_text() == "", f"it ends with {code} and has nothing to say on stderr")
        screens = [[told(turn.rows) for turn in one.turns if turn.kind != "summary"] for one in (performer, twin)]
        want(screens[0] == screens[1], f"each of {len(screens[0])} screens says what it says with --mute")
        if screens[0] != screens[1]:
            print(next((a, b) for a, b in zip(*screens) if a != b))
        no_answer_is_lost(performer, twin, routine)
    finally:
        server.stop()


def nothing_but_what_is_drawn(show, when):
    """Pauses, has everything drawn anew, and compares: whatever else was written to the terminal would be gone."""
    show.press(b"p")
    show.wait("the pause", lambda text: "The watch stands still" in text)
    show.settled()
    before = show.cells()
    show.resize(100, 30)
    show.settled(0.4)
    show.resize(80, 24)
    time.sleep(0.2)
    show.settled(0.4)
    want(show.cells() == before, f"{when} each cell of the terminal is what is drawn there")
    show.press(b"p")
    show.wait("the end of the pause", lambda text: "The watch stands still" not in text)


def no_answer_is_lost(performer, twin, routine):
    checked = run("log", "check", data=performer.data)
    want(checked.returncode == 0, f"the logbook is sound: {checked.stdout.strip()}")
    kept = answers(performer.data)
    given = [(" ".join(turn.spoken[0][1].split()), "-") for turn in performer.turns if turn.kind == "question"]
    asked = [(question, answer) for kind, _, question, answer, _ in kept if kind not in ("step", "ending")]
    want(given and asked == given, f"each of {len(given)} answers to a question is in the logbook: {asked}")
    walk = json.loads(run("walk", routine, "--seed", str(SEED), "--json").stdout)
    steps = [step for kind, step, *_ in kept if kind == "step"]
    want(steps == [step["step"] for step in walk["steps"]], f"and each of {len(steps)} steps done")
    want([(answer, right) for kind, _, _, answer, right in kept if kind == "ending"] == [("yes", True)], "and the ending")
    want(kept == answers(twin.data), "all of it as with --mute")


def the_server_comes_late(phrases):
    print("there is no server, and it comes later")
    routine = sorted(phrases)[-1]
    folder = work / "late"
    server = Server(folder / "server")
    try:
        performer = Performer(routine, SEED + 1, server, folder, 80, 24)
        show = performer.show
        show.wait("the notice", lambda text: "No sound: there is no sound server." in text, 5)
        performer.turn()
        performer.turn()
        server.start()
        performer.listen()
        # Quiet for whoever hears it for the first time; and so it is said.
        show.wait("the notice", lambda text: "The sound starts quiet." in text, 8)
        # What is on the screen was to be said before it came.
        performer.turn()
        performer.until(lambda turn: turn.kind == "step")
        turn = performer.turn()
        _, results = heard(routine, phrases[routine], [(turn.spoken, turn.samples)])
        want(all(good for _, _, good, _ in results), f"it is heard when it comes: {results[0][3]}")
        print("the program is stopped for five seconds, and woken")
        show.settled()
        notices = list(show.notices)
        show.signal(signal.SIGSTOP)
        time.sleep(5)
        show.signal(signal.SIGCONT)
        time.sleep(2)
        performer.until(lambda turn: turn.kind == "step")
        performer.since = time.time()
        show.press(b"\x1b[5~")
        turn = performer.turn()
        _, results = heard(routine, phrases[routine], [(turn.spoken, turn.samples)])
        want(show.notices == notices, f"that is no loss of the sound, and none is told: {show.notices[len(notices):]}")
        want(all(good for _, _, good, _ in results), f"and the line, asked for again, is understood: {results[0][3]}")
        show.press(b"\x1b")
        show.wait("the summary", lambda text: "once more" in text)
        show.press(b"q")
        code = show.end()
        performer.recorder.stop()
        want(code == 0 and show.errors.read_text() == "", f"it ends with {code} and has nothing to say on stderr")
    finally:
        server.stop()


def main():
    work.mkdir(parents=True, exist_ok=True)
    phrases = english_routines()
    every_choice_and_question_is_heard(phrases)
    the_server_is_killed(phrases)
    the_server_comes_late(phrases)
    print(f"{len(failed)} missed")
    sys.exit(bool(failed))


if __name__ == "__main__":
    main()
