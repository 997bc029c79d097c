"""The rules of a house in words: what each is now, its default, and where that comes from."""

from __future__ import annotations

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
from remodel.bridge.records import Rules, rules_of
from remodel.house.models import House
from remodel.pages.house.forms.fields import board_choices
from remodel.pages.house.forms.rules import HouseRulesForm
from remodel.web.lengths import show_length
from remodel.web.templatetags.halfbay import money

__all__ = ["GroupShown", "RuleShown", "groups_shown", "house_default", "rule_now"]


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
                    now=_said(rule, now, house, boards),
                    default=_said(rule, default, house, boards),
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
    return _said(rule, rules_of(house), house, dict(board_choices(house)))


def house_default(house: House, name: str) -> SafeString:
    """What a rule of a house is now, and the link to it, for the hint of a field that may leave it
    to the house."""
    return format_html(
        'House default: {}. <a href="{}#{}">Open the rule</a>',
        rule_now(house, name),
        reverse("house-rules", args=[house.pk]),
        name,
    )


def _said(rule: HouseRule, rules: Rules, house: House, boards: dict[str, str]) -> str:
    value: Any = value_of(rules, rule)
    if value is None or value == ():
        return "Every width on sale" if rule.kind == "lengths" else "No limit"
    if rule.kind in ("length", "longest"):
        return show_length(value, house.units)
    if rule.kind == "lengths":
        return ", ".join(show_length(one, house.units) for one in value)
    if rule.kind == "money":
        return money(value, house.currency)
    if rule.kind == "pounds":
        return f"{value} lb"
    if rule.kind == "yes":
        return "Yes" if value else "No"
    if rule.kind == "choice":
        return dict(rule.choices).get(value, str(value))
    if rule.kind == "board":
        return boards.get(value, str(value))
    assert isinstance(value, Decimal)
    return f"{value.normalize():f}"
