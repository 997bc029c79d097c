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
SET_BY_LINES = [
    *NAMES,
    *(str(path.relative_to(ROOT)) for path in sorted(ROOT.glob("templates/**/*.svg"))),
]
PAPER = ("pdf", "print", "paper")

# Where a tag of a template stands inside an HTML tag, its > must not end the HTML tag.
TAG = re.compile(
    r"<(?P<name>[a-z][a-z0-9]*)\b(?P<rest>(?:\{%.*?%\}|\{\{.*?\}\}|\"[^\"]*\"|'[^']*'|[^>\"'])*)>",
    re.DOTALL,
)

# The two tags that open a form that is posted, and what the rules look for in what they write.
POSTS = re.compile(r"\{% posts_(?:here|to)\b.*?%\}")
POSTED = 'method="post" action="/" novalidate hx-post="/"'


def words_of(path):
    """The text of a template, with the attributes that `posts_here` and `posts_to` write."""
    return POSTS.sub(POSTED, path.read_text())


def tags(path, *names):
    return [match for match in TAG.finditer(words_of(path)) if not names or match["name"] in names]


def faults(path):
    text = words_of(path)
    wrong = []
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
            wrong.append(f"has {word}")
    # A page for paper is laid out by our own process, which has no policy to break; browsers never
    # get it.
    if re.search(r"<style\b", text) and '{% extends "print_base.html" %}' not in text:
        wrong.append("has a style element")
    for match in re.finditer(r"<script\b([^>]*)>(.*?)</script>", text, re.DOTALL):
        if "src=" not in match[1] or match[2].strip():
            wrong.append("has an inline script")
    for tag in tags(path):
        rest = tag["rest"]
        if re.search(r"\sstyle=", rest):
            wrong.append(f"{tag['name']} has style=")
        if re.search(r"\son[a-z]+=", rest):
            wrong.append(f"{tag['name']} has an on... attribute")
        if re.search(r"(?<!aria-)\brequired\b(?!\s*%)", re.sub(r"\{[%{].*?[%}]\}", "", rest)):
            wrong.append(f"{tag['name']} has required")
        trigger = re.search(r'hx-trigger="([^"]*)"', rest)
        if trigger and re.search(r"\b(blur|keyup|focusout)\b|\[", trigger[1]):
            wrong.append(f"{tag['name']} is triggered by {trigger[1]}")
    for tag in tags(path, "img"):
        if not re.search(r"\salt=", tag["rest"]):
            wrong.append("img without alt")
    for tag in tags(path, "button"):
        if not re.search(r'\stype="(submit|button|reset)"', tag["rest"]):
            wrong.append("button without type")
    for tag in tags(path, "form"):
        if "novalidate" not in tag["rest"]:
            wrong.append("form without novalidate")
        if (
            'method="post"' in tag["rest"]
            and "csrf" not in text[tag.end() : text.find("</form>", tag.end())]
        ):
            wrong.append("form without csrf_token")
        if "hx-post" in tag["rest"] and "action=" not in tag["rest"]:
            wrong.append("form with hx-post and no action")
    for tag in tags(path, "a"):
        if "href=" not in tag["rest"]:
            wrong.append("link without href")
    if _shows_a_form(path) and not path.name.startswith("_") and "{% problems %}" not in text:
        wrong.append("{{ form }} without {% problems %}")
    return wrong


def _shows_a_form(path):
    """Whether a template shows a whole form, itself or by a fragment it includes."""
    text = path.read_text()
    included = [
        ROOT / "templates" / name for name in re.findall(r'\{% include "([^"]+/_[^"]+)"', text)
    ]
    return "{{ form }}" in text or any(
        _shows_a_form(fragment) for fragment in included if fragment.exists()
    )


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


BLOCK = re.compile(
    r"<(?:div|section|form|table|thead|tbody|tr|ul|ol|li|dl|p|h[1-3]"
    r"|header|footer|nav|main|details|fieldset)(?![\w-])"
)
LINE = 160


def crowded(text):
    """The lines that are too long to read, or that open more than one block of the page."""
    return [
        f"line {number} {fault}"
        for number, line in enumerate(text.splitlines(), 1)
        for fault, applies in (
            (f"has {len(line)} columns", len(line) > LINE),
            ("opens two blocks", len(BLOCK.findall(line)) > 1),
        )
        if applies
    ]


@pytest.mark.parametrize("path", SET_BY_LINES, ids=str)
def test_template_has_one_block_a_line_and_no_long_line(path):
    assert crowded((ROOT / path).read_text()) == []


@pytest.mark.parametrize(
    ("text", "faults_of_lines"),
    [
        ("<ul>\n  <li><a href='/'>Rooms</a></li>\n</ul>", []),
        ('<div class="fact"><dt>Rooms</dt><dd>7</dd></div>', []),
        ("<ul><li>Kitchen</li></ul>", ["line 1 opens two blocks"]),
        ('<p>Kitchen</p>\n<p>Hall</p><p class="quiet">Attic</p>', ["line 2 opens two blocks"]),
        ("<h2>Rooms</h2>{% for room in rooms %}<h3>", ["line 1 opens two blocks"]),
        ("x" * 160, []),
        ("x" * 161, ["line 1 has 161 columns"]),
    ],
)
def test_a_crowded_line_is_found(text, faults_of_lines):
    assert crowded(text) == faults_of_lines


def test_the_lint_finds_a_form_that_a_fragment_shows():
    page = ROOT / "templates" / "supply" / "order_return.html"
    assert _shows_a_form(page)
    assert "{{ form }}" not in page.read_text()


def test_no_python_marks_text_safe_but_the_drawings():
    allowed = re.compile(r"svg|drawing", re.IGNORECASE)
    for path in ROOT.glob("remodel/**/*.py"):
        if "mark_safe" in path.read_text():
            assert allowed.search(path.name), f"{path} uses mark_safe"
