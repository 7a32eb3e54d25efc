"""A program for tests to kill: for each key on standard input a process of it keeps a capture's pieces and ends it.

Called with the data folder, the database's address (empty: in the folder) and the folder with the pieces. Prints each
process's number, and a line more when it is gone.
"""

import os
import signal
import sys
from pathlib import Path

import av  # noqa: F401 - loaded once, so that the kills hit the work

from narrate.store.captures import begin, begin_run, keep_piece
from narrate.store.engine import open_store
from narrate.work.capturing import end_capture


def main(folder: Path, address: str | None, pieces: Path) -> None:
    """Start one process after another."""
    data = [path.read_bytes() for path in sorted(pieces.iterdir())]
    for line in sys.stdin:
        key, count = line.split()
        process = os.fork()
        if process == 0:
            speak(folder, address, key, data[: int(count)])
            signal.pause()
        print(process, flush=True)
        os.waitpid(process, 0)
        print("gone", flush=True)


def speak(folder: Path, address: str | None, key: str, pieces: list[bytes]) -> None:
    """Keep pieces, noting in a file of the key's name each one that the store has promised to keep; then end it."""
    store = open_store(folder, address)
    with (folder / key).open("a", buffering=1) as told:
        begin(store, key, visit_id=None, device="", started_at="2026-11-27T09:00:00.000Z", who="Ana")
        begin_run(store, key, 0, mime="audio/webm", started_at="2026-11-27T09:00:00.000Z")
        for number, piece in enumerate(pieces):
            keep_piece(store, key, 0, number, piece, from_s=number, to_s=number + 1, sha256=None)
            told.write(f"{number}\n")
        end_capture(store, key, who="Ana", expected={0: len(pieces)})
        told.write("ended\n")
    store.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2] or None, Path(sys.argv[3]))
