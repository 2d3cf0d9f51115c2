"""Labelled documents as examples for training: pieces of text with what each is, in several forms of the same document.

A document is seen as its writer divided it, as captions without punctuation, and as the program cuts it: labels of a
labelled sentence go to the pieces that hold its words.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from eval.labelled import LabelledDocument, as_recording
from eval.scoring import plain_name
from kbindex.reading.labels import find_job_numbers
from kbindex.reading.lexicon import Lexicon, Mention
from kbindex.reading.opinions import find_said
from kbindex.reading.prices import find_amounts
from kbindex.reading.sentences import bare_word, cut_speech
from kbindex.reading.signs import read_signs
from kbindex.records import At, Sentence, SourceKind

_LOST_END, _FALSE_END, _FALSE_END_BEFORE_LINK = 0.2, 0.006, 0.3
"""How often the boundary head misses a sentence's end, and ends one in the middle: training sees such cuts too."""
_LINKS = frozenset("and but so because then now which it's that's there".split())

AMOUNT_TOLERANCE = 0.011


@dataclass(frozen=True)
class GoldAttempt:
    """An attempt told in a piece; `job` and `order` identify it in its document."""

    component: str
    operation: str
    by: str
    job: int
    order: int
    result: str


@dataclass
class Piece:
    """A sentence, or what the program takes for one, with its labels."""

    text: str
    kind: str = "aside"
    turn: str = "none"
    attempts: list[GoldAttempt] = field(default_factory=list)
    results: list[tuple[int, int]] = field(default_factory=list)
    tags: set[str] = field(default_factory=set)
    shares: list[tuple[str, float, float]] = field(default_factory=list)
    prices: list[tuple[str | None, float]] = field(default_factory=list)
    opens: bool = False
    machine: str | None = None


@dataclass(frozen=True)
class Example:
    """One form of a document: its pieces, the components named in each, and their lexical signs."""

    pieces: Sequence[Piece]
    mentions: Sequence[Sequence[Mention]]
    signs: Any
    spoken: bool


def make_forms(document: LabelledDocument, lexicon: Lexicon) -> dict[str, Example]:
    """Make the forms of a document that training sees: "written", "bare" for punctuated ones, "cut" by the program."""
    texts = [sentence.text for sentence in document.sentences]
    own = [[number] * len(text.split()) for number, text in enumerate(texts)]
    forms = {"written": _make(document, texts, own, lexicon)}
    if not document.raw:
        bare = [" ".join(filter(None, map(bare_word, text.split()))) or text for text in texts]
        forms["bare"] = _make(document, bare, own, lexicon)
    cut = (
        _cut_at_stops(document, lexicon) if document.form is SourceKind.RECORDING and not document.raw else _cut_badly(document)
    )
    forms["cut"] = _make(document, *cut, lexicon)
    return forms


def _cut_at_stops(document: LabelledDocument, lexicon: Lexicon) -> tuple[list[str], list[list[int]]]:
    """The pieces that the program makes of punctuated speech, and the labelled sentences that their words come from."""
    pieces = [one.heard for one in cut_speech(as_recording(document), lexicon, lambda words: [-1.0] * len(words))]
    owners = iter([number for number, sentence in enumerate(document.sentences) for _ in sentence.text.split()])
    return pieces, [[next(owners) for _ in piece.split()] for piece in pieces]


def _cut_badly(document: LabelledDocument) -> tuple[list[str], list[list[int]]]:
    """Captions or a note cut at the labelled ends, with mistakes such as the boundary heads make; the same ones every time."""
    chance = random.Random(document.path)
    pieces: list[list[str]] = [[]]
    covered: list[list[int]] = [[]]
    for number, sentence in enumerate(document.sentences):
        words = sentence.text.split()
        for place, word in enumerate(words):
            pieces[-1].append(word)
            covered[-1].append(number)
            if chance.random() < _chance_of_cut(words, place):
                pieces.append([])
                covered.append([])
    kept = [(" ".join(piece), numbers) for piece, numbers in zip(pieces, covered, strict=True) if piece]
    return [piece for piece, _ in kept], [numbers for _, numbers in kept]


def _chance_of_cut(words: Sequence[str], place: int) -> float:
    if place == len(words) - 1:
        return 1 - _LOST_END
    return _FALSE_END_BEFORE_LINK if words[place + 1] in _LINKS and place >= 4 else _FALSE_END


def _make(document: LabelledDocument, texts: Sequence[str], covered: Sequence[Sequence[int]], lexicon: Lexicon) -> Example:
    pieces = [Piece(lexicon.mend(text)) for text in texts]
    for piece, numbers in zip(pieces, covered, strict=True):
        kinds = [document.labels[number].kind for number in numbers]
        piece.kind = max(kinds, key=kinds.count) if kinds else "aside"
        piece.machine = _machine_at(document, numbers[0] + 1 if numbers else 1)
    finder = _Finder(pieces, covered, lexicon)
    for number, label in enumerate(document.labels):
        if label.turn != "none" and (piece_found := finder.telling(number, label.turn)):
            piece_found.turn = label.turn
    for number, job in enumerate(document.jobs):
        _place_facts(number, job, finder, lexicon)
    for opening in _openings(document, lexicon):
        if piece_found := finder.longest(opening):
            piece_found.opens = True
    spoken = document.form is SourceKind.RECORDING
    at = At("", None, 0.0, 1.0) if spoken else At("")
    mentions = list(_name_parts(pieces, lexicon))
    signs = read_signs([Sentence(piece.text, piece.text, at) for piece in pieces], lexicon)
    return Example(pieces, mentions, signs, spoken)


def _name_parts(pieces: Sequence[Piece], lexicon: Lexicon) -> Iterator[list[Mention]]:
    """The components named in each piece, each stretch about one machine by itself."""
    start = 0
    for end in range(1, len(pieces) + 1):
        if end == len(pieces) or pieces[end].machine != pieces[start].machine:
            yield from lexicon.name_parts([piece.text for piece in pieces[start:end]], pieces[start].machine)
            start = end


def _openings(document: LabelledDocument, lexicon: Lexicon) -> list[int]:
    """The sentences that open a further job: between two jobs' facts the first one that names
    the second one's machine or its number."""
    spans = sorted(
        ((min(ats), max(ats), job) for job in document.jobs if (ats := _fact_places(job))), key=lambda span: span[:2]
    )
    openings = []
    for (_, end, _), (start, _, job) in zip(spans, spans[1:], strict=False):
        between = range(min(end, start - 1), start)  # facts are counted from 1, these places from 0
        named = [n for n in between if _names_job(document.sentences[n].text, job.get("appliance"), lexicon)]
        openings.append(next(iter(named), start - 1))
    return openings


def _names_job(text: str, machine: str | None, lexicon: Lexicon) -> bool:
    return machine in {said.name for said in lexicon.find_machines(text)} or bool(find_job_numbers(text))


def _fact_places(job: dict[str, Any]) -> list[int]:
    """The numbers, counted from 1, of the sentences that tell a job's facts."""
    facts = [one for key in ("attempts", "symptoms", "checks", "stated_shares", "costs") for one in job.get(key) or ()]
    return [place for one in facts for place in (one.get("at"), one.get("result_at")) if place]


def _machine_at(document: LabelledDocument, number: int) -> str | None:
    """The machine of the job that is being told at sentence `number`, counted from 1."""
    begun = sorted((min(ats), place) for place, job in enumerate(document.jobs) if (ats := _fact_places(job)))
    told = [place for at, place in begun if at <= number] or [0]
    return document.jobs[told[-1]].get("appliance") if document.jobs else None


class _Finder:
    """Finds the piece to which a label of a labelled sentence belongs, where the sentence went into several."""

    def __init__(self, pieces: Sequence[Piece], covered: Sequence[Sequence[int]], lexicon: Lexicon) -> None:
        self._lexicon = lexicon
        self._pieces: dict[int, list[tuple[Piece, int]]] = {}
        for piece, numbers in zip(pieces, covered, strict=True):
            for number in set(numbers):
                self._pieces.setdefault(number, []).append((piece, list(numbers).count(number)))

    def longest(self, number: int) -> Piece | None:
        """The piece with most of the sentence's words."""
        return max(self._pieces.get(number, ()), key=lambda one: one[1], default=(None, 0))[0]

    def doing(self, number: int, component: str, machine: str | None) -> Piece | None:
        """The piece that tells of work on a component."""
        held = [piece for piece, _ in self._pieces.get(number, ())]
        does = [piece for piece in held if self._lexicon.operations.find(piece.text)]
        names = [piece for piece in does or held if component in self._names(piece.text, machine)]
        return next(iter(names or does), None) or self.longest(number)

    def _names(self, text: str, machine: str | None) -> list[str]:
        return [one.component for one in self._lexicon.find_parts(text, machine)]

    def telling(self, number: int, turn: str) -> Piece | None:
        """The piece that tells a result."""
        held = self._pieces.get(number, ())
        says = [piece for piece, _ in held if any(said.name == turn for said in self._lexicon.results.find(piece.text))]
        if says or not held:
            return says[-1] if says else None
        return held[-1][0] if held[-1][1] >= 3 else self.longest(number)

    def sharing(self, number: int) -> Piece | None:
        """The piece that says a share."""
        held = [piece for piece, _ in self._pieces.get(number, ()) if find_said(piece.text)]
        return held[0] if held else self.longest(number)

    def pricing(self, number: int, amount: float) -> Piece | None:
        """The piece that names an amount of money."""
        held = [piece for piece, _ in self._pieces.get(number, ())]
        says = [piece for piece in held if any(is_amount(one.money.amount, amount) for one in find_amounts(piece.text))]
        return says[0] if says else self.longest(number)


def is_amount(said: float, gold: float) -> bool:
    """Whether a number in the text is the labelled one."""
    return abs(said - gold) < AMOUNT_TOLERANCE


def _place_facts(number: int, job: dict[str, Any], finder: _Finder, lexicon: Lexicon) -> None:
    machine = job.get("appliance")
    for attempt in job.get("attempts") or ():
        component = plain_name(attempt["component"], machine, lexicon)
        told = finder.doing(attempt["at"] - 1, component, machine) if attempt.get("at") else None
        if told:
            told.attempts.append(
                GoldAttempt(
                    component, attempt["operation"], attempt.get("by", "us"), number, attempt["order"], attempt["result"]
                )
            )
        shown = attempt.get("result_at") if attempt["result"] != "untested" else None
        if shown and (piece := finder.telling(shown - 1, attempt["result"])):
            piece.results.append((number, attempt["order"]))
    for symptom in job.get("symptoms") or ():
        if symptom.get("at") and (piece := finder.longest(symptom["at"] - 1)):
            piece.tags |= set(symptom["tags"])
    for share in job.get("stated_shares") or ():
        if share.get("at") and (piece := finder.sharing(share["at"] - 1)):
            piece.shares.append((plain_name(share["component"], machine, lexicon), float(share["low"]), float(share["high"])))
    for cost in job.get("costs") or ():
        if cost.get("at") and (piece := finder.pricing(cost["at"] - 1, float(cost["amount"]))):
            priced = plain_name(cost["component"], machine, lexicon) if cost["component"] else None
            piece.prices.append((priced, float(cost["amount"])))
