"""A house for the order of work: a kitchen with a pantry framed before its board, and a closet
framed after it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from takeoff.sequence.graph import Known, Place, Site, Thing
from takeoff.sequence.rules import FACTS

DONE = Known(done=True)
WARM = frozenset(FACTS) - {"cold"}


def site(facts: Iterable[str] = WARM) -> Site:
    """The house, with nothing done yet."""
    facts = frozenset(facts)
    before = Thing(
        id="pantry-wall", name="Pantry wall", known={"partition-first": Known()}, behind="pantry"
    )
    after = Thing(
        id="closet-wall",
        name="Closet wall",
        known={
            kind: Known() for kind in ("backing-bought", "backing", "partition-later", "hang-faces")
        },
        behind="closet",
    )
    rail = Thing(id="rail", name="Rail", known={"blocking": Known()}, faces=frozenset({"A"}))
    kitchen = Place(
        room="kitchen",
        name="Kitchen",
        facts=facts,
        things=(before, after, rail),
        ceilings=frozenset({"ceiling"}),
        walls=frozenset("ABCD"),
    )
    behind = [
        Place(room=key, name=key.capitalize(), facts=facts, parent="kitchen")
        for key in ("pantry", "closet")
    ]
    return Site(places=(kitchen, *behind))


def done_in(house: Site, steps: Iterable[str], known: Known = DONE) -> Site:
    """The house with some steps done, by their ids."""
    for id_ in steps:
        room, kind, *thing = id_.split("/")
        if not room:
            house = replace(house, known={**house.known, kind: known})
            continue
        house = replace(
            house,
            places=tuple(
                _with(place, kind, thing[0] if thing else "", known)
                if place.room == room
                else place
                for place in house.places
            ),
        )
    return house


def _with(place: Place, kind: str, thing: str, known: Known) -> Place:
    if not thing:
        return replace(place, known={**place.known, kind: known})
    return replace(
        place,
        things=tuple(
            replace(one, known={**one.known, kind: known}) if one.id == thing else one
            for one in place.things
        ),
    )
