"""Imports run one way: base <- stages <- joiners <- dashboards."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MV = ROOT / "mv"
FOLDERS_OF_JOINERS = {"study_file", "drafting", "verifying", "documents", "programme"}
STAGES = sorted(
    p.name
    for p in MV.iterdir()
    if (p / "__init__.py").exists() and p.name not in FOLDERS_OF_JOINERS | {"base"}
)
FILES = sorted(MV.rglob("*.py"))
DASHBOARD_FILES = sorted((ROOT / "dashboards").rglob("*.py"))


def imported_modules(path: Path) -> set[str]:
    """Every module named by an import statement, relative ones made absolute."""
    package = list(path.relative_to(ROOT).with_suffix("").parts[:-1])
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) - node.level + 1]) if node.level else ""
            module = ".".join(part for part in (base, node.module or "") if part)
            names |= {f"{module}.{alias.name}" for alias in node.names} | {module}
    return names


def top_of(module: str) -> str:
    """ "mv.readers.csv" -> "readers"; "" for modules outside mv."""
    parts = module.split(".")
    return parts[1] if parts[0] == "mv" and len(parts) > 1 else ""


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(MV)))
def test_mv_never_imports_the_dashboards(path: Path) -> None:
    roots = {module.split(".")[0] for module in imported_modules(path)}
    assert not roots & {"dash", "dashboards", "flask"}


@pytest.mark.parametrize(
    "path",
    [p for p in FILES if p.relative_to(MV).parts[0] in STAGES],
    ids=lambda p: str(p.relative_to(MV)),
)
def test_a_stage_imports_only_itself_and_the_base(path: Path) -> None:
    stage = path.relative_to(MV).parts[0]
    named = {top_of(module) for module in imported_modules(path)} - {"", "__version__"}
    assert named <= {stage, "base"}


@pytest.mark.parametrize(
    "path", [p for p in FILES if p.relative_to(MV).parts[0] == "base"], ids=lambda p: p.name
)
def test_the_base_imports_only_the_base(path: Path) -> None:
    assert {top_of(module) for module in imported_modules(path)} - {""} <= {"base"}


JOINERS = [path for path in FILES if path.parent == MV or path.parent.name in FOLDERS_OF_JOINERS]


@pytest.mark.parametrize("path", [*JOINERS, *DASHBOARD_FILES], ids=lambda p: str(p.relative_to(ROOT)))
def test_those_who_join_stages_use_what_a_stage_exports_and_not_its_inside(path: Path) -> None:
    named = {
        node.module
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ImportFrom) and node.module and top_of(node.module) in STAGES
    }
    assert all(module.count(".") == 1 for module in named), named
