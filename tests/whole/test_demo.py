"""The main job on the demo shop: real recordings and notes in, counts equal to the corpus's gold out, clips on the second."""

import re
from collections.abc import Iterator

import pytest

from eval.corpus import CorpusPart, load_part
from kbindex import assemble
from kbindex.answer import Asked, AskEngines, ask
from kbindex.ingest import ingest
from kbindex.questions import Answer
from kbindex.records import IngestSummary
from kbindex.store.library import Library

TOLERANCE_S = 0.7


@pytest.fixture(scope="module")
def part() -> CorpusPart:
    return load_part("shop")


@pytest.fixture(scope="module")
def library(part: CorpusPart, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Library]:
    folder = tmp_path_factory.mktemp("demo")
    with assemble.open_library(folder, create=True) as opened:
        *_, summary = ingest([part.folder], opened, assemble.ingest_engines(folder, None))
        assert isinstance(summary, IngestSummary)
        assert summary.failed == ()
        assert summary.added == len(part.items)
        yield opened


@pytest.fixture(scope="module")
def engines(library: Library) -> AskEngines:
    return assemble.ask_engines(library)


@pytest.fixture(scope="module")
def answer(part: CorpusPart, library: Library, engines: AskEngines) -> Answer:
    return ask(Asked(part.families[0]["question"], part.families[0]["appliance"], limit=100), library, engines)


def test_dishwasher_counts_equal_the_gold(part: CorpusPart, answer: Answer) -> None:
    family = part.families[0]
    gold = {(fix["component"], fix["operation"]): (fix["fixed"], fix["tried"]) for fix in family["fixes"]}
    told = {(f.component, f.operation.value): (f.fixed, f.tried) for f in answer.fixes if " + " not in f.component and f.tried}
    assert told == gold
    assert answer.jobs_matched == len(family["keys"])
    assert {fix.share.of for fix in answer.fixes} == {family["ended_fixed"]}


def test_filmed_clips_start_on_the_words(part: CorpusPart, answer: Answer) -> None:
    """A clip's words are those that the script says between its seconds; the recogniser may slip on some."""
    lines = {item.path: item.lines for item in part.items}
    filmed = [clip for fix in answer.fixes for clip in fix.clips if clip.at.start_s is not None]
    assert len(filmed) >= 12
    for clip in filmed:
        start_s, end_s = clip.at.start_s or 0.0, clip.at.end_s or 0.0
        spoken = " ".join(
            line.text
            for line in lines[clip.at.source]
            if (line.end_s or 0) > start_s - TOLERANCE_S and (line.start_s or 0) < end_s + TOLERANCE_S
        )
        said = _words(clip.text)
        assert len(said & _words(spoken)) >= 0.6 * len(said), clip


def _words(text: str) -> set[str]:
    return set(re.findall(r"[a-z]{3,}", text.lower()))


def test_stated_shares_are_shown_apart_from_the_counts(answer: Answer) -> None:
    """Common practice, no source: a latch cures about 80 %; the demo's technicians say so, its jobs do not."""
    latch = next(f for f in answer.fixes if (f.component, f.operation.value) == ("door latch", "replace"))
    assert any(share.low == share.high == 0.8 for share in latch.stated)
    assert latch.share.value is not None and latch.share.value < 0.7


def test_what_was_tried_leaves_the_order(part: CorpusPart, library: Library, engines: AskEngines, answer: Answer) -> None:
    family = part.families[0]
    after = ask(Asked(family["question"], family["appliance"], tried=("latch",), limit=100), library, engines)
    assert answer.order[0].component == "door latch"
    assert "door latch" not in {step.component for step in after.order}
    assert sum(step.chance for step in after.order) == pytest.approx(1.0, abs=0.01)


def test_nothing_private_of_the_notes_is_told(library: Library, part: CorpusPart) -> None:
    told = " ".join(passage.text for item in part.items for passage in library.told_of(item.path).passages)
    assert not re.findall(r"555[- ]01\d\d", told)
    assert "@example.net" not in told
