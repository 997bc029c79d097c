"""Archives made wrong on purpose."""

from __future__ import annotations

import json
import zipfile
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import Any

__all__ = ["changed", "damaged", "members_of"]

Members = dict[str, bytes]
Change = Callable[[Members, dict[str, Any]], None]


def members_of(path: Path) -> tuple[Members, dict[str, Any]]:
    """The members of an archive but the manifest, and the manifest."""
    with zipfile.ZipFile(path) as archive:
        members = {info.filename: archive.read(info) for info in archive.infolist()}
    return members, json.loads(members.pop("manifest.json"))


def changed(path: Path, target: Path, change: Change, *, honest: bool = True) -> Path:
    """A copy of an archive after a change of its members and its manifest. An honest one has a
    manifest that says so, as somebody who means harm would make it."""
    members, manifest = members_of(path)
    change(members, manifest)
    if honest:
        manifest["members"] = [
            {"name": name, "size": len(content), "sha256": sha256(content).hexdigest()}
            | ({"rows": content.count(b"\n")} if name.endswith(".jsonl") else {})
            for name, content in members.items()
        ]
    with zipfile.ZipFile(target, "w") as archive:
        for name, content in {**members, "manifest.json": json.dumps(manifest).encode()}.items():
            packed = zipfile.ZIP_DEFLATED if name.endswith("l") else zipfile.ZIP_STORED
            archive.writestr(name, content, compress_type=packed)
    return target


def damaged(path: Path, target: Path, position: int) -> Path:
    """A copy of a file with one byte flipped."""
    content = bytearray(path.read_bytes())
    content[position] ^= 0x55
    target.write_bytes(content)
    return target
