"""The class as it is heard: worked out from a set without writing a file, or read again from one that was written."""

from pathlib import Path

from audio.files.decode import Decoder
from audio.measure.loudness import Loudness, Meter, weights_of
from audio.progress import Progress
from audio.render.forecast import forecast
from audio.render.tenths import in_tenths, powers_of
from pairing.sets import mixdown
from pairing.sets.heard import ClassSound, as_heard
from pairing.workflow.byhand import sound_of
from pairing.workflow.sets import SetFile


def sound_of_set(found: SetFile, progress: Progress | None = None) -> ClassSound:
    """How a set will be heard.

    Args:
        progress: told recordings done, recordings in all, and which one is listened to.
    Raises:
        SetError: a recording is nowhere to be found; names it. AudioError: one can't be read.

    The first time a recording is asked for it is read whole; what was measured is remembered.
    """
    paths = {span.path: None for span in mixdown.spans(found.setlist, found.path.absolute().parent, found.tracks)}
    for done, path in enumerate(paths):
        if progress:
            progress(done, len(paths), path.name)
        powers_of(path)
    mix = sound_of(found)
    return as_heard(found.setlist, forecast(mix.spans, mix.duration_s, mix.sounds), found.tracks)


def sound_of_mix(found: SetFile, loudness: Loudness) -> ClassSound:
    """How a set is heard in a mix, by the loudness of all of it."""
    return as_heard(found.setlist, in_tenths(loudness.power), found.tracks)


def sound_of_file(found: SetFile, path: Path) -> ClassSound:
    """How a set is heard in a file that was written of it.

    Raises:
        AudioError: it can't be read.
    """
    with Decoder(path) as decoder:
        meter = Meter(decoder.rate, weights_of(decoder.layout))
        for block in decoder.blocks():
            meter.feed(block.samples)
    return sound_of_mix(found, meter.read())
