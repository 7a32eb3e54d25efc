"""The compiled lexicon: what find/ looks words up in."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from narrate.words.entries import (
    ActionEntry,
    CommandsFile,
    ComponentEntry,
    ConditionEntry,
    CueEntry,
    KindEntry,
    LocationEntry,
    MakeEntry,
    OftenEntry,
    SymptomEntry,
    UnitEntry,
)
from narrate.words.phrases import phrase_words, plural

Family = Literal["component", "condition", "action", "location", "cue", "unit"]
How = Literal["name", "alias", "plural", "heard", "short"]


@dataclass(frozen=True, slots=True)
class Phrase:
    """One way to say one thing."""

    family: Family
    id: str
    words: tuple[str, ...]
    how: How
    needs_context: bool


@dataclass(frozen=True, slots=True, eq=False)
class Lexicon:
    """All words, checked; look-ups by id, and every phrase for matching."""

    digest: str
    components: Mapping[str, ComponentEntry]
    system_of: Mapping[str, str]
    kinds: Mapping[str, KindEntry]
    conditions: Mapping[str, ConditionEntry]
    actions: Mapping[str, ActionEntry]
    locations: Mapping[str, LocationEntry]
    cues: Mapping[str, CueEntry]
    units: Mapping[str, UnitEntry]
    spelling: Mapping[str, str]
    hints: tuple[str, ...]
    everyday: frozenset[str]
    makes: Mapping[str, MakeEntry] = field(default_factory=dict)
    letters: Mapping[str, str] = field(default_factory=dict)
    """Words that spell a letter: kilo -> k."""
    symptoms: Mapping[str, SymptomEntry] = field(default_factory=dict)
    """What customers complain of, in the order of the file."""
    told_by: tuple[str, ...] = ()
    """Words between a complaint told again and its cause."""
    often: Mapping[str, OftenEntry] = field(default_factory=dict)
    """Names of parts as they are said, the most often said first."""
    commands: CommandsFile | None = None
    """What a technician tells narrate itself."""
    own_words: tuple[tuple[str, str], ...] = ()
    """(component, words) of the shop's own names for parts."""
    hidden: frozenset[tuple[Family, str, tuple[str, ...]]] = frozenset()
    """(family, id, words) that no longer belong together: the shop's doing, see overlay.py."""

    def name(self, component: str, market: str) -> str:
        """The preferred name where tires are tyres (gb, eu), or in the United States."""
        entry = self.components[component]
        return entry.gb if market != "us" and entry.gb else entry.name

    def legal(self, component: str, condition: str) -> bool:
        """Whether this kind of component can have this class of condition at all."""
        kind = self.kinds[self.components[component].kind]
        return self.conditions[condition].class_ in kind.classes

    def phrases(self) -> Iterator[Phrase]:
        """Every phrase of every family, plurals included, spelling unified; without what the shop hid."""
        for phrase in self._all_phrases():
            if (phrase.family, phrase.id, phrase.words) not in self.hidden:
                yield phrase

    def _all_phrases(self) -> Iterator[Phrase]:
        for component, entry in self.components.items():
            yield from self._component_phrases(component, entry)
        for condition, fault in self.conditions.items():
            for said in (fault.name, *fault.aliases):
                yield self._phrase("condition", condition, said, "alias", said in fault.needs_context)
        for action, work in self.actions.items():
            for said in (work.name, *work.aliases):
                yield self._phrase("action", action, said, "alias", said in work.needs_context)
        for location, place in self.locations.items():
            for said in place.words:
                yield self._phrase("location", location, said, "alias")
        for cue, words in self.cues.items():
            for said in () if words.apart else words.words:
                yield self._phrase("cue", cue, said, "alias")
        for unit, measure in self.units.items():
            for said in measure.words:
                yield self._phrase("unit", unit, said, "alias")

    def _component_phrases(self, component: str, entry: ComponentEntry) -> Iterator[Phrase]:
        countable = not self.kinds[entry.kind].mass
        volts = {word for unit in self.units.values() if unit.symbol == "V" for word in unit.words}
        for said in entry.names:
            how: How = "name" if said in (entry.name, entry.gb) else "alias"
            context = said in entry.needs_context
            yield self._phrase("component", component, said, how, context)
            # A name that ends in volts is an adjective used alone: the twelve volt, but not twelve volts.
            if countable and said.split()[-1] not in volts:
                yield self._phrase("component", component, plural(said), "plural", context)
        if entry.irregular_plural:
            yield self._phrase("component", component, entry.irregular_plural, "plural")
        for said in entry.short:
            yield self._phrase("component", component, said, "short", True)
            if countable:
                yield self._phrase("component", component, plural(said), "short", True)
        for said in entry.heard:
            yield self._phrase("component", component, said, "heard", said in entry.needs_context)

    def _phrase(self, family: Family, id_: str, said: str, how: How, needs_context: bool = False) -> Phrase:
        return Phrase(family, id_, phrase_words(said, self.spelling), how, needs_context)
