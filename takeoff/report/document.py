"""A takeoff as a JSON document, complete enough to re-check every plan and amount without this
engine.

The document is the engine's own values, written field by field, so the two cannot drift apart:
`document` writes it and `document_schema` describes it, both from the same type hints. Lengths are
whole nanometres; areas (which pass 53 bits), exact fractions and decimals are text (`"1219/2"`,
`"1.00"`); money named in cents is whole cents.
"""

from __future__ import annotations

import json
import types
import typing
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from importlib.resources import files
from typing import Any

from takeoff import codec
from takeoff.boards.house_plan import Refusal
from takeoff.boards.plan import BoardPlan
from takeoff.catalogue import BoardKind, SheetOnSale
from takeoff.choices import FramedWhen
from takeoff.codec import alternatives_of, fields_of, items_of
from takeoff.framing.edges import UnsupportedEdge
from takeoff.framing.members import FramedSurface
from takeoff.framing.partition import PartitionFrame
from takeoff.geometry.rooms import PartitionShape, RoomGeometry
from takeoff.job import PartitionChoice, Takeoff
from takeoff.needs.need import CrossCheck, Need
from takeoff.quantities import Cents
from takeoff.reference import Figure, figures
from takeoff.report.caution import CAUTION
from takeoff.rules import Rules
from takeoff.seams import Seam
from takeoff.supply import SupplyList
from takeoff.units import Nm, UnitSystem

__all__ = ["SCHEMA_FILE", "document", "document_schema", "schema_text"]

FORMAT = "halfbay takeoff"
SCHEMA_FILE = files("takeoff.report") / "takeoff.schema.json"
VERSION = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class PartitionTotals:
    """What the whole house takes with one partition framed before, or after, the room around it is
    boarded."""

    partition: str
    framed: FramedWhen
    needs: tuple[Need, ...]
    supply: SupplyList


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """The whole of it. `framed` holds every surface with its members; `figures` every trade figure
    a reason names."""

    format: str
    version: int
    id: str
    name: str
    units: UnitSystem
    currency: str
    sample_prices: bool
    rules: Rules
    board_kinds: tuple[BoardKind, ...]
    sheets_on_sale: tuple[SheetOnSale, ...]
    rooms: tuple[RoomGeometry, ...]
    partitions: tuple[PartitionShape, ...]
    partition_frames: tuple[PartitionFrame, ...]
    partition_choices: tuple[PartitionTotals, ...]
    framed: tuple[FramedSurface, ...]
    plans: tuple[BoardPlan, ...]
    refused: tuple[Refusal, ...]
    # documents have called them so since the first version
    loose_edges: tuple[UnsupportedEdge, ...]
    seams: tuple[Seam, ...]
    needs: tuple[Need, ...]
    figures: tuple[Figure, ...]
    cross_checks: tuple[CrossCheck, ...]
    supply: SupplyList
    warnings: tuple[str, ...]
    caution: str


def document(takeoff: Takeoff, choices: tuple[PartitionChoice, ...] = ()) -> dict[str, Any]:
    """The takeoff as plain dicts, lists, texts and whole numbers, ready for `json.dumps`."""
    house = takeoff.house
    named = sorted(
        {name for need in takeoff.needs for reason in need.reasons for name in reason.figures}
    )
    return typing.cast(
        "dict[str, Any]",
        codec.write(
            Document(
                format=FORMAT,
                version=VERSION,
                id=house.id,
                name=house.name,
                units=house.units,
                currency=house.catalogue.currency,
                sample_prices=takeoff.supply.sample_prices,
                rules=house.rules,
                board_kinds=house.catalogue.boards,
                sheets_on_sale=house.catalogue.sheets
                if house.rules.sheets is None
                else house.rules.sheets,
                rooms=takeoff.rooms,
                partitions=takeoff.partitions,
                partition_frames=takeoff.partition_frames,
                partition_choices=tuple(
                    PartitionTotals(
                        partition=choice.partition,
                        framed=choice.framed,
                        needs=choice.takeoff.needs,
                        supply=choice.takeoff.supply,
                    )
                    for choice in choices
                ),
                framed=takeoff.framed,
                plans=takeoff.plans,
                refused=takeoff.refused,
                loose_edges=takeoff.unsupported_edges,
                seams=takeoff.seams,
                needs=takeoff.needs,
                figures=tuple(figures.figure(name) for name in named),
                cross_checks=takeoff.cross_checks,
                supply=takeoff.supply,
                warnings=takeoff.warnings,
                caution=CAUTION,
            )
        ),
    )


def document_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of what `document` writes."""
    definitions: dict[str, Any] = {}
    _schema(Document, definitions)
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "A takeoff, version 1",
        "description": " ".join((__doc__ or "").split()),
        "$ref": "#/$defs/Document",
        "$defs": dict(sorted(definitions.items())),
    }


_TEXT_PATTERNS = {Fraction: r"^-?\d+(/\d+)?$", Decimal: r"^-?\d+(\.\d+)?$"}


def _schema(hint: Any, definitions: dict[str, Any]) -> dict[str, Any]:
    if alternatives := alternatives_of(hint):
        return {"anyOf": [_schema(kind, definitions) for kind in alternatives]}
    if hint is types.NoneType:
        return {"type": "null"}
    if hint is Nm:
        return {"type": "integer", "description": "nanometres"}
    if hint is Cents:
        return {"type": "integer", "description": "cents of the document's currency"}
    if hint is bool:
        return {"type": "boolean"}
    if hint is int:
        return {"type": ["integer", "string"], "pattern": r"^-?\d+$"}
    if hint is str:
        return {"type": "string"}
    if hint in _TEXT_PATTERNS:
        return {"type": "string", "pattern": _TEXT_PATTERNS[hint]}
    if items := items_of(hint):
        kinds, repeats = items
        if repeats:
            return {"type": "array", "items": _schema(kinds[0], definitions)}
        return {
            "type": "array",
            "prefixItems": [_schema(kind, definitions) for kind in kinds],
            "minItems": len(kinds),
            "maxItems": len(kinds),
        }
    if isinstance(hint, type) and issubclass(hint, Enum):
        return {"enum": [choice.value for choice in hint]}
    if hint.__name__ not in definitions:
        definitions[hint.__name__] = {}  # holds the place while its own fields are looked at
        definitions[hint.__name__] = {
            "type": "object",
            "description": " ".join((hint.__doc__ or "").split()),
            "additionalProperties": False,
            "required": [name for name, _ in fields_of(hint)],
            "properties": {name: _schema(inner, definitions) for name, inner in fields_of(hint)},
        }
    return {"$ref": f"#/$defs/{hint.__name__}"}


def schema_text() -> str:
    """The schema as it stands in the file beside this module."""
    return json.dumps(document_schema(), indent=1) + "\n"
