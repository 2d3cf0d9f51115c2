"""What was found on the way to a fix: complaints, checks, and the hazards that were spoken of."""

from __future__ import annotations

import re
from collections.abc import Sequence

from kbindex.reading.amounts import find_reading
from kbindex.reading.hazards import WARNING_RE, find_hazard
from kbindex.reading.kinds import Judged
from kbindex.reading.lexicon import Lexicon, Mention
from kbindex.reading.symptoms import find_code, find_count, find_tags
from kbindex.records import Attempt, Caution, Check, Kind, Sentence, Symptom

_PLUG = "mains power"
_WARNED, _UNWARNED = 0.03, 0.35
"""Least chance of a caution for a sentence that names a hazard and warns of it in words, and for one that only names it."""
_OFTEN_NAMED, _WARNED_OF_OFTEN = (_PLUG, "bypassed switch", "heat"), 0.08
"""Plugs, jumpers and burns are also spoken of in tests and complaints: more must speak for a caution."""
_REASON_RE = re.compile(r"^\W*(?:because|since|cause|and|so|you|it|it's|there|there's|i|where)\b", re.IGNORECASE)
_LENGTH_OF_REASON = 90
_LIKELY_COMPLAINT = 0.2
"""Least chance of a complaint for a sentence before the first work that names a symptom and was judged something else."""
_SURE_OF_TAG = 0.6
"""Chance from which the head names the symptom of a complaint in words that the lexicon does not know."""


def read_symptoms(
    sentences: Sequence[Sentence],
    judged: Sequence[Judged],
    machine: str | None,
    attempts: Sequence[Attempt],
    lexicon: Lexicon,
) -> tuple[Symptom, ...]:
    """Complaints: sentences judged so, and before the first work also others that are likely to name a symptom."""
    works = [(one.at, one.text) for one in attempts]  # the pieces of a note share their place
    worked = False
    found: list[Symptom] = []
    for sentence, verdict in zip(sentences, judged, strict=True):
        worked = worked or (sentence.at, sentence.text) in works
        tags, code, count = find_tags(sentence.text, lexicon, machine), find_code(sentence.text), find_count(sentence.text)
        likely = verdict.chances["kind"][Kind.SYMPTOM.value]
        too_early = verdict.kind is Kind.RESULT and not worked  # with nothing done yet it can only be the complaint
        if verdict.kind is not Kind.SYMPTOM and (worked or not tags or (likely < _LIKELY_COMPLAINT and not too_early)):
            continue
        if worked and not tags and not (found and code):
            continue
        if code and "error_code" not in tags:
            tags = (*tags, "error_code")
        tags = tags or tuple(tag for tag, chance in (verdict.tags or {}).items() if chance >= _SURE_OF_TAG)
        if tags:
            found.append(Symptom(sentence.text, tags, sentence.at, count, code))
    return tuple(found)


def read_checks(
    sentences: Sequence[Sentence], judged: Sequence[Judged], mentions: Sequence[Sequence[Mention]]
) -> tuple[Check, ...]:
    """Looks and measurements, each with its reading and the component last named in it."""
    checks: list[Check] = []
    for sentence, verdict, named in zip(sentences, judged, mentions, strict=True):
        if verdict.kind is Kind.CHECK:
            component = named[-1].component if named else None
            checks.append(Check(sentence.text, sentence.at, sentence.text, find_reading(sentence.text), component))
    return tuple(checks)


def read_cautions(sentences: Sequence[Sentence], judged: Sequence[Judged], lexicon: Lexicon) -> tuple[Caution, ...]:
    """The main hazard of each sentence of caution; captions cut one in two, and then the plug goes with what follows."""
    found: list[Caution] = []
    last = -9
    for place, (sentence, verdict) in enumerate(zip(sentences, judged, strict=True)):
        topic = find_hazard(_whole_caution(sentences, place), lexicon)
        if topic is None or not _is_caution(sentence.text, verdict, topic):
            continue
        goes_on = place - last == 1 and not _has_stop(sentences[last].text)
        if goes_on and (topic == found[-1].topic or (topic == _PLUG and found[-1].topic != _PLUG)):
            continue
        if goes_on and found[-1].topic == _PLUG:
            found.pop()
        found.append(Caution(topic, sentence.text, sentence.at))
        last = place
    return tuple(found)


def _is_caution(text: str, verdict: Judged, topic: str) -> bool:
    warned = _WARNED_OF_OFTEN if topic in _OFTEN_NAMED else _WARNED
    likely = verdict.chances["kind"][Kind.CAUTION.value]
    return verdict.kind is Kind.CAUTION or likely > (warned if WARNING_RE.search(text) else _UNWARNED)


def _whole_caution(sentences: Sequence[Sentence], place: int) -> str:
    """The sentence, with the beginning of the next one where captions cut between it and its reason."""
    text = sentences[place].text
    if _has_stop(text) or place + 1 >= len(sentences) or not _REASON_RE.match(sentences[place + 1].text):
        return text
    return f"{text} {sentences[place + 1].text[:_LENGTH_OF_REASON]}"


def _has_stop(text: str) -> bool:
    return text.rstrip().endswith((".", "!", "?"))
