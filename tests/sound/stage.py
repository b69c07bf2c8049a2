"""A sound server of our own with a null sink, a recorder at its monitor, and a voice on a string: for the tests with real sound.

The server runs in a folder of its own and never touches the machine's. Needs the Debian packages `pulseaudio` and `pulseaudio-utils`.
"""

import os
import signal
import subprocess
import threading
import time
from pathlib import Path

import numpy as np

RATE = 16_000

# What is quieter is silence.
LOUD = 60


def waited(processes):
    """How long all threads of these processes have waited for a processor since they began, in milliseconds, as the kernel counts it."""
    total = 0
    for process in processes:
        try:
            for thread in Path(f"/proc/{process}/task").iterdir():
                total += int((thread / "schedstat").read_text().split()[1])
        except (FileNotFoundError, ProcessLookupError):
            # It has ended, or a thread of it has.
            continue
    return total / 1e6


class Server:
    """A PulseAudio server with one null sink at 44.1 kHz stereo, as a loudspeaker would be."""

    def __init__(self, folder):
        self.folder = Path(folder)
        self.process = None
        self.environment = {
            **os.environ,
            "HOME": str(self.folder),
            "XDG_RUNTIME_DIR": str(self.folder),
            "XDG_CONFIG_HOME": str(self.folder / "config"),
            "XDG_CACHE_HOME": str(self.folder / "cache"),
            "XDG_DATA_HOME": str(self.folder / "data"),
            "PULSE_STATE_PATH": str(self.folder / "state"),
        }
        for name in ("PULSE_SERVER", "PULSE_RUNTIME_PATH", "DISPLAY"):
            self.environment.pop(name, None)

    def start(self):
        self.folder.mkdir(parents=True, exist_ok=True)
        os.chmod(self.folder, 0o700)
        socket = self.folder / "pulse" / "native"
        socket.unlink(missing_ok=True)
        with open(self.folder / "server.log", "ab") as log:
            self.process = subprocess.Popen(
                ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--disable-shm=yes", "--use-pid-file=no",
                 "-L", "module-native-protocol-unix auth-anonymous=1", "-L", "module-null-sink sink_name=stage"],
                env=self.environment, stdout=log, stderr=log)
        for _ in range(200):
            if socket.exists() and self.control("info", check=False).returncode == 0:
                return
            time.sleep(0.05)
        raise RuntimeError("the sound server did not start: " + (self.folder / "server.log").read_text())

    def control(self, *words, check=True):
        return subprocess.run(["pactl", *words], env=self.environment, check=check, capture_output=True, text=True)

    def kill(self):
        """Kills the server as a crash would."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()

    def stop(self):
        if self.process and self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(5)
            except subprocess.TimeoutExpired:
                self.kill()


class Recorder:
    """Records the monitor of the sink, with the time at which each piece arrived."""

    def __init__(self, server, latency=5):
        log = open(server.folder / "recorder.log", "ab")
        self.process = subprocess.Popen(
            ["parec", "--device=stage.monitor", "--format=s16le", f"--rate={RATE}", "--channels=1", f"--latency-msec={latency}", "--raw"],
            env=server.environment, stdout=subprocess.PIPE, stderr=log, bufsize=0)
        log.close()
        self.pieces = []
        self.loud_at = 0.0
        self.lock = threading.Lock()
        self.thread = threading.Thread(target=self._read, daemon=True)
        self.thread.start()
        while not self.pieces:
            time.sleep(0.01)

    def _read(self):
        odd = b""
        while True:
            data = self.process.stdout.read(4096)
            now = time.time()
            if not data:
                return
            data = odd + data
            odd = data[len(data) // 2 * 2:]
            piece = np.frombuffer(data[: len(data) // 2 * 2], dtype="<i2")
            if len(piece) and np.abs(piece.astype(int)).max() >= LOUD:
                self.loud_at = now
            with self.lock:
                self.pieces.append((now, piece))

    def between(self, begin, end):
        """The samples that arrived between two times (seconds since 1970)."""
        with self.lock:
            found = [piece for at, piece in self.pieces if begin <= at <= end]
        return np.concatenate(found) if found else np.zeros(0, dtype="<i2")

    def wait_for_sound(self, begin, patience):
        """Waits until something is heard after a moment; whether it was."""
        end = time.time() + patience
        while self.loud_at < begin and time.time() < end:
            time.sleep(0.01)
        return self.loud_at >= begin

    def wait_for_silence(self, begin, patience, silence=0.9):
        """Waits until what is heard after a moment is over; no longer than patience for its beginning."""
        if self.wait_for_sound(begin, patience):
            while time.time() - self.loud_at < silence:
                time.sleep(0.01)

    def since(self, begin):
        """The samples that arrived after a moment, and when each of them did: those of a piece came with its last."""
        with self.lock:
            pieces = [(at, piece) for at, piece in self.pieces if at >= begin and len(piece)]
        ends = np.cumsum([len(piece) for _, piece in pieces])

        def arrived(place):
            piece = int(np.searchsorted(ends, place, side="right"))
            return pieces[piece][0] - (ends[piece] - place) / RATE

        return np.concatenate([piece for _, piece in pieces]), arrived

    def first_sound(self, begin, end, loud=LOUD):
        """When the first loud sample after `begin` arrived; the samples after it in its piece arrived with it."""
        with self.lock:
            pieces = [(at, piece) for at, piece in self.pieces if begin <= at <= end]
        for at, piece in pieces:
            place = np.flatnonzero(np.abs(piece.astype(int)) >= loud)
            if len(place):
                return at - (len(piece) - place[0]) / RATE
        return None

    def all(self):
        return self.between(0, float("inf"))

    def stop(self):
        self.process.terminate()
        self.process.wait()


class Voice:
    """The example `speak`, with its process."""

    def __init__(self, server, speak, program, cache):
        self.process = subprocess.Popen([speak, program, cache], env=server.environment, stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, text=True, bufsize=1)
        self.said = {}
        self.heard = {}
        self.notices = []

    def do(self, command):
        """Does a command and waits for its end; the number of the line, if it was said."""
        self.process.stdin.write(command + "\n")
        self.process.stdin.flush()
        number = None
        for told in self.process.stdout:
            words = told.split()
            if words[0] == "done":
                return number
            if words[0] == "said":
                number = int(words[1])
                self.said[number] = int(words[2]) / 1e9
            elif words[0] == "heard":
                self.heard[int(words[1])] = (words[2], int(words[3]) / 1e9)
            elif words[0] == "notice":
                self.notices.append(told[7:].strip())
        raise RuntimeError("the voice ended early")

    def say(self, role, lang, text, wait=20_000):
        """Says a line to its end: when it was given, how and when it ended."""
        number = self.do(f"say {role} {lang} {text}")
        self.do(f"wait {wait}")
        self.do("sleep 30")
        return self.said[number], *self.heard[number]

    def stop(self):
        self.process.stdin.close()
        self.process.wait(10)
