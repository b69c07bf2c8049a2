"""Everything about sound that needs a real server and ears: run by `.ci/run`.

    python check.py PROGRAM EXAMPLES WORK [EACH]

PROGRAM is the release binary, EXAMPLES the folder of the built examples (`speak`, `phrases`, `make_speech`), WORK an empty
folder. Of what the prompter says, straight from the speech process, each EACH-th phrase is recognised, or every one: each is made and
measured all the same, and nothing is left out of what is heard at the monitors. Needs the Debian packages `pulseaudio` and
`pulseaudio-utils`, and the PyPI packages `pocketsphinx` and `numpy`.

Each figure is printed beside what is wanted; one that misses fails the run.
"""

import os
import subprocess
import sys
import time
from collections import defaultdict
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np

from recognise import Recogniser, pool, words
from stage import Recorder, Server, Voice

program, examples, work = (Path(word).resolve() for word in sys.argv[1:4])
EACH = int(sys.argv[4]) if len(sys.argv) > 4 else 1
failed = []


def want(true, said):
    print(("  ok      " if true else "  MISSED  ") + said, flush=True)
    if not true:
        failed.append(said)


VALUES = "ace two three four five six seven eight nine ten jack queen king".split()
SUITS = "clubs hearts spades diamonds".split()
CARDS = [f"{value} of {suit}" for suit in SUITS for value in VALUES]

# So many servers play at once.
LANES = 4


def understood(phrases, said):
    """What a recogniser hears that knows these phrases, and all cards: whatever it hears, it must tell it from those. For each thing
    said, with the samples or the file that holds them, whether it was understood, and what was heard."""
    recogniser = Recogniser(phrases + CARDS)
    results = []
    for who, phrase, samples in said:
        if not isinstance(samples, np.ndarray):
            samples = np.fromfile(samples, dtype="<i2")
        heard = recogniser.hear(samples)
        results.append((who, phrase, heard == " ".join(words(phrase)), heard))
    return results


def shares(listed, most):
    """A list in parts of about the same length."""
    count = -(-len(listed) // most)
    return [listed[n::count] for n in range(count)]


def told(routine, results):
    missed = [result for result in results if not result[2]]
    print(f"    {routine}: {len(results) - len(missed)} of {len(results)}")
    for who, phrase, _, heard in missed:
        print(f"      the {who} said   {phrase}\n      and was heard as {heard or 'nothing'}")
    return len(results) - len(missed), len(results)


def everything_that_can_be_said():
    """All phrases straight from the speech process, faster than they could be played."""
    print("every phrase of the shipped English routines, and every card in both English voices, from the speech process")
    listed = subprocess.run([examples / "phrases", "24"], check=True, capture_output=True, text=True).stdout.splitlines()
    for who in ("spectator", "prompter"):
        listed += [f"cards\t{who}\ten-GB\t{card}" for card in CARDS]
    made = subprocess.run([examples / "make_speech", program, work], input="\n".join(listed) + "\n", check=True,
                          capture_output=True, text=True).stdout.splitlines()
    *rows, total = made
    if len(rows) != len(listed):
        raise SystemExit("a phrase was not made")
    runs = [row.split() for row in rows]
    made, played = (max(int(row[i]) for row in runs) for i in (1, 2))
    want(made < 2 and played == 0, f"longest run at full scale: {made} as made, {played} as played (wanted: no run)")
    loud = [float(row[3]) for row in runs]
    want(max(loud) - min(loud) <= 3, f"loudness from {min(loud):.1f} to {max(loud):.1f} LUFS (EBU R 128; wanted: within 3 LU)")
    _, seconds, taken, processes = total.split()
    pace = float(seconds) / float(taken)
    want(pace >= 100, f"{seconds} s of speech made in {taken} s: {pace:.0f} times as fast as it is spoken (wanted: 100)")
    want(processes == "1", f"{processes} speech process (wanted: 1, which never died)")
    return [line.split("\t") for line in listed]


def begin_to_recognise(listed, workers):
    """Has everything recognised that was made, in the background."""
    jobs = []
    for routine in dict.fromkeys(routine for routine, *_ in listed):
        said = [(who, phrase, work / f"{number}.level.raw")
                for number, (its, who, _, phrase) in enumerate(listed) if its == routine]
        phrases = [phrase for _, phrase, _ in said]
        if routine != "cards":
            said = [one for n, one in enumerate(said) if one[0] == "spectator" or n % EACH == 0]
        jobs += [(routine, workers.submit(understood, phrases, share)) for share in shares(said, 120)]
    return jobs


def end_recognising(jobs):
    by_routine = defaultdict(list)
    for routine, job in jobs:
        by_routine[routine] += job.result()
    print("    of what came straight from the speech process was understood")
    counts = {routine: told(routine, results) for routine, results in by_routine.items()}
    cards, _ = counts.pop("cards")
    right, count = (sum(numbers) for numbers in zip(*counts.values()))
    want(right >= 0.98 * count, f"{right} of {count} phrases understood ({100 * right / count:.1f} %; wanted: 98 %)")
    want(cards == 104, f"{cards} of 104 cards understood, 52 in each voice (wanted: all)")


def to_be_played(listed):
    """What goes through a server: every card, all that spectators say, all questions that the prompter asks in one routine, and some
    of what it says in the others. The rest is heard straight from the speech process, for playing it takes as long as saying it."""
    chosen = [("cards", "spectator", card) for card in CARDS]
    chosen += [(routine, who, phrase) for routine, who, _, phrase in listed if who == "spectator" and routine != "cards"]
    prompted = [(routine, who, phrase) for routine, who, _, phrase in listed if who == "prompter" and routine != "cards"]
    one = prompted[0][0]
    for number, (routine, who, phrase) in enumerate(prompted):
        if (routine == one and phrase.endswith("?")) or (number % 15 == 0 and len(phrase) < 80):
            chosen.append((routine, who, phrase))
    return chosen


def play(lane, share):
    """Says phrases through a server of its own, and records each at the monitor of its sink. The loudest sample of all too, with cues
    under speech."""
    server = Server(work / f"lane-{lane}")
    try:
        server.start()
        recorder = Recorder(server, latency=20)
        voice = Voice(server, examples / "speak", program, work / "voices")
        time.sleep(0.5)
        recorded = []
        for routine, who, phrase in share:
            given, ending, _ = voice.say(who, "en-GB", phrase)
            if ending != "Spoken":
                raise RuntimeError(f"{phrase}: {ending}")
            recorder.wait_for_silence(given, 2, silence=0.25)
            recorded.append((routine, who, phrase, recorder.between(given, time.time())))
        # As loud as it gets.
        for cue in ("ask", "right", "wrong", "time", "ready", "done"):
            voice.do("say spectator en-GB I'll take the seven of hearts.")
            # In the middle of the line: one that waits would let the cue ring out.
            voice.do("sleep 400")
            voice.do(f"cue {cue}")
            voice.do("wait 5000")
        peak = int(np.abs(recorder.all().astype(int)).max())
        voice.stop()
        recorder.stop()
        return recorded, peak
    finally:
        server.stop()


def say_and_hear(listed, workers):
    """Several servers at once, each with its own sink: what is said takes its time."""
    print("through sound servers, recorded at the monitors of their sinks")
    chosen = to_be_played(listed)
    with ThreadPoolExecutor(LANES) as lanes:
        played = list(lanes.map(play, range(LANES), [chosen[lane::LANES] for lane in range(LANES)]))
    spoken = defaultdict(list)
    for routine, who, _, phrase in listed:
        spoken["cards" if who == "spectator" else routine].append(phrase)
        spoken[routine].append(phrase)
    by_routine = defaultdict(list)
    for recorded, _ in played:
        for routine, who, phrase, samples in recorded:
            by_routine[routine].append((who, phrase, samples))
    jobs = [(routine, workers.submit(understood, spoken[routine], said)) for routine, said in by_routine.items()]
    return chosen, jobs, max(peak for _, peak in played)


def end_hearing(chosen, jobs, peak):
    print("    of what was recorded at the monitors was understood")
    counts = {routine: told(routine, job.result()) for routine, job in jobs}
    right, cards = counts.pop("cards")
    want(cards == 52 and right == cards, f"{right} of {cards} cards understood at the monitor (wanted: all)")
    right, count = (sum(numbers) for numbers in zip(*counts.values()))
    want(count + cards == len(chosen) and right >= 0.98 * count,
         f"{right} of {count} phrases at the monitor ({100 * right / count:.1f} %; wanted: 98 %)")
    want(peak < 32_767, f"loudest sample at the monitors {peak} (wanted: below full scale, 32767)")


def latency(recorder, voice):
    """From the moment a line is given to its first sample at the monitor; the recorder's own delay is in the figure. Whatever else
    the machine has to do can only make it longer, so where it is too long it is measured again, twice at most."""
    print("from the wish to the first sample at the monitor")
    for made, limit in (("made ahead", 150), ("not made ahead", 250)):
        for again in range(3):
            measured = [first_sample(recorder, voice, made, 40 * again + n) for n in range(40)]
            most = float(np.percentile(measured, 99))
            figures = f"{made}: median {np.median(measured):.0f} ms, 99 of 100 within {most:.0f} ms (wanted: {limit} ms)"
            if most < limit or again == 2:
                break
            print(f"    {figures}, at a load of {os.getloadavg()[0]:.1f}: once more")
        want(most < limit, figures)


def first_sample(recorder, voice, made, n):
    phrase = f"{'Number' if made == 'made ahead' else 'Chair'} {n + 20}."
    if made == "made ahead":
        voice.do(f"ahead spectator en-GB {phrase}")
        voice.do("sleep 120")
    number = voice.do(f"say spectator en-GB {phrase}")
    voice.do("sleep 300")
    voice.do("hush")
    voice.do("sleep 320")
    first = recorder.first_sound(voice.said[number], time.time())
    if first is None:
        raise SystemExit(f"nothing was heard of {phrase}")
    return 1000 * (first - voice.said[number])


def clicks(recorder, voice):
    """A line cut short, and the volume moved: no step from sample to sample is larger than speech makes by itself."""
    print("no clicks")
    begin = time.time()
    voice.do("say prompter en-GB Which bench has to turn round?")
    voice.do("wait 5000")
    usual = np.abs(np.diff(recorder.between(begin, time.time()).astype(int))).max()
    begin = time.time()
    for n in range(12):
        voice.do("say prompter en-GB Which bench has to turn round?")
        voice.do(f"sleep {300 + 37 * n}")
        voice.do(f"volume {30 if n % 2 else 100}")
        voice.do("sleep 200")
        voice.do("hush")
        voice.do("sleep 150")
    voice.do("volume 100")
    moved = np.abs(np.diff(recorder.between(begin, time.time()).astype(int))).max()
    want(moved < 1.5 * usual, f"largest step {moved} where lines are cut short, {usual} where they are not")


def server_dies(server, recorder, voice):
    """The server is killed in the middle of a line and started again."""
    print("the server dies and comes back")
    cut = voice.do("say spectator en-GB This is a long line, and the server dies while it is being said, as servers do.")
    voice.do("sleep 900")
    server.kill()
    voice.do("wait 3000")
    want(voice.heard.get(cut, [""])[0] == "Unheard", "the line ends at once")
    silent = voice.do("say spectator en-GB Number seven.")
    voice.do("wait 500")
    want(voice.heard.get(silent, [""])[0] == "Unheard", "lines without a server end at once")
    recorder.stop()
    server.start()
    recorder = Recorder(server)
    back = time.time()
    while not any(notice.startswith("The sound is back") for notice in voice.notices):
        if time.time() - back > 10:
            break
        voice.do("sleep 100")
    want(len(voice.notices) == 2, f"one notice for each change, and no more: {voice.notices}")
    given, ending, _ = voice.say("spectator", "en-GB", "Number seven.")
    recorder.wait_for_silence(given, 2, silence=0.25)
    [(_, _, good, heard)] = understood(["Number seven.", "Number four.", "Number one."],
                                       [("spectator", "Number seven.", recorder.between(given, time.time()))])
    want(ending == "Spoken" and good, f"speech resumes, and is understood: {heard}")
    recorder.stop()


def memory_of(process):
    """Memory of a process and its children in MiB: what is theirs alone, and their share of what is not."""
    total = 0
    for pid in [process, *children(process)]:
        for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines():
            if line.startswith("Pss:"):
                total += int(line.split()[1]) / 1024
    return total


def children(process):
    found = subprocess.run(["pgrep", "-P", str(process)], capture_output=True, text=True).stdout.split()
    return [int(pid) for pid in found]


def memory(server):
    print("memory")
    used = {}
    for kind in ("silent", "speaking"):
        environment = Server(work / "nobody") if kind == "silent" else server
        voice = Voice(environment, examples / "speak", program if kind == "speaking" else work / "nothing", work / "voices")
        voice.do("sleep 1200")
        for n in range(30):
            for role in ("spectator", "prompter"):
                voice.do(f"ahead {role} en-GB Is it number {n}, or is it the {CARDS[n]}, or is it neither of them?")
        for role in ("spectator", "prompter"):
            voice.do(f"say {role} en-GB Seven of hearts.")
            voice.do("wait 5000")
        voice.do("sleep 300")
        used[kind] = memory_of(voice.process.pid)
        voice.stop()
    more = used["speaking"] - used["silent"]
    want(more < 30, f"{used['speaking']:.1f} MiB with two voices, {used['silent']:.1f} MiB silent: {more:.1f} MiB more (wanted: below 30)")


def sound_check(server):
    checked = subprocess.run([program, "--data", work / "data", "sound-check"], env=server.environment, capture_output=True, text=True)
    want(checked.returncode == 0 and "Null Output" in checked.stdout, "sound-check plays, and names the device")


def sound_check_alone():
    nobody = Server(work / "nobody")
    alone = subprocess.run([program, "--data", work / "data", "sound-check"], env=nobody.environment, capture_output=True, text=True)
    want(alone.returncode == 4 and "no sound server" in alone.stderr,
         f"sound-check without a server: {alone.stderr.splitlines()[:1]}, code {alone.returncode}")


def main():
    (work / "voices").mkdir(parents=True, exist_ok=True)
    (work / "nobody").mkdir(exist_ok=True)
    server = Server(work / "server")
    listed = everything_that_can_be_said()
    with pool() as workers:
        made = begin_to_recognise(listed, workers)
        heard = say_and_hear(listed, workers)
        end_recognising(made)
        end_hearing(*heard)
    try:
        server.start()
        recorder = Recorder(server)
        voice = Voice(server, examples / "speak", program, work / "voices")
        voice.do("sleep 500")
        latency(recorder, voice)
        clicks(recorder, voice)
        server_dies(server, recorder, voice)
        voice.stop()
        memory(server)
        sound_check(server)
    finally:
        server.stop()
    sound_check_alone()
    print(f"{len(failed)} missed")
    sys.exit(bool(failed))


if __name__ == "__main__":
    main()
