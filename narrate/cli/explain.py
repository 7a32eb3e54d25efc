"""`narrate explain`: what each stage recorded for one finding, or for every word."""

from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from narrate.cli.options import READABLE, data_option, json_option
from narrate.cli.printing import say, write_record

if TYPE_CHECKING:
    from narrate.find.draft import Draft, Item
    from narrate.find.trace import Explanation
    from narrate.records.walkaround import Walkaround
    from narrate.words.lexicon import Lexicon

SCHEMA, WORDS_SCHEMA = "narrate.explanation/1", "narrate.explained_words/1"

OTHER_LEXICON = "The lexicon has changed since this was made"
OTHER_WEIGHTS = "The trained weights have changed since this was made"


@click.command("explain", short_help="Show why a finding is there, or what became of every word.")
@click.argument("walkaround", metavar="WALK.json", type=READABLE)
@click.argument("finding", required=False)
@data_option
@json_option
def explain_command(walkaround: Path, finding: str | None, data: Path | None, json_to: str | None) -> None:
    """Show stage by stage why a finding (f1, f2, …) is there; without FINDING, what became of every word.

    The stages run again on the words in the file, and what each of them records is what is shown.
    """
    import json

    from narrate.export.json_file import read_walkaround
    from narrate.find.trace import explain_finding
    from narrate.words.shop import shop_lexicon

    record, lexicon = read_walkaround(walkaround), shop_lexicon(data)
    if finding is None:
        explain_all(record, lexicon, json_to)
        return
    explanation = explain_finding(record, finding, lexicon)
    if not explanation.same_lexicon:
        say(f"{OTHER_LEXICON}; the same finding is still found.")
    if not explanation.same_weights:
        say(f"{OTHER_WEIGHTS}; probabilities may differ.")
    if json_to:
        write_record(json.dumps(explanation_json(explanation), indent=2, default=str), json_to)
    if json_to != "-":
        click.echo("\n".join(explanation_lines(explanation)))


def explain_all(walkaround: "Walkaround", lexicon: "Lexicon", json_to: str | None) -> None:
    """Print, or write as JSON, what became of every word of every recording."""
    import json

    from narrate.cli.printing import print_table
    from narrate.export.phrases import say_time
    from narrate.find.trace import same_lexicon, same_weights
    from narrate.find.word_trace import explain_words

    if not same_lexicon(walkaround, lexicon):
        say(f"{OTHER_LEXICON}; what is shown is what it would become now.")
    if not same_weights(walkaround):
        say(f"{OTHER_WEIGHTS}; what is shown is what it would become now.")
    told = [(recording, list(explain_words(walkaround, recording, lexicon))) for recording in walkaround.recordings]
    if json_to:
        kept = {
            "schema": WORDS_SCHEMA,
            "recordings": [
                {"id": recording.id, "words": [asdict(each) for each in words]} for recording, words in told
            ],
        }
        write_record(json.dumps(kept, indent=2, default=lambda word: word.model_dump(mode="json")), json_to)
    if json_to == "-":
        return
    for recording, words in told:
        click.echo(recording.name)
        rows = []
        for each in words:
            notes = [f"{stage}: {what}" for stage, what in each.recorded] or ["-"]
            at = say_time(each.word.start_s) if each.word.start_s is not None else f"{each.number + 1}"
            rows.append((at, each.word.text, "\n".join(notes), ", ".join(each.stands_in) or "-"))
        print_table(("At", "Word", "What the stages made of it", "Stands in"), rows)


@dataclass(frozen=True, slots=True)
class Recorded:
    """One item a stage recorded, with the words it is about."""

    stage: str
    said: str
    why: str
    item: "Item"


def recorded(explanation: "Explanation") -> "Iterator[Recorded]":
    """Everything recorded for the finding, in order."""
    from narrate.find.trace import replay

    draft = replay(explanation.trace)
    made = {item.id: item for item in draft.items()}
    for stage, item in explanation.items:
        yield Recorded(stage, _said(item, draft, made), item.why or _what(item), item)


def explanation_lines(explanation: "Explanation") -> "Iterator[str]":
    """The explanation as lines to print."""
    from narrate.export.phrases import say_conditions, say_locations, say_recommendation, say_words

    finding = explanation.finding
    parts = (
        finding.component.name,
        say_locations(finding.locations),
        say_conditions(finding),
        say_recommendation(finding.recommendation),
    )
    yield f"{finding.id}: {' | '.join(part for part in parts if part)}"
    yield f"said: “{say_words(finding.evidence)}”"
    for stage, items in groupby(recorded(explanation), key=lambda each: each.stage):
        yield ""
        yield stage
        for each in items:
            words = f"“{each.said}”" if each.said else "-"
            yield f"  {words}  {each.why}".rstrip()


def explanation_json(explanation: "Explanation") -> dict[str, Any]:
    """The explanation as plain values for JSON."""
    return {
        "schema": SCHEMA,
        "finding": explanation.finding.model_dump(mode="json", by_alias=True),
        "same_lexicon": explanation.same_lexicon,
        "same_weights": explanation.same_weights,
        "recorded": [
            {
                "stage": each.stage,
                "what": type(each.item).__name__.lower(),
                "said": each.said,
                "why": each.why,
                "item": asdict(each.item),
            }
            for each in recorded(explanation)
        ],
    }


def _said(item: "Item", draft: "Draft", made: "dict[str, Item]") -> str:
    """The words, as heard, that an item is about."""
    from narrate.find.draft import Command, Gap, Group, Link, Token, Void

    if isinstance(item, Link):
        return _said_of((item.head, item.dependent), draft, made)
    if isinstance(item, Void):
        return _said_of((item.item,), draft, made)
    if isinstance(item, Group):
        return _said_of((*item.heads, *item.dependents), draft, made)
    if isinstance(item, Token | Command):
        first, last = item.first_word, item.last_word
    else:
        end = item.first if isinstance(item, Gap) else item.last
        first, last = draft.tokens[item.first].first_word, draft.tokens[end].last_word
    return " ".join(word.text for word in draft.words[first : last + 1])


def _said_of(ids: "Iterable[str]", draft: "Draft", made: "dict[str, Item]") -> str:
    return " … ".join(_said(made[each], draft, made) for each in ids if each in made)


def _what(item: "Item") -> str:
    """What an item is, for one that was recorded without a reason."""
    plain = {"id", "because", "why", "first", "last", "first_word", "last_word"}
    told = {key: value for key, value in asdict(item).items() if key not in plain and value not in ("", None)}
    return ", ".join(f"{key} {value}" for key, value in told.items())
