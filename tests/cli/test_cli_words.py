"""`find`, `explain`, `export`, `lexicon` and `schema`: the commands that need no recording."""

import json
from pathlib import Path

import pytest
from cli_fakes import Run, fake_recording, fake_walkaround
from jsonschema import Draft202012Validator

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.walkaround import Walkaround
from narrate.settings import Settings
from narrate.words import load

PLAIN = "The front brake pads are worn out, replace them."


@pytest.fixture
def walk(at: Path) -> Path:
    """The file of a walkaround that narrate made of plain words."""
    found = process_words([text_recording(PLAIN)], settings=Settings(), lexicon=load.load_lexicon())
    path = at / "walk.json"
    path.write_text(found.model_dump_json(by_alias=True), "utf-8")
    return path


def test_plain_text_becomes_findings(at: Path, run: Run) -> None:
    """The table names the part, and the JSON beside it is a valid walkaround."""
    (at / "said.txt").write_text(PLAIN, "utf-8")
    result = run("find", "said.txt", "--json", "w.json")
    assert 0 == result.exit_code
    assert "brake pad" in result.stdout
    record = json.loads((at / "w.json").read_text("utf-8"))
    assert "brake_pad" in {finding["component"]["id"] for finding in record["findings"]}
    Draft202012Validator(json.loads(run("schema").stdout)).validate(record)


def test_standard_input_is_read(run: Run) -> None:
    """- reads text, and --json - writes nothing but the record."""
    record = json.loads(run("find", "-", "--json", "-", stdin=PLAIN).stdout)
    assert PLAIN.split() == [word["text"] for word in record["recordings"][0]["words"]]


def test_a_recording_in_json_is_read(at: Path, run: Run) -> None:
    """What `transcribe --json` writes keeps its times in the findings."""
    (at / "a.wav").write_text(PLAIN)
    (at / "a.json").write_text(fake_recording(at / "a.wav").model_dump_json(), "utf-8")
    record = json.loads(run("find", "a.json", "--json", "-").stdout)
    assert "a.wav" == record["recordings"][0]["name"]
    assert record["findings"]
    assert all(e["start_s"] < e["end_s"] for finding in record["findings"] for e in finding["evidence"])


def test_no_words_give_an_empty_list(run: Run) -> None:
    """An empty text is no failure."""
    result = run("find", "-", stdin="")
    assert (0, "No findings.\n") == (result.exit_code, result.stdout)


def test_the_side_follows_the_market(run: Run) -> None:
    """The driver's side is the right one in Great Britain, unless said otherwise."""
    side = {}
    for options in (["--market", "gb"], ["--market", "us"], ["--market", "gb", "--drive-side", "left"]):
        record = json.loads(run("find", "-", *options, "--json", "-", stdin=PLAIN).stdout)
        side[" ".join(options)] = record["vehicle"]["drive_side"]
    assert ["right", "left", "left"] == list(side.values())


@pytest.mark.parametrize(
    ("content", "why"),
    [(b"\xff\xfe\x00\x01", "neither text nor JSON"), (b'{"words": 3}', "at "), (b"{broken", "not a recording's JSON")],
)
def test_what_cannot_be_read_is_wrong_use(content: bytes, why: str, at: Path, run: Run) -> None:
    """A file that is neither text nor a recording is named in one sentence."""
    (at / "in").write_bytes(content)
    result = run("find", "in")
    assert 2 == result.exit_code
    assert result.stderr.startswith("in is ")
    assert why in result.stderr
    assert 1 == len(result.stderr.splitlines())


def test_an_order_with_an_unknown_key_names_file_and_key(at: Path, run: Run) -> None:
    """A misspelt key would silently lose what it says."""
    (at / "order.toml").write_text('[vehicle]\nvim = "1"\n', "utf-8")
    result = run("find", "-", "--order", "order.toml", stdin=PLAIN)
    assert 2 == result.exit_code
    assert "order.toml: vehicle.vim: unknown key" in result.stderr


def test_the_concerns_of_the_order_are_listed(at: Path, run: Run) -> None:
    """What the customer complains of stands in the record."""
    (at / "order.json").write_text('{"concerns": ["it squeals"], "vehicle": {"year": 2014}}', "utf-8")
    record = json.loads(run("find", "-", "--order", "order.json", "--json", "-", stdin=PLAIN).stdout)
    assert ["it squeals"] == [concern["text"] for concern in record["concerns"]]
    assert 2014 == record["vehicle"]["year"]


def test_a_finding_is_explained_stage_by_stage(walk: Path, run: Run) -> None:
    """The words and what was made of them are shown under each stage's name."""
    result = run("explain", walk, "f1")
    assert 0 == result.exit_code
    lines = result.stdout.splitlines()
    assert lines[0].startswith("f1: brake pad")
    assert "mentions" in lines
    assert any("“brake pads”" in line and "brake_pad" in line for line in lines)
    assert "" == result.stderr


def test_an_explanation_is_json_too(walk: Path, run: Run) -> None:
    """The same, for programs."""
    told = json.loads(run("explain", walk, "f1", "--json", "-").stdout)
    assert "narrate.explanation/1" == told["schema"]
    assert told["same_lexicon"] is True
    assert {"tokens", "mentions"} <= {each["stage"] for each in told["recorded"]}


def test_an_explanation_tells_that_the_lexicon_has_changed(walk: Path, run: Run) -> None:
    """Whoever reads it should know that the words may mean something else by now."""
    record = Walkaround.model_validate_json(walk.read_bytes())
    other = record.model_copy(update={"made_by": record.made_by.model_copy(update={"lexicon": "sha256:0"})})
    walk.write_text(other.model_dump_json(by_alias=True), "utf-8")
    assert "The lexicon has changed" in run("explain", walk, "f1").stderr


def test_an_unknown_finding_is_named(walk: Path, run: Run) -> None:
    """One sentence says which findings there are."""
    result = run("explain", walk, "f99")
    assert (1, "") == (result.exit_code, result.stdout)
    assert "There is no finding 'f99'" in result.stderr


def test_a_walkaround_is_exported(at: Path, run: Run) -> None:
    """Each file written is named on standard output."""
    (at / "a.wav").write_text("pads worn")
    (at / "w.json").write_text(fake_walkaround([fake_recording(at / "a.wav")]).model_dump_json(by_alias=True))
    result = run("export", "w.json", "--to", "new/out")
    assert 0 == result.exit_code
    names = [Path(line).name for line in result.stdout.splitlines()]
    assert ["findings.csv", "findings.xlsx", "findings.json", "findings.html", "findings.svg"] == names
    assert all((at / line).is_file() for line in result.stdout.splitlines())


def test_what_is_no_walkaround_is_not_exported(at: Path, run: Run) -> None:
    """A file of another kind is told apart in one sentence."""
    (at / "w.json").write_text('{"schema": "other/1"}')
    result = run("export", "w.json", "--to", "out")
    assert 1 == result.exit_code
    assert "w.json is no narrate.walkaround/1 record" in result.stderr
    assert not (at / "out").exists()


def test_the_lexicon_is_checked(run: Run) -> None:
    """narrate's own has no mistake; what may surprise someone is listed and no failure."""
    result = run("lexicon", "check")
    assert 0 == result.exit_code
    assert all(line.startswith("warning: component.") for line in result.stdout.splitlines())
    assert " components, " in result.stderr
    assert "0 errors" in result.stderr


def test_mistakes_of_a_lexicon_fail_the_check(at: Path, run: Run) -> None:
    """All mistakes are on standard error, the exit code is 1."""
    (at / "systems").mkdir()
    (at / "everyday.txt").touch()
    (at / "systems/a.toml").write_text("schema = 1\n")
    result = run("lexicon", "check", ".")
    assert (1, "") == (result.exit_code, result.stdout)
    assert "kinds.toml: the file is missing" in result.stderr
    assert "systems/a.toml:1: schema" in result.stderr


def test_a_sentence_can_be_tried(run: Run) -> None:
    """What it becomes is shown, and what was not understood."""
    assert "brake pad" in run("lexicon", "try", PLAIN).stdout
    left = run("lexicon", "try", "the whatsit is leaking badly").stdout
    assert "No findings." in left
    assert "Heard and not understood:" in left


@pytest.mark.parametrize("name", ["walkaround", "recording", "case", "estimate", "day"])
def test_schemas_are_valid_json_schema(name: str, run: Run) -> None:
    """Each schema is one that a validator takes."""
    Draft202012Validator.check_schema(json.loads(run("schema", name).stdout))


def test_every_word_is_explained_where_no_finding_is_named(walk: Path, run: Run) -> None:
    """What the stages made of each word, and where it stands."""
    told = json.loads(run("explain", walk, "--json", "-").stdout)
    assert "narrate.explained_words/1" == told["schema"]
    record = Walkaround.model_validate_json(walk.read_bytes())
    words = told["recordings"][0]["words"]
    assert [word.text for word in record.recordings[0].words] == [each["word"]["text"] for each in words]
    pads = next(each for each in words if each["word"]["text"].startswith("pads"))
    assert ["mentions", "component brake_pad"] in pads["recorded"]
    assert "f1" in pads["stands_in"]
    shown = run("explain", walk)
    assert 0 == shown.exit_code
    assert "mentions: component brake_pad" in shown.stdout


def test_explaining_says_what_has_changed_since(walk: Path, run: Run) -> None:
    """Words made with another lexicon or other weights are explained with these, and that is said."""
    assert "changed" not in run("explain", walk).stderr
    record = json.loads(walk.read_text("utf-8"))
    record["made_by"].update(lexicon="other", joining="other")
    walk.write_text(json.dumps(record), "utf-8")
    told = run("explain", walk).stderr
    assert "The lexicon has changed since this was made" in told
    assert "The trained weights have changed since this was made" in told
