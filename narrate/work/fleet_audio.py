"""Recordings and the shop's own words at an address that all machines reach (a folder, s3://…): fsspec's only home."""

import hashlib
import logging
import secrets
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from narrate.atomic import write_atomically
from narrate.errors import MissingError, StoreError, UsageError
from narrate.store.engine import Store
from narrate.store.recordings import KeptRecording, file_of, keep_recording, kept_recording

try:
    import fsspec
except ImportError as error:
    MISSING = "Recordings at an address need the package fsspec; run 'pip install narrate[fleet]'."
    raise StoreError(MISSING) from error

PIECE = 1 << 20
WORDS = "words.csv"
_log = logging.getLogger(__name__)


@dataclass(frozen=True)
class SharedAudio:
    """A place beside the data folders of several machines. A recording lies there under its sha256, as at home."""

    store: Store
    files: Any
    """A file system of fsspec's."""
    root: str

    def is_there(self, sha256: str) -> bool:
        """Whether every machine can have a recording. Raises StoreError where the address does not answer."""
        known = kept_recording(self.store, sha256)
        return known is not None and bool(self._asked(self.files.exists, self._place(known)))

    def share(self, sha256: str) -> bool:
        """Put a recording of this machine's there, whole or not at all; False where this machine has none.

        Raises StoreError where it cannot be put there.
        """
        known = kept_recording(self.store, sha256)
        if known is None or not (source := file_of(self.store, sha256, known.suffix)).is_file():
            return False
        place = self._place(known)
        if not (self._asked(self.files.exists, place) and self._asked(self.files.size, place) == known.bytes):
            self._put(source, place)
        return True

    def fetch(self, sha256: str) -> Path | None:
        """Have a recording in this machine's data folder; return its file if it was fetched, None if it was there.

        Raises MissingError where nobody has it, StoreError where it is damaged or the address does not answer.
        """
        known = kept_recording(self.store, sha256)
        if known is None:
            message = f"There is no recording {sha256[:12]} in the store."
            raise MissingError(message)
        file = file_of(self.store, sha256, known.suffix)
        if file.is_file():
            return None
        if not self.is_there(sha256):
            where = "run 'narrate worker --fleet --share' where it is"
            message = f"The recording {sha256[:12]} is not at the shared address; {where}."
            raise MissingError(message)
        part = self.store.folder / "incoming" / f".{secrets.token_hex(8)}.fetched"
        try:
            if self._asked(self._copy_here, self._place(known), part) != sha256:
                message = f"The recording {sha256[:12]} at the shared address is damaged; share it again."
                raise StoreError(message)
            keep_recording(self.store, part, name=known.name, suffix=known.suffix)
        finally:
            part.unlink(missing_ok=True)
        return file

    def withdraw(self, needed: Callable[[], Collection[str]]) -> int:
        """Delete what lies there and is no longer `needed` (sha256), asked after looking; return how many files.

        The copies are for workers on their way only: what is forgotten at home shall not lie elsewhere.
        """
        place = f"{self.root}/audio"
        there = self._asked(self.files.find, place) if self._asked(self.files.exists, place) else []
        wanted = needed()
        over = [file for file in there if file.rpartition("/")[2][:64] not in wanted]
        for file in over:
            self._asked(self.files.rm_file, file)
        return len(over)

    def share_words(self) -> None:
        """Put the shop's own words there, as this machine has them."""
        mine = self.store.folder / WORDS
        content = mine.read_bytes() if mine.is_file() else None
        if content != self._words_there():
            place = f"{self.root}/{WORDS}"
            if content is None:
                self._asked(self.files.rm_file, place)
            else:
                self._put(mine, place)

    def fetch_words(self) -> None:
        """Take over the shop's own words from there."""
        content = self._words_there()
        mine = self.store.folder / WORDS
        if content is None:
            mine.unlink(missing_ok=True)
        elif not mine.is_file() or mine.read_bytes() != content:
            write_atomically(mine, content)

    def _words_there(self) -> bytes | None:
        place = f"{self.root}/{WORDS}"
        return bytes(self._asked(self.files.cat_file, place)) if self._asked(self.files.exists, place) else None

    def _place(self, known: KeptRecording) -> str:
        return f"{self.root}/audio/{known.sha256[:2]}/{known.sha256}{known.suffix}"

    def _put(self, source: Path, place: str) -> None:
        """Write beside and move: an object store has whole objects only, a folder has half-written files."""
        self._asked(self.files.makedirs, place.rpartition("/")[0], exist_ok=True)
        part = f"{place}.{secrets.token_hex(8)}.part"
        self._asked(self.files.put_file, str(source), part)
        self._asked(self.files.mv, part, place)

    def _copy_here(self, place: str, part: Path) -> str:
        digest = hashlib.sha256()
        with self.files.open(place, "rb") as stream, part.open("xb") as copy:
            while piece := stream.read(PIECE):
                digest.update(piece)
                copy.write(piece)
        return digest.hexdigest()

    def _asked(self, do: Any, *given: object, **named: object) -> Any:  # noqa: ANN401 - fsspec's are untyped
        """What a file system answers, or a sentence: its errors are of every kind that its services have."""
        self.files.invalidate_cache()
        try:
            return do(*given, **named)
        except Exception as error:
            message = f"The shared address does not answer as it should ({type(error).__name__}); it is tried again."
            _log.debug("The shared address:", exc_info=error)
            raise StoreError(message) from error


def shared_audio(store: Store, address: str) -> SharedAudio:
    """Return the place at an address. Raises UsageError for one that cannot be used."""
    try:
        files, root = fsspec.core.url_to_fs(address)
    except (ImportError, ValueError) as error:
        reason = str(error).strip().splitlines()[0]
        message = f"NARRATE_AUDIO is an address that cannot be used ({reason}); correct it or install what it needs."
        raise UsageError(message) from error
    return SharedAudio(store=store, files=files, root=root.rstrip("/"))
