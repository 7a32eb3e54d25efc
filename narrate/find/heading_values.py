"""From what was said at the start to the record: fields nobody filled are filled, the rest is only suggested."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Literal, cast

from narrate.find.heading import Heading, Said
from narrate.records.recording import Recording
from narrate.records.walkaround import Evidence, HeadingValue, Odometer, Suggestion, Vehicle, Walkaround
from narrate.words.lexicon import Lexicon

SOURCE = "what the technician said"
FIELDS = {
    "order_number": "order number",
    "technician": "technician",
    "vin": "VIN",
    "plate": "plate",
    "year": "year",
    "make": "make",
    "model": "model",
    "odometer": "distance on the clock",
}
"""Fields of the heading, in the order they are told, and what they are called."""
OF_THE_VISIT = ("order_number", "technician")
DISTANCE: Mapping[str, Literal["mi", "km"]] = {"us": "mi", "gb": "mi", "eu": "km"}
"""What a distance on the clock is in where no unit was said, by market."""


def with_heading(walkaround: Walkaround, heading: Heading, recording: Recording, lexicon: Lexicon) -> Walkaround:
    """What the order gave stays; a field without a value takes what was said; another value is a suggestion."""
    visit: dict[str, Any] = {}
    vehicle: dict[str, Any] = {}
    suggestions = list(walkaround.suggestions)
    spoken = list(walkaround.heading)
    for field, name in FIELDS.items():
        said = heading.values.get(field)
        if said is None:
            continue
        evidence = _evidence(recording, said.first_word, said.last_word)
        value = _value(field, said, walkaround.market)
        spoken.append(HeadingValue(field=field, value=_told(value), evidence=evidence))
        known = getattr(walkaround if field in OF_THE_VISIT else walkaround.vehicle, field)
        if known is None:
            (visit if field in OF_THE_VISIT else vehicle)[field] = value
        elif not _same(field, known, value, lexicon):
            text = f"The {name} is {_told(known)}, but the technician said {_told(value)}; check which is right."
            suggestions.append(_suggestion(len(suggestions), "heading", text, evidence))
    changed = Vehicle.model_validate({**walkaround.vehicle.model_dump(), **vehicle})
    return walkaround.model_copy(
        update={**visit, "vehicle": changed, "suggestions": tuple(suggestions), "heading": tuple(spoken)}
    )


def with_split(walkaround: Walkaround, heading: Heading, recording: Recording, first: int, last: int) -> Walkaround:
    """Offer to cut the recording where another vehicle begins: the words from `first` to `last` are about it."""
    names = (f"{FIELDS[f]} {said.value}" for f, said in heading.values.items() if f not in ("technician", "odometer"))
    told = ", ".join(names)
    text = (
        "From here on the technician seems to speak of another vehicle"
        + (f" ({told})" if told else "")
        + "; make these findings a walkaround of their own if so."
    )
    made = _suggestion(len(walkaround.suggestions), "split", text, _evidence(recording, first, last))
    return walkaround.model_copy(update={"suggestions": (*walkaround.suggestions, made)})


def _suggestion(number: int, kind: str, text: str, evidence: Evidence) -> Suggestion:
    return Suggestion(id=f"s{number + 1}", kind=kind, text=text, source=SOURCE, evidence=(evidence,))


def _evidence(recording: Recording, first: int, last: int) -> Evidence:
    words = recording.words[first : last + 1]
    return Evidence(
        recording=recording.id,
        first_word=first,
        last_word=last,
        start_s=words[0].start_s,
        end_s=words[-1].end_s,
        said=" ".join(word.text for word in words),
    )


def _value(field: str, said: Said, market: str) -> str | int | Odometer:
    if field == "odometer":
        unit = cast(Literal["mi", "km"], said.unit or DISTANCE[market])
        return Odometer(value=Decimal(said.value), unit=unit)
    return int(said.value) if field == "year" else said.value


def _told(value: str | int | Odometer) -> str:
    return f"{value.value:f} {value.unit}" if isinstance(value, Odometer) else str(value)


def _same(field: str, known: str | int | Odometer, value: str | int | Odometer, lexicon: Lexicon) -> bool:
    """Whether two values mean one thing: blanks and dashes aside, and one may say less than the other."""
    if isinstance(known, Odometer) or isinstance(value, Odometer):
        return known == value
    one, two = _bare(_make(str(known), lexicon)), _bare(_make(str(value), lexicon))
    if field in ("technician", "model"):
        return one.startswith(two) or two.startswith(one)
    return one.endswith(two) if field == "order_number" else one == two


def _make(text: str, lexicon: Lexicon) -> str:
    """The make as it is written, if the text is one of its names."""
    plain = text.lower()
    return next((m.name for m in lexicon.makes.values() if plain in (m.name.lower(), *m.aliases)), text)


def _bare(text: str) -> str:
    return "".join(c for c in text.lower() if c.isalnum())
