"""A page printed as a tagged PDF (PDF/UA-1), by WeasyPrint; the only place that knows it."""

from importlib import import_module
from types import ModuleType
from typing import Literal

from narrate.errors import NarrateError
from narrate.export.estimate_page import Document, style_sheet

Paper = Literal["letter", "A4"]


class PangoMissing(NarrateError):
    """The PDF cannot be made here; the page can be printed by a browser."""


def pdf_of(document: Document, *, paper: Paper = "letter") -> bytes:
    """The page as PDF. Nothing outside of it is read: only what lies inside as `data:`.

    Raises PangoMissing where Pango, which sets the type, is not installed.
    """
    printer = _printer()
    fetcher = printer.urls.URLFetcher(allowed_protocols=("data",), allow_redirects=False)
    page = printer.HTML(string=document.html, url_fetcher=fetcher, base_url=None)
    style = printer.CSS(string=f"@page {{ size: {paper}; }}\n{style_sheet('pdf.css')}", url_fetcher=fetcher)
    content: bytes = page.write_pdf(stylesheets=[style], pdf_variant="pdf/ua-1")
    return content


def _printer() -> ModuleType:
    try:
        # Loaded when first needed: it takes a second, and fails where Pango is missing.
        return import_module("weasyprint")
    except OSError as error:
        message = (
            "The PDF cannot be made here, because Pango is not installed ('sudo apt-get install libpango-1.0-0 "
            "libpangoft2-1.0-0 libharfbuzz-subset0'); open the HTML file in a browser and print it there."
        )
        raise PangoMissing(message) from error
