"""What people decided stays, whatever is read anew; handles never come to mean another thing."""

import sqlite3
from dataclasses import replace
from pathlib import Path

import pytest

from kbindex.doubts import Decisions, Verdict, WorkPlace
from kbindex.records import By, Operation
from kbindex.store.library import DATABASE, Library
from kbindex.store.schema import MIGRATIONS

FILMED = WorkPlace("a.mp4", None, 12, "", "door latch", Operation.REPLACE, By.US)
WRITTEN = WorkPlace("b.txt", None, None, "j-b", "door latch", Operation.REPLACE, By.OTHER)


@pytest.fixture
def library(tmp_path: Path):
    with Library.open(tmp_path / "library", create=True) as opened:
        yield opened


def test_decisions_come_back_as_they_were_kept(library: Library) -> None:
    one, two, three, four = library.numbers_of(["one", "two", "three", "four"]).values()
    library.keep_pair(one, ("j-1", "j-2"), Verdict.SAME)
    library.keep_pair(two, ("j-1", "j-3"), Verdict.APART)
    library.keep_attempt(three, FILMED, Verdict.RIGHT)
    library.keep_attempt(four, WRITTEN, Verdict.WRONG)
    kept = Decisions((("j-1", "j-2"),), (("j-1", "j-3"),), (FILMED,), (WRITTEN,))
    assert library.decisions() == kept
    with Library.open(library.folder) as again:
        assert again.decisions() == kept


def test_a_later_word_takes_the_place_of_an_earlier_one(library: Library) -> None:
    (number,) = library.numbers_of(["one"]).values()
    for first, last in ((Verdict.RIGHT, Verdict.WRONG), (Verdict.WRONG, Verdict.RIGHT)):
        library.keep_attempt(number, WRITTEN, first)
        library.keep_attempt(number, WRITTEN, last)
    library.keep_pair(number, ("j-1", "j-2"), Verdict.SAME)
    library.keep_pair(number, ("j-1", "j-2"), Verdict.APART)
    assert library.decisions() == Decisions(apart=(("j-1", "j-2"),), right=(WRITTEN,))


def test_an_answer_is_taken_back_with_all_that_was_kept_for_it(library: Library) -> None:
    one, two = library.numbers_of(["one", "two"]).values()
    library.keep_attempt(one, FILMED, Verdict.WRONG)
    library.keep_attempt(one, WRITTEN, Verdict.WRONG)
    library.keep_pair(two, ("j-1", "j-2"), Verdict.SAME)
    assert not library.take_back_pair(one)
    assert not library.take_back_attempt(two)
    assert library.take_back_attempt(one)
    assert library.decisions() == Decisions(same=(("j-1", "j-2"),))
    assert library.take_back_pair(two)
    assert library.decisions() == Decisions()
    assert not library.take_back_pair(two)


def test_a_number_belongs_to_its_name_for_good(library: Library) -> None:
    assert library.numbers_of(["b", "a"]) == {"b": 1, "a": 2}
    assert library.numbers_of(["c", "a"]) == {"c": 3, "a": 2}
    assert library.numbers_of([]) == {}


def test_decisions_follow_a_document_to_its_new_name(library: Library) -> None:
    (number,) = library.numbers_of(["one"]).values()
    for place in (FILMED, WRITTEN):
        library.keep_attempt(number, place, Verdict.RIGHT)
    library.keep_pair(number, ("j-a", "j-b"), Verdict.APART)
    library.rename_in_decisions("b.txt", "z.txt", {"j-b": "j-0"})
    moved = replace(WRITTEN, source="z.txt", telling="j-0")
    assert library.decisions() == Decisions(apart=(("j-0", "j-a"),), right=(FILMED, moved))


def test_everything_in_one_go_or_nothing(library: Library) -> None:
    (number,) = library.numbers_of(["one"]).values()
    with pytest.raises(RuntimeError), library.atomic():
        library.keep_pair(number, ("j-1", "j-2"), Verdict.SAME)
        library.replace_jobs([], [], [("j-3", "j-4")])
        raise RuntimeError
    assert library.decisions() == Decisions()
    assert library.doubtful_pairs() == []


def test_doubtful_pairs_are_those_of_the_last_joining(library: Library) -> None:
    library.replace_jobs([], [], [("j-3", "j-4"), ("j-1", "j-2")])
    assert library.doubtful_pairs() == [("j-1", "j-2"), ("j-3", "j-4")]
    library.replace_jobs([], [])
    assert library.doubtful_pairs() == []


def test_a_library_from_before_is_brought_up_and_has_its_jobs_joined_again(tmp_path: Path) -> None:
    connection = sqlite3.connect(tmp_path / DATABASE)
    connection.executescript(f"{MIGRATIONS[0][1]} PRAGMA user_version = 1;")
    connection.execute("UPDATE state SET value = 0 WHERE name = 'jobs_version'")
    connection.execute('INSERT INTO jobs VALUES (\'job-1\', \'{"id":"job-1","sources":[]}\')')
    connection.commit()
    connection.close()
    with Library.open(tmp_path) as opened:
        assert not opened.jobs_are_current()
        assert [job.id for job in opened.jobs()] == ["job-1"]
        assert opened.decisions() == Decisions()
