"""Read lexicon/ from disk: checked key by key, all mistakes told at once, cached by content."""

import hashlib
import json
import re
import tempfile
import tomllib
from collections.abc import Container, Iterator
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from narrate.errors import LexiconError
from narrate.settings import cache_folder, project_folder
from narrate.words.entries import (
    ActionsFile,
    CommandsFile,
    ComponentEntry,
    ConditionsFile,
    CuesFile,
    HintsFile,
    KindsFile,
    LocationsFile,
    MakesFile,
    OftenFile,
    SymptomsFile,
    SystemFile,
    UnitsFile,
)
from narrate.words.lexicon import Lexicon

SINGLE: dict[str, type[BaseModel]] = {
    "kinds.toml": KindsFile,
    "conditions.toml": ConditionsFile,
    "actions.toml": ActionsFile,
    "locations.toml": LocationsFile,
    "cues.toml": CuesFile,
    "units.toml": UnitsFile,
    "hints.toml": HintsFile,
    "makes.toml": MakesFile,
    "symptoms.toml": SymptomsFile,
    "often.toml": OftenFile,
    "commands.toml": CommandsFile,
}
OPTIONAL = frozenset({"makes.toml", "symptoms.toml", "often.toml", "commands.toml"})
"""What a lexicon may lack: without it, makes and letters spelled out, symptoms, how often a name is said, or spoken
commands are not known."""
FileType = TypeVar("FileType", bound=BaseModel)
MOST_READY = 4
_ready: dict[str, Lexicon] = {}
"""Compiled lexicons by the digest of their files."""


def load_lexicon(folder: Path | None = None) -> Lexicon:
    """The lexicon of a folder, or narrate's own.

    Raises LexiconError naming every mistake with file, key path and line.
    Files that passed the check once are kept in the cache under the digest of their bytes; the same bytes give the
    same object within one run, for what is made ready from it is kept by it.
    """
    folder = folder or project_folder("lexicon")
    sources = {path.relative_to(folder).as_posix(): path.read_bytes() for path in _files(folder)}
    try:
        everyday = (folder / "everyday.txt").read_bytes()
    except OSError as error:
        problem = "everyday.txt: the file is missing"
        raise LexiconError((problem,)) from error
    digest = _digest({**sources, "everyday.txt": everyday})
    if digest not in _ready:
        if len(_ready) >= MOST_READY:
            _ready.clear()
        _ready[digest] = _made(sources, everyday, digest)
    return _ready[digest]


def _made(sources: dict[str, bytes], everyday: bytes, digest: str) -> Lexicon:
    kept = cache_folder() / "lexicon" / f"{digest}.json"
    try:
        checked = json.loads(kept.read_bytes())
    except (OSError, ValueError):
        checked = _check(sources)
        _keep(kept, checked)
    return _compile(checked, digest, everyday.decode("utf-8").splitlines())


def _files(folder: Path) -> list[Path]:
    return sorted([*(folder / "systems").glob("*.toml"), *(p for p in map(folder.joinpath, SINGLE) if p.exists())])


def _digest(sources: dict[str, bytes]) -> str:
    whole = hashlib.sha256()
    # The shape of the entries is part of what was checked.
    whole.update((Path(__file__).parent / "entries.py").read_bytes())
    for name, content in sorted(sources.items()):
        whole.update(f"{name}\0{len(content)}\0".encode())
        whole.update(content)
    return whole.hexdigest()


def _check(sources: dict[str, bytes]) -> dict[str, Any]:
    problems: list[str] = []
    checked: dict[str, Any] = {}
    for missing in (name for name in SINGLE if name not in sources and name not in OPTIONAL):
        problems.append(f"{missing}: the file is missing")
    for name, content in sources.items():
        shape = SINGLE.get(name, SystemFile)
        try:
            text = content.decode("utf-8")
            entries = shape.model_validate(tomllib.loads(text))
        except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            problems.append(f"{name}: not valid TOML: {error}")
        except ValidationError as errors:
            problems.extend(_tell(name, text, errors))
        else:
            checked[name] = entries.model_dump(mode="json", by_alias=True, exclude_defaults=True)
    texts = {name: content.decode("utf-8", "replace") for name, content in sources.items()}
    problems.extend(_references(checked, texts))
    if problems:
        raise LexiconError(tuple(problems))
    return checked


def _tell(name: str, text: str, errors: ValidationError) -> list[str]:
    told = []
    for error in errors.errors():
        path = ".".join(str(part) for part in error["loc"])
        line = _line(text, [str(part) for part in error["loc"]])
        where = f"{name}:{line}: {path}" if line else f"{name}: {path}"
        told.append(f"{where}: {error['msg'].removeprefix('Value error, ')}")
    return told


def _line(text: str, path: list[str]) -> int | None:
    """The line a key stands on, where plain `[table.key]` and `key = …` lines show it."""
    header = re.compile(r"^\[" + re.escape(".".join(path[:2])) + r"\]") if len(path) > 1 else None
    lines = text.splitlines()
    start = next((i for i, line in enumerate(lines) if header and header.match(line)), None)
    if len(path) > 2 and start is not None:
        for i in range(start + 1, len(lines)):
            if lines[i].startswith("["):
                break
            if re.match(rf"{re.escape(path[2])}\s*=", lines[i]):
                return i + 1
    if start is not None:
        return start + 1
    return next((i + 1 for i, line in enumerate(lines) if re.match(rf"{re.escape(path[0])}\s*=", line)), None)


def _references(checked: dict[str, Any], texts: dict[str, str]) -> list[str]:
    """Ids that are named and do not exist, names listed as needing context that are no names, ids owned twice.

    Looks at the files that have the right shape; what one of the others would have said is not held against them.
    """
    problems: list[str] = []

    def tell(name: str, table: str, key: str, field: str, message: str) -> None:
        path = [table, key, field] if field else [table, key]
        line = _line(texts[name], path)
        problems.append(f"{name}:{line}: {'.'.join(path)}: {message}")

    kinds = checked.get("kinds.toml", {}).get("kind")
    systems = {name: file for name, file in checked.items() if name not in SINGLE}
    complete = len(systems) == sum(name not in SINGLE for name in texts)
    owner: dict[str, str] = {}
    for name, file in systems.items():
        for component in file["component"]:
            if component in owner:
                tell(name, "component", component, "", f"also defined in {owner[component]}")
            owner[component] = name
    for name, file in systems.items():
        for component, entry in file["component"].items():
            if kinds is not None and entry["kind"] not in kinds:
                tell(name, "component", component, "kind", f"no kind is called '{entry['kind']}'")
            actions = checked.get("actions.toml", {}).get("action", {})
            if actions and entry.get("asked") and entry["asked"] not in actions:
                tell(name, "component", component, "asked", f"no action is called '{entry['asked']}'")
            for key in ("parent", "measured_as"):
                if complete and entry.get(key, component) not in owner:
                    tell(name, "component", component, key, f"no component is called '{entry[key]}'")
            names = {entry["name"], entry.get("gb"), *entry.get("aliases", ())}
            for said in (said for said in entry.get("needs_context", ()) if said not in names):
                tell(name, "component", component, "needs_context", f"'{said}' is not one of its names")
    for name, table in (("conditions.toml", "condition"), ("actions.toml", "action")):
        for key, entry in checked.get(name, {}).get(table, {}).items():
            names = {entry["name"], *entry.get("aliases", ())}
            for said in (said for said in entry.get("needs_context", ()) if said not in names):
                tell(name, table, key, "needs_context", f"'{said}' is not one of its names")
    for name, entry in checked.get("often.toml", {}).get("often", {}).items():
        if complete and entry["component"] not in owner:
            tell("often.toml", "often", name, "component", f"no component is called '{entry['component']}'")
    for key, field, message in _symptom_references(checked, owner if complete else None):
        tell("symptoms.toml", "symptom", key, field, message)
    return problems


def _symptom_references(checked: dict[str, Any], components: Container[str] | None) -> Iterator[tuple[str, str, str]]:
    """(symptom, field, what is wrong): ids that do not exist, no words to know it by, wider symptoms in a circle."""
    symptoms = checked.get("symptoms.toml", {}).get("symptom", {})
    conditions = checked.get("conditions.toml", {}).get("condition")
    for key, entry in symptoms.items():
        wider = entry.get("under")
        if wider is not None and wider not in symptoms:
            yield key, "under", f"no symptom is called '{wider}'"
        elif wider is None and not entry.get("says"):
            yield key, "says", "neither it nor a wider symptom says which words mean it"
        above = {key}
        while wider in symptoms:
            if wider in above:
                yield key, "under", f"'{wider}' lies under itself"
                break
            above.add(wider)
            wider = symptoms[wider].get("under")
        for part in (part for part in entry["components"] if components is not None and part not in components):
            yield key, "components", f"no component is called '{part}'"
        for fault in (c for c in entry.get("conditions", ()) if conditions is not None and c not in conditions):
            yield key, "conditions", f"no condition is called '{fault}'"


def _keep(path: Path, checked: dict[str, Any]) -> None:
    """Write the cache so that a reader sees the whole file or none; a cache that cannot be written is no error."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile("w", dir=path.parent, delete=False, encoding="utf-8") as part:
            json.dump(checked, part)
        Path(part.name).replace(path)
    except OSError:
        return


def _compile(checked: dict[str, Any], digest: str, everyday: list[str]) -> Lexicon:
    components: dict[str, ComponentEntry] = {}
    system_of: dict[str, str] = {}
    for name, content in checked.items():
        if name in SINGLE:
            continue
        file = SystemFile.model_validate(content)
        components.update(file.component)
        system_of.update(dict.fromkeys(file.component, file.system))
    units = _typed(checked, "units.toml", UnitsFile)
    symptoms = _typed(checked, "symptoms.toml", SymptomsFile) if "symptoms.toml" in checked else None
    makes = _typed(checked, "makes.toml", MakesFile) if "makes.toml" in checked else None
    often = _typed(checked, "often.toml", OftenFile) if "often.toml" in checked else None
    return Lexicon(
        digest=f"sha256:{digest}",
        components=components,
        system_of=system_of,
        kinds=_typed(checked, "kinds.toml", KindsFile).kind,
        conditions=_typed(checked, "conditions.toml", ConditionsFile).condition,
        actions=_typed(checked, "actions.toml", ActionsFile).action,
        locations=_typed(checked, "locations.toml", LocationsFile).location,
        cues=_typed(checked, "cues.toml", CuesFile).cue,
        units=units.unit,
        spelling=units.spelling,
        hints=_typed(checked, "hints.toml", HintsFile).terms,
        everyday=frozenset(line for line in everyday if line and not line.startswith("#")),
        makes=makes.make if makes else {},
        letters=makes.letter if makes else {},
        symptoms=symptoms.symptom if symptoms else {},
        told_by=symptoms.told_by if symptoms else (),
        often=often.often if often else {},
        commands=_typed(checked, "commands.toml", CommandsFile) if "commands.toml" in checked else None,
    )


def _typed(checked: dict[str, Any], name: str, shape: type[FileType]) -> FileType:
    return shape.model_validate(checked[name])
