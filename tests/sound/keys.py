"""From a key pressed in a terminal to the first sample at the monitor of a sound server's sink, with the real program: run by
`.ci/run`.

    python keys.py PROGRAM WORK [SEED]

PROGRAM is the release binary, WORK an empty folder. Needs the Debian packages `pulseaudio` and `pulseaudio-utils`, and the PyPI
packages `numpy`, `pyte` and `num2words`.

Every shipped routine in English is rehearsed once with real cards. A key is pressed only when nothing has been heard for a while, so
that the first loud sample after it is of the line that it asked for. The cues are silent and too short to wait for, by sound files of
the performer's own: they would be heard before the speech that follows them, which lets them ring out. The recorder's own delay is in the
figures.
"""

import itertools
import json
import os
import re
import subprocess
import sys
import time
import wave
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from stage import RATE, Recorder, Server, waited
from theatre import CTRL_P, GO_ON, Performer, Turn

program, work = (Path(word).resolve() for word in sys.argv[1:3])
SEED = int(sys.argv[3]) if len(sys.argv) > 3 else 3
DRILLS = Path(__file__).resolve().parents[2] / "drills"

CUES = ("ask", "right", "wrong", "time", "ready", "done")
AGAIN = b"\x1b[5~"

# Keys that lead from one pace to the next, all of them different: six times faster, and back to the usual one.
PACES = [b"]"] * 6 + [b"[" * 6]

# So many rehearsals go on at the same time, each with a server of its own: they take the time of speech.
LANES = 5

# In seconds. No pause within a line is as long as the first; what is left of a line that was cut short is over before the second.
OVER, CUT = 0.7, 0.25

# How long a key may be silent before it is believed that it asked for no line, in seconds.
PATIENCE = 1.5

# In milliseconds: where those on the way of a sound waited longer than this for a processor, all of them together, between the key and
# the sound, the machine was measured and not the program. Such a press is told, and set aside.
HELD_UP = 50

# How many presses there must be that nobody held up, and within how many milliseconds 99 of 100 of them must be heard.
WANTED = {"made ahead": (200, 150), "not made ahead": (60, 250)}


@dataclass
class Press:
    """A key that asked for a line: which line, whether it was made ahead, after how many milliseconds it was heard, and how many of
    those everybody on the way of the sound had waited for others."""

    line: str
    made: str
    heard: float
    held_up: float


class Rehearsal:
    """A rehearsal with real cards, whose keys are measured."""

    def __init__(self, routine, seed):
        self.routine, self.seed, self.folder = routine, seed, work / routine
        self.server = Server(self.folder / "server")
        self.presses, self.pressed, self.pace = [], 0, 0
        self.paces = itertools.cycle(range(len(PACES)))
        self.said = set()
        walk = subprocess.run([program, "walk", routine, "--seed", str(seed), "--json"], check=True, capture_output=True, text=True)
        self.titles = {step["title"] for step in json.loads(walk.stdout)["steps"]}

    def go(self):
        silent_cues(self.folder / "data" / "sounds")
        try:
            self.server.start()
            performer = Performer(program, self.routine, self.seed, self.server, self.folder)
            self.performer, self.show = performer, performer.show
            self.show.wait("the first notice", lambda text: "sound" in text)
            self.recorder = Recorder(self.server)
            # As loud as it gets, for the beginning of a word may be soft.
            self.show.press(b"+" * 7)
            self.set_up()
            self.road()
            if performer.leave() != 0 or self.show.errors.read_text():
                raise SystemExit(f"{self.routine}: {self.show.errors.read_text()}")
            self.recorder.stop()
            return self.presses
        finally:
            self.server.stop()

    def press(self, keys):
        """Presses a key and waits for the line that it asks for. Two numbers in milliseconds: after how long it was heard, and how long
        those on its way had waited by then; the first is nothing where nothing was heard."""
        way = [*self.performer.way(self.recorder), os.getpid()]
        before = waited(way)
        since = time.time()
        self.show.press(keys)
        heard = self.recorder.wait_for_sound(since, PATIENCE)
        held_up = waited(way) - before
        return 1000 * (self.recorder.first_sound(since, time.time()) - since) if heard else None, held_up

    def go_on(self):
        self.pressed += 1
        return self.press(GO_ON[self.pressed % len(GO_ON)])

    def count(self, pressed, line, ahead):
        """Notes what came of a key that must have been heard."""
        heard, held_up = pressed
        if heard is None:
            raise SystemExit(f"{self.routine}: nothing was heard of {line}:\n{self.show.text()}")
        self.presses.append(Press(line, "made ahead" if ahead else "not made ahead", heard, held_up))

    def quiet(self, silence):
        """Waits until nothing has been drawn or heard for a while."""
        self.show.settled(0.1)
        while time.time() - self.recorder.loud_at < silence:
            time.sleep(0.01)

    def hush(self):
        """Begins a pause, so that the line that is being said is over."""
        self.show.press(CTRL_P)
        self.show.wait("the pause", lambda text: "The watch stands still" in text)
        self.quiet(CUT)

    def end_of_pause(self):
        """Ends it; what came of that key."""
        pressed = self.press(CTRL_P)
        self.show.wait("the end of the pause", lambda text: "The watch stands still" not in text)
        return pressed

    def card(self):
        """Which card of the set-up is being told; nothing when none is."""
        return re.search(r"card (\d+) of \d+", " ".join(self.show.text().split()))

    def set_up(self):
        """The set-up told card by card. The cards are made ahead; the names of the piles, and what is said at the end, are not."""
        self.quiet(OVER)
        pressed = self.press(b"c")
        if not self.card():
            # There is nothing to lay.
            return
        self.count(pressed, "a pile of the set-up", False)
        while card := self.card():
            # A pause, for the rest of what is being said; nothing is said again at its end.
            self.hush()
            self.show.press(CTRL_P)
            self.show.wait("the end of the pause", lambda text: "The watch stands still" not in text)
            before = self.show.told()
            pressed = self.go_on()
            self.show.wait("the next card", lambda _: self.show.told() != before)
            follows = bool(self.card()) and int(self.card()[1]) == int(card[1]) + 1
            self.count(pressed, "a card of the set-up" if follows else "a pile of the set-up", follows)

    def road(self):
        """A road: each step gone on to when all is silent, its line heard again after a pause, at other paces, and once more."""
        turn = Turn(self.show)
        while turn.kind != "ending":
            self.quiet(OVER)
            before, told = turn, self.show.told()
            pressed = self.press(before.key) if before.key else self.go_on()
            turn = self.next_turn(told)
            self.arrived(turn, before, pressed)
            if turn.kind == "question":
                turn = self.answered()
        told = self.show.told()
        self.show.press(turn.key)
        self.next_turn(told)

    def next_turn(self, told):
        """What is on the screen when something else is than was told there."""
        self.show.wait("what comes next", lambda _: self.show.told() != told)
        self.show.settled(0.1)
        return Turn(self.show)

    def arrived(self, turn, before, pressed):
        """What a key led to."""
        if turn.kind == "table":
            # The performer asks it, not the prompter.
            return
        if turn.kind == "step":
            foretold = turn.title in self.titles and before.kind != "table"
            line = "the next step" if foretold else "what a spectator tells, or comes of it"
            self.count(pressed, line, foretold or self.known(turn))
        elif turn.kind == "ending":
            self.count(pressed, "whether the ending came true", True)
        elif turn.kind == "question":
            self.count(pressed, "a question", self.known(turn))
        else:
            raise SystemExit(f"{self.routine}: a screen that nobody knows:\n{self.show.text()}")
        if turn.kind in ("step", "question"):
            self.again(turn)

    def known(self, turn):
        """Whether what is said at a turn was said before, at the same pace; from now on it was."""
        line = (self.pace, turn.spoken[0][1])
        known = line in self.said
        self.said.add(line)
        return known

    def again(self, turn):
        """The same line again, and at two other paces."""
        self.hush()
        self.count(self.end_of_pause(), "the same after a pause", True)
        for _ in range(2):
            self.hush()
            self.pace = next(self.paces)
            self.show.press(PACES[self.pace])
            self.quiet(CUT)
            pressed = self.end_of_pause()
            self.count(pressed, "the same at another pace", self.known(turn))
        if turn.kind == "step":
            self.quiet(OVER)
            self.count(self.press(AGAIN), "the same once more", True)

    def answered(self):
        """A question to which no answer is known: what was right is told."""
        self.quiet(OVER)
        told = self.show.told()
        pressed = self.press(b"-")
        turn = self.next_turn(told)
        if turn.kind == "question":
            told = self.show.told()
            pressed = self.press(b"\r")
            turn = self.next_turn(told)
        self.count(pressed, "what was right", self.known(turn))
        return turn


def silent_cues(folder):
    """A thousandth of a second of silence in the place of each cue."""
    folder.mkdir(parents=True)
    for cue in CUES:
        with wave.open(str(folder / f"{cue}.wav"), "wb") as sound:
            sound.setparams((1, 2, RATE, 0, "NONE", ""))
            sound.writeframes(bytes(2 * RATE // 1000))


def rehearse(routine):
    return Rehearsal(routine, SEED).go()


def english_routines():
    return sorted(path.stem for path in DRILLS.glob("*.yaml") if re.search(r"^lang: en", path.read_text(), re.MULTILINE))


def figures(presses):
    heard = [press.heard for press in presses]
    if not heard:
        return "      0"
    return f"{len(heard):7} {np.median(heard):8.0f} {np.percentile(heard, 99):10.0f} {max(heard):8.0f}"


def main():
    work.mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor(LANES, mp_context=get_context("fork")) as lanes:
        presses = list(itertools.chain.from_iterable(lanes.map(rehearse, english_routines())))
    print("from a key to the first sample of its line at the monitor, in milliseconds")
    print(f"    {'':44} presses   median  99 of 100  slowest")
    missed = 0
    for made, (count, limit) in WANTED.items():
        ours = [press for press in presses if press.made == made]
        kept = [press for press in ours if press.held_up <= HELD_UP]
        for line in dict.fromkeys(press.line for press in ours):
            print(f"    {made + ': ' + line:44} {figures([press for press in kept if press.line == line])}")
        print(f"    {made + ', held up by others and set aside':44} {figures([press for press in ours if press not in kept])}")
        most = np.percentile([press.heard for press in kept], 99) if kept else float("inf")
        good = len(kept) >= count and most < limit
        missed += not good
        print(f"  {'ok    ' if good else 'MISSED'}  {made}: 99 of 100 of {len(kept)} presses within {most:.0f} ms "
              f"(wanted: {count} presses, {limit} ms); {len(ours) - len(kept)} set aside")
    print(f"{missed} missed")
    sys.exit(bool(missed))


if __name__ == "__main__":
    main()
