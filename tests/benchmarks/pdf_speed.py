"""How long the customer's estimate takes as a page and as a PDF, by its number of jobs.

    python tests/benchmarks/pdf_speed.py

The first PDF of a process also loads the library and its fonts; it is measured apart, in a process of its own.
"""

import re
import statistics
import subprocess
import sys
import time
import zlib

import click
from tables import CHECKOUT, table, write_result

sys.path.insert(0, str(CHECKOUT / "tests" / "export"))

from made_estimates import many

from narrate.export.estimate_page import estimate_document
from narrate.export.estimate_pdf import pdf_of
from narrate.words.place_rules import place_rules

JOBS = (1, 6, 12, 30)
WAYS = 2


def pages_of(pdf: bytes) -> int:
    """How many pages a PDF has."""
    streams = re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL)
    opened = b"\n".join(zlib.decompressobj().decompress(each) for each in streams if each[:1] == b"x")
    return len(re.findall(rb"/Type /Page\b", opened + pdf))


def measure(jobs: int, times: int) -> dict[str, float]:
    """Seconds (median) and processor seconds of one size."""
    estimate, walkaround = many(jobs, WAYS)
    page_s, pdf_s, cpu_s, pages = [], [], [], 0
    for _ in range(times):
        start = time.perf_counter()
        page = estimate_document(estimate, walkaround, place=place_rules("unknown"))
        made = time.perf_counter()
        cpu = time.process_time()
        pages = pages_of(pdf_of(page))
        page_s.append(made - start)
        pdf_s.append(time.perf_counter() - made)
        cpu_s.append(time.process_time() - cpu)
    return {
        "jobs": jobs,
        "pages": pages,
        "page_s": round(statistics.median(page_s), 3),
        "pdf_s": round(statistics.median(pdf_s), 2),
        "pdf_processor_s": round(statistics.median(cpu_s), 2),
    }


@click.command()
@click.option("--first", is_flag=True, help="Print the seconds of one PDF of six jobs, all loading included.")
def main(first: bool) -> None:
    """Measure, print and keep."""
    if first:
        click.echo(measure(6, 1)["pdf_s"])
        return
    command = [sys.executable, __file__, "--first"]
    cold_s = float(subprocess.run(command, capture_output=True, text=True, check=True).stdout)
    measure(1, 1)
    rows = [measure(jobs, 3) for jobs in JOBS]
    click.echo(table(list(rows[0]), [[str(value) for value in row.values()] for row in rows]))
    click.echo(f"The first PDF of a process (6 jobs): {cold_s} s")
    write_result("pdf_speed", {"ways_a_job": WAYS, "first_pdf_s": cold_s, "sizes": rows})


if __name__ == "__main__":
    main()
