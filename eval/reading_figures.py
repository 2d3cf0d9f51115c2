"""Figures of reading over labelled documents, beyond facts of single jobs: kinds, boundaries, results, joins, leaks."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from eval.labelled import LabelledDocument, as_recording
from eval.scoring import Hits, align_jobs
from kbindex.reading.joining import join_jobs
from kbindex.reading.privacy import find_private
from kbindex.records import Attempt, Job, Passage, Result, SourceKind, Told

_TOUCHING_S = 0.3
"""A told result must share so much time with the sentence that is labelled with it."""

Read = tuple[LabelledDocument, Told]


def score_kinds(read: Sequence[Read]) -> tuple[float, int]:
    """Macro-F1 of the kinds of all labelled sentences, each given the kind of the passage that covers it best."""
    from sklearn.metrics import f1_score

    gold, told = [], []
    for document, said in read:
        for number, label in enumerate(document.labels):
            gold.append(label.kind)
            told.append(_kind_of(document, number, said.passages))
    return float(f1_score(gold, told, average="macro", zero_division=0)), len(gold)


def _kind_of(document: LabelledDocument, number: int, passages: Sequence[Passage]) -> str:
    if not passages:
        return "aside"
    if document.form is SourceKind.RECORDING:
        start, end = _times(document)[number]
        best = max(passages, key=lambda p: min(p.at.end_s or 0, end) - max(p.at.start_s or 0, start))
    else:
        words = set(_words(document.sentences[number].text))
        best = max(passages, key=lambda p: (len(words & set(_words(p.text))), -len(p.text)))
    return best.kind.value


def _times(document: LabelledDocument) -> list[tuple[float, float]]:
    """Start and end of each labelled sentence in the recording that is made of the document."""
    words = iter(as_recording(document).words)
    times = []
    for sentence in document.sentences:
        own = [next(words) for _ in sentence.text.split()]
        times.append((own[0].start_s, own[-1].end_s))
    return times


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", text.lower())


def score_boundaries(read: Sequence[Read]) -> tuple[float, float, int]:
    """Pk (Beeferman et al. 1999) and WindowDiff (Pevzner & Hearst 2002) of passages over words, by nltk, and the passages.

    A labelled passage is a run of sentences of one kind; a told one likewise. The window is half a labelled passage long.
    """
    from nltk.metrics.segmentation import pk, windowdiff

    gold, told = "", ""
    for document, said in read:
        if document.form is SourceKind.RECORDING:
            own_gold, own_told = _boundary_strings(document, said.passages)
            gold, told = gold + own_gold, told + own_told
    width = max(2, round(len(gold) / (gold.count("1") + 1) / 2))
    return float(pk(gold, told, width)), float(windowdiff(gold, told, width)), gold.count("1")


def _boundary_strings(document: LabelledDocument, passages: Sequence[Passage]) -> tuple[str, str]:
    words = as_recording(document).words
    owners = [number for number, sentence in enumerate(document.sentences) for _ in sentence.text.split()]
    gold_kinds = [document.labels[number].kind for number in owners]
    told_kinds = []
    place = 0
    for word in words:
        while place + 1 < len(passages) and word.start_s >= (passages[place + 1].at.start_s or 0.0) - 0.005:
            place += 1
        told_kinds.append(passages[place].kind.value if passages else "aside")
    return _marks(gold_kinds), _marks(told_kinds)


def _marks(kinds: Sequence[str]) -> str:
    """ "1" for each word after which another kind begins."""
    return "".join(str(int(one != other)) for one, other in zip(kinds, kinds[1:], strict=False)) + "1"


def score_result_places(read: Sequence[Read]) -> Hits:
    """Whether the result of a found attempt was taken from a sentence that is labelled with it."""
    hits = Hits()
    for document, said in read:
        if document.form is not SourceKind.RECORDING:
            continue
        times = _times(document)
        for gold, job in _paired(document, said):
            for attempt, found in _found(gold, job):
                if attempt.get("result_at") and found.result is not Result.UNTESTED and found.result_at:
                    right = _points_right(document, attempt, found, times)
                    hits.right, hits.wrong, hits.missed = (
                        hits.right + right,
                        hits.wrong + (not right),
                        hits.missed + (not right),
                    )
    return hits


def _found(gold: Mapping[str, Any], job: Job) -> Iterator[tuple[Mapping[str, Any], Attempt]]:
    by_name = {(a.component, a.operation.value): a for a in reversed(job.attempts)}
    for attempt in gold.get("attempts") or ():
        if found := by_name.get((attempt["component"], attempt["operation"])):
            yield attempt, found


def _points_right(
    document: LabelledDocument, attempt: Mapping[str, Any], found: Attempt, times: Sequence[tuple[float, float]]
) -> bool:
    """The labelled sentence, or one after it that says the same before other work begins."""
    number = attempt["result_at"] - 1
    allowed = [number]
    while number + 1 < len(times) and document.labels[number + 1].attempt == "no":
        number += 1
        if document.labels[number].turn == attempt["result"]:
            allowed.append(number)
    at = found.result_at
    start, end = (at.start_s or 0.0, at.end_s or 0.0) if at else (0.0, 0.0)
    return any(min(end, times[n][1]) - max(start, times[n][0]) > _TOUCHING_S for n in allowed)


def score_calibration(read: Sequence[Read], bins: int = 10) -> tuple[float, float, int]:
    """Expected calibration error (Naeini et al. 2015) and Brier score (1950) of told attempts' confidence, and their number.

    An attempt is right when its job's gold has one of its component, operation and result.
    """
    stated = [attempt.confidence for _, attempt in told_attempts(read)]
    right = [float(is_right) for is_right, _ in told_attempts(read)]
    error = 0.0
    for low in range(bins):
        inside = [n for n, chance in enumerate(stated) if low <= chance * bins < low + 1 or (low == bins - 1 and chance >= 1)]
        error += abs(sum(stated[n] - right[n] for n in inside))
    count = max(len(stated), 1)
    return error / count, sum((a - b) ** 2 for a, b in zip(stated, right, strict=True)) / count, len(stated)


def told_attempts(read: Sequence[Read]) -> Iterator[tuple[bool, Attempt]]:
    """All told attempts, and whether each is right in its component, operation and result."""
    for document, said in read:
        gold_of = {id(job): gold for gold, job in _paired(document, said)}
        for job in said.jobs:
            gold = gold_of.get(id(job), {}).get("attempts") or ()
            facts = {(one["component"], one["operation"], one["result"]) for one in gold}
            for attempt in job.attempts:
                yield (attempt.component, attempt.operation.value, attempt.result.value) in facts, attempt


def _paired(document: LabelledDocument, said: Told) -> list[tuple[Mapping[str, Any], Job]]:
    return [(gold, job) for gold, job in align_jobs(document.jobs, said.jobs)[0] if job]


@dataclass(frozen=True)
class JoinFigures:
    """How tellings of one job were joined, and callbacks linked, over the documents of each voice as one shop."""

    joins: Hits
    callbacks: Hits


def score_joins(read: Sequence[Read]) -> JoinFigures:
    """Score joins as pairs of tellings, and callbacks as pairs of keys, each voice by itself."""
    figures = JoinFigures(Hits(), Hits())
    for voice in sorted({document.voice for document, _ in read}):
        tellings: list[tuple[str, Job, Mapping[str, Any]]] = []
        for document, said in read:
            if document.voice == voice:
                tellings += [(gold["key"], job, gold) for gold, job in _paired(document, said)]
        joined = join_jobs([job for _, job, _ in tellings])
        keys = [key for key, _, _ in tellings]
        figures.joins.add(_pairs(keys, keys), _pairs(joined.ids, keys))
        wanted = {(key, gold["callback_of"]) for key, _, gold in tellings if gold.get("callback_of")}
        held = set(keys)
        key_of = dict(zip(joined.ids, keys, strict=True))
        told = {(key_of[job.id], key_of[job.callback_of]) for job in joined.jobs if job.callback_of}
        figures.callbacks.add([pair for pair in wanted if pair[1] in held], told)
    return figures


def _pairs(groups: Sequence[str], names: Sequence[str]) -> list[tuple[int, int]]:
    """Pairs of tellings that stand in one group."""
    return [(a, b) for a, b in combinations(range(len(names)), 2) if groups[a] == groups[b]]


@dataclass(frozen=True)
class LeakFigures:
    """Private strings still found in what was read, and harmless words that were taken out."""

    leaked: tuple[str, ...]
    private: int
    harmless_removed: int
    harmless: int


def score_leaks(read: Sequence[Read]) -> LeakFigures:
    """Look for the labelled private strings in all that was read, and for other words that were hidden with them."""
    leaked: list[str] = []
    private = removed = harmless = 0
    for document, said in read:
        kept = _kept_text(said)
        private += len(document.private)
        leaked += [text for text in document.private if _flat(text) in kept]
        text = " ".join(sentence.text for sentence in document.sentences)
        hidden = find_private(text)
        covered = [match.span() for one in document.private for match in re.finditer(re.escape(one), text)]
        for word in re.finditer(r"\S+", text):
            if not any(start < word.end() and word.start() < end for start, end in covered):
                harmless += 1
                removed += any(start < word.end() and word.start() < end for start, end in hidden)
    return LeakFigures(tuple(leaked), private, removed, harmless)


def _kept_text(said: Told) -> str:
    facts = " ".join(repr(job) for job in said.jobs)
    return _flat(" ".join([*(passage.text for passage in said.passages), facts]))


def _flat(text: str) -> str:
    return f" {' '.join(re.findall(r'[a-z0-9@]+', text.lower()))} "
