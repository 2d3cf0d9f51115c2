"""Imports go down only: the floors of the house, as DEVELOPERS.md draws them."""

import ast
from pathlib import Path

import pytest

import kbindex

PACKAGE = Path(kbindex.__file__).parent
FILES = sorted(file for file in PACKAGE.rglob("*.py"))

WORDS = {"records", "questions", "doubts", "errors", "settings", "contracts"}
THINKING = {"reading", "evidence", "search"}
MAY_IMPORT = {
    "records": set(),
    "errors": set(),
    "questions": {"records"},
    "doubts": {"records"},
    "settings": {"errors"},
    "contracts": {"records"},
    "reading": WORDS | {"reading"},
    "evidence": WORDS | {"evidence"},
    "search": WORDS | {"search", "reading"},
    "engines": WORDS | THINKING | {"engines"},
    "store": WORDS | THINKING | {"store"},
    "intake": WORDS,
    "review": WORDS | THINKING | {"store"},
    "ingest": WORDS | THINKING | {"store", "intake", "review"},
    "answer": WORDS | THINKING | {"store"},
    "assemble": WORDS | THINKING | {"store", "engines", "ingest", "answer"},
    "exports": {"records", "questions", "doubts", "errors", "exports"},
    "cli": {"assemble", "ingest", "answer", "review", "records", "questions", "doubts", "errors", "settings", "exports", ""},
}
OUTSIDE_OF_THINKING = {"numpy", "scipy"}
FOREIGN = {
    "faster_whisper",
    "sentence_transformers",
    "torch",
    "faiss",
    "av",
    "onnxruntime",
    "threadpoolctl",
    "tokenizers",
    "docx",
    "pypdf",
    "safetensors",
    "huggingface_hub",
    "transformers",
    "sqlite3",
}


def _room(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def _imports(file: Path) -> list[str]:
    found = []
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module:
            found += [f"{node.module}.{alias.name}" for alias in node.names] if node.module == "kbindex" else [node.module]
    return found


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.relative_to(PACKAGE).as_posix())
def test_imports_go_down_only(file: Path) -> None:
    room = file.relative_to(PACKAGE).parts[0].removesuffix(".py")
    if room == "__init__":
        return
    own = [_room(name) for name in _imports(file) if name.split(".")[0] == "kbindex"]
    assert set(own) - {"__version__"} <= MAY_IMPORT[room], f"{file} reaches up or sideways"


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.relative_to(PACKAGE).as_posix())
def test_foreign_libraries_stay_in_engines_and_sql_in_store(file: Path) -> None:
    room = file.relative_to(PACKAGE).parts[0]
    foreign = {name.split(".")[0] for name in _imports(file)} & FOREIGN
    allowed = {"engines": FOREIGN - {"sqlite3"}, "store": {"sqlite3"}}.get(room, set())
    assert foreign <= allowed


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.relative_to(PACKAGE).as_posix())
def test_files_are_short(file: Path) -> None:
    assert len(file.read_text(encoding="utf-8").splitlines()) <= 400
