"""What the benchmarks share: the machine, a printed table, a result file."""

import json
import os
import platform
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
CHECKOUT = HERE.parents[1]
RESULTS = HERE / "results"


def machine() -> dict[str, str | int]:
    """What a figure depends on besides the program."""
    names = {"narrate", "faster-whisper", "ctranslate2", "spacy"}
    return {
        "system": platform.platform(),
        "processor": _processor(),
        "processors": len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1,
        "python": platform.python_version(),
        **{name: version(name) for name in sorted(names)},
    }


def _processor() -> str:
    information = Path("/proc/cpuinfo")
    if information.is_file():
        for line in information.read_text("utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor()


def table(head: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    """A Markdown table with aligned columns."""
    cells = [[str(cell) for cell in row] for row in (head, *rows)]
    widths = [max(len(row[column]) for row in cells) for column in range(len(head))]
    lines = [
        "| " + " | ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) + " |" for row in cells
    ]
    lines.insert(1, "|" + "|".join("-" * (width + 2) for width in widths) + "|")
    return "\n".join(lines)


def write_result(name: str, values: dict[str, Any]) -> Path:
    """Write the figures of one benchmark beside the machine they were measured on."""
    RESULTS.mkdir(exist_ok=True)
    path = RESULTS / f"{name}.json"
    path.write_text(json.dumps({"machine": machine(), **values}, indent=1) + "\n", "utf-8")
    return path
