"""`python -m tests.fuzz [TARGET ...] [--seconds 60]`: each target in a process of its own, led by
what of the code it reaches; without a name all of them, one after another. What a target does not
take is kept and told, and the command ends in 1."""

from __future__ import annotations

import argparse
import hashlib
import os
import subprocess
import sys
import tempfile
from pathlib import Path

KEPT = Path(__file__).parent / "kept"
ROOT = Path(__file__).parents[2]


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("targets", nargs="*", metavar="TARGET")
    parser.add_argument("--seconds", type=int, default=60, help="for each target (default 60)")
    parser.add_argument("--only", help=argparse.SUPPRESS)  # the child's own target
    asked = parser.parse_args()
    if asked.only:
        return _fuzz(asked.only, asked.seconds)
    failed = [name for name in _names(asked.targets) if _in_a_process(name, asked.seconds)]
    return 1 if failed else 0


def _names(asked: list[str]) -> list[str]:
    import django

    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    django.setup()
    from tests.fuzz.targets import TARGETS

    unknown = [name for name in asked if name not in TARGETS]
    if unknown:
        sys.exit(f"No target {unknown[0]!r}; there are {', '.join(TARGETS)}")
    return asked or list(TARGETS)


def _in_a_process(name: str, seconds: int) -> bool:
    """Whether a target did not take something; that is kept."""
    with tempfile.TemporaryDirectory() as folder:
        here = [sys.executable, "-m", "tests.fuzz", "--only", name, "--seconds", str(seconds)]
        done = subprocess.run(here, cwd=ROOT, env=os.environ | {"FUZZ_FOLDER": folder})
        found = sorted(Path(folder).glob("found/*"))
        for path in found:
            data = path.read_bytes()
            kept = KEPT / name / hashlib.sha256(data).hexdigest()[:16]
            kept.parent.mkdir(exist_ok=True)
            kept.write_bytes(data)
            print(f"{name}: not taken, kept in {kept.relative_to(ROOT)}")
    failed = bool(found) or done.returncode != 0
    print(f"{name}: {'FAILED' if failed else 'all taken or refused in a sentence'}", flush=True)
    return failed


def _fuzz(name: str, seconds: int) -> int:
    import atheris

    with atheris.instrument_imports(include=["takeoff", "remodel"]):
        import django

        django.setup()
        from tests.fuzz.targets import SEEDS, TARGETS

    corpus, found = (Path(os.environ["FUZZ_FOLDER"]) / part for part in ("corpus", "found"))
    corpus.mkdir()
    found.mkdir()
    for number, seed in enumerate(SEEDS[name]):
        (corpus / f"seed{number}").write_bytes(seed)
    arguments = [f"-max_total_time={seconds}", f"-artifact_prefix={found}/", "-timeout=10"]
    arguments += ["-rss_limit_mb=1500", "-verbosity=0", "-print_final_stats=1"]
    atheris.Setup([sys.argv[0], *arguments, str(corpus)], TARGETS[name])
    atheris.Fuzz()
    return 0


if __name__ == "__main__":
    sys.exit(main())
