"""Everything about sound that needs a real server and ears: run by `.ci/run`.

    python check.py PROGRAM EXAMPLES WORK

PROGRAM is the release binary, EXAMPLES the folder of the release examples (`speak`, `phrases`, `make_speech`), WORK an empty
folder. Needs the Debian packages `pulseaudio` and `pulseaudio-utils`, and the PyPI packages `pocketsphinx` and `numpy`.

Each figure is printed beside what is wanted; one that misses fails the run.
"""

import subprocess
import sys
import time
from collections import defaultdict
from pathlib import Path

import numpy as np

from recognise import Recogniser, words
from stage import RATE, Recorder, Server, Voice

program, examples, work = (Path(word).resolve() for word in sys.argv[1:4])
failed = []


def want(true, said):
    print(("  ok      " if true else "  MISSED  ") + said, flush=True)
    if not true:
        failed.append(said)


VALUES = "ace two three four five six seven eight nine ten jack queen king".split()
SUITS = "clubs hearts spades diamonds".split()
CARDS = [f"{value} of {suit}" for suit in SUITS for value in VALUES]


def understood(recogniser, samples, phrase):
    heard = recogniser.hear(samples)
    return heard == " ".join(words(phrase)), heard


def everything_that_can_be_said():
    """All phrases straight from the speech process, faster than they could be played."""
    print("every phrase of the shipped English routines, and every card in both English voices, from the speech process")
    listed = subprocess.run([examples / "phrases", "24"], check=True, capture_output=True, text=True).stdout.splitlines()
    for who in ("spectator", "prompter"):
        listed += [f"cards\t{who}\ten-GB\t{card}" for card in CARDS]
    told = subprocess.run([examples / "make_speech", program, work], input="\n".join(listed) + "\n", check=True,
                          capture_output=True, text=True).stdout.splitlines()
    *rows, total = told
    if len(rows) != len(listed):
        raise SystemExit("a phrase was not made")
    by_routine = defaultdict(list)
    for number, line in enumerate(listed):
        routine, who, _, phrase = line.split("\t")
        by_routine[routine].append((number, who, phrase))
    right = count = cards_right = 0
    for routine, phrases in by_routine.items():
        # The recogniser knows all phrases of the routine, and all cards: whatever it hears, it must tell it from those.
        recogniser = Recogniser([phrase for _, _, phrase in phrases] + CARDS)
        missed = []
        for number, who, phrase in phrases:
            samples = np.fromfile(work / f"{number}.level.raw", dtype="<i2")
            good, heard = understood(recogniser, samples, phrase)
            if good:
                right += routine != "cards"
                cards_right += routine == "cards"
            else:
                missed.append((who, phrase, heard))
            count += routine != "cards"
        print(f"    {routine}: {len(phrases) - len(missed)} of {len(phrases)}")
        for who, phrase, heard in missed:
            print(f"      the {who} said   {phrase}\n      and was heard as {heard or 'nothing'}")
    want(right >= 0.98 * count, f"{right} of {count} phrases understood ({100 * right / count:.1f} %; wanted: 98 %)")
    want(cards_right == 104, f"{cards_right} of 104 cards understood, 52 in each voice (wanted: all)")
    runs = [row.split() for row in rows]
    made, played = (max(int(row[i]) for row in runs) for i in (1, 2))
    want(made < 2 and played == 0, f"longest run at full scale: {made} as made, {played} as played (wanted: no run)")
    loud = [float(row[3]) for row in runs]
    want(max(loud) - min(loud) <= 3, f"loudness from {min(loud):.1f} to {max(loud):.1f} LUFS (EBU R 128; wanted: within 3 LU)")
    _, seconds, taken, processes = total.split()
    pace = float(seconds) / float(taken)
    want(pace >= 100, f"{seconds} s of speech made in {taken} s: {pace:.0f} times as fast as it is spoken (wanted: 100)")
    want(processes == "1", f"{processes} speech process (wanted: 1, which never died)")
    return listed


def say_and_hear(server, listed):
    """What spectators say, and every card, through the server: recorded at the monitor of its sink."""
    print("through the sound server, recorded at the monitor of its sink")
    recorder = Recorder(server)
    voice = Voice(server, examples / "speak", program, work / "voices")
    time.sleep(0.5)
    chosen = [("cards", "spectator", card) for card in CARDS]
    for line in listed:
        routine, who, _, phrase = line.split("\t")
        if who == "spectator" and routine != "cards":
            chosen.append((routine, who, phrase))
    # All questions that the prompter asks in one routine, and some of what it says in the others: the rest is heard above, and
    # playing it takes as long as saying it.
    prompted = [line.split("\t") for line in listed if "\tprompter\t" in line and not line.startswith("cards")]
    one = prompted[0][0]
    for number, (routine, who, _, phrase) in enumerate(prompted):
        if (routine == one and phrase.endswith("?")) or (number % 15 == 0 and len(phrase) < 80):
            chosen.append((routine, who, phrase))
    spoken = defaultdict(list)
    for line in listed:
        routine, who, _, phrase = line.split("\t")
        spoken["cards" if who == "spectator" else routine].append(phrase)
        spoken[routine].append(phrase)
    recognisers = {routine: Recogniser(phrases + CARDS) for routine, phrases in spoken.items()}
    right, missed = defaultdict(int), []
    asked = defaultdict(int)
    for routine, who, phrase in chosen:
        given, ending, end = voice.say(who, "en-GB", phrase)
        if ending != "Spoken":
            raise SystemExit(f"{phrase}: {ending}")
        kind = "cards" if routine == "cards" else "phrases"
        asked[kind] += 1
        good, heard = understood(recognisers[routine], recorder.between(given, end + 0.15), phrase)
        right[kind] += good
        if not good:
            missed.append(f"      the {who} said   {phrase}\n      and was heard as {heard or 'nothing'}")
    print("\n".join(missed))
    cards = asked["cards"]
    want(cards >= 52 and right["cards"] == cards, f"{right['cards']} of {cards} cards understood at the monitor (wanted: all)")
    share = right["phrases"] / asked["phrases"]
    want(share >= 0.98, f"{right['phrases']} of {asked['phrases']} phrases at the monitor ({100 * share:.1f} %; wanted: 98 %)")
    # Cues under speech, as loud as it gets.
    for cue in ("ask", "right", "wrong", "time", "ready", "done"):
        voice.do("say spectator en-GB I'll take the seven of hearts.")
        voice.do(f"cue {cue}")
        voice.do("wait 5000")
    peak = int(np.abs(recorder.all().astype(int)).max())
    want(peak < 32_767, f"loudest sample at the monitor {peak} (wanted: below full scale, 32767)")
    return recorder, voice


def latency(recorder, voice):
    """From the moment a line is given to its first sample at the monitor; the recorder's own delay is in the figure."""
    print("from the wish to the first sample at the monitor")
    for kind, limit in (("ahead", 150), ("fresh", 250)):
        measured = []
        for n in range(40):
            phrase = f"{'Number' if kind == 'ahead' else 'Chair'} {n + 20}."
            if kind == "ahead":
                voice.do(f"ahead spectator en-GB {phrase}")
                voice.do("sleep 120")
            number = voice.do(f"say spectator en-GB {phrase}")
            voice.do("sleep 300")
            voice.do("hush")
            voice.do("sleep 320")
            first = recorder.first_sound(voice.said[number], time.time())
            if first is None:
                raise SystemExit(f"nothing was heard of {phrase}")
            measured.append(1000 * (first - voice.said[number]))
        most = float(np.percentile(measured, 99))
        made = "made ahead" if kind == "ahead" else "not made ahead"
        want(most < limit, f"{made}: median {np.median(measured):.0f} ms, 99 of 100 within {most:.0f} ms (wanted: {limit} ms)")


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
    voice.do("sleep 700")
    want(voice.heard.get(cut, [""])[0] == "Unheard", "the line ends at once")
    silent = voice.do("say spectator en-GB Number seven.")
    voice.do("sleep 200")
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
    given, ending, end = voice.say("spectator", "en-GB", "Number seven.")
    recogniser = Recogniser(["Number seven.", "Number four.", "Number one."] + CARDS)
    good, heard = understood(recogniser, recorder.between(given, end + 0.15), "Number seven.")
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
        (work / "nobody").mkdir(exist_ok=True)
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


work.mkdir(parents=True, exist_ok=True)
(work / "voices").mkdir(exist_ok=True)
server = Server(work / "server")
try:
    listed = everything_that_can_be_said()
    server.start()
    recorder, voice = say_and_hear(server, listed)
    latency(recorder, voice)
    clicks(recorder, voice)
    server_dies(server, recorder, voice)
    voice.stop()
    memory(server)
    checked = subprocess.run([program, "--data", work / "data", "sound-check"], env=server.environment, capture_output=True, text=True)
    want(checked.returncode == 0 and "Null Output" in checked.stdout, "sound-check plays, and names the device")
finally:
    server.stop()
alone = subprocess.run([program, "--data", work / "data", "sound-check"], env=server.environment, capture_output=True, text=True)
want(alone.returncode == 4 and "no sound server" in alone.stderr, f"sound-check without a server: {alone.stderr.splitlines()[:1]}, code {alone.returncode}")
print(f"{len(failed)} missed")
sys.exit(bool(failed))
