"""A page into a PDF. Nothing but this and `pdf_drawing` brings in WeasyPrint.

The page is laid out by a process of its own, which is killed when it takes too long, one at a time
for each person. It is given the page and our own stylesheet and can fetch nothing else: no file, no
address, only what stands in the page itself as `data:`.
"""

from __future__ import annotations

import fcntl
import json
import logging
import os
import re
import subprocess
import sys
import time
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Any

from remodel.printing.pdf_drawing import set_drawings_directly
from remodel.printing.warm_process import NotWanted, WarmProcess

__all__ = [
    "PAPERS",
    "WAIT_SECONDS",
    "Busy",
    "CannotPrint",
    "NoPrinter",
    "TooLong",
    "drop",
    "file_name",
    "pdf_of",
    "turn_of_print",
]

PAPERS = {"letter": "US Letter", "a4": "A4"}
MOST_SECONDS = 60
MOST_BYTES = 3_000_000
MOST_PAGES = 200
WAIT_SECONDS = 8
_SHEETS = ("web/paper.css",)
_ORIGIN = "http://paper.invalid"  # never asked for: what a page's own addresses are told apart by


class CannotPrint(Exception):
    """The page could not be laid out. The message says why."""


class NoPrinter(CannotPrint):
    """A library that PDF pages need is not on this machine."""


class TooLong(CannotPrint):
    """The page is over a limit."""


class Busy(CannotPrint):
    """The last page this person asked for is still being laid out."""


# how far the process of its own is: a page laid out, or a page written of all
_FAR = re.compile(rb"^page (\d+)(?: of (\d+))?$", re.MULTILINE)
_printer = WarmProcess(
    [sys.executable, "-m", "remodel.printing.pdf"], folder=Path(__file__).resolve().parents[2]
)
_EXIT: dict[type[CannotPrint], int] = {NoPrinter: 3, TooLong: 4}


def pdf_of(
    html: str,
    *,
    seconds: float = MOST_SECONDS,
    most_bytes: int = MOST_BYTES,
    most_pages: int = MOST_PAGES,
    watch: Callable[[int, int], bool] | None = None,
) -> bytes:
    """A page as a tagged PDF with its title and language. Raises a `CannotPrint`.

    `watch` is called now and then with the pages laid out so far and 0, later with the pages
    written and the number of all pages. Where it returns False, the work is ended.
    """
    if len(html) > most_bytes:
        raise TooLong(f"{most_bytes // 1_000_000} MB of words and drawings a print")
    order = {"html": html, "sheets": _sheets(), "pages": most_pages, "seconds": int(seconds) + 5}
    try:
        code, pdf, complaints = _printer.run(
            json.dumps(order).encode(), seconds=seconds, watch=_heard(watch) if watch else None
        )
    except NotWanted:
        raise CannotPrint("it is no longer wanted") from None
    except subprocess.TimeoutExpired:
        raise TooLong(f"{seconds:g} seconds of work a print") from None
    if code == 0 and pdf.startswith(b"%PDF"):
        return pdf
    lines = _FAR.sub(b"", complaints).decode(errors="replace").strip().splitlines()
    last = lines[-1][:300] if lines else f"the process ended with {code}"
    raise {number: kind for kind, number in _EXIT.items()}.get(code, CannotPrint)(last)


def drop() -> None:
    """End the process that is kept ready for the next page."""
    _printer.drop()


def _heard(watch: Callable[[int, int], bool]) -> Callable[[bytes], bool]:
    def heard(output: bytes) -> bool:
        far = _FAR.findall(output)
        return watch(int(far[-1][0]), int(far[-1][1] or 0)) if far else watch(0, 0)

    return heard


def file_name(name: str) -> str:
    """The name as a file name that is safe in a header and on any disk."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^A-Za-z0-9,.-]+", " ", plain).strip(" .-")[:80].strip() or "Halfbay"


def _sheets() -> dict[str, str]:
    """The place of each of our stylesheets on the disk, by the address a page names it with."""
    from django.contrib.staticfiles import finders
    from django.templatetags.static import static

    return {
        _ORIGIN + static(sheet): str(path) for sheet in _SHEETS if (path := finders.find(sheet))
    }


@contextmanager
def turn_of_print(person: str) -> Iterator[None]:
    """One print at a time for each person, over all processes of the server. Raises `Busy` after a
    short wait."""
    from django.conf import settings

    folder = Path(settings.DATA_DIR) / "prints"
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / f"{file_name(person)}.lock").open("w") as file:
        until = time.monotonic() + WAIT_SECONDS
        while not _locked(file):
            if time.monotonic() > until:
                raise Busy("Another print is still being made")
            time.sleep(0.1)
        yield


def _locked(file: IO[str]) -> bool:
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


class _Far(logging.Handler):
    """Writes to the error output which page is being laid out."""

    def emit(self, record: logging.LogRecord) -> None:
        # a page that is only looked at again has other words
        if record.msg == "Step 5 - Creating layout - Page %d" and isinstance(record.args, tuple):
            print(f"page {record.args[0]}", file=sys.stderr, flush=True)


def _tell_pages(document: Any) -> None:
    """Have each page report to the error output when it is written."""

    def announcing(page: Any, number: int) -> Callable[..., None]:
        paint = page.paint

        def written(*given: Any, **more: Any) -> None:
            print(f"page {number} of {len(document.pages)}", file=sys.stderr, flush=True)
            paint(*given, **more)

        return written

    for number, page in enumerate(document.pages, start=1):
        page.paint = announcing(page, number)


class _Complaints(logging.Handler):
    """Keeps the library's complaints, because it leaves out a picture that it cannot draw."""

    def __init__(self, level: int) -> None:
        super().__init__(level)
        self.messages: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.messages.append(record.getMessage())


def _lay_out(order: Mapping[str, Any]) -> bytes:
    """The work of the separate process: a page as PDF."""
    try:
        from weasyprint import HTML  # type: ignore[import-untyped,unused-ignore]
        from weasyprint.urls import (  # type: ignore[import-untyped,unused-ignore]
            FatalURLFetchingError,
            URLFetcher,
            URLFetcherResponse,
        )
    except (ImportError, OSError) as error:
        raise NoPrinter(str(error).splitlines()[0]) from error

    set_drawings_directly()
    sheets: Mapping[str, str] = order["sheets"]

    class Closed(URLFetcher):  # type: ignore[misc,unused-ignore]
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url in sheets:
                return URLFetcherResponse(
                    url, Path(sheets[url]).read_bytes(), {"Content-Type": "text/css"}
                )
            return super().fetch(url, headers)

    complaints = _Complaints(logging.ERROR)
    logger = logging.getLogger("weasyprint")
    logger.setLevel(logging.ERROR)
    logger.propagate = False
    logger.handlers = [complaints]
    progress = logging.getLogger("weasyprint.progress")
    progress.setLevel(logging.INFO)
    progress.propagate = False
    progress.handlers = [_Far()]
    fetcher = Closed(allowed_protocols={"data"}, allow_redirects=False, fail_on_errors=True)
    try:
        document = HTML(string=order["html"], base_url=f"{_ORIGIN}/", url_fetcher=fetcher).render()
        if len(document.pages) > order["pages"]:
            raise TooLong(f"{order['pages']} pages a print")
        _tell_pages(document)
        pdf: bytes = document.write_pdf(pdf_variant="pdf/ua-1")
    except FatalURLFetchingError as error:
        raise CannotPrint(f"A page may fetch nothing from elsewhere: {error}") from None
    except RecursionError:
        raise TooLong("things nested less deep") from None
    lost = [complaint for complaint in complaints.messages if complaint.startswith("Failed to")]
    if lost:
        # paper with a picture left out is worse than none
        raise CannotPrint(f"{len(lost)} pictures could not be drawn: {lost[0][:120]}")
    return pdf


def _main() -> int:
    import resource

    logging.getLogger("weasyprint").setLevel(logging.CRITICAL)
    with suppress(ImportError, OSError):
        from weasyprint import HTML  # type: ignore[import-untyped,unused-ignore]

        HTML(string="<p>Fonts and all else are brought in before they are asked for").write_pdf()
    given = sys.stdin.buffer.read()
    if not given:
        return 0  # the server is gone, and nothing was asked for
    order = json.loads(given)
    used = resource.getrusage(resource.RUSAGE_SELF)
    # a process whose server was killed meanwhile ends by itself
    seconds = int(used.ru_utime + used.ru_stime) + order["seconds"]
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    out = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # whatever a library prints must not end up in the PDF
    try:
        pdf = _lay_out(order)
    except CannotPrint as error:
        print(error, file=sys.stderr)
        return _EXIT.get(type(error), 1)
    out.write(pdf)
    out.close()
    return 0


if __name__ == "__main__":
    sys.exit(_main())
