"""The stretches in which a customer's complaint is told, cut where the technician goes on and where another begins."""

from collections.abc import Container, Sequence
from dataclasses import dataclass

from narrate.find.boundaries import boundary_mass
from narrate.find.draft import Draft, Mention, Scope
from narrate.find.symptoms import Symptoms, symptoms_of
from narrate.find.vocabulary import Vocabulary

SHORTEST = 3
"""A stretch of fewer tokens that names no symptom is no complaint."""
SHORTEST_READ = 6
"""The same for a stretch that only the encoder takes for the customer's words."""
CLAUSE = 0.35
"""How much ending makes a new clause: a comma."""
OPENING = 40
"""Within how many tokens of the beginning a complaint may stand that nothing introduces."""
VEHICLE = 8
"""A part named before this token says which vehicle it is: a diesel, the one with air suspension."""
LONGEST = 14
"""The longest clause that is taken as such a complaint."""
PARTS = frozenset({"component", "unknown"})
SAYING = frozenset({"customer", "customer_weak", "customer_after", "customer_recalled"})
"""Cues that say whose words these are."""
LEAD = 4
"""How many tokens before a cue's reach a stretch may begin and be the same; further, it begins there."""
NEAR = 3
"""Stretches of the encoder that begin at most so many tokens after another ends are one."""
ANSWER_REACH = 4
"""How many tokens before a complaint "that explains the" may begin."""
TECHNICAL = frozenset({"self", "test", "done", "other_vehicle", "vehicle_story"})
"""With such a cue the technician's own account has begun."""
SETTLED = frozenset({"approval", "hypothetical", "concern_answer", "concern_whole", "unchecked"})
"""A clause with such a cue is no complaint."""
FOUND = frozenset({"mm", "in", "1/32in", "V", "A", "ohm", "CCA", "psi", "bar", "kPa", "N.m", "percent"})
"""Units of what a technician measures; speeds and distances are the customer's too."""


@dataclass(frozen=True, slots=True)
class Complaint:
    """Inclusive token numbers, and the symptoms named there."""

    first: int
    last: int
    symptoms: tuple[str, ...]


def find_complaints(draft: Draft, vocabulary: Vocabulary) -> tuple[Complaint, ...]:
    """The complaints in the order they were told."""
    told = _Told(draft, vocabulary)
    found: list[Complaint] = []
    for first, last, plain in told.stretches():
        symptoms = told.named(first, last)
        if symptoms or (plain and last - first + 1 >= SHORTEST):
            found += told.split(first, last)
    taken = {number for one in found for number in range(one.first, one.last + 1)}
    found += [one for one in told.opening() if not taken & set(range(one.first, one.last + 1))]
    return tuple(sorted(found, key=lambda one: one.first))


def _read(scope: Scope) -> bool:
    """Whether the trained encoder read it; else a cue reaches there."""
    return scope.because[0].startswith("t")


def _run(stretches: Sequence[tuple[int, int]]) -> int:
    """Where the stretches that follow each other closely end."""
    end = stretches[0][1]
    for first, last in stretches[1:]:
        if first - end > NEAR:
            break
        end = last
    return end


class _Told:
    """One draft and what is looked up in it."""

    def __init__(self, draft: Draft, vocabulary: Vocabulary) -> None:
        self.draft = draft
        self.texts = [token.text for token in draft.tokens]
        self.mass = boundary_mass(draft)
        self.symptoms: Symptoms = symptoms_of(vocabulary.lexicon)
        self.by_id = {m.id: m for m in draft.mentions}
        self.joints = vocabulary.cue_words["concern_joint"]
        self.idle = self.joints | vocabulary.cue_words["turn"] | vocabulary.cue_words["contrast"]
        self.negations = vocabulary.cue_words["negation"]
        self.leading = vocabulary.cue_words["source"] | vocabulary.cue_words["determiner"]
        self.measured = {a.first for a in draft.amounts if a.kind in ("code", "price") or a.unit in FOUND}
        self.turns = {m.first for m in draft.mentions if m.family == "cue" and m.key in ("turn", "self")}
        self.mentions_at: dict[int, list[Mention]] = {}
        for mention in draft.mentions:
            self.mentions_at.setdefault(mention.first, []).append(mention)

    def named(self, first: int, last: int) -> tuple[str, ...]:
        """The symptoms named in a stretch."""
        return self.symptoms.named(self.texts[first : last + 1])

    def mentions(self, first: int, last: int) -> list[Mention]:
        """What is mentioned in a stretch."""
        return [m for number in range(first, last + 1) for m in self.mentions_at.get(number, ())]

    def stretches(self) -> list[tuple[int, int, bool]]:
        """The customer's words in order, none over another, and whether they are a complaint without a symptom too."""
        scopes = [s for s in self.draft.scopes if s.kind == "customer"]
        read = [(s.first, s.last) for s in sorted(scopes, key=lambda s: s.first) if _read(s)]
        found: list[tuple[int, int, bool]] = []
        for scope in sorted((s for s in scopes if not _read(s)), key=lambda s: s.first):
            if found and scope.first <= found[-1][1]:
                continue
            first, last = scope.first, self.until(scope)
            inside = [(a, b) for a, b in read if a <= scope.last and scope.first <= b]
            if inside:
                # The cue knows where the customer's words begin; the encoder where they end.
                end = _run(inside)
                first = first if first - inside[0][0] <= LEAD else inside[0][0]
                if last - end > NEAR and not self.named(end + 1, last):
                    last = end
                read = [(a, b) for a, b in read if a > last]
            found.append((first, last, self.by_id[scope.because[0]].key == "customer"))
        for first, last in read:
            first, last = self._said(first, last)
            if found and self._looks_back(first):
                continue
            if all(last < a or b < first for a, b, _ in found):
                found.append((first, last, last - first + 1 >= SHORTEST_READ))
        return sorted(found)

    def _looks_back(self, first: int) -> bool:
        """Whether "that explains", "that's your" stands before: a complaint told before is meant, and no other."""
        here = (m for n in range(max(0, first - ANSWER_REACH), first + 1) for m in self.mentions_at.get(n, ()))
        return any(m.key in ("concern_answer", "concern_cause") for m in here)

    def _said(self, first: int, last: int) -> tuple[int, int]:
        """A stretch without the "she says" at its beginning or end; the last before the first if that is all."""
        cues = [m for m in self.mentions(first, last) if m.key in SAYING]
        begin = max((m.last + 1 for m in cues if m.first <= first + 1), default=first)
        return begin, min((m.first - 1 for m in cues if m.last >= last and m.first > begin), default=last)

    def until(self, scope: Scope) -> int:
        """Where the complaint ends at the latest: before talk of a part that is no complaint, or of somebody else."""
        for number in range(scope.first + 1, scope.last + 1):
            here = self.mentions_at.get(number, ())
            if any(m.key in ("customer", "customer_weak") for m in here if m.family == "cue"):
                return number - 1
            if number > scope.first + 1 and self._begins_finding(number):
                return number - 1
        for first, last in self.clauses(scope.first, scope.last)[1:]:
            mentions = self.mentions(first, last)
            told = self.texts[first] in self.joints and self.named(first, last)
            if not told and (self._other_parts(first, last) or any(m.family == "action" for m in mentions)):
                return first - 1
        return scope.last

    def _begins_finding(self, number: int) -> bool:
        """Whether "left front pads" begins here, with nothing that ties it to what stands before."""
        places = [m for m in self.mentions_at.get(number, ()) if m.family == "location"]
        if not places or self.texts[number - 1] in self.leading:
            return False
        after = places[0].last + 1
        while any(m.family == "location" for m in self.mentions_at.get(after, ())):
            after += 1
        return any(m.family in PARTS for m in self.mentions_at.get(after, ()))

    def clauses(self, first: int, last: int, also: Container[int] = ()) -> list[tuple[int, int]]:
        """A stretch cut at every comma and stronger sign of an ending, and at some tokens more."""
        starts = [first]
        for number in range(first + 1, last + 1):
            if self.mass[number] - self.mass[number - 1] >= CLAUSE or number in also:
                starts.append(number)
        return [(start, end - 1) for start, end in zip(starts, [*starts[1:], last + 1], strict=True)]

    def split(self, first: int, last: int) -> list[Complaint]:
        """One complaint for each symptom told of with "and" or a comma between: grinding, and a shimmy at speed."""
        pieces: list[Complaint] = []
        start = first
        for number in range(first + 1, last + 2):
            if number <= last and not self._joint(number):
                continue
            symptoms = self.named(start, number - 1)
            if pieces and (not symptoms or self.symptoms.related(pieces[-1].symptoms, symptoms)):
                whole = pieces.pop()
                pieces.append(Complaint(whole.first, number - 1, self.named(whole.first, number - 1)))
            elif symptoms or number > last:
                pieces.append(Complaint(start, number - 1, symptoms))
            else:
                continue
            start = number
        return [self._trimmed(piece) for piece in pieces]

    def _joint(self, number: int) -> bool:
        return self.texts[number] in self.joints or self.mass[number] - self.mass[number - 1] >= CLAUSE

    def _trimmed(self, piece: Complaint) -> Complaint:
        first, last = piece.first, piece.last
        while first < last and self.texts[first] in self.idle:
            first += 1
        while first < last and self.texts[last] in self.idle:
            last -= 1
        return Complaint(first, last, piece.symptoms)

    def opening(self) -> list[Complaint]:
        """Symptoms told at the very beginning, before any part was spoken of: "silver hatch, shakes at sixty"."""
        found: list[Complaint] = []
        for first, last in self.clauses(0, min(OPENING, len(self.texts)) - 1, self.turns):
            mentions = self.mentions(first, last)
            cues = {m.key for m in mentions if m.family == "cue"}
            symptoms = self.named(first, last)
            if cues & TECHNICAL or self.measured & set(range(first, last + 1)) or self._names_part(first, last):
                break
            if symptoms and last - first < LONGEST and not cues & SETTLED and not self._denied(first, last):
                found += self.split(first, last)
        return found

    def _denied(self, first: int, last: int) -> bool:
        """Whether the symptom is said not to be there: "no drift"; but "no heat" is one."""
        begins = first + min(self.symptoms.words_of(self.texts[first : last + 1]), default=0)
        return begins > first and self.texts[begins - 1] in self.negations

    def _names_part(self, first: int, last: int) -> bool:
        """Whether a part is the subject, or is named besides the symptom, and does not only say which vehicle it is."""
        said = [first + number for number in self.symptoms.words_of(self.texts[first : last + 1])]
        others = self._other_parts(first, last)
        lamp = "warning_lamp" in self.named(first, last)
        for part in (m for m in self.mentions(first, last) if m.family in PARTS):
            if any(m.last == part.first - 1 and m.family == "location" for m in self.mentions(first, part.first)):
                return True
            if part.how == "guess" or (part.needs_context and said and part.first > min(said)):
                continue
            if part in others and (said or part.first >= VEHICLE):
                return True
            if said and part.first <= min(said) and not lamp:
                return True
        return False

    def _other_parts(self, first: int, last: int) -> list[Mention]:
        """The parts named in a stretch whose words are no words for a symptom there: not the diesel it smells of."""
        said = {first + number for number in self.symptoms.words_of(self.texts[first : last + 1])}
        parts = [m for m in self.mentions(first, last) if m.family in PARTS]
        return [part for part in parts if not said & set(range(part.first, part.last + 1))]
