"""Forms of what happens to one surface, and of its own framing."""

from __future__ import annotations

from typing import Any

from django import forms

from remodel.bridge import words
from remodel.bridge.framings import Framing, framing_of, framing_with
from remodel.bridge.lengths import FOOT, INCH
from remodel.house.models import Room, SurfaceChoice
from remodel.pages.house.forms.fields import (
    UNKNOWN,
    LengthsField,
    board_choices,
    board_columns,
    board_value,
    choose,
    length,
    read_spacing,
    set_spacing,
    spacing_text,
    yes_no,
)
from remodel.pages.rules_words import default_is, rule_now
from remodel.web.fields import LengthField, TextField
from remodel.web.forms import HouseForm, RowForm

__all__ = ["MemberForm", "SurfaceForm"]

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
    board = forms.ChoiceField(required=False, label="Board")
    orientation = choose(words.ORIENTATIONS, label="Boards run")
    joint_mode = choose(words.JOINT_MODES, label="Butt seams")
    wet = forms.BooleanField(required=False, label="Wet area (tub or shower)")
    tiled = forms.BooleanField(required=False, label="It is tiled")
    insulated = forms.BooleanField(
        required=False, label="Insulation lies on the board", help_text="Matters on ceilings"
    )
    braces = forms.BooleanField(required=False, label="The board here braces the structure")
    rated = TextField(
        required=False,
        label="Rated for fire or sound: which assembly",
        example="one-hour wall, as named on the permit drawing",
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
            field.help_text = f"Centers with commas between, like {example}"
        inherited = framing_of(room.wall_framing if is_wall else room.ceiling_framing)
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
        return {
            "action": row.action or "board",
            "lining": row.lining,
            "board": board,
            "orientation": row.orientation or _HOUSE,
            "joint_mode": row.joint_mode or _HOUSE,
            "wet": row.wet,
            "tiled": row.tiled,
            "insulated": row.insulated,
            "braces": row.braces,
            "rated": row.rated,
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
                        f"{label}: this surface has members of its own, so choose a spacing or I "
                        "don't know",
                    )
                    break
        return cleaned

    def columns(self, members: list[tuple[int, int, str]]) -> dict[str, Any]:
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
                "insulated",
                "braces",
                "rated",
            )
        }
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
    def uneven(self) -> list[tuple[int, int, str]]:
        """The members out of line that are stored now."""
        return [
            (int(member.at), int(member.out_by), member.remedy.value)
            for member in framing_of(self._inherited).uneven
        ]


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
        self, *args: Any, number: int = 1, member: tuple[int, int, str] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["at"].label = f"Member {number}, its center"
        self.fields["out_by"].label = f"Member {number}, back by"
        self.fields["remedy"].label = f"Member {number}, brought forward with"
        if member is not None:
            self.initial.update({"at": member[0], "out_by": member[1], "remedy": member[2]})

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
