"""Imports run one way: no circle among the packages of the project, none among files."""

import ast
from collections.abc import Iterator, Mapping
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]

Graph = Mapping[str, set[str]]


def circle(graph: Graph) -> list[str]:
    """The names of one circle of the graph, sorted; empty where there is none."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return sorted(set(error.args[1]))
    return []


def mutual_pairs(graph: Graph) -> list[tuple[str, str]]:
    """Pairs of which each imports the other."""
    return [
        (name, target)
        for name in sorted(graph)
        for target in sorted(graph[name])
        if name < target and name in graph.get(target, ())
    ]


def modules_of(root: Path, package: str) -> dict[str, Path]:
    """The modules of a package by their dotted names; a package is named as its folder."""
    modules = {}
    for path in sorted((root / package).rglob("*.py")):
        parts = path.relative_to(root).with_suffix("").parts
        modules[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return modules


def is_type_checking(node: ast.stmt) -> bool:
    return isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")


def statements(tree: ast.AST, *, at_import: bool) -> Iterator[ast.Import | ast.ImportFrom]:
    """The import statements of a module: all of them, or those carried out as it is imported."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            yield node
        elif at_import and isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            continue
        elif at_import and isinstance(node, ast.If) and is_type_checking(node):
            for other in node.orelse:
                yield from statements(other, at_import=True)
        else:
            yield from statements(node, at_import=at_import)


def imports(root: Path, package: str, *, at_import: bool = False) -> Graph:
    """Which module of a package imports which other one of it.

    `from package import name` is an import of the module `package.name` where there is one, and
    else of `package`.
    """
    modules = modules_of(root, package)
    graph: dict[str, set[str]] = {}
    for name, path in modules.items():
        targets = graph.setdefault(name, set())
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in statements(tree, at_import=at_import):
            if isinstance(node, ast.Import):
                targets |= {alias.name for alias in node.names}
                continue
            source = node.module or ""
            if node.level:
                inside = name if path.name == "__init__.py" else name.rpartition(".")[0]
                for _ in range(node.level - 1):
                    inside = inside.rpartition(".")[0]
                source = f"{inside}.{source}" if source else inside
            targets |= {
                full if (full := f"{source}.{alias.name}") in modules else source
                for alias in node.names
            }
        targets.intersection_update(modules)
        targets.discard(name)
    return graph


def grouped(graph: Graph, depth: int) -> Graph:
    """The graph of packages: names are cut after so many parts below the root."""
    groups: dict[str, set[str]] = {}
    for name, targets in graph.items():
        group = ".".join(name.split(".")[: depth + 1])
        kept = groups.setdefault(group, set())
        kept |= {".".join(target.split(".")[: depth + 1]) for target in targets}
        kept.discard(group)
    return groups


@pytest.fixture(scope="module")
def project() -> Graph:
    return imports(ROOT, "remodel")


def write(root: Path, **texts: str) -> None:
    for name, text in texts.items():
        path = root / "shop" / f"{name.replace('__', '/')}.py"
        path.parent.mkdir(parents=True, exist_ok=True)
        for folder in (path.parent, root / "shop"):
            (folder / "__init__.py").touch()
        path.write_text(text)


class TestTheFinder:
    def test_a_chain_is_no_circle(self):
        graph = {"tills": {"orders"}, "orders": {"goods"}, "goods": set()}
        assert circle(graph) == []
        assert mutual_pairs(graph) == []

    def test_a_pair_is_a_circle(self):
        graph = {"orders": {"goods"}, "goods": {"orders"}, "tills": {"orders"}}
        assert circle(graph) == ["goods", "orders"]
        assert mutual_pairs(graph) == [("goods", "orders")]

    def test_a_circle_through_three_has_no_mutual_pair(self):
        graph = {"tills": {"orders"}, "orders": {"goods"}, "goods": {"tills"}, "signs": {"tills"}}
        assert circle(graph) == ["goods", "orders", "tills"]
        assert mutual_pairs(graph) == []

    def test_circle_of_packages_is_read_from_files(self, tmp_path):
        write(
            tmp_path,
            orders__models="from shop.goods import models\n",
            goods__models="",
            goods__prices="def price():\n    from shop.orders.models import Order\n",
        )
        graph = imports(tmp_path, "shop")
        assert circle(graph) == []
        assert circle(grouped(graph, 1)) == ["shop.goods", "shop.orders"]

    def test_import_for_types_alone_makes_a_circle_of_packages(self, tmp_path):
        text = (
            "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    import shop.orders.models\n"
        )
        write(tmp_path, orders__models="import shop.goods.models\n", goods__models=text)
        assert mutual_pairs(grouped(imports(tmp_path, "shop"), 1)) == [
            ("shop.goods", "shop.orders")
        ]
        assert circle(imports(tmp_path, "shop", at_import=True)) == []

    def test_circle_of_files_is_of_what_is_imported_at_import(self, tmp_path):
        write(tmp_path, orders="from shop import goods\n", goods="from .orders import Order\n")
        assert circle(imports(tmp_path, "shop", at_import=True)) == ["shop.goods", "shop.orders"]
        write(tmp_path, goods="def price():\n    from .orders import Order\n")
        assert circle(imports(tmp_path, "shop", at_import=True)) == []


def test_packages_of_the_project_form_no_circle(project):
    packages = grouped(project, 1)
    assert len(packages) > 15
    assert packages["remodel.pages"] >= {"remodel.house", "remodel.people", "remodel.web"}
    assert circle(packages) == []
    assert mutual_pairs(packages) == []


def test_subjects_of_the_pages_form_no_circle(project):
    pages = {
        name: targets for name, targets in project.items() if name.startswith("remodel.pages.")
    }
    subjects = grouped(pages, 2)
    assert len(subjects) > 8
    assert circle(subjects) == []


def test_what_all_stand_on_knows_of_no_app(project):
    packages = grouped(project, 1)
    assert packages["remodel.bridge"] == set()
    assert packages["remodel.history"] == set()
    assert packages["remodel.printing"] == set()
    assert packages["remodel.web"] == {"remodel.bridge", "remodel.logs", "remodel.outages"}


def test_no_app_knows_of_pages(project):
    """The list of all addresses names them, as text."""
    assert [
        name
        for name, targets in project.items()
        if not name.startswith("remodel.pages")
        and any(target.startswith("remodel.pages") for target in targets)
    ] == []


@pytest.mark.parametrize("package", ["remodel", "takeoff"])
def test_files_form_no_circle_as_they_are_imported(package):
    graph = imports(ROOT, package, at_import=True)
    assert len(graph) > 100
    assert circle(graph) == []
