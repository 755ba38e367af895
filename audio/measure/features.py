"""What is kept of every short-time frame: small enough for hours, enough for onsets, beats, phrases, energy and key."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from audio.arrays import F32
from audio.measure.spectrum import FRAME, HOP, RATE, Spectrum, mel_weights

BANDS = 40
CHROMA_FRAME = 8192
CHROMA_HOP = 4096
CHROMA_PER_S = RATE / CHROMA_HOP
_FLATNESS_HZ = np.geomspace(150, 9000, 25)
_FLOOR = 1e-10  # power below which a band counts as silent: -100 dB


@dataclass(frozen=True, slots=True, eq=False)
class Features:
    """Frame values of one track; frame k of the first five is centred on k * 256 / 22050 s, shape (frames,).

    Power is that of the spectrum as `Spectrum` gives it, not scaled to samples: only ratios and differences tell.

    bands: power of 40 mel bands in dB, shape (frames, 40), float16 to save memory; silence reads -100.
    power: sum of the squared magnitudes: the frame's mean square, Hann window applied, times 2^19.
    entropy: spectral entropy of the magnitudes over its maximum, 0 (a tone, silence) to 1 (white noise).
    flux: Euclidean length of what was added to the spectrum, both spectra of sum 1, since 23 ms before, 0 to 1.
    treble: the part of `power` above 4 kHz.
    chroma: power of the 12 pitch classes from C, tuning folded in, shape (n, 12), every 186 ms.
    flatness: geometric over arithmetic mean of the power inside narrow bands, shape (n,), beside the chroma: about
        0.56 for any noise, whatever its colour (exp of minus Euler's constant), far less for tones; silence reads 1.
    """

    bands: NDArray[np.float16]
    power: F32
    entropy: F32
    flux: F32
    treble: F32
    chroma: F32
    flatness: F32


class FeatureStream:
    """Takes the mono stream at 22.05 kHz, keeps the features."""

    def __init__(self) -> None:
        self._spectrum = Spectrum(FRAME, HOP)
        self._mel = mel_weights(RATE, FRAME, BANDS, 30.0)
        self._treble = np.fft.rfftfreq(FRAME, 1 / RATE) >= 4000
        self._before = np.zeros((2, FRAME // 2 + 1), np.float32)
        self._kept: list[tuple[F32, ...]] = []
        self._chroma_spectrum = Spectrum(CHROMA_FRAME, CHROMA_HOP)
        self._chroma_map = _chroma_map()
        self._chroma: list[F32] = []
        self._flatness: list[F32] = []

    def feed(self, samples: F32) -> None:
        """Take the next samples, shape (n,), full scale 1.0, some seconds at a time."""
        self._keep(self._spectrum.feed(samples))
        self._keep_fine(np.square(self._chroma_spectrum.feed(samples)))

    def end(self) -> Features:
        """All features, after the last samples."""
        self._keep(self._spectrum.end())
        self._keep_fine(np.square(self._chroma_spectrum.end()))
        bands, power, entropy, flux, treble = (np.concatenate(part) for part in zip(*self._kept, strict=True))
        return Features(
            bands, power, entropy, flux, treble, np.concatenate(self._chroma), np.concatenate(self._flatness)
        )

    def _keep_fine(self, power: F32) -> None:
        self._chroma.append(power @ self._chroma_map)
        self._flatness.append(_flatness(power))

    def _keep(self, magnitude: F32) -> None:
        square = np.square(magnitude)
        share = shares(magnitude)
        entropy = -(share * np.log2(share + 1e-12)).sum(axis=1) / np.log2(share.shape[1])
        flux = flux_of(share, self._before)
        self._before = np.concatenate((self._before, share))[-2:]
        power = square.sum(axis=1)
        bands = 10 * np.log10(square @ self._mel + _FLOOR)
        treble = square[:, self._treble].sum(axis=1)
        self._kept.append((bands.astype(np.float16), power, entropy, flux, treble))


def shares(magnitude: F32) -> F32:
    """Spectra of sum 1; silence stays 0.

    Args:
        magnitude: shape (frames, bins), 0 or more.
    Returns:
        the same shape.

    >>> shares(np.array([[1, 3], [0, 0]], np.float32)).tolist()
    [[0.25, 0.75], [0.0, 0.0]]
    """
    share: F32 = magnitude / np.maximum(magnitude.sum(axis=1, keepdims=True), 1e-9)
    return share


def flux_of(share: F32, before: F32) -> F32:
    """How much was added to each of some spectra of sum 1 since two frames earlier.

    Args:
        share: spectra of sum 1, shape (frames, bins).
        before: the two spectra that went before, shape (2, bins).
    Returns:
        Euclidean length of what was added, 0 to 1, shape (frames,).
    """
    added = np.maximum(0, share - np.concatenate((before, share))[: len(share)])
    flux: F32 = np.sqrt(np.square(added).sum(axis=1))
    return flux


def _flatness(power: F32) -> F32:
    # Mean over the bands, each weighted by how far it stands above -40 dB of the loudest.
    edges = np.searchsorted(np.fft.rfftfreq(CHROMA_FRAME, 1 / RATE), _FLATNESS_HZ)
    width = np.diff(edges)
    part = power[:, edges[0] : edges[-1]] + np.float32(1e-12)
    starts = edges[:-1] - edges[0]
    mean = np.add.reduceat(part, starts, axis=1) / width
    flat = np.exp(np.add.reduceat(np.log(part), starts, axis=1) / width) / mean
    level = 10 * np.log10(mean)
    weight = np.maximum(0, level - level.max(axis=1, keepdims=True) + 40)
    mean_flatness: F32 = ((flat * weight).sum(axis=1) / weight.sum(axis=1)).astype(np.float32)
    return mean_flatness


def _chroma_map() -> F32:
    # Each bin's power goes to its nearest semitone from C2 to C7, weighted by how near it lies.
    hertz = np.fft.rfftfreq(CHROMA_FRAME, 1 / RATE)
    note = 12 * np.log2(np.maximum(hertz, 1.0) / 440.0) + 69
    near = np.round(note)
    weight = np.exp(-0.5 * ((note - near) / 0.25) ** 2) * ((near >= 36) & (near <= 96))
    table = np.zeros((len(hertz), 12), np.float32)
    table[np.arange(len(hertz)), near.astype(int) % 12] = weight
    return table
