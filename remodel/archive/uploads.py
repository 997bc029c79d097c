"""An archive that a browser sends, written to the disk as it comes.

It may be larger than the memory and larger than the folder for temporary files, so it is written
into the data folder, where it would go anyway.
"""

from __future__ import annotations

import tempfile
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import FileUploadHandler, StopUpload

__all__ = ["ArchiveUpload", "incoming"]

_ABANDONED = 3600.0  # seconds without a byte


def incoming() -> Path:
    """The folder in the data folder that archives come into. What an upload left there that ended
    with its process is removed."""
    folder = Path(settings.DATA_DIR) / "incoming"
    folder.mkdir(mode=0o700, exist_ok=True)
    for path in folder.iterdir():
        with suppress(OSError):
            if time.time() - path.stat().st_mtime > _ABANDONED:
                path.unlink()
    return folder


class ArchiveUpload(FileUploadHandler):
    """Writes a file to the disk as it comes, and no more of it than an archive may have. The file
    is removed when it is closed, which Django does at the end of the request."""

    def __init__(self, request: Any = None) -> None:
        super().__init__(request)
        self._file: Any = None
        self._size = 0

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        self._close()
        self._file = tempfile.NamedTemporaryFile(dir=incoming(), suffix=".zip")  # noqa: SIM115
        self._size = 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        self._size += len(raw_data)
        if self._size > settings.ARCHIVE_MAX_BYTES:
            self._close()
            raise StopUpload(connection_reset=True)
        self._file.write(raw_data)

    def file_complete(self, file_size: int) -> Any:
        self._file.flush()
        self._file.seek(0)
        return UploadedFile(
            file=self._file,
            name=self.file_name,
            content_type=self.content_type,
            size=file_size,
        )

    def upload_interrupted(self) -> None:
        self._close()

    def _close(self) -> None:
        if self._file is not None:
            self._file.close()
            self._file = None
