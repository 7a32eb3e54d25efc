"""What narrate makes of a text: the stages' draft, or the findings."""

from collections.abc import Sequence
from dataclasses import dataclass

from narrate.find.draft import Draft, Mention
from narrate.find.mining import text_recording
from narrate.find.stages import READING, STAGES, Stage, run_stages
from narrate.find.vocabulary import vocabulary
from narrate.pipeline import process_words
from narrate.records.recording import Word
from narrate.records.walkaround import Finding
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon


@dataclass(frozen=True, eq=False)
class Asked:
    """A lexicon, and questions put to find/ with it."""

    lexicon: Lexicon

    def read(self, words: str | Sequence[str]) -> Draft:
        """What can be told from the words alone."""
        return self._run(words, READING)

    def understand(self, words: str | Sequence[str]) -> Draft:
        """All stages."""
        return self._run(words, STAGES)

    def find(self, text: str) -> tuple[Finding, ...]:
        """The findings of one text."""
        return process_words([text_recording(text)], settings=Settings(), lexicon=self.lexicon).findings

    def _run(self, words: str | Sequence[str], stages: tuple[tuple[str, Stage], ...]) -> Draft:
        texts = words.split() if isinstance(words, str) else words
        return run_stages([Word(text=text) for text in texts], vocabulary(self.lexicon), stages)


def word_span(draft: Draft, item: Mention) -> tuple[int, int]:
    """First and last word of a mention, as they were given."""
    return draft.tokens[item.first].first_word, draft.tokens[item.last].last_word
