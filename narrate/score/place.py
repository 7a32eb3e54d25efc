"""Cases scored with narrate's own lexicon and pipeline, from text or from recordings of them."""

from collections.abc import Callable, Sequence
from pathlib import Path

from narrate.errors import RecordError
from narrate.find.mining import text_recording
from narrate.hear.suffixes import SUFFIXES
from narrate.pipeline import process_recordings, process_words
from narrate.records.case import Case
from narrate.records.walkaround import Walkaround
from narrate.score.cases import CaseFile, read_cases
from narrate.score.names import Names
from narrate.score.run import Score
from narrate.score.run import score_cases as score_files
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon


def score_place(
    place: Path,
    *,
    settings: Settings,
    lexicon: Lexicon,
    audio: Path | None = None,
    progress: Callable[[str, int, int], None] | None = None,
) -> tuple[Score, tuple[str, ...]]:
    """Score the cases of a file or folder; return the score and the ids of cases without a recording.

    audio: the folder of recordings, each named after its case; cases without one are left out.
    progress: called with the case in hand, cases done and cases in all. Raises RecordError for bad cases.
    """
    files = read_cases(place)
    recordings = _recordings(files, audio) if audio else {}
    scored = [file for file in files if not audio or file.case.id in recordings]
    done = 0

    def find(case: Case) -> Walkaround:
        nonlocal done
        if progress:
            progress(case.id, done, len(scored))
        done += 1
        chosen = settings.model_copy(update={"market": case.market, "drive_side": case.drive_side})
        if audio:
            return process_recordings([recordings[case.id]], settings=chosen, lexicon=lexicon)
        return process_words([text_recording(case.said, case.id)], settings=chosen, lexicon=lexicon)

    score = score_files(scored, find=find, names=names_of(lexicon), audio=audio is not None)
    return score, tuple(file.case.id for file in files if file not in scored)


def names_of(lexicon: Lexicon) -> Names:
    """Every name of a component, condition or action, as the lexicon has it."""

    def of_component(key: str) -> frozenset[str]:
        entry = lexicon.components.get(key)
        return frozenset(entry.names) if entry else frozenset()

    def of_condition(key: str) -> frozenset[str]:
        entry = lexicon.conditions.get(key)
        return frozenset((entry.name, *entry.aliases)) if entry else frozenset()

    def of_action(key: str) -> frozenset[str]:
        entry = lexicon.actions.get(key)
        return frozenset((entry.name, *entry.aliases)) if entry else frozenset()

    return Names(of_component, of_condition, of_action)


def _recordings(files: Sequence[CaseFile], audio: Path) -> dict[str, Path]:
    """Return the recording of each case that has one, or raise RecordError when none has."""
    ids = {file.case.id for file in files}
    found = {
        path.stem: path for path in sorted(audio.iterdir()) if path.stem in ids and path.suffix.lower() in SUFFIXES
    }
    if not found:
        message = f"{audio} holds no recording of these cases; name each after its case, as '{min(ids)}.wav'."
        raise RecordError(message)
    return found
