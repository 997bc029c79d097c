"""Forms of the people here: pairing a device, choosing a person, signing in, inviting."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django import forms

from remodel.people.models import Person, Role
from remodel.web.fields import TextField
from remodel.web.forms import HouseForm

__all__ = [
    "ArchiveForm",
    "InviteForm",
    "PairForm",
    "PasswordForm",
    "PersonForm",
    "RoleForm",
    "SignInForm",
    "SignUpForm",
    "WhoForm",
]

ROLES = [
    (Role.OWNER.value, "Owner: changes everything, and who belongs to the house"),
    (Role.HELPER.value, "Helper: changes everything but who belongs to the house"),
    (Role.VIEWER.value, "View only"),
]


class NextForm(HouseForm):
    """A form that carries the address of the page a person wanted before."""

    next = forms.CharField(required=False, widget=forms.HiddenInput)


def _email(**kwargs: Any) -> forms.EmailField:
    return forms.EmailField(
        label="E-mail address",
        max_length=254,
        help_text="Like ada@example.org",
        widget=forms.EmailInput(
            attrs={"autocomplete": "username", "autocapitalize": "off", "spellcheck": "false"}
        ),
        error_messages={
            "invalid": "E-mail address must have a name, an @ and a place, for example "
            "ada@example.org"
        },
        **kwargs,
    )


def _password(label: str, *, new: bool, help_text: str = "") -> forms.CharField:
    return forms.CharField(
        label=label,
        max_length=256,
        strip=False,
        help_text=help_text,
        widget=forms.PasswordInput(
            attrs={"autocomplete": "new-password" if new else "current-password"}
        ),
    )


_RULES = (
    "8 characters or more, any you like; 15 or more is better, for example four words of your own"
)


class PairForm(NextForm):
    code = TextField(
        label="Code",
        max_length=20,
        help_text="The six digits shown on the other machine, for example 123 456",
    )
    label = TextField(label="Name of this device", example="Ben's phone", max_length=80)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["code"].widget.attrs |= {
            "inputmode": "numeric",
            "autocomplete": "one-time-code",
            "class": "short",
        }


class WhoForm(NextForm):
    person = forms.ChoiceField(label="Who is working here?", widget=forms.RadioSelect)

    def __init__(self, *args: Any, people: Sequence[Person], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.people = {str(person.pk): person for person in people}
        self.fields["person"].choices = [(key, person.name) for key, person in self.people.items()]  # type: ignore[attr-defined]

    def clean_person(self) -> Person:
        return self.people[self.cleaned_data["person"]]


class PersonForm(NextForm):
    name = TextField(label="Name", example="Ada", max_length=80)


class SignInForm(NextForm):
    email = _email()
    password = _password("Password", new=False)


class SignUpForm(HouseForm):
    name = TextField(label="Your name", example="Ada", max_length=80)
    email = _email()
    password = _password("Password", new=True, help_text=_RULES)


class PasswordForm(HouseForm):
    current = _password("Password now", new=False)
    password = _password("New password", new=True, help_text=_RULES)


class ArchiveForm(HouseForm):
    """An archive to restore."""

    file = forms.FileField(
        label="Archive",
        help_text="A .zip file that the Archive page or the archive command made, "
        "for example halfbay-20261129-083000.zip",
    )


class InviteForm(HouseForm):
    role = forms.ChoiceField(
        label="What they may do", choices=ROLES, widget=forms.RadioSelect, initial=Role.HELPER
    )


class RoleForm(HouseForm):
    role = forms.ChoiceField(label="What they may do", choices=ROLES, widget=forms.RadioSelect)
