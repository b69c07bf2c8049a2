"""The short sounds of a rehearsal, found in a recording by their shape: they are no words, and a recogniser that knows nothing but
phrases would hear one in each."""

import wave
from pathlib import Path

import numpy as np

from stage import RATE

# From this on a piece of a recording is a cue: 1.0 is the cue itself, louder or quieter. A cue under speech stays far below.
ALIKE = 0.8


class Cues:
    """The cues of a folder: WAV files of one channel at the rate of the recordings."""

    def __init__(self, folder):
        self.shapes = {}
        for path in sorted(Path(folder).glob("*.wav")):
            with wave.open(str(path)) as file:
                if (file.getframerate(), file.getnchannels(), file.getsampwidth()) != (RATE, 1, 2):
                    raise SystemExit(f"{path.name} is not what recordings are compared with")
                self.shapes[path.stem] = np.frombuffer(file.readframes(file.getnframes()), "<i2").astype(float)
        if not self.shapes:
            raise SystemExit(f"there are no cues in {folder}")

    def heard(self, samples):
        """Each cue in a recording with its name and its first and last place, in the order of time."""
        samples = samples.astype(float)
        found = []
        for name, shape in self.shapes.items():
            alike = likeness(samples, shape)
            while len(alike) and alike.max() >= ALIKE:
                begin = int(alike.argmax())
                found.append((begin, begin + len(shape), name))
                alike[max(0, begin - len(shape)):begin + len(shape)] = 0
        return [(name, begin, end) for begin, end, name in sorted(found)]

    @staticmethod
    def without(samples, heard):
        """A recording with silence where cues are."""
        samples = samples.copy()
        for _, begin, end in heard:
            samples[begin:end] = 0
        return samples


def likeness(samples, shape):
    """At each place of a recording, how much what begins there is like a shape, whatever the volume: from -1 to 1."""
    count = len(samples) - len(shape) + 1
    if count <= 0:
        return np.zeros(0)
    size = 1 << (len(samples) + len(shape)).bit_length()
    product = np.fft.irfft(np.fft.rfft(samples, size) * np.conj(np.fft.rfft(shape, size)), size)[:count]
    energy = np.concatenate([[0], np.cumsum(samples ** 2)])
    energy = energy[len(shape):] - energy[:count]
    # Next to silence is like nothing.
    floor = len(shape)
    return product / np.sqrt(np.maximum(energy, floor) * (shape ** 2).sum())
