"""Estimate and use, as the page shows them: by material over the house, by phase, by room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from remodel.bridge import lengths
from remodel.bridge.lengths import FOOT, Amount
from remodel.bridge.supply import sheet_sizes, size_of_sheet
from remodel.bridge.words import QUANTITY_PHASES
from remodel.supply.queries import UseLine
from remodel.web.parts import Column, Drawing, Table
from remodel.work.models import PhaseState

__all__ = [
    "UseTotal",
    "begun_lines",
    "use_drawing",
    "use_table",
    "use_totals",
    "why_it_differs",
]

_ORDER = {phase: place for place, (phase, _) in enumerate(QUANTITY_PHASES)}
_BAR = 420
_REASONS = 3
_MOST = Fraction(3, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class UseTotal:
    """One material of one phase, summed over some rooms. `used` includes what was spoiled and what
    ticks used by estimate, which is `about`. None means not known. Board is summed over its sizes,
    as an area; `sheets` are how many were estimated and used."""

    phase: str
    item: str
    name: str
    estimate: Amount | None
    used: Amount | None
    spoiled: Amount | None
    about: Amount | None = None
    sheets: tuple[Fraction, Fraction] | None = None

    @property
    def share(self) -> Fraction | None:
        """What was used as a share of the estimate; None where there is no estimate."""
        if self.estimate is None or not self.estimate.value:
            return None
        return self._in_unit(self.used) / self.estimate.value

    @property
    def spoiled_share(self) -> Fraction:
        if self.estimate is None or not self.estimate.value:
            return Fraction(0)
        return self._in_unit(self.spoiled) / self.estimate.value

    def _in_unit(self, amount: Amount | None) -> Fraction:
        if amount is None or self.estimate is None:
            return Fraction(0)
        return Fraction(lengths.convert(amount, self.estimate.unit).value)


def begun_lines(
    lines: Iterable[UseLine], states: Mapping[tuple[str, str], str]
) -> tuple[list[UseLine], list[UseLine]]:
    """The lines of work that is done, and those of work under way. Work that nobody began says
    nothing and is left out; use without a job counts as done. `states` are those of phases, by the
    keys of room and phase."""
    done: list[UseLine] = []
    going: list[UseLine] = []
    for line in lines:
        state = states.get((line.room, line.phase))
        if state == PhaseState.DONE or (state is None and line.used is not None):
            done.append(line)
        elif state == PhaseState.IN_PROGRESS or line.used is not None:
            going.append(line)
    return done, going


def use_totals(lines: Iterable[UseLine], names: dict[str, str]) -> list[UseTotal]:
    """The lines summed by phase and material, with phases in the order of work. Sheets of one board
    and thickness are one line."""
    sums: dict[tuple[str, str], list[Amount | None]] = {}
    sheets: dict[tuple[str, str], tuple[Fraction, Fraction]] = {}
    called = dict(names)
    for line in lines:
        item, area = _board_of(line.item)
        key = (line.phase, item)
        if area is not None:
            called.setdefault(item, _board_name(line.item, names))
            estimated, used = sheets.get(key, (Fraction(0), Fraction(0)))
            sheets[key] = (estimated + _count(line.estimate), used + _count(line.used))
        amounts = sums.setdefault(key, [None, None, None, None])
        for place, amount in enumerate((line.estimate, line.used, line.spoiled, line.about)):
            if amount is not None and area is not None:
                amount = Amount(amount.value * area.value, area.unit)
            before = amounts[place]
            if amount is not None:
                amounts[place] = lengths.add(before, amount) if before is not None else amount
    totals = [
        UseTotal(
            phase=phase,
            item=item,
            name=called.get(item, item),
            estimate=sum_[0],
            used=sum_[1],
            spoiled=sum_[2],
            about=sum_[3],
            sheets=sheets.get((phase, item)),
        )
        for (phase, item), sum_ in sums.items()
    ]
    return sorted(totals, key=lambda total: (_ORDER.get(total.phase, 99), total.phase, total.name))


def _board_of(item: str) -> tuple[str, Amount | None]:
    """A sheet's board and thickness as one key, and the area of one; the key of any other item."""
    size = size_of_sheet(item)
    if size is None:
        return item, None
    board, thickness, width, length = size
    area = Amount(Fraction(width * length, FOOT * FOOT), "sq ft")
    return f"{board}|{thickness}", area


def _board_name(item: str, names: Mapping[str, str]) -> str:
    """The name of a sheet without its width and length."""
    size = size_of_sheet(item)
    kind = names.get(item, item).partition(",")[0]
    return f"{kind}, {sheet_sizes(*size[1:])[0]}" if size else kind


def _count(amount: Amount | None) -> Fraction:
    return amount.value if amount is not None else Fraction(0)


def why_it_differs(
    totals: Iterable[UseTotal],
    costs: Mapping[str, tuple[Fraction, str]],
    units: str,
) -> str:
    """The three largest differences of work that is done, by what they cost, in a sentence. Empty
    where nothing that is done was estimated."""
    totals = [total for total in totals if total.share is not None and total.used is not None]
    if not totals:
        return ""
    gaps = [(_gap_cost(total, costs), total) for total in totals]
    gaps = [(cost, total) for cost, total in gaps if total.share != 1]
    gaps.sort(key=lambda gap: (-abs(gap[0]), gap[1].name))
    if not gaps:
        return "What is done took what was estimated."
    said = [_gap_words(total, units) for _, total in gaps[:_REASONS]]
    rest = len(gaps) - len(said)
    tail = f" {rest} more differ{'s' if rest == 1 else ''} by less." if rest else ""
    return f"What made the largest difference in work that is done: {'; '.join(said)}.{tail}"


def _gap_cost(total: UseTotal, costs: Mapping[str, tuple[Fraction, str]]) -> Fraction:
    """What the difference costs, in cents; by its share alone where no price is known."""
    assert total.used is not None
    assert total.estimate is not None
    gap = lengths.subtract(total.used, total.estimate)
    if total.sheets is not None:
        area = sum((_count(total.estimate), _count(total.used)), Fraction(0))
        prices = [
            cost / size[2] / size[3] * FOOT * FOOT
            for item, (cost, _) in costs.items()
            if (size := size_of_sheet(item)) is not None and f"{size[0]}|{size[1]}" == total.item
        ]
        return Fraction(min(prices, default=Fraction(0))) * gap.value if area else Fraction(0)
    cost, unit = costs.get(total.item, (Fraction(0), total.estimate.unit))
    if not lengths.same_kind(gap, Amount(Fraction(1), unit)):
        return Fraction(0)
    return cost * lengths.convert(gap, unit).value


def _gap_words(total: UseTotal, units: str) -> str:
    assert total.used is not None
    assert total.estimate is not None
    gap = lengths.subtract(total.used, total.estimate)
    size = _words(Amount(abs(gap.value), gap.unit), units)
    words = f"{total.name}, {size} {'more' if gap.value > 0 else 'less'} than estimated"
    if total.spoiled is not None and total.spoiled.value and gap.value > 0:
        words += f" ({_words(total.spoiled, units)} wasted)"
    return words


def use_table(
    totals: Iterable[UseTotal],
    *,
    id: str,  # noqa: A002
    caption: str,
    units: str,
    done: bool = True,
    phases: Mapping[str, str] | None = None,
) -> Table:
    """A table of estimate, use, spoiled amounts and the difference, row by row. `phases` are the
    names of phases by key, where each row says its own; `done` says that the work is."""
    columns = [
        Column(title="Material"),
        *([Column(title="Phase")] if phases is not None else []),
        Column(title="Estimate", number=True),
        Column(title="Used", number=True),
        Column(title="Of it by ticks", number=True),
        Column(title="Of it wasted", number=True),
        Column(title="Against the estimate", number=True),
    ]
    rows = [
        [
            total.name,
            *([phases.get(total.phase, total.phase) or "No phase"] if phases is not None else []),
            _with_sheets(total, 0, _shown(total.estimate, units, none="None ordered")),
            _with_sheets(total, 1, _used(total, units)),
            _by_ticks(total, units),
            _shown(total.spoiled, units, none=""),
            _against(total, units, "less" if done else "not used yet"),
        ]
        for total in totals
    ]
    return Table(id=id, caption=caption, columns=columns, rows=rows)


def _shown(amount: Amount | None, units: str, *, none: str) -> str:
    return _words(amount, units) if amount is not None and amount.value else none


def _with_sheets(total: UseTotal, place: int, words: str) -> str:
    """The words with how many sheets that is, where it is board."""
    if total.sheets is None or not total.sheets[place]:
        return words
    sheets = total.sheets[place]
    return f"{_number(sheets)} sheet{'' if sheets == 1 else 's'}, {words}"


def _number(value: Fraction) -> str:
    return f"{float(value):.1f}".removesuffix(".0")


def _used(total: UseTotal, units: str) -> str:
    """What was used; `about` where all of it rests on ticks."""
    if total.about is not None and total.about == total.used:
        return _by_ticks(total, units) or "None yet"
    return _shown(total.used, units, none="None yet")


def _by_ticks(total: UseTotal, units: str) -> str:
    """What ticks used by estimate. Of what is counted, whole pieces."""
    if total.about is None or not total.about.value:
        return ""
    value = total.about.value
    whole = Fraction(ceil(value)) if total.about.unit == "each" else value
    return f"about {_words(Amount(whole, total.about.unit), units)}"


def _words(amount: Amount, units: str) -> str:
    return lengths.shown_amount(amount, units).removesuffix(" each")


def _against(total: UseTotal, units: str, less: str) -> str:
    if total.estimate is None or total.used is None or total.share is None:
        return "–"
    gap = lengths.subtract(total.used, total.estimate)
    if not gap.value:
        return "As estimated"
    size = _words(Amount(abs(gap.value), gap.unit), units)
    percent = round(abs(total.share - 1) * 100)
    return f"{size} {'more' if gap.value > 0 else less} ({percent}%)"


def use_drawing(totals: Iterable[UseTotal], *, units: str) -> Drawing | None:
    """A bar for each material, as long as its estimate; None where nothing that was estimated was
    used."""
    shown = [total for total in totals if total.share is not None and total.used is not None]
    if not shown:
        return None
    rows = format_html_join(
        "\n", "{}", ((_bar(total, place * 56 + 8, units),) for place, total in enumerate(shown))
    )
    height = len(shown) * 56 + 8
    svg = format_html(
        '<svg viewBox="0 0 660 {}" role="img" aria-labelledby="use-drawing-title use-drawing-desc">'
        '<title id="use-drawing-title">What was used, against the estimate</title>'
        '<desc id="use-drawing-desc">A bar for each material; its box is the estimate, the filled '
        "part what was used, "
        "the hatched end what was wasted.</desc>"
        '<defs><pattern id="use-wasted" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<path class="measure" d="M0 6 L6 0" fill="none" stroke="#000"/></pattern></defs>{}</svg>',
        height,
        rows,
    )
    return Drawing(
        id="use-drawing",
        caption="Each box is the estimate, frozen when the order was placed; the filled part is "
        "what was used so far, "
        "its hatched end what was wasted.",
        svg=svg,
    )


def _bar(total: UseTotal, top: int, units: str) -> SafeString:
    share = total.share or Fraction(0)
    drawn = min(max(share, Fraction(0)), _MOST)
    spoiled = min(max(total.spoiled_share, Fraction(0)), drawn)
    return format_html(
        '<text x="0" y="{y}" font-size="15">{name}</text>'
        '<rect class="member" x="0" y="{bar}" width="{used}" height="20" fill="#ddd" '
        'stroke="#000"/>'
        '<rect x="{from_}" y="{bar}" width="{wasted}" height="20" fill="url(#use-wasted)"/>'
        '<rect class="measure" x="0" y="{bar}" width="{whole}" height="20" fill="none" '
        'stroke="#000" stroke-width="2"/>'
        '<text x="{words}" y="{line}" font-size="15">{percent}</text>',
        name=total.name,
        y=top + 14,
        bar=top + 22,
        line=top + 37,
        used=round(drawn * _BAR),
        from_=round((drawn - spoiled) * _BAR),
        wasted=round(spoiled * _BAR),
        whole=_BAR,
        words=max(_BAR, round(drawn * _BAR)) + 10,
        percent=f"{round(share * 100)}%",
    )
