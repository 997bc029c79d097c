"""The page of the house's rules: values, defaults and sources, saving, and what a change would
do."""

from __future__ import annotations

from dataclasses import fields
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import strip_tags

from remodel.board.models import PlacedPiece
from remodel.bridge.house_rules import default_rules, every_rule, source_of, value_of
from remodel.bridge.lengths import FOOT, INCH
from remodel.bridge.records import Rules, rules_of
from remodel.history.models import Change
from remodel.history.queries import last_group
from remodel.history.services import By, undo
from remodel.house.models import House, Room
from remodel.house.services import house_set_rules
from remodel.house_files.new import house_add
from remodel.pages.house.rules_tried import try_rules
from remodel.people.models import Role
from takeoff.reference import figures
from tests.remodel.factories import ada, ben, cy
from tests.remodel.page_forms import forms_of
from tests.remodel.site import HTMX, browser, share, small_house

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("hosted")]


def url_of(house: House) -> str:
    return reverse("house-rules", args=[house.pk])


def typed(client, house: House, **values: str) -> dict[str, list[str]]:
    """What the page sends with some fields typed anew."""
    page = client.get(url_of(house)).content.decode()
    form = next(form for form in forms_of(page, url_of(house)) if "stagger" in form.controls)
    changes = {name.replace("__", "-"): [value] for name, value in values.items()}
    data = {name: sent for name, sent in form.data().items() if name not in changes}
    return data | {name: sent for name, sent in changes.items() if sent != ["off"]}


def words_of(response) -> str:
    return " ".join(strip_tags(response.content.decode()).split())


def test_every_rule_of_the_engine_is_on_the_page():
    shown = {rule.column for rule in every_rule()}

    # owned sheets have pages of their own; sheets of a house file stand in place of the store's
    assert {field.name for field in fields(Rules)} - shown == {"owned", "sheets"}
    assert {field.name for field in fields(Rules().minutes)} == {
        rule.part for rule in every_rule() if rule.part
    }


@pytest.mark.parametrize(
    "rule", [rule for rule in every_rule() if rule.figure], ids=lambda r: r.name
)
def test_default_is_the_figure_it_is_said_to_come_from(rule):
    value, entry = value_of(default_rules("in"), rule), figures.figure(rule.figure)
    if isinstance(entry.value, str):
        assert "across" in entry.what.lower()
        assert value == "across"
    elif rule.kind == "length":
        assert value == (entry.high * INCH if rule.high else entry.length)
    elif rule.kind == "minutes":
        assert value == figures.minutes(rule.figure)
    else:
        assert value == str(figures.count(rule.figure))


@pytest.mark.parametrize("rule", list(every_rule()), ids=lambda rule: rule.name)
def test_source_names_no_address_and_is_there_unless_its_group_says_it(rule):
    assert not any(ending in source_of(rule) for ending in (".com", ".org", ".net"))
    assert source_of(rule) or rule.part


def test_page_shows_value_default_reason_and_source_of_a_rule():
    house = small_house(ada())
    house_set_rules(by=By(ada()), house=house, stagger=24 * INCH)
    page = browser(ada()).get(url_of(house))

    assert 'id="stagger"' in page.content.decode()
    assert (
        "Butt seams of neighboring rows apart by at least Seams in one line open as one crack."
        in words_of(page)
    )
    assert "Now: 2&#x27; 0&quot;. Default: 1&#x27; 4&quot;. School specification" in words_of(page)


def test_rules_are_saved_together_and_undone_together():
    house, client = small_house(ada()), browser(ada())
    data = typed(
        client,
        house,
        hour="22.50",
        minutes__piece="15",
        minutes__square_foot="0,75",
        stagger="24 in",
        orientation="along",
        keep_offcuts="off",
        longest_board="10'",
        heaviest_lift="70",
        widths="48 in",
        partition_top_plates="2",
    )
    response = client.post(url_of(house), data)
    rules = rules_of(House.objects.get())

    assert response.status_code == 302
    assert rules.hour == Decimal("22.50")
    assert (rules.minutes.piece, rules.minutes.square_foot) == (Decimal(15), Decimal("0.75"))
    assert rules.minutes.rip == Rules().minutes.rip
    assert rules.stagger == 24 * INCH
    assert (rules.orientation, rules.keep_offcuts) == ("along", False)
    assert (rules.longest_board, rules.heaviest_lift) == (10 * FOOT, Decimal(70))
    assert (rules.widths, rules.partition_top_plates) == ((48 * INCH,), 2)

    undo(by=By(ada()), group=last_group(house.pk))
    assert rules_of(House.objects.get()) == Rules()


def test_page_saved_as_it_stands_writes_nothing():
    house, client = small_house(ada()), browser(ada())
    house_set_rules(by=By(ada()), house=house, hour="15.005", minutes={**_minutes(), "rip": "4.25"})
    kept, last = House.objects.get().rules, Change.objects.latest("pk").pk
    client.post(url_of(house), typed(client, house))

    assert House.objects.get().rules == kept
    assert Change.objects.latest("pk").pk == last


def _minutes() -> dict[str, str]:
    return {
        field.name: str(getattr(Rules().minutes, field.name)) for field in fields(Rules().minutes)
    }


def test_empty_field_takes_the_default():
    house, client = small_house(ada()), browser(ada())
    changed = {"stagger": 24 * INCH, "hour": "9.00", "heaviest_lift": Decimal(60)}
    house_set_rules(by=By(ada()), house=house, minutes={**_minutes(), "rip": "9"}, **changed)
    empty = dict.fromkeys(("stagger", "hour", "heaviest_lift", "minutes__rip"), "")
    client.post(url_of(house), typed(client, house, **empty))

    assert rules_of(House.objects.get()) == Rules()


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("minutes__piece", "ten", '"Carry a piece to its place and lift it" must be from 0 to 600'),
        ("minutes__piece", "601", "Enter, for example, 12"),
        ("hour", "lots", '"What an hour of your work is worth" must be zero or more'),
        ("stagger", "wide", '"Butt seams of neighboring rows apart by at least":'),
        ("floor_gap", "2 in", '"Board off the floor by" must be at most the largest gap'),
        ("heaviest_lift", "5", "must be a whole number from 20 to 500, for example 80"),
    ],
)
@pytest.mark.parametrize("press", ["save", "try"])
def test_bad_value_is_told_with_an_example_and_nothing_typed_is_lost(name, text, said, press):
    house, client = small_house(ada()), browser(ada())
    data = typed(client, house, **{"kerf": "3/16 in", name: text})
    response = client.post(url_of(house), data | ({"try": ["1"]} if press == "try" else {}))
    form = response.context["form"]

    assert response.status_code == 422
    assert said in " ".join(row["text"] for row in form.summary)
    assert form[name.replace("__", "-")].value() == text
    assert form["kerf"].value() == "3/16 in"
    assert House.objects.get().rules == {}


def test_trying_shows_before_and_after_keeps_what_was_typed_and_stores_nothing():
    house, client = small_house(ada(), "Kitchen", "Hall"), browser(ada())
    last = Change.objects.latest("pk").pk
    data = typed(client, house, hour="0", longest_board="8'") | {"try": ["1"]}
    response = client.post(url_of(house), data)
    tried = response.context["tried"]

    assert tried.rooms == ("Kitchen", "Hall")
    assert [row[0] for row in tried.table.rows] == [
        "Sheets",
        "Pieces",
        "Butt seams",
        "Work, hung and finished",
        "Price of the sheets",
        "Price of all materials",
    ]
    pieces = tried.table.rows[1]
    assert int(pieces[2]) > int(pieces[1])
    assert response.context["form"]["longest_board"].value() == "8'"
    assert House.objects.get().rules == {}
    assert Change.objects.latest("pk").pk == last


def test_what_was_tried_is_saved_by_the_same_form():
    house, client = small_house(ada()), browser(ada())
    data = typed(client, house, stagger="24 in") | {"try": ["1"]}
    page = client.post(url_of(house), data)
    shown = next(
        form
        for form in forms_of(page.content.decode(), url_of(house))
        if "stagger" in form.controls
    )
    client.post(url_of(house), shown.data())

    assert rules_of(House.objects.get()).stagger == 24 * INCH


def test_trying_without_a_change_says_so():
    house, client = small_house(ada()), browser(ada())
    response = client.post(url_of(house), typed(client, house) | {"try": ["1"]}, **HTMX)

    assert "Nothing is changed yet" in words_of(response)


def test_rooms_where_boards_hang_are_not_tried():
    house = small_house(ada(), "Kitchen", "Hall")
    Room.objects.filter(name="Hall").update(finished=True)
    tried = try_rules(house, Rules(hour=Decimal(0)))
    assert tried.rooms == ("Kitchen",)

    Room.objects.filter(name="Hall").update(finished=False)
    PlacedPiece.objects.create(
        house=house,
        room=Room.objects.get(name="Kitchen"),
        mark="K-A1",
        surface="kitchen/A",
        state="hung",
        cut_at=timezone.now(),
        hung_at=timezone.now(),
    )
    assert try_rules(house, Rules(hour=Decimal(0))).rooms == ("Hall",)


def test_large_house_is_tried_for_its_first_rooms_and_says_so():
    house = small_house(ada(), "Kitchen", "Hall", "Bath")
    tried = try_rules(house, Rules(hour=Decimal(0)), seconds=0)

    assert (tried.rooms, tried.left) == (("Kitchen",), 2)


def test_rule_that_leaves_a_surface_without_a_plan_is_told_before_it_is_saved():
    house = small_house(ada())
    tried = try_rules(house, Rules(heaviest_lift=Decimal(20)))

    assert tried.table.rows[-1][0] == "Surfaces without a plan"
    assert int(tried.table.rows[-1][2]) > 0


def test_who_may_look_only_reads_the_rules_without_fields():
    house = small_house(ada())
    share(house, ben(), Role.VIEWER)
    page = browser(ben()).get(url_of(house))

    assert "Butt seams of neighboring rows" in words_of(page)
    assert "Save the rules" not in words_of(page)
    assert 'name="stagger"' not in page.content.decode()
    assert browser(cy()).get(url_of(house)).status_code == 404


@pytest.mark.parametrize(
    ("route", "field", "said"),
    [
        ("room-finish", "wall_board", "House default: Regular gypsum board, 1/2&quot;"),
        ("room-finish", "longest_board", "Empty takes the house default: 10&#x27; 0&quot; (rule"),
        ("room-finish", "heaviest_lift", "Empty takes the house default: 75 lb (rule"),
        ("room-framing", "assumed_ceiling_spacing", "plans assume 2&#x27; 0&quot;"),
        ("surface-edit", "orientation", "House default: Along the framing"),
        ("surface-edit", "joint_mode", "House default: On framing"),
    ],
)
def test_field_left_to_the_house_says_what_that_is_and_leads_to_the_rule(route, field, said):
    house = small_house(ada())
    house_set_rules(
        by=By(ada()),
        house=house,
        orientation="along",
        longest_board=10 * FOOT,
        heaviest_lift=Decimal(75),
    )
    key = ["A"] if route == "surface-edit" else []
    page = browser(ada()).get(reverse(route, args=[Room.objects.get().pk, *key]))

    assert said in words_of(page)
    assert f'href="{url_of(house)}#{field}"' in page.content.decode()


def test_room_marked_as_the_house_does_says_how_that_is():
    house = small_house(ada())
    page = browser(ada()).get(reverse("room-marking", args=[Room.objects.get().pk]))

    assert "House default: Face up" in words_of(page)
    assert reverse("house-marking", args=[house.pk]) in page.content.decode()


def test_heaviest_lift_is_asked_once_for_the_house_and_rooms_inherit_it():
    house, client = small_house(ada()), browser(ada())
    url = reverse("house-edit", args=[house.pk])
    form = next(
        form for form in forms_of(client.get(url).content.decode(), url) if "hour" in form.controls
    )
    client.post(url, form.data({"heaviest_lift": ["60"]}))
    room = reverse("room-detail", args=[Room.objects.get().pk])
    sheets = client.get(room).context["view"].sheets

    assert rules_of(House.objects.get()).heaviest_lift == Decimal(60)
    # half-inch board weighs 1.6 lb a square foot
    assert max(sheet.width * sheet.length for sheet in sheets) * 16 <= 600 * FOOT * FOOT


def test_weight_of_a_wide_sheet_is_told_with_the_plan_until_a_lift_is_set_that_takes_it():
    house, client = small_house(ada()), browser(ada())
    house_set_rules(by=By(ada()), house=house, widths=(54 * INCH,), longest_board=12 * FOOT)
    url = reverse("room-boards", args=[Room.objects.get().pk])
    assert "54 in x 12 ft weighs 86 lb" in words_of(client.get(url))

    house_set_rules(by=By(ada()), house=House.objects.get(), heaviest_lift=Decimal(90))
    assert "weighs" not in words_of(client.get(url))


def test_two_people_who_change_the_rules_are_shown_both_values_by_name():
    house, client = small_house(ada()), browser(ada())
    data = typed(client, house, stagger="24 in")
    house_set_rules(by=By(ada()), house=House.objects.get(), hour="20.00")
    response = client.post(url_of(house), data)
    rows = {row.label: (row.yours, row.theirs) for row in response.context["conflict"]["rows"]}

    assert response.status_code == 409
    assert rows == {
        "Butt seams of neighboring rows apart by at least": ("2' 0\"", "1' 4\""),
        "What an hour of your work is worth": ("$15.00", "$20.00"),
    }


def test_history_names_each_rule_that_was_changed_with_both_values():
    house = small_house(ada())
    house_set_rules(by=By(ada()), house=house, minutes={**_minutes(), "rip": "7"}, adhesive=True)
    page = browser(ada()).get(reverse("house-history", args=[house.pk]))

    assert "Cut a piece to width" in words_of(page)
    assert "Glue board on walls as well as screwing it" in words_of(page)


def test_new_house_in_millimetres_starts_with_metric_rules_and_none_of_them_is_changed():
    house = house_add(by=By(ada()), name="Quay flat", units="mm", currency="EUR")
    page = browser(ada()).get(url_of(house))

    assert rules_of(house) == Rules.metric()
    assert page.context["changed"] == []
    assert "Default: 400 mm" in words_of(page)
