"""Estimate and use, as the page shows them: by material over the house, by phase, by room."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from remodel.bridge import lengths
from remodel.bridge.lengths import Amount
from remodel.bridge.words import QUANTITY_PHASES
from remodel.supply.queries import UseLine
from remodel.web.parts import Column, Drawing, Table

__all__ = ["UseTotal", "use_drawing", "use_table", "use_totals"]

_ORDER = {phase: place for place, (phase, _) in enumerate(QUANTITY_PHASES)}
_BAR = 420
_MOST = Fraction(3, 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class UseTotal:
    """One material of one phase, summed over some rooms. `used` includes what was spoiled and what
    ticks used by estimate, which is `about`. None means not known."""

    phase: str
    item: str
    name: str
    estimate: Amount | None
    used: Amount | None
    spoiled: Amount | None
    about: Amount | None = None

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


def use_totals(lines: Iterable[UseLine], names: dict[str, str]) -> list[UseTotal]:
    """The lines summed by phase and material, with phases in the order of work."""
    sums: dict[tuple[str, str], list[Amount | None]] = {}
    for line in lines:
        amounts = sums.setdefault((line.phase, line.item), [None, None, None, None])
        for place, amount in enumerate((line.estimate, line.used, line.spoiled, line.about)):
            before = amounts[place]
            if amount is not None:
                amounts[place] = lengths.add(before, amount) if before is not None else amount
    totals = [
        UseTotal(
            phase=phase,
            item=item,
            name=names.get(item, item),
            estimate=sum_[0],
            used=sum_[1],
            spoiled=sum_[2],
            about=sum_[3],
        )
        for (phase, item), sum_ in sums.items()
    ]
    return sorted(totals, key=lambda total: (_ORDER.get(total.phase, 99), total.phase, total.name))


def use_table(
    totals: Iterable[UseTotal],
    *,
    id: str,  # noqa: A002
    caption: str,
    units: str,
    phases: Mapping[str, str] | None = None,
) -> Table:
    """A table of estimate, use, spoiled amounts and the difference, row by row. `phases` are the
    names of phases by key, where each row says its own."""
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
            _shown(total.estimate, units, none="None ordered"),
            _used(total, units),
            _by_ticks(total, units),
            _shown(total.spoiled, units, none=""),
            _against(total, units),
        ]
        for total in totals
    ]
    return Table(id=id, caption=caption, columns=columns, rows=rows)


def _shown(amount: Amount | None, units: str, *, none: str) -> str:
    return _words(amount, units) if amount is not None and amount.value else none


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


def _against(total: UseTotal, units: str) -> str:
    if total.estimate is None or total.used is None or total.share is None:
        return "–"
    gap = lengths.subtract(total.used, total.estimate)
    if not gap.value:
        return "As estimated"
    size = _words(Amount(abs(gap.value), gap.unit), units)
    percent = round(abs(total.share - 1) * 100)
    return f"{size} {'more' if gap.value > 0 else 'not used yet'} ({percent}%)"


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
        "the hatched end what was spoiled.</desc>"
        '<defs><pattern id="use-spoiled" width="6" height="6" patternUnits="userSpaceOnUse">'
        '<path class="measure" d="M0 6 L6 0" fill="none" stroke="#000"/></pattern></defs>{}</svg>',
        height,
        rows,
    )
    return Drawing(
        id="use-drawing",
        caption="Each box is the estimate, frozen when the order was placed; the filled part is "
        "what was used so far, "
        "its hatched end what was spoiled.",
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
        '<rect x="{from_}" y="{bar}" width="{spoiled}" height="20" fill="url(#use-spoiled)"/>'
        '<rect class="measure" x="0" y="{bar}" width="{whole}" height="20" fill="none" '
        'stroke="#000" stroke-width="2"/>'
        '<text x="{words}" y="{line}" font-size="15">{percent}</text>',
        name=total.name,
        y=top + 14,
        bar=top + 22,
        line=top + 37,
        used=round(drawn * _BAR),
        from_=round((drawn - spoiled) * _BAR),
        spoiled=round(spoiled * _BAR),
        whole=_BAR,
        words=max(_BAR, round(drawn * _BAR)) + 10,
        percent=f"{round(share * 100)} %",
    )
