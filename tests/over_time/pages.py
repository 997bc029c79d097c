"""The same house, with steps said through the forms of its pages.

A step that has a form here is done as a browser does it: the page is asked for, its form is read,
filled in and sent. What a page does not offer, and what it answers with an error or with words that
do not say it is done, is refused. Ticks are sent as a page's script sends them. These are said to
the services all the same:

- what no page has: something bought without an order, and packs of a line beyond the order once all
  of the line came;
- claims on an item that a job does not take just now, whose page does not name the job, and the
  first place for a job that the page shows in it;
- a log of what the page of the day does not list, or takes for a slip because it is far more than
  is here or needed, and sticks of a length that is neither here nor on sale;
- today's prices, edits of the plan, and jobs left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from django.contrib.messages import get_messages
from django.urls import resolve, reverse

from remodel.bridge.lengths import FOOT, Amount, convert, format_amount, parse_amount, same_kind
from remodel.history import errors
from remodel.supply import claims
from remodel.supply.models import Movement, Order, OrderLine, Receipt
from tests.over_time.model import THOUSANDTH
from tests.over_time.services import Services
from tests.over_time.tracker import House, Line
from tests.remodel.page_forms import Control, Data, PageForm, forms_of
from tests.remodel.site import browser

FAR_TOO_MUCH = "far over the"
Address = tuple[object, ...]  # the name of a route, and its keys


class Pages(Services):
    """A house whose people press the buttons of its pages. The site must be hosted."""

    def __init__(self, house: House, *, metric: bool = False) -> None:
        super().__init__(house, metric=metric)
        self._browser = browser(self.by.person)
        self.sent: set[str] = set()
        """The routes that took what was sent to them."""

    # Pages and their forms

    def _forms(self, route: object, *keys: object) -> list[PageForm]:
        """The forms of a page."""
        url = reverse(str(route), args=keys)
        answer = self._browser.get(url)
        assert answer.status_code == 200, f"{url} answered {answer.status_code}"
        return forms_of(answer.content.decode(), url)

    def _form(self, route: str, *keys: object) -> PageForm | None:
        """The form that a page sends to its own address."""
        return _sent_to(reverse(route, args=keys), self._forms(route, *keys))

    def _send(self, form: PageForm, changes: Data | None = None) -> Any:
        """Send a form. What is wrong in it is said in words by the page that comes back."""
        answer = self._browser.post(form.action, form.data(changes))
        stops = _stops_in(answer, form.action)
        if stops is not None:
            answer = self._browser.post(stops.action, stops.data(_accepted(stops)))
        if answer.status_code == 422:
            raise _WrongForm(answer, form.action)
        assert answer.status_code == 302, f"{form.action} answered {answer.status_code}"
        self.sent.add(resolve(form.action).url_name or "")
        return answer

    def _button(self, page: Address, button: Address) -> PageForm | None:
        """The form of a button on a page."""
        route, *keys = button
        return _sent_to(reverse(str(route), args=keys), self._forms(*page))

    def _press(self, form: PageForm | None, said: str) -> None:
        """Press a button, whose page then says that it is done."""
        if form is None:
            raise errors.Refused("the page has no button for it")
        answer = self._send(form)
        words = [str(message) for message in get_messages(answer.wsgi_request)]
        if not any(said in one for one in words):
            raise errors.Refused(" ".join(words))

    def _post(self, route: str, key: object, fields: dict[str, str]) -> None:
        """Send what a page's script sends; it asks for what is refused in words."""
        url, script = reverse(route, args=[key]), {"X-Marks": "yes"}
        answer = self._browser.post(url, fields, headers=script)
        if answer.status_code == 409:
            # What stops it is asked by the plain page. Sent once more, the press says how it went.
            stops = _stops_in(self._browser.post(url, fields), url)
            assert stops is not None
            self._browser.post(stops.action, stops.data(_accepted(stops)))
            answer = self._browser.post(url, fields, headers=script)
        if answer.status_code == 422:
            raise errors.Refused(answer.content.decode())
        assert answer.status_code == 200, f"{route} answered {answer.status_code}"
        self.sent.add(route)

    # Ordering

    def draft(self, order: str, jobs: Sequence[str]) -> None:
        phases = [self._jobs[job] for job in jobs]
        with self._step():
            form = self._form("order-new", self.row.pk)
            assert form is not None
            answer = self._send(
                form,
                {
                    "phases": list(dict.fromkeys(phase.key for phase in phases)),
                    "rooms": list(dict.fromkeys(str(phase.room.pk) for phase in phases)),
                },
            )
        self._orders[order] = resolve(answer["Location"]).kwargs["order_id"]

    def by_hand(self, order: str, item: str, packs: Mapping[str, int]) -> None:
        key = self._orders[order]
        with self._step():
            refresh = self._button(("order-detail", key), ("order-refresh", key))
            self._press(refresh, "is up to date")
            for pack, number in packs.items():
                lines = list(self._order(order).lines.filter(item=self._keys[item], pack=pack))
                if not lines and number:
                    form = self._form("order-add", key)
                    assert form is not None
                    row = str(self._pack(item, pack).pk)
                    self._send(form, {"pack": [row], "packs": [str(number)], "reason": ["By hand"]})
                for place, line in enumerate(lines):
                    form = self._form("order-line", line.pk)
                    assert form is not None
                    changed = "0" if place else str(number)
                    self._send(form, {"packs": [changed], "reason": ["By hand"]})

    def discard(self, order: str) -> None:
        self._press_of_order(order, "order-remove", "Removed ")

    def _press_of_order(self, order: str, route: str, said: str) -> None:
        key = self._orders[order]
        with self._step():
            self._press(self._button(("order-detail", key), (route, key)), said)

    def place(self, order: str) -> None:
        """All boxes of the form are ticked, and those that it comes back with."""
        key = self._orders[order]
        url = reverse("order-place", args=[key])
        with self._step():
            form = _sent_to(url, self._forms("order-detail", key))
            if form is None:
                raise errors.Refused("the page does not offer to place it")
            try:
                self._send(form, _ticked(form))
            except _WrongForm as wrong:
                again = _sent_to(url, wrong.forms)
                if again is None or set(_ticked(again)) == set(_ticked(form)):
                    raise
                self._send(again, _ticked(again))

    def close(self, order: str) -> None:
        self._press_of_order(order, "order-close", "Closed ")

    def take_back(self, order: str) -> None:
        self._press_of_order(order, "order-take-back", "Took ")

    def receive(
        self,
        receipt: str,
        order: str | None,
        came: Mapping[Line, int],
        paid: Mapping[Line, int] | None = None,
        keep_more: bool = False,
    ) -> None:
        """Every number is cleared first. The box for more than was ordered stands on the page only
        once it was refused."""
        form = self._form("order-receive", self._orders[order]) if order is not None else None
        changes = self._came(self._order(order), form, came, paid) if order and form else None
        if order is None or (changes is None and keep_more):
            super().receive(receipt, order, came, paid, keep_more)
            return
        known = set(Receipt.objects.values_list("pk", flat=True))
        with self._step():
            if form is None or changes is None:
                raise errors.Refused("the page does not ask for it")
            try:
                self._send(form, changes)
            except _WrongForm as wrong:
                again = _sent_to(form.action, wrong.forms)
                if not keep_more or again is None or "keep_more" not in again.controls:
                    raise
                self._send(again, _ticked(again))
        new = Receipt.objects.exclude(pk__in=known).values_list("pk", flat=True)
        self._receipts[receipt] = list(new)

    def _came(
        self,
        order: Order,
        form: PageForm,
        came: Mapping[Line, int],
        paid: Mapping[Line, int] | None,
    ) -> Data | None:
        """What is typed for a delivery; None where the form does not ask for one of the lines."""
        changes: Data = {name: [""] for name in form.controls if name.startswith("came-")}
        cents_of = paid or {}
        for line, number in came.items():
            for row, packs, cents in self._on_lines(order, line, number, cents_of.get(line)):
                if f"came-{row.pk}" not in changes:
                    return None
                changes[f"came-{row.pk}"] = [str(packs)]
                changes[f"paid-{row.pk}"] = [""] if cents is None else [_money(cents)]
        return changes

    def take_back_receipt(self, receipt: str) -> None:
        with self._step():
            for key in self._receipts.pop(receipt):
                order = Receipt.objects.get(pk=key).line.order_id
                back = self._button(("order-detail", order), ("receipt-take-back", key))
                self._press(back, "Undid ")

    def return_(self, item: str, packs: Mapping[str, int], refund: int) -> None:
        """From each line as much as its page says could go back, and the rest from the last."""
        with self._step():
            for pack, number in packs.items():
                lines = list(
                    OrderLine.objects.filter(
                        order__house=self.row,
                        item=self._keys[item],
                        pack=pack,
                        receipts__packs__gt=0,
                    ).distinct()
                )
                if not lines:
                    raise errors.Refused("nothing of this ever came")
                rest = number
                for line in lines:
                    most = rest if line is lines[-1] else min(rest, self._returnable(line))
                    if most:
                        form = self._form("order-return", line.pk)
                        if form is None:
                            raise errors.Refused("the page does not take any back")
                        self._send(form, {"packs": [str(most)], "refund": [_money(refund)]})
                        rest -= most
                        refund = 0

    def _returnable(self, line: OrderLine) -> int:
        answer = self._browser.get(reverse("order-return", args=[line.pk]))
        return int(answer.context["most"])

    # Claims

    def keep_for(self, job: str) -> None:
        """The first press may keep all that the job takes; then no other page has the button."""
        key, needed = self._jobs[job].pk, self._needed(job)
        with self._step():
            for item in needed:
                keep = self._button(self._of_item(item), ("stock-keep", key, item))
                if keep is not None:
                    self._press(keep, "Kept for ")

    def first(self, job: str) -> None:
        self._settle(job, "stock-first", "is served first now", claims.put_first)

    def release(self, job: str) -> None:
        self._settle(job, "stock-free", "Set free", claims.set_free)

    def _settle(self, job: str, route: str, said: str, service: Callable[..., object]) -> None:
        """Press the button on the page of each item that has it; the service settles others that
        are kept still, for a press may free all that the first claim of a job was for."""
        key, claimed = self._jobs[job].pk, self._claimed(job)
        with self._step():
            for item in claimed:
                button = self._button(self._of_item(item), (route, key, item))
                if button is not None:
                    self._press(button, said)
                elif claims.place_in_line(claims.in_line(self.row), key, item) is not None:
                    service(by=self.by, job=self._job(job), item=item)

    def _of_item(self, key: str) -> Address:
        return "stock-item", self.row.pk, key

    # Work

    def _tick_things(self, job: str, kind: str, items: Iterable[str], *, done: bool) -> None:
        """Pages have a button for each thing."""
        room = self._jobs[job].room
        for item in items:
            fields = {"kind": kind, "item": item, "done": "yes" if done else "no"}
            self._post("room-tick", room.pk, fields)

    def done(self, job: str) -> None:
        self._move_on(job, "done")

    def reopen(self, job: str) -> None:
        self._move_on(job, "in progress")

    def _move_on(self, job: str, state: str) -> None:
        """Choose where a phase stands."""
        with self._step():
            form = self._form("phase-detail", self._jobs[job].pk)
            assert form is not None
            self._send(form, {"state": [state]})

    # Entries of stock

    def _stock_form(self, route: str, item: str) -> PageForm:
        form = self._form(route, self.row.pk, self._keys[item])
        assert form is not None
        return form

    def _typed(self, item: str, amount: int, pieces: int, choice: Control | None) -> str | None:
        """The number for a form that asks what it is counted in; None where it has no such
        measure. The measure is chosen in `choice`: packs where they are whole."""
        exact = self._amount(item, amount)
        whole = format_amount(Amount(Fraction(1), exact.unit))
        options = choice.options if choice is not None else [whole]
        if self.house.item(item).is_stick:
            length = format_amount(Amount(Fraction(amount * THOUSANDTH, FOOT), "ft"))
            if length not in options:
                return None
            if choice is not None:
                choice.values = [length]
            return str(pieces)
        number, unit = exact.value, ""
        for option in options:
            size = parse_amount(option)
            if not same_kind(size, exact):
                continue
            count = convert(exact, size.unit).value / size.value
            if size.value == 1 or count.denominator == 1:
                number, unit = count, option
        if choice is not None:
            choice.values = [unit]
        return _number(number)

    def _enter(
        self, entry: str, kind: str, job: str | None, item: str, amount: int, pieces: int
    ) -> None:
        known = set(Movement.objects.values_list("pk", flat=True))
        with self._step():
            entered = (
                self._log_day(kind, job, item, amount, pieces)
                if job is not None
                else kind == "spoiled" and self._measured("stock-spoil", item, amount, pieces)
            )
        if not entered:
            super()._enter(entry, kind, job, item, amount, pieces)
            return
        self._entries[entry] = Movement.objects.exclude(pk__in=known).get().pk

    def _log_day(self, kind: str, job: str, item: str, amount: int, pieces: int) -> bool:
        """Log a day of a job. False where the page does not list the item, or doubts the amount."""
        form = self._form("log-add", self._jobs[job].pk)
        assert form is not None
        rows = form.controls["row"].values if "row" in form.controls else []
        boxes = [name for name in form.controls if name.startswith(f"{kind}-")]
        box_of = dict(zip(rows, boxes, strict=True))
        box = box_of.get(self._keys[item])
        if self.house.item(item).is_stick and box is None:
            length = format_amount(Amount(Fraction(amount * THOUSANDTH, FOOT), "ft"))
            box = box_of.get(f"{self._keys[item]}|{length}")
            number: str | None = str(pieces)
        elif box is not None:
            choice = form.controls.get(box.replace(kind, "of", 1))
            number = self._typed(item, amount, pieces, choice)
        if box is None or number is None:
            return False
        try:
            self._send(form, {box: [number]})
        except _WrongForm as wrong:
            if FAR_TOO_MUCH not in str(wrong):
                raise
            return False
        return True

    def _measured(
        self, route: str, item: str, amount: int, pieces: int, more: Data | None = None
    ) -> bool:
        """Fill in a form of one item's stock. False where it does not know that length."""
        form = self._stock_form(route, item)
        number = self._typed(item, amount, pieces, form.controls["of"])
        if number is None:
            return False
        self._send(form, {"number": [number]} | (more or {}))
        return True

    def take_back_entry(self, entry: str) -> None:
        with self._step():
            movement = Movement.objects.get(pk=self._entries[entry])
            undo = self._button(self._of_item(movement.item), ("stock-reverse", movement.pk))
            self._press(undo, "Undone by an entry")

    def found(self, item: str, amount: int, pieces: int = 1) -> None:
        with self._step():
            entered = self._measured("stock-found", item, amount, pieces)
        if not entered:
            super().found(item, amount, pieces)

    def move(self, item: str, amount: int, pieces: int = 1) -> None:
        with self._step():
            if not self._measured("stock-move", item, amount, pieces, {"to": ["Garage"]}):
                raise errors.Refused("none of this length is here")

    def count(self, item: str, amount: int) -> None:
        """Whole packs, and what is loose beside them. Sticks have no such count."""
        if self.house.item(item).is_stick:
            super().count(item, amount)
            return
        with self._step():
            self._count(item, amount)

    def _count(self, item: str, amount: int) -> None:
        form = self._stock_form("stock-count", item)
        options = form.controls["of"].options
        unit, pack = parse_amount(options[0]), parse_amount(options[-1])
        here = convert(self._amount(item, amount), unit.unit).value
        if "rest" not in form.controls:
            self._send(form, {"number": [_number(here)]})
            return
        packs = here // pack.value
        loose = here - packs * pack.value
        changes: Data = {"number": [str(packs)], "of": [options[-1]], "rest": [_number(loose)]}
        self._send(form, changes)

    def ran_out(self, item: str) -> None:
        """A page that shows nothing here does not ask whether it ran out; then none is counted."""
        page = self._of_item(self._keys[item])
        with self._step():
            button = self._button(page, ("stock-out", *page[1:]))
            if button is not None:
                self._press(button, "othing is left")
            else:
                self._count(item, 0)


class _WrongForm(errors.Refused):
    """A form that came back with its errors, and the forms of the page that says so."""

    def __init__(self, answer: Any, url: str) -> None:
        words = [row["text"] for form in answer.context["forms"] for row in form.summary]
        super().__init__(" ".join(words))
        self.forms = forms_of(answer.content.decode(), url)


def _sent_to(url: str, forms: Iterable[PageForm]) -> PageForm | None:
    return next((form for form in forms if form.action == url), None)


def _stops_in(answer: Any, url: str) -> PageForm | None:
    """The form of a page that asks about what stops the work; None where nothing does."""
    if answer.status_code != 200:
        return None
    forms = forms_of(answer.content.decode(), url)
    return next((form for form in forms if "stops-asked" in form.controls), None)


def _accepted(form: PageForm) -> Data:
    """Every stop of a page accepted, with one reason."""
    return {"stops-why": ["Known"]} if "stops-why" in form.controls else {}


def _ticked(form: PageForm) -> Data:
    """Every single box of a form ticked."""
    return {
        name: control.options
        for name, control in form.controls.items()
        if control.kind == "checkbox"
    }


def _money(cents: int) -> str:
    return f"{cents // 100}.{cents % 100:02d}"


def _number(value: Fraction) -> str:
    """A number as people write it, exactly: 3, 1/4, 2 1/2."""
    whole, part = divmod(value, 1)
    if not part:
        return str(whole)
    return f"{whole} {part}" if whole else str(part)
