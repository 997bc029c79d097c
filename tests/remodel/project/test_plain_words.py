"""No page says a word that was given up for a plainer one, and every error names its field."""

from __future__ import annotations

import ast
import gzip
import html
import re
from collections import deque
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from django import forms
from django.conf import settings
from django.contrib.staticfiles import finders
from django.core.management import call_command, load_command_class
from django.core.management.base import BaseCommand
from django.test import Client, override_settings
from django.urls import resolve, reverse

import remodel
import takeoff
from remodel.demo import tell_progress
from remodel.history.services import By
from remodel.people.services import household
from remodel.web.forms import HouseForm
from tests.remodel.everything import Everything
from tests.remodel.factories import demo_house
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
    r"(?<!look )\blike \d|, like [\"'{A-Z$]": "for example",
    r"[Ll]evered|end for end|sheets lean": "raised with a foot lift; turned 180°; stack",
    r"Print packs?\b|center of a member": "print set; center of a stud or joist",
}
_OLD = re.compile("|".join(f"(?:{pattern})" for pattern in GIVEN_UP))
# Words of these pages that hold an old word in a new one.
_HOLDS = re.compile(r"[Rr]ecommended")


def old_words(text: str) -> list[str]:
    """The words of `text`, as read off a page or paper, that were given up."""
    return [old[0] for old in _OLD.finditer(_HOLDS.sub("", " ".join(text.split())))]


_MOST_WEIGHT = 150_000


def weight_of(page: str) -> int:
    """The bytes of a page that is opened for the first time: itself, its styles and its scripts,
    each compressed."""
    whole = len(gzip.compress(page.encode()))
    for address in re.findall(r'(?:href|src)="/static/([^"]+\.(?:css|js|svg))"', page):
        path = finders.find(address)
        assert path, address
        whole += len(gzip.compress(Path(path).read_bytes()))
    return whole


def words_of(page: str) -> str:
    page = re.sub(r"<script.*?</script>|<style.*?</style>", " ", page, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.mark.django_db
@override_settings(HOSTED=True)
def test_pages_say_no_word_that_was_given_up_and_weigh_under_150_kb():
    everything = Everything()
    client = everything.client(everything.ada)
    read, found, weights = 0, [], {}
    for route in routes():
        if "GET" not in route.methods or route.who == "home":
            continue
        answer = everything.ask(client, "GET", route)
        kind = answer.headers.get("Content-Type", "")
        if answer.status_code != 200 or not kind.startswith(("text/html", "text/csv")):
            continue
        read += 1
        if kind.startswith("text/html"):
            weights[route.name] = weight_of(answer.page)
        words = _HOLDS.sub("", words_of(answer.page))
        found += [
            f"{route.name}: {words[max(0, one.start() - 40) : one.end() + 30]}"
            for one in _OLD.finditer(words)
        ]

    assert read > 80
    assert {name: size for name, size in weights.items() if size > _MOST_WEIGHT} == {}
    assert not found, "\n".join(found)


def pages_from(client: Client, start: str) -> Iterator[tuple[str, str]]:
    """The pages of a house that links lead to from `start`, one a route, each with its address.
    Other houses' pages are left alone."""
    seen, waiting = set(), deque([start])
    while waiting:
        path = waiting.popleft()
        route = resolve(path.partition("?")[0]).url_name
        if route in seen:
            continue
        seen.add(route)
        answer = client.get(path)
        if not answer.headers.get("Content-Type", "").startswith(("text/html", "text/csv")):
            continue
        page = answer.content.decode()
        yield path, page
        waiting += [
            html.unescape(link).partition("#")[0]
            for link in re.findall(r'href="(/[^"]*)"', page)
            if not link.startswith("/static/")
        ]


@pytest.mark.deep
@pytest.mark.django_db
def test_no_page_of_the_demo_house_in_inches_says_a_word_that_was_given_up(client):
    us = household()
    house = demo_house(us)
    path = Path(settings.BASE_DIR) / "fixtures" / "hollow-lane.progress.json"
    tell_progress(by=By(us), house=house, text=path.read_bytes())
    read, found = 0, []
    for address, page in pages_from(client, reverse("house-detail", args=[house.pk])):
        read += 1
        found += [f"{address}: {old}" for old in old_words(words_of(page))]

    assert read > 90
    assert found == []


def sentences_of(path: Path) -> list[str]:
    """The texts of two words or more in a file of code, but for docstrings."""
    tree = ast.parse(path.read_text())
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    return [
        node.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and " " in node.value
        and id(node) not in docstrings
    ]


def words_of_template(path: Path) -> str:
    """What a template says, with the texts that its tags are given."""
    text = re.sub(r"\{#.*?#\}|\{% comment.*?endcomment %\}", "", path.read_text(), flags=re.S)
    text = re.sub(
        r"\{%.*?%\}",
        lambda tag: (
            " "
            if re.match(r"\{% (?:el)?if\b", tag[0])
            else " ".join(re.findall(r'"([^"]* [^"]*)"', tag[0]))
        ),
        text,
        flags=re.S,
    )
    return words_of(re.sub(r"\{\{.*?\}\}", "…", text))


# The state of an order as the database has it, what the history's table keeps, a part of the keys
# of ticks, and a style.
_KEPT = re.compile(r"^taken back$|^took back a \w+$|^where the sheets lean$|^\n?\.drawing \{")


def test_no_message_error_or_template_says_a_word_that_was_given_up():
    found, read = [], 0
    for package in (remodel, takeoff):
        for path in sorted(Path(package.__file__).parent.rglob("*.py")):
            for words in sentences_of(path):
                read += 1
                old = _OLD.search(_HOLDS.sub("", words))
                if old and "migrations" not in path.parts and not _KEPT.match(words):
                    found.append(f"{path.name}: {words[:80]!r}")
    for path in sorted((Path(remodel.__file__).parents[1] / "templates").rglob("*.html")):
        read += 1
        words = _HOLDS.sub("", words_of_template(path))
        found += [f"{path.name}: {old[0]}" for old in _OLD.finditer(words)]

    assert read > 5000
    assert found == []


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


@pytest.mark.parametrize("name", ["quay-flat", pytest.param("hollow-lane", marks=pytest.mark.deep)])
def test_command_and_its_help_say_no_word_that_was_given_up(capsys, name):
    house = settings.BASE_DIR / "fixtures" / f"{name}.json"
    call_command("takeoff", str(house))
    call_command("takeoff", str(house), why="tape")
    words = capsys.readouterr().out

    assert len(words) > 1000
    assert old_words(words) == []
    assert "figure FL-4" in words
    assert not re.search(r"\[[A-Z]{2}-", words)


def test_each_argument_of_each_command_is_explained_in_a_sentence_with_an_example():
    commands = sorted(
        path.stem
        for path in (Path(remodel.__file__).parent / "management" / "commands").glob("[a-z]*.py")
    )
    known = {one.dest for one in BaseCommand().create_parser("manage.py", "one")._actions}
    read, wrong = 0, []
    for name in commands:
        command = load_command_class("remodel", name)
        assert command.help, name
        for argument in command.create_parser("manage.py", name)._actions:
            if argument.dest in known:
                continue
            read += 1
            said = str(argument.help or "")
            takes_a_value = argument.nargs != 0
            if not re.fullmatch(r"[A-Z0-9].*\.\)?", said, re.S) or old_words(said):
                wrong.append(f"{name} {argument.dest}: {said!r}")
            elif takes_a_value and "for example" not in said:
                wrong.append(f"{name} {argument.dest} has no example: {said!r}")

    assert len(commands) >= 7
    assert read > 20
    assert wrong == []
