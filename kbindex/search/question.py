"""A question's words into what is asked: the machine, the symptoms with counts and codes, the parts."""

from __future__ import annotations

from kbindex.questions import AskedSymptom, Question
from kbindex.reading.lexicon import Lexicon
from kbindex.reading.symptoms import find_code, find_count, find_tags

_COUNTED = ("beeps", "blinks")


def read_question(text: str, appliance: str | None, lexicon: Lexicon) -> Question:
    """Read a question; an `appliance` given apart goes before one named in the text."""
    text = " ".join(text.split())
    named = lexicon.find_machines(appliance) if appliance else []
    machines = named or ([] if appliance else lexicon.find_machines(text))
    machine = machines[0].name if machines else (appliance.lower().strip() if appliance else None)
    tags = find_tags(text, lexicon)
    count, code = find_count(text), find_code(text)
    if code and "error_code" not in tags:
        tags = (*tags, "error_code")
    symptoms = tuple(
        AskedSymptom(tag, count if tag in _COUNTED else None, code if tag == "error_code" else None) for tag in tags
    )
    components = tuple(dict.fromkeys(m.component for m in lexicon.find_parts(text, machine)))
    return Question(text, machine, symptoms, components)
