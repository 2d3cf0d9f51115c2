"""Cells that say how a repair turned out."""

from __future__ import annotations

import re

from kbindex.records import Result

_YES_RE = re.compile(
    r"^\W*(?:y|yes|ok|okay|fixed|good|works?|worked|done|solved|cured|all good|pass(?:ed)?|running|true|1|x|tick|completed?|yep|resolved)\b|^\s*[✓✔]",
    re.IGNORECASE,
)
_NO_RE = re.compile(
    r"^\W*(?:n|no|nope|0|false|not fixed|fail(?:ed)?|unsolved|ng|n\.g\.?|no sir|no good)\s*(?:$|[,.;:!-])|\bno (?:change|chg|luck|joy|good|help|better|difference|improvement)\b|"
    r"\bno diff\w*|\bn/?c\b|\b(?:still|same|won'?t|wont|doesn'?t|didn'?t help|unchanged|worse|as before)\b",
    re.IGNORECASE,
)
_BACK_RE = re.compile(
    r"\b(?:came|come|comes) back\b|\bcall-?\s?back\b|\breturned\b|\byes,? then\b|\bre-?occur\w*|\bfailed after\b|\bthen\b.*\b(?:again|agn|agin|back)\b|"
    r"\b(?:held|ok|good|fine|work\w*|ran)\b.*\b(?:days?|wks?|weeks?|months?)\b.*\b(?:then|again|agn|back)\b|"
    r"\w.*\b(?:call\w*|rang|rings?|phon\w+|text\w*|e-?mails?|emailed|message|writes?|wrote|says?|said)\b.{0,40}\b(?:again|agn|same|back|as (?:ever|before))\b",
    re.IGNORECASE,
)
_MONTH = "jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec"
_DAY = rf"(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?\b|\d{{1,2}}[-/. ](?:\d|{_MONTH})"
_AGAIN_RE = re.compile(
    rf"\bagain\b.*\b(?:{_DAY})|\b(?:{_DAY}).*\bagain\b|"
    r"\b(?:wet|dead|cold|warm|hot|noisy|loud|out|empty|blinking|beeping|leaking|tripped|stalled|same \w+) (?:on|after|by|since) (?:the )?"
    rf"(?:{_DAY}|second\b|third\b|fourth\b|next\b)|"
    r"\b(?:brought|owner|cust\w*|tenant|came|sent) (?:it |them )?back\b",
    re.IGNORECASE,
)
"""Something happened later: "stalled again tues", "wet on the third"."""
_GOOD_RE = re.compile(
    r"\b(?:works?|working|worked|runs?|running|ran|heats?|heating|cools?|cooling|drains?|fills?|spins?|starts?|lights?|lit|ok|okay|fine|good|quiet|dry)\b",
    re.IGNORECASE,
)
_PART_RE = re.compile(r"\b(?:part(?:ly|ial)|better|half|somewhat|improved|helped|some)\b", re.IGNORECASE)
_UNTESTED_RE = re.compile(
    r"\bnot (?:tested|run|tried|tryed|checked|known|yet|seen|lit|switched on)\b|\bto be (?:tested|run|checked)\b|\buntested\b|\bunknown\b|\bpending\b|\btbd\b|\bn/a\b|\bno test\b|"
    r"\b(?:didn'?t|did not|couldn'?t|could not) (?:get to )?(?:try|test|run|check)\b|\b(?:no|without) power\b|\bpower (?:was |is )?off\b|\bnothing run\b|\bwait(?:ing)?\b|"
    r"\b(?:could|can) ?n[o']t (?:be )?(?:turn|switch)\w* on\b|\bnothing could be\b|\bpower cut\b|\bwhen (?:the )?(?:pwr|power)\b|\blocked off\b|"
    r"\b(?:run|try|test) it (?:tonight|later|tomorrow)\b|\bwill hear\b|\bseen nothing\b|\bnot (?:been )?(?:tried|seen)\b|"
    r"\bcust\w*\.? (?:to|will) (?:call|ring|test|try)\b|^\s*(?:\?+(?:\s|$)|open\s*$)",
    re.IGNORECASE,
)


def read_result_cell_plainly(text: str, complaint: str = "") -> Result | None:
    """Read a result that a cell says in so many words, or that repeats the complaint; None where it only tells of a run."""
    if not re.search(r"\w|[✓✔?]", text):
        return Result.UNTESTED
    if _UNTESTED_RE.search(text):
        return Result.UNTESTED
    if _BACK_RE.search(text) or _is_relapse(text):
        return Result.CAME_BACK
    for pattern, result in ((_YES_RE, Result.FIXED), (_NO_RE, Result.NO_CHANGE), (_PART_RE, Result.PARTLY)):
        if pattern.search(text):
            return result
    return Result.NO_CHANGE if _repeats(text, complaint) else None


def _is_relapse(text: str) -> bool:
    """ "Dry two loads, wet on the third", "fine on the mat. Stalled again tues": good at first, and a later day that was not."""
    first, *later = _clauses(text) or [""]
    return not _NO_RE.search(first) and any(_AGAIN_RE.search(one) and not _GOOD_RE.search(one) for one in later)


def _repeats(text: str, complaint: str) -> bool:
    """Whether a cell begins with what the complaint said: "4 blinks, warm", or the same reading ("62 F next morning")."""
    said, complained = _clauses(text), _clauses(complaint)
    reading = _READING_RE.match(text.lower())
    same_reading = reading is not None and reading.group() in (
        found.group() for found in _READING_RE.finditer(complaint.lower())
    )
    return same_reading or any(" " in first and first in complained for first in said[:1])


_READING_RE = re.compile(r"(?<![\d.])\d+(?:\.\d+)? ?(?:f|c|deg\w*|degrees|volts?|v|ohms?|amps?|psi|bar|sec\w*)\b")


def _clauses(text: str) -> list[str]:
    return [clause.strip() for clause in re.split(r"[.;,](?:\s+|$)|\s/\s", text.lower()) if clause.strip()]


def read_result_cell(text: str, complaint: str = "") -> Result:
    """Read a cell that says how the repair turned out.

    What says neither that it was not run, nor that it failed, tells of a run that went well ("two cycles, no blinks").
    """
    return read_result_cell_plainly(text, complaint) or Result.FIXED
