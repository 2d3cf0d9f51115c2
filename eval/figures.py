"""Figures of a library built from a part of the corpus: speech, kinds, jobs, counts, retrieval, leaks."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from eval.corpus import CorpusPart, GoldItem, GoldLine
from eval.scoring import ReadingScore, score_all
from kbindex.answer import Asked, AskEngines, ask
from kbindex.questions import Answer
from kbindex.records import Kind, Passage
from kbindex.store.library import Library

_K = 10


@dataclass(frozen=True)
class CountError:
    """How far counted fixes are from the truth over all families."""

    numbers: int
    wrong: int
    total_difference: int


def word_error_rate(part: CorpusPart, library: Library) -> tuple[float, int]:
    """Word error rate over the recordings, and the number of words; numbers spelled alike by Whisper's English normaliser."""
    import jiwer
    from transformers.models.whisper.english_normalizer import EnglishTextNormalizer

    normal = EnglishTextNormalizer({})
    truth, heard = [], []
    for item in part.items:
        if item.spoken:
            truth.append(normal(" ".join(line.text for line in item.lines)))
            heard.append(normal(" ".join(word.text for word in library.words_of(item.path))))
    output = jiwer.process_words(truth, heard)
    return float(output.wer), output.hits + output.substitutions + output.deletions


def kind_macro_f1(part: CorpusPart, library: Library) -> tuple[float, int]:
    """Macro-F1 of the kinds of the gold sentences, each given the kind of the passage that covers it best."""
    from sklearn.metrics import f1_score

    gold, told = [], []
    for item in part.items:
        passages = library.told_of(item.path).passages
        for line in item.lines:
            covering = _cover(line, passages)
            gold.append(line.kind)
            told.append(covering.kind.value if covering else Kind.ASIDE.value)
    return float(f1_score(gold, told, average="macro", zero_division=0)), len(gold)


def _cover(line: GoldLine, passages: Sequence[Passage]) -> Passage | None:
    """The passage that shares most time, or most words, with a gold line."""
    if line.start_s is not None and line.end_s is not None:
        best = max(
            passages,
            key=lambda p: min(p.at.end_s or 0, line.end_s or 0) - max(p.at.start_s or 0, line.start_s or 0),
            default=None,
        )
        return best
    words = set(_words(line.text))
    return max(passages, key=lambda p: (len(words & set(_words(p.text))), -len(p.text)), default=None)


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9]+", text.lower())


def reading_score(part: CorpusPart, library: Library) -> tuple[ReadingScore, list[tuple[GoldItem, ReadingScore]]]:
    """Attempts, results and the rest, each document against its own gold."""
    items = list(part.items)
    each: list[tuple[GoldItem, ReadingScore]] = []
    pairs = [(item.jobs, library.told_of(item.path).jobs) for item in items]
    total = score_all(pairs, lambda number, score: each.append((items[number], score)))
    return total, each


def count_error(part: CorpusPart, library: Library, engines: AskEngines) -> tuple[CountError, list[str]]:
    """Fixed and tried of every fix of every family, asked as a tech would, against the truth."""
    numbers = wrong = difference = 0
    lines = []
    for family in part.families:
        answer = ask(Asked(family["question"], family.get("appliance"), limit=100), library, engines)
        gold = {(f["component"], f["operation"]): (f["fixed"], f["tried"]) for f in family["fixes"]}
        told = {
            (f.component, f.operation.value): (f.fixed, f.tried) for f in answer.fixes if " + " not in f.component and f.tried
        }
        for name in sorted(gold.keys() | told.keys()):
            right, said = gold.get(name, (0, 0)), told.get(name, (0, 0))
            numbers += 2
            wrong += sum(a != b for a, b in zip(right, said, strict=True))
            difference += sum(abs(a - b) for a, b in zip(right, said, strict=True))
            if right != said:
                lines.append(f"{family['question']}: {name[1]} {name[0]}: fixed, tried {said}, truth {right}")
        if answer.jobs_matched != len(family["keys"]):
            lines.append(f"{family['question']}: {answer.jobs_matched} jobs matched, truth {len(family['keys'])}")
    return CountError(numbers, wrong, difference), lines


def retrieval(part: CorpusPart, library: Library, engines: AskEngines) -> dict[str, float]:
    """nDCG@10 (discount log2(rank + 1)) and MRR by ranx over the questions; a question without an answer counts zero.

    Questions about things the library does not hold are scored apart: `said_nothing` is how often the answer said so.
    """
    from ranx import Qrels, Run, evaluate

    qrels: dict[str, dict[str, int]] = {}
    run: dict[str, dict[str, float]] = {}
    asked_empty = said_nothing = 0
    for number, question in enumerate(part.questions):
        answer = ask(Asked(question["question"], question.get("appliance"), limit=_K), library, engines)
        if not question["relevant"]:
            asked_empty += 1
            said_nothing += answer.nothing_found
            continue
        name = f"q{number}"
        qrels[name] = {_key(part, one): 1 for one in question["relevant"]}
        run[name] = _ranked(part, answer, set(qrels[name])) or {"nothing": 1.0}
    if not qrels:
        return {}
    figures = evaluate(Qrels(qrels), Run(run), ["ndcg@10", "mrr@10"])
    return {
        "questions": float(len(qrels)),
        "ndcg@10": float(figures["ndcg@10"]),
        "mrr@10": float(figures["mrr@10"]),
        "empty_questions": float(asked_empty),
        "said_nothing": float(said_nothing),
    }


def _key(part: CorpusPart, relevant: dict[str, Any]) -> str:
    """A relevant sentence by the item it is in and its number (or row)."""
    stem = relevant["source"].rsplit("/", 1)[-1]
    return f"{stem}#{relevant.get('row') or relevant.get('at')}"


def _ranked(part: CorpusPart, answer: Answer, relevant: set[str]) -> dict[str, float]:
    """The answer's passages as sentence keys: a passage stands for the relevant sentence in it, else for its first."""
    items = {item.path: item for item in part.items}
    scores: dict[str, float] = {}
    for rank, passage in enumerate(answer.passages):
        item = items.get(passage.at.source)
        stem = passage.at.source.rsplit("/", 1)[-1]
        if passage.at.row is not None:
            keys = [f"{stem}#{passage.at.row}"]
        else:
            covered = (
                [line for line in item.lines if _inside(line, passage.text, passage.at.start_s, passage.at.end_s)]
                if item
                else []
            )
            keys = [f"{stem}#{line.number}" for line in covered] or [f"{stem}#passage{rank}"]
        wanted = [key for key in keys if key in relevant and key not in scores] or keys[:1]
        scores.setdefault(wanted[0], 1.0 / (rank + 1))
    return scores


def _inside(line: GoldLine, text: str, start_s: float | None, end_s: float | None) -> bool:
    if line.start_s is not None and line.end_s is not None and start_s is not None and end_s is not None:
        return min(line.end_s, end_s) - max(line.start_s, start_s) > 0.5 * (line.end_s - line.start_s)
    words = _words(line.text)
    return bool(words) and sum(word in set(_words(text)) for word in words) >= 0.7 * len(words)


def leaks(part: CorpusPart, library: Library) -> list[str]:
    """Private strings of the gold that can be found in what the library tells."""
    kept = " ".join(passage.text for item in part.items for passage in library.told_of(item.path).passages).lower()
    return [text for text in part.private if text.lower() in kept]
