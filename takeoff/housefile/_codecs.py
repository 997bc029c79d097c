"""How each kind of value is spelt in JSON: one codec reads it, writes it and states its schema.

`codec_for` makes the codec of a type hint, so that a field of a value class is declared once, in
the class.
"""

from __future__ import annotations

from dataclasses import MISSING, Field, fields, is_dataclass
from difflib import get_close_matches
from enum import StrEnum
from functools import cache
from types import NoneType
from typing import Any

from takeoff.codec import alternatives_of, fields_of, items_of
from takeoff.errors import BadValue
from takeoff.house import BehindPartition, House, Outline, QuickRoom, SurfaceList
from takeoff.housefile._json import Object, shown
from takeoff.housefile._reading import FILLED_IN, Reading, join
from takeoff.housefile._scalars import (
    ABSENT,
    FAILED,
    LONGEST_NOTE,
    SCALARS,
    Choice,
    Codec,
    Id,
    Schema,
    Text,
    instead,
)
from takeoff.rules import Rules
from takeoff.units import UnitSystem

__all__ = ["ObjectCodec", "codec_for"]

# The key that says which of the shapes a room has. One with a single field is spelt as that field
# alone.
_METRIC = Rules.metric()
_SHAPE_KEYS = {
    QuickRoom: "quick",
    Outline: "walls",
    SurfaceList: "surfaces",
    BehindPartition: "behind",
}


class _Optional:
    """A value or null, which means the default or not known."""

    stand_in: object = None

    def __init__(self, inner: Codec) -> None:
        self.inner = inner

    def read(self, raw: object, place: str, reading: Reading) -> object:
        return None if raw is None else self.inner.read(raw, place, reading)

    def write(self, value: Any, units: UnitSystem) -> object:
        return None if value is None else self.inner.write(value, units)

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"anyOf": [self.inner.schema(definitions), {"type": "null"}]}


class _List:
    """A tuple of like values as a JSON list."""

    stand_in: object = ()

    def __init__(self, inner: Codec) -> None:
        self.inner = inner

    def read(self, raw: object, place: str, reading: Reading) -> object:
        if not isinstance(raw, list):
            reading.problem(
                place,
                "Give a list in square brackets, for example []"
                + (instead(raw) or "; this is a text"),
            )
            return FAILED
        reading.neighbours = {
            item["id"] for item in raw if isinstance(item, dict) and isinstance(item.get("id"), str)
        }
        values = []
        for index, item in enumerate(raw):
            reading.position = index
            value = self.inner.read(item, f"{place}[{index}]", reading)
            if value is not FAILED:
                values.append(value)
        return tuple(values)

    def write(self, value: tuple[Any, ...], units: UnitSystem) -> object:
        return [self.inner.write(item, units) for item in value]

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"type": "array", "items": self.inner.schema(definitions)}


class _Table:
    """A tuple of pairs as a JSON object: the first of each pair is its key."""

    stand_in: object = ()

    def __init__(self, key: Codec, value: Codec) -> None:
        self.key = key
        self.value = value

    def read(self, raw: object, place: str, reading: Reading) -> object:
        if not isinstance(raw, Object):
            reading.problem(
                place,
                "Give an object in curly brackets, for example {}"
                + (instead(raw) or "; this is a text"),
            )
            return FAILED
        _refuse_repeated(raw, place, reading)
        pairs: dict[object, object] = {}
        for text, item in raw.items():
            inner = f"{place}[{shown(text)!r}]"
            key, value = self.key.read(text, inner, reading), self.value.read(item, inner, reading)
            if key in pairs:
                reading.problem(inner, f"{shown(text)!r} is the same as a key before it; keep one")
            if key is not FAILED and value is not FAILED:
                pairs[key] = value
        return tuple(pairs.items())

    def write(self, value: tuple[tuple[Any, Any], ...], units: UnitSystem) -> object:
        pairs = {
            _key_text(self.key.write(key, units), units): self.value.write(item, units)
            for key, item in value
        }
        if len(pairs) < len(value):
            raise BadValue(f"Two of {', '.join(pairs)} are the same; keep one of each")
        return pairs

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        return {"type": "object", "additionalProperties": self.value.schema(definitions)}


def _key_text(written: object, units: UnitSystem) -> str:
    return written if isinstance(written, str) else f"{written} {units.value}"


class _Shape:
    """One of several value classes, told apart by the only key of the object."""

    stand_in: object = FAILED

    def __init__(self, kinds: tuple[type, ...]) -> None:
        self.kinds = {_SHAPE_KEYS[kind]: kind for kind in kinds}
        self.codecs = {key: ObjectCodec.of(kind) for key, kind in self.kinds.items()}

    def read(self, raw: object, place: str, reading: Reading) -> object:
        known = [key for key in self.kinds if isinstance(raw, Object) and key in raw]
        if not isinstance(raw, Object) or len(known) != 1 or len(raw) != 1 or raw.repeated:
            has = instead(raw)
            if isinstance(raw, Object):
                several = " and ".join(known) if len(known) > 1 else "more"
                has = f"; this has {several if known else 'none of them'}"
            reading.problem(
                place,
                f"Give an object with one of the keys {', '.join(self.kinds)}, "
                f'for example {{"quick": {{"length": "12 ft", "width": "10 ft"}}}}{has}',
            )
            return FAILED
        codec, inner = self.codecs[known[0]], raw[known[0]]
        if codec.only is not None:
            inner = Object({codec.only: inner})
            return codec.read(inner, place, reading, names={codec.only: known[0]})
        return codec.read(inner, join(place, known[0]), reading)

    def write(self, value: Any, units: UnitSystem) -> object:
        key = _SHAPE_KEYS[type(value)]
        codec = self.codecs[key]
        written = codec.write(value, units)
        return {key: written[codec.only] if codec.only is not None else written}

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        options = []
        for key, codec in self.codecs.items():
            inner = codec.schema(definitions)
            if codec.only is not None:
                inner = definitions.pop(codec.kind.__name__)["properties"][codec.only]
            options.append(
                {
                    "type": "object",
                    "properties": {key: inner},
                    "required": [key],
                    "additionalProperties": False,
                }
            )
        return {"oneOf": options}


class ObjectCodec:
    """A value class as a JSON object with its fields as keys; those at their default are left out
    on writing."""

    stand_in: object = FAILED

    def __init__(self, kind: type) -> None:
        self.kind = kind
        self.fields: dict[str, Field[Any]] = {field.name: field for field in fields(kind)}
        self.codecs: dict[str, Codec] = {
            name: _NAMED[name] if hint is str and name in _NAMED else codec_for(hint)
            for name, hint in fields_of(kind)
        }
        self._required = [name for name in self.fields if self.default(name) is MISSING]

    @staticmethod
    @cache
    def of(kind: type) -> ObjectCodec:
        """Return the one codec of a value class."""
        return ObjectCodec(kind)

    @property
    def only(self) -> str | None:
        """The name of the class's single field; None where it has more."""
        return next(iter(self.fields)) if len(self.fields) == 1 else None

    def default(self, name: str, units: UnitSystem = UnitSystem.INCH) -> object:
        """What the field is where a file in `units` leaves it out; `MISSING` where it must be
        given.

        Only rules differ: a house in millimetres has those of `Rules.metric`.
        """
        if units is UnitSystem.MILLIMETRE:
            if self.kind is Rules:
                return getattr(_METRIC, name)
            if self.kind is House and name == "rules":
                return _METRIC
        declared = self.fields[name]
        return (
            declared.default if declared.default_factory is MISSING else declared.default_factory()
        )

    def read(
        self, raw: object, place: str, reading: Reading, *, names: dict[str, str] | None = None
    ) -> object:
        """Return the value, or `FAILED` where it could not be made; `names` says how keys are shown
        in places."""
        value = self._read(raw, place, reading, names or {})
        if value is FAILED:
            reading.lost.add(self.kind)
        else:
            reading.made(value, place)
        return value

    def _read(self, raw: object, place: str, reading: Reading, names: dict[str, str]) -> object:
        problems_before = len(reading.problems)
        if not isinstance(raw, Object):
            reading.problem(
                place,
                "Give an object in curly brackets, for example {}"
                + (instead(raw) or "; this is a text"),
            )
            return FAILED
        _refuse_repeated(raw, place, reading)
        given = reading.filled(self.kind, raw)
        identity = given.get("id") if "id" in self.fields else None
        reading.enter(self.kind, identity if isinstance(identity, str) else None, place)
        values: dict[str, object] = {}
        for key, item in given.items():
            if key in self.codecs:
                value = self.codecs[key].read(item, join(place, names.get(key, key)), reading)
                values[key] = self._or_stand_in(key, value)
            else:
                self._unknown(key, place, reading)
        reading.leave(self.kind)
        for key in self._required:
            if key not in values:
                self.codecs[key].read(ABSENT, join(place, names.get(key, key)), reading)
                values[key] = self.codecs[key].stand_in
        if FAILED in values.values():
            return FAILED
        for key in self.fields:
            if key not in values:
                values[key] = self.default(key, reading.units)
        try:
            return self.kind(**values)
        except BadValue as bad:
            # after another problem it may be no more than a consequence of what stands in for the
            # wrong value
            if len(reading.problems) == problems_before:
                about = bad.about.rpartition(" ")[2]
                reading.problem(
                    join(place, names.get(about, about)) if about in self.fields else place,
                    str(bad),
                )
            return FAILED

    def _or_stand_in(self, key: str, value: object) -> object:
        if value is not FAILED:
            return value
        default = self.default(key)
        return self.codecs[key].stand_in if default is MISSING else default

    def _unknown(self, key: str, place: str, reading: Reading) -> None:
        near = get_close_matches(key[:40], self.fields, n=1)
        known = (
            f"the keys here are {', '.join(self.fields)}"
            if len(self.fields) <= 12
            else "leave it out"
        )
        reading.problem(
            join(place, shown(key)),
            f"There is no such key; {f'did you mean {near[0]!r}?' if near else known}",
        )

    def write(self, value: Any, units: UnitSystem) -> dict[str, object]:
        """Return the value as a JSON object, in the class's own order of fields."""
        written: dict[str, object] = {}
        for name, codec in self.codecs.items():
            field = getattr(value, name)
            if field != self.default(name, units):
                written[name] = codec.write(field, units)
        return written

    def schema(self, definitions: dict[str, Schema]) -> Schema:
        """Put the class's schema among the definitions and return a reference to it."""
        name = self.kind.__name__
        if name not in definitions:
            definitions[name] = {}  # its place, so that definitions stand in the order they are met
            properties = {}
            for key, codec in self.codecs.items():
                properties[key] = codec.schema(definitions)
                default = self.default(key)
                if (
                    default is not MISSING
                    and default is not None
                    and default != ()
                    and not is_dataclass(default)
                ):
                    properties[key] = {
                        **properties[key],
                        "default": codec.write(default, UnitSystem.INCH),
                    }
            definitions[name] = {
                "description": (self.kind.__doc__ or "")
                .partition("\n\n")[0]
                .replace("\n    ", " "),
                "type": "object",
                "properties": properties,
                "required": [
                    key for key in self._required if key not in FILLED_IN.get(self.kind, ())
                ],
                "additionalProperties": False,
            }
        return {"$ref": f"#/$defs/{name}"}


def _refuse_repeated(raw: Object, place: str, reading: Reading) -> None:
    for key in raw.repeated:
        reading.problem(join(place, shown(key)), "The key is given more than once; keep one")


_NAMED: dict[str, Codec] = {"id": Id(), "pile": Id(), "note": Text(LONGEST_NOTE)}


@cache
def codec_for(hint: Any) -> Codec:
    """Return the codec of a type hint; raises `TypeError` for a hint no house file can hold."""
    if hint in SCALARS:
        return SCALARS[hint]
    if alternatives := alternatives_of(hint):
        kinds = tuple(kind for kind in alternatives if kind is not NoneType)
        inner = codec_for(kinds[0]) if len(kinds) == 1 else _Shape(kinds)
        return _Optional(inner) if NoneType in alternatives else inner
    items = items_of(hint)
    if items is not None and items[1]:
        (item,), _ = items
        pair = items_of(item)
        if pair is not None:
            (key, value), _ = pair
            return _Table(codec_for(key), codec_for(value))
        return _List(codec_for(item))
    if isinstance(hint, type) and issubclass(hint, StrEnum):
        return Choice(hint)
    if isinstance(hint, type) and is_dataclass(hint):
        return ObjectCodec.of(hint)
    raise TypeError(f"No house file can hold a {hint}")
