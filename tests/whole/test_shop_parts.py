"""A shop's own list of parts, from the settings through ingest to a question's words."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from command import Done, Run

from kbindex.store.library import Library

NOTES = {
    "2601-dryer.txt": "Job 2601. Dryer squeals when it turns. Replaced the humdinger. Ran it twenty minutes, quiet now.\n",
    "2602-dryer.txt": "Job 2602. Dryer squeals. Flux paddle replaced. Ran a full load, no more squeal.\n",
}
LIST = '[[part]]\nname = "flux paddle"\nmachines = ["dryer"]\nalso = ["humdinger"]\n'


@pytest.fixture
def repairs(tmp_path: Path) -> Path:
    folder = tmp_path / "repairs"
    folder.mkdir()
    for name, text in NOTES.items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def set_parts(library: Path, text: str, place: str = "our parts.toml") -> Path:
    """Give the library a list of parts, named in its settings by a path that starts at its folder."""
    library.mkdir(exist_ok=True)
    (library / "settings.toml").write_text(f'parts = "{place}"\n', encoding="utf-8")
    file = library / place
    file.write_text(text, encoding="utf-8")
    return file


def ok(done: Done) -> Any:
    assert done.code == 0, done.err
    return json.loads(done.out)


def counts(done: Done) -> tuple[int, int, int]:
    summary = ok(done)
    return summary["added"], summary["updated"], summary["unchanged"]


def worked_on(run: Run) -> dict[str, list[str]]:
    """Components of the attempts of each job."""
    return {job["job_no"]: [one["component"] for one in job["attempts"]] for job in ok(run("export", "--json"))["jobs"]}


def made_with(library: Path) -> set[str]:
    with Library.open(library) as opened:
        return {state.made_with for state in opened.files().values()}


def test_a_new_part_is_worked_on_only_with_the_list_and_a_changed_list_is_read_again(
    run: Run, library: Path, repairs: Path
) -> None:
    assert counts(run("ingest", repairs, "--json")) == (2, 0, 0)
    assert "flux paddle" not in {part for parts in worked_on(run).values() for part in parts}
    plainly = made_with(library)
    assert not any("parts" in made for made in plainly)

    file = set_parts(library, LIST)
    assert counts(run("ingest", repairs, "--json")) == (0, 2, 0)
    assert worked_on(run) == {"2601": ["flux paddle"], "2602": ["flux paddle"]}
    (fix,) = ok(run("ask", "dryer squeals", "--json"))["fixes"]
    assert (fix["component"], fix["tried"]) == ("flux paddle", 2)

    file.write_text(f"# the list of the shop\n\n{LIST}", encoding="utf-8")
    assert counts(run("ingest", repairs, "--json")) == (0, 0, 2)
    file.write_text(LIST.replace("flux paddle", "whirl paddle"), encoding="utf-8")
    assert counts(run("ingest", repairs, "--json")) == (0, 2, 0)
    assert worked_on(run)["2601"] == ["whirl paddle"]

    (library / "settings.toml").unlink()
    assert counts(run("ingest", repairs, "--json")) == (0, 2, 0)
    assert made_with(library) == plainly


def test_a_questions_words_are_read_with_the_list(run: Run, library: Path, repairs: Path) -> None:
    run("ingest", repairs)
    question = ("ask", "dryer squeals, is it the humdinger", "--json")
    assert ok(run(*question))["query"]["components"] == []
    set_parts(library, LIST)
    run("ingest", repairs)
    answer = ok(run(*question))
    assert answer["query"]["components"] == ["flux paddle"]
    assert [step["component"] for step in answer["order"]] == ["flux paddle"]
    assert ok(run(*question, "--tried", "humdinger"))["order"] == []


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (None, "cannot read the list of parts"),
        ("[[part]\n", "is not a TOML file"),
        ('[[part]]\nalso = ["humdinger"]\n', "[[part]] table 1 has no name"),
    ],
    ids=["missing", "no TOML", "no name"],
)
def test_a_list_that_cannot_be_ends_the_command_before_anything_is_written(
    run: Run, library: Path, repairs: Path, text: str | None, told: str
) -> None:
    file = set_parts(library, text or "")
    if text is None:
        file.unlink()
    before = sorted(library.iterdir())
    done = run("ingest", repairs)
    assert (done.code, done.out) == (2, "")
    (line,) = done.said
    assert told in line and str(file) in line
    assert sorted(library.iterdir()) == before


def test_a_question_with_a_list_that_cannot_be(run: Run, stocked: Path) -> None:
    set_parts(stocked, '[[part]]\nname = "flux paddle"\nmotors = []\n')
    done = run("ask", "dishwasher won't start")
    assert (done.code, done.out) == (2, "")
    assert "[[part]] table 1 ('flux paddle') has a key 'motors'" in done.err
