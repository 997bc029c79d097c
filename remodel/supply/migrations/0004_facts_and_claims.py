"""Carries the stock, the orders and the ticks of before over to facts and claims.

Counts become what was used or found. A delivery that was taken back is one that its movement
reverses, and each receipt knows its movement. Lines of orders that were placed know what they
bought for which job, and their jobs have claims since the day of the order. Sheets that were ticked
as cut leave the stock as far as they stand in it; boards that hang know their place.

Of a plan that is not stored any more the ticks stay as they are: nobody can say which sheets they
were of. No screws are taken out of stock for boards that hung before; a count tells them.
"""

from __future__ import annotations

import uuid
from collections import Counter, defaultdict
from fractions import Fraction
from typing import Any

from django.db import migrations
from django.db.models import Max
from django.utils import timezone

from remodel.bridge import codec, lengths
from remodel.bridge.lengths import Amount
from remodel.bridge.plans import plan_from
from remodel.bridge.takes import places_in_plan


def counts_are_facts(apps: Any, schema_editor: Any) -> None:
    movements = apps.get_model("supply", "Movement").objects.filter(kind="counted")
    movements.filter(reverses=None, numerator__gt=0).update(kind="found", count=True)
    movements.filter(reverses=None, numerator__lte=0).update(kind="used", count=True)
    for movement in movements.select_related("reverses"):
        movement.kind, movement.count = movement.reverses.kind, True
        movement.save()


def receipts_know_their_movements(apps: Any, schema_editor: Any) -> None:
    """Pair each receipt with the movement it wrote: of the same line, as many packs, and of the
    same day where several are alike. What took a receipt back reverses that movement."""
    movement_rows = apps.get_model("supply", "Movement").objects
    came: dict[Any, list[Any]] = defaultdict(list)
    for movement in movement_rows.filter(kind="received", line__isnull=False).order_by("serial"):
        came[movement.line_id, movement.pieces].append(movement)
    receipts = apps.get_model("supply", "Receipt").objects
    for receipt in receipts.filter(packs__gt=0).order_by("at", "id"):
        alike = came[receipt.line_id, receipt.packs]
        day = timezone.localdate(receipt.at)
        movement = next((one for one in alike if one.day == day), alike[0] if alike else None)
        if movement is not None:
            alike.remove(movement)
            receipt.movement = movement
            receipt.save(update_fields=["movement"])
    for back in movement_rows.filter(
        kind="moved", line__isnull=False, reverses=None, numerator__lt=0
    ).order_by("serial"):
        wrong = movement_rows.filter(
            kind="received",
            line=back.line_id,
            item=back.item,
            pieces=back.pieces,
            numerator=-back.numerator,
            denominator=back.denominator,
            unit=back.unit,
            reverses=None,
            reversed_by=None,
            serial__lt=back.serial,
        )
        movement = wrong.filter(day=back.day).last() or wrong.last()
        if movement is not None:
            back.kind, back.reverses = "received", movement
            back.save(update_fields=["kind", "reverses"])


def orders_begin_claims(apps: Any, schema_editor: Any) -> None:
    """Give the jobs of placed and closed orders their claims, the earlier order first, and their
    shares of what its lines bought."""
    orders = apps.get_model("supply", "Order").objects
    open_: set[tuple[Any, str]] = set()
    serials: Counter[Any] = Counter()
    for order in orders.filter(
        deleted_at=None, state__in=("placed", "closed"), placed_at__isnull=False
    ).order_by("house", "placed_at", "id"):
        needs = _frozen_needs(apps, order)
        serials[order.house_id] += 1
        claims = []
        for job, item, _ in needs:
            if (job, item) not in open_:
                open_.add((job, item))
                claims.append(_claim(apps, order, job, item, serials[order.house_id]))
        apps.get_model("supply", "Claim").objects.bulk_create(claims)
        _share_lines(apps, order, needs)


def _frozen_needs(apps: Any, order: Any) -> list[tuple[Any, str, Amount]]:
    """What an order was placed for: each job of it, by its id, with an item and the amount."""
    frozen = order.frozen or {}
    rooms = {key: uuid.UUID(room["id"]) for key, room in frozen.get("rooms", {}).items()}
    jobs = {
        (room, key): id_
        for id_, room, key in apps.get_model("work", "Phase")
        .objects.filter(room__in=rooms.values())
        .values_list("id", "room", "key")
    }
    needs = []
    for line in frozen.get("needs", ()):
        need = line["need"]
        job = jobs.get((rooms.get(need["room"]), need["phase"]))
        if job is not None:
            value = Fraction(need["amount"]["value"])
            needs.append((job, need["material"], Amount(value, need["amount"]["unit"])))
    return needs


def _claim(apps: Any, order: Any, job: Any, item: str, serial: int) -> Any:
    return apps.get_model("supply", "Claim")(
        id=uuid.uuid5(order.pk, f"{job} {item}"),
        house_id=order.house_id,
        job_id=job,
        item=item,
        serial=serial,
        order=order,
        why="",
        begun_at=order.placed_at,
    )


def _share_lines(apps: Any, order: Any, needs: list[tuple[Any, str, Amount]]) -> None:
    """Say of each line what it bought for which job: what was missing, by what each took; what its
    packs held beyond that is the house's."""
    phase_of = dict(
        apps.get_model("work", "Phase")
        .objects.filter(id__in={job for job, _, _ in needs})
        .values_list("id", "key")
    )
    lines: dict[tuple[str, str], list[Any]] = defaultdict(list)
    for line in apps.get_model("supply", "OrderLine").objects.filter(order=order).exclude(pack=""):
        lines[line.phase, line.item].append(line)
    for (phase, item), alike in lines.items():
        unit = alike[0].unit
        held = sum(
            _in(Amount(Fraction(line.holds), line.holds_unit), unit) * line.packs for line in alike
        )
        takes = [
            (job, _in(amount, unit))
            for job, of, amount in needs
            if of == item and phase_of[job] == phase
        ]
        total = sum((amount for _, amount in takes), Fraction(0))
        first = alike[0]
        missing = total - Fraction(first.on_hand) - Fraction(first.on_the_way)
        bought = max(Fraction(0), min(missing, held))
        shares = [
            [str(job), _thousandths(amount * bought / total)] for job, amount in takes if bought
        ]
        if held > bought or not shares:
            shares.append(["", _thousandths(held - bought)])
        for line in alike:
            line.shares = shares
            line.save(update_fields=["shares"])


def _in(amount: Amount, unit: str) -> Fraction:
    if amount.unit == unit:
        return amount.value
    if not lengths.same_kind(amount, Amount(Fraction(1), unit)):
        return Fraction(0)
    return lengths.convert(amount, unit).value


def _thousandths(amount: Fraction) -> int:
    return max(1, -(-amount.numerator * 1000 // amount.denominator))


def ticks_cut_sheets(apps: Any, schema_editor: Any) -> None:
    """Write where boards hang and which sheets are cut, from the plans that ticks name."""
    marks = (
        apps.get_model("cards", "DoneMark")
        .objects.filter(done=True, deleted_at=None, kind__in=("cut", "hung"))
        .exclude(plan="")
        .select_related("room")
        .order_by("at", "id")
    )
    by_house: dict[Any, list[Any]] = defaultdict(list)
    for mark in marks:
        by_house[mark.house_id].append(mark)
    for house, mine in by_house.items():
        plans = _stored_plans(apps, house, {mark.plan for mark in mine})
        for mark in mine:
            if mark.kind != "hung" or mark.plan not in plans:
                continue
            places, _ = plans[mark.plan].get(mark.room.key, ((), ()))
            box = next((place.box for place in places if place.key == mark.item), None)
            if box is not None:
                mark.place = list(box)
                mark.save(update_fields=["place"])
        _cut_sheets(apps, house, mine, plans)


def _stored_plans(apps: Any, house: Any, names: set[str]) -> dict[str, Any]:
    """The plans of a house that are stored still, by name, with their places and sheets by room."""
    stored = list(
        apps.get_model("board", "Plan").objects.filter(house=house).values_list("data", flat=True)
    )
    results = apps.get_model("board", "RoomResult").objects.filter(room__house=house)
    digests = {one for pair in results.values_list("digest", "last_digest") for one in pair}
    for data in (
        apps.get_model("board", "Result")
        .objects.filter(digest__in=digests)
        .values_list("data", flat=True)
    ):
        stored += [pool["plan"] for pool in data.get("pools", ())]
    plans = {}
    for data in stored:
        try:
            # A plan was called by the digest of what was stored of it, whatever more plans have
            # since.
            name, by_room = places_in_plan(plan_from(data), codec.digest(data))
        except (KeyError, TypeError, ValueError):
            continue  # written by an engine whose plans had another form
        if name in names:
            plans[name] = by_room
    return plans


def _cut_sheets(apps: Any, house: Any, marks: list[Any], plans: dict[str, Any]) -> None:
    """Write a row for each sheet of which a piece is cut or hangs. Sheets that a log told as used
    are out already; of all others those leave the stock that stand in it, the rest is uncounted."""
    begun: dict[tuple[str, str, str], Any] = {}
    for mark in marks:
        begun.setdefault((mark.plan, mark.room.key, mark.item), mark)
    rooms = {room.key: room for room in apps.get_model("house", "Room").objects.filter(house=house)}
    cut = []
    for by_room in plans.values():
        for room, (_, sheets) in by_room.items():
            for sheet in sheets:
                pieces = [begun.get((sheet.plan, *piece)) for piece in sheet.pieces]
                first = next((mark for mark in marks if mark in pieces), None)
                if first is not None and room in rooms:
                    cut.append((first.at, sheet.code, sheet, first, rooms[room]))
    told: Counter[tuple[Any, str]] = Counter()
    here: Counter[str] = Counter()
    movement_rows = apps.get_model("supply", "Movement").objects.filter(house=house)
    for movement in movement_rows.filter(item__startswith="sheet-", unit="each"):
        moved = Fraction(movement.numerator, movement.denominator) * movement.pieces
        here[movement.item] += moved
        told_so = movement.kind == "used" and movement.phase == "hanging" and not movement.count
        if told_so:
            told[movement.room_id, movement.item] -= moved
    serial = movement_rows.aggregate(last=Max("serial"))["last"] or 0
    owned = {
        row.key: row
        for row in apps.get_model("supply", "OwnedSheet").objects.filter(
            house=house, deleted_at=None
        )
    }
    for at, code, sheet, mark, room in sorted(cut, key=lambda one: (one[0], one[1])):
        row = apps.get_model("supply", "CutSheet")(
            id=uuid.uuid5(room.pk, f"{sheet.plan} {code}"),
            house_id=house,
            room=room,
            plan=sheet.plan,
            code=code,
            item=sheet.item,
            at=at,
            person_id=mark.person_id,
        )
        offcut = owned.get(sheet.source or "")
        if offcut is not None and offcut.count > offcut.cut_up + offcut.spoiled:
            offcut.cut_up += 1
            offcut.save(update_fields=["cut_up"])
            row.owned = offcut
        elif told[room.pk, sheet.item] >= 1:
            told[room.pk, sheet.item] -= 1
        elif here[sheet.item] >= 1:
            here[sheet.item] -= 1
            serial += 1
            row.movement = movement_rows.create(
                id=uuid.uuid5(row.pk, "cut"),
                serial=serial,
                house_id=house,
                item=sheet.item,
                kind="cut",
                numerator=-1,
                unit="each",
                room=room,
                phase="hanging",
                day=timezone.localdate(at),
                at=at,
                person_id=mark.person_id,
            )
        else:
            row.uncounted = True
        row.save(force_insert=True)


class Migration(migrations.Migration):
    dependencies = [
        ("supply", "0003_stock_over_time"),
        ("board", "0004_search_job"),
        ("cards", "0004_coats_and_places"),
        ("house", "0002_room_pile"),
        ("work", "0003_kept_photo"),
    ]

    operations = [
        migrations.RunPython(counts_are_facts, migrations.RunPython.noop),
        migrations.RunPython(receipts_know_their_movements, migrations.RunPython.noop),
        migrations.RunPython(orders_begin_claims, migrations.RunPython.noop),
        migrations.RunPython(ticks_cut_sheets, migrations.RunPython.noop),
    ]
