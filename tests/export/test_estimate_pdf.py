"""The PDF: tagged, titled, paged, readable without colour; and where it cannot be made, why."""

import re
import shutil
import subprocess
import zlib
from pathlib import Path

import pytest
from made_estimates import CONSENT, many, nothing_found, some_estimate, some_walkaround
from PIL import Image

from narrate.export import estimate_pdf
from narrate.export.clips_inside import Photo
from narrate.export.estimate_page import Document, estimate_document
from narrate.export.estimate_pdf import PangoMissing, pdf_of
from narrate.words.place_rules import place_rules


def run(*words: object) -> str:
    """What one of Poppler's programs says."""
    program = shutil.which(str(words[0]))
    assert program, f"{words[0]} is missing: install poppler-utils"
    return subprocess.run([program, *map(str, words[1:])], check=True, capture_output=True, text=True).stdout


def told(file: Path) -> dict[str, str]:
    """What pdfinfo says of a file."""
    lines = (line.partition(":") for line in run("pdfinfo", file).splitlines())
    return {name: text.strip() for name, _, text in lines}


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The estimate with something of everything, as PDF."""
    file = tmp_path_factory.mktemp("pdf") / "estimate.pdf"
    page = estimate_document(
        some_estimate(consents=(CONSENT,)),
        some_walkaround(),
        place=place_rules("unknown"),
        clips={"f1": b"OggS"},
        chain_head="cd" * 32,
    )
    file.write_bytes(pdf_of(page))
    return file


def test_it_is_tagged_titled_and_says_its_language(printed: Path) -> None:
    """PDF/UA-1 (ISO 14289-1) wants tags, a title that is shown, a language, and says which part it keeps to."""
    facts = told(printed)
    assert ("yes", "Estimate e1: 2014 Ford F-150") == (facts["Tagged"], facts["Title"])
    assert facts["Page size"].startswith("612 x 792")
    objects = unpacked(printed)
    assert "/Lang (en-US)" in objects
    assert "/DisplayDocTitle true" in objects
    assert 'pdfuaid:part="1"' in run("pdfinfo", "-meta", printed)


def test_its_tree_has_headings_tables_and_figures_with_words(printed: Path) -> None:
    """Poppler reads the tags back: each heading level, table cells that are headings, and the picture's words."""
    tree = run("pdfinfo", "-struct-text", printed)
    tags = {line.split()[0].rstrip(":") for line in tree.splitlines() if line.strip()}
    assert {"H1", "H2", "H3", "Table", "Caption", "TH", "TD", "Figure", "L", "LI", "P"} <= tags
    assert "Work we offer" in tree
    assert "/Alt (A vehicle seen from above and from below" in unpacked(printed)


def unpacked(file: Path) -> str:
    """The file with its compressed streams opened."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", file.read_bytes(), re.DOTALL)
    opened = [zlib.decompressobj().decompress(stream) for stream in streams if stream[:1] == b"x"]
    return b"\n".join(opened).decode("latin-1")


def test_every_page_names_the_document_and_its_number(printed: Path) -> None:
    """The foot of each page carries the digest's short form; no clip is promised on paper."""
    pages = int(told(printed)["Pages"])
    assert pages > 1
    for number in range(1, pages + 1):
        text = run("pdftotext", "-layout", "-f", number, "-l", number, printed, "-")
        assert f"page {number} of {pages}" in text
        assert "Estimate e1: 2014 Ford F-150 · document " in text
    assert "own words:" not in run("pdftotext", printed, "-")


def test_it_is_read_without_colour(printed: Path, tmp_path: Path) -> None:
    """Rendered, no point of it has a colour, and every page has ink on it."""
    run("pdftoppm", "-r", 40, "-png", printed, tmp_path / "page")
    pages = sorted(tmp_path.glob("*.png"))
    assert len(pages) == int(told(printed)["Pages"])
    for page in pages:
        image = Image.open(page).convert("RGB")
        colours = image.getcolors(1 << 24)
        assert colours is not None
        assert max(max(c) - min(c) for _, c in colours) < 8
        assert min(sum(c) for _, c in colours) < 300


def test_nothing_found_fits_on_two_pages_of_a4(tmp_path: Path) -> None:
    """A walk-round without findings still makes a paper."""
    page = estimate_document(*nothing_found(), place=place_rules("us"))
    (tmp_path / "e.pdf").write_bytes(pdf_of(page, paper="A4"))
    facts = told(tmp_path / "e.pdf")
    assert int(facts["Pages"]) <= 2
    assert "A4" in facts["Page size"]


def test_long_names_and_many_ways_stay_on_the_sheet(tmp_path: Path) -> None:
    """No word stands outside the margins (15 mm at the sides of a letter)."""
    page = estimate_document(*many(4), place=place_rules("us"))
    (tmp_path / "e.pdf").write_bytes(pdf_of(page))
    boxes = run("pdftotext", "-bbox", tmp_path / "e.pdf", "-")
    edges = [float(part.split('"')[1]) for part in boxes.split("xMax=")[1:] for part in [f"={part}"]]
    assert len(edges) > 500
    assert max(edges) <= 612 - 15 / 25.4 * 72 + 1


def test_a_page_that_asks_for_more_gets_nothing(tmp_path: Path) -> None:
    """A file of this machine that a page names is not read."""
    secret = tmp_path / "secret.svg"
    secret.write_text('<svg xmlns="http://www.w3.org/2000/svg"><text>secret words</text></svg>', "utf-8")
    html = f'<html lang="en"><title>t</title><body><p>shown</p><img alt="a" src="{secret.as_uri()}"></body></html>'
    (tmp_path / "e.pdf").write_bytes(pdf_of(Document(html, "")))
    text = run("pdftotext", tmp_path / "e.pdf", "-")
    assert "shown" in text
    assert "secret" not in text


def test_a_photo_is_in_it(tmp_path: Path) -> None:
    """A photo given as bytes is printed."""
    Image.new("L", (64, 48), 128).save(tmp_path / "photo.jpg")
    photo = Photo((tmp_path / "photo.jpg").read_bytes(), "the pads")
    page = estimate_document(some_estimate(), some_walkaround(), place=place_rules("us"), photos={"f5": [photo]})
    (tmp_path / "e.pdf").write_bytes(pdf_of(page))
    assert "64" in run("pdfimages", "-list", tmp_path / "e.pdf")


def test_without_pango_one_sentence_says_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    """The library that sets type is missing: print the page by a browser."""

    def missing(_name: str) -> None:
        message = "cannot load library 'libpango-1.0-0'"
        raise OSError(message)

    monkeypatch.setattr(estimate_pdf, "import_module", missing)
    with pytest.raises(PangoMissing, match="open the HTML file in a browser and print it there"):
        pdf_of(Document("<p>", ""))
