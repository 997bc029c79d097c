"""The rules of a house on their page: what each is now, its default, and where that comes from."""

from __future__ import annotations

from dataclasses import dataclass

from django.forms.boundfield import BoundField

from remodel.bridge.house_rules import GROUPS, HouseRule, RuleGroup, default_rules, source_of
from remodel.bridge.records import rules_of
from remodel.house.models import House
from remodel.pages.house.forms.rules import HouseRulesForm
from remodel.pages.rules_words import board_names, rule_said

__all__ = ["GroupShown", "RuleShown", "groups_shown"]


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
    boards = board_names(house)
    typed = set(form.changed_data) if form.is_bound else set()
    return [
        GroupShown(
            group=group,
            rules=tuple(
                RuleShown(
                    rule=rule.in_units(house.units),
                    field=form[rule.name],
                    now=rule_said(rule, now, house.units, house.currency, boards),
                    default=rule_said(rule, default, house.units, house.currency, boards),
                    source=source_of(rule, house.units),
                    is_typed=rule.name in typed,
                )
                for rule in group.rules
            ),
        )
        for group in GROUPS
    ]
