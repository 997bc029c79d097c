"""Every form of every page, sent twice: the same text is written once, another text is never
dropped.

A page keeps its key when one goes back to it. So a second text typed there is a write of its own,
or it is shown beside what was saved meanwhile (409). A form that no page here shows, or that no
text here is taken by, fails the test: it is then added to `NEEDS`, or to `ALONE` with the test that
has it.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.test import Client

from tests.remodel.page_forms import Data, PageForm
from tests.remodel.routes import routes
from tests.remodel.saving import route_of, state, taken_back

# What a form that adds something is filled in with, before one of its fields is changed.
WALLS: Data = {
    f"wall-{index}-length": [f"{length} mm"]
    for index, length in enumerate((4000, 3000, 4000, 3000))
}
PLACED: Data = {
    "surface": ["A"],
    "across_origin": ["left"],
    "across_distance": ["2000 mm"],
    "up_origin": ["floor"],
    "up_distance": ["1500 mm"],
    "width": ["60 mm"],
    "height": ["90 mm"],
}
NEEDS: dict[str, Data] = {
    "house-new": {"name": ["Elm Street"]},
    "room-add": {"name": ["Library"], "line": ["3600 x 3000 x 2400"]},
    "room-add-walls": {"name": ["Library"], **WALLS},
    "room-add-surfaces": {
        "name": ["Library"],
        "surface-0-width": ["3000 mm"],
        "surface-0-height": ["2400 mm"],
    },
    "opening-add": {
        "kind": ["door"],
        "surface": ["D"],
        "left": ["1000 mm"],
        "width": ["600 mm"],
        "height": ["2000 mm"],
    },
    "cutout-add": PLACED | {"along": [""]},
    "hidden-add": PLACED,
    "partition-add": {
        "name": ["Nook wall"],
        "behind": ["Nook"],
        "surface": ["A"],
        "at": ["1500 mm"],
    },
    "room-finish": {"wall_paint_color": ["Harbor Fog"], "ceiling_paint_color": ["Chalk"]},
    "surface-edit": {"paint_color": ["Harbor Fog"]},
    "room-built": {"built-0-kind": [""], "out-0-end": [""], "out-0-length": ["1500 mm"]},
    "note-add": {"text": ["Out of plumb"]},
    "phase-add": {"name": ["Trim again"]},
    "added-add": {"amount": ["18"], "goes_by": ["hand"]},
    "log-add": {"hours": ["2"], "note": ["Hung two boards"]},
    "store-add": {"name": ["Corner Lumber"]},
    "price-sheet-add": {
        "thickness": ["12.5 mm"],
        "width": ["1200 mm"],
        "length": ["2900 mm"],
        "price": ["12.50"],
    },
    "price-material-add": {
        "material": ["Sealant"],
        "name": ["tube"],
        "holds": ["1"],
        "price": ["4.50"],
    },
    "price-pack-add": {"name": ["tin"], "holds": ["7"], "price": ["4.50"]},
    "order-add": {"packs": ["3"], "reason": ["For the garage"]},
    "order-new": {"phases": ["hanging"]},
    "stock-count": {"number": ["1"]},
    "stock-found": {"number": ["1"]},
    "stock-have": {"number-0": ["3"]},
    "stock-spoil": {"number": ["1"]},
    "stock-move": {"number": ["1"], "to": ["Garage"]},
    "order-return": {"packs": ["1"], "refund": ["5"]},
}
# Forms that are one press, with what is ticked beside it.
PRESSES: dict[str, Data] = {"order-place": {"without_prices": ["on"]}}
# Forms that are not here, each with the test that sends it twice, or why none has to.
ALONE = {
    "room-outline": "draws what is typed and keeps nothing",
    "thing-picture": "draws what is typed and keeps nothing",
    "sign-in": "writes a session alone",
    "sign-up": "tests/remodel/people/test_hosted.py: one account an address",
    "sign-out": "ends a session",
    "password-change": "tests/remodel/people/test_hosted.py: sent twice, it is changed once",
    "invitation": "tests/remodel/people/test_services.py: a link is taken once",
    "house-import": "tests/remodel/house/test_edit_house.py: a file chosen twice",
    "price-bring-in": "tests/remodel/supply/test_price_table.py: a table brought in again",
    "plan-take": "tests/remodel/board/test_compare.py: needs a plan that a search found",
    "plan-leave": "tests/remodel/board/test_compare.py: needs a plan that a search found",
    "plan-note-read": "tests/remodel/board/test_compare.py: needs a plan that fell, read twice",
    "cards-thrown": "tests/remodel/cards/test_old_cards.py: needs a plan that fell, pressed twice",
    "surface-anew": "tests/remodel/house/test_against_hung.py: needs a plan that stands",
    "order-line-instead": "tests/remodel/supply/test_other_sizes.py: needs sheets to come",
    "order-line-there": "tests/remodel/supply/test_other_sizes.py: needs an empty shelf",
    "surface-photo": "tests/remodel/work/test_behind.py: needs a file, sent twice",
    "room-rest": "tests/remodel/cards/test_rests.py: needs a sheet that is cut",
    "room-take-along": "tests/remodel/cards/test_taken_along.py: a tick is entered once",
    "room-piece-told": "tests/remodel/cards/test_differently.py: its first press keeps nothing",
    "room-piece-undo": "tests/remodel/cards/test_differently.py: needs an entry of a piece",
    "pair": "tests/remodel/people/test_home.py: a code is used once",
    "house-remove": "asks for one text alone, the name of the house",
}
# Buttons without fields that stand on no page here, for the boards are not worked out that far.
DIRECT = ("room-plan-keep", "surface-clear")
# Buttons that do the same again when pressed again, although rows are written anew by it.
DOES_AGAIN = {
    "order-refresh": "works the lines of a draft out again",
    "change-undo": "an undo that is undone is a press on another page",
}


UNTRIED = "no two texts were taken"


def texts(form: PageForm) -> Iterator[tuple[Data, Data]]:
    """Two texts of a form, the second with another value in one field."""
    chosen = {
        control.name: control.options[1:2]
        for control in form.typed
        if control.kind == "select" and control.values == [""] and control.options[1:]
    }
    start = chosen | NEEDS.get(route_of(form.action), {})
    if route_of(form.action) == "order-receive":
        start |= {name: ["10"] for name in form.controls if name.startswith("paid-")}
    if route_of(form.action) == "price-confirm":
        right = form.controls["right"].options
        yield {"right": right[:1]}, {"right": right[1:2]}
    places = [control for control in form.typed if control.name.startswith("place-")]
    if places:
        one, two, three = (control.values for control in places[:3])
        names = [control.name for control in places]
        yield {names[0]: two, names[1]: one}, {names[0]: three, names[2]: one}
    typed = [control for control in form.typed if control.kind == "text"] or form.typed
    for control in typed:
        values = [*([start[control.name]] if control.name in start else []), *control.others()]
        for second in values[1:] if control.name in start else values:
            yield start, start | {control.name: second}


def twice(client: Client, form: PageForm) -> str:
    """What goes wrong when two texts of a form are sent from one page, in words."""
    tried = UNTRIED
    for first, second in texts(form):
        with taken_back():
            stood = state()
            if client.post(form.action, form.data(first)).status_code >= 400 or state() == stood:
                continue
            stood = state()
            if client.post(form.action, form.data(first)).status_code >= 400 or state() != stood:
                return "the same text sent twice was written twice, or refused the second time"
            status = client.post(form.action, form.data(second)).status_code
            if status == 409 or (status < 400 and state() != stood):
                return ""
            if status < 400:
                tried = "the second text was answered as saved, and nothing was written"
    return tried


def pressed_twice(client: Client, form: PageForm) -> str:
    with taken_back():
        ticked = form.data(PRESSES.get(route_of(form.action)))
        client.post(form.action, ticked)
        stood = state()
        status = client.post(form.action, ticked).status_code
        if status >= 500:
            return f"the second press failed ({status})"
        if state() != stood and route_of(form.action) not in DOES_AGAIN:
            return "pressed twice, it was done twice"
    return ""


def test_every_form_sent_twice_is_one_write_and_another_text_is_another(form_house):
    client = form_house.client(form_house.ada)
    wrong: list[str] = []
    tried: dict[str, bool] = dict.fromkeys(ALONE, True)
    for _, form in form_house.forms(client).values():
        route = route_of(form.action)
        if tried.get(route):  # one of its forms, like that of the first room, stands for all
            continue
        types = form.typed and "key" in form.controls and route not in PRESSES
        fault = twice(client, form) if types else pressed_twice(client, form)
        tried[route] = fault != UNTRIED
        if fault and fault != UNTRIED:
            wrong.append(f"{route}: {fault}")
    for route in routes():
        if route.name in DIRECT:
            tried[route.name] = True
            fault = pressed_twice(client, PageForm(form_house.url(route)))
            wrong += [f"{route.name}: {fault}"] if fault else []
    wrong += [f"{route}: {UNTRIED}" for route, was_tried in tried.items() if not was_tried]
    posting = {route.name for route in routes() if "POST" in route.methods and route.who != "home"}
    wrong += [f"{name}: no page shows its form" for name in sorted(posting - tried.keys())]
    assert not wrong, "\n".join(wrong)
