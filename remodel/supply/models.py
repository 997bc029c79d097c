"""What is on sale, what is on hand, and what was ordered, received, used and returned.

Money is whole cents. An amount is an exact fraction and its unit.
"""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from django.db import models
from django.db.models import Q

from remodel.bridge import words
from remodel.bridge.lengths import Amount, amount
from remodel.history.versioned import Versioned
from remodel.house.models import House, Room
from remodel.house.table_columns import key_column, length_check, length_column, one_of, word_column
from remodel.work.models import Phase

__all__ = [
    "BoardKind",
    "Claim",
    "CutSheet",
    "Estimate",
    "Material",
    "Movement",
    "Order",
    "OrderLine",
    "OwnedSheet",
    "Pack",
    "Receipt",
    "Returned",
    "SheetOnSale",
    "Store",
]


def cents_column() -> models.BigIntegerField[int, int]:
    return models.BigIntegerField(default=0)


def cents_check(table: str, column: str) -> models.CheckConstraint:
    """Zero or more, and at most ten million of the currency."""
    return models.CheckConstraint(
        condition=Q(**{f"{column}__gte": 0, f"{column}__lte": 10**9}), name=f"{table}_{column}"
    )


class Store(Versioned):
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="stores")
    name = models.CharField(max_length=200)
    phone = models.CharField(max_length=40, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ("name", "id")
        constraints = (models.CheckConstraint(condition=~Q(name=""), name="store_has_a_name"),)

    def __str__(self) -> str:
        return self.name


class Priced(Versioned):
    """Something with a price. The price is a sample, and says so, until a person has confirmed
    it. Of one thing at several stores the `chosen` one is bought, else the cheapest."""

    price = cents_column()
    store = models.ForeignKey(
        Store, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    confirmed_at = models.DateTimeField(null=True, blank=True)
    chosen = models.BooleanField(default=False)
    position = models.PositiveIntegerField(default=0)

    class Meta:
        abstract = True

    @property
    def is_sample(self) -> bool:
        return self.confirmed_at is None


class BoardKind(Versioned):
    """A kind of board. `weights` are pairs: a thickness in nanometers, and pounds a square foot as
    text."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="board_kinds")
    key = key_column()
    name = models.CharField(max_length=200)
    position = models.PositiveIntegerField(default=0)
    edges = word_column(words.BOARD_EDGES, default="tapered")
    cutting = word_column(words.CUTTINGS, default="score")
    sag_resistant = models.BooleanField(default=False)
    tile_backer = models.BooleanField(default=False)
    moisture_resistant = models.BooleanField(default=False)
    fire_rated = models.BooleanField(default=False)
    weights = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("house", "key"), name="board_kind_key"),
            one_of("board_kind", "edges", words.BOARD_EDGES),
            one_of("board_kind", "cutting", words.CUTTINGS),
        )

    def __str__(self) -> str:
        return self.name


class SheetOnSale(Priced):
    """A sheet on sale. `board` is the key of its kind."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="sheets")
    board = models.CharField(max_length=64)
    thickness = length_column()
    width = length_column()
    length = length_column()

    class Meta:
        ordering = ("position", "id")
        constraints = (
            length_check("sheet", "thickness"),
            length_check("sheet", "width"),
            length_check("sheet", "length"),
            models.CheckConstraint(
                condition=Q(width__lte=models.F("length")), name="sheet_longer_than_wide"
            ),
            cents_check("sheet", "price"),
        )

    def __str__(self) -> str:
        return f"{self.board} {self.thickness} x {self.width} x {self.length}"


class Material(Versioned):
    """Something bought other than sheets. A `cut` material is bought in sticks."""

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="materials")
    key = key_column()
    name = models.CharField(max_length=200)
    cut = models.BooleanField(default=False)
    position = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.UniqueConstraint(fields=("house", "key"), name="material_key"),
            models.CheckConstraint(condition=~Q(name=""), name="material_has_a_name"),
        )

    def __str__(self) -> str:
        return self.name


class Pack(Priced):
    """A pack of a material, as a store sells it. `holds` is an exact number of `unit`, stored as a
    fraction. `weight` is in pounds."""

    material = models.ForeignKey(Material, on_delete=models.CASCADE, related_name="packs")
    name = models.CharField(max_length=200)
    numerator = models.BigIntegerField()
    denominator = models.BigIntegerField(default=1)
    unit = word_column(words.AMOUNT_UNITS)
    weight = models.DecimalField(max_digits=30, decimal_places=20, null=True, blank=True)

    class Meta:
        ordering = ("position", "id")
        constraints = (
            cents_check("pack", "price"),
            one_of("pack", "unit", words.AMOUNT_UNITS),
            models.CheckConstraint(
                condition=Q(numerator__gte=1, denominator__gte=1), name="pack_holds"
            ),
            models.CheckConstraint(condition=Q(weight__gte=0), name="pack_weight"),
            models.UniqueConstraint(
                fields=("material", "name"), condition=Q(deleted_at=None), name="pack_name"
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def history_house(self) -> uuid.UUID:
        return self.material.house_id

    @property
    def holds(self) -> Fraction:
        return Fraction(self.numerator, self.denominator)

    @property
    def amount(self) -> Amount:
        return amount(self.holds, self.unit)


class OwnedSheet(Versioned):
    """Offcuts that are here: plans use them before any sheet is bought.

    `count` alike were made or found, of which `cut_up` were cut and `spoiled` were thrown away; the
    rest is here. `made_by` is the code of the sheet they are left of, and `place` says where they
    lean. Whole sheets of a size on sale are no offcuts; they stand in the ledger.
    """

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="owned_sheets")
    key = key_column()
    position = models.PositiveIntegerField(default=0)
    board = models.CharField(max_length=64)
    thickness = length_column()
    width = length_column()
    length = length_column()
    count = models.PositiveSmallIntegerField(default=1)
    factory_edges = models.PositiveSmallIntegerField(default=2)
    cut_up = models.PositiveSmallIntegerField(default=0)
    spoiled = models.PositiveSmallIntegerField(default=0)
    made_by = models.CharField(max_length=80, blank=True)
    place = models.CharField(max_length=80, blank=True)

    class Meta:
        ordering = ("position", "key")
        constraints = (
            models.CheckConstraint(
                condition=Q(count__gte=models.F("cut_up") + models.F("spoiled")),
                name="owned_here",
            ),
            models.UniqueConstraint(fields=("house", "key"), name="owned_key"),
            length_check("owned", "thickness"),
            length_check("owned", "width"),
            length_check("owned", "length"),
            models.CheckConstraint(condition=Q(count__gte=1, count__lte=1000), name="owned_count"),
            models.CheckConstraint(condition=Q(factory_edges__lte=2), name="owned_factory_edges"),
        )

    def __str__(self) -> str:
        return f"{self.here} of {self.board}"

    @property
    def here(self) -> int:
        return self.count - self.cut_up - self.spoiled


class Order(Versioned):
    """A supply order for some phases and rooms. Placing it freezes the estimate as a whole, with
    the version of its schema. One that was placed by mistake is taken back as long as nothing came.
    """

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        PLACED = "placed", "Placed"
        CLOSED = "closed", "Closed"
        TAKEN_BACK = "taken back", "Undone"

    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="orders")
    name = models.CharField(max_length=200)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    phases = models.JSONField(default=list)
    rooms = models.ManyToManyField(Room, related_name="orders", through="OrderRoom")
    made_at = models.DateTimeField(auto_now_add=True)
    placed_at = models.DateTimeField(null=True, blank=True)
    frozen = models.JSONField(null=True, blank=True)
    without_prices = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    # What placing it changed of its lines; only the order that the service gives back has them.
    changed: Sequence[Any] = ()

    class Meta:
        ordering = ("-made_at", "id")
        constraints = (
            models.CheckConstraint(
                condition=Q(state__in=("draft", "placed", "closed", "taken back")),
                name="order_state",
            ),
            models.CheckConstraint(
                condition=Q(state="draft", placed_at__isnull=True, frozen__isnull=True)
                | (~Q(state="draft") & Q(placed_at__isnull=False, frozen__isnull=False)),
                name="order_frozen_when_placed",
            ),
        )

    def __str__(self) -> str:
        return self.name


class OrderRoom(models.Model):
    order = models.ForeignKey(Order, on_delete=models.CASCADE)
    room = models.ForeignKey(Room, on_delete=models.CASCADE)

    class Meta:
        constraints = (models.UniqueConstraint(fields=("order", "room"), name="order_room_once"),)

    def __str__(self) -> str:
        return f"{self.room} in {self.order}"


class OrderLine(Versioned):
    """One pack of one item.

    `need` is what the order's jobs still take of it, `on_hand` and `on_the_way` how much of that is
    free here and free on its way. `worked_out` is the number of packs from the takeoff, and `packs`
    the number ordered, with a reason where they differ. A line that is `for_earlier` buys what jobs
    ordered before lack, and `why` says who lacks how much; it may be `skipped`. `shares` are pairs
    of a job's id and the thousandths of the item that the line buys for it. An item that nothing on
    sale can meet has a line without a pack, and `unmet` says why.
    """

    order = models.ForeignKey(Order, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveIntegerField(default=0)
    phase = models.CharField(max_length=40)
    item = models.CharField(max_length=64)
    name = models.CharField(max_length=200)
    need = models.CharField(max_length=80)
    on_hand = models.CharField(max_length=80, default="0")
    on_the_way = models.CharField(max_length=80, default="0")
    unit = word_column(words.AMOUNT_UNITS)
    store = models.ForeignKey(
        Store, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    pack = models.CharField(max_length=200, blank=True)
    holds = models.CharField(max_length=60, blank=True)
    holds_unit = models.CharField(max_length=20, blank=True)
    worked_out = models.PositiveIntegerField(default=0)
    packs = models.PositiveIntegerField(default=0)
    reason = models.CharField(max_length=500, blank=True)
    price = cents_column()
    sample_price = models.BooleanField(default=True)
    weight = models.DecimalField(max_digits=30, decimal_places=20, null=True, blank=True)
    unmet = models.CharField(max_length=1000, blank=True)
    for_earlier = models.BooleanField(default=False)
    skipped = models.BooleanField(default=False)
    why = models.CharField(max_length=1000, blank=True)
    shares = models.JSONField(default=list)
    ticked = models.BooleanField(default=False)

    class Meta:
        ordering = ("position", "id")
        constraints = (
            cents_check("order_line", "price"),
            models.CheckConstraint(
                condition=Q(packs=models.F("worked_out"))
                | ~Q(reason="")
                | Q(skipped=True, packs=0),
                name="order_line_reason_when_edited",
            ),
            models.CheckConstraint(condition=Q(packs__lte=100_000), name="order_line_packs"),
            models.CheckConstraint(
                condition=~Q(pack="") | Q(packs=0), name="order_line_pack_when_bought"
            ),
        )

    def __str__(self) -> str:
        return f"{self.packs} {self.pack} {self.name}"

    @property
    def history_house(self) -> uuid.UUID:
        return self.order.house_id

    @property
    def cost(self) -> int:
        return self.packs * self.price

    @property
    def pack_amount(self) -> Amount:
        return amount(self.holds or "0", self.holds_unit or self.unit)


class Receipt(models.Model):
    """Packs of a line that arrived, and what was paid for them together. `batch` is the number on
    the lids of paint. It is taken back by another one with negative packs."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    line = models.ForeignKey(OrderLine, on_delete=models.CASCADE, related_name="receipts")
    packs = models.IntegerField()
    paid = models.BigIntegerField()
    at = models.DateTimeField()
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    note = models.CharField(max_length=500, blank=True)
    batch = models.CharField(max_length=40, blank=True)
    movement = models.OneToOneField(
        "Movement", null=True, blank=True, on_delete=models.PROTECT, related_name="receipt"
    )

    class Meta:
        ordering = ("at", "id")
        constraints = (
            models.CheckConstraint(condition=~Q(packs=0), name="receipt_of_something"),
            models.CheckConstraint(
                condition=Q(packs__gt=0, paid__gte=0) | Q(packs__lt=0, paid__lte=0),
                name="receipt_paid",
            ),
        )

    def __str__(self) -> str:
        return f"{self.packs} of {self.line}"

    @property
    def noted(self) -> str:
        """The batch and the note, as the order's page has them."""
        batch = f"Batch {self.batch}" if self.batch else ""
        return ". ".join(part for part in (batch, self.note) if part)


class Returned(models.Model):
    """Packs of a line that went back to the store, and the refund for them."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    line = models.ForeignKey(OrderLine, on_delete=models.CASCADE, related_name="returns")
    packs = models.PositiveIntegerField()
    refund = models.BigIntegerField()
    at = models.DateTimeField()
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ("at", "id")
        constraints = (
            models.CheckConstraint(condition=Q(packs__gte=1), name="returned_something"),
            models.CheckConstraint(condition=Q(refund__gte=0), name="returned_refund"),
        )

    def __str__(self) -> str:
        return f"{self.packs} of {self.line}"


class Movement(models.Model):
    """One line of the stock ledger, which never changes.

    `value` of `unit` came (more than zero) or went (less than zero), `pieces` times. Sticks are
    given one by one, each by its length. What was here before is found; a sheet that is cut leaves
    the stock whole. A count writes what was used or found, and says that it is a `count`. A wrong
    movement is taken back by another, which `reverses` it.
    """

    class Kind(models.TextChoices):
        RECEIVED = "received", "Received"
        FOUND = "found", "Found"
        CUT = "cut", "Cut"
        USED = "used", "Used"
        SPOILED = "spoiled", "Spoiled"
        RETURNED = "returned", "Returned"
        MOVED = "moved", "Moved"

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    serial = models.BigIntegerField(editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="movements")
    item = models.CharField(max_length=64)
    kind = models.CharField(max_length=10, choices=Kind.choices)
    numerator = models.BigIntegerField()
    denominator = models.BigIntegerField(default=1)
    unit = word_column(words.AMOUNT_UNITS)
    pieces = models.PositiveIntegerField(default=1)
    count = models.BooleanField(default=False)
    place = models.CharField(max_length=80, blank=True)
    room = models.ForeignKey(
        Room, null=True, blank=True, on_delete=models.SET_NULL, related_name="movements"
    )
    phase = models.CharField(max_length=40, blank=True)
    day = models.DateField()
    at = models.DateTimeField()
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )
    line = models.ForeignKey(
        OrderLine, null=True, blank=True, on_delete=models.SET_NULL, related_name="movements"
    )
    log = models.ForeignKey(
        "work.DayLog", null=True, blank=True, on_delete=models.SET_NULL, related_name="movements"
    )
    reverses = models.OneToOneField(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="reversed_by"
    )
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ("serial",)
        indexes = (models.Index(fields=("house", "item"), name="movement_item"),)
        constraints = (
            models.UniqueConstraint(fields=("house", "serial"), name="movement_serial"),
            one_of("movement", "unit", words.AMOUNT_UNITS),
            models.CheckConstraint(
                condition=Q(
                    kind__in=("received", "found", "cut", "used", "spoiled", "returned", "moved")
                ),
                name="movement_kind",
            ),
            models.CheckConstraint(condition=Q(denominator__gte=1), name="movement_value"),
            models.CheckConstraint(
                condition=Q(reverses__isnull=False)
                | Q(kind__in=("received", "found"), numerator__gte=1)
                | Q(kind__in=("cut", "used", "spoiled", "returned"), numerator__lte=-1)
                | Q(kind="used", count=True, numerator=0)
                | Q(kind="moved"),
                name="movement_direction",
            ),
            models.CheckConstraint(
                condition=Q(pieces__gte=1, pieces__lte=100_000), name="movement_pieces"
            ),
        )

    def __str__(self) -> str:
        return f"{self.kind} {self.value} {self.unit} of {self.item}"

    @property
    def value(self) -> Fraction:
        """One piece of what moved, with its sign."""
        return Fraction(self.numerator, self.denominator)

    @property
    def amount(self) -> Amount:
        """All that moved, with its sign."""
        return amount(self.value * self.pieces, self.unit)


class Estimate(models.Model):
    """What a tick used of an item by estimate, until a fact replaces it.

    `mark` is the tick; without one the estimate is of a job that was set to done with work not
    ticked. `amount` is in thousandths of `unit`; sticks are pairs of a length in nanometers and how
    many. The estimate counts while its tick (or the job's done) stands and nothing has made a fact
    of it: a count settles it (`settled_by`), a log of the same job and item replaces it.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="estimates")
    job = models.ForeignKey(Phase, on_delete=models.CASCADE, related_name="estimates")
    item = models.CharField(max_length=64)
    amount = models.BigIntegerField()
    unit = word_column(words.AMOUNT_UNITS)
    sticks = models.JSONField(default=list)
    mark = models.ForeignKey(
        "cards.DoneMark", null=True, blank=True, on_delete=models.CASCADE, related_name="estimates"
    )
    settled_by = models.ForeignKey(
        Movement, null=True, blank=True, on_delete=models.PROTECT, related_name="settles"
    )
    at = models.DateTimeField()

    class Meta:
        indexes = (models.Index(fields=("house", "item"), name="estimate_item"),)
        constraints = (
            models.CheckConstraint(condition=Q(amount__gte=0), name="estimate_amount"),
            models.UniqueConstraint(
                fields=("mark", "item"),
                condition=Q(mark__isnull=False),
                name="estimate_once_a_mark",
            ),
        )

    def __str__(self) -> str:
        return f"about {self.amount / 1000:g} {self.unit} of {self.item}"


class Claim(models.Model):
    """A job's right to an item, in line since `serial`. How much the job gets is dealt out when
    read. It ends when its order is taken back or when a person gives the item free."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="claims")
    job = models.ForeignKey(Phase, on_delete=models.CASCADE, related_name="claims")
    item = models.CharField(max_length=64)
    serial = models.BigIntegerField()
    order = models.ForeignKey(
        Order, null=True, blank=True, on_delete=models.SET_NULL, related_name="claims"
    )
    why = models.CharField(max_length=200, blank=True)
    begun_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        ordering = ("serial", "id")
        constraints = (
            models.UniqueConstraint(
                fields=("job", "item"), condition=Q(ended_at=None), name="claim_one_open"
            ),
        )

    def __str__(self) -> str:
        return f"{self.item} for {self.job_id} since {self.serial}"


class CutSheet(models.Model):
    """A sheet or an offcut that was cut: what it was cut from, and the movement that took it out of
    stock.

    `code` is its mark, and `room` is where it is cut. An offcut is `owned`, and has no movement;
    nor has a sheet that a log told as used already, or one that was cut before stock was kept
    (`uncounted`). `data` is the sheet as the engine planned it when it was first cut, or as it is
    planned on since; null where that is not known any more. Where a person told that it was cut
    otherwise, it is not `as_planned`, and the plan follows `data`. `rests` says of each rest
    whether it was kept (the key of the offcut) or binned (empty), by the mark of the rest.
    """

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    house = models.ForeignKey(House, on_delete=models.CASCADE, related_name="cut_sheets")
    room = models.ForeignKey(Room, on_delete=models.CASCADE, related_name="cut_sheets")
    code = models.CharField(max_length=80)
    item = models.CharField(max_length=64)
    owned = models.ForeignKey(
        OwnedSheet, null=True, blank=True, on_delete=models.PROTECT, related_name="cut_sheets"
    )
    movement = models.OneToOneField(
        Movement, null=True, blank=True, on_delete=models.PROTECT, related_name="cut_sheet"
    )
    uncounted = models.BooleanField(default=False)
    data = models.JSONField(null=True, blank=True)
    as_planned = models.BooleanField(default=True)
    rests = models.JSONField(default=dict)
    at = models.DateTimeField()
    person = models.ForeignKey(
        "people.Person", null=True, on_delete=models.SET_NULL, related_name="+"
    )

    class Meta:
        constraints = (models.UniqueConstraint(fields=("room", "code"), name="cut_sheet_once"),)

    def __str__(self) -> str:
        return f"{self.code} of {self.item}"
