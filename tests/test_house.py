"""The house rules that a program can check: types, style, direction of imports, documents that say
what is there, benchmarks that still run."""

from __future__ import annotations

import ast
import doctest
import importlib
import os
import pkgutil
import re
import shlex
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import fields
from pathlib import Path

import pytest
from flask import Flask

import drill
from drill.cli.command import main
from drill.config import Config
from tests.conftest import SLOWEST_FIRST

ROOT = Path(__file__).parents[1]
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
SERVICE = (ROOT / "drill" / "README.md").read_text()
FIGURES = (ROOT / "tests" / "bench" / "README.md").read_text()
README = (ROOT / "README.md").read_text()
BENCHMARKS = sorted(
    path.stem
    for path in (ROOT / "tests" / "bench").glob("*.py")
    if "--small" in path.read_text() and not path.stem.startswith("test_")
)


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True)


@pytest.mark.parametrize(
    "command",
    [("ruff", "check", "."), ("ruff", "format", "--check", "."), ("mypy", "--strict", "-p", "cards", "-p", "drill")],
)
def test_style_and_types_are_clean(command: tuple[str, ...]) -> None:
    checked = run(*command)
    assert checked.returncode == 0, checked.stdout + checked.stderr


def modules() -> list[str]:
    return [
        module.name for module in pkgutil.walk_packages(drill.__path__, "drill.") if "migrations" not in module.name
    ]


@pytest.mark.parametrize("module", modules())
def test_examples_in_docstrings_come_out_as_written(module: str) -> None:
    assert doctest.testmod(importlib.import_module(module)).failed == 0


def imports(package: str) -> Iterator[tuple[str, str]]:
    """Every import in a package: the file, and the name imported."""
    for path in sorted((ROOT / package).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                yield from ((str(path.relative_to(ROOT)), alias.name) for alias in node.names)
            elif isinstance(node, ast.ImportFrom) and node.module:
                yield str(path.relative_to(ROOT)), node.module


def test_music_knows_nothing_of_the_service() -> None:
    allowed = sys.stdlib_module_names | {"cards", "svgwrite"}
    without = {"socket", "sqlite3", "subprocess", "time", "datetime", "random", "os", "pathlib", "urllib", "http"}
    for path, name in imports("cards"):
        top = name.partition(".")[0]
        assert top in allowed, f"{path} imports {name}"
        assert top not in without, f"{path} imports {name}: cards does no I/O and has no clock and no chance"


def package_of(path: str) -> str:
    """The package, or the module at the top of ``cards`` or ``drill``, that a file belongs to."""
    return Path(path).parts[1].removesuffix(".py")


def imported_packages(top: str) -> Iterator[tuple[str, str]]:
    """Every import from one package of ``top`` to another, late ones too: the file, and the package."""
    for path in sorted((ROOT / top).rglob("*.py")):
        file = str(path.relative_to(ROOT))
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom):
                assert node.level == 0, f"{file} has a relative import, which this test does not follow"
                names = [f"{node.module}.{alias.name}" for alias in node.names]
            else:
                continue
            for name in names:
                if name.startswith(f"{top}.") and name.split(".")[1] != package_of(file):
                    yield file, name.split(".")[1]


ORDER = {
    "drill": (
        ("cli",),
        ("serve",),
        ("app", "jobs"),
        ("web",),
        ("demo", "export"),
        ("progress", "play_along"),
        ("sessions",),
        ("jams",),
        ("tunes",),
        ("learning",),
        ("players",),
        ("planning",),
        ("store",),
        ("memory",),
        ("incoming", "config", "clock"),
        ("words",),
    ),
    "cards": (
        ("tune_sheet",),
        ("asks",),
        ("drawings", "charts"),
        ("voicings",),
        ("guitar",),
        ("theory",),
        ("messages",),
    ),
}
"""The packages from top to bottom: each may import only from lines below its own."""


@pytest.mark.parametrize("top", sorted(ORDER))
def test_imports_go_down_only(top: str) -> None:
    rank = {name: line for line, names in enumerate(ORDER[top]) for name in names}
    wrong = [
        f"{file} imports {top}.{package}"
        for file, package in imported_packages(top)
        if rank[package] <= rank[package_of(file)]
    ]
    assert not wrong, wrong


def circle_in(arrows: dict[str, set[str]]) -> list[str]:
    """Modules that import each other in a circle, or [] if there is none."""
    state: dict[str, str] = {}

    def visit(module: str, trail: list[str]) -> list[str]:
        state[module] = "open"
        for imported in sorted(arrows.get(module, ())):
            if state.get(imported) == "open":
                return [*trail[trail.index(imported) :], imported]
            if imported not in state:
                circle = visit(imported, [*trail, imported])
                if circle:
                    return circle
        state[module] = "done"
        return []

    return next((found for module in sorted(arrows) if module not in state and (found := visit(module, [module]))), [])


def test_a_circle_would_be_found() -> None:
    assert circle_in({"a": {"b"}, "b": {"c"}, "c": {"b"}}) == ["b", "c", "b"]
    assert circle_in({"a": {"b"}, "b": {"c"}, "c": set()}) == []


def test_no_module_imports_itself_through_others() -> None:
    files = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
        for top in ORDER
        for path in (ROOT / top).rglob("*.py")
    }
    arrows: dict[str, set[str]] = {}
    for module, path in files.items():
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom):
                for alias in node.names:
                    name = f"{node.module}.{alias.name}"
                    arrows.setdefault(module, set()).add(name if name in files else str(node.module))
    # A package's own module names what its modules hold, so its arrows to them do not count.
    arrows = {
        module: {name for name in names if name in files and not name.startswith(f"{module}.")}
        for module, names in arrows.items()
        if files[module].name != "__init__.py"
    }
    assert circle_in(arrows) == []


ONE_PER_TOPIC = {"cards/asks", "drill/web", "drill/cli"}
"""Packages with one module for each ask, page or group of commands may be larger than others."""
MOST_MODULES = 12


def test_no_package_holds_two_things() -> None:
    for top in ORDER:
        for package in (ROOT / top).rglob("__init__.py"):
            name = str(package.parent.relative_to(ROOT))
            modules = [path for path in package.parent.glob("*.py") if path.name != "__init__.py"]
            assert name in ONE_PER_TOPIC or len(modules) <= MOST_MODULES, f"{name} has {len(modules)} modules"


def test_a_class_name_stands_in_one_module() -> None:
    places: dict[str, set[str]] = {}
    for top in ORDER:
        for path in (ROOT / top).rglob("*.py"):
            for node in ast.parse(path.read_text()).body:
                if isinstance(node, ast.ClassDef):
                    places.setdefault(node.name, set()).add(str(path.relative_to(ROOT)))
    assert {name: files for name, files in places.items() if len(files) > 1} == {}


EMPTY_NAMES = {"each", "found", "here", "said", "told"}
"""Names of locals that do not say what they hold."""
EMPTY_NAMES_LEFT = {
    "cards/asks": 7,
    "cards/charts": 33,
    "cards/drawings": 11,
    "cards/guitar": 4,
    "cards/theory": 3,
    "cards/tune_sheet": 8,
    "cards/voicings": 26,
}
"""How often a package may still assign to one of them. Lower a number when it falls; never raise one."""


def empty_names_in(source: str) -> int:
    """How often a module assigns to a local or a parameter with an empty name."""
    nodes = list(ast.walk(ast.parse(source)))
    names = [node.id for node in nodes if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)]
    return sum(name in EMPTY_NAMES for name in (*names, *(node.arg for node in nodes if isinstance(node, ast.arg))))


def test_an_empty_name_would_be_counted() -> None:
    assert empty_names_in("for each in row:\n    found = [said for said in each]\nsorted(row, key=lambda here: 1)") == 4
    assert empty_names_in("for voicing in row.found:\n    play(voicing, told=1)") == 0


@pytest.mark.parametrize("top", sorted(ORDER))
def test_locals_are_named_for_what_they_hold(top: str) -> None:
    counted: dict[str, int] = {}
    for path in sorted((ROOT / top).rglob("*.py")):
        package = f"{top}/{package_of(str(path.relative_to(ROOT)))}"
        counted[package] = counted.get(package, 0) + empty_names_in(path.read_text())
    more = {name: number for name, number in counted.items() if number > EMPTY_NAMES_LEFT.get(name, 0)}
    assert not more, f"name these locals for what they hold: {more}"


def test_each_untyped_library_has_one_door() -> None:
    for library in ("svgwrite", "waitress", "apscheduler"):
        everywhere = [*imports("cards"), *imports("drill")]
        doors = {path for path, name in everywhere if name.partition(".")[0] == library}
        assert len(doors) <= 1, f"{library} is used in {doors}"


def table_cells(document: str) -> str:
    """The first cells of all table rows of a Markdown document, joined by spaces."""
    return " ".join(re.findall(r"^\| (.*?) \|", document, re.MULTILINE))


def test_every_dependency_has_its_reason() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    for extra in ([], *project["optional-dependencies"].values()):
        for requirement in [*project["dependencies"], *extra]:
            name = re.split(r"[\[<>=; ]", requirement, maxsplit=1)[0]
            assert name in re.split(r"[ ,]+", table_cells(DEVELOPERS)), f"{name} has no reason in DEVELOPERS.md"
            assert "<" in requirement or "sys_platform" in requirement, f"{requirement} has no upper end"


def test_every_setting_is_in_the_table() -> None:
    for setting in fields(Config):
        assert f"| `{setting.metadata['variable']}` |" in SERVICE


def test_every_command_is_in_the_table() -> None:
    told = set(re.findall(r"^\| `drill (\w+)", SERVICE, re.MULTILINE))
    assert told == set(main.commands)


def test_every_route_is_in_the_table(app: Flask) -> None:
    there = {
        f"{method} {rule.rule}"
        for rule in app.url_map.iter_rules()
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}
    }
    told = set(re.findall(r"^\| `((?:GET|PUT|POST|DELETE) /[^`]*)`", SERVICE, re.MULTILINE))
    assert told == there


MOST_LINES = 200
"""Lines of DEVELOPERS.md, which is one page; the details stand in the READMEs of the packages."""


def test_developers_is_one_page() -> None:
    assert len(DEVELOPERS.splitlines()) <= MOST_LINES


def packages() -> list[Path]:
    """The folders that have a README of their own: ``cards``, ``drill``, and the packages in them."""
    tops = [ROOT / top for top in sorted(ORDER)]
    return [*tops, *(init.parent for top in tops for init in sorted(top.glob("*/__init__.py")))]


@pytest.mark.parametrize("package", packages(), ids=lambda path: str(path.relative_to(ROOT)))
def test_a_packages_readme_names_its_modules(package: Path) -> None:
    readme = (package / "README.md").read_text()
    inside = package.glob("*.py") if package.parent == ROOT else package.rglob("*.py")
    modules = {path.name for path in inside if path.name != "__init__.py" and "migrations" not in path.parts}
    assert set(re.findall(r"^\| `([^`/]+\.py)` \|", readme, re.MULTILINE)) == modules


def test_every_package_is_in_the_picture() -> None:
    picture = DEVELOPERS.partition("## The packages\n")[2].partition("\n## ")[0]
    for top in ORDER:
        readme = (ROOT / top / "README.md").read_text()
        for name in {package_of(str(path.relative_to(ROOT))) for path in (ROOT / top).rglob("*.py")} - {"__init__"}:
            assert re.search(rf"^    .*\b{name}\b", picture, re.MULTILINE), f"{top}/{name} is not in the picture"
            if (ROOT / top / name).is_dir():
                assert f"| [{name}/]({name}/README.md) |" in readme
                assert f"]({top}/{name}/README.md)" in picture


def test_every_bench_is_in_the_table() -> None:
    bench = ROOT / "tests" / "bench"
    modules = {path for path in bench.rglob("*.py") if not path.name.startswith(("__", "test_"))}
    benches = {path for path in modules if '__name__ == "__main__"' in path.read_text()}
    assert set(BENCHMARKS) <= {path.stem for path in benches}
    assert set(re.findall(r"^\| `tests\.bench\.(\w+)` \|", FIGURES, re.MULTILINE)) == {path.stem for path in benches}
    others = {str(path.relative_to(bench)) for path in modules - benches}
    assert set(re.findall(r"^\| `([\w/]+\.py)` \|", FIGURES, re.MULTILINE)) == others


def heading_anchors(document: str) -> set[str]:
    """The anchors of the headings in a Markdown document: small letters, hyphens for spaces."""
    headings = re.findall(r"^#+ (.*)$", document, re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}


def documents() -> list[Path]:
    """Every Markdown file of the project, but for those in folders that are not part of it."""
    found = (path for path in ROOT.rglob("*.md") if not {"node_modules", "build", "dist"} & set(path.parts))
    return sorted(path for path in found if not any(part.startswith(".") for part in path.relative_to(ROOT).parts))


@pytest.mark.parametrize("document", documents(), ids=lambda path: str(path.relative_to(ROOT)))
def test_links_between_documents_lead_somewhere(document: Path) -> None:
    for link in re.findall(r"\]\(([^)\s]+)\)", document.read_text()):
        address, _, anchor = link.partition("#")
        if "://" in address or address.startswith("mailto:"):
            continue
        target = (document.parent / address) if address else document
        assert target.exists(), f"{link} leads nowhere"
        if anchor:
            assert anchor in heading_anchors(target.read_text()), f"{link}: there is no such heading"


def test_the_readme_has_the_two_commands() -> None:
    commands = re.findall(r"^    (python3 -m venv .*)$", README, re.MULTILINE)
    assert commands == [
        "python3 -m venv .venv && .venv/bin/pip install . && .venv/bin/drill serve",
        "python3 -m venv .venv && .venv/bin/pip install -e '.[test]'"
        " && .venv/bin/python -m pytest -n 3 --dist loadfile",
    ]
    ci = (ROOT / ".ci" / "run").read_text()
    assert "from_readme 'drill serve$'" in ci
    assert "from_readme 'python -m pytest'" in ci


def test_the_readmes_music_commands_run(tmp_path: Path) -> None:
    examples = re.findall(r"`drill ((?:chord|sheet|route) [^`]*)`", README)
    assert len(examples) >= 2
    for example in examples:
        done = subprocess.run(
            [
                sys.executable,
                "-c",
                "from drill.cli.command import main; main(prog_name='drill')",
                *shlex.split(example),
            ],
            cwd=tmp_path,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            capture_output=True,
            text=True,
        )
        assert done.returncode == 0, done.stderr


TABLES = {
    "learning": {
        "half-life threshold": 2,
        "nothing comes back:": 2,
        "missed cards come back:": 1,
        "mean ratio": 3,
    },
}
"""What a benchmark prints in its small size, and how often, where more is checked than that it runs."""


@pytest.mark.parametrize("benchmark", BENCHMARKS)
def test_benchmarks_still_run(benchmark: str) -> None:
    printed = run(f"tests.bench.{benchmark}", "--small")
    assert printed.returncode == 0, printed.stderr
    assert "Python" in printed.stdout
    assert f"tests.bench.{benchmark}" in FIGURES
    for words, count in TABLES.get(benchmark, {}).items():
        assert printed.stdout.count(words) == count, words


def test_the_slow_files_are_there() -> None:
    assert [name for name in SLOWEST_FIRST if not (ROOT / "tests" / name).is_file()] == []
