"""Tells names from everyday words, and spoken figures from other words: what all finders of private details ask."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from enum import IntEnum
from functools import cache, cached_property, lru_cache
from importlib.resources import files

Span = tuple[int, int]
"""Start and end of a place in a text."""

WORD_RE = re.compile(r"[^\W\d_]+(?:['-][^\W\d_]+)*")
"""A word without its closing apostrophe; typographic signs are made plain before anything is looked for."""
_VOWELS_RE = re.compile(r"(?<=.)[aeiou]")
"""All vowels but one that a word begins with."""


def compile_bounded(pattern: str, flags: int = 0) -> re.Pattern[str]:
    """Compile a pattern with each open-ended run of blanks or word signs bounded, so that no text makes a search slow."""
    pattern = pattern.replace(r"[ \t]+", r"[ \t]{1,6}").replace(r"[ \t]*", r"[ \t]{0,6}")
    pattern = re.sub(r"(\]|\\[wdWS])\+", r"\1{1,40}", pattern)
    return re.compile(re.sub(r"(\]|\\[wdWS])\*", r"\1{0,40}", pattern), flags)


class Chance(IntEnum):
    """How likely a word is a person's name, whatever its case."""

    NEVER = 0
    EVERYDAY = 1
    BOTH = 2
    UNKNOWN = 3
    SURE = 4


@dataclass(frozen=True)
class WordLists:
    """The words of `names.toml` and `everyday.toml`."""

    given: frozenset[str]
    surnames: frozenset[str]
    never_names: frozenset[str]
    everyday: frozenset[str]
    streets: frozenset[str]
    heading: frozenset[str]

    @cached_property
    def names(self) -> frozenset[str]:
        """Given and family names."""
        return self.given | self.surnames

    @cached_property
    def all_everyday(self) -> frozenset[str]:
        """Words of the language, whether or not they may be names too."""
        return self.everyday | self.never_names


@cache
def load_words() -> WordLists:
    """Read the lists once a process."""
    folder = files("kbindex.reading").joinpath("data")
    names = tomllib.loads(folder.joinpath("names.toml").read_text(encoding="utf-8"))
    everyday = tomllib.loads(folder.joinpath("everyday.toml").read_text(encoding="utf-8"))
    return WordLists(
        given=frozenset(names["given"].split()),
        surnames=frozenset(names["surnames"].split()),
        never_names=frozenset(everyday["never_names"].split()),
        everyday=frozenset(everyday["words"].split() + everyday["more_words"].split()),
        streets=frozenset(everyday["streets"].split()),
        heading=frozenset(everyday["heading"].split()),
    )


_LONGEST_WORD = 40
_ENDINGS = (
    ("s", ""), ("es", ""), ("ed", ""), ("ed", "e"), ("d", ""), ("ing", ""), ("ing", "e"), ("ly", ""), ("er", ""), ("er", "e"),
    ("ies", "y"), ("ied", "y"), ("y", ""), ("y", "e"), ("in", "ing"), ("in", ""), ("in", "e"), ("in'", "ing"), ("n't", ""), ("'ll", ""), ("'d", ""),
    ("'re", ""), ("'ve", ""), ("'m", ""), ("ness", ""), ("less", ""), ("ier", "y"), ("iest", "y"), ("est", ""), ("ish", ""),
)  # fmt: skip
_PREFIXES = ("re", "un", "over", "mis", "non", "micro", "thermo", "electro", "anti", "pre", "super")
_DOUBLING_ENDINGS = ("ed", "ing", "er", "y", "in")


def bare(word: str) -> str:
    """The word in lower case without a possessive ending."""
    return word.lower().removesuffix("'s").rstrip("'-")


@lru_cache(maxsize=20_000)
def chance_of(word: str) -> Chance:
    """How likely a word (in any case, possessive or not) is a name."""
    lists, word = load_words(), bare(word)
    if word in lists.never_names or not word:
        return Chance.NEVER
    if len(word) > _LONGEST_WORD:
        return Chance.EVERYDAY
    if "-" in word or "'" in word:
        return _chance_of_compound(word)
    known = word in lists.names
    if word in lists.everyday or (len(word) <= 3 and known):
        return Chance.BOTH if known else Chance.EVERYDAY
    if known:
        return Chance.SURE
    if len(word) <= 2 or not re.search("[aeiouyà-ÿ]", word) or _is_derived(word, lists.all_everyday) or _is_shortened(word):
        return Chance.EVERYDAY
    if len(word) > 4 and word.endswith("s") and chance_of(word[:-1]) is Chance.SURE:
        return Chance.SURE  # "the hendersons"
    return Chance.UNKNOWN


def _chance_of_compound(word: str) -> Chance:
    """ "top-load" and "won't" are everyday words, "amadi-rowe" and "o'hara" are not."""
    lists = load_words()
    if "'" in word and (word in lists.everyday or _is_derived(word, lists.all_everyday)):
        return Chance.EVERYDAY
    if word.replace("'", "") in lists.surnames:
        return Chance.SURE
    chances = [chance_of(part) for part in re.split("[-']", word) if part]
    if Chance.SURE in chances and min(chances) >= Chance.EVERYDAY and "-" in word:
        return Chance.SURE
    return max(chances) if Chance.UNKNOWN in chances and Chance.NEVER not in chances else Chance.EVERYDAY


def _is_derived(word: str, stems: frozenset[str]) -> bool:
    for ending, instead in _ENDINGS:
        if not word.endswith(ending) or len(word) - len(ending) < 2:
            continue
        stem = word[: -len(ending)]
        if stem + instead in stems:
            return True
        if ending in _DOUBLING_ENDINGS and len(stem) > 2 and stem[-1] == stem[-2] and stem[:-1] in stems:
            return True
        if ending == "s" and len(stem) > 4 and _is_derived(stem, stems):
            return True
    return any(word.startswith(head) and len(word) - len(head) > 2 and _is_stem(word[len(head) :], stems) for head in _PREFIXES)


def _is_shortened(word: str) -> bool:
    """Shorthand leaves vowels away: "cornr", "lukewrm" and "opn" are everyday words."""
    return any(len(word) < len(full) and _is_within(word, full) for full in _by_consonants().get(_VOWELS_RE.sub("", word), ()))


@cache
def _by_consonants() -> dict[str, list[str]]:
    """The everyday words by their consonants and a vowel that they begin with."""
    found: dict[str, list[str]] = {}
    for word in load_words().all_everyday:
        if len(word) > 3:
            found.setdefault(_VOWELS_RE.sub("", word), []).append(word)
    return found


def _is_within(word: str, full: str) -> bool:
    """Whether a word's letters stand in the full one in the same order."""
    letters = iter(full)
    return all(letter in letters for letter in word)


def _is_stem(word: str, stems: frozenset[str]) -> bool:
    return word in stems or _is_derived(word, stems)


def is_capitalised(word: str) -> bool:
    """Whether a word is written as a name is: "Marsh", "McKay"; not "MARSH", which shouting makes of any word."""
    return word[:1].isupper() and (len(word) == 1 or any(ch.islower() for ch in word.removesuffix("'s")))


def is_street_word(word: str) -> bool:
    """Whether streets are called so: a word of the list, an ordinal ("3rd"), or a word that is nothing else."""
    plain = bare(word.rstrip("."))
    if re.fullmatch(r"\d{1,3}(?:st|nd|rd|th)", plain) or plain in load_words().streets:
        return True
    chance = chance_of(plain)
    return chance >= Chance.UNKNOWN or (chance is Chance.BOTH and is_capitalised(word))


_SMALL = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "thirteen",
    "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
]  # fmt: skip
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_FIGURES = {word: str(value) for value, word in enumerate(_SMALL)}
_FIGURES |= {"oh": "0", "o": "0", "nought": "0", "naught": "0", "hundred": "00", "thousand": "000"}
_FIGURES |= {word: str(10 * place) for place, word in enumerate(_TENS, start=2)}
_TIMES = {"double": 2, "triple": 3, "treble": 3}

FIGURE = r"(?:{})".format("|".join(sorted([*_FIGURES, *_TIMES], key=len, reverse=True)))
"""Pattern of one word of a spoken number, without groups."""

UNIT = (
    r"(?:[ \t]*(?:[°%\"µΩ]|(?:v|volts?|v?[ad]c|ohms?|k|meg|kilohms?|megohms?|amps?|ma|milliamps?|uf|mfd|microfarads?|psi|f|deg|degrees?|"
    r"rpm|hz|w|kw|watts?|mm|cm|ft|feet|foot|inch|inches|lbs?|oz|liters?|litres?|gal|gallons?|percent|times|x|"
    r"secs?|seconds?|mins?|minutes?|hrs?|hours?|days?|weeks?|wks?|months?|years?|yrs?|beeps?|blinks?|bucks|dollars?|quid|cents?|"
    r"bar|mbar|mv|millivolts?|btu|screws?|bolts?)\b)|(?:a|c|l|m|in)\b|\.\d|:\d)"
)
"""Pattern of what stands after a figure that is a reading, a price, a time or a count."""


def has_figures(text: str) -> bool:
    """Whether two figures at least are written or spoken; without them there is no code and no phone."""
    return (
        re.search(r"\d\D{0,2}\d", text) is not None or sum(word in _FIGURES for word in re.findall("[a-z]+", text.lower())) > 1
    )


def expand_figures(words: str) -> list[str]:
    """Spoken or written figures as groups of digits: "triple five oh forty two" gives 555, 0, 42."""
    groups: list[str] = []
    times = 1
    for token in re.findall(r"[a-z]+|\d+", words.lower()):
        if token in _TIMES:
            times = _TIMES[token]
            continue
        figure = token if token.isdigit() else _FIGURES.get(token)
        if figure is None:
            continue
        if groups and groups[-1] in ("20", "30", "40", "50", "60", "70", "80", "90") and len(figure) == 1 and figure != "0":
            groups[-1] = groups[-1][0] + figure
        else:
            groups.append(figure * times)
        times = 1
    return groups
