"""Finds telephone numbers and e-mail addresses, written or spoken."""

from __future__ import annotations

import re
from collections.abc import Iterator

from kbindex.reading.private_words import FIGURE, UNIT, Chance, Span, chance_of, compile_bounded, expand_figures

_TLD = r"(?:net|com|org|edu|gov|io|co|info|biz|me|us|uk|ca|au|nz|ie|de|fr|nl|eu)"
_EMAIL_RES = (
    compile_bounded(r"(?<![\w.+'-])[\w+'-][\w.+'-]{0,63}@[A-Za-z0-9-]{1,63}(?:\.[A-Za-z][\w-]{1,30}){1,4}"),
    compile_bounded(rf"(?<![\w.+-])[\w+-][\w.+-]{{0,63}}[ \t]?@[ \t]?[A-Za-z0-9-]{{2,63}}\.{_TLD}\b", re.IGNORECASE),
    compile_bounded(r"(?<![\w@.])@[A-Za-z_]\w*[\d_]\w*"),
)
_DOTTED = r"(?:[ \t]+(?:dot|underscore|dash|hyphen|period|point|plus)[ \t]+[\w'-]{1,30})"
_SPELLED = r"(?:(?<![\w'])[a-z0-9][ \t]+){1,20}"
_SPOKEN_EMAIL_RE = compile_bounded(
    rf"(?:{_SPELLED}[\w'-]{{1,30}}|(?<![\w'])[\w'.+-]{{1,30}}){_DOTTED}{{0,4}}[ \t]*,?[ \t]+(?:at|@)[ \t]+"
    rf"[\w-]{{2,30}}(?:[ \t]+[\w-]{{2,30}})?(?:[ \t]+(?:dot|period|point)[ \t]+|\.){_TLD}\b(?:(?:[ \t]+dot[ \t]+|\.){_TLD}\b)?",
    re.IGNORECASE,
)
_EMAIL_CUE_RE = compile_bounded(
    r"\b(?:e-?mails?|mail)(?:[ \t]+(?:address|addy|addr|handle))?(?:[ \t]*[:=]|[ \t]+is|'s|[ \t]+at)?[ \t]*([\w.+-]{3,64})",
    re.IGNORECASE,
)

_PHONE_CUE = (
    r"(?:\b(?:phone|ph|tel|telephone|cell|cellphone|mobile|mob|fax|landline|whatsapp|direct line|ext|extension)\b\.?|"
    r"\bnumber(?:'s|[ \t]+is|[ \t]*:)|\b(?:call|ring|text|txt|phone|reach|try|get)(?:[ \t]+[\w'.]+){0,3}[ \t]+(?:at|on|@)|\b(?:call|text|txt|ring)|"
    r"\blast four(?: digits)?|\bending(?: in)?|\bends in|\b(?:phone|telephone|cell|mobile|number|line)[ \t]+ends(?:[ \t]+with)?|\bdial)"
)
_CUED_RE = compile_bounded(
    rf"{_PHONE_CUE}[ \t]*(?:(?:no\.?|number|num|#|is|at|on|it's|that's|home|work|cell|her|his|their|\(\w{{1,5}}\)|[:=,-])[ \t]*){{0,4}}"
    r"(\+?\(?\d[\d \t().-]{2,18}\d)(?!\w|\.\d)",
    re.IGNORECASE,
)
_WRITTEN_RES = (
    compile_bounded(r"(?<![\w.+-])\+\d{1,3}[ \t.-]?\(?\d{1,4}\)?(?:[ \t.-]?\d{2,4}){2,4}(?!\w|\.\d)"),
    compile_bounded(r"(?<![\w.+-])(?:\+?1[ \t.-]?)?(?:\(\d{3}\)[ \t.-]?|\d{3}[ \t.-])\d{3}[ \t.-]?\d{4}(?!\w|\.\d)"),
    compile_bounded(r"(?<![\w.+-])\(?0\d{2,4}\)?[ \t-]\d{3,4}(?:[ \t-]?\d{3,4})?(?!\w|\.\d)"),
    compile_bounded(r"(?<![\w.+-])0\d{9,10}(?!\w|\.\d)"),
    compile_bounded(r"(?<![\w.-])\d{3}-\d{4}(?![\w-]|\.\d)"),
    compile_bounded(
        r"(?<![\w.-])\(?5[ \t.-]?5[ \t.-]?5\)?[ \t./_\u00b7-]{0,3}[0oO][ \t.-]{0,3}1[ \t.-]{0,3}\d[ \t.-]{0,3}\d(?:x\d{1,5})?(?!\w|\.\d)"
    ),
    compile_bounded(r"(?<![\w.-])\(\d{3}\)[ \t]?\d{4}(?!\w|\.\d)"),
    compile_bounded(r"(?<![\w.-])555[ \t]{0,2}\d{4}(?!\w|\.\d)"),
    compile_bounded(r"(?<![\w.-])(?:1?\d{3})?555\d{4}(?!\w|\.\d)"),
)
_TIMES_RE = compile_bounded(r"[0-2]\d[0-5]\d[ \t]?-[ \t]?[0-2]\d[0-5]\d")
_CATALOGUE_RE = compile_bounded(r"\b(?:part|catalogu?e|model|serial|stock|item)\b[^.\n]{0,30}$", re.IGNORECASE)
_STUCK_RE = compile_bounded(r"\b(?:ph|tel|cell|mob|phone)(\d{3}[ \t.-]?\d{4})(?!\w)", re.IGNORECASE)
_NOT_PHONE_BEFORE_RE = compile_bounded(
    r"(?:\b(?:part|p/n|pn|p\.n\.|model|serial|s/n|sn|mod|job|ticket|wo|w\.o\.|order|invoice|inv|item|sku|ref|code|quote)(?:'s)?[ \t]*"
    r"(?:no\.?|num(?:ber)?|#|is|was|[:=])?[ \t]*(?:no\.?|is|[:=#])?[ \t]*|#[ \t]*)$",
    re.IGNORECASE,
)
_PART_BEFORE_RE = compile_bounded(
    r"\b(?:part|p/n|pn|p\.n\.|model|serial|s/n|sn|mod|item|sku|ref)\b[^.\n]{0,24}$", re.IGNORECASE
)
_OWN_NUMBER_RE = compile_bounded(
    r"\b(?:his|her|their|my|whose)[ \t]+(?:\w+[ \t]+)?(?:number|phone|mobile|cell|line)\b", re.IGNORECASE
)
""" "His number for the invoice is ..." is no invoice's number."""
_FIGURE_RE = compile_bounded(rf"{FIGURE}|\d+", re.IGNORECASE)
_GAP = r"[ \t,.-]{1,3}(?:(?:uh|um|er|erm|dash|hyphen|then|and)[ \t,.]{1,3})?"
_FIGURE_RUN_RE = compile_bounded(
    rf"(?<![\w'])(?:{FIGURE}|\d{{1,4}})(?:{_GAP}(?:{FIGURE}|\d{{1,4}})\b){{2,24}}(?![\w'])", re.IGNORECASE
)
_CUE_END_RE = compile_bounded(rf"{_PHONE_CUE}[^.\n]{{0,15}}$", re.IGNORECASE)
_TOLD_RE = compile_bounded(r"\b(?:this is|that's|it's|that is|reads?|reading|got|get|counts?|counted)[ \t,:]*$", re.IGNORECASE)
_SHORT_CUE_RE = compile_bounded(r"last|(?:\w+[ \t]+)?end|ext", re.IGNORECASE)
_UNIT_RE = compile_bounded(UNIT, re.IGNORECASE)


def find_emails(text: str) -> Iterator[Span]:
    """Find e-mail addresses and handles: "dana@example.net", "dana at example dot net"."""
    if "@" in text:
        for pattern in _EMAIL_RES:
            yield from (match.span() for match in pattern.finditer(text))
    lower = text.lower()
    if " dot " in lower or " at " in lower or " period " in lower:
        yield from ((_spoken_start(text, match.start()), match.end()) for match in _SPOKEN_EMAIL_RE.finditer(text))
    if "mail" in lower:
        for match in _EMAIL_CUE_RE.finditer(text):
            handle = match.group(1)
            told = re.search("[:=]|is|'s|at", text[match.start() + 4 : match.start(1)])
            if re.search(r"[A-Za-z][\w.]*[\d_.]\w*", handle) or (told and chance_of(handle) >= Chance.UNKNOWN):
                yield match.span(1)


def _spoken_start(text: str, start: int) -> int:
    """Where a spoken address begins: names, letters and figures right before belong to it ("t rex forty two at ...")."""
    for _ in range(4):
        before = compile_bounded(r"(?<![\w'-])([\w'-]{1,30})[ \t]+$").search(text, max(0, start - 32), start)
        if before is None or before.group(1).lower() in ("i", "a"):
            break
        word = before.group(1)
        if len(word) > 1 and not _FIGURE_RE.fullmatch(word) and chance_of(word) < Chance.BOTH:
            break
        start = before.start()
    return start


def find_phones(text: str) -> Iterator[Span]:
    """Find telephone numbers in figures, in words, or mixed."""
    if any(ch.isdigit() for ch in text):
        yield from _find_written(text)
    for match in _FIGURE_RUN_RE.finditer(text):
        if _is_spoken_phone(text, match):
            yield match.span()


def _find_written(text: str) -> Iterator[Span]:
    for pattern in _WRITTEN_RES:
        for match in pattern.finditer(text):
            is_reading = not re.search("[-(+]", match.group()) and _UNIT_RE.match(text, match.end()) is not None
            before = text[max(0, match.start() - 45) : match.start()]
            is_other = _NOT_PHONE_BEFORE_RE.search(before) is not None and _OWN_NUMBER_RE.search(before) is None
            if re.match(r"\(?555\D{0,4}01", match.group()):  # set apart for made-up telephones: hardly ever anything else
                is_other = is_other and _PART_BEFORE_RE.search(before.rstrip(" \t#")) is not None
            if not (is_reading or _TIMES_RE.fullmatch(match.group()) or is_other):
                yield match.span()
    yield from (match.span(1) for match in _STUCK_RE.finditer(text))
    for match in _CUED_RE.finditer(text):
        digits = sum(ch.isdigit() for ch in match.group(1))
        is_reading = _UNIT_RE.match(text, match.end()) is not None
        is_short = digits < 6 and not _SHORT_CUE_RE.match(match.group())
        is_other = _NOT_PHONE_BEFORE_RE.search(text[max(0, match.start() - 10) : match.start(1)]) is not None
        is_other |= _is_of_catalogue(text, match.start(), match.group())
        if digits >= 4 and not (is_reading or is_short or is_other):
            yield match.span(1)


def _is_of_catalogue(text: str, start: int, words: str) -> bool:
    """ "The part number ends in 55-0140": the last figures of a part."""
    return _SHORT_CUE_RE.match(words) is not None and _CATALOGUE_RE.search(text, max(0, start - 45), start) is not None


def _is_spoken_phone(text: str, match: re.Match[str]) -> bool:
    words = match.group()
    if not re.search("[a-z]", words, re.IGNORECASE):
        return False
    groups = expand_figures(words)
    digits = "".join(groups)
    before = text[max(0, match.start() - 40) : match.start()]
    if len(digits) < 4 or len(digits) > 15 or _NOT_PHONE_BEFORE_RE.search(before):
        return False
    if _is_counting(groups) or _is_sum_of_words(words):
        return False
    singles = sum(len(group) == 1 or group in ("555", "000") for group in groups)
    if len(digits) >= 7 and (re.search("555", digits) or (singles >= 4 and not _TOLD_RE.search(before))):
        return True
    cue = _CUE_END_RE.search(before)
    if cue is None or _is_of_catalogue(before, cue.start(), cue.group()) or _UNIT_RE.match(text, match.end()):
        return False
    return len(digits) >= 6 or re.search(r"\b(?:last|ends?|ext)", cue.group(), re.IGNORECASE) is not None


def _is_sum_of_words(words: str) -> bool:
    """Whether hundreds are spoken of, as in readings and prices; "eight hundred" opens a toll-free number."""
    scales = re.findall(r"hundred|thousand", words.lower())
    return bool(scales) and not re.match(r"(?:one\W+)?eight\W+hundred|five\W+five\W+five|triple five|555", words.lower())


def _is_counting(groups: list[str]) -> bool:
    """Whether most figures go up or down one by one: somebody counts beeps, or a dance."""
    steps = [int(after) - int(before) for before, after in zip(groups, groups[1:], strict=False)]
    return max(steps.count(1), steps.count(-1)) * 3 >= len(steps) * 2
