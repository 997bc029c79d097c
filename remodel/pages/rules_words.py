"""The rules of a house in words, wherever a page tells of one."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from remodel.bridge import lengths
from remodel.bridge.house_rules import HouseRule, every_rule, value_of
from remodel.bridge.records import Rules, rules_of, rules_with
from remodel.house.models import House
from remodel.web.lengths import show_length
from remodel.web.templatetags.halfbay import money

__all__ = [
    "board_names",
    "default_is",
    "house_default",
    "rule_link",
    "rule_now",
    "rule_said",
    "rules_told",
]


def board_names(house: House) -> dict[str, str]:
    """The kinds of board of a house by their keys."""
    return {kind.key: kind.name for kind in house.board_kinds.all()}


def rule_now(house: House, name: str) -> str:
    """What a rule of a house is now, in words."""
    return rule_said(_rule(name), rules_of(house), house.units, house.currency, board_names(house))


def _rule(name: str) -> HouseRule:
    return next(rule for rule in every_rule() if rule.name == name)


def rule_link(house: House, name: str) -> SafeString:
    """The words "rule of the house", which lead there, for the hint of a field that may leave it to
    the house."""
    return format_html(
        '<a href="{}#{}">rule of the house<span class="unseen">: {}</span></a>',
        reverse("house-rules", args=[house.pk]),
        name,
        _rule(name).title,
    )


def default_is(house: House, name: str) -> SafeString:
    """The hint of a choice whose first answer says itself what the house has."""
    return format_html("The default is a {}", rule_link(house, name))


def house_default(house: House, name: str, hint: str = "") -> SafeString:
    """The hint of a field that takes the house's rule where it is empty: what the rule is now, what
    else was to be said, and the way to the rule."""
    return format_html(
        "{}Empty takes the house default: {} ({})",
        f"{hint}. " if hint else "",
        rule_now(house, name),
        rule_link(house, name),
    )


def rules_told(
    before: Mapping[str, Any], after: Mapping[str, Any], units: str, currency: str = ""
) -> list[tuple[str, str, str]]:
    """Each rule that differs between two columns of a house's rules: its name and both values."""
    one, other = rules_with(before), rules_with(after)

    def said(rule: HouseRule, rules: Rules) -> str:
        return rule_said(rule, rules, units, currency, {})

    return [
        (rule.in_units(units).title, said(rule, one), said(rule, other))
        for rule in every_rule()
        if value_of(one, rule) != value_of(other, rule)
    ]


def rule_said(
    rule: HouseRule, rules: Rules, units: str, currency: str, boards: Mapping[str, str]
) -> str:
    """What a rule is, in words. `boards` are the names of boards by their keys; money is a plain
    number where no currency is known."""
    value: Any = value_of(rules, rule)
    if value is None or value == ():
        return "Every width on sale" if rule.kind == "lengths" else rule.empty
    if rule.kind in ("length", "longest"):
        return show_length(value, units)
    if rule.kind == "lengths":
        return ", ".join(show_length(one, units) for one in value)
    if rule.kind == "money":
        return money(value, currency) if currency else f"{value / 100:.2f}"
    if rule.kind == "pounds":
        return lengths.shown_amount(lengths.amount(round(value, 6), "lb"), units)
    if rule.kind == "yes":
        return "Yes" if value else "No"
    if rule.kind == "choice":
        return dict(rule.choices).get(value, str(value))
    if rule.kind == "board":
        kind, _, thickness = str(value).rpartition(" ")
        return f"{boards.get(kind, kind)}, {show_length(int(thickness), units)}"
    assert isinstance(value, Decimal)
    return f"{value.normalize():f}"
