"""Rehearsals with real cards, of the real program in a real terminal, heard at the monitor of a sound server's sink: run by
`.ci/run`.

    python rehearsal.py PROGRAM EXAMPLES WORK [SEED]

PROGRAM is the release binary, EXAMPLES the folder of the built examples (`phrases`), WORK an empty folder. Needs the Debian
packages `pulseaudio` and `pulseaudio-utils`, and the PyPI packages `pocketsphinx`, `numpy`, `pyte` and `num2words`.

What was to be said is read from the screen, and the choices from `walk --json` with the same seed; the program's voice is not
asked. Then the server is killed in the middle of a rehearsal, comes late, the program is stopped and woken, and the device goes and comes.
"""

import json
import re
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

from cues import Cues
from recognise import Recogniser, pool, words
from stage import Server
from theatre import Performer, aloud, but_for_the_sound

program, examples, work = (Path(word).resolve() for word in sys.argv[1:4])
SEED = int(sys.argv[4]) if len(sys.argv) > 4 else 3
failed = []

# The cues as the program has them, and how early speech may begin after one: in samples, for a filter on its way smears a little.
SOUNDS = Path(__file__).resolve().parents[2] / "sounds"
RAMP = 320

# So many rehearsals go on at the same time.
AT_ONCE = 6


class Part:
    """A part of the checks. All parts are played at once, for they take the time that speech takes; each tells what came out of it when it
    is over."""

    def __init__(self, title):
        self.lines = [title]

    def note(self, line):
        self.lines.append("    " + line)

    def want(self, true, said):
        self.lines.append(("  ok      " if true else "  MISSED  ") + said)
        if not true:
            failed.append(said)


def run(*arguments, data=None):
    more = ["--data", data] if data else []
    return subprocess.run([program, *more, *arguments], capture_output=True, text=True)


def english_routines():
    """The shipped routines in English, with what may be said in each while real cards are in the hands."""
    listed = subprocess.run([examples / "phrases", "24", "hands"], check=True, capture_output=True, text=True).stdout.splitlines()
    phrases = {}
    for line in listed:
        routine, who, _, phrase = line.split("\t")
        phrases.setdefault(routine, []).append((who, phrase))
    return phrases


def answers(data):
    """What the logbook holds of each answer, but for the times."""
    exported = run("log", "export", data=data)
    lines = [json.loads(line) for line in exported.stdout.splitlines()]
    kept = [line["answer"] for line in lines if "answer" in line]
    return [(one["kind"], one["step"], one["question"], one["answer"], one["right"]) for one in kept]


def parts(spoken):
    """A text in the parts in which it may be recognised."""
    return [part for part in re.split(r"(?<=[.!?…])\s+", aloud(spoken)) if words(part)]


def heard(phrases, turns):
    """Recognises what was said at each turn: whether each thing was understood, what was heard instead, and which cues sounded before the
    first word, if it was not said again. The prompter tells a step, and then a spectator may speak; else the prompter speaks alone."""
    cues, said = Cues(SOUNDS), {"spectator": [], "prompter": []}
    for who, phrase in phrases:
        said[who].append(phrase)
    for spoken, *_ in turns:
        for kind, text in spoken:
            said["spectator" if kind == "choice" else "prompter"] += parts(text)
    step, prompter = Recogniser(said["prompter"] + said["spectator"]), Recogniser(said["prompter"])
    results = []
    for spoken, samples, again in turns:
        loudest = max(1, int(np.abs(samples.astype(int)).max(initial=1)))
        # Quiet as it starts, and as loud in the ear as anything.
        samples = (samples.astype(float) * min(20.0, 16_000 / loudest)).astype("<i2")
        sounded = cues.heard(samples)
        samples = cues.without(samples, sounded)
        first = next(iter(np.flatnonzero(np.abs(samples.astype(int)) > 1000)), len(samples))
        before = [name for name, _, end in sounded if end - RAMP <= first]
        if any(kind == "choice" for kind, _ in spoken):
            got = step.hear_all(samples, said["spectator"])
        else:
            got = prompter.hear_all(samples)
        for kind, text in spoken:
            wanted = " ".join(words(aloud(text)))
            results.append((kind, text, f" {wanted} " in f" {got} ", got, None if again else before))
    return results


def perform(routine, seed):
    folder = work / f"{routine}-{seed}"
    server = Server(folder / "server")
    try:
        server.start()
        performer = Performer(program, routine, seed, server, folder, 110, 48)
        performer.show.wait("the first notice", lambda text: "sound" in text)
        performer.listen()
        code = performer.to_the_end()
        if code != 0 or performer.show.errors.read_text():
            raise SystemExit(f"{routine}: code {code}, {performer.show.errors.read_text()}")
        return performer
    finally:
        server.stop()


def as_walked(routine, seed, performer):
    """What was to be heard in a rehearsal, and how many choices were those of `walk --json` with the same seed."""
    walk = json.loads(run("walk", routine, "--seed", str(seed), "--json").stdout)
    # Where only the table can tell something, the performer's table says another thing than the seed's: up to there.
    table = next((n for n, turn in enumerate(performer.turns) if turn.kind == "table"), None)
    steps = [turn for turn in performer.turns[:table] if turn.kind == "step" and turn.title]
    steps = [turn for turn in steps if turn.title in {step["title"] for step in walk["steps"]}]
    if table is not None:
        walk["steps"] = walk["steps"][:len(steps)]
    if [turn.title for turn in steps] != [step["title"] for step in walk["steps"]]:
        raise SystemExit(f"{routine}: these are not the steps of its road: {[turn.title for turn in steps]}")
    return [(turn.spoken, turn.samples, turn.again) for turn in performer.turns if turn.spoken], chosen(routine, walk, steps)


def every_choice_and_question_is_heard(part, phrases, rehearsals, workers):
    jobs, choices = [], 0
    for (routine, seed), rehearsal in rehearsals.items():
        turns, count = as_walked(routine, seed, rehearsal.result())
        choices += count
        jobs.append((routine, workers.submit(heard, phrases[routine], turns)))
    part.want(len(jobs) == 2 * len(phrases), f"{len(jobs)} rehearsals of {len(phrases)} routines came to their end, and stderr is empty")
    right = {"choice": 0, "question": 0, "title": 0, "correction": 0}
    said = dict.fromkeys(right, 0)
    announced, asked = 0, 0
    for routine, job in jobs:
        for kind, text, good, got, before in job.result():
            said[kind] += 1
            right[kind] += good
            if kind == "question" and before is not None:
                asked += 1
                announced += before == ["ask"]
            if not good:
                part.note(f"  {routine}: the {kind} was   {text}")
                part.note(f"      and was heard as {got or 'nothing'}{''.join(f', after the cue {name}' for name in before or ())}")
    told = ", ".join(f"{right[kind]} of {said[kind]} {kind}s" for kind in right)
    good, count = right["choice"] + right["question"], said["choice"] + said["question"]
    part.note(f"{told}; {choices} choices are those of `walk --json`")
    part.want(good >= 0.98 * count and count >= 8 * len(phrases), f"{good} of {count} choices and questions understood "
              f"({100 * good / max(count, 1):.1f} %; wanted: 98 %)")
    part.want(announced >= 0.9 * asked > 0, f"{announced} of {asked} questions heard at their first saying come after their cue, which sounds "
              "whole and alone (wanted: 90 %, for recordings may have gaps)")


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


def the_server_is_killed(part, routine, phrases):
    server = Server(work / "killed" / "server")
    twin = Performer(program, routine, SEED, Server(work / "nobody"), work / "muted", 80, 24, ["--mute"])
    twin.to_the_end()
    part.want(not twin.show.notices, f"with --mute nothing is told of the sound: {twin.show.notices}")
    try:
        server.start()
        performer = Performer(program, routine, SEED, server, work / "killed", 80, 24)
        show = performer.show
        show.wait("the first notice", lambda text: "sound" in text)
        # What the head says of the proof changes when it is known.
        show.wait("the proof", lambda text: "not proved yet" not in text)
        performer.listen()

        def kill(_turn):
            begun = performer.recorder.wait_for_sound(performer.since, 5)
            time.sleep(0.4)
            server.kill()
            part.want(begun, "it is killed while somebody speaks")
            show.wait("the notice", lambda text: "The sound went away" in text)
            show.settled()
            nothing_but_what_is_drawn(part, show, "after the server died")
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
        show.wait("the notice", lambda text: "The sound is back" in text)
        # What is on the screen was to be said while there was none.
        performer.turn(hears=False)
        performer.until(lambda turn: any(kind == "choice" for kind, _ in turn.spoken))
        turn = performer.turn()
        nothing_but_what_is_drawn(part, show, "after it came back")
        understood(part, "speech resumes, and is understood at the new monitor", phrases, turn)
        code = performer.to_the_end()
        went = [re.sub(r"\s+", " ", notice) for notice in show.notices]
        part.want(went == ["The sound went away. Everything is shown instead, and it comes back by itself.", "The sound is back."],
                  f"one notice for each change, and no more: {went}")
        part.want(code == 0 and show.errors.read_text() == "", f"it ends with {code} and has nothing to say on stderr")
        screens = [[in_words(turn.rows) for turn in one.turns if turn.kind != "summary"] for one in (performer, twin)]
        part.want(screens[0] == screens[1], f"each of {len(screens[0])} screens says what it says with --mute")
        if screens[0] != screens[1]:
            part.note(str(next((a, b) for a, b in zip(*screens) if a != b)))
        no_answer_is_lost(part, performer, twin, routine)
    finally:
        server.stop()


def in_words(rows):
    """What a screen says in words, but for what the sound has to say and how far the proof is."""
    return [row for row in but_for_the_sound(rows[1:]) if re.search(r"[a-z]{2}", row)]


def understood(part, what, phrases, turn):
    results = heard(phrases, [(turn.spoken, turn.samples, turn.again)])
    part.want(all(good for _, _, good, *_ in results), f"{what}: {results[0][3]}")


def nothing_but_what_is_drawn(part, show, when):
    """Pauses, has everything drawn anew, and compares: whatever else was written to the terminal would be gone."""
    show.press(b"p")
    show.wait("the pause", lambda text: "The watch stands still" in text)
    show.settled()
    before = show.cells()
    for columns, rows in ((100, 30), (80, 24)):
        show.resize(columns, rows)
        # Drawn for the old size it may still be on its way; then all of it is drawn again.
        show.wait("the foot", lambda _: "esc enough" in show.rows()[rows - 1])
        show.settled()
    end = time.time() + 5
    while show.cells() != before and time.time() < end:
        time.sleep(0.05)
    part.want(show.cells() == before, f"{when} each cell of the terminal is what is drawn there")
    show.press(b"p")
    show.wait("the end of the pause", lambda text: "The watch stands still" not in text)


def no_answer_is_lost(part, performer, twin, routine):
    checked = run("log", "check", data=performer.data)
    part.want(checked.returncode == 0, f"the logbook is sound: {checked.stdout.strip()}")
    kept = answers(performer.data)
    given = [(" ".join(turn.spoken[0][1].split()), "-") for turn in performer.turns if turn.kind == "question"]
    asked = [(question, answer) for kind, _, question, answer, _ in kept if kind not in ("step", "ending")]
    part.want(given and asked == given, f"each of {len(given)} answers to a question is in the logbook: {asked}")
    walk = json.loads(run("walk", routine, "--seed", str(SEED), "--json").stdout)
    steps = [step for kind, step, *_ in kept if kind == "step"]
    part.want(steps == [step["step"] for step in walk["steps"]], f"and each of {len(steps)} steps done")
    part.want([(answer, right) for kind, _, _, answer, right in kept if kind == "ending"] == [("yes", True)], "and the ending")
    part.want(kept == answers(twin.data), "all of it as with --mute")


def the_server_comes_late(part, routine, phrases):
    folder = work / "late"
    server = Server(folder / "server")
    try:
        performer = Performer(program, routine, SEED + 1, server, folder, 80, 24)
        show = performer.show
        show.wait("the notice", lambda text: "No sound: there is no sound server." in text)
        performer.turn()
        performer.turn()
        server.start()
        performer.listen()
        # Quiet for whoever hears it for the first time; and so it is said.
        show.wait("the notice", lambda text: "The sound starts quiet." in text)
        # What is on the screen was to be said before it came.
        performer.turn(hears=False)
        performer.until(lambda turn: turn.kind == "step")
        understood(part, "it is heard when it comes", phrases, performer.turn())
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
        part.want(show.notices == notices, "stopped for five seconds and woken, it has not lost the sound, and says nothing of it: "
                  f"{show.notices[len(notices):]}")
        understood(part, "and the line, asked for again, is understood", phrases, turn)
        the_device_goes_and_comes(part, server, performer, phrases)
        show.press(b"\x1b")
        show.wait("the summary", lambda text: "once more" in text)
        code = performer.leave()
        part.want(code == 0 and show.errors.read_text() == "", f"it ends with {code} and has nothing to say on stderr")
    finally:
        server.stop()


def the_device_goes_and_comes(part, server, performer, phrases):
    """The loudspeaker is taken out and put in again; the server stays."""
    show = performer.show
    performer.recorder.stop()
    performer.recorder = None
    performer.until(lambda turn: turn.kind == "step")
    show.notices.clear()
    server.control("unload-module", "module-null-sink")
    show.wait("the notice", lambda text: "The sound went away" in text)
    server.control("load-module", "module-null-sink", "sink_name=stage")
    performer.listen()
    show.wait("the notice", lambda text: "The sound is back" in text)
    part.want(len(show.notices) == 2, f"a device that is taken out and put in again is told of, each once: {show.notices}")
    performer.since = time.time()
    show.press(b"\x1b[5~")
    understood(part, "and what is said then is understood", phrases, performer.turn())


def main():
    work.mkdir(parents=True, exist_ok=True)
    phrases = english_routines()
    killed = "chairlift" if "chairlift" in phrases else sorted(phrases)[0]
    late = sorted(phrases)[-1]
    parts = [Part(title) for title in (
        "rehearsals with real cards in a terminal, heard at the monitor and recognised",
        "the server is killed in the middle of a rehearsal and comes back",
        "there is no server, and it comes later; the program is stopped, and woken; the device goes and comes")]
    with ThreadPoolExecutor(AT_ONCE) as stages, pool() as workers:
        rest = [stages.submit(the_server_is_killed, parts[1], killed, phrases[killed]),
                stages.submit(the_server_comes_late, parts[2], late, phrases[late])]
        rehearsals = {(routine, seed): stages.submit(perform, routine, seed) for seed in (SEED, SEED + 4) for routine in sorted(phrases)}
        every_choice_and_question_is_heard(parts[0], phrases, rehearsals, workers)
        print("\n".join(parts[0].lines), flush=True)
        for part, one in zip(parts[1:], rest):
            one.result()
            print("\n".join(part.lines), flush=True)
    print(f"{len(failed)} missed")
    sys.exit(bool(failed))


if __name__ == "__main__":
    main()
