"""An answer, a job and an ingest as a person reads them on a terminal. Plain text in a pipe; rich only adds weight of type.

Lines carry rich's markup, so that what was said, written or named by people is escaped: "[b]" in a note stays "[b]".
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from rich.markup import escape

from kbindex.doubts import Waiting, WaitingAttempt
from kbindex.questions import Answer, Clip, Fix, Rate, Spread
from kbindex.records import At, Attempt, IngestSummary, Job, Kind, Result

_FEW = 3
_LOOKED_FOR = "recordings (video and sound), timed text (.vtt, .srt) and notes (.txt, .md, .csv, .docx, .pdf)"
_SIGNS = {"USD": "$", "GBP": "£", "EUR": "€"}


def answer_lines(answer: Answer, limit: int) -> Iterator[str]:
    """Write an answer: what was understood, what to try in order with its counts, checks, where to look, cautions."""
    yield f"[b]{escape(_understood(answer))}[/b]"
    if answer.nothing_found:
        yield "Nothing like it in this library. That is not a no: no job here tells of it."
        yield "Ask in other words, or leave the machine out; `kbindex ingest FOLDER` adds recordings and notes."
        return
    for rule in answer.cautions[:2]:
        yield f"[b]Caution, {rule.topic}:[/b] {escape(rule.text)} ({escape(rule.reference)})"
    yield ""
    yield from _fix_lines(answer)
    if answer.left_for_review:
        waits = _count_waiting(answer.left_for_review, 0)
        yield f"  Not counted: {waits} for a look; kbindex review lists what waits"
    if answer.checks:
        yield ""
        yield "[b]Checks made on these jobs[/b]"
        for check in answer.checks[:4]:
            yield f"  {_short(check.text)}  {_place(check.at)}"
    if answer.passages:
        yield ""
        yield "[b]Said about it[/b]"
        for passage in answer.passages[: min(limit, 5)]:
            yield f"  {passage.kind}: {_short(passage.text)}  {_place(passage.at)}"


def _understood(answer: Answer) -> str:
    asked = [
        " ".join(filter(None, [s.tag.replace("_", " "), f"x{s.count}" if s.count else "", s.code or ""]))
        for s in answer.query.symptoms
    ]
    what = ", ".join(asked) or answer.query.text
    jobs = "no job like it" if answer.nothing_found else f"{answer.jobs_matched} job{'s' * (answer.jobs_matched != 1)} like it"
    return f"{answer.query.appliance or 'any machine'}: {what} -- {jobs}"


def _fix_lines(answer: Answer) -> Iterator[str]:
    """What cured, in the order to try it, with clips; what never did, on a line of its own."""
    fixes = {(fix.component, fix.operation): fix for fix in answer.fixes}
    ordered = [
        (step, fixes[step.component, step.operation]) for step in answer.order if (step.component, step.operation) in fixes
    ]
    if ordered:
        yield "[b]Try in this order[/b]"
    for step, fix in ordered:
        if fix.fixed:
            worked = f"cured {_share(fix.share)} fixed jobs; worked {_share(fix.when_tried)} times tried"
            yield f"  {step.step}. [b]{fix.operation} {fix.component}[/b]  {worked}"
            yield from _detail_lines(fix)
    failed = [f"{fix.operation} {fix.component} ({fix.tried})" for _, fix in ordered if not fix.fixed]
    if failed:
        yield f"  Tried, never the cure (jobs): {', '.join(failed)}"
    named = {(step.component, step.operation) for step, _ in ordered}
    untested = [f"{f.operation} {f.component} ({f.untested})" for name, f in fixes.items() if name not in named and f.untested]
    if untested:
        yield f"  Done, never tested (jobs): {', '.join(untested)}"


def _detail_lines(fix: Fix) -> Iterator[str]:
    facts = [
        f"part {_money(fix.part_cost)}" if fix.part_cost else "",
        f"{fix.minutes.median:g} min" if fix.minutes else "",
        f"untested on {fix.untested}" if fix.untested else "",
        *(f'said: "{_short(share.text, 60)}"' for share in fix.stated[:1]),
    ]
    if any(facts):
        yield "     " + "; ".join(filter(None, facts))
    for clip in _best_clips(fix.clips):
        yield f"     {_place(clip.at)}  {clip.kind}: {_short(clip.text, 70)}"


def _best_clips(clips: Sequence[Clip]) -> list[Clip]:
    """An action and the result that followed it in the same job, filmed ones first."""
    filmed = [clip for clip in clips if clip.at.start_s is not None] or list(clips)
    results = [clip for clip in filmed if clip.kind is Kind.RESULT]
    chosen = results[0].job if results else filmed[0].job if filmed else ""
    return [clip for clip in filmed if clip.job == chosen][:2]


def _share(rate: Rate) -> str:
    """A count, and its interval where there are enough jobs for a percentage to mean something."""
    if rate.value is None or rate.of < _FEW:
        return f"{rate.k} of {rate.of}"
    return f"{rate.k} of {rate.of} ({100 * (rate.low or 0):.0f}-{100 * (rate.high or 0):.0f} %)"


def _money(spread: Spread) -> str:
    sign = _SIGNS.get(spread.currency or "", f"{spread.currency} ")
    return f"{sign}{spread.median:g}" + (f" ({sign}{spread.low:g}-{spread.high:g})" if spread.low != spread.high else "")


def _place(at: At) -> str:
    where = clock(at.start_s) if at.start_s is not None else f"row {at.row}" if at.row else ""
    return escape(f"[{at.source} {where}".rstrip() + "]")


def clock(seconds: float) -> str:
    """Seconds as m:ss, or h:mm:ss from an hour on."""
    whole = int(seconds)
    hours, minutes = whole // 3600, whole % 3600 // 60
    return f"{hours}:{minutes:02d}:{whole % 60:02d}" if hours else f"{minutes}:{whole % 60:02d}"


def _short(text: str, most: int = 90) -> str:
    text = " ".join(text.split())
    return escape(text if len(text) <= most else text[: most - 3].rsplit(" ", 1)[0] + "...")


_OUTCOMES: Mapping[str, str] = {
    "fixed": "fixed", "not_fixed": "not fixed", "untested": "never tested", "came_back": "came back",
}  # fmt: skip


def job_lines(job: Job) -> Iterator[str]:
    """Write one job's story in order, with times."""
    head = [f"Job {job.job_no}" if job.job_no else job.id, job.date or "no date", job.appliance or "machine not named"]
    returns = f"; returns to {escape(job.callback_of)}" if job.callback_of else ""
    yield f"[b]{escape(', '.join(head))}: {_OUTCOMES[job.outcome]}[/b]{returns}"
    for symptom in job.symptoms:
        signs = ", ".join(filter(None, [*symptom.tags, f"x{symptom.count}" if symptom.count else "", symptom.code or ""]))
        yield f"  complaint  {_short(symptom.text)} ({signs})  {_place(symptom.at)}"
    for check in job.checks:
        reading = f" = {check.reading.value:g} {check.reading.unit}" if check.reading else ""
        yield f"  check      {_short(check.text)}{reading}  {_place(check.at)}"
    for attempt in job.attempts:
        yield from _attempt_lines(attempt)
    for cost in job.costs:
        price = f"{_SIGNS.get(cost.currency, f'{cost.currency} ')}{cost.amount:g}"
        yield f"  cost       {price} {cost.component or ''}  {_place(cost.at)}"
    if job.minutes is not None:
        yield f"  time       {job.minutes} min"
    for caution in job.cautions:
        yield f"  caution    {caution.topic}: {_short(caution.text)}  {_place(caution.at)}"
    yield "  told in    " + escape(", ".join(dict.fromkeys(source.path for source in job.sources)))


def _attempt_lines(attempt: Attempt) -> Iterator[str]:
    who = " (by somebody else)" if attempt.by == "other" else ""
    joint = f" (together with {', '.join(map(str, attempt.together_with))})" if attempt.together_with else ""
    review = " (in review, not counted)" if attempt.in_review else ""
    work = f"[b]{attempt.operation} {attempt.component}[/b]{who}{joint}{review}"
    yield f"  attempt {attempt.order}  {work}: {_short(attempt.text, 70)}  {_place(attempt.at)}"
    said = f": {_short(attempt.result_text, 70)}  {_place(attempt.result_at)}" if attempt.result_at else ""
    yield f"    result   {'never tested' if attempt.result is Result.UNTESTED else attempt.result.replace('_', ' ')}{said}"


def summary_lines(summary: IngestSummary) -> Iterator[str]:
    """Write what an ingest did, failures last; where nothing was found, what was looked for."""
    if not (summary.added or summary.updated or summary.unchanged or summary.removed or summary.failed):
        yield f"Nothing found to take in. Looked for {_LOOKED_FOR}."
        yield "Name the folder that holds them: kbindex ingest FOLDER"
        return
    if not (summary.added or summary.updated or summary.removed or summary.failed):
        yield f"Nothing to do: {summary.unchanged} documents, all up to date ({summary.wall_s:.1f} s)."
        return
    speech = f"; {summary.audio_s / 60:.1f} min of recordings" if summary.audio_s else ""
    counts = f"{summary.added} added, {summary.updated} updated, {summary.unchanged} unchanged, {summary.removed} removed"
    yield f"{counts} in {summary.wall_s:.1f} s{speech}."
    for failure in summary.failed:
        yield escape(f"Not taken in: {failure.path}: {' '.join(failure.error.split())}")


def waiting_count_lines(facts: int, pairs: int) -> Iterator[str]:
    """Write how much waits for a person after an ingest; nothing where nothing does."""
    if facts or pairs:
        yield f"{_count_waiting(facts, pairs)} for a look: kbindex review"


def waiting_lines(waiting: Waiting) -> Iterator[str]:
    """Write what waits for a person: what it is, what speaks for it, where it was said, and how to answer."""
    if not (waiting.pairs or waiting.attempts):
        yield "Nothing waits for a look."
        return
    yield f"[b]{_count_waiting(len(waiting.attempts), len(waiting.pairs))} for a look[/b]"
    for pair in waiting.pairs:
        yield f"[b]{pair.handle}[/b]  one job told twice, or two jobs?"
        for side in (pair.one, pair.other):
            yield f"    {escape(side.job)}: {_quote(side.text, side.at)}"
        yield f"    in common: {escape(', '.join(f'{one.what} {one.detail}'.rstrip() for one in pair.agree))}"
    for one in waiting.attempts:
        yield from _waiting_attempt_lines(one)
    answers = [f"--same {pair.handle} or --apart {pair.handle}" for pair in waiting.pairs[:1]]
    answers += [f"--right {one.handle} or --wrong {one.handle}" for one in waiting.attempts[:1]]
    yield f"Answer with kbindex review {', '.join(answers)}; --undo takes an answer back."
    yield "Until then facts in review are in no count, and the two sides of a pair count as two jobs."


def _waiting_attempt_lines(waiting: WaitingAttempt) -> Iterator[str]:
    attempt = waiting.attempt
    who = " by somebody else" if attempt.by == "other" else ""
    result = "never tested" if attempt.result is Result.UNTESTED else attempt.result.replace("_", " ")
    work = f"{attempt.operation} {attempt.component}{who}, {result}?"
    yield f"[b]{waiting.handle}[/b]  {work}  ({escape(waiting.job)}, read with confidence {attempt.confidence:.2f} of 1)"
    yield f"    work: {_quote(attempt.text, attempt.at)}"
    if attempt.result_at:
        yield f"    result: {_quote(attempt.result_text, attempt.result_at)}"


def _count_waiting(facts: int, pairs: int) -> str:
    counted = [(facts, "fact" if facts == 1 else "facts"), (pairs, "pair of jobs" if pairs == 1 else "pairs of jobs")]
    some = " and ".join(f"{count} {what}" for count, what in counted if count)
    return f"{some} {'waits' if facts + pairs == 1 else 'wait'}"


def _quote(text: str, at: At) -> str:
    row = f" row {at.row}" if at.row else ""
    return f'"{_short(text, 120)}"  {escape(at.link)}{row}'
