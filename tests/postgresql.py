"""A PostgreSQL server of our own, in a folder and on a loopback port of its own.

`python -m tests.postgresql COMMAND...` runs a command with DATABASE_URL set to one, which is gone
afterward. Every table is there already in whatever database is made on it.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.outages.product import ROOT, free_port

__all__ = ["Cluster", "is_installed"]

# What a power failure would lose is of no use to a test.
_QUICK = "fsync=off\nsynchronous_commit=off\nfull_page_writes=off\n"


def _tools() -> list[Path]:
    """The folders of the versions that are installed, as Debian lays them out."""
    return sorted(initdb.parent for initdb in Path("/usr/lib/postgresql").glob("*/bin/initdb"))


def is_installed() -> bool:
    return bool(_tools())


class Cluster:
    """A server that can be stopped at once and started again. `quick` is one whose writes are not
    forced to disk."""

    def __init__(self, folder: Path, *, quick: bool = False) -> None:
        self.folder, self.port = folder, free_port()
        self.tools = _tools()[-1]
        # The server refuses to run as root.
        self.user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        if self.user:
            shutil.chown(folder, "postgres")
        self._tool("initdb", "-D", str(folder / "data"), "-A", "trust", "-U", "halfbay")
        settings = (
            f"port={self.port}\nlisten_addresses='127.0.0.1'\nunix_socket_directories='{folder}'\n"
        )
        with (folder / "data" / "postgresql.conf").open("a") as file:
            file.write(settings + (_QUICK if quick else ""))
        self.start()

    def url(self, database: str) -> str:
        return f"postgres://halfbay@127.0.0.1:{self.port}/{database}"

    def make(self, database: str = "halfbay") -> str:
        """Make a database, and give its address."""
        self._tool("createdb", "-h", "127.0.0.1", "-p", str(self.port), "-U", "halfbay", database)
        return self.url(database)

    def start(self) -> None:
        self._tool(
            "pg_ctl", "-D", str(self.folder / "data"), "-l", str(self.folder / "log"), "-w", "start"
        )

    def stop(self) -> None:
        self._tool("pg_ctl", "-D", str(self.folder / "data"), "-m", "immediate", "-w", "stop")

    def _tool(self, name: str, *words: str) -> None:
        command = [*self.user, str(self.tools / name), *words]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, cwd="/")


def main(command: list[str]) -> int:
    if not is_installed():
        sys.exit("PostgreSQL is not installed: apt-get install postgresql")
    # Ended from outside, it still takes its server along.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(128 + signal.SIGTERM))
    folder = Path(tempfile.mkdtemp(prefix="halfbay-postgresql-", dir="/tmp"))
    cluster = Cluster(folder, quick=True)
    try:
        # PostgreSQL makes each new database a copy of this one. So the tables are made once, and
        # not once for each process that runs tests.
        _migrate(cluster.url("template1"), folder)
        environment = {**os.environ, "DATABASE_URL": cluster.make()}
        return subprocess.run(command, env=environment).returncode
    finally:
        cluster.stop()
        shutil.rmtree(folder, ignore_errors=True)


def _migrate(database: str, folder: Path) -> None:
    environment = {**os.environ, "DATABASE_URL": database, "HALFBAY_DATA": str(folder / "files")}
    command = [sys.executable, "manage.py", "migrate", "--verbosity", "0"]
    subprocess.run(command, env=environment, cwd=ROOT, check=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
