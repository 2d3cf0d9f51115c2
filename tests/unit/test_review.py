"""What waits is offered with its reasons; what a person says is kept whole or not at all, and outlives reading."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from kbindex.doubts import Verdict
from kbindex.errors import QuestionError
from kbindex.reading import corrections
from kbindex.records import At, Attempt, Job, Operation, Outcome, Result, Source, SourceKind, Symptom, Told
from kbindex.review import carry_over, count_waiting, decide, list_waiting, rejoin
from kbindex.store.library import Library, NewDocument

SAME, APART, RIGHT, WRONG = Verdict


@pytest.fixture(autouse=True)
def doubt_below(monkeypatch: pytest.MonkeyPatch) -> None:
    """The threshold of these tests, whatever the program's is set to."""
    monkeypatch.setattr(corrections, "DOUBTFUL_BELOW", 0.6)


def telling(path: str, *, confidence: float = 0.9, day: str = "2026-03-02", shift_s: float = 0.0, text: str = "did it") -> Job:
    """A dishwasher that beeps: filmed (.mp4) with a new board, or written with a new latch."""
    filmed = path.endswith(".mp4")
    at = At(path, None, 20.2 + shift_s, 24.0 + shift_s) if filmed else At(path)
    work = Attempt(
        1, Operation.REPLACE, "control board" if filmed else "door latch", Result.FIXED, at, text=text, confidence=confidence
    )
    return Job(
        id=f"j-{path}",
        sources=(Source(path, SourceKind.RECORDING if filmed else SourceKind.NOTE),),
        date=day,
        appliance="dishwasher",
        symptoms=(Symptom("it beeps", ("beeps",), at),),
        attempts=(work,),
        outcome=Outcome.FIXED,
        fixed_by=1,
    )


def put(library: Library, path: str, jobs: Sequence[Job]) -> None:
    kind = SourceKind.RECORDING if path.endswith(".mp4") else SourceKind.NOTE
    nothing = np.zeros((0, 4), dtype=np.float32)
    library.put_document(
        NewDocument(path, Path("/shop") / path, kind, "00", 1, 1, 30.0, "test", (), Told(tuple(jobs), ()), nothing)
    )


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    """A film whose work is doubtful, and a note that may be of the same job."""
    with Library.open(tmp_path / "library", create=True) as opened:
        put(opened, "a.mp4", [telling("a.mp4", confidence=0.4)])
        put(opened, "b.txt", [telling("b.txt")])
        rejoin(opened)
        yield opened


def handles(library: Library) -> list[str]:
    waiting = list_waiting(library)
    return [one.handle for one in (*waiting.pairs, *waiting.attempts)]


def work(library: Library) -> dict[str, list[tuple[int, str, bool]]]:
    return {job.id: [(one.order, one.component, one.in_review) for one in job.attempts] for job in library.jobs()}


def test_what_waits_is_shown_with_its_place_and_what_speaks_for_it(library: Library) -> None:
    waiting = list_waiting(library)
    (pair,) = waiting.pairs
    assert (pair.handle, pair.one.id, pair.other.id) == ("p1", "j-a.mp4", "j-b.txt")
    assert (pair.one.text, pair.one.at.link) == ("it beeps", "a.mp4#t=20.2,24")
    assert [(one.what, one.detail, one.points) for one in pair.agree] == [("day", "2026-03-02", 3), ("complaint", "beeps", 1)]
    (attempt,) = waiting.attempts
    assert (attempt.handle, attempt.job, attempt.attempt.component) == ("a2", "j-a.mp4", "control board")
    assert count_waiting(library) == (1, 1)


def test_answers_settle_what_waits(library: Library) -> None:
    decide(library, [("p1", SAME), ("a2", RIGHT)])
    assert handles(library) == []
    assert count_waiting(library) == (0, 0)
    assert work(library) == {"j-a.mp4": [(1, "control board", False), (2, "door latch", False)]}


def test_a_wrong_attempt_is_gone_and_the_rest_numbered(library: Library) -> None:
    decide(library, [("p1", SAME), ("a2", WRONG)])
    assert work(library) == {"j-a.mp4": [(1, "door latch", False)]}
    assert library.jobs()[0].fixed_by == 1


def test_another_reading_changes_no_answer(library: Library) -> None:
    decide(library, [("p1", APART), ("a2", WRONG)])
    again = telling("a.mp4", confidence=0.55, shift_s=1.1, text="stuck a board in, other words")
    put(library, "a.mp4", [again])
    rejoin(library)
    assert work(library) == {"j-a.mp4": [], "j-b.txt": [(1, "door latch", False)]}
    assert handles(library) == []


def test_what_a_film_and_a_note_both_tell_is_wrong_in_both(library: Library) -> None:
    note = telling("b.txt", confidence=0.3)
    put(library, "b.txt", [replace(note, attempts=(replace(note.attempts[0], component="control board"),))])
    rejoin(library)
    assert work(library) == {"j-a.mp4": [(1, "control board", True)]}
    decide(library, [(handles(library)[0], WRONG)])
    assert work(library) == {"j-a.mp4": []}


def test_a_handle_never_comes_to_mean_another_thing(library: Library) -> None:
    assert handles(library) == ["p1", "a2"]
    put(library, "0.mp4", [telling("0.mp4", confidence=0.1, day="2026-01-01")])
    rejoin(library)
    assert handles(library) == ["p1", "a3", "a2"]
    decide(library, [("a2", WRONG)])
    assert handles(library) == ["p1", "a3"]


def test_an_answer_can_be_taken_back(library: Library) -> None:
    before = work(library)
    decide(library, [("p1", SAME), ("a2", WRONG)])
    decide(library, [], ["a2", "p1"])
    assert work(library) == before
    assert handles(library) == ["p1", "a2"]
    decide(library, [("p1", APART)])
    decide(library, [("a2", RIGHT)], ["p1"])
    assert handles(library) == ["p1"]


@pytest.mark.parametrize(
    ("said", "undone", "words"),
    [
        ([("a9", RIGHT)], [], "kbindex review lists"),
        ([("p9", SAME)], [], "kbindex review lists"),
        ([("", SAME)], [], "kbindex review lists"),
        ([("a2", SAME)], [], "an attempt; say --right or --wrong"),
        ([("p1", WRONG)], [], "a pair; say --same or --apart"),
        ([("a2", RIGHT), ("a2", WRONG)], [], "given twice"),
        ([], ["a2"], "nothing was said"),
        ([], ["p1"], "nothing was said"),
        ([], ["x"], "nothing was said"),
        ([("a2", WRONG), ("a9", RIGHT)], [], "a9"),
    ],
)
def test_a_handle_that_cannot_be_meant_changes_nothing(
    library: Library, said: list[tuple[str, Verdict]], undone: list[str], words: str
) -> None:
    handles(library)
    before = library.jobs()
    with pytest.raises(QuestionError, match=words):
        decide(library, said, undone)
    assert library.jobs() == before
    assert handles(library) == ["p1", "a2"]


def test_answers_that_contradict_each_other_change_nothing(library: Library) -> None:
    put(library, "c.txt", [telling("c.txt")])
    rejoin(library)
    pairs = {(one.one.id, one.other.id): one.handle for one in list_waiting(library).pairs}
    first, second = pairs["j-a.mp4", "j-b.txt"], pairs["j-a.mp4", "j-c.txt"]
    decide(library, [(first, SAME)])
    library.keep_pair(int(second[1:]), ("j-b.txt", "j-c.txt"), APART)
    decisions = library.decisions()
    with pytest.raises(QuestionError, match="cannot be one job"):
        decide(library, [(second, SAME)])
    assert library.decisions() == decisions


def test_answers_follow_a_renamed_document(library: Library) -> None:
    decide(library, [("p1", APART), ("a2", WRONG)])
    put(library, "z.mp4", [telling("z.mp4", confidence=0.4)])
    carry_over(library, "a.mp4", "z.mp4")
    library.remove_documents([state.document_id for state in library.files().values() if state.path == "a.mp4"])
    rejoin(library)
    assert work(library) == {"j-b.txt": [(1, "door latch", False)], "j-z.mp4": []}
    assert handles(library) == []
