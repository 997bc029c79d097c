"""No page says a word that was given up for a plainer one, and every error names its field."""

from __future__ import annotations

import html
import re
from importlib import import_module
from pathlib import Path

import pytest
from django import forms
from django.core.management import call_command
from django.test import override_settings

import remodel
from remodel.web.forms import HouseForm
from tests.remodel.everything import Everything
from tests.remodel.routes import routes

# What was said before, as a pattern, and what is said now.
GIVEN_UP = {
    r"coarse board screw|fine board screw|board nails\b": "drywall screw, drywall nails",
    r"Light gypsum board|Light setting compound": "Lightweight",
    r"Board adhesive|structural panel": "Drywall adhesive; plywood or OSB",
    r"\$[\d.,]+ ahead|\bAt hand\b|Sums are at": "still to buy; Now; Totals",
    r"About the house, and its file|Who changed what": "House settings and file; History",
    r"Bought together|Buy them apart|\bone pile\b|\bthe pile\b": "share sheets",
    r"All phases, and your own|\bTo know\b|Need by need": "Edit phases; Good to know; Item by item",
    r"The same as a table|Hanging is done|That is (?:all of them|me)\b": "a verb first",
    r"No plan can cost less": "Within 0.4% of the best possible",
    r"\bLeave it\b|is missing: enter|mend this": "Cancel; is empty. Enter",
    r"As the house has it|What it has to stand|It gets wet|Name this one apart": "plain labels",
    r"\bTo its\b|square off|not a plain rectangle|only single surfaces": "Measured to",
    r"Board the open framing|over the old lining|Strip-out|Strip it and": "Tear-out",
    r"Something came|Nothing more is to come|Take it along|What went back": "Record a delivery",
    r"Paid for them|Part received|Can go back": "Total paid; Partly received",
    r"carries no code|Estimate against use|\bspoiled\b": "No QR code; Estimated vs. used; wasted",
    r"Us wrote|You may look only|Shut out|sign in anew|It takes writes": "View only; Working",
    r"[Tt]aken? back|[Tt]ook back|put right": "undo; fix",
    r"millimetre|\bcentre|colour|neighbour|storey|[Cc]heque": "American spelling",
    r"\d %(?!\w)": "57%",
    r"may stay empty": "optional",
}
_OLD = re.compile("|".join(f"(?:{pattern})" for pattern in GIVEN_UP))
# Sheet cards and hanging lists, and a help page that explains them, have words of their own.
CARDS = {"room-card", "room-cut", "room-hanging", "room-piece", "room-piece-told"}
# Words of these pages that hold an old word in a new one.
_HOLDS = re.compile(r"[Rr]ecommended")


def words_of(page: str) -> str:
    page = re.sub(r"<script.*?</script>|<style.*?</style>", " ", page, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.mark.django_db
@override_settings(HOSTED=True)
def test_no_page_or_table_says_a_word_that_was_given_up():
    everything = Everything()
    client = everything.client(everything.ada)
    read, found = 0, []
    for route in routes():
        if "GET" not in route.methods or route.who == "home" or route.name in CARDS:
            continue
        answer = everything.ask(client, "GET", route)
        kind = answer.headers.get("Content-Type", "")
        if answer.status_code != 200 or not kind.startswith(("text/html", "text/csv")):
            continue
        read += 1
        words = _HOLDS.sub("", words_of(answer.page))
        found += [
            f"{route.name}: {words[max(0, one.start() - 40) : one.end() + 30]}"
            for one in _OLD.finditer(words)
        ]

    assert read > 80
    assert not found, "\n".join(found)


def every_form() -> list[type[HouseForm]]:
    root = Path(remodel.__file__).parent
    for path in sorted((root / "pages").rglob("forms*.py")) + sorted(
        (root / "pages").rglob("forms/*.py")
    ):
        parts = path.relative_to(root.parent).with_suffix("").parts
        import_module(".".join(part for part in parts if part != "__init__"))

    def below(kind: type[HouseForm]) -> list[type[HouseForm]]:
        return [one for sub in kind.__subclasses__() for one in (sub, *below(sub))]

    return [form for form in below(HouseForm) if form.__module__.startswith("remodel.")]


def test_what_a_form_says_of_an_empty_field_quotes_its_label():
    said, wrong = 0, []
    for form in every_form():
        for name, field in form.base_fields.items():
            message = str(field.error_messages.get("required", ""))
            own = message != str(forms.Field.default_error_messages["required"])
            if not field.required or not own or not field.label:
                continue
            said += 1
            if f'"{field.label}"' not in message:
                wrong.append(f"{form.__name__}.{name}: {message}")

    assert said >= 3
    assert wrong == []


def test_command_and_its_help_say_no_word_that_was_given_up(capsys, tmp_path):
    from django.conf import settings

    house = settings.BASE_DIR / "fixtures" / "quay-flat.json"
    call_command("takeoff", str(house))
    words = capsys.readouterr().out

    assert len(words) > 1000
    assert [one[0] for one in _OLD.finditer(_HOLDS.sub("", words))] == []
