"""Every format at once, in one folder."""

from pathlib import Path

from narrate.errors import NarrateError
from narrate.export.csv_file import write_csv
from narrate.export.cut_out import without_cuts
from narrate.export.html_file import write_html
from narrate.export.json_file import write_json
from narrate.export.picture import write_picture
from narrate.export.xlsx_file import write_xlsx
from narrate.records.walkaround import Walkaround

WRITERS = {".csv": write_csv, ".xlsx": write_xlsx, ".json": write_json, ".html": write_html, ".svg": write_picture}


def export_walkaround(walkaround: Walkaround, folder: Path) -> tuple[Path, ...]:
    """Write `findings.csv`, `.xlsx`, `.json`, `.html` and `.svg` into `folder`, made if it is missing.

    What was cut out in review is in none of them.
    """
    walkaround = without_cuts(walkaround)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"The folder {folder} cannot be made ({error.strerror}); choose another."
        raise NarrateError(message) from error
    paths = []
    for ending, write in WRITERS.items():
        path = folder / f"findings{ending}"
        write(walkaround, path)
        paths.append(path)
    return tuple(paths)
