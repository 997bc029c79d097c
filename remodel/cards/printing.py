"""House packs, made by the worker one at a time while people work on."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from django.conf import settings
from django.db import close_old_connections, transaction
from django.utils import timezone

from remodel.cards.models import Pack
from remodel.cards.packs import RoomPart, pack_html, revision_of, room_part
from remodel.cards.queries import cards_for
from remodel.engine import house_value
from remodel.house.models import Room
from remodel.house.queries import whole_house
from remodel.pdf import CannotPrint, pdf_of

__all__ = ["folder", "lay_out", "run_once", "work"]

log = logging.getLogger(__name__)

MOST_BYTES = 12_000_000  # of one page: drawings are text, some 15 kB a sheet
MOST_PAGES = 600
LONGEST = 120.0  # seconds
KEPT = timedelta(days=30)
_SILENT = timedelta(seconds=180)


def folder() -> Path:
    """Where the files of packs lie; each is named by its pack alone."""
    found = Path(settings.DATA_DIR) / "packs"
    found.mkdir(parents=True, exist_ok=True)
    return found


def lay_out(html: str, watch: Callable[[int, int], bool] | None = None) -> bytes:
    """A pack's page as PDF, `watch` as in `remodel.pdf`; raises a `CannotPrint`."""
    return pdf_of(html, seconds=LONGEST, most_bytes=MOST_BYTES, most_pages=MOST_PAGES, watch=watch)


def work(*, stop: threading.Event) -> None:
    """Make packs until `stop` is set."""
    while not stop.is_set():
        close_old_connections()
        if run_once() is None:
            stop.wait(1)


def run_once() -> Pack | None:
    """Make the next pack; None where none waits. One whose worker fell silent is made again."""
    pack = _take()
    if pack is None:
        return None
    try:
        _make(pack)
    except CannotPrint as error:
        _end(pack, Pack.State.FAILED, f"It could not be laid out: {error}")
    except Exception:
        log.exception("A pack failed: %s", pack.pk)
        _end(pack, Pack.State.FAILED, "Something went wrong. Ask for it again; if it fails again, print fewer rooms")
    _forget()
    return pack


def _take() -> Pack | None:
    with transaction.atomic():
        now = timezone.now()
        Pack.objects.filter(state=Pack.State.RUNNING, alive_at__lt=now - _SILENT).update(state=Pack.State.WAITING)
        waiting = Pack.objects.select_for_update(of=("self",)).filter(state=Pack.State.WAITING, house__deleted_at=None)
        pack = waiting.order_by("made_at").first()  # those of a removed house wait until it is put back
        if pack is None:
            return None
        pack.state, pack.alive_at = Pack.State.RUNNING, now
        pack.save(update_fields=("state", "alive_at"))
        return pack


def _make(pack: Pack) -> None:
    rooms = list(Room.objects.filter(house=pack.house_id, key__in=pack.rooms).select_related("behind"))
    sheets = _sheets_of(rooms) if "cards" in pack.parts else 0
    house = whole_house(pack.house_id)
    value = house_value(house)
    parts: list[RoomPart] = []
    drawn = 0
    for room in rooms:
        if not _tell(pack, done=drawn, of=sheets, doing=f"Drawing {room.name}"):
            return
        part = room_part(room, pack.parts, shared=value)
        if part is not None:
            parts.append(part)
            drawn += len(part.sheets)
    if not parts:
        _end(pack, Pack.State.FAILED, "None of these rooms could be worked out. Put right what they say first")
        return
    pack.revision, pack.revisions = revision_of(parts)

    def watch(page: int, of: int) -> bool:
        return _tell(pack, done=page, of=of, doing="Writing the pages" if of else f"Laying out page {page or 1}")

    if not watch(0, 0):
        return
    pdf = lay_out(pack_html(pack, house, parts), watch)
    name = f"{pack.pk}.pdf"
    (folder() / name).write_bytes(pdf)
    Pack.objects.filter(pk=pack.pk, state=Pack.State.RUNNING).update(
        state=Pack.State.DONE,
        doing="",
        done=sheets,
        of=sheets,
        file=name,
        revision=pack.revision,
        revisions=pack.revisions,
        ended_at=timezone.now(),
    )


def _sheets_of(rooms: list[Room]) -> int:
    """How many sheet cards the rooms have, one that several share counted for each."""
    found = 0
    for room in rooms:
        cards = cards_for(room)
        found += sum(room.key in sheet.rooms for sheet in cards.sheets) if cards else 0
    return found


def _tell(pack: Pack, *, done: int, of: int, doing: str) -> bool:
    """Write down how far it is; False where it is no longer wanted."""
    values = {"done": min(done, of), "of": of, "doing": doing[:200], "alive_at": timezone.now()}
    return bool(Pack.objects.filter(pk=pack.pk, state=Pack.State.RUNNING).update(**values))


def _end(pack: Pack, state: str, said: str) -> None:
    Pack.objects.filter(pk=pack.pk, state=Pack.State.RUNNING).update(
        state=state, doing=said[:200], ended_at=timezone.now()
    )


def _forget() -> None:
    """Remove files a month old; the receipt stays, so that the code on the paper still tells what changed."""
    old = Pack.objects.filter(ended_at__lt=timezone.now() - KEPT).exclude(file="")
    for pack in old:
        (folder() / pack.file).unlink(missing_ok=True)
        Pack.objects.filter(pk=pack.pk).update(file="")
