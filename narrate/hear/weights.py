"""Where a speech model lies: found in installed packages, joined once into the cache, checked by digest."""

import contextlib
import hashlib
import importlib.util
import json
import os
import shutil
import tempfile
import time
from pathlib import Path

from narrate.errors import ModelError
from narrate.hear.digests import sha256_of
from narrate.hear.manifest import Model, ModelFile, manifest
from narrate.records.base import Kept
from narrate.settings import cache_folder

CHUNK_BYTES = 1 << 20
ABANDONED_S = 3600.0
"""Age after which a half-joined folder belongs to a process that was killed."""


class ModelState(Kept):
    """A model of the manifest and how far it is on this machine."""

    name: str
    about: str
    licence: str
    packages: tuple[str, ...]
    bytes: int
    installed: bool
    """All its pieces are in installed packages."""
    ready: bool
    """Its folder is whole and was checked by digest."""
    folder: str | None
    """Where it is used from; None while it is not ready."""


def list_models() -> tuple[ModelState, ...]:
    """Return every model of the manifest with its state on this machine; changes nothing."""
    states = []
    for name, model in manifest().items():
        folder = _folder_of(name, model)
        ready = folder is not None and _checked_before(name, model, folder)
        states.append(
            ModelState(
                name=name,
                about=model.about,
                licence=model.licence,
                packages=model.packages,
                bytes=model.total_bytes,
                installed=not _missing_pieces(model),
                ready=ready,
                folder=str(folder) if ready else None,
            )
        )
    return tuple(states)


def model_folder(name_or_path: str) -> Path | None:
    """Return the folder of a model, joined and checked where need be.

    A path to a folder is used as it is. None means a name the manifest does not know; the engine's own
    loader may know it. Raises ModelError when the model is not installed, damaged or incomplete.
    """
    if name_or_path in manifest():
        return _ready_folder(name_or_path, manifest()[name_or_path])
    path = Path(name_or_path).expanduser()
    if path.is_dir():
        return _complete(path)
    if path.is_absolute() or name_or_path.startswith((".", "~")) or path.exists():
        message = (
            f"There is no model folder {name_or_path}; name a folder that holds model.bin, or one of "
            f"{', '.join(manifest())}."
        )
        raise ModelError(message)
    return None


def verify_model(name: str) -> Path:
    """Read every byte of a model of the manifest again and return its folder.

    Raises ModelError naming the file that is missing or differs.
    """
    if name not in manifest():
        message = f"There is no model {name!r} in the manifest; it lists {', '.join(manifest())}."
        raise ModelError(message)
    model = manifest()[name]
    folder = _ready_folder(name, model)
    _check_digests(name, model, folder)
    return folder


def _ready_folder(name: str, model: Model) -> Path:
    """Return a folder that is whole and has been checked."""
    folder = _folder_of(name, model)
    if folder is None:
        _require_installed(name, model)
        folder = _join(name, model)
    if not _checked_before(name, model, folder):
        _check_digests(name, model, folder)
        _remember_check(name, model, folder)
    return folder


def _folder_of(name: str, model: Model) -> Path | None:
    """Return where the model lies as one folder: in its package, or joined in the cache."""
    if model.in_pieces:
        joined = _joined_folder(name, model)
        return joined if joined.is_dir() else None
    first = _piece(model.file[0].pieces[0])
    return first.parent if first and not _missing_pieces(model) else None


def _joined_folder(name: str, model: Model) -> Path:
    """Return the model's place in the cache; the digest in its name keeps versions apart."""
    weights = max(model.file, key=lambda file: file.bytes)
    return cache_folder() / "models" / f"{name}-{weights.sha256[:12]}"


def _piece(place: str) -> Path | None:
    """Return the file at "package/folder/file" of an installed package, without running its code."""
    package, _, inside = place.partition("/")
    spec = importlib.util.find_spec(package)
    for location in (spec.submodule_search_locations or ()) if spec else ():
        if (path := Path(location) / inside).is_file():
            return path
    return None


def _missing_pieces(model: Model) -> tuple[str, ...]:
    """Return the pieces that no installed package holds."""
    return tuple(piece for file in model.file for piece in file.pieces if _piece(piece) is None)


def _require_installed(name: str, model: Model) -> None:
    """Raise ModelError unless every piece is there."""
    if _missing_pieces(model):
        message = (
            f"The speech model {name!r} is not installed; run 'pip install {' '.join(model.packages)}', "
            "or name the folder of another model."
        )
        raise ModelError(message)


def _join(name: str, model: Model) -> Path:
    """Join the pieces into the cache and return the folder; safe beside other processes doing the same."""
    target = _joined_folder(name, model)
    work: Path | None = None
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _clear_abandoned(target.parent)
        work = Path(tempfile.mkdtemp(prefix=".joining-", dir=target.parent))
        for file in model.file:
            _write_joined(name, file, work / file.name)
        _give_name(work, target)
    except OSError as error:
        message = (
            f"The speech model {name!r} could not be put together in {target.parent} ({error.strerror}); "
            f"make {model.total_bytes // 10**6} MB of room there, or set NARRATE_CACHE to another folder."
        )
        raise ModelError(message) from error
    finally:
        if work is not None:
            shutil.rmtree(work, ignore_errors=True)
    _remember_check(name, model, target)
    return target


def _write_joined(name: str, file: ModelFile, target: Path) -> None:
    """Write one file from its pieces, on disk before this returns; raise ModelError if it is not the one."""
    hasher = hashlib.sha256()
    with target.open("wb") as out:
        for place in file.pieces:
            piece = _piece(place)
            if piece is None:
                raise FileNotFoundError(2, "a piece of it is missing", place)
            with piece.open("rb") as source:
                while chunk := source.read(CHUNK_BYTES):
                    hasher.update(chunk)
                    out.write(chunk)
        out.flush()
        os.fsync(out.fileno())
    if hasher.hexdigest() != file.sha256:
        message = f"The packages of the speech model {name!r} are damaged ({file.name}); install them again."
        raise ModelError(message)


def _give_name(work: Path, target: Path) -> None:
    """Rename the finished folder; when another process was quicker, its folder stays."""
    try:
        work.rename(target)
    except OSError:
        if not target.is_dir():
            raise


def _clear_abandoned(folder: Path) -> None:
    """Remove half-joined folders that killed processes left."""
    for left in folder.glob(".joining-*"):
        # Another process may be clearing the same folder: what is gone already needs nothing.
        with contextlib.suppress(FileNotFoundError):
            if time.time() - left.stat().st_mtime > ABANDONED_S:
                shutil.rmtree(left, ignore_errors=True)


def _check_digests(name: str, model: Model, folder: Path) -> None:
    """Raise ModelError unless every file has the bytes and the digest of the manifest."""
    for file in model.file:
        path = folder / file.name
        if not path.is_file() or path.stat().st_size != file.bytes or sha256_of(path) != file.sha256:
            advice = f"delete {folder}" if model.in_pieces else "install its package again"
            message = (
                f"The speech model {name!r} is damaged: {path} is not the file of the manifest; "
                f"{advice} and run this again."
            )
            raise ModelError(message)


def _checked_before(name: str, model: Model, folder: Path) -> bool:
    """Whether these very files (by size and time of change) were checked by digest before."""
    try:
        return _marker(name, model).read_text("utf-8") == _fingerprint(model, folder)
    except OSError:
        return False


def _remember_check(name: str, model: Model, folder: Path) -> None:
    """Note that the files were checked; a cache that cannot be written only costs a check next time."""
    marker = _marker(name, model)
    try:
        marker.parent.mkdir(parents=True, exist_ok=True)
        draft = marker.with_name(f".{marker.name}-{os.getpid()}")
        draft.write_text(_fingerprint(model, folder), "utf-8")
        draft.replace(marker)
    except OSError:
        return


def _marker(name: str, model: Model) -> Path:
    """Return the file that notes a check."""
    joined = _joined_folder(name, model)
    return joined.with_name(f"{joined.name}.checked")


def _fingerprint(model: Model, folder: Path) -> str:
    """Return sizes and times of change of the model's files, as JSON."""
    stats = {file.name: (folder / file.name).stat() for file in model.file}
    files = {name: [stat.st_size, stat.st_mtime_ns] for name, stat in stats.items()}
    return json.dumps({"folder": str(folder), "files": files}, sort_keys=True)


def _complete(folder: Path) -> Path:
    """Return a folder someone named, or raise ModelError saying which file it lacks."""
    needed = ("model.bin", "config.json", "tokenizer.json")
    missing = [name for name in needed if not (folder / name).is_file()]
    if missing or not any(folder.glob("vocabulary.*")):
        what = ", ".join(missing) or "vocabulary.txt or vocabulary.json"
        message = f"{folder} is no speech model: it lacks {what}; name a folder of a converted Whisper model."
        raise ModelError(message)
    return folder
