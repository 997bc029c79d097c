"""Store what people have today: `python -m tests.kept.make 2026-11` writes `fixtures/kept/2026-11`.

A state that is stored is never made again: the code that wrote it is gone. A later one is added
beside it, when what people have has changed so that a migration after it needs something new to be
tried on.
"""

from __future__ import annotations

import argparse
import json
import lzma
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.kept.states import ARCHIVE, DATABASE, KEPT, ROOT, row_counts

__all__ = ["SET_UP", "main", "make", "run"]

# what a line of Python begins with that needs the product
SET_UP = "import django, json; django.setup()"


def make(folder: Path) -> None:
    """Write a data folder and its archive into `folder`, the database compressed, with the counts
    of its rows."""
    with tempfile.TemporaryDirectory() as kept:
        data = Path(kept) / "data"
        run(data, "manage.py", "migrate", "-v", "0")
        run(data, "manage.py", "load_demo")
        run(data, "-c", f"{SET_UP}; from tests.kept.fill import fill; fill()")
        _store(data, folder / "live")
        run(data, "manage.py", "archive", str(folder / ARCHIVE))
        facts = json.loads(
            run(
                data,
                "-c",
                f"{SET_UP}; from tests.kept.facts import facts; print(json.dumps(facts()))",
            )
        )
        counts = {"tables": row_counts(data / DATABASE), "facts": facts}
    (folder / "counts.json").write_text(json.dumps(counts, indent=1, sort_keys=True) + "\n")


def run(data: Path, *words: str) -> str:
    """Run Python in the root of the project on a data folder, for a process has one; returns what
    it printed, and raises with its complaint where it fails. Nothing of how the tests themselves
    are run goes with it."""
    own = {name: value for name, value in os.environ.items() if name in ("PATH", "HOME", "LANG")}
    own |= {
        "HALFBAY_DATA": str(data),
        "HALFBAY_TIME_ZONE": "America/Chicago",
        "DJANGO_SETTINGS_MODULE": "tests.settings",
    }
    done = subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env=own,
        capture_output=True,
        text=True,
        timeout=900,
        check=False,
    )
    if done.returncode:
        raise RuntimeError(f"{' '.join(words)} failed:\n{done.stderr}")
    return done.stdout


def _store(data: Path, folder: Path) -> None:
    folder.mkdir(parents=True)
    packed = lzma.compress((data / DATABASE).read_bytes(), preset=9 | lzma.PRESET_EXTREME)
    (folder / f"{DATABASE}.xz").write_bytes(packed)
    for name in ("media", "packs"):
        if (data / name).is_dir():
            shutil.copytree(data / name, folder / name)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("name", help="year and month, for example 2026-11")
    folder = KEPT / parser.parse_args().name
    if folder.exists():
        sys.exit(
            f"{folder} is stored already. Choose another name; a stored state is never made again"
        )
    make(folder)


if __name__ == "__main__":
    main()
