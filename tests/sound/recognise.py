"""Closed-grammar recognition with the PyPI package pocketsphinx, whose wheel carries an English model: the recogniser knows the
possible phrases and nothing else, and says which of them it heard."""

import multiprocessing
import os
import re
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pocketsphinx

RATE = 16_000

# Words of the routines that the model's dictionary lacks, in its own phones, and words that British speakers say in a way
# the American dictionary does not have. Written from the sound of the word.
MISSING = {
    "councillors": ["K AW N S AH L ER Z"],
    "inwards": ["IH N W ER D Z"],
    "nought": ["N AO T"],
    "overhand": ["OW V ER HH AE N D"],
    "tidied": ["T AY D IY D"],
}
BRITISH = {
    "oh": ["AH UH", "ER UH"],
    "hers": ["HH AH Z"],
}

# What the recogniser gives up too early at its usual beams is listened to once more with these.
PATIENT = {"beam": 1e-80, "wbeam": 1e-60, "pbeam": 1e-80}


def words(text):
    """The words of a phrase as the dictionary has them."""
    return re.sub(r"[^a-z' ]+", " ", text.lower().replace("-", " ")).split()


def stand_back():
    """Leaves the processors to whatever must be in time. Processes are weighed by session first where the kernel groups them so, and only
    then by how nice they are."""
    os.setsid()
    os.nice(19)
    try:
        Path("/proc/self/autogroup").write_text("19")
    except OSError:
        # This kernel does not group them.
        pass


def pool():
    """Recognisers at work on two processors, behind everything that must be in time."""
    context = multiprocessing.get_context("forkserver")
    return ProcessPoolExecutor(2, mp_context=context, initializer=stand_back)


class Recogniser:
    def __init__(self, phrases):
        self.phrases = {}
        for phrase in phrases:
            spelled = " ".join(words(phrase))
            if spelled:
                self.phrases.setdefault(spelled, phrase)
        model = pocketsphinx.get_model_path
        known = set()
        with open(model("en-us/cmudict-en-us.dict"), encoding="utf-8") as entries:
            lines = entries.readlines()
        for line in lines:
            known.add(line.split()[0].split("(")[0])
        wanted = {word for spelled in self.phrases for word in spelled.split()}
        unknown = wanted - known - set(MISSING)
        # A phrase with a word that the model has never heard of cannot be understood; it counts as not understood.
        self.phrases = {spelled: phrase for spelled, phrase in self.phrases.items() if not unknown & set(spelled.split())}
        for word in sorted(unknown):
            print(f"    the dictionary lacks {word}: add its sounds to MISSING in recognise.py")
        self.file = tempfile.NamedTemporaryFile("w", suffix=".dict", encoding="utf-8")
        self.file.writelines(line for line in lines if line.split()[0].split("(")[0] in wanted)
        for word in sorted(wanted & (MISSING.keys() | BRITISH.keys())):
            first = 2 if word in known else 1
            for i, sound in enumerate(MISSING.get(word, []) + BRITISH.get(word, []), first):
                self.file.write(f"{word}{f'({i})' if i > 1 else ''} {sound}\n")
        self.file.flush()
        self.model = model("en-us/en-us")
        self.quick, self.patient, self.several = self._decoder(self.phrases, {}), None, None

    def _decoder(self, phrases, beams, most=1, then=None):
        decoder = pocketsphinx.Decoder(hmm=self.model, dict=self.file.name, lm=None, loglevel="FATAL", samprate=RATE, **beams)
        rest = {" ".join(words(phrase)) for phrase in then or []} & self.phrases.keys()
        grammar = "#JSGF V1.0;\ngrammar stage;\n<line> = " + " | ".join(sorted(phrases)) + " ;\n"
        grammar += "<rest> = " + " | ".join(sorted(rest)) + " ;\n" if rest else ""
        more = " [<rest>" if rest else " [<line>"
        grammar += "public <turn> = <line>" + more * (most - 1) + "]" * (most - 1) + " ;\n"
        decoder.add_jsgf_string("stage", grammar)
        decoder.activate_search("stage")
        return decoder

    def hear_all(self, samples, then=None, most=3):
        """What was heard where up to so many phrases may follow one another, spelled as `words` spells them; after the first, those of
        `then`, if there are such."""
        self.several = self.several or self._decoder(self.phrases, {}, most, then)
        loud = np.flatnonzero(np.abs(samples.astype(int)) > 1000)
        if not len(loud):
            return ""
        samples = samples[max(0, loud[0] - RATE // 5):loud[-1] + RATE // 5]
        return self._listen(self.several, samples) or self.hear(samples)

    def hear(self, samples):
        """The phrase that was heard, spelled as `words` spells it; empty if none."""
        heard = self._listen(self.quick, samples)
        if heard in self.phrases:
            return heard
        self.patient = self.patient or self._decoder(self.phrases, PATIENT)
        heard, left = self._listen(self.patient, samples), set(self.phrases)
        for _ in range(5):
            # It may have followed a longer phrase to where the sound ended. Those that begin so were not said: they go on.
            left = {phrase for phrase in left if not phrase.startswith(heard + " ")}
            if heard in self.phrases or not heard or not left:
                break
            heard = self._listen(self._decoder(left, PATIENT), samples)
        return heard

    @staticmethod
    def _listen(decoder, samples):
        quiet = np.zeros(RATE // 4, dtype="<i2")
        sound = np.concatenate([quiet, samples.astype("<i2"), quiet])
        decoder.start_utt()
        decoder.process_raw(sound.tobytes(), False, True)
        decoder.end_utt()
        heard = decoder.hyp()
        return heard.hypstr.strip() if heard else ""
