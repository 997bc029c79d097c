"""What must not stand in any template, of any app: the browser's policy and the form rules depend
on it."""

import re
from pathlib import Path

import pytest
from django.conf import settings

ROOT = Path(settings.BASE_DIR)
TEMPLATES = sorted(
    [*ROOT.glob("templates/**/*.html"), *ROOT.glob("remodel/**/templates/**/*.html")]
)
NAMES = [str(path.relative_to(ROOT)) for path in TEMPLATES]
PAPER = ("pdf", "print", "paper")

# Where a tag of a template stands inside an HTML tag, its > must not end the HTML tag.
TAG = re.compile(
    r"<(?P<name>[a-z][a-z0-9]*)\b(?P<rest>(?:\{%.*?%\}|\{\{.*?\}\}|\"[^\"]*\"|'[^']*'|[^>\"'])*)>",
    re.DOTALL,
)


POSTS = re.compile(r"\{% posts_(?:here|to)\b.*?%\}")


def words_of(path):
    """The text of a template, with the attributes that `posts_here` and `posts_to` write."""
    return POSTS.sub('method="post" action="/" novalidate hx-post="/"', path.read_text())


def tags(path, *names):
    return [match for match in TAG.finditer(words_of(path)) if not names or match["name"] in names]


def faults(path):
    text = words_of(path)
    found = []
    for word in (
        "placeholder=",
        "maxlength=",
        "autoescape off",
        "|safe",
        "|safeseq",
        "hx-on",
        "javascript:",
        "js:",
        "hx-vars",
        "hx-disabled-elt",
    ):
        if word in text:
            found.append(f"has {word}")
    # A page for paper is laid out by our own process, which has no policy to break; browsers never
    # get it.
    if re.search(r"<style\b", text) and '{% extends "print_base.html" %}' not in text:
        found.append("has a style element")
    for match in re.finditer(r"<script\b([^>]*)>(.*?)</script>", text, re.DOTALL):
        if "src=" not in match[1] or match[2].strip():
            found.append("has an inline script")
    for tag in tags(path):
        rest = tag["rest"]
        if re.search(r"\sstyle=", rest):
            found.append(f"{tag['name']} has style=")
        if re.search(r"\son[a-z]+=", rest):
            found.append(f"{tag['name']} has an on... attribute")
        if re.search(r"(?<!aria-)\brequired\b(?!\s*%)", re.sub(r"\{[%{].*?[%}]\}", "", rest)):
            found.append(f"{tag['name']} has required")
        trigger = re.search(r'hx-trigger="([^"]*)"', rest)
        if trigger and re.search(r"\b(blur|keyup|focusout)\b|\[", trigger[1]):
            found.append(f"{tag['name']} is triggered by {trigger[1]}")
    for tag in tags(path, "img"):
        if not re.search(r"\salt=", tag["rest"]):
            found.append("img without alt")
    for tag in tags(path, "button"):
        if not re.search(r'\stype="(submit|button|reset)"', tag["rest"]):
            found.append("button without type")
    for tag in tags(path, "form"):
        if "novalidate" not in tag["rest"]:
            found.append("form without novalidate")
        if (
            'method="post"' in tag["rest"]
            and "csrf" not in text[tag.end() : text.find("</form>", tag.end())]
        ):
            found.append("form without csrf_token")
        if "hx-post" in tag["rest"] and "action=" not in tag["rest"]:
            found.append("form with hx-post and no action")
    for tag in tags(path, "a"):
        if "href=" not in tag["rest"]:
            found.append("link without href")
    if _shows_a_form(path) and not path.name.startswith("_") and "{% problems %}" not in text:
        found.append("{{ form }} without {% problems %}")
    return found


def _shows_a_form(path):
    """Whether a template shows a whole form, itself or by a fragment it includes."""
    text = path.read_text()
    included = [
        ROOT / "templates" / name for name in re.findall(r'\{% include "([^"]+/_[^"]+)"', text)
    ]
    return "{{ form }}" in text or any(_shows_a_form(each) for each in included if each.exists())


def test_templates_are_found():
    assert "templates/base.html" in NAMES
    assert "remodel/web/templates/web/forms/field.html" in NAMES


@pytest.mark.parametrize("path", TEMPLATES, ids=NAMES)
def test_template_keeps_the_rules(path):
    assert faults(path) == []


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ('<input placeholder="x">', "has placeholder="),
        ("{{ name|safe }}", "has |safe"),
        ('<form hx-disabled-elt="find button">', "has hx-disabled-elt"),
        ('<p style="color: red">', "p has style="),
        ('<p onclick="go()">', "p has an on... attribute"),
        ("<script>go()</script>", "has an inline script"),
        ("<style>p {}</style>", "has a style element"),
        ('<img src="x">', "img without alt"),
        ("<button>Go</button>", "button without type"),
        ('<input hx-get="/x" hx-trigger="blur">', "input is triggered by blur"),
        ('<input name="x" required>', "input has required"),
        ('<form method="post" novalidate action="/"><p></p></form>', "form without csrf_token"),
        ("<form {% posts_here %}><p></p></form>", "form without csrf_token"),
        ("<form {% posts_to 'house-detail' 5 %}><p></p></form>", "form without csrf_token"),
        ('<form method="get"></form>', "form without novalidate"),
        ("<a>Go</a>", "link without href"),
    ],
)
def test_the_lint_finds(text, fault, tmp_path):
    page = tmp_path / "page.html"
    page.write_text(text)

    assert fault in faults(page)


def test_the_lint_finds_a_form_that_a_fragment_shows():
    page = ROOT / "templates" / "supply" / "order_return.html"
    assert _shows_a_form(page)
    assert "{{ form }}" not in page.read_text()


def test_no_python_marks_text_safe_but_the_drawings():
    allowed = re.compile(r"svg|drawing", re.IGNORECASE)
    for path in ROOT.glob("remodel/**/*.py"):
        if "mark_safe" in path.read_text():
            assert allowed.search(path.name), f"{path} uses mark_safe"
