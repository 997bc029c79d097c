"""The sticks of each leg of a planned partition: plates, studs, and what frames its openings;
nonbearing only."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from takeoff.choices import FramedWhen
from takeoff.errors import BadValue, NeedsEngineer
from takeoff.geometry.polygon import length_of
from takeoff.geometry.rooms import PartitionShape
from takeoff.geometry.surface import Point
from takeoff.reference import figures, is_steel, stud_size
from takeoff.rules import Rules
from takeoff.units import Nm, tape_reading

__all__ = ["FramePiece", "PartitionFrame", "Role", "partition_frame", "stud_count"]

Opening = tuple[Nm, Nm, Nm, Nm]  # left, bottom, right, top


class Role(StrEnum):
    """What a stick does in a partition."""

    SOLE_PLATE = "sole plate"
    TOP_PLATE = "top plate"
    STUD = "stud"
    KING = "king stud"
    TRIMMER = "trimmer"
    HEADER = "header"
    SILL = "sill"
    CRIPPLE = "cripple"
    CORNER_STUD = "corner stud"
    TEE_STUD = "tee stud"
    BACKING = "backing"


@dataclass(frozen=True, slots=True, kw_only=True)
class FramePiece:
    """Sticks of one length: what they do, how many there are, the lumber (`2x4`), the finished
    length to cut, and why.

    `figures` are the ids of the trade figures that the count or the length rests on.
    """

    role: Role
    lumber: str
    length: Nm
    count: int
    text: str
    figures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PartitionFrame:
    """The frame of one leg of a partition, by the leg's id: its sticks from the sole plate up, and
    `notes` to read before they are cut."""

    id: str
    name: str
    room: str
    pieces: tuple[FramePiece, ...]
    notes: tuple[str, ...] = ()

    def count(self, role: Role) -> int:
        """How many sticks of `role` there are, of whatever length."""
        return sum(piece.count for piece in self.pieces if piece.role is role)

    def lengths(self, size: str) -> tuple[Nm, ...]:
        """Every stick to cut out of lumber of that size, one by one, in the order of the pieces."""
        return tuple(
            piece.length
            for piece in self.pieces
            if piece.lumber == size
            for _ in range(piece.count)
        )


def stud_count(run: Nm, spacing: Nm) -> int:
    """Return the studs of one straight run of wall: one for each space, the last and narrow space
    too, and one to close the run.

    Corners and openings take more studs; every run of its own has its own last stud. The rule is
    that of *Estimating in Building Construction*, ch. 13 p. 157.

    >>> stud_count(Nm(14 * 12 + 6), Nm(16))
    12
    """
    return -(-run // spacing) + 1


def partition_frame(
    shape: PartitionShape,
    rules: Rules,
    *,
    bearing: bool = False,
    longest: Nm | None = None,
) -> PartitionFrame:
    """Return the sticks of `shape`, role by role from the sole plate up, the longest first in each
    role.

    `longest` is the longest stick one can buy. Plates that are longer come in parts that meet on
    the layout, and the parts of a second top plate meet away from those of the first. A stud is as
    long as the frame is high at the higher of its two faces, less the plates, and less the slack of
    the rules where the partition stands on finished faces. A leg that ends in a corner has the
    studs of the corner too, for the next leg begins against it. An opening takes two kings, two
    trimmers, a header, a sill where it is a window, and cripples for the layout studs it
    interrupts.

    Raises `NeedsEngineer` for a bearing partition, and `BadValue` where an opening or the height
    leaves no room.
    """
    if bearing:
        raise NeedsEngineer(
            f"{shape.name} carries the house: its studs, plates and headers need an engineer, so "
            "no sticks are "
            "counted for it; enter bearing false if nothing rests on it"
        )
    frame = _Frame.of(shape, rules)
    _check_room(frame)
    stick = longest or figures.length("FR-longest-lumber")
    pieces = [
        *_sole_plates(frame, stick),
        *_top_plates(frame, stick),
        *_studs(frame),
        *(piece for opening in frame.openings for piece in _around(frame, opening)),
        *_extra_studs(frame, clips=rules.edge_support == "clip"),
    ]
    return PartitionFrame(
        id=shape.id,
        name=shape.name,
        room=shape.room,
        pieces=_gathered(pieces),
        notes=tuple(_notes(frame)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """The measures that all parts of one frame share. `top` is the outline's upper side from left
    to right. `plate` is the thickness of a plate: the sheet of a steel track has none to speak
    of."""

    shape: PartitionShape
    thick: Nm
    plate: Nm
    half: Nm
    start: Nm
    end: Nm
    floor: Nm
    top: tuple[Point, ...]
    openings: tuple[Opening, ...]
    top_plates: int
    slack: Nm

    @classmethod
    def of(cls, shape: PartitionShape, rules: Rules) -> _Frame:
        corners = shape.outline
        upper = {
            point
            for here, there in zip(corners, corners[1:] + corners[:1], strict=True)
            # the outline is counter-clockwise, so its upper sides run to the left
            if there[0] < here[0]
            for point in (here, there)
        }
        thick = stud_size(shape.stud).thickness
        steel = is_steel(shape.stud)
        slack = rules.partition_slack if shape.framed is FramedWhen.AFTER else Nm(0)
        return cls(
            shape=shape,
            thick=thick,
            plate=Nm(0) if steel else thick,
            half=Nm(thick // 2),
            start=min(u for u, _ in corners),
            end=max(u for u, _ in corners),
            floor=min(v for _, v in corners),
            top=tuple(sorted(upper)),
            openings=tuple(sorted(shape.openings)),
            top_plates=1 if steel else rules.partition_top_plates,
            slack=max(slack, figures.length("FR-steel-short")) if steel else slack,
        )

    @property
    def on_plate(self) -> Nm:
        """The height that studs stand at."""
        return Nm(self.floor + self.plate)

    def under_plates(self, low: Nm, high: Nm) -> tuple[Nm, Nm]:
        """The lowest and the highest place a stud may reach between two places of the run: plates
        and slack off."""
        places = [low, high, *(u for u, _ in self.top if low < u < high)]
        heights = [self._under_plates(place) for place in places]
        return min(heights), max(heights)

    def _under_plates(self, at: Nm) -> Nm:
        thick = self.plate * self.top_plates
        reached = []
        for here, there in zip(self.top, self.top[1:], strict=False):
            if not here[0] <= at <= there[0]:
                continue
            across, up = there[0] - here[0], there[1] - here[1]
            # Plumb, a plate that slopes is thicker than its thickness.
            plumb = round(Fraction(thick * length_of(here, there)) / across)
            reached.append(here[1] + round(Fraction(up * (at - here[0]), across)) - plumb)
        return Nm(min(reached) - self.slack)

    def layout(self) -> list[Nm]:
        """Centres of the studs of the run: one closing each end, the others on the spacing from its
        start."""
        count = stud_count(Nm(self.end - self.start), self.shape.spacing)
        # Where the layout's last stud would overlap the one that closes the run, it stands beside
        # it.
        latest = self.end - self.half - self.thick
        between = (min(self.start + k * self.shape.spacing, latest) for k in range(1, count - 1))
        return [Nm(centre) for centre in (self.start + self.half, *between, self.end - self.half)]

    def stud_length(self, centre: Nm) -> Nm:
        _, highest = self.under_plates(Nm(centre - self.half), Nm(centre + self.half))
        return Nm(highest - self.on_plate)

    def header(self, opening: Opening) -> tuple[int, Nm]:
        """How many sticks the header over `opening` is, and how high it stands; none where there is
        no room."""
        left_edge, _, right_edge, top = opening
        lowest, _ = self.under_plates(left_edge, right_edge)
        flat = right_edge - left_edge <= figures.length("FR-08")
        flat = flat or is_steel(self.shape.stud)
        count, height = (1, self.plate) if flat else (2, stud_size(self.shape.stud).width)
        return (count, height) if top + height <= lowest else (0, Nm(0))

    def shown(self, size: Nm) -> str:
        """A length as sentences about the partition show it."""
        return tape_reading(size, self.shape.units, feet=False)

    def piece(self, role: Role, size: int, text: str, *rests_on: str, count: int = 1) -> FramePiece:
        return FramePiece(
            role=role,
            lumber=self.shape.stud,
            length=Nm(size),
            count=count,
            text=text,
            figures=rests_on,
        )


def _check_room(frame: _Frame) -> None:
    name, beside = frame.shape.name, Nm(2 * frame.thick)
    lowest, _ = frame.under_plates(frame.start, frame.end)
    if lowest <= frame.on_plate:
        raise BadValue(
            f"{name} is too low for a stud between its plates; check the height of its room"
        )
    if frame.end - frame.start < beside:
        raise BadValue(
            f"{name} must be at least {frame.shown(beside)} long, for a stud at either end"
        )
    for left_edge, _, right_edge, top in frame.openings:
        if left_edge - beside < frame.start or right_edge + beside > frame.end:
            raise BadValue(
                f"{name}: an opening from {frame.shown(left_edge)} to {frame.shown(right_edge)} "
                "leaves less "
                "than "
                f"{frame.shown(beside)} at an end of the frame for its king stud and trimmer; keep "
                "it between "
                f"{frame.shown(Nm(frame.start + beside))} and {frame.shown(Nm(frame.end - beside))}"
            )
        if (
            top
            > max(frame.under_plates(left_edge, right_edge))
            + frame.slack
            + frame.plate * frame.top_plates
        ):
            raise BadValue(
                f"{name}: an opening {frame.shown(Nm(top - frame.floor))} high is higher than the "
                "frame"
            )
    for before, after in zip(frame.openings, frame.openings[1:], strict=False):
        if after[0] - before[2] < beside:
            raise BadValue(
                f"{name}: leave at least {frame.shown(beside)} of frame between two openings, for "
                "their studs"
            )


def _sole_plates(frame: _Frame, longest: Nm) -> Iterator[FramePiece]:
    at = frame.start
    doors = [
        (left_edge, right_edge)
        for left_edge, bottom, right_edge, _ in frame.openings
        if bottom < max(frame.on_plate, frame.floor + 1)
    ]
    for left_edge, right_edge in [*doors, (frame.end, frame.end)]:
        for low, high in _parts(frame, at, left_edge, longest, longest):
            yield frame.piece(Role.SOLE_PLATE, high - low, "cut out at doors", "FR-06")
        at = right_edge


def _top_plates(frame: _Frame, longest: Nm) -> Iterator[FramePiece]:
    text = (
        "single: enough where nothing bears on it" if frame.top_plates == 1 else "of a double plate"
    )
    for plate in range(frame.top_plates):
        for here, there in zip(frame.top, frame.top[1:], strict=False):
            across, along = there[0] - here[0], length_of(here, there)
            reach = Nm(int(longest * across / Fraction(along)))
            first = Nm(reach // 2) if plate else reach
            for low, high in _parts(frame, here[0], there[0], first, reach):
                yield frame.piece(
                    Role.TOP_PLATE,
                    round(Fraction(along) * (high - low) / across),
                    text,
                    "FR-03",
                    "FR-05",
                )


def _parts(frame: _Frame, start: Nm, end: Nm, first: Nm, longest: Nm) -> list[tuple[Nm, Nm]]:
    """A plate from `start` to `end` in parts of at most `longest` (the first `first`) that meet on
    layout studs, the last not shorter than two spacings where the one before can spare it."""
    spacing = frame.shape.spacing
    joints = [start]
    reach = first
    while end - joints[-1] > longest:
        on_stud = frame.start + (joints[-1] + reach - frame.start) // spacing * spacing
        joints.append(Nm(on_stud if on_stud > joints[-1] else joints[-1] + reach))
        reach = longest
    if len(joints) > 1 and end - joints[-1] < 2 * spacing and joints[-1] - joints[-2] > 4 * spacing:
        joints[-1] = Nm(joints[-1] - 2 * spacing)
    return [(low, high) for low, high in zip(joints, [*joints[1:], end], strict=True) if low < high]


def _studs(frame: _Frame) -> Iterator[FramePiece]:
    text = f"{frame.shown(frame.shape.spacing)} on center, with one to close the run"
    # a king and a trimmer stand here, so a layout stud has no room
    beside = 2 * frame.thick + frame.half
    for centre in frame.layout():
        if not any(
            left_edge - beside < centre < right_edge + beside
            for left_edge, _, right_edge, _ in frame.openings
        ):
            yield frame.piece(Role.STUD, frame.stud_length(centre), text, "FR-stud-count")


def _around(frame: _Frame, opening: Opening) -> Iterator[FramePiece]:
    left_edge, bottom, right_edge, top = opening
    sticks, height = frame.header(opening)
    for side in (
        Nm(left_edge - frame.thick - frame.half),
        Nm(right_edge + frame.thick + frame.half),
    ):
        yield frame.piece(
            Role.KING, frame.stud_length(side), "one at each side of an opening", "FR-opening"
        )
    for side in (Nm(left_edge - frame.half), Nm(right_edge + frame.half)):
        reach = top - frame.on_plate if sticks else frame.stud_length(side)
        yield frame.piece(
            Role.TRIMMER, reach, "one at each side of an opening, under the header", "FR-opening"
        )
    interrupted = [centre for centre in frame.layout() if left_edge < centre < right_edge]
    if sticks:
        text = "laid flat" if sticks == 1 else "two on edge, over what a flat one may span"
        yield frame.piece(
            Role.HEADER, right_edge - left_edge + 2 * frame.thick, text, "FR-08", count=sticks
        )
        for centre in interrupted:
            rise = frame.stud_length(centre) + frame.on_plate - top - height
            if rise > 0:
                yield frame.piece(
                    Role.CRIPPLE,
                    rise,
                    "over a header, on the layout, to hold the board",
                    "FR-opening",
                )
    if bottom >= frame.on_plate + frame.plate and bottom > frame.floor:
        yield frame.piece(
            Role.SILL,
            right_edge - left_edge,
            "laid flat under a window, between its trimmers",
            "FR-opening",
        )
        for _ in interrupted:
            if bottom - frame.plate > frame.on_plate:
                yield frame.piece(
                    Role.CRIPPLE,
                    bottom - frame.plate - frame.on_plate,
                    "under a sill, on the layout",
                    "FR-opening",
                )


def _extra_studs(frame: _Frame, *, clips: bool) -> Iterator[FramePiece]:
    """Studs at a corner that the leg ends in, and what backs the board at tees: none where clips
    hold it."""
    _, highest = frame.under_plates(frame.start, frame.end)
    full = highest - frame.on_plate
    if frame.shape.corners:
        # The next leg begins with a stud of its own, which is one of those of the corner.
        count = frame.shape.corners * (figures.count("FR-corner-studs") - 1)
        yield frame.piece(
            Role.CORNER_STUD,
            full,
            "more where it turns a corner, so that the board inside the corner has backing",
            "FR-corner-studs",
            count=count,
        )
    if not frame.shape.tees or (clips and frame.shape.framed is FramedWhen.BEFORE):
        return
    if frame.shape.framed is FramedWhen.BEFORE:
        count = frame.shape.tees * figures.count("FR-tee-studs")
        text = (
            f"in {_walls(frame.shape)} where the partition meets it, one for each room's board; "
            "cut to fit between that wall's plates"
        )
        yield frame.piece(Role.TEE_STUD, full, text, "FR-tee-studs", count=count)
    else:
        text = (
            f"blocks between the studs of {_walls(frame.shape)} where the partition meets it, "
            "put in before it is closed"
        )
        yield frame.piece(
            Role.BACKING,
            frame.shape.spacing - frame.thick,
            text,
            "FR-tee-blocks",
            count=frame.shape.tees * figures.count("FR-tee-blocks"),
        )


def _walls(shape: PartitionShape) -> str:
    return " and ".join(shape.tee_walls) or "the wall"


def _notes(frame: _Frame) -> Iterator[str]:
    shape = frame.shape
    limit = figures.by_id().get(f"FR-07-{shape.stud}")
    longest = max(frame.stud_length(centre) for centre in frame.layout())
    if limit is not None and longest > limit.length:
        yield (
            f"{shape.name}: a nonbearing {shape.stud} stud may stand {frame.shown(limit.length)} "
            "without support; "
            f"these are {frame.shown(longest)} ({limit.status.caution})"
        )
    if is_steel(shape.stud):
        yield (
            f"{shape.name}: how high light steel studs may stand is in the table of their maker; "
            f"these are {frame.shown(longest)}"
        )
    if shape.spacing > figures.length("FR-01"):
        yield (
            f"{shape.name}: studs stand more than {frame.shown(figures.length('FR-01'))} apart; "
            "check your local code"
        )
    for opening in frame.openings:
        left_edge, bottom, *_ = opening
        where = f"{shape.name}: the opening at {frame.shown(left_edge)}"
        sticks, _ = frame.header(opening)
        if sticks == 0:
            yield (
                f"{where} leaves no room for a header under the top plate; trimmers run up to "
                "the plate"
            )
        elif sticks > 1:
            yield (
                f"{where} is wider than {frame.shown(figures.length('FR-08'))}, the most for a "
                "flat "
                "header; two on edge are "
                "counted (common practice, no published source): check your local code"
            )
        if frame.floor < bottom < frame.on_plate + frame.plate and bottom != frame.on_plate:
            yield (
                f"{where} begins {frame.shown(Nm(bottom - frame.floor))} up, too low for a sill on "
                "the sole plate"
            )


def _gathered(pieces: Iterable[FramePiece]) -> tuple[FramePiece, ...]:
    """Like pieces as one, role by role from the sole plate up, longest first."""
    counts: Counter[tuple[Role, str, Nm, str, tuple[str, ...]]] = Counter()
    for piece in pieces:
        counts[piece.role, piece.lumber, piece.length, piece.text, piece.figures] += piece.count
    order = list(Role)
    gathered = [
        FramePiece(role=role, lumber=size, length=long, count=count, text=text, figures=rests_on)
        for (role, size, long, text, rests_on), count in counts.items()
    ]
    return tuple(sorted(gathered, key=lambda piece: (order.index(piece.role), -piece.length)))
