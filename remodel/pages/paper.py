"""A page answered as a PDF.

context = {"house": house, ...}
return paper(request, "supply/order_print.html", context, name=f"{order.name} {today}")
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from remodel.people.http import SiteRequest
from remodel.people.rate_limits import PDFS, TooFast, check_rate
from remodel.printing import pdf
from remodel.web.errors import forbidden, too_large, too_many

__all__ = ["paper"]


def _paper_of(request: SiteRequest) -> str:
    """The paper that was asked for: `letter`, unless the address says `?paper=a4`."""
    return "a4" if request.GET.get("paper") == "a4" else "letter"


def paper(
    request: SiteRequest, template: str, context: Mapping[str, Any], *, name: str
) -> HttpResponse:
    """Answer with a PDF called `name`, made of a template that extends `print_base.html`, on the
    paper that was asked for.

    Where it cannot be made, the answer is a page that says why: 503 with the command that installs
    what is missing, 429 while another is being made or after too many, 413 where the page is over a
    limit.
    """
    if (
        request.headers.get("Sec-Fetch-Site") == "cross-site"
        and request.headers.get("Sec-Fetch-Dest") != "document"
    ):
        return forbidden(request)
    chosen = _paper_of(request)
    try:
        check_rate(request, PDFS)
    except TooFast as error:
        return too_many(request, wait_seconds=error.seconds, message=str(error))
    html = render_to_string(template, {**context, "paper": chosen}, request)
    try:
        with pdf.turn_of_print(str(request.person.pk)):
            made = pdf.pdf_of(html)
    except pdf.Busy:
        return too_many(request, wait_seconds=pdf.WAIT_SECONDS)
    except pdf.TooLong as error:
        return too_large(request, limit=str(error))
    except pdf.CannotPrint as error:
        shown = {
            "house": context.get("house"),
            "missing": isinstance(error, pdf.NoPrinter),
            "said": str(error),
        }
        return render(request, "paper_missing.html", shown, status=503)
    answer = HttpResponse(made, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="{pdf.file_name(name)} ({chosen}).pdf"'
    answer["Cache-Control"] = "private, no-store"
    return answer
