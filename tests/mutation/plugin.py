"""A plugin of pytest that gives tests a module with a fault: `MUTANT=takeoff.cutting.fill:7`."""

from __future__ import annotations

import os
import sys
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder, SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any

from tests.mutation.mutants import mutant


class _Loader(SourceFileLoader):
    def get_code(self, fullname: str) -> CodeType:
        return compile(mutant(Path(self.path), _INDEX), self.path, "exec")


class _Finder(MetaPathFinder):
    def find_spec(self, fullname: str, path: Any, target: Any = None) -> ModuleSpec | None:
        if fullname != _MODULE:
            return None
        spec = PathFinder.find_spec(fullname, path)
        assert spec is not None
        assert spec.origin is not None
        spec.loader = _Loader(fullname, spec.origin)
        return spec


_MODULE, _, _number = os.environ["MUTANT"].partition(":")
_INDEX = int(_number)
assert _MODULE not in sys.modules, "the tests would have the module without its fault"
sys.meta_path.insert(0, _Finder())
