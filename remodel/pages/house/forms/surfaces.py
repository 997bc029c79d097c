"""Forms of what happens to one surface, and of its own framing."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms

from remodel.bridge import words
from remodel.bridge.framings import Framing, framing_of, framing_with
from remodel.bridge.lengths import FOOT, INCH, BadValue
from remodel.bridge.let_in import (
    Patch,
    PatchEntered,
    insulation_entered,
    insulation_of,
    patches_entered,
    patches_of,
    read_r_value,
    shown_area,
)
from remodel.house.models import Room, SurfaceChoice
from remodel.pages.house.forms.fields import (
    UNKNOWN,
    LengthsField,
    board_choices,
    board_columns,
    board_value,
    check_paint,
    choose,
    length,
    read_spacing,
    set_spacing,
    spacing_text,
    yes_no,
)
from remodel.pages.rules_words import default_is, rule_now
from remodel.web.fields import CountField, LengthField, TextField
from remodel.web.forms import HouseForm, RowForm

__all__ = ["MemberForm", "PatchForm", "SurfaceForm"]

_HOUSE = "house"
_ROOM = "room"
_RUNS: words.Choices = [
    (UNKNOWN, "I don't know yet"),
    ("across", "Upright in the drawing, as studs stand"),
    ("along", "Level in the drawing, as furring lies"),
]


class SurfaceForm(HouseForm):
    """What is chosen for a wall or ceiling plane, and what stands behind it."""

    action = choose(words.ACTIONS, label="What happens to it")
    lining = LengthField(
        most=INCH * 6,
        required=False,
        label="Old lining, how thick",
        help_text="",
        example=int(INCH // 2),
    )
    old_lining = choose(
        [(UNKNOWN, "I don't know yet"), *words.OLD_LININGS],
        required=False,
        label="The old lining is",
        initial=UNKNOWN,
        help_text="Says what tearing it out weighs",
    )
    board = forms.ChoiceField(required=False, label="Board")
    layers = choose(
        [("1", "One layer"), ("2", "Two layers, their joints apart")],
        required=False,
        label="New board",
        initial="1",
    )
    orientation = choose(words.ORIENTATIONS, label="Boards run")
    joint_mode = choose(words.JOINT_MODES, label="Butt seams")
    wet = forms.BooleanField(required=False, label="Wet area (tub or shower)")
    tiled = forms.BooleanField(required=False, label="It is tiled")
    above = choose(
        [(UNKNOWN, "I don't know yet"), *words.ABOVE],
        required=False,
        label="Above it is",
        initial=UNKNOWN,
    )
    insulated = choose(
        yes_no(),
        required=False,
        label="Does insulation lie on the board?",
        initial=UNKNOWN,
        help_text="Until you say, a ceiling counts as if it did, unless there is a room above",
    )
    r_value = TextField(
        required=False,
        max_length=20,
        label="R-value of batts you put in",
        help_text="Your climate and local code say which. Empty where nothing goes in",
    )
    batt_area = forms.DecimalField(
        required=False, max_digits=8, decimal_places=2, label="Area they fill"
    )
    retarder = forms.BooleanField(
        required=False,
        label="A sheet against vapor goes over them",
        help_text="Whether one is wanted, and on which side, depends on your climate",
    )
    braces = forms.BooleanField(
        required=False,
        label="The board here braces the structure",
        help_text="A ceiling is then boarded across its joists, and its perimeter is blocked",
    )
    rated = TextField(
        required=False,
        label="Rated for fire or sound: which assembly",
        example="one-hour wall, as named on the permit drawing",
    )
    paint_color = TextField(
        required=False,
        max_length=80,
        label="A color of its own",
        help_text="The name on the can or the chip. Empty takes the room's color",
    )
    paint_sheen = choose(
        [("", "As the room"), *words.SHEENS], required=False, label="Sheen of that color"
    )
    most_load = forms.DecimalField(
        required=False,
        max_digits=6,
        decimal_places=2,
        label="The most its board may weigh",
        widget=forms.TextInput(attrs={"class": "short", "inputmode": "decimal"}),
    )
    spacing = choose([], label="Studs or joists, center to center")
    spacing_other = length(
        most=4 * FOOT, least=4 * INCH, required=False, label="The other spacing", example=19 * INCH
    )
    first = LengthField(
        most=100 * FOOT,
        required=False,
        label="First stud or joist, its center, from the left or lower end",
        example=int(INCH * 3 // 4),
    )
    runs = choose(_RUNS, label="Studs or joists run", initial=UNKNOWN)
    substrate = choose(words.SUBSTRATES, label="Studs or joists are of", initial="wood")
    extra = LengthsField(required=False, label="Extra studs or joists: where is each center?")
    missing = LengthsField(required=False, label="Missing studs or joists: where should each be?")
    start_backed = choose(
        yes_no(),
        label="At the left or lower end, is there something to screw the board to?",
        initial=UNKNOWN,
    )
    end_backed = choose(yes_no(), label="And at the other end?", initial=UNKNOWN)
    framing_names = (
        *("spacing", "spacing_other", "first", "runs", "substrate", "extra", "missing"),
        *("start_backed", "end_backed"),
    )

    def __init__(
        self, *args: Any, room: Room, is_wall: bool, row: SurfaceChoice | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.row = row or SurfaceChoice()
        boards = board_choices(room.house)
        value = board_value(self.row, "board")
        choices = boards if not value or value in dict(boards) else [(value, value), *boards]
        self._inherit(room, "wall_board" if is_wall else "ceiling_board", choices)
        for name in ("extra", "missing"):
            field = self.fields[name]
            assert isinstance(field, LengthsField)
            field.units = self.units
            example = "30 in, 61 1/2 in" if self.units != "mm" else "760, 1560"
            field.help_text = f"Centers with commas between, for example {example}"
        inherited = framing_of(room.wall_framing if is_wall else room.ceiling_framing)
        self._ask_of_insulation(is_wall)
        own = framing_of(self.row.framing) if self.row.framing else None
        same = "As the room: " + (
            spacing_text(int(inherited.spacing), self.units)
            if inherited.spacing
            else "not known yet"
        )
        set_spacing(self, "spacing", first=[(_ROOM, same)], spacing=own.spacing if own else None)
        if own is not None and own.spacing is None:
            self.initial["spacing"] = UNKNOWN
        self._inherited = (
            (room.wall_framing if is_wall else room.ceiling_framing)
            if own is None
            else self.row.framing
        )
        self.initial.update(self._initial(own or inherited, board=value))

    def _ask_of_insulation(self, is_wall: bool) -> None:
        """Ask in the house's units, and of a ceiling alone what is above it."""
        if is_wall:
            del self.fields["above"], self.fields["insulated"]
        metric = self.units == "mm"
        self.fields["batt_area"].help_text = (
            "Between studs or joists, in square meters. For example, 8.5"
            if metric
            else "Between studs or joists, in square feet. For example, 92"
        )
        load = self.fields["most_load"]
        unit, example = ("kilograms per square meter", "25") if metric else ("lb per sq ft", "5")
        load.help_text = (
            f"In {unit}, as an engineer or the maker of the trusses said. Empty if nobody did"
        )
        load.error_messages["invalid"] = (
            f'"{load.label}" could not be read. Enter a number, for example {example}'
        )
        if metric:
            self.fields["r_value"].label = "RSI of batts you put in"
        self.fields["batt_area"].widget.attrs["inputmode"] = "decimal"
        self.fields["batt_area"].error_messages["invalid"] = (
            f'"Area they fill" could not be read. Enter a number, for example '
            f"{'8.5' if metric else '92'}"
        )

    def clean_most_load(self) -> Decimal | None:
        load: Decimal | None = self.cleaned_data["most_load"]
        if load is not None and not 0 < load <= 500:
            raise forms.ValidationError(
                f'"{self.fields["most_load"].label}" must be more than zero and at most 500, for '
                f"example {'25' if self.units == 'mm' else '5'}"
            )
        if load is not None and self.row.most_load == load:
            return self.row.most_load
        return load

    def clean_r_value(self) -> Decimal | None:
        """The R-value as batts of it are sold."""
        typed = self.cleaned_data["r_value"]
        try:
            return read_r_value(typed, self.units) if typed else None
        except BadValue as error:
            label = self.fields["r_value"].label
            raise forms.ValidationError(f'"{label}": {error}') from None

    def clean_batt_area(self) -> Decimal | None:
        area: Decimal | None = self.cleaned_data["batt_area"]
        if area is not None and area <= 0:
            raise forms.ValidationError(
                f'"Area they fill" must be more than zero. {self.fields["batt_area"].help_text}'
            )
        return area

    def _inherit(self, room: Room, board: str, boards: words.Choices) -> None:
        """Have each choice that may be left to the room or the house say what that is now."""
        house = room.house
        own = board_value(room, board)
        usual = (
            f"As the room: {dict(boards).get(own, own)}"
            if own
            else f"House default: {rule_now(house, board)}"
        )
        self.fields["board"].choices = [("", usual), *boards]  # type: ignore[attr-defined]
        if not own:
            self.fields["board"].help_text = default_is(house, board)
        for name, choices in (
            ("orientation", words.ORIENTATIONS),
            ("joint_mode", words.JOINT_MODES),
        ):
            first = (_HOUSE, f"House default: {rule_now(house, name)}")
            self.fields[name].choices = [first, *choices]  # type: ignore[attr-defined]
            self.fields[name].help_text = default_is(house, name)

    def _initial(self, framing: Framing, *, board: str) -> dict[str, Any]:
        row = self.row
        batts = insulation_of(row.insulation)
        return {
            "above": row.above or UNKNOWN,
            "insulated": {None: UNKNOWN, True: "yes", False: "no"}[row.insulated],
            "r_value": str(batts.r) if batts else "",
            "batt_area": shown_area(batts, self.units) if batts else None,
            "retarder": batts is not None and batts.retarder,
            "action": row.action or "board",
            "lining": row.lining,
            "old_lining": row.old_lining or UNKNOWN,
            "layers": str(row.layers),
            "board": board,
            "orientation": row.orientation or _HOUSE,
            "joint_mode": row.joint_mode or _HOUSE,
            "wet": row.wet,
            "tiled": row.tiled,
            "braces": row.braces,
            "rated": row.rated,
            "paint_color": row.paint_color,
            "paint_sheen": row.paint_sheen,
            "most_load": None if row.most_load is None else row.most_load.normalize(),
            "first": int(framing.first) or None,
            "runs": framing.runs.value if framing.runs else UNKNOWN,
            "substrate": framing.substrate.value,
            "extra": tuple(int(center) for center in framing.extra),
            "missing": tuple(int(center) for center in framing.missing),
            "start_backed": {None: UNKNOWN, True: "yes", False: "no"}[framing.start_backed],
            "end_backed": {None: UNKNOWN, True: "yes", False: "no"}[framing.end_backed],
        }

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        cleaned["spacing_nm"] = read_spacing(self, "spacing")
        self._check_batts(cleaned)
        check_paint(self, "paint_color", "paint_sheen")
        if cleaned.get("spacing") == _ROOM:
            # the room's framing stands; what is said of members here would be lost, so it is not
            # dropped in silence
            for name in (
                "first",
                "runs",
                "substrate",
                "extra",
                "missing",
                "start_backed",
                "end_backed",
            ):
                if (
                    name in self.changed_data
                    and name not in self.errors
                    and self.row.framing is None
                ):
                    label = self.fields["spacing"].label
                    self.add_error(
                        "spacing",
                        f'"{label}" has no spacing. This surface has studs or joists of its own, '
                        "so choose a spacing or I don't know",
                    )
                    break
        return cleaned

    def _check_batts(self, cleaned: dict[str, Any]) -> None:
        """An R-value goes with an area, and both with a sheet over them."""
        r, area = cleaned.get("r_value"), cleaned.get("batt_area")
        if self.errors.keys() & {"r_value", "batt_area"}:
            return
        if (r is None) != (area is None):
            name = "r_value" if r is None else "batt_area"
            self.add_error(name, f'"{self.fields[name].label}" is empty. Enter it, or empty both')
        elif r is None and cleaned.get("retarder"):
            self.add_error(
                "retarder",
                f'"{self.fields["retarder"].label}" goes with batts. Enter them and the area they '
                "fill, or take it off",
            )

    def columns(
        self, members: list[tuple[int, int, str]], patches: list[PatchEntered]
    ) -> dict[str, Any]:
        """The columns of the choice. `members` are those out of line, as (center, out by,
        remedy)."""
        cleaned = self.cleaned_data
        columns = {
            name: cleaned[name]
            for name in (
                "action",
                "lining",
                "orientation",
                "joint_mode",
                "wet",
                "tiled",
                "braces",
                "rated",
                "paint_color",
                "paint_sheen",
                "most_load",
            )
        }
        columns["insulation"] = insulation_entered(
            cleaned["r_value"],
            cleaned["batt_area"],
            retarder=cleaned["retarder"],
            units=self.units,
        )
        columns["patches"] = patches_entered(patches)
        columns["layers"] = int(cleaned["layers"] or 1)
        columns["old_lining"] = cleaned["old_lining"].replace(UNKNOWN, "")
        if "above" in cleaned:
            columns["above"] = cleaned["above"].replace(UNKNOWN, "")
            columns["insulated"] = {"yes": True, "no": False}.get(cleaned["insulated"])
        for name in ("orientation", "joint_mode"):
            columns[name] = "" if columns[name] == _HOUSE else columns[name]
        columns |= board_columns(self.row, "board", cleaned["board"])
        backed = {"yes": True, "no": False}
        columns["framing"] = None
        if cleaned["spacing"] != _ROOM or members:
            own = cleaned["spacing"] != _ROOM
            spacing = cleaned["spacing_nm"] if own else framing_of(self._inherited).spacing
            columns["framing"] = framing_with(
                self._inherited,
                spacing=spacing,
                first=cleaned["first"] or 0,
                runs=None if cleaned["runs"] == UNKNOWN else cleaned["runs"],
                substrate=cleaned["substrate"],
                extra=cleaned["extra"],
                missing=cleaned["missing"],
                start_backed=backed.get(cleaned["start_backed"]),
                end_backed=backed.get(cleaned["end_backed"]),
                uneven=members,
            )
        return columns

    @property
    def patches(self) -> tuple[Patch, ...]:
        """The patches that are stored now."""
        return patches_of(self.row.patches)

    @property
    def uneven(self) -> list[tuple[int, int, str]]:
        """The members out of line that are stored now."""
        return [
            (int(member.at), int(member.out_by), member.remedy.value)
            for member in framing_of(self._inherited).uneven
        ]


class PatchForm(RowForm):
    """One size of patch. An empty row is no patch."""

    width = length(most=100 * FOOT, required=False, label="Width", example=16 * INCH)
    height = length(most=100 * FOOT, required=False, label="Height", example=12 * INCH)
    count = CountField(least=1, most=500, required=False, label="How many", example=1)
    held = forms.ChoiceField(choices=words.PATCH_HELD, label="Held by", initial="strips")
    thickness = length(
        most=FOOT,
        required=False,
        label="Thickness round it",
        help_text="Of the old board or plaster; empty takes the old lining",
        example=int(7 * INCH // 8),
    )

    def __init__(
        self, *args: Any, number: int = 1, kept: Patch | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        for name in ("width", "height", "count", "held", "thickness"):
            label = str(self.fields[name].label)
            self.fields[name].label = f"Patch {number}, {label[:1].lower()}{label[1:]}"
        if kept is not None:
            self.initial.update(
                {
                    "width": int(kept.width),
                    "height": int(kept.height),
                    "count": kept.count,
                    "held": kept.held.value,
                    "thickness": None if kept.thickness is None else int(kept.thickness),
                }
            )

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        width, height = cleaned.get("width"), cleaned.get("height")
        if (width is None) != (height is None) and not self.errors:
            name = "width" if width is None else "height"
            self.add_error(name, f'"{self.fields[name].label}" is empty. Enter it, or empty both')
        return cleaned

    @property
    def entered(self) -> PatchEntered | None:
        cleaned = self.cleaned_data
        if cleaned.get("width") is None or cleaned.get("height") is None:
            return None
        return PatchEntered(
            width=cleaned["width"],
            height=cleaned["height"],
            count=cleaned.get("count") or 1,
            held=cleaned["held"],
            thickness=cleaned.get("thickness"),
        )


class MemberForm(RowForm):
    """One member out of line. An empty row is no member."""

    at = LengthField(
        most=500 * FOOT,
        required=False,
        label="Its center",
        example=int(48 * INCH + 3 * INCH // 4),
    )
    out_by = length(most=FOOT, required=False, label="Back by", example=int(INCH * 3 // 16))
    remedy = forms.ChoiceField(choices=words.REMEDIES, label="Brought forward with", initial="shim")

    def __init__(
        self, *args: Any, number: int = 1, kept: tuple[int, int, str] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["at"].label = f"Member {number}, its center"
        self.fields["out_by"].label = f"Member {number}, back by"
        self.fields["remedy"].label = f"Member {number}, brought forward with"
        if kept is not None:
            self.initial.update({"at": kept[0], "out_by": kept[1], "remedy": kept[2]})

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        at, out_by = cleaned.get("at"), cleaned.get("out_by")
        if (at is None) != (out_by is None) and not self.errors:
            name = "at" if at is None else "out_by"
            self.add_error(name, f'"{self.fields[name].label}" is empty. Enter it, or empty both')
        return cleaned

    @property
    def member(self) -> tuple[int, int, str] | None:
        cleaned = self.cleaned_data
        if cleaned.get("at") is None or not cleaned.get("out_by"):
            return None
        return cleaned["at"], cleaned["out_by"], cleaned["remedy"]
