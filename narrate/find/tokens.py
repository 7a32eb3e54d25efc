"""Stage 1: words as heard become comparable tokens; the words themselves are never touched."""

import re
from dataclasses import replace

from narrate.find.draft import Draft, Token
from narrate.find.vocabulary import Vocabulary

_PUNCTUATION = re.compile(r"^[^\w$£€%'’+]+$")
_NUMBER_UNIT = re.compile(r"^([\d.,/]*\d)([a-z%°]+)$")
_THOUSANDS = re.compile(r"^,\d{3}\W*$")
_ALIKE = str.maketrans({"’": "'", "−": "-", "–": "-", "—": " "})
_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8"}
_MIXED = re.compile(r"(\d)-(\d+/\d+)")
_MEASURED_RANGE = re.compile(r"^([\d.]+[a-z%]*)-([\d.]+[a-z%]*)$")
_ENDING = re.compile(r"[.,;:!?…()\[\]\"]")
_ABBREVIATED = re.compile(r"^(?:[a-z]\.){2,}$")
_SIGNS = {"%": "percent", "&": "and", "°": "degrees"}
_ORDINAL = re.compile(r"^\d+(st|nds?|rd|th|s)$")


def split_tokens(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Lower-case, split at hyphens and units, unify spelling, join letters that were spelled out."""
    pieces = _pieces(draft, vocabulary)
    joined = _join_letters(pieces, vocabulary.known)
    tokens = tuple(
        Token(
            id=f"t{number}",
            text=text,
            first_word=first,
            last_word=last,
            punctuation=mark,
            because=tuple(f"w{word}" for word in range(first, last + 1)),
        )
        for number, (text, first, last, mark) in enumerate(joined)
    )
    return replace(draft, tokens=tokens)


def _pieces(draft: Draft, vocabulary: Vocabulary) -> list[tuple[str, int, int, str]]:
    """(text, first word, last word, punctuation after) of every piece that is not punctuation."""
    texts = [_plain(word.text) for word in draft.words]
    for command in draft.commands:
        # What was told to narrate itself is no part of what was found.
        texts[command.first_word : command.last_word + 1] = [""] * (command.last_word + 1 - command.first_word)
    spelling = vocabulary.lexicon.spelling
    pieces: list[tuple[str, int, int, str]] = []
    for word, text in enumerate(texts):
        if text.isalpha():
            pieces.append((spelling.get(text, text), word, word, ""))
            continue
        for raw, position in vocabulary.tokenizer.split(text):
            following = text[position + 1 :] or (texts[word + 1] if word + 1 < len(texts) else "")
            if not raw.strip():
                continue
            if _THOUSANDS.match(text) and pieces and pieces[-1][0].isdecimal() and raw.isdecimal():
                # Recognisers write 51,200 as two words, "51" and ",200".
                before, first, _, _ = pieces[-1]
                pieces[-1] = (before + raw, first, word, "")
            elif raw == "-" and pieces and pieces[-1][0][-1:].isdecimal() and following[:1].isdecimal():
                pieces.append(("to", word, word, ""))
            elif raw == "-" and position == 0 and len(text) > 1:
                pieces.append(("minus", word, word, ""))
            elif raw not in _SIGNS and _PUNCTUATION.match(raw):
                # Strokes and hyphens join what they stand between, and the stop of "c.v." ends nothing.
                if pieces and _ENDING.search(raw) and not _ABBREVIATED.match(text):
                    before, first, last, mark = pieces[-1]
                    pieces[-1] = (before, first, last, mark + raw)
            else:
                pieces.extend((spelling.get(part, part), word, word, "") for part in _parts(raw))
    return pieces


def _plain(text: str) -> str:
    """Lower case, one kind of apostrophe and dash, fractions spelled with a stroke: 3½ -> 3 1/2, 1-1/2 -> 1 1/2."""
    text = text.strip().lower()
    if not text.isascii():
        text = text.translate(_ALIKE)
        for sign, spelled in _FRACTIONS.items():
            text = text.replace(sign, f" {spelled} ")
    return _MIXED.sub(r"\1 \2", text) if "/" in text else text


def _parts(raw: str) -> list[str]:
    if raw[:1] == "-" and raw[1:2].isdecimal():
        return ["minus", *_parts(raw[1:])]
    span = _MEASURED_RANGE.match(raw)
    if span:
        return [*_parts(span[1]), "to", *_parts(span[2])]
    measured = _NUMBER_UNIT.match(raw)
    if measured and not _ORDINAL.match(raw):
        return [measured[1], *_parts(measured[2])]
    if raw in _SIGNS:
        return [_SIGNS[raw]]
    text = raw.strip('.,;:!?"()[]…*')
    if text[:1].isdecimal() and f".{text}" in raw:
        text = f".{text}"
    if not text:
        return []
    if "-" in text and not text[0].isdecimal():
        return [part for part in text.split("-") if part]
    if "/" in text and not any(letter.isdecimal() for letter in text):
        # "a/c" is one name spelled with a stroke; "pads/rotors" are two words.
        letters = text.split("/")
        return ["".join(letters)] if all(len(part) == 1 for part in letters) else [p for p in letters if p]
    if re.fullmatch(r"(?:[a-z]\.)+[a-z]?", text):
        return [text.replace(".", "")]
    return [text]


def _join_letters(pieces: list[tuple[str, int, int, str]], known: frozenset[str]) -> list[tuple[str, int, int, str]]:
    """Letters said one by one become the abbreviation they spell, if the lexicon has it: a b s -> abs."""
    joined: list[tuple[str, int, int, str]] = []
    at = 0
    while at < len(pieces):
        run = at
        while run < len(pieces) and len(pieces[run][0]) == 1 and pieces[run][0].isalpha() and run - at < 5:
            run += 1
            if pieces[run - 1][3]:
                break
        for end in range(run, at + 1, -1):
            text = "".join(piece[0] for piece in pieces[at:end])
            if text in known:
                joined.append((text, pieces[at][1], pieces[end - 1][2], pieces[end - 1][3]))
                at = end
                break
        else:
            joined.append(pieces[at])
            at += 1
    return joined
