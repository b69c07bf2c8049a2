"""The real program in a terminal of its own, played by a performer who reads the screen and presses keys.

What was to be said is read from the screen, never asked of the program's voice. Needs the PyPI packages `pyte` (the terminal)
and `num2words` (numbers as people say them).
"""

import fcntl
import itertools
import os
import pty
import re
import signal
import struct
import subprocess
import termios
import threading
import time

import pyte
from num2words import num2words

from stage import Recorder, waited

# What clickers and foot switches send to go on, and what fingers find.
GO_ON = [b"\x1b[6~", b"\x1b[C", b" ", b"\r"]

# Pauses and ends a pause wherever one is.
CTRL_P = b"\x10"

# In milliseconds: whoever waited longer for a processor while something was said, all of them together, was held up.
HELD_UP = 150


def aloud(text):
    """A text as it is said: numbers and places as words."""
    text = re.sub(r"(\d+)(?:st|nd|rd|th)\b", lambda n: num2words(int(n[1]), to="ordinal"), text)
    return re.sub(r"\d+", lambda n: num2words(int(n[0])), text)


def but_for_the_sound(rows):
    """The rows of a screen without what the sound has to say, which may go on in the rows below; the last row is the foot."""
    last = max((place for place, row in enumerate(rows) if row), default=0)
    kept, of_the_sound = [], False
    for place, row in enumerate(rows):
        of_the_sound = bool(row) and place != last and (of_the_sound or re.search(r"\bsound\b", row, re.IGNORECASE) is not None)
        if not of_the_sound:
            kept.append(row)
    return kept


class Show:
    """The program on a screen of so many columns and rows. Its standard error goes to a file."""

    def __init__(self, program, words, environment, folder, columns=80, rows=24):
        self.screen = pyte.Screen(columns, rows)
        self.stream = pyte.ByteStream(self.screen)
        self.lock = threading.Lock()
        self.notices = []
        self.changed = 0.0
        self.errors = folder / "stderr.txt"
        self.primary, secondary = pty.openpty()
        self._size(columns, rows)
        environment = {**environment, "TERM": "xterm-256color", "LC_ALL": "C.UTF-8"}
        environment.pop("NO_COLOR", None)
        with open(self.errors, "ab") as errors:
            self.process = subprocess.Popen(
                [program, *words], stdin=secondary, stdout=secondary, stderr=errors, env=environment, start_new_session=True,
                preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0))
        os.close(secondary)
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self):
        while True:
            try:
                data = os.read(self.primary, 65_536)
            except OSError:
                return
            if not data:
                return
            with self.lock:
                self.stream.feed(data)
                self.changed = time.time()
                told = [row.strip() for row in self.screen.display if re.search(r"\bsound\b", row, re.IGNORECASE)]
            for notice in told:
                if notice not in self.notices[-1:]:
                    self.notices.append(notice)

    def _size(self, columns, rows):
        fcntl.ioctl(self.primary, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))

    def resize(self, columns, rows):
        """Makes the screen larger or smaller; what is drawn then is drawn anew."""
        with self.lock:
            self.screen.resize(rows, columns)
        self._size(columns, rows)

    def rows(self):
        with self.lock:
            return [row.rstrip() for row in self.screen.display]

    def cells(self):
        """All that is on the screen: each cell with its colours."""
        with self.lock:
            return [[self.screen.buffer[row][column] for column in range(self.screen.columns)] for row in range(self.screen.lines)]

    def text(self):
        return "\n".join(self.rows())

    def foot(self):
        return next((row for row in reversed(self.rows()) if row.strip()), "")

    def wait(self, what, holds, patience=20):
        end = time.time() + patience
        while not holds(self.text()):
            if time.time() > end:
                raise SystemExit(f"waited in vain for {what}:\n{self.text()}")
            time.sleep(0.01)

    def told(self):
        """What stands on the screen in words, and the road over it: the clock and what the sound has to say come and go as they like."""
        return [row for row in but_for_the_sound(self.rows()) if re.search(r"[a-z]{2}|[○●◇◆◉◈▸]", row)]

    def settled(self, quiet=0.35):
        """Waits until nothing is being drawn."""
        while time.time() - self.changed < quiet:
            time.sleep(0.01)

    def press(self, keys):
        os.write(self.primary, keys)

    def signal(self, number):
        self.process.send_signal(number)

    def end(self, patience=10):
        """Waits for the program to end; its exit code."""
        code = self.process.wait(patience)
        self.reader.join(patience)
        os.close(self.primary)
        return code

    def stop(self):
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()


def quoted(text, after):
    """What stands in quotation marks after a sign, over as many rows as it takes."""
    found = re.search(re.escape(after) + r"“(.+?)”$", text, re.DOTALL | re.MULTILINE)
    return " ".join(found[1].split()) if found else None


class Turn:
    """One thing on the screen of a rehearsal with real cards: what it is, what was to be said at it, and which key ends it."""

    def __init__(self, show):
        rows = show.rows()
        # A large screen leaves a margin.
        margin = min((len(row) - len(row.lstrip()) for row in rows if row.strip()), default=0)
        rows = [row[margin:] for row in rows]
        text, foot = "\n".join(rows), show.foot()
        plain = [row for row in rows[3:-1] if re.search(r"[a-z]", row)]
        self.kind, self.spoken, self.key = None, [], None
        # Whether what was recorded is what was said when it was asked for again: words alone, without a cue.
        self.again = False
        if "enter begin" in foot and "card by card" in foot:
            self.kind, self.key = "set-up", b" "
        elif "done, go on" in foot:
            self.kind = "step"
            # Over the title stands what the spectator says, or what the hands do freely; under it what is done.
            title = next((row for row in plain if re.match(r"[^\s·!▸“]", row)), None)
            self.title = title
            if title:
                self.spoken.append(("title", title))
            said = quoted(text, "▸ ")
            if said:
                self.spoken.append(("choice", said))
        elif "1 to 9" in foot:
            self.kind, self.key = "table", b"1"
        elif "y or enter yes" in foot:
            self.kind, self.key = "ending", b"y"
            self.spoken.append(("question", "Did the ending come true?"))
        elif "enter answer" in foot:
            self.kind, self.key = "question", b"-"
            asked = itertools.takewhile(lambda row: not row.startswith("▸"), rows[3:-1])
            self.spoken.append(("question", " ".join(row.strip() for row in asked if re.search(r"[a-z]", row))))
        elif "enter go on" in foot:
            self.kind, self.key = "correction", b"\r"
            answer = "\n".join(plain).split("Not quite. ")
            if len(answer) == 2:
                told = " ".join(answer[1].split()).split(" Why: ")
                self.spoken += [("correction", part) for part in told]
        elif "once more" in foot:
            self.kind = "summary"
        self.rows = rows


class Performer:
    """Rehearses a routine with real cards, as the screen tells, and notes what was to be said and what was done."""

    def __init__(self, program, routine, seed, server, folder, columns=80, rows=24, more=()):
        folder.mkdir(parents=True, exist_ok=True)
        self.data, self.server, self.recorder = folder / "data", server, None
        self.show = Show(program, ["--data", self.data, "rehearse", routine, "--drill", "hands", "--seed", str(seed), *more],
                         server.environment, folder, columns, rows)
        self.turns, self.presses = [], 0
        self.since = time.time()
        self.show.wait("the set-up", lambda text: "card by card" in text)

    def listen(self):
        self.recorder = Recorder(self.server, latency=30)

    def way(self, recorder):
        """Everybody on the way of a sound: the program, its speech process, the server, the recorder."""
        speech = subprocess.run(["pgrep", "-P", str(self.show.process.pid)], capture_output=True, text=True).stdout.split()
        return [self.show.process.pid, *map(int, speech), self.server.process.pid, recorder.process.pid]

    def hear(self, turn):
        """Records what is said at a turn. Where somebody on the way was held up, for others had the processors, the machine was
        heard and not the program: a pause, and it is said again. What was held up least counts."""
        since, least = turn.since, float("inf")
        for left in (2, 1, 0):
            way = self.way(self.recorder)
            before = waited(way)
            self.recorder.wait_for_silence(since, 12 if turn.spoken else 0.4, silence=1.2)
            held_up = waited(way) - before
            if held_up < least:
                least, turn.samples, turn.again = held_up, self.recorder.between(since, time.time()), left < 2
            if least < HELD_UP or not left or turn.kind not in ("step", "question"):
                return
            for what, paused in (("the pause", True), ("the end of the pause", False)):
                since = time.time()
                self.show.press(CTRL_P)
                self.show.wait(what, lambda text: ("The watch stands still" in text) == paused)
                self.show.settled()

    def turn(self, meanwhile=None, hears=True):
        """Takes what is on the screen, waits until all is said, and goes on. `meanwhile` happens while it is being said."""
        self.show.settled()
        turn = Turn(self.show)
        turn.since = self.since
        if turn.kind is None:
            raise SystemExit(f"a screen that nobody knows:\n{self.show.text()}")
        self.turns.append(turn)
        if meanwhile:
            meanwhile(turn)
        if self.recorder and hears:
            self.hear(turn)
        if turn.kind == "summary":
            return turn
        before = self.show.told()
        self.since = time.time()
        self.presses += 1
        self.show.press(turn.key or GO_ON[self.presses % len(GO_ON)])
        if turn.kind == "question":
            # A short answer is whole with its last key, another with enter.
            self.show.wait("the answer", lambda _: self.show.told() != before)
            self.show.settled()
            if "enter answer" in self.show.foot():
                before = self.show.told()
                self.show.press(b"\r")
        self.show.wait("what comes next", lambda _: self.show.told() != before)
        return turn

    def to_the_end(self):
        while self.turn().kind != "summary":
            pass
        return self.leave()

    def leave(self):
        """Leaves the summary; the program's exit code."""
        self.show.press(b"q")
        code = self.show.end()
        if self.recorder:
            self.recorder.stop()
        return code

    def until(self, holds, hears=True):
        """Takes turns until one is on the screen that is wanted; it is not taken."""
        while True:
            self.show.settled()
            turn = Turn(self.show)
            if holds(turn):
                return turn
            if turn.kind == "summary":
                raise SystemExit("the rehearsal was over before that")
            self.turn(hears=hears)
