"""The class as it is heard, a line a section, in words."""

import math
from collections.abc import Sequence

from audio.text import clock
from pairing.model import Kind
from pairing.sets.heard import ClassSound, SectionSound
from pairing.show.screen import rendered, safe
from pairing.show.tables import table
from pairing.show.text import counted, length
from pairing.show.words import NO_VOICE, temper, voice

AS_LOUD_LU = 1.0  # differences below are nothing; editorial
# From how many LU on, the word; 10 are heard as half or twice as loud (Stevens' sone scale, ISO 532-1).
DEGREES = ((8.0, "much "), (3.0, ""), (0.0, "a little "))
MOST_RISE_LU = 3.0  # within 3 s, as in a rest (`pairing.checks.heard`); editorial elsewhere
SILENT_S = 1.0
GOES_ON_S = 30.0  # what sounds on for longer is no tail, it simply plays; editorial


def sound_lines(sound: ClassSound) -> dict[int, str]:
    """What is heard of each section in one line of words, by its index in the set."""
    against = _loud_part(sound.sections)
    return {section.section: _line(section, against) for section in sound.sections}


def sound_text(sound: ClassSound, *, numbers: bool = False) -> str:
    """The class as it is heard, a row a section, in words; in figures on demand, with how loud all of it is."""
    if numbers:
        return _in_figures(sound)
    rows, against = table("at>", "section", "as heard"), _loud_part(sound.sections)
    for section in sound.sections:
        rows.add_row(clock(section.start_s), safe(section.name, "bold"), safe(_line(section, against)))
    return rendered(rows)


def _in_figures(sound: ClassSound) -> str:
    rows = table("at>", "as heard", "level>", "loudest>", "rises>", "music")
    against = _loud_part(sound.sections)
    for section in sound.sections:
        rows.add_row(clock(section.start_s), safe(section.name, "bold"), *map(safe, _figures(section, against)))
    held = "the peak" if against.kind is Kind.PEAK else f"{against.name}, the loudest part"
    return (
        f"{rendered(rows)}\n(level and loudest moment in dB against {held}; the largest rise within 3 s)\n"
        f"{whole_text(sound)}"
    )


def whole_text(sound: ClassSound) -> str:
    """How loud the whole comes out."""
    if not math.isfinite(sound.loudness_lufs):
        return "Nothing sounds."
    return f"The whole comes out at {sound.loudness_lufs:.1f} LUFS."


def _loud_part(sections: Sequence[SectionSound]) -> SectionSound:
    """What the others are held against: the peak where there is one, else the loudest."""
    peaks = [section for section in sections if section.kind is Kind.PEAK and not section.is_silent]
    return max(peaks or sections, key=lambda section: section.loudness_lufs)


def _figures(section: SectionSound, against: SectionSound) -> tuple[str, ...]:
    if section.is_silent:
        return "", "", "", "silent"
    level = section.loudness_lufs - against.loudness_lufs
    loudest = section.loudest_lufs - against.loudest_lufs
    return (
        _signed(level),
        f"{_signed(loudest)} at {clock(section.loudest_at_s)}",
        f"{section.rise_lu:.1f} dB" if section.rise_lu >= AS_LOUD_LU else "",
        ", ".join(_music(section)),
    )


def _signed(by_lu: float) -> str:
    whole = round(by_lu)
    return f"{whole:+d} dB" if whole else "0 dB"


def _line(section: SectionSound, against: SectionSound) -> str:
    if section.is_silent:
        return "silent"
    said = [_level(section, against), f"loudest at {clock(section.loudest_at_s)}"]
    if section.rise_lu > MOST_RISE_LU:
        said.append("swells quickly")
    if section.energy is not None:
        said.append(temper(section.energy))
    if section.is_known:
        said += ["a clear beat" if section.beat_bpm else "no clear beat", voice(section.voice_share)]
    return ", ".join([*said, *_tails(section)])


def _level(section: SectionSound, against: SectionSound) -> str:
    if section is against:
        return "the level of the peak" if section.kind is Kind.PEAK else "the loudest part"
    by_lu = section.loudness_lufs - against.loudness_lufs
    name = "the peak" if against.kind is Kind.PEAK else against.name
    if abs(by_lu) < AS_LOUD_LU:
        return f"as loud as {name}"
    degree = next(words for least, words in DEGREES if abs(by_lu) >= least)
    return f"{degree}{'louder' if by_lu > 0 else 'softer'} than {name}"


def _rounded(seconds: float) -> float:
    """To five seconds where that is near enough: what is planned as two minutes is heard as one second more or less."""
    return 5.0 * round(seconds / 5) if seconds >= GOES_ON_S else seconds


def _music(section: SectionSound) -> list[str]:
    """The same in figures."""
    said = [temper(section.energy)] if section.energy is not None else []
    if section.is_known:
        said.append(f"{section.beat_bpm:.0f} beats a minute" if section.beat_bpm else "no clear beat")
    if section.voice_share >= NO_VOICE:
        said.append(f"a voice in {section.voice_share:.0%}")
    return [*said, *_tails(section)]


def _tails(section: SectionSound) -> list[str]:
    """Silence, and what sounds on from the section before."""
    said = [f"silent for {length(_rounded(section.silence_s))}"] if section.silence_s >= SILENT_S else []
    for each in section.carried:
        if each.for_s < GOES_ON_S:
            seconds = counted(max(round(each.for_s), 1), "second", "seconds")
            said.append(f"track {each.n} sounds on for {seconds}")
    return said
