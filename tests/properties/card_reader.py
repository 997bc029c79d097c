"""One who knows of a sheet card only its words: cuts each piece from its sheet and turns it.

Nothing here calls the code that made the words; lengths alone are read by the product's grammar,
as a person reads a tape."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from takeoff.units import UnitSystem, parse_length

__all__ = ["Cut", "Words", "cut_from_sheet", "reads"]

Spot = tuple[Fraction, Fraction]
FAR, RIGHT, NEAR, LEFT = "far edge", "right end", "near edge", "left end"
OPPOSITE = {FAR: NEAR, NEAR: FAR, LEFT: RIGHT, RIGHT: LEFT}


@dataclass(frozen=True)
class Words:
    """What a sheet's card says of how it is cut: its size, where it comes from, and its cuts in
    order. `pieces` are the codes, each with its size and whether it lies end for end."""

    size: str
    source: str
    cuts: Sequence[str]
    pieces: dict[str, tuple[str, bool]]
    square_edged: bool = False


@dataclass
class Cut:
    """A rectangle of board as it lies, with how each of its four sides is made."""

    left: Fraction
    near: Fraction
    right: Fraction
    far: Fraction
    made: dict[str, str] = field(default_factory=dict)

    @property
    def long(self) -> Fraction:
        return self.right - self.left

    @property
    def across(self) -> Fraction:
        return self.far - self.near

    def split_at(self, x: Fraction) -> tuple[Cut, Cut]:
        assert self.left < x < self.right, "a cut off the board"
        return (
            Cut(self.left, self.near, x, self.far, {**self.made, RIGHT: "cut edge"}),
            Cut(x, self.near, self.right, self.far, {**self.made, LEFT: "cut edge"}),
        )

    def ripped_at(self, y: Fraction) -> tuple[Cut, Cut]:
        assert self.near < y < self.far, "a rip off the board"
        return (
            Cut(self.left, self.near, self.right, y, {**self.made, FAR: "cut edge"}),
            Cut(self.left, y, self.right, self.far, {**self.made, NEAR: "cut edge"}),
        )

    def turned(self) -> Cut:
        made = {OPPOSITE[side]: how for side, how in self.made.items()}
        return Cut(self.left, self.near, self.right, self.far, made)


def reads(text: str, units: UnitSystem) -> Fraction:
    return Fraction(parse_length(text.strip().replace("\u00a0", " "), unit=units))


def sheet_of(words: Words, units: UnitSystem) -> Cut:
    long, across = (reads(part, units) for part in words.size.split(" x "))
    own = "factory edge" if words.square_edged else "tapered edge"
    new = words.source in ("a new sheet", "a whole sheet that is here")
    end = "factory end" if new else "cut edge"
    edges = {NEAR: own, FAR: own}
    if not new:
        found = re.fullmatch(
            r"from offcut [^,]+, (both long edges its own|both long edges cut|"
            r"its own long edge (near|away from) you)",
            words.source,
        )
        assert found, words.source
        if found[2]:
            edges[FAR if found[2] == "near" else NEAR] = "cut edge"
        elif found[1].endswith("cut"):
            edges = {NEAR: "cut edge", FAR: "cut edge"}
    return Cut(Fraction(0), Fraction(0), long, across, {**edges, LEFT: end, RIGHT: end})


def cut_from_sheet(words: Words, units: UnitSystem) -> dict[str, Cut]:
    """Every piece as it lies to be marked, cut by the words in their order."""
    sheet = sheet_of(words, units)
    rest: Cut | None = sheet
    strips: dict[str, Cut] = {}
    strips_from = Fraction(0)
    found: dict[str, Cut] = {}
    for text in words.cuts:
        text = re.sub(r"[.;] ?[Oo]nly .+", "", text)
        if got := re.fullmatch(
            r"(?:Crosscut|Saw) at (.+) from the left end: (\S+) is (.+) long"
            r"(?:; what is left is (\S+))?",
            text,
        ):
            assert rest is not None
            piece, rest = rest.split_at(reads(got[1], units))
            found[got[2]] = piece
            if got[4]:
                found[got[4]], rest = rest, None
        elif got := re.fullmatch(
            r"Mark (?:the (near|far) strip )?at (.+) from (?:the|its) left end, do not cut: "
            r"(\S+) is (.+) long, and its slope takes the rest off",
            text,
        ):
            board = strips[got[1]] if got[1] else rest
            assert board is not None
            found[got[3]], _ = board.split_at((strips_from if got[1] else 0) + reads(got[2], units))
        elif got := re.fullmatch(
            r"Mark (\S+) (.+) wide on its cut side, the (near|far) one here, do not cut: "
            r"its slopes take the rest off",
            text,
        ):
            found[got[1]] = trimmed(found[got[1]], reads(got[2], units), got[3])
        elif got := re.fullmatch(
            r"(?:Crosscut|Saw) at (.+) from the left end: the part at the left(?: \(offcut \S+\))? "
            r"stays whole; the rest, (.+) long, is ripped next",
            text,
        ):
            assert rest is not None
            _, rest = rest.split_at(reads(got[1], units))
            assert abs(rest.long - reads(got[2], units)) <= 2 * units_step(units)
        elif got := re.fullmatch(
            r"Rip (the sheet|what is left) lengthwise at (.+) from the near edge: (.+)", text
        ):
            assert rest is not None
            assert (got[1] == "the sheet") == (rest.left == 0)
            near, far = rest.ripped_at(reads(got[2], units))
            strips_from = rest.left
            for part in got[3].split(", "):
                one = re.fullmatch(r"the (near|far) strip is (.+) wide(?: and is (\S+))?", part)
                assert one, text
                strip = near if one[1] == "near" else far
                assert abs(strip.across - reads(one[2], units)) <= units_step(units) * 2
                strips[one[1]] = strip
                if one[3]:
                    found[one[3]] = strip
            rest = None
        elif got := re.fullmatch(
            r"(?:Crosscut|Saw) the (near|far) strip at (.+) from its left end: (\S+) is (.+) long"
            r"(?:; what is left is (\S+))?",
            text,
        ):
            strip = strips[got[1]]
            piece, strips[got[1]] = strip.split_at(strips_from + reads(got[2], units))
            found[got[3]] = piece
            if got[5]:
                found[got[5]] = strips.pop(got[1])
        elif got := re.fullmatch(
            r"Trim (\S+) to (.+) on its cut side, the (near|far) one here", text
        ):
            found[got[1]] = trimmed(found[got[1]], reads(got[2], units), got[3])
        else:
            assert text.startswith("Last, "), text
    if not found and len(words.pieces) == 1:
        found[next(iter(words.pieces))] = sheet
    assert found.keys() == words.pieces.keys(), (words.cuts, found.keys(), words.pieces.keys())
    for code, (size, turned) in words.pieces.items():
        long, across = (reads(part, units) for part in size.split(" x "))
        piece = found[code]
        step = 2 * units_step(units)
        assert abs(piece.long - long) <= step, (code, words)
        assert abs(piece.across - across) <= step, (code, words)
        if turned:
            found[code] = piece.turned()
    return found


def trimmed(piece: Cut, wide: Fraction, side: str) -> Cut:
    where = FAR if side == "far" else NEAR
    assert piece.made[where] == "cut edge"
    if where == FAR:
        return piece.ripped_at(piece.near + wide)[0]
    return piece.ripped_at(piece.far - wide)[1]


def units_step(units: UnitSystem) -> int:
    """A sixteenth of an inch, or a millimeter."""
    return parse_length('1/16"', unit=UnitSystem.INCH) if units is UnitSystem.INCH else 1_000_000
