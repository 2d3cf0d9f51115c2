"""What was found on the way to a fix: complaints, checks, and the hazards that were spoken of."""

from __future__ import annotations

from collections.abc import Sequence

from kbindex.reading.amounts import find_reading
from kbindex.reading.hazards import find_hazard
from kbindex.reading.kinds import Judged
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.symptoms import find_code, find_count, find_tags
from kbindex.records import Attempt, Caution, Check, Kind, Sentence, Symptom

_PLUG = "mains power"
_SURE_OF_TAG = 0.5
"""Chance from which the head names the symptom of a complaint in words that the lexicon does not know."""


def read_symptoms(
    sentences: Sequence[Sentence], judged: Sequence[Judged], attempts: Sequence[Attempt], lexicon: Lexicon
) -> tuple[Symptom, ...]:
    """Complaints: sentences judged so, and before the first work also others that name a symptom."""
    first_work = attempts[0].at if attempts else None
    worked = False
    found: list[Symptom] = []
    for sentence, verdict in zip(sentences, judged, strict=True):
        worked = worked or sentence.at is first_work
        tags = find_tags(sentence.text, lexicon)
        code = find_code(sentence.text)
        is_complaint = verdict.kind is Kind.SYMPTOM or (not worked and verdict.kind in (Kind.ASIDE, Kind.RESULT) and tags)
        if not is_complaint or (worked and not found and not tags):
            continue
        count = find_count(sentence.text)
        if code and "error_code" not in tags:
            tags = (*tags, "error_code")
        if not tags and verdict.tag[1] >= _SURE_OF_TAG:
            tags = (verdict.tag[0],)
        if tags:
            found.append(Symptom(sentence.text, tags, sentence.at, count, code))
    return tuple(found)


def read_checks(
    sentences: Sequence[Sentence], judged: Sequence[Judged], machine: str | None, lexicon: Lexicon
) -> tuple[Check, ...]:
    """Looks and measurements, each with its reading and the component last named in it."""
    checks: list[Check] = []
    recent: list[str] = []
    for sentence, verdict in zip(sentences, judged, strict=True):
        mentions = lexicon.find_parts(sentence.text, machine, recent)
        recent += [mention.component for mention in mentions]
        if verdict.kind is Kind.CHECK:
            named = mentions[-1].component if mentions else None
            checks.append(Check(sentence.text, sentence.at, sentence.text, find_reading(sentence.text), named))
    return tuple(checks)


def read_cautions(sentences: Sequence[Sentence], judged: Sequence[Judged], lexicon: Lexicon) -> tuple[Caution, ...]:
    """The main hazard of each sentence of caution; captions cut one in two, and then the plug goes with what follows."""
    found: list[Caution] = []
    last = -9
    for place, (sentence, verdict) in enumerate(zip(sentences, judged, strict=True)):
        topic = find_hazard(sentence.text, lexicon) if _is_caution(verdict) else None
        if topic is None:
            continue
        goes_on = place - last == 1 and not sentences[last].text.rstrip().endswith((".", "!", "?"))
        if goes_on and topic == _PLUG and found[-1].topic != _PLUG:
            continue
        if goes_on and topic != _PLUG and found[-1].topic == _PLUG:
            found.pop()
        found.append(Caution(topic, sentence.text, sentence.at))
        last = place
    return tuple(found)


def _is_caution(verdict: Judged) -> bool:
    return verdict.kind is Kind.CAUTION
