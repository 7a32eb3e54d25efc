"""Who speaks: "this is Dana", "Marco here", "technician nineteen"."""

from functools import lru_cache

from narrate.find.spelled import read_spelled
from narrate.find.talk import Reading, Talk, fill
from narrate.words.lexicon import Lexicon


def read_speaker(talk: Talk, at: int, *, listed: bool) -> Reading | None:
    end = talk.phrase("heading_technician", at)
    if end is not None and not talk.stops_at(end):
        start = fill(talk, end)
        named = _name(talk, start, strict=False)
        if named is None and talk.word(end - 1) in ("tech", "technician"):
            number = read_spelled(talk, start, longest=4, letters=False)
            return Reading((("technician", number.text),), at, number.end) if number else None
        return Reading((("technician", named[0]),), at, named[1]) if named else None
    end = talk.phrase("heading_introduces", at)
    if end is not None and not talk.ends_at(end):
        named = _name(talk, end, strict=True)
        if named and (listed or talk.ends_at(named[1]) or talk.phrase("heading_name_ends", named[1])):
            return Reading((("technician", named[0]),), at, named[1])
    named = _name(talk, at, strict=True) if talk.ends_at(at) else None
    after = talk.phrase("heading_introduced", named[1]) if named and not talk.ends_at(named[1]) else None
    return Reading((("technician", named[0]),), at, after) if named and after else None


def _name(talk: Talk, at: int, *, strict: bool) -> tuple[str, int] | None:
    """A given name and perhaps a family name; strictly, only a word that is hardly anything else."""
    word = talk.word(at)
    raw = talk.raw[at].strip(" .,;:!?") if at < len(talk.raw) else ""
    if not word.isalpha() or len(word) < 2 or (raw.isupper() and len(word) > 3):
        return None
    known = word in talk.vocabulary.explained or at in talk.in_parts or word in _makes(talk.vocabulary.lexicon)
    listed = talk.phrase("heading_name", at) is not None
    written = raw[:1].isupper() and not talk.stops_at(at)
    if (known and not listed and not written) or (not strict and talk.phrase("heading_number", at)):
        return None
    family = talk.raw[at + 1].strip(" .,;:!?") if at + 1 < len(talk.raw) and not talk.ends_at(at + 1) else ""
    if raw[:1].isupper() and family[:1].isupper() and family.isalpha() and len(family) > 1:
        return f"{raw} {family}", at + 2
    return raw if raw[:1].isupper() else raw.capitalize(), at + 1


@lru_cache(maxsize=4)
def _makes(lexicon: Lexicon) -> frozenset[str]:
    """Every single word that names a make or model."""
    names = [name for make in lexicon.makes.values() for name in (make.name, *make.aliases, *make.models)]
    return frozenset(name.lower() for name in names)
