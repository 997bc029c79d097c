"""Draws forms with our own templates, which are found in this app whatever the project's template
settings are."""

from __future__ import annotations

from django.forms.renderers import DjangoTemplates


class PageRenderer(DjangoTemplates):
    form_template_name = "web/forms/form.html"
    field_template_name = "web/forms/field.html"
