"""Closed-grammar recognition with the PyPI package pocketsphinx, whose wheel carries an English model: the recogniser knows the
possible phrases and nothing else, and says which of them it heard."""

import re
import tempfile

import numpy as np
import pocketsphinx

RATE = 16_000

# Words of the routines that the model's dictionary lacks, in its own phones. Written from the sound of the word.
MISSING = {}


def words(text):
    """The words of a phrase as the dictionary has them."""
    return re.sub(r"[^a-z' ]+", " ", text.lower().replace("-", " ")).split()


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
        unknown = sorted(wanted - known - set(MISSING))
        if unknown:
            raise SystemExit(f"these words are in no dictionary; add them to MISSING: {unknown}")
        self.file = tempfile.NamedTemporaryFile("w", suffix=".dict", encoding="utf-8")
        self.file.writelines(line for line in lines if line.split()[0].split("(")[0] in wanted)
        for word in sorted(wanted & set(MISSING)):
            for i, sound in enumerate(MISSING[word]):
                self.file.write(f"{word}{f'({i + 1})' if i else ''} {sound}\n")
        self.file.flush()
        self.decoder = pocketsphinx.Decoder(hmm=model("en-us/en-us"), dict=self.file.name, lm=None, loglevel="FATAL", samprate=RATE)
        grammar = "#JSGF V1.0;\ngrammar stage;\npublic <line> = " + " | ".join(sorted(self.phrases)) + " ;\n"
        self.decoder.add_jsgf_string("stage", grammar)
        self.decoder.activate_search("stage")

    def hear(self, samples):
        """The phrase that was heard, spelled as `words` spells it; empty if none."""
        quiet = np.zeros(RATE // 4, dtype="<i2")
        sound = np.concatenate([quiet, samples.astype("<i2"), quiet])
        self.decoder.start_utt()
        self.decoder.process_raw(sound.tobytes(), False, True)
        self.decoder.end_utt()
        heard = self.decoder.hyp()
        return heard.hypstr.strip() if heard else ""
