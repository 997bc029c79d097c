"""The page that shows every part of the look."""

import datetime
from types import SimpleNamespace

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.safestring import mark_safe

from remodel.web.fields import CountField, DayField, LengthField, MoneyField, TextField
from remodel.web.forms import HouseForm
from remodel.web.parts import Cell, Column, Difference, Drawing, Fact, Table, Task
from remodel.web.responses import say

INCH = 25_400_000

STUDS = "".join(f'<rect x="{x}" y="20" width="8" height="240"/>' for x in range(20, 600, 71))
BOARDS = "".join(
    f'<rect class="board" fill="#fff" stroke="#000" fill-opacity="0.8" x="{x}" y="{y}" '
    f'width="{width}" height="120"/>'
    f'<text x="{x + 130}" y="{y + 65}" font-size="22">{name}</text>'
    for name, x, y, width in (
        ("A1", 20, 20, 330),
        ("A2", 350, 20, 250),
        ("A3", 20, 140, 240),
        ("A4", 260, 140, 340),
    )
)
SVG = f"""<svg viewBox="0 0 640 300" role="img" aria-labelledby="wall-a-title wall-a-desc">
<title id="wall-a-title">Wall A, board plan</title>
<desc id="wall-a-desc">Two rows of boards, one floating seam.</desc>
<g class="member" fill="#ddd" stroke="#444">{STUDS}</g>{BOARDS}
<rect class="hole" fill="#ccc" stroke="#000" x="510" y="60" width="70" height="110"/>
<path class="seam" stroke="#000" stroke-width="3" d="M350 20v120"/>
<path class="seam-floating" stroke="#000" stroke-dasharray="4 3" stroke-width="3" d="M260 140v120"/>
<path class="measure" fill="none" stroke="#444" d="M20 276h580M20 270v12M600 270v12"/>
<text x="310" y="296" text-anchor="middle" font-size="16">12' 6 1/2"</text></svg>"""


class SinkForm(HouseForm):
    name = TextField(label="Name of the opening", example="Kitchen window", max_length=40)
    width = LengthField(label="Width of the rough opening", least=INCH, most=480 * INCH)
    height = LengthField(
        label="Height of the rough opening",
        least=INCH,
        most=240 * INCH,
        example=50 * INCH,
        required=False,
    )
    wall = forms.ChoiceField(
        label="Wall it is in",
        choices=[("a", "A, the door wall"), ("b", "B"), ("c", "C, facing the door"), ("d", "D")],
        widget=forms.RadioSelect,
        help_text="Clockwise from the door wall, as you stand inside",
    )
    kind = forms.ChoiceField(
        label="Kind", choices=[("window", "Window"), ("door", "Door"), ("cased", "Cased opening")]
    )
    count = CountField(label="How many like it", least=1, most=20, example=2)
    price = MoneyField(label="Price each", required=False)
    when = DayField(label="Day it was framed", required=False)
    carries = forms.BooleanField(label="The wall carries load", required=False)
    note = TextField(label="Note", lines=3, required=False)


def sink(request):
    form = SinkForm(
        request.POST or None,
        units=request.GET.get("units", "in"),
        seen="a.room",
        initial={"width": 150 * INCH + INCH // 2},
    )
    status = 200
    if request.method == "POST":
        if form.is_valid():
            return say(
                HttpResponse('<div id="body"><h1 data-focus>The opening is saved</h1></div>'),
                "Saved 14:32",
            )
        status = 422
    columns = [
        Column(title="Item"),
        Column(title="Need", number=True),
        Column(title="To buy", number=True),
        Column(title="Price", number=True),
    ]
    rows = [
        [
            Cell(text="Gypsum board 1/2 in, 4 x 12 ft", note="tapered edge"),
            "9 boards",
            "9",
            "$171.00",
        ],
        ["Joint compound, all purpose", "3.6 gal", "1 box of 4.5 gal", "$18.48"],
        [Cell(text="Paper tape", url="#"), "212 ft", "1 roll of 250 ft", "$3.98"],
    ]
    context = {
        "house": SimpleNamespace(pk="hollow", name="Hollow Lane", units="in", currency="USD"),
        "section": "rooms",
        "form": form,
        "now": timezone.now(),
        "last_year": timezone.now() - datetime.timedelta(days=400),
        "facts": [
            Fact(
                term="Ceiling height", value="8' 1 1/2\"", change_url="#", note="at the door wall"
            ),
            Fact(term="Ceiling", value="Flat, joists run along wall A", change_url="#"),
            Fact(
                term="Longest board that gets in",
                value="12'",
                change_url="#",
                about="the longest board that gets in",
            ),
        ],
        "tasks": [
            Task(
                name="Frame the closet partition",
                status="ready",
                url="#a",
                note="Before board; 11 studs, 2 plates",
            ),
            Task(name="Rough in the outlets", status="in_progress", url="#b"),
            Task(
                name="Hang board", status="blocked", url="#c", waits_for="rough-in to be signed off"
            ),
            Task(name="Tape and fill", status="not_started", url="#d"),
            Task(name="Strip the old lining", status="done", url="#e"),
        ],
        "table": Table(
            id="supply",
            caption="To buy for hanging and taping",
            columns=columns,
            rows=rows,
            foot=["Together", "", "", "$193.46"],
        ),
        "wide": Table(
            id="pieces",
            caption="Pieces of wall A, as marked on the tape",
            wide=True,
            columns=[
                Column(title=title)
                for title in (
                    "Piece",
                    "Length",
                    "Width",
                    "From left",
                    "Row",
                    "Out of sheet",
                    "Joint at right",
                    "Holes",
                )
            ],
            rows=[
                ["A1", "6' 10 3/8\"", '48"', '0"', "Upper row", "Sheet 1", "On framing", "None"],
                [
                    "A2",
                    "5' 8 1/8\"",
                    '48"',
                    "6' 10 3/8\"",
                    "Upper row",
                    "Sheet 2",
                    "Corner",
                    'Window, 36" x 41 1/2"',
                ],
            ],
        ),
        "drawing": Drawing(
            id="wall-a",
            caption="Wall A from inside. Solid seam on framing, dashed seam floating on a backer.",
            svg=mark_safe(SVG),
            note="9 boards of 12 ft; at best 9, proven.",
            facts=Table(
                id="wall-a-facts",
                caption="Pieces in the drawing",
                caption_hidden=True,
                columns=[
                    Column(title="Piece"),
                    Column(title="Length", number=True),
                    Column(title="Joint"),
                ],
                rows=[
                    ["A1", "6' 10 3/8\"", "On framing"],
                    ["A2", "5' 8 1/8\"", "Corner"],
                    ["A3", "5' 0\"", "Floating"],
                    ["A4", "7' 6 1/2\"", "Corner"],
                ],
            ),
        ),
        "differences": [Difference(label="Sill height", yours='36"', theirs='34 1/2"')],
        "show": request.GET.get("show", ""),
    }
    return render(request, "sink.html" + ("#body" if request.htmx else ""), context, status=status)


def part(request):
    return HttpResponse('<p id="swap">New words</p>')
