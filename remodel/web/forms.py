"""The form that every page's form is made from."""

from __future__ import annotations

import re
import uuid
from typing import Any

from django import forms
from django.forms.boundfield import BoundField
from django.http import QueryDict

from remodel.web.fields import CountField, LengthField, LiftField, MoneyField, TextField
from remodel.web.renderer import PageRenderer

__all__ = ["HouseForm", "RowForm"]

_HIDDEN = frozenset({"key", "seen"})
# what `Seen` writes: rows with their versions, whole tables, facts
_SEEN = re.compile(
    r"(?:(?:[0-9a-f]{32}:[0-9]{1,9}|[a-z]+\.[a-z]+|[a-z_]+=[\w.-]{0,60})(?: |$))*", re.ASCII
)


class HouseForm(forms.Form):
    """A form that explains itself: label, hint, error in words, and a summary of errors for the top
    of the page.

    `units` is "in" or "mm", as the house measures. `seen` is what the page is made from
    (`remodel.history.seen.Seen`): a save that would overwrite what somebody else wrote is then
    refused. A form for something new has none. `key` makes a double press write once: it is drawn
    afresh for each page and posted back with it. `values` has the other fields as they were filled
    in.
    """

    default_renderer = PageRenderer
    use_required_attribute = False

    key = forms.UUIDField(required=False, widget=forms.HiddenInput)
    seen = forms.RegexField(_SEEN, required=False, max_length=100_000, widget=forms.HiddenInput)

    def __init__(self, *args: Any, units: str = "in", seen: object = "", **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.units = units
        self.initial.setdefault("key", uuid.uuid4())
        self.initial["seen"] = str(seen)
        for name, field in self.fields.items():
            if field.label is None:
                field.label = name.replace("_", " ").capitalize()
            if isinstance(field, LengthField | LiftField):
                field.measure_in(units)
            _speak_plainly(field)

    @property
    def written_key(self) -> str:
        """The key that this page posted, or "" where it posted none that can be read. Only after
        `is_valid()`."""
        return str(self.cleaned_data.get("key") or "")

    @property
    def values(self) -> dict[str, Any]:
        """The fields as they were filled in and cleaned. Only after `is_valid()`."""
        return {name: value for name, value in self.cleaned_data.items() if name not in _HIDDEN}

    def see_anew(self) -> None:
        """Have the page carry what it is made from now. Called where the person is shown what
        changed."""
        posted = QueryDict(mutable=True)
        posted.update(self.data)  # a MultiValueDict keeps every value of a field here
        posted[self.add_prefix("seen")] = self.initial["seen"]
        self.data = posted

    @property
    def summary(self) -> list[dict[str, str]]:
        """Every error with the id of the field to fix, top to bottom. Errors of the whole form come
        first and have no id."""
        if not self.is_bound or not self.errors:
            return []
        rows = [{"anchor": "", "text": str(text)} for text in self.non_field_errors()]
        for bound in self:
            if bound.field.widget.is_hidden:
                if bound.errors:
                    rows.insert(
                        0,
                        {
                            "anchor": "",
                            "text": "This page is out of date. Load it again, then save",
                        },
                    )
            else:
                rows += [{"anchor": _anchor(bound), "text": str(text)} for text in bound.errors]
        return rows


class RowForm(HouseForm):
    """One row of a list on a page. The page's own form has the key and what the page is made
    from."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["key"], self.fields["seen"]


def _anchor(bound: BoundField) -> str:
    """The id of the element that takes focus: for a group of radio buttons, its first button."""
    return f"{bound.auto_id}_0" if bound.use_fieldset else str(bound.auto_id)


def _example(field: forms.Field) -> str:
    if isinstance(field, LengthField):
        return f", for example {field.shown_example}"
    if isinstance(field, CountField | MoneyField | TextField) and field.example:
        return f", for example {field.example}"
    return ""


def _speak_plainly(field: forms.Field) -> None:
    """Use our messages in place of Django's, keep messages given with the field, and remove
    attributes that cut text off."""
    label = f'"{field.label}"'
    choose = isinstance(field, forms.ChoiceField | forms.BooleanField | forms.FileField)
    ours = {
        "required": f"{label} is empty. {'Choose one' if choose else 'Enter it'}{_example(field)}",
        "max_length": f"{label} takes at most %(limit_value)d characters; this has %(show_value)d",
        "min_length": f"{label} takes at least %(limit_value)d characters; this has %(show_value)d",
        "null_characters_not_allowed": f"{label} has a character that cannot be kept. Type it "
        "again",
        "invalid_choice": f"{label} must be one of the choices on the page",
        "invalid_list": f"{label} must be one or more of the choices on the page",
        "invalid": f"{label} could not be read. Enter it again",
        "invalid_image": f"{label} must be a picture, for example a JPEG or PNG from a phone",
        "missing": f"{label} is empty. Choose a file",
        "empty": f"{label} is an empty file. Choose another",
    }
    given: dict[str, Any] = {}
    for parent in reversed(type(field).__mro__):
        given.update(getattr(parent, "default_error_messages", {}))
    for code, text in ours.items():
        if code not in field.error_messages or field.error_messages[code] == given.get(code):
            field.error_messages[code] = text
    for attribute in ("maxlength", "minlength", "min", "max", "step", "required", "placeholder"):
        field.widget.attrs.pop(attribute, None)
