"""The rules of a house as a person reads and changes them: names, reasons, where each comes from.

Values go in and out as forms have them: lengths in whole nanometers, money in whole cents, words as
the engine spells them.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from remodel.bridge import words
from remodel.bridge.reasons import FigureShown, figure_shown, number_text
from remodel.bridge.records import Rules
from takeoff.reference import figures

__all__ = [
    "GROUPS",
    "HouseRule",
    "RuleGroup",
    "changes_of",
    "default_rules",
    "every_rule",
    "source_of",
    "value_of",
]

MINUTES = "minutes"
_OWN_PRICE = "A starting value; enter your own"
_OWN_CHOICE = "A choice of yours"
_LABEL = "No default: it is on a label"
_PRACTICE = "Common practice, no published source"


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseRule:
    """One rule. `name` is its name in a house file, with `minutes-` before those of the minutes.

    `kind` says how it is typed: length (`longest` may be empty), lengths, money, minutes, pounds,
    coverage, choice, yes, board. `empty` is what one says that may be empty and is. `figure` is the
    trade figure its default is read from; with `high` it is that figure's high end. Where there is
    none, `status` says what the default is. `each` ends the label of a number: what it is for.
    """

    name: str
    title: str
    kind: str
    why: str
    figure: str = ""
    high: bool = False
    status: str = ""
    each: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    least: int = 0
    empty: str = "No limit"

    @property
    def column(self) -> str:
        """The rule's name in a house file; all minutes are one rule there."""
        return MINUTES if self.part else self.name

    @property
    def part(self) -> str:
        """Which of the minutes it is; empty for a rule that stands by itself."""
        group, _, part = self.name.partition("-")
        return part if group == MINUTES else ""

    def in_units(self, units: str) -> HouseRule:
        """The rule in the words of a house that measures in `units`. What is counted by the foot is
        told by as much of a meter, so that its number is the same."""
        if units == "in":
            return self
        return replace(
            self, title=_metric(self.title), why=_metric(self.why), each=_metric(self.each)
        )


# A foot is 304.8 mm and a square foot 0.0929 m².
_BY_THE_FOOT = (
    (r"\ba square foot\b", "0.093 m²"),
    (r"\ba foot\b", "305 mm"),
    (r"\ba pound \(kilogram\)", "a kilogram"),
)
_LENGTH = re.compile(r"(\d+/\d+|\d+) (in|ft)\b(?! the)")


def _metric(text: str) -> str:
    for pattern, words_ in _BY_THE_FOOT:
        text = re.sub(pattern, words_, text)
    inch = {"in": Fraction("25.4"), "ft": Fraction("304.8")}
    return _LENGTH.sub(lambda told: f"{round(Fraction(told[1]) * inch[told[2]])} mm", text)


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleGroup:
    """Rules that are read together. `intro` says once what holds for all of them."""

    key: str
    title: str
    rules: tuple[HouseRule, ...]
    intro: str = ""


def _minutes(part: str, figure: str, title: str = "", why: str = "") -> HouseRule:
    entry = figures.figure(figure)
    each = {"min per ft": "minutes for a foot", "min per sq ft": "minutes for a square foot"}
    return HouseRule(
        name=f"{MINUTES}-{part}",
        title=title or entry.what,
        kind="minutes",
        why=why or (f"{entry.reason[:1].upper()}{entry.reason[1:]}." if entry.reason else ""),
        figure=figure,
        each=each.get(entry.unit, "minutes"),
    )


_MONEY = (
    HouseRule(
        name="hour",
        title="What an hour of your work is worth",
        kind="money",
        why="Plans weigh fewer pieces and seams against the price of sheets by it. With 0, only "
        "what you pay counts.",
        status=_OWN_PRICE,
    ),
    HouseRule(
        name="seam_price",
        title="Extra price of a foot of butt seam",
        kind="money",
        why="Keeps butt seams away beyond the hours they take. Usually 0 where an hour is worth "
        "something.",
        status=_OWN_PRICE,
    ),
    HouseRule(
        name="backer_price",
        title="Price of one seam backer",
        kind="money",
        why="A floating butt seam needs one behind every 4 ft of it.",
        status=_OWN_PRICE,
    ),
    HouseRule(
        name="shim_price",
        title="Price of one shim of a seam backer",
        kind="money",
        why="Each backer takes two: they draw the seam in, so that it finishes flat.",
        status=_OWN_PRICE,
    ),
)
_TIMES = (
    _minutes("piece", "HR-piece"),
    _minutes("short_piece", "HR-short", "Handle a piece under 24 in, extra"),
    _minutes("square_foot", "HR-area"),
    _minutes("crosscut", "HR-crosscut", "Cut a piece to length"),
    _minutes("rip", "HR-rip", "Cut a piece to width"),
    _minutes("thin_rip", "HR-thin-rip", "Cut a strip under 2 in off a piece"),
    _minutes("opening", "HR-opening"),
    _minutes("backer", "HR-backer"),
    _minutes("tapered_foot", "HR-tapered"),
    _minutes("butt_foot", "HR-butt"),
    _minutes("corner_foot", "HR-corner"),
    _minutes("bead_foot", "HR-bead"),
    _minutes("finish_square_foot", "HR-fasteners"),
    _minutes("middle_butt", "HR-middle", "To keep a butt seam out of the middle of a ceiling"),
    _minutes(
        "reentrant_butt",
        "HR-reentrant",
        "To keep a butt seam off a corner that juts into a surface",
    ),
    _minutes(
        "other_face_butt",
        "HR-other-face",
        "To keep a butt seam off a stud with one on the partition's other face",
    ),
)
_JOINTS = (
    HouseRule(
        name="joint_mode",
        title="Where butt seams fall",
        kind="choice",
        why="Model codes ask that board ends land on framing. Ask your local inspector before you "
        "let seams float.",
        choices=tuple(words.JOINT_MODES),
        status=_PRACTICE,
    ),
    HouseRule(
        name="stagger",
        title="Butt seams of neighboring rows apart by at least",
        kind="length",
        why="Seams in one line open as one crack. No plan goes below this.",
        figure="HL-09",
    ),
    HouseRule(
        name="preferred_stagger",
        title="Butt seams of neighboring rows better apart by",
        kind="length",
        why="Closer pairs are allowed, at the price below.",
        figure="HL-09",
        high=True,
    ),
    HouseRule(
        name="preferred_stagger_price",
        title="Price of a pair of butt seams closer than that",
        kind="money",
        why="With 0, plans do not look for the wider distance.",
        status=_OWN_PRICE,
    ),
    HouseRule(
        name="opening_clearance",
        title="Butt seams off the sides of windows and doors by",
        kind="length",
        why="A seam beside an opening is the first to crack.",
        figure="HL-11",
    ),
    HouseRule(
        name="shortest_piece",
        title="Shortest piece in a row",
        kind="length",
        why="Shorter ones have no field to fasten and crowd two seams.",
        figure="HL-piece",
    ),
    HouseRule(
        name="mid_bay_tolerance",
        title="A floating seam off the middle of its bay by at most",
        kind="length",
        why="Nearer to a stud it can no longer be drawn in.",
        figure="BB-05",
    ),
    HouseRule(
        name="floating_clear_bay",
        title="Clear bay that a seam backer needs",
        kind="length",
        why="A 9 in strip, and room for a hand at each side.",
        figure="BB-clear",
    ),
)
_EDGES = (
    HouseRule(
        name="floor_gap",
        title="Board off the floor by",
        kind="length",
        why="Keeps it dry and leaves room to lever it up. 1/4 in is the least.",
        figure="HL-20",
    ),
    HouseRule(
        name="largest_floor_gap",
        title="Largest gap left at the floor",
        kind="length",
        why="Baseboard covers it. What is higher gets a row of its own.",
        figure="HL-20-largest",
    ),
    HouseRule(
        name="fitting",
        title="Fitting gap at the ends of a row",
        kind="length",
        why="Boards butt lightly and are never forced.",
        figure="HL-fitting",
    ),
    HouseRule(
        name="thickness_deduction",
        title="Take the neighbor's thickness off in corners",
        kind="yes",
        why="The second wall of a corner is shorter by the board that hangs there already.",
        status=_PRACTICE,
    ),
    HouseRule(
        name="kerf",
        title="Lost to a saw cut",
        kind="length",
        why="The width of a circular saw blade. A scored board loses nothing.",
        figure="HL-kerf",
    ),
    HouseRule(
        name="gap_to_prefill",
        title="Gaps wider than this are filled before taping",
        kind="length",
        why="Tape over a hollow sinks. Setting compound goes in first.",
        figure="HL-07",
    ),
    HouseRule(
        name="closing_tolerance",
        title="Walls of a room may miss each other by",
        kind="length",
        why="A tape is off by a little around a room. A larger miss has to be measured again.",
        status=_PRACTICE,
    ),
    HouseRule(
        name="unit_allowance_width",
        title="Rough opening wider than its window or door by",
        kind="length",
        why="Added where you measured the window or door itself.",
        figure="FR-unit-width",
    ),
    HouseRule(
        name="unit_allowance_height",
        title="Rough opening higher than its window or door by",
        kind="length",
        why="Added where you measured the window or door itself.",
        figure="FR-unit-height",
    ),
)
_ROWS = (
    HouseRule(
        name="orientation",
        title="Boards run",
        kind="choice",
        why="Across the framing they are stiffer and leave fewer seams.",
        choices=tuple(words.ORIENTATIONS),
        figure="HL-12",
    ),
    HouseRule(
        name="ceiling_rows",
        title="Rows of a ceiling are counted",
        kind="choice",
        why="The last row is the one that is cut to width.",
        choices=tuple(words.CEILING_ROWS),
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="narrow_strip",
        title="A last row narrower than this is pointed out",
        kind="length",
        why="A 54 in board often saves it.",
        figure="HL-strip",
    ),
    HouseRule(
        name="shared_edge_rip",
        title="Let both outer rows of a ceiling be cut alike",
        kind="yes",
        why="One sheet cut along its length may then serve both sides.",
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="split_at_large_openings",
        title="Let butt seams fall beside wide openings",
        kind="yes",
        why="Saves board beside openings of 48 in and more, where seams crack first.",
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="wall_board",
        title="Board on walls",
        kind="board",
        why="Each room and each surface can say otherwise.",
        status=_PRACTICE,
    ),
    HouseRule(
        name="ceiling_board",
        title="Board on ceilings",
        kind="board",
        why="Each room and each surface can say otherwise.",
        status=_PRACTICE,
    ),
    HouseRule(
        name="widths",
        title="Only sheets of these widths",
        kind="lengths",
        why="Where it is empty, every width on sale may be used.",
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="longest_board",
        title="The longest board that gets in",
        kind="longest",
        why="Through the door, round the corners and up the stairs. Each room can say less.",
        status=_OWN_CHOICE,
        least=2,
    ),
    HouseRule(
        name="heaviest_lift",
        title="The heaviest sheet you lift",
        kind="pounds",
        why="Heavier sheets are in no plan. Each room can say less. Where there is no limit, wide "
        "or long sheets that are hard to lift are pointed out with the plan.",
        status=_OWN_CHOICE,
        least=20,
    ),
    HouseRule(
        name="keep_offcuts",
        title="Keep offcuts for other rooms",
        kind="yes",
        why="A sheet begun in one room is used up in the next. Otherwise it serves one room.",
        status=_OWN_CHOICE,
    ),
)
_FRAMING = (
    HouseRule(
        name="assumed_wall_spacing",
        title="Studs, center to center",
        kind="length",
        why="New rooms start with it. Each room and each wall can say otherwise.",
        figure="FR-wall-spacing",
        least=4,
    ),
    HouseRule(
        name="wall_spacing_known",
        title="Somebody has looked at the studs",
        kind="yes",
        why="Until then new rooms have no spacing, and their plans are provisional.",
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="assumed_ceiling_spacing",
        title="Joists or trusses, center to center, until somebody has looked",
        kind="length",
        why="Plans of such ceilings are provisional.",
        figure="FR-ceiling-spacing",
        least=4,
    ),
    HouseRule(
        name="floating_corners",
        title="Leave inside corners of ceilings unscrewed (floating corners)",
        kind="yes",
        why="The wall's board holds the ceiling's edge, so that it may move with the framing.",
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="adhesive",
        title="Glue board on walls as well as screwing it",
        kind="yes",
        why="Takes fewer screws in the field, and adhesive.",
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="edge_support",
        title="What goes behind an edge that nothing holds",
        kind="choice",
        why="The framing list has it for each such edge.",
        choices=(("nailer", "A nailer"), ("stud", "A stud"), ("clip", "A drywall clip")),
        status=_PRACTICE,
    ),
    HouseRule(
        name="adhesive_screws",
        title="Screws where board is glued, apart",
        kind="longest",
        why="Read it off the adhesive's label. Until then glued board is screwed like any other.",
        status=_LABEL,
        least=4,
        empty="As without adhesive",
    ),
    HouseRule(
        name="texture_coverage",
        title="Area that a pound (kilogram) of ceiling texture covers",
        kind="coverage",
        why="Read it off the bag. Until you say, no texture is counted.",
        status=_LABEL,
        each="square feet, or square meters in a house in millimeters",
        empty="Not said",
    ),
    HouseRule(
        name="hand_goods",
        title="Count hand goods: blades, masks, sheeting, bags, and a drywall lift by the day",
        kind="yes",
        why="They join the lists of the phases that take them.",
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="bead",
        title="Corner bead",
        kind="choice",
        why="Metal is nailed through both flanges; paper-faced is bedded in compound.",
        choices=(("metal", "Metal, nailed"), ("paper", "Paper-faced, bedded")),
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="sealant",
        title="Seal board at the plates of walls and round boxes",
        kind="yes",
        why="Against air and sound. Takes acoustical sealant.",
        status=_OWN_CHOICE,
    ),
    HouseRule(
        name="partition_top_plates",
        title="Top plates of a partition",
        kind="choice",
        why="One is enough where nothing bears on it.",
        choices=(("1", "One"), ("2", "Two")),
        figure="FR-03",
    ),
    HouseRule(
        name="partition_slack",
        title="Studs of a partition shorter than its place by",
        kind="length",
        why="So that it tilts up under a finished ceiling without scraping.",
        figure="FR-slack",
    ),
)
GROUPS = (
    RuleGroup(
        key="money",
        title="Hours and money",
        rules=_MONEY,
        intro="What an hour is worth sets how much a plan pays for fewer pieces and seams.",
    ),
    RuleGroup(
        key="minutes",
        title="Minutes of work",
        rules=_TIMES,
        intro="Of one person, on a wall. Overhead all but cuts takes one and a half times as long. "
        "All defaults are common practice with a wide spread, no published source. The last two "
        "are no work: they say what it is worth to keep a butt seam out of a bad place.",
    ),
    RuleGroup(key="joints", title="Joints", rules=_JOINTS),
    RuleGroup(key="edges", title="Edges and gaps", rules=_EDGES),
    RuleGroup(key="rows", title="Rows and sheets", rules=_ROWS),
    RuleGroup(key="framing", title="Framing and fastening", rules=_FRAMING),
)


def every_rule() -> Iterator[HouseRule]:
    for group in GROUPS:
        yield from group.rules


def default_rules(units: str) -> Rules:
    """The rules of a house that says nothing else."""
    return Rules.metric() if units == "mm" else Rules()


def value_of(rules: Rules, rule: HouseRule) -> Any:
    """What a rule is, as a field of a form holds it."""
    value = getattr(rules, rule.column)
    if rule.kind == "minutes":
        return getattr(value, rule.part)
    if rule.kind == "money":
        return round(value * 100)
    if rule.kind in ("length", "longest"):
        return None if value is None else int(value)
    if rule.kind == "lengths":
        return tuple(map(int, value))
    if rule.kind == "choice":
        return str(getattr(value, "value", value))
    if rule.kind == "board":
        return f"{value.kind} {int(value.thickness)}"
    return value


def changes_of(rules: Rules, values: Mapping[str, Any], units: str) -> dict[str, Any]:
    """What to store for some rules that were typed, by their names in a house file. None takes the
    default."""
    changes: dict[str, Any] = {}
    default = default_rules(units)
    for rule in every_rule():
        if rule.name not in values:
            continue
        value = values[rule.name]
        if value is None:
            value = value_of(default, rule)
        if rule.kind == "minutes":
            now = {name: str(getattr(rules.minutes, name)) for name in _parts()}
            changes.setdefault(MINUTES, now)[rule.part] = str(value)
        elif rule.kind == "money":
            changes[rule.name] = f"{Decimal(value) / 100:.2f}"
        elif rule.kind == "pounds":
            changes[rule.name] = None if value is None else Decimal(value)
        elif rule.kind == "board":
            kind, _, thickness = str(value).rpartition(" ")
            changes[rule.name] = {"kind": kind, "thickness": int(thickness), "width": None}
        elif rule.name == "partition_top_plates":
            changes[rule.name] = int(value)
        else:
            changes[rule.name] = value
    return changes


def _parts() -> list[str]:
    return [rule.part for rule in every_rule() if rule.part]


def source_of(rule: HouseRule, units: str = "in") -> str:
    """Where a default comes from and how well it is known, in a sentence without its period. Of
    minutes only their spread: the group says the rest once."""
    figure = figure_shown(rule.figure) if rule.figure else None
    if figure is None:
        return rule.status
    if rule.part:
        return _spread(figure, units)
    said = _PRACTICE if figure.status == "common practice" else _work(figure)
    return f"{said}. {_spread(figure, units)}".removesuffix(". ")


# Sources are named as works. An address says where one was read, which is no name.
_ADDRESS = re.compile(r"(?:,| as told at| at)? ?\b[\w-]+\.(?:com|org|net)\b")


def _work(figure: FigureShown) -> str:
    source = _ADDRESS.sub("", figure.source)
    caution = f" ({figure.caution})" if figure.caution else ""
    return f"{source[:1].upper()}{source[1:]}{caution}"


def _spread(figure: FigureShown, units: str) -> str:
    entry = figures.figure(figure.id)
    if entry.low is None or entry.high is None or entry.low == entry.high:
        return ""
    unit = entry.unit.partition(" per ")[0]
    if unit == "min":
        return f"Usual: {float(entry.low):g} to {float(entry.high):g} min"
    if unit == "in" and units == "mm":
        low, high = (round(value * Fraction("25.4")) for value in (entry.low, entry.high))
        return f"Usual: {low} to {high} mm"
    return f"Usual: {number_text(entry.low)} to {number_text(entry.high)} {unit}"
