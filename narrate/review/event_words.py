"""What happened to a list, in words for people; the store keeps the shorter names."""

_SAID = {
    "heard": "heard and found",
    "confirm": "found right",
    "component": "component changed",
    "locations": "place changed",
    "status": "status changed",
    "conditions": "what is wrong changed",
    "recommendation": "recommendation changed",
    "measurements": "numbers changed",
    "words": "words about it changed",
    "lists": "list about it changed",
    "prices": "price said changed",
    "urgency": "how soon changed",
    "answers": "concern it answers changed",
    "drop": "dropped",
    "restore": "taken back in",
    "add": "added by hand",
    "split": "divided",
    "merge": "made one with another",
    "decide": "decided",
    "nothing_in": "nothing in words not understood",
    "concern": "concern added",
    "edit": "heard words corrected",
    "cut_out": "words cut out",
    "head": "vehicle or order changed",
    "sign": "signed",
    "reopen": "opened again",
    "join": "joined with another recording",
    "set_aside": "set aside",
    "brought_back": "brought back",
    "undo": "taken back",
    "redo": "done again",
    "forgotten": "erased for good",
}


def say_event(what: str) -> str:
    """`found right` for `confirm`; names that are not known here are said as they are."""
    return _SAID.get(what, what.replace("_", " "))
