"""From findings and a price book to an estimate: match, join, require, suggest, price, sum."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from narrate.price.again import laid_over
from narrate.price.book_index import index_book
from narrate.price.choices import Pricing, Ways, ways_of
from narrate.price.job_making import Ids, job_of
from narrate.price.matching import Asked, Match, match
from narrate.price.optional_jobs import optional_work
from narrate.price.overlaps import Off, hours_off
from narrate.price.places import meets
from narrate.price.sums import summed
from narrate.price.wanted import Wanted, joined, title_of, wanted_for
from narrate.records.estimate import Estimate, Job, SumRules, ToBePriced
from narrate.records.order import Order
from narrate.records.price_book import Book
from narrate.records.walkaround import Finding, Walkaround
from narrate.words.lexicon import Lexicon

NO_WORK = frozenset(("monitor", "stop_driving"))
"""Actions that cost nothing: they are told to the customer, never priced."""
PRICED = ("fault", "work", "unclear")


def make_estimate(
    walkaround: Walkaround,
    book: Book,
    lexicon: Lexicon,
    *,
    place: str | None = None,
    made_at: str,
    shop: Mapping[str, Any] | None = None,
    customer: Mapping[str, Any] | None = None,
    order: Order | None = None,
    previous: Estimate | None = None,
) -> Estimate:
    """Jobs, choices, lines and totals for what a walkaround says is to be done; what has no price is named.

    place: whose rules hold, else the book's. made_at: ISO time. previous: the estimate that this one takes the place
    of; its ids, answers, consents and what was edited by hand are kept.
    """
    rules = SumRules(**{name: getattr(book, name) for name in SumRules.model_fields})
    pricing = Pricing(index_book(book), walkaround.vehicle, lexicon, rules)
    ids = Ids(dict(previous.ids_used) if previous else {})
    wanted, unpriced = _wanted(walkaround, pricing)
    wanted = _with_required(joined(wanted), pricing, unpriced)
    wanted += optional_work(walkaround, wanted, pricing)
    jobs = _jobs(wanted, pricing, ids, unpriced)
    told = {**(order.customer.model_dump(exclude_none=True) if order else {}), **(customer or {})}
    estimate = Estimate(
        walkaround_id=walkaround.id,
        draft=any(finding.review.state == "unreviewed" for finding in walkaround.findings),
        currency=book.currency,
        place=place or book.place,
        made_at=made_at,
        shop=dict(shop or {}),
        customer=told,
        vehicle=walkaround.vehicle.model_dump(mode="json"),
        order_number=walkaround.order_number or (order.number if order else None),
        promised=_iso(order.promised) if order and order.promised else None,
        concerns=tuple(concern.text for concern in walkaround.concerns),
        jobs=tuple(_paid_by(job, order) for job in jobs),
        to_be_priced=tuple(each.model_copy(update={"id": ids.new("p")}) for each in unpriced),
        rules=rules,
        book=book.digest or None,
        ids_used=ids.used,
    )
    if previous is not None:
        estimate = laid_over(estimate, previous)
    return summed(estimate)


def to_price(walkaround: Walkaround) -> list[Finding]:
    """The findings that ask for work: not those that are fine, to be watched, or dropped."""
    return [
        finding
        for finding in walkaround.findings
        if finding.status in PRICED
        and finding.review.state != "dropped"
        and finding.recommendation.action
        and finding.recommendation.action not in NO_WORK
    ]


def _wanted(walkaround: Walkaround, pricing: Pricing) -> tuple[list[Wanted], list[ToBePriced]]:
    wanted: list[Wanted] = []
    unpriced: list[ToBePriced] = []
    for finding in to_price(walkaround):
        action = str(finding.recommendation.action)
        if finding.recommendation.timing == "done":
            unpriced.append(_unpriced(finding, finding.locations, "Done already: charged only if you say so.", pricing))
            continue
        asked = Asked(finding.component.id, action, finding.locations, finding.component.heard)
        for each in match(asked, pricing.index, pricing.vehicle, pricing.lexicon):
            if isinstance(each, Match):
                wanted.append(wanted_for(finding, each))
            else:
                unpriced.append(_unpriced(finding, each.places, each.why, pricing))
    return wanted, unpriced


def _unpriced(finding: Finding, places: Sequence[str], why: str, pricing: Pricing) -> ToBePriced:
    action = str(finding.recommendation.action)
    title = title_of(action, finding.component.id, finding.component.name, places, pricing.lexicon)
    return ToBePriced(
        finding_ids=(finding.id,),
        title=title,
        why=why,
        component=finding.component.id,
        action=action,
        locations=tuple(places),
    )


def _with_required(wanted: list[Wanted], pricing: Pricing, unpriced: list[ToBePriced]) -> list[Wanted]:
    """The list with the operations that others require, each there once, and who requires which."""
    made = list(wanted)
    number = 0
    while number < len(made):
        needs: list[int] = []
        for key in made[number].operation.requires:
            needs += _required(key, number, made, pricing, unpriced)
        made[number] = replace(made[number], requires=tuple(dict.fromkeys(n for n in needs if n != number)))
        number += 1
    return made


def _required(key: str, by: int, made: list[Wanted], pricing: Pricing, unpriced: list[ToBePriced]) -> list[int]:
    operation = pricing.index.by_key.get(key)
    work = made[by]
    if operation is None:
        why = f"Needed with {work.name}; the book has no operation “{key}”."
        unpriced.append(ToBePriced(finding_ids=work.finding_ids, title=key, why=why))
        return []
    there = [
        number
        for number, each in enumerate(made)
        if (each.operation.component, each.operation.action) == (operation.component, operation.action)
        and (each.operation.per == "job" or any(meets(a, b) for a in each.counted.places for b in work.counted.places))
    ]
    if there:
        return there
    places = () if operation.per == "job" else tuple(place for place in work.counted.places if place)
    asked = Asked(operation.component, operation.action, places)
    entry = pricing.lexicon.components.get(operation.component)
    name = entry.name if entry else operation.component.replace("_", " ")
    added: list[int] = []
    for each in match(asked, pricing.index, pricing.vehicle, pricing.lexicon):
        if isinstance(each, Match):
            added.append(len(made))
            why = f"Needed with the work on the {work.name}."
            made.append(Wanted(each.operation, each.counted, operation.action, name, (why, each.why), locations=places))
        else:
            title = title_of(operation.action, operation.component, name, each.places, pricing.lexicon)
            why = f"Needed with the work on the {work.name}. {each.why}"
            unpriced.append(ToBePriced(finding_ids=work.finding_ids, title=title, why=why))
    return added


def _jobs(wanted: list[Wanted], pricing: Pricing, ids: Ids, unpriced: list[ToBePriced]) -> list[Job]:
    titles = [
        title_of(each.action, each.operation.component, each.name, each.locations, pricing.lexicon) for each in wanted
    ]
    ways = [
        ways_of(each, title, pricing, _separate(number, wanted))
        for number, (each, title) in enumerate(zip(wanted, titles, strict=True))
    ]
    # Only what can be sold takes hours off other work.
    sold = [number for number, way in enumerate(ways) if way.choices]
    off = {
        sold[n]: Off(o.hours, tuple(sold[t] for t in o.together))
        for n, o in hours_off([wanted[n] for n in sold]).items()
    }
    names = {number: ids.new("j") for number in sold}
    jobs: list[Job] = []
    for number, (each, title, way) in enumerate(zip(wanted, titles, ways, strict=True)):
        if number in names:
            jobs.append(job_of(each, title, way, names, number, off.get(number), titles, pricing, ids))
            unpriced += _lacking(each, title, way, pricing)
        elif not each.optional:
            unpriced.append(
                ToBePriced(
                    finding_ids=each.finding_ids,
                    title=title,
                    why=" ".join(way.missing),
                    component=each.operation.component,
                    action=each.action,
                    locations=each.locations,
                )
            )
    return jobs


def _separate(number: int, wanted: Sequence[Wanted]) -> frozenset[str]:
    """Components that another job, one that is needed, replaces at the same places."""
    here = wanted[number]
    return frozenset(
        each.operation.component
        for n, each in enumerate(wanted)
        if n != number
        and each.operation.action in ("replace", "install")
        and (here.optional or not each.optional)
        and any(meets(a, b) for a in here.counted.places for b in each.counted.places)
    )


def _lacking(wanted: Wanted, title: str, way: Ways, pricing: Pricing) -> list[ToBePriced]:
    made = []
    for component in way.lacking:
        entry = pricing.lexicon.components.get(component)
        name = entry.name if entry else component.replace("_", " ")
        why = f"Goes in with “{title}”; the book has no such part for this vehicle and place, or none with a price."
        made.append(
            ToBePriced(
                finding_ids=wanted.finding_ids,
                title=f"{name[:1].upper()}{name[1:]} for: {title}",
                why=why,
                component=component,
                action="replace",
                locations=wanted.locations,
            )
        )
    return made


def _paid_by(job: Job, order: Order | None) -> Job:
    payer = (order.payer or "").casefold() if order else ""
    named = next((each for each in ("warranty", "fleet") if each in payer), None)
    return job.model_copy(update={"payer": named}) if named else job


def _iso(promised: datetime | date) -> str:
    return promised.isoformat()
