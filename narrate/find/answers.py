"""Which findings answer which concern: `stated` by the technician, or `suggested` by the symptom table."""

from collections.abc import Sequence
from dataclasses import dataclass

from narrate.find.draft import Draft, Group, Mention
from narrate.find.scene import Scene
from narrate.find.symptoms import Symptoms, symptoms_of
from narrate.find.vocabulary import Vocabulary
from narrate.records.walkaround import Answer, Concern

REACH = 6
"""How many tokens after "that's your …" the complaint's words may stand."""
BEHIND = 3
"""How many tokens after those the part may follow: "that's your whine, the idler"."""
CAUSE = 8
"""How many tokens after "the cause of the …" and its words the part may follow."""
RETOLD = 5
"""How many tokens before "… is the bearing" the complaint's words may begin."""
SENTENCE, PREVIOUS = 0.95, 2.2
"""How much ending lies within a sentence, and how much between the one before and this."""
STEM = 4
"""Words alike in this many first letters are forms of one: grinding, grinds, grind."""
MOST = 3
"""How many findings are suggested for one concern."""
WRONG = frozenset({"fault", "work", "unclear"})
"""Statuses of what can cause a complaint."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """A part spoken of, and the group it belongs to."""

    head: Mention
    group: Group


def stems_of(words: Sequence[str], light: frozenset[str]) -> frozenset[str]:
    """The beginnings of the words that say something."""
    return frozenset(word[:STEM] for word in words if word not in light and len(word) >= 3)


class Answers:
    """What the technician ties to what, in one recording."""

    def __init__(self, scene: Scene, groups: Sequence[Group], concerns: Sequence[Concern]) -> None:
        draft, vocabulary = scene.draft, scene.vocabulary
        self.scene = scene
        self.texts = self.scene.texts
        self.symptoms: Symptoms = symptoms_of(vocabulary.lexicon)
        self.concerns = concerns
        self.groups = groups
        self.light = vocabulary.cue_words["light"]
        self.articles = vocabulary.cue_words["determiner"]
        self.cues = [m for m in draft.mentions if m.family == "cue"]
        self.places = {n for m in draft.mentions if m.family == "location" for n in range(m.first, m.last + 1)}
        self.parts = {m.first: m for m in draft.mentions if m.family in ("component", "unknown")}
        heads = {m.id: m for m in draft.mentions}
        self.spoken = sorted(
            (
                Spoken(heads[head], group)
                for group in groups
                if group.status != "none"
                for head in group.heads
                if "customer" not in self.scene.scopes[heads[head].first]
            ),
            key=lambda spoken: spoken.head.first,
        )
        self.found: dict[str, list[str]] = {}
        """Ids of the concerns by group."""

    def stated(self) -> dict[str, list[str]]:
        """The concerns each group answers, by the technician's own words."""
        for cue in self.cues:
            if cue.key == "concern_whole":
                self._tie(self._last_told(cue.first), self._before(cue) or self._behind(cue.last + 1, BEHIND))
            elif cue.key == "concern_answer" and not self._denied(cue):
                concern, last = self._meant(cue)
                behind = [] if self._just_told(cue) else self._behind(last + 1, BEHIND)
                self._tie(concern, behind or self._before(cue))
            elif cue.key == "concern_cause":
                concern, last = self._meant(cue)
                self._tie(concern, self._behind(last + 1, CAUSE) or self._before(cue))
        for spoken in self.spoken:
            self._tie(self._retold(spoken.head), [spoken.group])
        return self.found

    def _tie(self, concern: Concern | None, groups: Sequence[Group]) -> None:
        for group in groups if concern else ():
            ids = self.found.setdefault(group.id, [])
            if concern and concern.id not in ids:
                ids.append(concern.id)

    def _between(self, one: int, two: int) -> float:
        return self.scene.mass[two] - self.scene.mass[one]

    def _denied(self, cue: Mention) -> bool:
        """Whether "not" or "don't think" stands right before: "i don't think that's your noise"."""
        return any(
            other.key == "negation"
            and 0 < cue.first - other.last <= BEHIND
            and self._between(other.last, cue.first) == 0
            for other in self.cues
        )

    def _meant(self, cue: Mention) -> tuple[Concern | None, int]:
        """The concern whose words follow a cue, or stand in it ("what she's hearing"), and where they end."""
        first, end = cue.last + 1, cue.last + 1
        while end < min(first + REACH, len(self.texts)) and self._between(cue.last, end) < SENTENCE:
            # Behind another part, the words are of that part: "that's the water pump leaking".
            if end in self.parts and not self._says_symptom(self.parts[end]):
                break
            end += 1
        concern = self._chosen(self.texts[first:end]) or self._chosen(self.texts[cue.first : end])
        said = self.symptoms.words_of(self.texts[first:end])
        return concern, first + max(said) if said else end - 1

    def _says_symptom(self, part: Mention) -> bool:
        return bool(self.symptoms.named(self.texts[part.first : part.last + 2]))

    def _chosen(self, words: Sequence[str]) -> Concern | None:
        """The concern some words mean: by their symptom, and by the words themselves; one not answered yet first."""
        named, stems = self.symptoms.named(words), stems_of(words, self.light)
        answered = {concern for ids in self.found.values() for concern in ids}
        best: tuple[tuple[int, bool], Concern | None] = ((0, False), None)
        for concern in self.concerns:
            shared = len(stems & stems_of(concern.text.lower().split(), self.light))
            if named and concern.symptoms:
                if not self.symptoms.related(named, concern.symptoms):
                    continue
                shared += 1
            elif named or not shared:
                # Words that are no symptom are enough only where the concern's are none the table knows.
                shared = 0 if concern.symptoms else shared
            rank = (shared, concern.id not in answered)
            if shared and rank > best[0]:
                best = (rank, concern)
        return best[1]

    def _last_told(self, before: int) -> Concern | None:
        """The concern spoken of last before a token; without any, the only one there is."""
        told = [
            c
            for c in self.concerns
            if c.evidence and c.evidence[-1].last_word < self.scene.draft.tokens[before].first_word
        ]
        return told[-1] if told else self.concerns[0] if len(self.concerns) == 1 else None

    def _just_told(self, cue: Mention) -> bool:
        """Whether a part that can be the cause was spoken of in the sentence before the cue."""
        return any(
            s.head.last < cue.first and self._between(s.head.last, cue.first) < SENTENCE and s.group.status in WRONG
            for s in self.spoken
        )

    def _before(self, cue: Mention) -> list[Group]:
        """What was told before a cue: the last thing wrong, else the last spoken of; two where both are meant."""
        earlier = [s for s in self.spoken if s.head.last < cue.first]
        if not earlier:
            return []
        pair = [c for c in self.cues if c.key == "concern_both" and 0 <= cue.first - c.last <= REACH]
        if pair:
            groups = dict.fromkeys(s.group.id for s in reversed(earlier) if s.group.status in WRONG)
            wanted = list(groups)[:2]
            return [group for group in self.groups if group.id in wanted]
        near = [s for s in earlier if self._between(s.head.last, cue.first) <= PREVIOUS and s.group.status in WRONG]
        return self._with_list((near or earlier)[-1])

    def _behind(self, first: int, reach: int) -> list[Group]:
        """What is told right behind, in the same sentence."""
        for spoken in self.spoken:
            start = spoken.head.first
            if first <= start <= first + reach and self._between(first - 1, start) < SENTENCE:
                return self._with_list(spoken) if spoken.head.family != "cue" else []
        return []

    def _with_list(self, spoken: Spoken) -> list[Group]:
        """The group and those named in one breath with it: "the pads and rotors, that's your grinding"."""
        numbers = [n for n, head in enumerate(self.scene.heads) if head.id == spoken.head.id]
        ids = {self.scene.heads[n].id for number in numbers for n in self.scene.list_of(number)} | {spoken.head.id}
        return [
            group
            for group in self.groups
            if ids & set(group.heads) and group.status != "none" and (group is spoken.group or group.status in WRONG)
        ]

    def _retold(self, head: Mention) -> Concern | None:
        """The concern told right before a part as its effect: "the hum he asked about, that's the bearing"."""
        if head.family == "cue":
            return None
        at = head.first
        while at > 0 and (self.texts[at - 1] in self.articles or at - 1 in self.places):
            if self._tells(at):
                break
            at -= 1
        length = self._tells(at)
        if not length or self._between(at - length, head.first) >= SENTENCE:
            return None
        end = at - length
        first = max(0, end - RETOLD)
        before = [m.last + 1 for m in self.parts.values() if m.last < end and not self._says_symptom(m)]
        first = max([first, *before])
        while first < end and self._between(first, end - 1) >= SENTENCE:
            first += 1
        words = self.texts[first:end]
        return self._chosen(words) if words and self.symptoms.named(words) else None

    def _tells(self, at: int) -> int:
        """How many tokens before a token say that what follows is the cause."""
        lengths = range(min(4, at), 0, -1)
        return next((n for n in lengths if tuple(self.texts[at - n : at]) in self.symptoms.told_by), 0)


def suggest(
    draft: Draft, vocabulary: Vocabulary, groups: Sequence[Group], concerns: Sequence[Concern]
) -> dict[str, list[str]]:
    """For groups that are a fault, the concerns whose symptoms they may cause: MOST a concern, likeliest first."""
    symptoms = symptoms_of(vocabulary.lexicon)
    mentions = {m.id: m for m in draft.mentions}
    found: dict[str, list[str]] = {}
    for concern in concerns:
        ranked: list[tuple[int, int, int]] = []
        for number, group in enumerate(groups):
            if group.status != "fault":
                continue
            parts = {mentions[h].key for h in group.heads if mentions[h].family == "component"}
            said = {mentions[d].key for d in group.dependents if d in mentions and mentions[d].family == "condition"}
            for order, key in enumerate(symptoms.particular(concern.symptoms)):
                entry = symptoms.entries[key]
                places = [n for n, part in enumerate(entry.components) if part in parts]
                places += [len(entry.components) + n for n, fault in enumerate(entry.conditions) if fault in said]
                if places:
                    ranked.append((min(places), order, number))
        best = dict.fromkeys(number for *_, number in sorted(ranked))
        for number in list(best)[:MOST]:
            found.setdefault(groups[number].id, []).append(concern.id)
    return found


def as_answers(stated: Sequence[str], suggested: Sequence[str]) -> tuple[Answer, ...]:
    """The links of one finding, what was said first."""
    return (
        *(Answer(concern=concern, link="stated") for concern in stated),
        *(Answer(concern=concern, link="suggested") for concern in suggested),
    )
