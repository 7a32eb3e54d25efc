"""The ways to do a job, each with its lines: a way for each kind of part, then what may be done otherwise."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from narrate.price.book_index import BookIndex, narrowest
from narrate.price.matching import Asked, Match, match
from narrate.price.part_rows import Fitted, fitted_parts, label_of, matches_of, price_of
from narrate.price.quantities import Counted
from narrate.price.rounding import rounded
from narrate.price.sums import amount_of, is_taxed
from narrate.price.wanted import Wanted, quantity_of
from narrate.records.estimate import Choice, Line, LineKind, SumRules
from narrate.records.price_book import Operation
from narrate.records.walkaround import QuotedPrice, Vehicle
from narrate.words.lexicon import Lexicon

REPLACES = frozenset(("replace", "install"))
"""Actions that put a part in."""


@dataclass(frozen=True, slots=True)
class Ways:
    """A job's choices, best first; `missing`: what the book lacks for it, one sentence each."""

    choices: tuple[Choice, ...]
    missing: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()
    """Components that go in with it, of which the book has no part."""


@dataclass(frozen=True, slots=True)
class Pricing:
    """What lines are priced by."""

    index: BookIndex
    vehicle: Vehicle
    lexicon: Lexicon
    rules: SumRules

    @property
    def currency(self) -> str:
        """ISO 4217 code."""
        return self.index.book.currency

    def line(self, kind: LineKind, text: str, quantity: Decimal, unit: str, price: Decimal, **more: object) -> Line:
        """A line with its amount; taxable where the book taxes its category."""
        made = Line(
            kind=kind,
            text=text,
            quantity=quantity,
            unit=unit,
            unit_price=price,
            amount=Decimal(0),
            taxable=is_taxed(str(more.get("tax_category") or kind), self.rules),
        )
        return made.model_copy(update={"amount": amount_of(made, self.currency, self.rules), **more})


def ways_of(wanted: Wanted, title: str, pricing: Pricing, separate: frozenset[str]) -> Ways:
    """The choices of a job. separate: components that other jobs put in at the same places.

    Without choices, `missing` says what the book lacks.
    """
    operation, counted = wanted.operation, wanted.counted
    missing: list[str] = []
    work = list(_work(operation, counted, operation.title or title, pricing, missing))
    if missing:
        return Ways((), tuple(missing))
    fitted = fitted_parts(operation.component, counted.places, pricing.index, pricing.vehicle)
    needs = _needs_part(operation, pricing.lexicon)
    if needs and not fitted:
        return Ways((), (_no_part(operation, wanted.name, counted, pricing),))
    ways: list[tuple[Fitted | None, Choice]] = []
    lacking: list[str] = []
    for part in fitted if needs or operation.action in REPLACES else [None]:
        lines = [*work, *(_part_lines(part, Decimal(1), pricing) if part else ())]
        for text in operation.with_parts:
            lines += _with_part(text, counted, part, pricing, separate, lacking)
        label = label_of(part) if part else _name(wanted.action, pricing.lexicon)
        ways.append((part, _choice(label, lines, pricing)))
    if not ways:
        lines = [*work]
        for text in operation.with_parts:
            lines += _with_part(text, counted, None, pricing, separate, lacking)
        ways = [(None, _choice(_name(wanted.action, pricing.lexicon), lines, pricing))]
    ways.sort(key=lambda way: (*_rank(way[0], wanted.part_options), way[1].subtotal))
    choices, notes = _with_spoken(ways, wanted, pricing.currency)
    choices = [*_told_apart(choices, [part for part, _ in ways]), *_otherwise(wanted, title, pricing)]
    left_out = [quantity_of(t)[0] for t in operation.with_parts if quantity_of(t)[0] in separate]
    notes += [
        f"The {_part_name(each, pricing.lexicon)} stands in a job of its own." for each in dict.fromkeys(left_out)
    ]
    return Ways(tuple(choices), (), tuple(notes), tuple(dict.fromkeys(lacking)))


def _work(operation: Operation, counted: Counted, title: str, pricing: Pricing, missing: list[str]) -> Iterator[Line]:
    """Labor or the work sent out, and fluids."""
    times = counted.of(operation.per)
    row = {"row": operation.key, "tax_category": operation.tax_category}
    if operation.sublet is not None:
        yield pricing.line("sublet", title, times, "each", operation.sublet, **row)
    elif operation.hours:
        rate = pricing.index.rates.get(operation.rate)
        if rate is None:
            missing.append(f"The book has no labor rate “{operation.rate}”.")
        else:
            yield pricing.line("labor", title, operation.hours * times, "h", rate.price, **row)
    for text in operation.fluids:
        key, quantity = quantity_of(text)
        fluid = pricing.index.fluids.get(key)
        if fluid is None:
            missing.append(f"The book has no fluid “{key}”.")
        else:
            more = {"row": key, "tax_category": fluid.tax_category}
            yield pricing.line("fluid", fluid.text, quantity * times, fluid.unit, fluid.price, **more)


def _needs_part(operation: Operation, lexicon: Lexicon) -> bool:
    """Whether it puts in a part of its own: a fluid comes by the quantity, and work sent out brings its parts."""
    if operation.action not in REPLACES or operation.sublet is not None:
        return False
    entry = lexicon.components.get(operation.component)
    if entry is None or not lexicon.kinds[entry.kind].mass:
        return True
    return not operation.fluids


def _no_part(operation: Operation, name: str, counted: Counted, pricing: Pricing) -> str:
    index, vehicle = pricing.index, pricing.vehicle
    if operation.component not in index.parts:
        return f"The book has the work but no part for the {name}."
    if not narrowest(index.parts_of(operation.component, vehicle), vehicle):
        return f"The book has parts for the {name} of other vehicles only."
    where = " and ".join(place for place in counted.places if place)
    told = f" for {where}" if where else ": where it goes was not told"
    return f"The book has no part for the {name}{told}, or none with a price."


def _part_lines(part: Fitted, times: Decimal, pricing: Pricing) -> Iterator[Line]:
    for row, quantity in part.rows:
        price = price_of(row, pricing.index)
        if price is None:
            continue
        yield pricing.line(
            "part",
            row.text,
            quantity * times,
            "each",
            price,
            part_number=row.number,
            part_is=row.part_is,
            part_maker=row.part_maker,
            row=row.key,
            component=row.component,
            tax_category=row.tax_category,
        )
        if row.core:
            text = f"Core charge, {row.text}: given back with the old part"
            yield pricing.line("core", text, quantity * times, "each", row.core, row=row.key)


def _with_part(
    text: str,
    counted: Counted,
    main: Fitted | None,
    pricing: Pricing,
    separate: frozenset[str],
    lacking: list[str],
) -> Iterable[Line]:
    """Lines of a part that goes in with the work: of the same kind as the main one, else the cheapest."""
    component, quantity = quantity_of(text)
    if component in separate:
        return ()
    fitted = fitted_parts(component, counted.places, pricing.index, pricing.vehicle)
    if not fitted:
        lacking.append(component)
        return ()
    lines = [(each, list(_part_lines(each, quantity, pricing))) for each in fitted]
    same = main.option if main else None
    _, best = min(lines, key=lambda each: (each[0].option != same, sum(line.amount for line in each[1])))
    return best


def _choice(label: str, lines: Sequence[Line], pricing: Pricing) -> Choice:
    subtotal = sum((line.amount for line in lines), rounded(Decimal(0), pricing.currency))
    return Choice(id="", label=label, lines=tuple(lines), subtotal=subtotal)


def _rank(part: Fitted | None, spoken: Sequence[str]) -> tuple[int, int]:
    """Ways the technician spoke of first, in the order of speaking."""
    found = [number for number, option in enumerate(spoken) if part and matches_of(part, option)]
    return (-len(found), found[0]) if found else (0, 0)


def _with_spoken(
    ways: Sequence[tuple[Fitted | None, Choice]], wanted: Wanted, currency: str
) -> tuple[list[Choice], list[str]]:
    """The choices with the prices spoken for them; a price spoken for none of them is told in a note."""
    choices = [choice for _, choice in ways]
    notes: list[str] = []
    for price in wanted.spoken:
        number = _spoken_for(price, ways)
        if price.currency == currency and number is not None and choices[number].spoken is None:
            choices[number] = choices[number].model_copy(update={"spoken": price.amount})
        else:
            told = f" for {price.for_.replace('_', ' ')}" if price.for_ else ""
            notes.append(f"Spoken price {price.amount} {price.currency}{told}: stands beside no choice.")
    for option in wanted.part_options:
        if not any(part and matches_of(part, option) for part, _ in ways):
            notes.append(f"Spoken of: {option.replace('_', ' ')}; the book has none.")
    return choices, notes


def _spoken_for(price: QuotedPrice, ways: Sequence[tuple[Fitted | None, Choice]]) -> int | None:
    if not price.for_:
        return 0
    return next((n for n, (part, _) in enumerate(ways) if part and matches_of(part, price.for_)), None)


def _told_apart(choices: Sequence[Choice], parts: Sequence[Fitted | None]) -> Iterator[Choice]:
    """Choices of one label are told apart by what the part is called."""
    labels = [choice.label for choice in choices]
    for choice, part in zip(choices, parts, strict=True):
        twice = part is not None and labels.count(choice.label) > 1
        more = f"{choice.label}: {part.rows[0][0].text}" if part and twice else choice.label
        yield choice.model_copy(update={"label": more})


def _otherwise(wanted: Wanted, title: str, pricing: Pricing) -> Iterator[Choice]:
    """What may be done instead, where the book has it for this part, place and vehicle."""
    for action in wanted.otherwise:
        asked = Asked(wanted.operation.component, action, tuple(p for p in wanted.counted.places if p))
        found = match(asked, pricing.index, pricing.vehicle, pricing.lexicon)
        first = found[0]
        if len(found) != 1 or not isinstance(first, Match) or first.operation.action == wanted.operation.action:
            continue
        instead = replace(wanted, operation=first.operation, counted=first.counted, otherwise=(), spoken=())
        name = _name(action, pricing.lexicon)
        for choice in ways_of(instead, title, pricing, frozenset()).choices[:1]:
            yield choice.model_copy(update={"label": f"{name} instead"})


def _name(action: str, lexicon: Lexicon) -> str:
    return lexicon.actions[action].name if action in lexicon.actions else action.replace("_", " ")


def _part_name(component: str, lexicon: Lexicon) -> str:
    return lexicon.components[component].name if component in lexicon.components else component.replace("_", " ")
