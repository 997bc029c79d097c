import datetime
from decimal import Decimal
from fractions import Fraction
from types import SimpleNamespace

import pytest
from django.template import Context, Template
from django.utils import timezone

from remodel.bridge import lengths
from remodel.web.parts import Cell, Column, Drawing, Fact, Table, Task

pytestmark = pytest.mark.usefixtures("sink_site")

INCH = 25_400_000
HOSTILE = "<script>alert(1)</script>\"'"


def drawn(text, **context):
    return Template("{% load halfbay %}" + text).render(Context(context))


def test_a_length_is_shown_on_the_nearest_mark_of_the_tape():
    assert drawn("{{ nm|tape:'in' }}", nm=150 * INCH + INCH // 2) == "12&#x27; 6 1/2&quot;"
    assert drawn("{{ nm|tape:'in' }}", nm=100_000_000) == "3 15/16&quot;"
    assert drawn("{{ nm|tape:'mm' }}", nm=3_810_000_000) == "3810 mm"
    assert drawn("{{ nm|tape }}", nm=None) == "–"


@pytest.mark.parametrize(
    ("cents", "currency", "shown"),
    [
        (123_450, "USD", "$1,234.50"),
        (-5, "EUR", "−€0.05"),
        (700, "CHF", "7.00\u00a0CHF"),
        (None, "USD", "–"),
        (1, "", "$0.01"),
    ],
)
def test_money(cents, currency, shown):
    assert drawn("{{ cents|money:currency }}", cents=cents, currency=currency) == shown


@pytest.mark.parametrize(
    ("value", "unit", "shown"),
    [
        (Fraction(9, 2), "gal", "4.5\u00a0gal"),
        (Fraction(1, 3), "gal", "0.33\u00a0gal"),
        (Decimal("1200"), "sq ft", "1,200\u00a0sq ft"),
        (100, "each", "100"),
        (Fraction(1, 1000), "gal", "under 0.01\u00a0gal"),
        (0, "gal", "0\u00a0gal"),
        (None, "gal", "–"),
    ],
)
def test_bare_amount(value, unit, shown):
    assert drawn("{{ value|amount:unit }}", value=value, unit=unit) == shown


def test_amount_of_the_engine_is_shown_as_the_house_measures():
    value = lengths.amount("9/2", "gal")

    assert drawn("{{ value|amount:'in' }}", value=value) == lengths.shown_amount(value, "in")


def test_moment_is_the_clock_today_and_the_date_before():
    now = timezone.localtime().replace(hour=14, minute=32)
    old = datetime.datetime(2020, 11, 3, 9, 5, tzinfo=datetime.UTC)

    assert ">2:32 PM</time>" in drawn("{{ when|moment }}", when=now)
    with timezone.override("UTC"):
        assert ">Nov 3, 2020, 9:05 AM</time>" in drawn("{{ when|moment }}", when=old)
        assert ">Tue Nov 3, 2020</time>" in drawn("{{ when|day }}", when=old)
    assert "Saved <time" in drawn("{% saved when %}", when=now)


def test_status_is_words_and_an_unknown_one_reads_as_it_is():
    assert ">In progress</strong>" in drawn("{% status 'in_progress' %}")
    assert ">Left alone</strong>" in drawn("{% status 'left_alone' %}")
    assert "&lt;script&gt;" in drawn("{% status 'done' word %}", word=HOSTILE)


def test_finished_is_the_quiet_status():
    assert "status-quiet" in drawn("{% status 'done' %}")


def test_each_change_link_has_a_name_of_its_own():
    html = drawn(
        "{% facts rows %}",
        rows=[
            Fact(term="Height", value="8'", change_url="/a"),
            Fact(term="Boards", value="12'", change_url="/b", about="x"),
        ],
    )

    assert 'Change<span class="unseen"> Height</span>' in html
    assert 'Change<span class="unseen"> x</span>' in html


def test_a_task_is_one_link_with_its_status_and_what_it_waits_for():
    html = drawn(
        "{% task_list tasks %}",
        tasks=[Task(name="Hang", status="blocked", url="/h", waits_for="rough-in")],
    )

    assert html.count("<a ") == 1
    assert "Waits for rough-in" in html
    assert ">Waits</strong>" in html


def test_table_names_rows_and_columns_also_when_stacked():
    table = Table(
        id="t",
        caption="Boards",
        columns=[Column(title="Item"), Column(title="Need", number=True)],
        rows=[["Board", Cell(text="9", url="/why")]],
    )
    html = drawn("{% data_table table %}", table=table)

    assert '<th scope="row" role="rowheader">' in html
    assert '<td role="cell" data-label="Need" class="number">' in html
    assert '<a href="/why">9</a>' in html


def test_wide_table_scrolls_in_a_labelled_box_that_takes_focus():
    table = Table(
        id="t", caption="Pieces", columns=[Column(title="Piece")], rows=[["A1"]], wide=True
    )

    assert '<div class="scroll" role="region" tabindex="0" aria-labelledby="t-caption">' in drawn(
        "{% data_table t %}", t=table
    )


def test_a_row_that_does_not_fit_its_columns_is_refused():
    table = Table(
        id="t", caption="Pieces", columns=[Column(title="Piece")], rows=[["A1", "too many"]]
    )

    with pytest.raises(ValueError, match="argument"):
        drawn("{% data_table t %}", t=table)


def test_text_in_place_of_a_drawing_is_shown_as_text():
    drawing = Drawing(id="d", caption="Wall", svg=HOSTILE)

    assert "<script>" not in drawn("{% drawing drawing %}", drawing=drawing)


@pytest.mark.parametrize(
    "part",
    [
        "{% why bad %}{{ bad }}{% endwhy %}",
        "{% how_this_works %}{{ bad }}{% endhow_this_works %}",
        "{% take_care bad %}{{ bad }}{% endtake_care %}",
        "{% notice bad %}{{ bad }}{% endnotice %}",
        "{% undo_bar bad '/undo' %}",
        "{% empty_state bad '/add' bad %}",
        "{% working bad %}",
        "{% progress 1 2 bad %}",
        "{% facts rows %}{% task_list tasks %}{% data_table table %}",
    ],
)
def test_hostile_names_are_text(part):
    html = drawn(
        part,
        bad=HOSTILE,
        rows=[Fact(term=HOSTILE, value=HOSTILE, note=HOSTILE, change_url="/", about=HOSTILE)],
        tasks=[Task(name=HOSTILE, status=HOSTILE, note=HOSTILE, waits_for=HOSTILE)],
        table=Table(
            id="t",
            caption=HOSTILE,
            columns=[Column(title=HOSTILE)],
            rows=[[HOSTILE]],
            foot=[HOSTILE],
        ),
    )

    assert "<script" not in html
    assert "&lt;script&gt;" in html


def test_places_stand_in_the_same_order_and_mark_where_one_is():
    house = SimpleNamespace(pk="h", name="Hollow Lane")
    html = drawn("{% site_nav %}", house=house, section="orders")
    words = [line.split(">")[-3].split("<")[0] for line in html.splitlines() if "<a " in line]

    assert words == ["House", "Rooms", "Orders", "Log", "Store prices", "Help"]
    assert html.count("aria-current") == 1
    assert 'href="/house/h/orders" aria-current="page"' in html


def test_without_a_house_only_help_is_there():
    assert drawn("{% site_nav %}").count("<a ") == 1


def test_form_is_opened_with_the_address_it_is_sent_to_and_the_part_it_swaps():
    here = drawn("<form {% posts_here %}>", request=SimpleNamespace(path="/a'b"))
    assert here == (
        '<form method="post" action="/a&#x27;b" novalidate hx-post="/a&#x27;b" '
        'hx-target="#body" hx-swap="outerHTML">'
    )
    there = drawn("<form {% posts_to 'house-detail' 5 part='#plans' %}>")
    assert 'action="/house/5"' in there
    assert 'hx-target="#plans"' in there


def test_marks_are_kept_on_one_line_and_nothing_else_is_touched():
    left_alone = (
        "<svg><title>Piece K-A1</title><desc>K-A1</desc><text>K-A1</text></svg>"
        "<summary>Edges of K-A1 as a table</summary>"
        '<a href="/K-A1">Not as planned: <b>K-A1</b> is cut</a>'
        "<abbr>12-6</abbr>"
    )
    page = f'<p id="K-A1">Meets LR-CLA6 and K-A1f, by the T-brace.</p>{left_alone}'
    shown = drawn("{% filter whole_marks %}" + page + "{% endfilter %}")

    assert shown == (
        '<p id="K-A1">Meets <span class="whole">LR-CLA6</span> and '
        f'<span class="whole">K-A1f</span>, by the T-brace.</p>{left_alone}'
    )


def test_a_hostile_name_beside_a_mark_stays_text():
    shown = drawn("{% filter whole_marks %}{{ name }}{% endfilter %}", name=f"K-A1 {HOSTILE}")

    assert "<script>" not in shown
    assert '<span class="whole">K-A1</span>' in shown
