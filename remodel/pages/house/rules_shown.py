"""The rules of a house in words: what each is now, its default, and where that comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.forms.boundfield import BoundField
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from remodel.bridge.house_rules import (
    GROUPS,
    HouseRule,
    RuleGroup,
    default_rules,
    every_rule,
    source_of,
    value_of,
)
from remodel.bridge.records import Rules, rules_of, rules_with
from remodel.house.models import House
from remodel.pages.house.forms.fields import board_choices
from remodel.pages.house.forms.rules import HouseRulesForm
from remodel.web.lengths import show_length
from remodel.web.templatetags.halfbay import money

__all__ = [
    "GroupShown",
    "RuleShown",
    "groups_shown",
    "house_default",
    "rule_link",
    "rule_now",
    "rules_told",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class RuleShown:
    """One rule on the page. `now` and `default` are in words, `source` says where the default comes
    from. `is_typed` says that its field holds another value than it has now."""

    rule: HouseRule
    field: BoundField
    now: str
    default: str
    source: str
    is_typed: bool

    @property
    def is_default(self) -> bool:
        return self.now == self.default


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupShown:
    group: RuleGroup
    rules: tuple[RuleShown, ...]


def groups_shown(house: House, form: HouseRulesForm) -> list[GroupShown]:
    now, default = rules_of(house), default_rules(house.units)
    boards = dict(board_choices(house))
    typed = set(form.changed_data) if form.is_bound else set()
    return [
        GroupShown(
            group=group,
            rules=tuple(
                RuleShown(
                    rule=rule,
                    field=form[rule.name],
                    now=_said(rule, now, house.units, house.currency, boards),
                    default=_said(rule, default, house.units, house.currency, boards),
                    source=source_of(rule),
                    is_typed=rule.name in typed,
                )
                for rule in group.rules
            ),
        )
        for group in GROUPS
    ]


def rule_now(house: House, name: str) -> str:
    """What a rule of a house is now, in words."""
    rule = next(rule for rule in every_rule() if rule.name == name)
    boards = dict(board_choices(house))
    return _said(rule, rules_of(house), house.units, house.currency, boards)


def rule_link(house: House, name: str) -> SafeString:
    """The way to a rule of a house, for the hint of a field that may leave it to the house."""
    url = reverse("house-rules", args=[house.pk])
    return format_html('<a href="{}#{}">Open the rule of the house</a>', url, name)


def house_default(house: House, name: str, hint: str = "") -> SafeString:
    """The hint of a field that takes the house's rule where it is empty: what the rule is now, what
    else was to be said, and the way to the rule."""
    return format_html(
        "Empty takes the house default: {}. {}{}",
        rule_now(house, name),
        f"{hint}. " if hint else "",
        rule_link(house, name),
    )


def rules_told(
    before: Mapping[str, Any], after: Mapping[str, Any], units: str, currency: str = ""
) -> list[tuple[str, str, str]]:
    """Each rule that differs between two columns of a house's rules: its name and both values."""
    one, other = rules_with(before), rules_with(after)

    def said(rule: HouseRule, rules: Rules) -> str:
        return _said(rule, rules, units, currency, {})

    return [
        (rule.title, said(rule, one), said(rule, other))
        for rule in every_rule()
        if value_of(one, rule) != value_of(other, rule)
    ]


def _said(
    rule: HouseRule, rules: Rules, units: str, currency: str, boards: Mapping[str, str]
) -> str:
    value: Any = value_of(rules, rule)
    if value is None or value == ():
        return "Every width on sale" if rule.kind == "lengths" else "No limit"
    if rule.kind in ("length", "longest"):
        return show_length(value, units)
    if rule.kind == "lengths":
        return ", ".join(show_length(one, units) for one in value)
    if rule.kind == "money":
        return money(value, currency) if currency else f"{value / 100:.2f}"
    if rule.kind == "pounds":
        return f"{value} lb"
    if rule.kind == "yes":
        return "Yes" if value else "No"
    if rule.kind == "choice":
        return dict(rule.choices).get(value, str(value))
    if rule.kind == "board":
        kind, _, thickness = str(value).rpartition(" ")
        return boards.get(value, f"{kind}, {show_length(int(thickness), units)}")
    assert isinstance(value, Decimal)
    return f"{value.normalize():f}"
