"""Forms of a room: measured in one line or wall by wall, with its ceiling, its framing, its boards
and its finish."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.html import format_html

from remodel.bridge import read_quick_line, words
from remodel.bridge.framings import framing_of, framing_with
from remodel.bridge.lengths import FOOT, INCH, LengthError
from remodel.bridge.records import rules_of
from remodel.house.marks import CODE_LABEL, is_fixed
from remodel.house.models import Room, Wall
from remodel.pages.house.forms.fields import (
    OTHER,
    UNKNOWN,
    board_choices,
    board_columns,
    board_value,
    check_paint,
    choose,
    length,
    read_spacing,
    set_spacing,
    wall_choices,
    yes_no,
)
from remodel.pages.rules_words import default_is, house_default, rule_link, rule_now
from remodel.web.fields import CountField, LengthField, LiftField, TextField
from remodel.web.forms import HouseForm, RowForm

__all__ = [
    "RoomBoardsForm",
    "RoomForm",
    "RoomFramingForm",
    "RoomLineForm",
    "RoomWalkForm",
    "WallForm",
    "walk_of",
]

_LINE = {"in": "12' 6\" x 10' 2\" x 8'", "mm": "3810 x 3100 x 2400"}
_SHEENS: words.Choices = [("", "No color said"), *words.SHEENS]
_JOISTS: words.Choices = [
    (UNKNOWN, "I don't know yet"),
    ("along", "The way wall A runs"),
    ("across", "Across, away from wall A"),
]
_MEASURED: words.Choices = [
    ("framing", "Bare framing"),
    ("finished", "Finished faces, old board or plaster"),
]


class LineInput(forms.TextInput):
    """A text box for a whole room in one line. It shows how each of the three lengths was
    understood."""

    template_name = "web/forms/room_line.html"
    units = "in"

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        context["widget"]["units"] = self.units
        return context


class RoomStartForm(HouseForm):
    """The questions for every new room, however it is measured. `like` is the room measured before
    it, whose answers are offered again."""

    name = TextField(label="Room", example="Kitchen")
    measured_to = choose(_MEASURED, label="You measured to", initial="framing")
    studs = choose(
        [],
        label="Studs, center to center",
        help_text="Not known yet? The plan is then marked provisional",
    )
    studs_other = length(
        most=4 * FOOT,
        least=4 * INCH,
        required=False,
        label="The other stud spacing",
        example=19 * INCH,
    )
    joists_run = choose(_JOISTS, label="The ceiling joists run", initial=UNKNOWN)
    joists = choose([], label="Joists, center to center")
    joists_other = length(
        most=4 * FOOT,
        least=4 * INCH,
        required=False,
        label="The other joist spacing",
        example=19 * INCH,
    )
    finished = forms.BooleanField(
        label="This room is finished already",
        required=False,
        help_text="It is kept for the record and for what stands beside it; nothing is bought for "
        "it",
    )

    def __init__(
        self, *args: Any, like: Room | None = None, studs: int | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        wall, ceiling = (
            framing_of(getattr(like, name, None)) for name in ("wall_framing", "ceiling_framing")
        )
        if like is not None:
            self.initial.setdefault("measured_to", like.measured_to)
            # Where nobody knows the house's studs, those of one room say nothing of the next.
            studs = wall.spacing if rules_of(like.house).wall_spacing_known else None
        set_spacing(self, "studs", spacing=studs)
        set_spacing(self, "joists", spacing=ceiling.spacing)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for name in ("studs", "joists"):
            cleaned[f"{name}_spacing"] = read_spacing(self, name)
        return cleaned

    def columns(self) -> dict[str, Any]:
        """The columns that both kinds of room share."""
        cleaned = self.cleaned_data
        run = cleaned["joists_run"]
        return {
            "name": cleaned["name"],
            "measured_to": cleaned["measured_to"],
            "wall_framing": framing_with(None, spacing=cleaned["studs_spacing"]),
            "ceiling_framing": framing_with(
                None, spacing=cleaned["joists_spacing"], runs=None if run == UNKNOWN else run
            ),
            "finished": cleaned["finished"],
        }


class RoomLineForm(RoomStartForm):
    """A right-angled room: its name and one line with three lengths."""

    line = TextField(label="Length x width x height", max_length=200, widget=LineInput)
    field_order = ("name", "line")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields[
            "line"
        ].help_text = f"Wall A, then wall B, then floor to ceiling, for example {_LINE[self.units]}"
        widget = self.fields["line"].widget
        assert isinstance(widget, LineInput)
        widget.units = self.units

    def clean_line(self) -> tuple[int, int, int]:
        """Length, width and height in nanometers."""
        try:
            length, width, height = read_quick_line(self.cleaned_data["line"], self.units)
        except LengthError as error:
            raise forms.ValidationError(str(error)) from None
        return length, width, height

    def columns(self) -> dict[str, Any]:
        length, width, height = self.cleaned_data["line"]
        return super().columns() | {"length": length, "width": width, "ceiling_height": height}


class RoomWalkForm(RoomStartForm):
    """A room walked wall by wall: its name and height. Each wall is a form of its own."""

    ceiling_height = length(
        most=40 * FOOT, least=FOOT, of_room=True, label="Floor to ceiling", example=8 * FOOT
    )
    field_order = ("name", "ceiling_height")

    def __init__(self, *args: Any, like: Room | None = None, **kwargs: Any) -> None:
        super().__init__(*args, like=like, **kwargs)
        self.initial.setdefault("ceiling_height", like.ceiling_height if like else int(8 * FOOT))

    def columns(self) -> dict[str, Any]:
        return super().columns() | {"ceiling_height": self.cleaned_data["ceiling_height"]}


_TURNS: words.Choices = [
    ("90", "Right (inside)"),
    ("-90", "Left (outside)"),
    (OTHER, "Another angle"),
]


class WallForm(RowForm):
    """One wall of a walk: its length, and the turn at its far end. A wall without a length does not
    exist."""

    wall = forms.UUIDField(required=False, widget=forms.HiddenInput)
    length = length(most=500 * FOOT, required=False, of_room=True, label="Length")
    turn = forms.ChoiceField(choices=_TURNS, label="At its far end", initial="90")
    angle = forms.DecimalField(
        required=False,
        label="Angle to the right",
        max_digits=7,
        decimal_places=3,
        widget=forms.TextInput(attrs={"class": "short", "autocomplete": "off"}),
        help_text="In degrees, for example 45; to the left with a minus, for example -45",
    )
    name = TextField(label="Name", required=False)
    field_order = ("length", "turn", "angle", "name")

    def __init__(
        self, *args: Any, letter: str = "A", row: Wall | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.letter = letter
        self.row = row
        self.fields["length"].label = f"Wall {letter}, length"
        # both stand once above the list of walls
        self.fields["length"].help_text = self.fields["name"].help_text = ""
        angle = self.fields["angle"]
        angle.label = f"Wall {letter}, angle to the right"
        angle.error_messages["invalid"] = (
            f'"{angle.label}" is not an angle. Enter degrees, for example 45'
        )
        if row is None:
            return
        square = row.turn in (90, -90)
        self.initial.update(
            {
                "wall": row.pk,
                "length": row.length,
                "turn": str(int(row.turn)) if square else OTHER,
                "angle": None if square else f"{row.turn.normalize():f}",
                "name": "" if row.name == f"Wall {row.key}" else row.name,
            }
        )

    def clean_angle(self) -> Decimal | None:
        angle: Decimal | None = self.cleaned_data["angle"]
        if angle is not None and not (angle.is_finite() and -180 < angle < 180 and angle):
            raise forms.ValidationError(
                "Angle must be between -180 and 180 degrees and not 0, for example 45"
            )
        return angle

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if (
            cleaned.get("turn") == OTHER
            and cleaned.get("angle") is None
            and "angle" not in self.errors
        ):
            self.add_error(
                "angle",
                f'"Wall {self.letter}, angle" is empty. Enter it in degrees, for example 45',
            )
        return cleaned

    @property
    def degrees(self) -> Decimal:
        if self.cleaned_data["turn"] == OTHER:
            return Decimal(self.cleaned_data["angle"])
        return Decimal(self.cleaned_data["turn"])


class RoomForm(HouseForm):
    """A room's name, what its boards are marked with, its size and its ceiling."""

    name = TextField(label="Room", example="Kitchen")
    code = TextField(
        label=CODE_LABEL,
        max_length=3,
        help_text="1 to 3 letters, for example K: the first board of wall A is then K-A1, a "
        "sheet K7",
        error_messages={
            "required": f'"{CODE_LABEL}" is empty. Enter 1 to 3 letters, for example K',
            "max_length": f'"{CODE_LABEL}" is too long. Enter 1 to 3 letters, for example K',
        },
    )
    room_length = length(most=500 * FOOT, of_room=True, label="Length, along wall A")
    room_width = length(most=500 * FOOT, of_room=True, label="Width, along wall B")
    ceiling_kind = choose(words.CEILING_KINDS, label="Ceiling")
    ceiling_height = length(
        most=40 * FOOT, least=FOOT, of_room=True, label="Floor to ceiling", example=8 * FOOT
    )
    ceiling_low_wall = choose(
        [], required=False, label="The low wall", help_text="Where the ceiling slopes or is a gable"
    )
    ceiling_high = length(
        most=60 * FOOT,
        of_room=True,
        required=False,
        label="Floor to the highest point",
        example=int(11 * FOOT + 6 * INCH),
    )
    ceiling_ridge_at = length(
        most=200 * FOOT,
        required=False,
        label="Low wall to the ridge, along the floor",
        example=6 * FOOT,
    )
    ceiling_far_height = length(
        most=40 * FOOT,
        of_room=True,
        required=False,
        label="Height at the far eave",
        example=8 * FOOT,
    )
    ceiling_flat_at = length(
        most=200 * FOOT,
        required=False,
        label="Low wall to the flat part, measured level",
        example=int(4 * FOOT + 6 * INCH),
    )
    ceiling_flat_width = length(
        most=200 * FOOT,
        required=False,
        label="Width of the flat part",
        help_text="Empty where it reaches the far wall",
        example=int(5 * FOOT + 2 * INCH),
    )
    measured_to = choose(_MEASURED, label="You measured to")
    garage = forms.BooleanField(
        label="It is a garage",
        required=False,
        help_text="Its ceiling takes fire-rated board where there is a room to live in above",
    )
    slab = forms.BooleanField(
        label="Its floor is a concrete slab",
        required=False,
        help_text="Partitions then stand on treated plates, anchored in the concrete",
    )
    finished = forms.BooleanField(
        label="This room is finished already", required=False, help_text="Nothing is bought for it"
    )

    def __init__(self, *args: Any, room: Room, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        walls = list(room.walls.all())
        self.sized = room.shape == "quick"
        if self.sized:
            self.initial.update({"room_length": walls[0].length, "room_width": walls[1].length})
        else:
            del self.fields["room_length"], self.fields["room_width"]
        if room.shape not in ("quick", "walls"):
            for name in [field for field in self.fields if field.startswith("ceiling_")] + [
                "measured_to"
            ]:
                del self.fields[name]
        else:
            low = self.fields["ceiling_low_wall"]
            assert isinstance(low, forms.ChoiceField)
            choices = wall_choices(room)
            low.choices = [("", "None, it is flat"), *choices]
            if len(choices) > 5:
                low.widget = forms.Select(choices=low.choices)
        if is_fixed(room):
            code = self.fields["code"]
            code.help_text = "It is on paper or on boards already, so it stays"
            code.widget.attrs["readonly"] = True
        for name in self.fields:
            if hasattr(room, name):
                self.initial.setdefault(name, getattr(room, name))

    def clean_code(self) -> str:
        return str(self.cleaned_data["code"]).upper()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        kind = cleaned.get("ceiling_kind")
        needed = {
            "ceiling_low_wall": "Choose it",
            "ceiling_high": "Enter it, for example 11' 6\"",
            "ceiling_flat_at": "Enter it, for example 4' 6\"",
        }
        if kind in ("slope", "gable", "vault"):
            if kind != "vault":
                del needed["ceiling_flat_at"]
            for name, example in needed.items():
                if not cleaned.get(name) and name not in self.errors:
                    self.add_error(name, f'"{self.fields[name].label}" is empty. {example}')
        return cleaned

    def columns(self) -> dict[str, Any]:
        """The columns to store. Those that the chosen kind of ceiling does not use are emptied."""
        columns = self.values
        kind = columns.get("ceiling_kind")
        if kind == "flat":
            columns |= {"ceiling_low_wall": "", "ceiling_high": None}
        if kind in ("flat", "slope"):
            columns |= {"ceiling_far_height": None}
        if kind in ("flat", "slope", "vault"):
            columns |= {"ceiling_ridge_at": None}
        if kind in ("flat", "slope", "gable"):
            columns |= {"ceiling_flat_at": None, "ceiling_flat_width": None}
        if self.sized:
            columns["length"], columns["width"] = (
                columns.pop("room_length"),
                columns.pop("room_width"),
            )
        return columns


class RoomFramingForm(HouseForm):
    """The framing behind a room's walls and ceiling, for surfaces that have no framing of their
    own."""

    studs = choose([], label="Studs, center to center")
    studs_other = length(
        most=4 * FOOT,
        least=4 * INCH,
        required=False,
        label="The other stud spacing",
        example=19 * INCH,
    )
    first_stud = LengthField(
        most=4 * FOOT,
        required=False,
        label="First stud's center, from the left end of each wall",
        example=int(INCH * 3 // 4),
    )
    joists = choose([], label="Joists, center to center")
    joists_other = length(
        most=4 * FOOT,
        least=4 * INCH,
        required=False,
        label="The other joist spacing",
        example=19 * INCH,
    )
    joists_run = choose(_JOISTS, label="The joists run")
    first_joist = LengthField(
        most=4 * FOOT,
        required=False,
        label="First joist's center, from the wall it runs along",
        example=int(INCH * 3 // 4),
    )
    joist_start = choose(
        yes_no(), label="At that wall, is there something to screw the ceiling board to?"
    )
    joist_end = choose(yes_no(), label="And at the wall across the room?")

    def __init__(self, *args: Any, room: Room, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.room = room
        for name, rule in (("studs", "wall"), ("joists", "ceiling")):
            self.fields[name].help_text = format_html(
                "Until you know, plans assume {} ({}) and are provisional",
                rule_now(room.house, f"assumed_{rule}_spacing"),
                rule_link(room.house, f"assumed_{rule}_spacing"),
            )
        wall, ceiling = framing_of(room.wall_framing), framing_of(room.ceiling_framing)
        set_spacing(self, "studs", spacing=wall.spacing)
        set_spacing(self, "joists", spacing=ceiling.spacing)
        self.initial.update(
            {
                "first_stud": int(wall.first) if room.wall_framing else None,
                "first_joist": int(ceiling.first) if room.ceiling_framing else None,
                "joists_run": ceiling.runs.value if ceiling.runs else UNKNOWN,
                "joist_start": _said(ceiling.start_backed),
                "joist_end": _said(ceiling.end_backed),
            }
        )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        for name in ("studs", "joists"):
            cleaned[f"{name}_spacing"] = read_spacing(self, name)
        return cleaned

    def columns(self) -> dict[str, Any]:
        cleaned = self.cleaned_data
        run = cleaned["joists_run"]
        return {
            "wall_framing": framing_with(
                self.room.wall_framing,
                spacing=cleaned["studs_spacing"],
                first=cleaned["first_stud"] or 0,
            ),
            "ceiling_framing": framing_with(
                self.room.ceiling_framing,
                spacing=cleaned["joists_spacing"],
                first=cleaned["first_joist"] or 0,
                runs=None if run == UNKNOWN else run,
                start_backed=_answer(cleaned["joist_start"]),
                end_backed=_answer(cleaned["joist_end"]),
            ),
        }


def _said(backed: bool | None) -> str:
    return UNKNOWN if backed is None else ("yes" if backed else "no")


def _answer(answer: str) -> bool | None:
    return {"yes": True, "no": False}.get(answer)


_LEVELS: words.Choices = [
    ("0", "0, no taping"),
    ("1", "1, tape bedded: above ceilings, out of sight"),
    ("2", "2, under tile"),
    ("3", "3, under heavy texture"),
    ("4", "4, under flat paint: usual in rooms"),
    ("5", "5, skim coated: gloss, or light along the wall"),
]


class RoomBoardsForm(HouseForm):
    """A room's boards and finish. Empty means the house's own."""

    wall_board = forms.ChoiceField(required=False, label="Board on the walls")
    ceiling_board = forms.ChoiceField(required=False, label="Board on the ceiling")
    longest_board = length(
        most=40 * FOOT,
        least=2 * FOOT,
        required=False,
        label="The longest board that gets into this room",
        example=10 * FOOT,
    )
    heaviest_lift = LiftField(label="The heaviest sheet you lift here")
    wall_level = forms.ChoiceField(choices=_LEVELS, label="Level of finish, walls")
    ceiling_level = forms.ChoiceField(choices=_LEVELS, label="Level of finish, ceiling")
    compound = choose(
        words.COMPOUNDS,
        label="Joint compound",
        help_text="Mesh tape goes with setting compound only",
    )
    tape = choose(words.TAPES, label="Joint tape")
    primer_coats = CountField(most=5, example=1, label="Coats of primer")
    paint_coats = CountField(most=5, example=2, label="Coats of paint")
    wall_paint_color = TextField(
        required=False, max_length=80, label="Color of the walls", example="Harbor Fog"
    )
    wall_paint_sheen = choose(_SHEENS, required=False, label="Sheen of the walls")
    ceiling_paint_color = TextField(
        required=False, max_length=80, label="Color of the ceiling", example="Chalk"
    )
    ceiling_paint_sheen = choose(_SHEENS, required=False, label="Sheen of the ceiling")
    texture = forms.BooleanField(
        required=False,
        label="The ceiling gets a water-based texture",
        help_text="It loads and softens the board while it dries",
    )

    def __init__(self, *args: Any, room: Room, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.room = room
        boards = board_choices(room.house)
        for name in ("wall_board", "ceiling_board"):
            value = board_value(room, name)
            choices = boards if not value or value in dict(boards) else [(value, value), *boards]
            usual = f"House default: {rule_now(room.house, name)}"
            self.fields[name].choices = [("", usual), *choices]  # type: ignore[attr-defined]
            self.fields[name].help_text = default_is(room.house, name)
            self.initial[name] = value
        for name in ("longest_board", "heaviest_lift"):
            field = self.fields[name]
            field.help_text = house_default(room.house, name, str(field.help_text))
        for name in self.fields:
            if hasattr(room, name):
                self.initial.setdefault(name, getattr(room, name))
        self.initial["heaviest_lift"] = room.heaviest_lift

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        check_paint(self, "wall_paint_color", "wall_paint_sheen")
        check_paint(self, "ceiling_paint_color", "ceiling_paint_sheen")
        return cleaned

    def columns(self) -> dict[str, Any]:
        columns = self.values
        for name in ("wall_board", "ceiling_board"):
            columns |= board_columns(self.room, name, columns.pop(name))
        for name in ("wall_level", "ceiling_level"):
            columns[name] = int(columns[name])
        if "heaviest_lift" not in self.changed_data:  # it may be known to less than a pound
            columns["heaviest_lift"] = self.room.heaviest_lift
        return columns


def walk_of(forms_: Sequence[WallForm]) -> list[WallForm]:
    """The walls of valid forms that have a length, in the order walked."""
    return [form for form in forms_ if form.cleaned_data.get("length")]
