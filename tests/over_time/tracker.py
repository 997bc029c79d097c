"""What a history says to a tracker, and what it asks of it.

A history is a list of steps. Each step names a method of `Tracker` and its arguments, all of them
plain values, so the same history can drive the model of this package, the product's services, or
both side by side. Names of orders, receipts, entries and edits are given by the history: an adapter
keeps a table from these names to its own rows.

Amounts are whole thousandths of the item's unit (a sheet is 1000). Money is whole cents.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

ONE_SHEET = 1000

Line = tuple[str, str]
"""An item and one of its packs, by name."""


class Refused(Exception):
    """A step by choice asked for what the rules do not allow; nothing has changed."""


@dataclass(frozen=True, order=True)
class Pack:
    """One size an item is sold in, with what it holds and what it costs at first."""

    name: str
    holds: int
    price: int


@dataclass(frozen=True)
class Item:
    """One thing to buy. A sheet is used by being cut, any other item by what ticks take.

    Sticks are members cut to length: they are used with their job, never by a tick. Each pack is
    one stick, and what it holds is its length. Amounts of sticks are their lengths together.
    """

    name: str
    packs: tuple[Pack, ...]
    is_sheet: bool = False
    is_stick: bool = False

    def pack(self, name: str) -> Pack:
        """The pack of that name."""
        return next(pack for pack in self.packs if pack.name == name)


@dataclass(frozen=True)
class Sheet:
    """One sheet of a job's plan."""

    mark: str
    item: str


@dataclass(frozen=True)
class Unit:
    """One thing to tick: a piece to hang (it has a sheet) or a coat of a surface (it has none)."""

    name: str
    takes: tuple[tuple[str, int], ...]
    sheet: str | None = None


@dataclass(frozen=True)
class Member:
    """One piece that is cut from a stick, and its length."""

    name: str
    item: str
    length: int


@dataclass(frozen=True)
class Work:
    """Some units, the sheets they are cut from, and members. A job's whole need is what these
    take."""

    units: tuple[Unit, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    members: tuple[Member, ...] = ()


@dataclass(frozen=True)
class Job:
    """One phase of one room."""

    name: str
    work: Work


@dataclass(frozen=True)
class House:
    """What is known at the start: the items on sale, and the jobs in hanging order."""

    items: tuple[Item, ...]
    jobs: tuple[Job, ...]

    def item(self, name: str) -> Item:
        """The item of that name."""
        return next(item for item in self.items if item.name == name)


@dataclass(frozen=True)
class Share:
    """What a job gets of an item from what is here, from what is coming, and what it lacks.

    Sticks it gets whole; it lacks the members that come out of none of them.
    """

    here: int = 0
    coming: int = 0
    short: int = 0


@dataclass(frozen=True)
class Standing:
    """How an item stands. The totals are net of reversals; `used` is without live estimates.

    `shares` has the jobs with a claim on the item, in the order they are served, and leaves out
    those whose share is nothing at all.
    """

    received: int
    found: int
    cut: int
    used: int
    spoiled: int
    returned: int
    estimated: int
    here: int
    on_way: int
    free_here: int
    free_coming: int
    shares: Mapping[str, Share] = field(default_factory=dict)
    sticks: Mapping[int, int] = field(default_factory=dict)
    """Of sticks, how many of each length are here; lengths of which none are do not stand."""

    @property
    def supply(self) -> int:
        """What is here and on its way; under zero where more was used than ever came."""
        return self.here + self.on_way


@dataclass(frozen=True)
class Money:
    """The three parts of the forecast, which never overlap."""

    spent: int
    on_way: int
    to_buy: int

    @property
    def forecast(self) -> int:
        """What the remodel will have cost in the end."""
        return self.spent + self.on_way + self.to_buy


class Tracker(Protocol):
    """The steps of a history and the questions asked after each.

    Steps return nothing. A step that the rules do not allow raises `Refused` and changes nothing.
    """

    # Ordering

    def draft(self, order: str, jobs: Sequence[str]) -> None:
        """Begin a draft for these jobs, given in hanging order. It buys and claims nothing."""

    def by_hand(self, order: str, item: str, packs: Mapping[str, int]) -> None:
        """In a draft, set all packs of one item by hand: pack name to how many (0 or more).

        From then on the draft's amount of that item stays as it is, also when it is placed.
        """

    def discard(self, order: str) -> None:
        """Throw a draft away."""

    def place(self, order: str) -> None:
        """Place a draft, however old: amounts not set by hand are worked out anew.

        Its jobs without a claim begin one, in the order in which the draft has them.
        """

    def receive(
        self,
        receipt: str,
        order: str | None,
        came: Mapping[Line, int],
        paid: Mapping[Line, int] | None = None,
        keep_more: bool = False,
    ) -> None:
        """Record what came of an order: packs by line (only those above 0).

        `order` is None for a purchase without an order; then `paid` is always given. `paid` is the
        total in cents of each line of `came`; None is the ordered price of each pack. Without
        `keep_more` a receipt of more than is still to come is refused. With it `paid` is given.
        """

    def take_back_receipt(self, receipt: str) -> None:
        """Reverse a receipt as a whole. What it brought is to come again if its order is open."""

    def close(self, order: str) -> None:
        """Close a placed order: nothing more is coming."""

    def take_back(self, order: str) -> None:
        """Take a placed order back. Refused if anything came. The claims it began end."""

    def return_(self, item: str, packs: Mapping[str, int], refund: int) -> None:
        """Return whole packs for a refund (cents, total). Refused above what is here and free."""

    def reprice(self, item: str, pack: str, price: int) -> None:
        """Set today's price of a pack, in cents."""

    # Claims

    def keep_for(self, job: str) -> None:
        """Give a job a claim without buying ("Keep this for"). A job that has one keeps it."""

    def first(self, job: str) -> None:
        """Serve this job, which has a claim, before all others."""

    def release(self, job: str) -> None:
        """End a job's claim by hand."""

    # Work

    def cut(self, job: str, sheet: str) -> None:
        """Mark a whole sheet as cut. The first mark on a sheet takes it out of stock."""

    def uncut(self, job: str, sheet: str) -> None:
        """Remove that mark. The sheet is stock again if no other mark on it stands."""

    def tick(self, job: str, unit: str) -> None:
        """Mark a piece as hung (which marks its sheet too), or a coat as done."""

    def untick(self, job: str, unit: str) -> None:
        """Remove that mark: it was a wrong tick."""

    def done(self, job: str) -> None:
        """Mark a job done. What is not ticked is counted as used by estimate."""

    def reopen(self, job: str) -> None:
        """Open a done job again."""

    # Entries of stock

    def log(self, entry: str, job: str | None, item: str, amount: int, pieces: int = 1) -> None:
        """Log what a job (or None, the house) used of an item. Never refused.

        Of sticks so many pieces of a length were used, here and in what follows.
        """

    def spoil(self, entry: str, job: str | None, item: str, amount: int, pieces: int = 1) -> None:
        """Log what was spoiled. Never refused."""

    def take_back_entry(self, entry: str) -> None:
        """Reverse a `log` or a `spoil`."""

    def found(self, item: str, amount: int, pieces: int = 1) -> None:
        """Record that more of an item was here than the ledger knew ("We had it")."""

    def count(self, item: str, amount: int) -> None:
        """Record that this much of an item is here. Only for an item that ever moved.

        Refused for sticks, which are counted length by length.
        """

    def ran_out(self, item: str) -> None:
        """Record that nothing of an item is here: a count of zero."""

    def move(self, item: str, amount: int, pieces: int = 1) -> None:
        """Move an amount between two places. Refused above what is here. No query changes."""

    # Edits of the plan

    def edit(self, edit: str, job: str, add: Work, remove: Work) -> None:
        """Change what a job has to do. What is removed is neither ticked nor cut.

        Names of units and marks of sheets are new in the whole history.
        """

    def undo_edit(self, edit: str) -> None:
        """Undo an edit, the latest of its job that is not undone.

        What it added goes, except units ticked and sheets cut since; what it removed comes back.
        """

    def remove_job(self, job: str) -> None:
        """Remove the job's room, or leave its phase out."""

    def restore_job(self, job: str) -> None:
        """Undo that."""

    # Questions

    def remaining(self, job: str, item: str) -> int:
        """What the job still needs of an item; 0 where it is done or removed."""

    def claims(self) -> Sequence[str]:
        """The jobs with a claim, in the order they are served.

        Whether a job that needs nothing any more is in it is left open.
        """

    def standing(self, item: str) -> Standing:
        """How an item stands now."""

    def to_buy(self, jobs: Sequence[str]) -> Mapping[Line, int]:
        """What a draft of these jobs would buy now: packs by line, only those above 0."""

    def money(self) -> Money:
        """The forecast in its three parts."""
