"""Two people on the same page: every field of every page that edits, and nothing of either is lost
in silence.

Ben opens a page. Ada changes one field of it and saves. Ben then saves another field, from the page
as he opened it. Either he is shown both values (409), or both changes stand. And where he changes
the same field, he is always shown both.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from django.test import Client

from remodel.history.models import Change
from remodel.people.models import Membership
from tests.remodel.page_forms import Control, Data, PageForm, forms_of
from tests.remodel.saving import FormHouse, route_of, taken_back

# each field written, and its value; None where it was refused
Effect = list[tuple[str, str]] | None

# A partition out 1 m, then a corner, and where it goes on from there.
CORNER: Data = {"corner_1_length": ["1000 mm"], "corner_1_turn": ["toward"]}
JOG: Data = CORNER | {"corner_2_length": ["400 mm"], "corner_2_turn": ["away"]}
STEPS: Data = JOG | {"corner_3_length": ["500 mm"], "corner_3_turn": ["toward"]}
GABLE: Data = {"ceiling_kind": ["gable"], "ceiling_low_wall": ["A"], "ceiling_high": ["4000 mm"]}
VAULT: Data = GABLE | {"ceiling_kind": ["vault"], "ceiling_flat_at": ["900 mm"]}
OTHER_SPACING: Data = {"spacing": ["other"], "spacing_other": ["420 mm"]}
BATTS: Data = {"r_value": ["2.3"], "batt_area": ["1.5"]}
HOLE: Data = {"action": ["patch"], "hole-#-width": ["300 mm"], "hole-#-height": ["200 mm"]}
SOFFIT: Data = {
    "built-#-kind": ["soffit"],
    "built-#-width": ["500 mm"],
    "built-#-depth": ["200 mm"],
    "built-#-height": ["200 mm"],
}
WELL: Data = SOFFIT | {
    "built-#-kind": ["skylight well"],
    "built-#-away": ["600 mm"],
    "built-#-far_height": ["400 mm"],
}
STAIRS: Data = SOFFIT | {"built-#-kind": ["stairs"], "built-#-climbs": ["right"]}
WALL_OUT: Data = {"out-#-length": ["1500 mm"], "out-#-thickness": ["110 mm"]}
# What a field needs beside it, to be taken at all: (route, field, what is changed with it). A field
# that is named there itself is tried with that value alone. `#` is the number of a row.
TOGETHER: list[tuple[str, str, Data]] = [
    ("room-size", "ceiling_kind", GABLE | {"ceiling_kind": ["slope"]}),
    ("room-size", "ceiling_kind", GABLE),
    ("room-size", "code", {"code": ["ZX"]}),
    ("room-size", "code", {"code": ["ZY"]}),
    ("room-size", "ceiling_(low_wall|high|ridge_at|far_height)", GABLE),
    ("room-size", "ceiling_flat_(at|width)", VAULT),
    ("room-framing", "studs_other", {"studs": ["other"]}),
    ("room-framing", "joists_other", {"joists": ["other"]}),
    ("room-finish", "tape", {"compound": ["setting"]}),
    *(
        (route, f"{name}_(color|sheen)", {f"{name}_color": [color], f"{name}_sheen": [sheen]})
        for route, name in (
            ("room-finish", "wall_paint"),
            ("room-finish", "ceiling_paint"),
            ("surface-edit", "paint"),
        )
        for color, sheen in (("Harbor Fog", "satin"), ("Barn Door", "gloss"))
    ),
    ("surface-edit", "most_load", {"most_load": ["25"]}),
    ("surface-edit", "most_load", {"most_load": ["30.5"]}),
    ("surface-edit", "spacing_other", {"spacing": ["other"]}),
    ("surface-edit", "runs|first|substrate|extra|missing|start_backed|end_backed", OTHER_SPACING),
    ("surface-edit", "member-#-.*", {"member-#-at": ["800 mm"], "member-#-out_by": ["4 mm"]}),
    ("surface-edit", "member-#-.*", {"member-#-at": ["1200 mm"], "member-#-out_by": ["4 mm"]}),
    ("surface-edit", "extra|missing", OTHER_SPACING | {"extra": ["700 mm"], "missing": ["840 mm"]}),
    ("surface-edit", "r_value|batt_area|retarder", BATTS),
    ("surface-edit", "r_value|batt_area", {"r_value": ["3.3"], "batt_area": ["1.2"]}),
    ("surface-edit", "hole-#-.*", HOLE),
    ("surface-edit", "hole-#-.*", HOLE | {"hole-#-width": ["250 mm"], "hole-#-height": ["150 mm"]}),
    ("room-built", "built-#-(kind|name|wall|left|width|depth|height)", SOFFIT),
    ("room-built", "built-#-(kind|away|far_height)", WELL),
    ("room-built", "built-#-(kind|climbs)", STAIRS),
    ("room-built", "out-#-.*", WALL_OUT),
    ("room-built", "out-#-.*", WALL_OUT | {"out-#-length": ["1400 mm"], "out-#-at": ["300 mm"]}),
    ("opening-edit", "nonbearing", {"found": ["cut"], "nonbearing": ["on"]}),
    ("opening-edit", "return_depth", {"edge": ["return"], "return_depth": ["90 mm"]}),
    ("opening-edit", "return_depth", {"edge": ["return"], "return_depth": ["110 mm"]}),
    ("partition-edit", "spacing_other", {"spacing": ["other"]}),
    ("partition-edit", "corner_1_.*", CORNER),
    ("partition-edit", "corner_1_.*", CORNER | {"corner_1_turn": ["away"]}),
    ("partition-edit", "corner_1_.*", CORNER | {"corner_1_length": ["1100 mm"]}),
    ("partition-edit", "corner_2_.*", JOG),
    ("partition-edit", "corner_2_.*", JOG | {"corner_2_length": ["300 mm"]}),
    ("partition-edit", "corner_3_.*", STEPS),
    ("partition-edit", "corner_3_.*", STEPS | {"corner_3_turn": ["away"]}),
    ("partition-edit", "corner_3_.*", STEPS | {"corner_3_length": ["600 mm"]}),
    ("cutout-edit", "kind|height", {"kind": ["box"], "height": ["60 mm"]}),
    ("cutout-edit", "kind|height", {"kind": ["vent"], "height": ["70 mm"]}),
    (
        "cutout-edit",
        "along",
        {
            "surface": ["ceiling"],
            "kind": ["vent"],
            "across_origin": ["B"],
            "across_distance": ["900 mm"],
            "up_origin": ["A"],
            "up_distance": ["900 mm"],
            "width": ["90 mm"],
            "height": ["200 mm"],
        },
    ),
    ("phase-detail", "waits_for", {"state": ["blocked"]}),
    ("order-line", "packs|reason", {"packs": ["77"], "reason": ["One spare"]}),
    ("order-line", "packs|reason", {"packs": ["78"], "reason": ["Two spare"]}),
    (
        "room-surfaces",
        "surface-2-.*",
        {"surface-2-width": ["2000 mm"], "surface-2-height": ["2400 mm"]},
    ),
    (
        "room-surfaces",
        "surface-2-.*",
        {"surface-2-width": ["2100 mm"], "surface-2-height": ["2400 mm"]},
    ),
]
# An answer to a question asked at the moment of saving, which no row keeps.
NOT_KEPT = {
    ("phase-detail", "coldest"),
    ("phase-detail", "left-.*"),
    ("order-place", "without_prices"),
    ("order-place", "without_unmet"),
    ("order-place", "unseen_framing"),
}
# Forms that change nothing a page shows: they add something, or ask for one thing whatever stands.
ADDS = {
    *(
        "house-new",
        "room-add",
        "room-add-surfaces",
        "room-add-walls",
        "opening-add",
        "cutout-add",
        "hidden-add",
    ),
    *(
        "partition-add",
        "phase-add",
        "added-add",
        "note-add",
        "log-add",
        "store-add",
        "price-sheet-add",
        "price-material-add",
    ),
    *(
        "price-pack-add",
        "order-new",
        "order-add",
        "stock-spoil",
        "stock-move",
        "house-packs",
        "invitation-add",
    ),
    "surface-photo",
    "room-take-along",  # each tick of a file is entered once
    "stock-found",
    "stock-have",  # each line says what its page showed, and is left alone where it stands so
    "stock-count",  # what is here is here, whatever the page said before
    "order-line-tick",  # the last tick counts
    "house-remove",  # asks for the name alone
    "password-change",  # asks for the password of now
}
# What came and went back is a fact beside others: `test_facts_from_an_older_page` has these pages.
# What a page of a piece was made from is a fact too, and its first press keeps nothing:
# `test_differently` has it. Sizes that a store has are a fact too: `test_other_sizes`.
FACTS = {"order-receive", "order-return", "room-piece-told", "order-line-instead"}


def changes_to_try(form: PageForm, control: Control) -> Iterator[Data]:
    """Changes of one field, with what it needs beside it."""
    route, number = route_of(form.action), re.search(r"-(\d+)-", control.name)
    row = number[1] if number else ""
    rules = [
        {name.replace("#", row): values for name, values in beside.items()}
        for where, names, beside in TOGETHER
        if where == route and re.fullmatch(names.replace("#", row or "#"), control.name)
    ]
    yield from (rule for rule in rules if control.name in rule)
    if control.name.startswith("place-"):
        yield from _swaps(form, control)
    if route == "room-walls" and control.name.endswith(("-turn", "-angle")):
        yield from _turns(form, int(row))
        return
    beside = next((rule for rule in rules if control.name not in rule), {})
    if route == "price-confirm" and control.name == "store":
        beside = {"right": form.controls["right"].options[:1]}
    yield from (beside | {control.name: values} for values in control.others())


def _turns(form: PageForm, row: int) -> Iterator[Data]:
    """A wall turned by a little, and the next one back, so that the room still closes."""
    after = (row + 1) % int(form.controls["walls"].values[0])
    for more, less in (("90.1", "89.9"), ("90.2", "89.8")):
        yield {
            f"wall-{row}-turn": ["other"],
            f"wall-{row}-angle": [more],
            f"wall-{after}-turn": ["other"],
            f"wall-{after}-angle": [less],
        }


def _swaps(form: PageForm, control: Control) -> Iterator[Data]:
    """A place in an order is another's: the two change places."""
    for other in form.typed:
        if other is not control and other.name.startswith("place-"):
            yield {control.name: other.values, other.name: control.values}


def opened(client: Client, address: str, action: str) -> PageForm | None:
    """The form as the page shows it now."""
    page = client.get(address).content.decode()
    return next(
        (form for form in forms_of(page, address) if form.action == action and form.typed), None
    )


def shown(form: PageForm | None, name: str) -> list[str] | None:
    control = form.controls.get(name) if form is not None else None
    return control.values if control is not None else None


def effect(client: Client, form: PageForm, change: Data) -> Effect:
    """What saving the form writes, field by field; None where it is refused. It is taken back at
    once."""
    last = Change.objects.latest("pk").pk
    with taken_back():
        if client.post(form.action, form.data(change)).status_code != 302:
            return None
        written = [
            (change.model, f"{name}={value}")
            for change in Change.objects.filter(pk__gt=last)
            for name, (_, value) in change.fields.items()
            if name not in ("key", "confirmed_at", "position")
        ]
        return sorted(written) + list(Membership.objects.order_by("pk").values_list("pk", "role"))


def changes_of(
    client: Client, form: PageForm, control: Control, unchanged: Effect
) -> tuple[list[Data], str]:
    """Up to two changes of a field that are taken and kept, each by itself; or why there is none.

    `unchanged` is what saving the page writes as it stands.
    """
    changes: list[Data] = []
    why = "no value was taken"
    for change in changes_to_try(form, control):
        written = effect(client, form, change)
        if written is not None and written == unchanged:
            why = "the same is written as without it"
        elif written is not None and change not in changes:
            changes.append(change)
        if len(changes) == 2:
            break
    return changes, why


LONG_FORM = 2  # fields


def sample_of(form: PageForm, most: int) -> set[str]:
    """The fields to try: of those alike but for a number or an id, like prices, the first `most`.
    Of a long form with `most` 1 not all are tried, but some from its begin to its end."""
    alike: dict[str, list[str]] = {}
    for control in form.typed:
        alike.setdefault(re.sub(r"\d|[0-9a-f-]{36}", "#", control.name), []).append(control.name)
    names = [name for names in alike.values() for name in names[:most]]
    return set(names[:: 1 + len(names) // LONG_FORM] if most == 1 else names)


def is_kept(route: str, name: str) -> bool:
    """Whether a row keeps what is typed into a field."""
    return not any(at == route and re.fullmatch(names, name) for at, names in NOT_KEPT)


def lost(ada: Client, ben: Client, address: str, form: PageForm, most: int) -> list[str]:
    """What goes wrong on one page, in words; empty where nothing does."""
    route, wrong, sample = route_of(form.action), [], sample_of(form, most)
    known: dict[str, list[Data]] = {}
    unchanged = effect(ada, form, {})
    for control in form.typed:
        if not is_kept(route, control.name) or control.name not in sample:
            continue
        known[control.name], why = changes_of(ada, form, control, unchanged)
        if not known[control.name]:
            wrong.append(f"{route} {control.name}: not tried, {why}")
    for name, changes in known.items():
        if not changes:
            continue
        with taken_back():
            assert ada.post(form.action, form.data(changes[0])).status_code == 302
            stands = shown(opened(ada, address, form.action), name)
            tried = False
            for other, theirs in known.items():
                if other == name or not theirs or other in changes[0] or name in theirs[0]:
                    continue
                with taken_back():
                    status = ben.post(form.action, form.data(theirs[0])).status_code
                    if status == 302 and shown(opened(ada, address, form.action), name) != stands:
                        wrong.append(
                            f"{route} {name}: lost when {other} was saved from an older page"
                        )
                tried = tried or status in (302, 409)
                if tried:
                    break
            free = [
                other
                for other, theirs in known.items()
                if theirs and other not in changes[0] and name not in theirs[0]
            ]
            if not tried and free:
                wrong.append(f"{route} {name}: not tried beside another field")
            each_its_own = (
                form.controls[name].kind == "checkbox" and len(form.controls[name].options) > 1
            )
            if len(changes) > 1 and not each_its_own:
                with taken_back():
                    status = ben.post(form.action, form.data(changes[1])).status_code
                if status != 409:
                    wrong.append(f"{route} {name}: overwritten from an older page ({status})")
    return wrong


def sweep(form_house: FormHouse, most: int) -> str:
    ada, ben = form_house.client(form_house.ada), form_house.client(form_house.ben)
    pages = [
        (address, form)
        for address, form in form_house.forms(ada).values()
        if form.seen and form.typed and route_of(form.action) not in FACTS
    ]
    assert len(pages) >= 20
    return "\n".join(
        line for address, form in pages for line in lost(ada, ben, address, form, most)
    )


def test_every_field_of_every_edit_page_survives_another_person(form_house):
    """Of the rows of a list, like walls and prices, one of each field, and of a long form a part
    of its fields; all of them in the deep run."""
    assert sweep(form_house, most=1) == ""


@pytest.mark.deep
def test_every_row_of_every_list_survives_another_person(form_house):
    assert sweep(form_house, most=1000) == ""


def test_every_form_says_what_its_page_was_made_from_or_adds_something(form_house):
    forms = [
        form
        for _, form in form_house.forms(form_house.client(form_house.ada)).values()
        if form.typed
    ]
    without = {route_of(form.action) for form in forms if not form.seen}
    assert not without ^ ADDS, " ".join(sorted(without ^ ADDS))
