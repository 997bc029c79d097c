"""Days and times in words: as Americans write them in a house in inches, and in 24 hours with the
day first in one in millimeters."""

from __future__ import annotations

import datetime

from django.utils import timezone

__all__ = ["clock_words", "day_words", "moment_words", "time_words"]


def time_words(when: datetime.datetime, units: str = "in") -> str:
    """A time of the day: `5:44 PM`, or `17:44` in a house in millimeters."""
    local = timezone.localtime(when) if timezone.is_aware(when) else when
    if units == "mm":
        return f"{local:%H:%M}"
    return f"{local.hour % 12 or 12}:{local:%M} {'AM' if local.hour < 12 else 'PM'}"


def day_words(
    date: datetime.date, units: str = "in", *, weekday: bool = False, year: bool | None = None
) -> str:
    """A day: `Sat Nov 28`, or `Sat 28 Nov` in a house in millimeters. `year` is None for the year
    where it is not this one."""
    if isinstance(date, datetime.datetime):
        date = (timezone.localtime(date) if timezone.is_aware(date) else date).date()
    with_year = date.year != timezone.localdate().year if year is None else year
    name = f"{date:%a} " if weekday else ""
    if units == "mm":
        return f"{name}{date.day} {date:%b}{f' {date.year}' if with_year else ''}"
    return f"{name}{date:%b} {date.day}{f', {date.year}' if with_year else ''}"


def clock_words(when: datetime.datetime, units: str = "in") -> str:
    """The time alone where it is today, else the day and the time."""
    local = timezone.localtime(when) if timezone.is_aware(when) else when
    if local.date() == timezone.localdate():
        return time_words(when, units)
    return moment_words(when, units)


def moment_words(when: datetime.datetime, units: str = "in", *, year: bool | None = None) -> str:
    """The day and the time: `Nov 28, 5:44 PM`."""
    return f"{day_words(when, units, year=year)}, {time_words(when, units)}"
