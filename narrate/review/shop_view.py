"""What the Shop page shows: what is set and what holds otherwise, people, own words, what is corrected."""

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import Request
from fastapi.responses import HTMLResponse

from narrate.errors import NarrateError
from narrate.hear.manifest import manifest
from narrate.pipeline import rules_of
from narrate.review.desk import Desk, desk_of
from narrate.review.signin import Person, needs
from narrate.store.corrected import what_is_corrected
from narrate.store.people import ROLES, list_people
from narrate.store.shop import FOR_WORK, Shop, given_by_environment, laid_over, read_shop
from narrate.words.load import load_lexicon
from narrate.words.overlay import lay_over
from narrate.words.rules import Rules
from narrate.words.shop import read_own_words

Owner = Annotated[Person, needs("owner")]
MARKETS = {"us": "United States", "gb": "Great Britain", "eu": "European Union"}
FIELD_NAMES = {
    "component": "which part it is",
    "locations": "where it is",
    "status": "whether it is a fault",
    "conditions": "what is wrong with it",
    "recommendation": "what to do",
    "measurements": "measurements",
    "quoted_prices": "prices",
    "part_options": "which part to fit",
    "answers": "the concern it answers",
    "urgency": "how soon",
    "added": "added, not found",
    "dropped": "dropped, found wrongly",
}


def show(
    request: Request,
    person: Person,
    *,
    wrong: str = "",
    said: str = "",
    place: str = "",
    form: Mapping[str, str] | None = None,
) -> HTMLResponse:
    """The page; `wrong` or `said` stands in the section `place`, and `form` in the fields of it."""
    desk = desk_of(request)
    shop = read_shop(desk.store)
    context = {
        "here": "shop",
        "person": person,
        "wrong": wrong,
        "said": said,
        "place": place,
        "form": {**_shown(shop), **(form or {})},
        "work": _work(desk, shop),
        "people": list_people(desk.store),
        "roles": ROLES,
        "local": desk.local,
        "words": _words(desk),
        "corrected": _corrected(desk),
    }
    return desk.templates.TemplateResponse(request, "shop.html", context, status_code=422 if wrong else 200)


def _shown(shop: Shop) -> dict[str, str]:
    told = shop.model_dump(mode="json")
    told |= {f"keep_{kind}": days for kind, days in (told.pop("retention") or {}).items()}
    return {key: str(value) for key, value in told.items() if value is not None}


def rule_sets(desk: Desk) -> dict[str, str]:
    """The names of the rule sets there are, by key."""
    return {key: each.name for key, each in _rules(desk).rule_sets.items()}


def _rules(desk: Desk) -> Rules:
    # The shop's own words change no rule set.
    return rules_of(desk.settings, load_lexicon())


def _work(desk: Desk, shop: Shop) -> dict[str, Any]:
    """What can be chosen for work, what holds where nothing is chosen, and what the environment has settled."""
    now = laid_over(shop, desk.settings)
    rules = _rules(desk)
    usual_side = "right" if now.market == "gb" else "left"
    usual = desk.settings.rule_set or rules.set_for(now.market) or ""
    return {
        "markets": MARKETS,
        "rule_sets": {key: each.name for key, each in rules.rule_sets.items()},
        "models": {name: model.about for name, model in manifest().items()},
        "otherwise": {
            "market": MARKETS[desk.settings.market],
            "drive_side": desk.settings.drive_side or f"{usual_side}, usual in the market",
            "rule_set": rules.rule_sets[usual].name if usual in rules.rule_sets else usual or "none",
            "model": desk.settings.model,
        },
        "settled": [key for key in FOR_WORK if given_by_environment(key)],
    }


def _words(desk: Desk) -> dict[str, Any]:
    """The shop's own words, and why some of them do not count; or why the file of them cannot be read."""
    try:
        own_words = read_own_words(desk.store.folder)
    except NarrateError as error:
        return {"rows": [], "unreadable": str(error)}
    refusals = lay_over(load_lexicon(), own_words).refusals
    rows = [
        {"own": own, "why_not": refusal.why if refusal else ""}
        for own, refusal in zip(own_words, refusals, strict=True)
    ]
    return {"rows": rows, "unreadable": ""}


def _corrected(desk: Desk) -> list[dict[str, Any]]:
    components = load_lexicon().components
    return [
        {
            "field": FIELD_NAMES.get(each.field, each.field),
            "component": components[each.component].name if each.component in components else each.component,
            "times": each.times,
        }
        for each in what_is_corrected(desk.store)
    ]
