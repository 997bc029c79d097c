"""Photos and print sets as an archive holds them: the files of two of Django's storages, whichever
those are."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from django.core.files import File
from django.core.files.storage import FileSystemStorage, Storage, default_storage

from remodel.archive.errors import CannotRestore
from remodel.cards.pack_files import pack_files

__all__ = ["SAFE_NAME", "bytes_stored", "file_names", "put", "stores"]

# One part of a path inside an archive. It begins with no dot, so it leads nowhere else.
SAFE_NAME = r"[A-Za-z0-9_][A-Za-z0-9_.\-]*"


def stores() -> dict[str, Storage]:
    """The storages whose files are in an archive, by their names in it."""
    return {"media": default_storage, "packs": pack_files()}


def file_names(store: Storage, folder: str = "") -> Iterator[str]:
    """The names of all files of a storage, sorted. Halfbay writes no others than safe ones:
    whatever has another, the system put there."""
    try:
        folders, names = store.listdir(folder)
    except FileNotFoundError:
        return  # nothing was stored yet
    for name in sorted([*folders, *names]):
        if re.fullmatch(SAFE_NAME, name):
            path = f"{folder}/{name}" if folder else name
            if name in names:
                yield path
            else:
                yield from file_names(store, path)


def bytes_stored() -> list[int]:
    """The sizes of all photos and print sets."""
    return [store.size(name) for store in stores().values() for name in file_names(store)]


def put(store: Storage, name: str, path: Path) -> None:
    """Move a file into a storage. In a folder it keeps its time, and is there whole or not at all.

    Raises `CannotRestore` where another file has its name.
    """
    if isinstance(store, FileSystemStorage):
        target = Path(store.path(name))
        target.parent.mkdir(parents=True, exist_ok=True)
        path.rename(target)
        return
    with path.open("rb") as file:
        stored = store.save(name, File(file))
    if stored != name:
        store.delete(stored)
        raise CannotRestore(f"There is a file {name} in the storage already. Nothing was restored.")
