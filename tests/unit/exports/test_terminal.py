"""What a person sees: counts before percentages, words as they were said, plain text where there is no terminal."""

import io
from collections.abc import Iterable
from dataclasses import replace

import pytest
from rich.console import Console

from kbindex import cli
from kbindex.doubts import Agreement, Telling, Waiting, WaitingAttempt, WaitingPair
from kbindex.evidence.rates import wilson_rate
from kbindex.exports.progress import show_progress
from kbindex.exports.terminal import (
    answer_lines,
    clock,
    job_lines,
    summary_lines,
    waiting_count_lines,
    waiting_lines,
)
from kbindex.questions import Answer, AskedSymptom, Clip, Fix, FoundPassage, HazardRule, Question, Rate, Step
from kbindex.records import (
    At,
    Attempt,
    Failure,
    IngestSummary,
    Job,
    Kind,
    Operation,
    Outcome,
    Progress,
    Result,
    Source,
    SourceKind,
    Symptom,
)

SPOKEN = At("walks/latch.mp4", None, 75.2, 79.0)
QUESTION = Question("won't start", "dishwasher", (AskedSymptom("no_start"), AskedSymptom("beeps", 3)))


def shown(lines: Iterable[str]) -> str:
    """The lines as the program prints them into a pipe."""
    out = io.StringIO()
    console = Console(file=out, width=60, emoji=False)
    for line in lines:
        console.print(line, highlight=False, soft_wrap=True)
    return out.getvalue()


def make_answer(share: Rate, when_tried: Rate, text: str = "Replaced the latch.", at: At = SPOKEN) -> Answer:
    clip = Clip(Kind.ACTION, text, "j-1", at)
    fix = Fix("door latch", Operation.REPLACE, share.k, when_tried.of, 0, share, when_tried, (), None, None, (clip,))
    step = Step(1, "door latch", Operation.REPLACE, 0.5, None, None, "USD", "")
    passages = (FoundPassage(Kind.SYMPTOM, text, 1.0, "j-1", at),)
    rule = HazardRule("mains power", f"Unplug it. {text}", "[a] rule")
    return Answer(QUESTION, 2, False, (fix,), (step,), (), (rule,), passages)


def test_fewer_than_three_jobs_give_no_percentage() -> None:
    few = shown(answer_lines(make_answer(wilson_rate(2, 2), wilson_rate(1, 2)), 8))
    assert "cured 2 of 2 fixed jobs; worked 1 of 2 times tried" in few
    assert "%" not in few


@pytest.mark.parametrize(("left", "waits"), [(1, "1 fact waits"), (3, "3 facts wait")])
def test_what_waits_for_review_is_said_to_be_in_no_count(left: int, waits: str) -> None:
    answer = make_answer(wilson_rate(2, 2), wilson_rate(1, 2))
    assert "review" not in shown(answer_lines(answer, 8))
    line = f"  Not counted: {waits} for a look; kbindex review lists what waits\n"
    assert line in shown(answer_lines(replace(answer, left_for_review=left), 8))
    assert line in shown(answer_lines(replace(answer, fixes=(), order=(), left_for_review=left), 8))


def test_what_never_cured_stands_on_a_line_of_its_own_with_its_jobs() -> None:
    page = shown(answer_lines(make_answer(wilson_rate(0, 5), wilson_rate(0, 4)), 8))
    assert "Tried, never the cure (jobs): replace door latch (4)" in page
    assert "%" not in page


def test_three_jobs_give_the_interval_behind_the_count() -> None:
    text = shown(answer_lines(make_answer(wilson_rate(9, 14), wilson_rate(2, 3)), 8))
    # Wilson 1927: 9 of 14 is 0.3876..0.8366, 2 of 3 is 0.2077..0.9385
    assert "cured 9 of 14 (39-84 %) fixed jobs; worked 2 of 3 (21-94 %) times tried" in text


@pytest.mark.parametrize("text", ["the [b]bold[/b] latch", "[red]no", "[/b] and", "[3 beeps]", ":bell: rang", "a \\[b] c"])
def test_brackets_are_shown_as_they_are(text: str) -> None:
    at = At("[b]walks/2026-03-02.mp4", None, 75.2, 79.0)
    page = shown(answer_lines(make_answer(wilson_rate(1, 1), wilson_rate(1, 1), text, at), 8))
    assert f"symptom: {text}  [[b]walks/2026-03-02.mp4 1:15]\n" in page
    assert f"action: {text}\n" in page
    assert f"Unplug it. {text} ([a] rule)" in page
    question = replace(QUESTION, text=text, symptoms=())
    assert f"dishwasher: {text} -- no job like it\n" in shown(answer_lines(Answer(question, 0, True), 8))


def test_a_place_names_the_file_and_the_second_or_the_row() -> None:
    for at, place in (
        (SPOKEN, "[walks/latch.mp4 1:15]"),
        (At("2026-03-02.mp4", None, 3.9, 5.0), "[2026-03-02.mp4 0:03]"),
        (At("tickets.csv", 3), "[tickets.csv row 3]"),
        (At("note.txt"), "[note.txt]"),
    ):
        assert f"  {place}\n" in shown(answer_lines(make_answer(wilson_rate(1, 1), wilson_rate(1, 1), "x", at), 8))


def test_clock() -> None:
    assert [clock(seconds) for seconds in (0, 59.9, 60, 3599, 3600, 7325.5)] == [
        "0:00",
        "0:59",
        "1:00",
        "59:59",
        "1:00:00",
        "2:02:05",
    ]


def test_nothing_found_says_that_it_is_no_no() -> None:
    page = shown(answer_lines(Answer(QUESTION, 0, True), 8))
    assert page.startswith("dishwasher: no start, beeps x3 -- no job like it\n")
    assert "That is not a no" in page


def test_a_job_is_told_in_order() -> None:
    attempts = (
        Attempt(1, Operation.REPLACE, "control board", Result.NO_CHANGE, SPOKEN, text="Put a board in.", result_at=SPOKEN),
        Attempt(2, Operation.REPLACE, "door latch", Result.UNTESTED, SPOKEN, text="Put a [used] latch in."),
    )
    symptoms = (Symptom("It [just] beeps", ("beeps",), SPOKEN, 3),)
    job = Job(
        "job-2057", (Source("[a].mp4", SourceKind.RECORDING),), "2057", None, "dishwasher", symptoms,
        attempts=attempts, callback_of="job-[x]", outcome=Outcome.UNTESTED,
    )  # fmt: skip
    lines = shown(job_lines(job)).splitlines()
    assert lines[0] == "Job 2057, no date, dishwasher: never tested; returns to job-[x]"
    assert lines[1] == "  complaint  It [just] beeps (beeps, x3)  [walks/latch.mp4 1:15]"
    assert lines[2].startswith("  attempt 1  replace control board: Put a board in.")
    assert lines[3].startswith("    result   no change")
    assert lines[4] == "  attempt 2  replace door latch: Put a [used] latch in.  [walks/latch.mp4 1:15]"
    assert lines[5] == "    result   never tested"
    assert lines[6] == "  told in    [a].mp4"


@pytest.mark.parametrize(
    ("summary", "first"),
    [
        (IngestSummary(0, 0, 0, 0, (), 0.0, 0.1), "Nothing found to take in. Looked for recordings"),
        (IngestSummary(0, 0, 12, 0, (), 0.0, 0.12), "Nothing to do: 12 documents, all up to date (0.1 s)."),
        (IngestSummary(3, 1, 0, 2, (), 0.0, 2.0), "3 added, 1 updated, 0 unchanged, 2 removed in 2.0 s."),
        (IngestSummary(1, 0, 0, 0, (), 90.0, 2.0), "1 added, 0 updated, 0 unchanged, 0 removed in 2.0 s; 1.5 min of"),
    ],
)
def test_a_summary_begins_with_what_was_done(summary: IngestSummary, first: str) -> None:
    assert shown(summary_lines(summary)).startswith(first)


def test_failures_come_last_one_line_each() -> None:
    failed = (Failure("[b]x[/b].mp4", "cannot be\ndecoded; copy it"), Failure("y.txt", "is empty; write"))
    lines = shown(summary_lines(IngestSummary(0, 0, 3, 0, failed, 0.0, 1.0))).splitlines()
    assert lines[1:] == ["Not taken in: [b]x[/b].mp4: cannot be decoded; copy it", "Not taken in: y.txt: is empty; write"]


class Terminal(io.StringIO):
    """A stream that takes itself for a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("stream", "no_color", "plain"),
    [(io.StringIO, False, True), (Terminal, True, True), (Terminal, False, False)],
    ids=["pipe", "NO_COLOR", "terminal"],
)
def test_a_pipe_and_no_color_get_plain_text(
    stream: type[io.StringIO], no_color: bool, plain: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("FORCE_COLOR", "NO_COLOR", "TTY_COMPATIBLE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    if no_color:
        monkeypatch.setenv("NO_COLOR", "1")
    out = stream()
    monkeypatch.setattr("sys.stdout", out)
    cli._print(answer_lines(make_answer(wilson_rate(1, 1), wilson_rate(1, 1)), 8), plain=False)
    assert "replace door latch" in out.getvalue().replace("\x1b[1m", "").replace("\x1b[0m", "")
    assert ("\x1b" not in out.getvalue()) == plain


@pytest.mark.parametrize("stream", [io.StringIO, Terminal])
def test_progress_is_followed_to_the_summary(stream: type[io.StringIO], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    summary = IngestSummary(1, 0, 0, 0, (), 0.0, 1.0)
    steps = [Progress("[/b]a.mp4", 0, 2, None, "reading"), Progress("b.mp4", 1, 2, 12.0, "reading"), summary]
    out = stream()
    assert show_progress(iter(steps), out) is summary
    if stream is io.StringIO:
        assert out.getvalue() == "[1/2] reading [/b]a.mp4\n[2/2] reading b.mp4\n"
    else:
        assert "b.mp4" in out.getvalue()


def test_an_attempt_in_review_is_shown_as_such() -> None:
    attempt = Attempt(1, Operation.REPLACE, "door latch", Result.FIXED, SPOKEN, text="Put it in.", in_review=True)
    lines = shown(job_lines(Job("j-1", (Source("a.mp4", SourceKind.RECORDING),), attempts=(attempt,)))).splitlines()
    assert lines[1] == "  attempt 1  replace door latch (in review, not counted): Put it in.  [walks/latch.mp4 1:15]"


def test_what_waits_is_told_with_its_place_and_how_to_answer() -> None:
    attempt = Attempt(
        1, Operation.REPLACE, "door latch", Result.NO_CHANGE, SPOKEN, text="Put [b]it[/b] in.", result_at=At("t.csv", 3),
        result_text="Still beeps.", confidence=0.412,
    )  # fmt: skip
    pair = WaitingPair(
        "p1",
        Telling("j-1", "job-[7]", "It beeps.", SPOKEN),
        Telling("j-2", "j-2", "Beeps", At("n.txt")),
        (Agreement("day", "2026-03-02", 3), Agreement("household", "", 3)),
    )
    lines = shown(waiting_lines(Waiting((pair,), (WaitingAttempt("a4", "job-7", attempt),)))).splitlines()
    assert lines[0] == "1 fact and 1 pair of jobs wait for a look"
    assert lines[1:5] == [
        "p1  one job told twice, or two jobs?",
        '    job-[7]: "It beeps."  walks/latch.mp4#t=75.2,79',
        '    j-2: "Beeps"  n.txt',
        "    in common: day 2026-03-02, household",
    ]
    assert lines[5] == "a4  replace door latch, no change?  (job-7, read with confidence 0.41 of 1)"
    assert lines[6] == '    work: "Put [b]it[/b] in."  walks/latch.mp4#t=75.2,79'
    assert lines[7] == '    result: "Still beeps."  t.csv row 3'
    assert "kbindex review --same p1 or --apart p1, --right a4 or --wrong a4" in lines[8]


def test_nothing_waits() -> None:
    assert shown(waiting_lines(Waiting((), ()))) == "Nothing waits for a look.\n"


@pytest.mark.parametrize(
    ("facts", "pairs", "line"),
    [
        (0, 0, ""),
        (1, 0, "1 fact waits for a look: kbindex review\n"),
        (0, 1, "1 pair of jobs waits for a look: kbindex review\n"),
        (3, 2, "3 facts and 2 pairs of jobs wait for a look: kbindex review\n"),
    ],
)
def test_an_ingest_says_how_much_waits(facts: int, pairs: int, line: str) -> None:
    assert shown(waiting_count_lines(facts, pairs)) == line
