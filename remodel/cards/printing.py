"""Packs, made by the worker while people work on: those of one room, which somebody waits for, and
those of more rooms beside them, each kind one at a time."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.core.files.base import ContentFile
from django.db.models import Q
from django.utils import timezone

from remodel.bridge import house_value
from remodel.cards.models import PrintPack
from remodel.cards.pack_files import pack_files
from remodel.cards.packs import RoomPart, pack_html, revision_of, room_part, sheets_in
from remodel.cards.queries import cards_for
from remodel.cards.services import cards_printed
from remodel.history.services import By
from remodel.house.models import Room
from remodel.house.queries import whole_house
from remodel.jobs.queue import Claim, Queue
from remodel.people.queries import houses_to_write
from remodel.printing.pdf import CannotPrint, pdf_of

__all__ = ["HOUSE_PACKS", "ROOM_PACKS", "lay_out", "run_once"]

MOST_BYTES = 12_000_000  # of one page: drawings are text, some 15 kB a sheet
MOST_PAGES = 600
LONGEST = 120.0  # seconds
KEPT = timedelta(days=30)
_FAILED = "Something went wrong. Ask for it again; if it fails again, print fewer rooms"
_LIMIT = timedelta(minutes=15)
ROOM_PACKS = Queue(
    PrintPack, words="doing", limit=_LIMIT, failed=_FAILED, only=Q(room__isnull=False)
)
HOUSE_PACKS = Queue(
    PrintPack, words="doing", limit=_LIMIT, failed=_FAILED, only=Q(room__isnull=True)
)


def lay_out(html: str, watch: Callable[[int, int], bool] | None = None) -> bytes:
    """A pack's page as PDF. `watch` is as in `remodel.printing.pdf`. Raises a `CannotPrint`."""
    return pdf_of(html, seconds=LONGEST, most_bytes=MOST_BYTES, most_pages=MOST_PAGES, watch=watch)


def run_once(
    *queues: Queue[PrintPack], stop: threading.Event | None = None, name: str = "worker"
) -> PrintPack | None:
    """Make the next pack of the first of the `queues` that has one, of all where none is named;
    None where none waits."""
    made = (queue.run_one(_make, name, stop) for queue in queues or (ROOM_PACKS, HOUSE_PACKS))
    pack = next((one for one in made if one is not None), None)
    if pack is not None:
        _forget()
    return pack


def _make(claim: Claim[PrintPack]) -> None:
    try:
        _make_file(claim)
    except CannotPrint as error:
        claim.end(PrintPack.State.FAILED, f"It could not be laid out: {error}")
    if claim.stop.is_set():
        claim.put_back()  # changes nothing where it is done


def _make_file(claim: Claim[PrintPack]) -> None:
    pack = claim.job
    rooms = list(
        Room.objects.filter(house=pack.house_id, key__in=pack.rooms).select_related("behind")
    )
    sheets = _sheets_of(rooms) if "cards" in pack.parts else 0
    house = whole_house(pack.house_id)
    value = house_value(house)
    parts: list[RoomPart] = []
    drawn = 0
    for room in rooms:
        if not _tell(claim, done=drawn, of=sheets, doing=f"Drawing {room.name}"):
            return
        part = room_part(room, pack.parts, shared=value)
        if part is not None:
            parts.append(part)
            drawn += len(part.sheets)
    if not parts:
        claim.end(
            PrintPack.State.FAILED,
            "None of these rooms could be worked out. Fix what they say first",
        )
        return
    pack.revision, pack.revisions = revision_of(parts)
    pack.sheets = sheets_in(parts)

    def watch(page: int, of: int) -> bool:
        doing = "Writing the pages" if of else f"Laying out page {page or 1}"
        return _tell(claim, done=page, of=of, doing=doing)

    if not watch(0, 0):
        return
    _keep(claim, lay_out(pack_html(pack, house, parts), watch), sheets)


def _keep(claim: Claim[PrintPack], pdf: bytes, sheets: int) -> None:
    """Write the file, then note that it is there. Each attempt has a file of its own, so that a
    worker that lost the job meanwhile overwrites nothing."""
    pack, files = claim.job, pack_files()
    wanted = f"{pack.pk}-{pack.attempts}-{pack.owner[-8:]}.pdf"
    name, kept = "", False
    try:
        name = files.save(wanted, ContentFile(pdf))
        made: dict[str, Any] = {
            "file": name,
            "revision": pack.revision,
            "revisions": pack.revisions,
            "sheets": pack.sheets,
        }
        kept = claim.end(PrintPack.State.DONE, done=sheets, of=sheets, **made)
        # Who may look only prints too, and accepts no plan by it.
        if kept and (pack.person is None or pack.house_id in houses_to_write(pack.person)):
            rooms = Room.objects.filter(house=pack.house_id, key__in=list(pack.revisions))
            cards_printed(by=By(pack.person), rooms=rooms, parts=pack.parts)
    finally:
        if name and not kept:
            files.delete(name)


def _sheets_of(rooms: list[Room]) -> int:
    """The number of sheet cards of the rooms. A sheet that several rooms share counts for each."""
    sheets = 0
    for room in rooms:
        cards = cards_for(room)
        sheets += sum(room.key in sheet.rooms for sheet in cards.sheets) if cards else 0
    return sheets


def _tell(claim: Claim[PrintPack], *, done: int, of: int, doing: str) -> bool:
    """Note how far the pack is. False where it is no longer wanted, or where the worker is about to
    stop."""
    return claim.note(done=min(done, of), of=of, doing=doing[:200]) and not claim.stop.is_set()


def _forget() -> None:
    """Remove files a month old. The receipt stays, so that the code on the paper still tells what
    changed."""
    files, oldest = pack_files(), timezone.now() - KEPT
    # Files are asked, not rows: a worker that was killed may have left one that no row names.
    for name in files.listdir("")[1]:
        if files.get_modified_time(name) < oldest:
            PrintPack.objects.filter(file=name).update(file="")
            files.delete(name)
