"""A page as PDF: the one file that knows WeasyPrint, which wants the Pango library of the system."""

from __future__ import annotations

from assistant.core.problems import DeviceTrouble


def pdf_of(html: str) -> bytes:
    """The PDF of a whole HTML page. Raises DeviceTrouble where what it needs is not installed; what is in it stands
    in the page itself: nothing is ever fetched."""
    try:
        from weasyprint import HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError) as error:
        raise DeviceTrouble(
            f"no PDF can be made here: {str(error).splitlines()[0]}",
            do="install the Debian package libpangoft2-1.0-0, or write .html and print it from a browser",
        ) from error
    made = HTML(string=html, url_fetcher=URLFetcher(allowed_protocols={"data"})).write_pdf()
    assert isinstance(made, bytes)
    return made
