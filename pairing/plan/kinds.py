"""Kinds of sections, as people name them."""

import re
from collections.abc import Iterable

from pairing.model import Kind
from pairing.plan.names import key, words

# Other words for a kind: common practice, no source. The first word of a row is the kind's own.
_WORDS: dict[Kind, str] = {
    Kind.OPENING: "opening,arrive,arrival,arriving,centering,centring,grounding,landing,welcome,intro,introduction,"
    "check in,integration,settle in,settling,gathering,start,opening chant,begin,beginning,open,tune in,awareness",
    Kind.BREATHING: "breathing,breath,breathwork,breath work,pranayama,breathing practice,breathing exercises",
    Kind.WARM_UP: "warm up,warmup,warming up,warming,warm,loosen up,loosening,waking,waking up,wake up,mobility,"
    "mobilisation,mobilization,prepare,preparation,awaken",
    Kind.FLOW: "flow,vinyasa,sequence,heat,build,building,sun salutation,salutation,salute,sun a,sun b,surya namaskara,"
    "standing flow,main flow,moving",
    Kind.STANDING: "standing,standing pose,standing series,stand,balance,balances,balancing,standing balance",
    Kind.STRENGTH: "strength,strengthening,core,abs,power,activation,strong,core work,strength work",
    Kind.PEAK: "peak,peak pose,peak sequence,apex,climax,crest,summit",
    Kind.FLOOR: "floor,floor work,seated,sitting,sit,seat series,hip opener,hips,on the mat,mat,supine,seated pose,"
    "floor pose",
    Kind.COOL_DOWN: "cool down,cooldown,cooling,cool,cooling down,slow down,wind down,unwind,stretch,stretching,"
    "release,"
    "soften,finishing,finishing sequence,down,ebb",
    Kind.REST: "rest,savasana,shavasana,sava,final relaxation,relaxation,relax,closing rest,corpse,final rest,"
    "deep rest,lie down,float",
    Kind.CLOSING: "closing,close,end,ending,outro,finish,goodbye,closing seat,closing meditation,seal,return,"
    "closing circle,farewell",
}
_KINDS = {key(word): kind for kind, row in _WORDS.items() for word in row.split(",")}


def kind_in(parts: Iterable[str]) -> tuple[Kind | None, list[str]]:
    """Find the kind among the parts of a heading; give it and the other parts."""
    parts = list(parts)
    for at, part in enumerate(parts):
        kind = _KINDS.get(key(part))
        if kind:
            return kind, parts[:at] + parts[at + 1 :]
    for part in parts:
        kind = kind_named(part)
        if kind:
            return kind, parts
    return None, parts


def is_kind(name: str) -> bool:
    """Say whether the whole of `name` is a word for a kind."""
    return key(name) in _KINDS


def kind_named(name: str) -> Kind | None:
    """Find a kind in the words of a name, the longest and last such words first; None where there is none."""
    exact = _KINDS.get(key(name))
    if exact:
        return exact
    typed = words(re.sub(r"[^\w\s'’-]", " ", name))
    for length in (3, 2, 1):
        for start in range(len(typed) - length, -1, -1):
            kind = _KINDS.get("".join(typed[start : start + length]))
            if kind:
                return kind
    return None
