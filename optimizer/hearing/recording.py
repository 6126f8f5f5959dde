"""Recordings as they lie in files: WAV, FLAC, OGG, to one channel at one rate, in bounded memory.

Read by libsndfile in blocks, whatever the file's name says. Of several channels the loudest is heard, as the sum of two
may cancel. How much of the sound stands at full scale is kept beside it, in steps.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import scipy
import soundfile

from acoustics.arrays import Array
from optimizer.project.faults import Fault
from optimizer.words import clock, cut

RATE = 22_050
"""Samples a second that everything is heard at: partials up to 10 kHz."""

STEP = 220
"""Samples from one figure of a track to the next, 10 ms."""

MOST_MINUTES = 30
MOST_BYTES = 500_000_000
LEAST_RATE, MOST_RATE = 16_000, 192_000
MOST_CHANNELS = 8
FULL_SCALE = 0.999
MOST_CLIPPED = 0.02
"""Share of a file's samples at full scale above which nothing of it is worth hearing."""

SILENT = 10.0 ** (-70.0 / 20.0)
"""Root mean square of a file's loudest tenth below which nobody plays in it, of full scale 1."""

OPPOSED = -0.5
"""Correlation of two channels below which they are told to cancel each other."""

BLOCK_SECONDS = 4
KINDS = ("WAV", "WAVEX", "RF64", "FLAC", "OGG", "AIFF", "MP3")
SUFFIXES = {"wav": ("WAV", "WAVEX", "RF64"), "flac": ("FLAC",), "ogg": ("OGG",), "mp3": ("MP3",), "aiff": ("AIFF",)}


class RecordingError(Fault):
    """A recording that cannot be heard; the message says which and why."""


@dataclass(frozen=True)
class Recording:
    """One channel of a recording.

    Attributes
    ----------
    source : name of its file
    samples : (n,) at `RATE`, full scale 1
    clipped : (n / STEP,) share of the file's samples at full scale in each step
    remarks : what is odd about the file, in sentences
    """

    source: str
    samples: Array
    clipped: Array
    remarks: list[str] = field(default_factory=list)

    @property
    def seconds(self) -> float:
        """How long it is [s]."""
        return len(self.samples) / RATE


@dataclass
class _Sums:
    """What is summed over a file's channels."""

    energy: Array
    products: float
    count: int
    clipped: int


def read_recording(path: Path) -> Recording:
    """The loudest channel of a sound file.

    Parameters
    ----------
    path : of the file

    Raises
    ------
    RecordingError
        for a file that is none, is damaged, too long, too coarse, silent or clipped throughout
    """
    name = cut(path.name)
    try:
        _bounded(path, name)
        with soundfile.SoundFile(path) as file:
            remarks = _looked_at(file, path, name)
            sums = _summed(file, name)
            loudest = int(np.argmax(sums.energy))
            file.seek(0)
            samples, clipped = _resampled(file, loudest, sums.count)
    except soundfile.SoundFileError as error:
        raise RecordingError(f"{name} {_no_sound(path)} ({cut(str(error))})") from None
    except OSError as error:
        raise RecordingError(f"{name} cannot be read: {error.strerror or error}") from None
    if sums.clipped > MOST_CLIPPED * sums.count:
        share = 100.0 * sums.clipped / sums.count
        raise RecordingError(
            f"{name} is clipped: {share:.0f} % of it stands at full scale; record it anew with less gain, or from "
            "farther off"
        )
    _loud_enough(samples, name)
    remarks += _channels_told(sums, loudest, name)
    return Recording(name, samples, clipped, remarks)


def _bounded(path: Path, name: str) -> None:
    """Refuse what is no file of a bearable size."""
    if path.is_dir():
        raise RecordingError(f"{name} is a folder; name the recordings in it")
    if not path.exists():
        raise RecordingError(f"there is no recording {path}")
    size = path.stat().st_size
    if size == 0:
        raise RecordingError(f"{name} is empty: the recorder has kept nothing")
    if size > MOST_BYTES:
        raise RecordingError(
            f"{name} has {size / 1e6:.0f} MB and at most {MOST_BYTES / 1e6:.0f} are read; cut it into several takes"
        )


def _looked_at(file: soundfile.SoundFile, path: Path, name: str) -> list[str]:
    """What is odd about a file that can be opened; refuses what is too long, too coarse or of no use."""
    if file.format not in KINDS:
        raise RecordingError(f"{name} is a {file.format} file; save it as WAV, FLAC or OGG")
    if not LEAST_RATE <= file.samplerate <= MOST_RATE:
        worse = file.samplerate < LEAST_RATE
        why = "as in a telephone, too few for the partials that tell a pitch best" if worse else "more than are read"
        wanted = "44 100 or 48 000"
        raise RecordingError(f"{name} has {file.samplerate} samples a second, {why}; record at {wanted}")
    if file.channels > MOST_CHANNELS:
        raise RecordingError(f"{name} has {file.channels} channels; save it with one or two")
    if file.frames == 0:
        raise RecordingError(f"{name} holds no sound: its length is 0")
    if file.frames > MOST_MINUTES * 60 * file.samplerate:
        told = clock(min(file.frames / file.samplerate, 1e6))
        raise RecordingError(
            f"{name} lasts {told}, and at most {MOST_MINUTES} minutes are heard in one; cut it into several takes"
        )
    named = path.suffix.lower().lstrip(".")
    if named in SUFFIXES and file.format not in SUFFIXES[named]:
        return [f"{name} is {file.format} by what is in it, whatever its name says; it was read as that"]
    return []


def _no_sound(path: Path) -> str:
    """Why a file cannot be opened, as far as its first bytes tell."""
    with path.open("rb") as file:
        head = file.read(12)
    if head[4:8] == b"ftyp":
        return "is an M4A or MP4 file, which is not read; let the recorder save WAV, or convert it to FLAC"
    if head[:4] in (b"RIFF", b"fLaC", b"OggS", b"RF64"):
        return "is damaged, or cut off before its first sound"
    return "is no sound file; WAV, FLAC and OGG are read"


def _blocks(file: soundfile.SoundFile, length: int) -> Iterator[Array]:
    """Blocks of a file, shape (frames, channels), no more than may be heard in all."""
    left = int(MOST_MINUTES * 60 * file.samplerate) + 1
    while left > 0:
        block = file.read(min(length, left), dtype="float32", always_2d=True)
        if not len(block):
            return
        left -= len(block)
        yield block


def _summed(file: soundfile.SoundFile, name: str) -> _Sums:
    """Energy of each channel, how the first two go together, and what stands at full scale."""
    sums = _Sums(np.zeros(file.channels), 0.0, 0, 0)
    for block in _blocks(file, int(BLOCK_SECONDS * file.samplerate)):
        if not np.isfinite(block).all():
            raise RecordingError(f"{name} holds values that are no numbers; save it anew as 16- or 24-bit WAV")
        sums.energy += np.sum(block.astype(float) ** 2, axis=0)
        if file.channels > 1:
            sums.products += float(np.sum(block[:, 0].astype(float) * block[:, 1]))
        sums.count += len(block)
        sums.clipped += int(np.max(np.sum(np.abs(block) >= FULL_SCALE, axis=0)))
    if sums.count == 0:
        raise RecordingError(f"{name} is damaged, or cut off before its first sound")
    return sums


def _resampled(file: soundfile.SoundFile, channel: int, frames: int) -> tuple[Array, Array]:
    """One channel of so many frames at `RATE`, (n,), and the share of it at full scale in each step; by blocks that
    overlap, so that no seam is left."""
    common = math.gcd(RATE, file.samplerate)
    up, down = RATE // common, file.samplerate // common
    edge = down * math.ceil(10.0 * max(up, down) / up / down + 1.0)
    length = down * max(1, round(BLOCK_SECONDS * file.samplerate / down))
    blocks = (np.ascontiguousarray(block[:, channel]) for block in _blocks(file, length))
    steps = math.ceil(math.ceil(frames * up / down) / STEP)
    parts, full, begun, before = list[Array](), np.zeros(steps), 0, np.zeros(edge, np.float32)
    block: Array | None = next(blocks)
    following = next(blocks, None)
    while block is not None:
        after = np.zeros(edge, np.float32) if following is None else following[:edge]
        long = scipy.signal.resample_poly(np.concatenate([before, block, after]), up, down)
        start = edge // down * up
        parts.append(long[start : start + math.ceil(len(block) * up / down)].astype(np.float32))
        at = begun + np.flatnonzero(np.abs(block) >= FULL_SCALE)
        full += np.bincount(np.minimum(at * steps // frames, steps - 1), minlength=steps)
        begun += len(block)
        before = np.concatenate([before, block])[-edge:]
        block, following = following, next(blocks, None)
    return np.concatenate(parts), full * (steps / frames)


def _loud_enough(samples: Array, name: str) -> None:
    if len(samples) < STEP or np.quantile(levels(samples), 0.9) < SILENT:
        raise RecordingError(f"{name} is silent; was the right microphone on?")


def levels(samples: Array) -> Array:
    """Root mean square of every step, from samples (n,), shape (n // STEP,)."""
    steps = len(samples) // STEP
    rows = samples[: steps * STEP].reshape(steps, STEP)
    return np.sqrt(np.einsum("ij,ij->i", rows, rows, dtype=float) / STEP)


def _channels_told(sums: _Sums, loudest: int, name: str) -> list[str]:
    if len(sums.energy) < 2:
        return []
    both = math.sqrt(float(sums.energy[0] * sums.energy[1]))
    if both and sums.products < OPPOSED * both:
        return [f"the two channels of {name} cancel each other; channel {loudest + 1} alone was heard, the louder one"]
    return []
