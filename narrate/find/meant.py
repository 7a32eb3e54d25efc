"""Stage: what a larger part stands for where it is measured: brakes at four millimeters are brake pads."""

from dataclasses import replace

from narrate.find.draft import Amount, Draft, Mention
from narrate.find.vocabulary import Vocabulary

LIKELY = 0.5
"""How sure a number must belong to the part."""


def find_meant(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """The draft with such parts named for what was measured."""
    components = vocabulary.lexicon.components
    named = {m.id: m for m in draft.mentions if m.family == "component" and components[m.key].measured_as}
    if not named:
        return draft
    amounts = {amount.id: amount for amount in draft.amounts}
    changed: dict[str, Mention] = {}
    for link in draft.links:
        mention, amount = named.get(link.head), amounts.get(link.dependent)
        if mention is None or amount is None or link.probability < LIKELY or mention.id in changed:
            continue
        meant = components[mention.key].measured_as
        if meant and _fits(amount, meant, vocabulary) and not _fits(amount, mention.key, vocabulary):
            changed[mention.id] = replace(
                mention,
                key=meant,
                because=(*mention.because, *amount.because),
                why=f"{mention.why}; measured as {meant} is",
            )
    return replace(draft, mentions=tuple(changed.get(m.id, m) for m in draft.mentions))


def _fits(amount: Amount, component: str, vocabulary: Vocabulary) -> bool:
    """Whether a component has numbers of this kind."""
    return amount.kind in ("measure", "bare") and any(
        amount.unit in (None, m.unit) and m.allows(amount.value)
        for m in vocabulary.lexicon.components[component].measures
        if amount.unit or m.unit != "percent"
    )
