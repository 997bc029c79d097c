"""Where print sets lie: a storage of Django's, a folder in the data folder unless the settings name
another one."""

from __future__ import annotations

from pathlib import Path

from django.conf import settings
from django.core.files.storage import FileSystemStorage, Storage, storages

__all__ = ["PackFolder", "pack_files"]


class PackFolder(FileSystemStorage):
    """The folder `packs` of the data folder."""

    @property
    def base_location(self) -> str:
        return str(Path(settings.DATA_DIR) / "packs")

    @property
    def location(self) -> str:
        return str(Path(self.base_location).absolute())

    def listdir(self, path: str) -> tuple[list[str], list[str]]:
        """The folders and files in a folder; none where nothing was stored yet."""
        try:
            return super().listdir(path)
        except FileNotFoundError:
            return [], []


def pack_files() -> Storage:
    """The storage of print sets, each named by its pack alone."""
    return storages["packs"]
