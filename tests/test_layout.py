"""The source keeps its promised shape: imports point down, engines have one home, files stay short."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "narrate"
RANK = {
    "errors": 0,
    "records": 1,
    "atomic": 1,
    "settings": 2,
    "words": 3,
    "hear": 4,
    "find": 4,
    "judge": 4,
    "price": 4,
    "export": 4,
    "store": 5,
    "pipeline": 6,
    "work": 7,
    "score": 7,
    "review": 8,
    "cli": 9,
    "__init__": 10,
}
"""The rows of the design's table; the package root may use everything and nothing may use it."""
FILES = sorted(ROOT.rglob("*.py"))
LONGEST_FILE = 300
LONGEST_FUNCTION = 60


def part(file: Path) -> str:
    """The first name below narrate/: `hear` for narrate/hear/audio.py."""
    return file.relative_to(ROOT).with_suffix("").parts[0]


def parsed(file: Path) -> ast.Module:
    return ast.parse(file.read_text("utf-8"))


def parts_imported(tree: ast.AST) -> Iterator[str]:
    """The parts of narrate a file imports, anywhere in it; other ways to import them are named as such."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.level:
            yield f"relative import on line {node.lineno}"
        elif isinstance(node, ast.ImportFrom) and node.module == "narrate":
            yield from (f"narrate.{alias.name} by way of the root" for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("narrate."):
            yield str(node.module).split(".")[1]
        elif isinstance(node, ast.Import):
            yield from (f"import {a.name}" for a in node.names if a.name.split(".")[0] == "narrate")


def packages_imported(tree: ast.AST) -> set[str]:
    """The top-level packages a file imports when it runs; imports for type hints alone do not count."""
    found: set[str] = set()
    hints = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if id(node) in hints:
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.add(node.module.split(".")[0])
    return found


def homes(package: str) -> list[Path]:
    """The files that import a package."""
    return [file for file in FILES if package in packages_imported(parsed(file))]


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(ROOT)))
def test_imports_point_down(file: Path) -> None:
    """A module imports only from lower ranks and its own part."""
    here = part(file)
    for there in parts_imported(parsed(file)):
        assert there == here or RANK.get(there, 99) < RANK[here], f"{here} may not import {there}"


@pytest.mark.parametrize(("package", "home"), [("faster_whisper", "hear"), ("spacy", "find")])
def test_an_engine_has_one_home(package: str, home: str) -> None:
    """Each engine is imported in exactly one file, so that it can be exchanged there."""
    assert [home] == [part(file) for file in homes(package)]


def test_only_hearing_opens_recordings() -> None:
    """PyAV stays in hear/, and a file is opened in one place there, with every protocol off."""
    files = homes("av")
    assert {part(file) for file in files} == {"hear"}
    opening = [file.name for file in files if 'av.open(file, "r"' in file.read_text("utf-8")]
    assert opening == ["opening.py"]


def test_similar_spelling_is_for_words_and_finding() -> None:
    """Only find/ and words/ compare spellings."""
    assert {part(file) for file in homes("rapidfuzz")} <= {"find", "words"}


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(ROOT)))
def test_files_and_functions_are_short(file: Path) -> None:
    """A file fits a sitting and a function a screen."""
    text = file.read_text("utf-8")
    assert len(text.splitlines()) <= LONGEST_FILE
    long = [
        node.name
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and (node.end_lineno or 0) - node.lineno + 1 > LONGEST_FUNCTION
    ]
    assert [] == long


def test_public_names_do_not_hide_modules() -> None:
    """No public function has the name of a module, which it would hide."""
    public = {name for node in parsed(ROOT / "__init__.py").body for name in _names_of(node)}
    assert not public & {part(file) for file in FILES if file.parent != ROOT or file.stem != "__init__"}


def test_no_module_is_a_drawer() -> None:
    """A file is named after what it holds."""
    assert not [file for file in FILES if file.stem in {"utils", "helpers", "common", "misc"}]


def _names_of(node: ast.stmt) -> Iterator[str]:
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        yield node.name
    elif isinstance(node, ast.ImportFrom | ast.Import):
        yield from (alias.asname or alias.name for alias in node.names)
    elif isinstance(node, ast.Assign):
        yield from (target.id for target in node.targets if isinstance(target, ast.Name))


def test_test_files_have_names_of_their_own() -> None:
    """pytest imports test files and their helpers by their bare names: two of one name hide each other."""
    names = [path.name for path in Path(__file__).parent.rglob("*.py") if path.name != "conftest.py"]
    assert sorted(names) == sorted(set(names))
