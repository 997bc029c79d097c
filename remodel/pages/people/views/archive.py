"""The archive at home: what it holds, and the file itself."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain

from django.http import Http404, HttpResponse, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from remodel.archive import before_update
from remodel.archive.writing import archive_name, folders, stream
from remodel.house.models import House
from remodel.pages.people.modes import home_only
from remodel.people.http import SiteRequest
from remodel.people.queries import may_archive

__all__ = ["archive", "archive_file"]


@home_only
@require_GET
def archive(request: SiteRequest) -> HttpResponse:
    """What the archive holds and how it is brought back. For owners of every house here, because
    an archive is of all of them; where people sign in there is only the command."""
    _check_owner(request)
    sizes = [
        path.stat().st_size
        for folder in folders().values()
        for path in folder.rglob("*")
        if path.is_file()
    ]
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


def _all(first: bytes, blocks: Iterator[bytes]) -> Iterator[bytes]:
    yield from chain((first,), blocks)


def _check_owner(request: SiteRequest) -> None:
    if not may_archive(request.person):
        raise Http404("Only for owners of every house")
