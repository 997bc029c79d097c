"""The archive at home: what it holds, the file itself, and the way back in."""

from __future__ import annotations

from collections.abc import Iterator
from functools import wraps
from itertools import chain
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt, csrf_protect
from django.views.decorators.http import require_GET, require_http_methods

from remodel.archive import before_update
from remodel.archive.errors import CannotRestore
from remodel.archive.files import bytes_stored
from remodel.archive.restoring import check_nothing_entered, restore
from remodel.archive.uploads import ArchiveUpload
from remodel.archive.writing import Contents, archive_name, stream
from remodel.history.errors import Refused
from remodel.history.services import By
from remodel.house.models import House
from remodel.pages.editing import edit, posted
from remodel.pages.people.forms import ArchiveForm
from remodel.pages.people.modes import home_only
from remodel.people.http import SiteRequest
from remodel.people.middleware import is_this_machine
from remodel.people.queries import may_archive
from remodel.web.responses import go

__all__ = ["archive", "archive_file", "archive_restore"]


@home_only
@require_GET
def archive(request: SiteRequest) -> HttpResponse:
    """What the archive holds and how it is brought back. For owners of every house here, because
    an archive is of all of them; where people sign in there is only the command."""
    _check_owner(request)
    sizes = bytes_stored()
    context = {
        "houses": [house.name for house in House.objects.all()],
        "removed": House.all_objects.exclude(deleted_at=None).count(),
        "files": len(sizes),
        "bytes": sum(sizes),
        "earlier": [
            (path.name, path.stat().st_size, at)
            for path, at in before_update.archives_before_update()
        ],
        "place": before_update.place(),
    }
    return render(request, "people/archive.html", context)


@home_only
@never_cache
@require_GET
def archive_file(request: SiteRequest) -> StreamingHttpResponse:
    """The archive as it is written. A browser that gets only part of it says so, and `restore`
    refuses such a part."""
    _check_owner(request)
    blocks = stream()
    # The tables are read before the first block: an outage is told as a page, not as a broken file.
    first = next(blocks)
    response = StreamingHttpResponse(_all(first, blocks), content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="{archive_name()}"'
    return response


def _takes_an_archive(view: Any) -> Any:
    """Have the file that is sent to a view written where an archive belongs. Django wants to be
    told before the token of the form is looked for, which is why that is looked for inside."""

    @csrf_exempt
    @wraps(view)
    def run(request: SiteRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if not settings.HOSTED:
            if not is_this_machine(request):
                raise Http404("Only on the machine itself")
            request.upload_handlers = [ArchiveUpload(request)]
        answer: HttpResponseBase = csrf_protect(view)(request, *args, **kwargs)
        return answer

    return run


@_takes_an_archive
@home_only
@never_cache
@require_http_methods(["GET", "POST"])
def archive_restore(request: SiteRequest) -> HttpResponse:
    """Restore everything from an archive, on this machine alone and only where nothing was entered
    yet: every check is the one of the command."""
    form = ArchiveForm(posted(request), request.FILES or None)

    def write(_: By) -> Contents:
        try:
            file = form.cleaned_data["file"]
            return restore(Path(file.file.name), name=file.name)
        except CannotRestore as error:
            raise Refused(str(error), field="file") from None

    def restored(contents: Contents) -> HttpResponse:
        photos = f", with {contents.files:,} photos and print sets" * bool(contents.files)
        messages.info(
            request,
            f"Restored {contents.houses} house{'s' * (contents.houses != 1)}{photos}. "
            "Boards are worked out again now, which takes a moment.",
        )
        return go(request, "start")

    return edit(request, form, "people/archive_restore.html", _where, write=write, then=restored)


def _where() -> dict[str, object]:
    """Why nothing can be restored here, where that is so, and what would go."""
    try:
        check_nothing_entered()
    except CannotRestore as error:
        return {"refused": str(error)}
    return {"demo": [house.name for house in House.all_objects.all()]}


def _all(first: bytes, blocks: Iterator[bytes]) -> Iterator[bytes]:
    yield from chain((first,), blocks)


def _check_owner(request: SiteRequest) -> None:
    if not may_archive(request.person):
        raise Http404("Only for owners of every house")
