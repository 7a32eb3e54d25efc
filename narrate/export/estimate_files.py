"""An estimate as files, all formats at once."""

from collections.abc import Mapping, Sequence
from pathlib import Path

from narrate.atomic import write_atomically
from narrate.errors import NarrateError
from narrate.export.clips_inside import Photo
from narrate.export.estimate_lines import estimate_json, lines_csv, lines_xlsx
from narrate.export.estimate_page import estimate_document
from narrate.export.estimate_pdf import PangoMissing, Paper, pdf_of
from narrate.export.job_sheet import job_sheet
from narrate.records.estimate import Estimate
from narrate.records.walkaround import Walkaround
from narrate.words.place_rules import PlaceRules


def write_estimate(
    estimate: Estimate,
    walkaround: Walkaround,
    folder: Path,
    *,
    place: PlaceRules,
    photos: Mapping[str, Sequence[Photo]] | None = None,
    clips: Mapping[str, bytes] | None = None,
    chain_head: str | None = None,
) -> tuple[tuple[Path, ...], str | None]:
    """Write `estimate.json`, `.csv`, `.xlsx`, `.html` and `.pdf` into `folder`, made if it is missing.

    With authorized work, `job_sheet.html` and `.pdf` too. Returns the files, and why there is no PDF where Pango is
    missing. Everything is made before the first file is written, and each appears whole or not at all.
    """
    page = estimate_document(estimate, walkaround, place=place, photos=photos, clips=clips, chain_head=chain_head)
    files = {
        "estimate.json": estimate_json(estimate),
        "estimate.csv": lines_csv(estimate),
        "estimate.xlsx": lines_xlsx(estimate),
    }
    pages = {"estimate": page}
    if any(job.state == "authorized" for job in estimate.jobs):
        pages["job_sheet"] = job_sheet(estimate, walkaround)
    why = None
    for name, each in pages.items():
        files[f"{name}.html"] = each.html.encode("utf-8")
        try:
            files[f"{name}.pdf"] = pdf_of(each, paper=paper_of(walkaround))
        except PangoMissing as error:
            why = str(error)
    return _written(files, folder), why


def paper_of(walkaround: Walkaround) -> Paper:
    """The sheet that the market prints on."""
    return "letter" if walkaround.market == "us" else "A4"


def _written(files: Mapping[str, bytes], folder: Path) -> tuple[Path, ...]:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"The folder {folder} cannot be made ({error.strerror}); choose another."
        raise NarrateError(message) from error
    for name, content in files.items():
        write_atomically(folder / name, content)
    return tuple(folder / name for name in files)
