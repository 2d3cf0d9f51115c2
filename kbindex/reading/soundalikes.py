"""Trade words by their sound: what a recogniser writes for a part that it does not know ("run capacity her", "coyle").

Words are compared by their consonants as they sound, in the manner of Philips 1990 (Metaphone), simplified. A stretch of
words is mended where it sounds like a part's name and looks like it too; a single word only if it is no English word known here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher

from kbindex.reading.private_words import Chance, chance_of

_MOST_WORDS = 4
_SHORT_KEY, _SHORTEST, _SHORTEST_OF_ENGLISH = 4, 6, 9
"""Consonants and letters that words must have to be taken for a name; more where all of them are English words."""
_LOOKS_ALIKE, _LOOKS_VERY_ALIKE, _LOOKS_THE_SAME = 0.7, 0.78, 0.85
"""Least likeness of the letters (Ratcliff and Metzener 1988)."""
_NAME_RE = re.compile(r"[a-z]*[aeiou][a-z]*[a-z](?: [a-z]*[aeiou][a-z]*[a-z])*")
_LITTLE_WORDS = frozenset(
    "a an the is are was were and or but so as at in on of to it its it's he she they we i you that this these those with for from "
    "has had have not no by be been if up out off her his my your our their there then".split()
)
_TOKEN_RE = re.compile(r"[a-z][a-z']*", re.IGNORECASE)
_SOUNDS = tuple(
    (re.compile(pattern), sound)
    for pattern, sound in (
        (r"^(?:kn|gn|pn)", "n"), (r"^wr", "r"), (r"^wh", "w"), (r"mb$", "m"), (r"tch|ch|sh|ti(?=on)|ci(?=a)", "x"), (r"ph", "f"),
        (r"gh(?=t|$)", ""), (r"ck|q(?:u)?|c(?![eiy])", "k"), (r"c", "s"), (r"dg(?=[eiy])", "j"), (r"g(?=[eiy])", "j"), (r"x(?=[^aeiou]|$)", "ks"),
        (r"z", "s"), (r"th", "t"), (r"d", "t"), (r"v", "f"),
    )
)  # fmt: skip
_ENDINGS = frozenset("her or he it a".split())
"""Little words that a recogniser makes of a name's end."""


def sound_key(words: str) -> str:
    """The consonants of words as they sound; a vowel counts only where it opens."""
    letters = re.sub(r"[^a-z]", "", words.lower())
    opening = "a" if letters[:1] in set("aeiou") else ""
    for pattern, sound in _SOUNDS:
        letters = pattern.sub(sound, letters)
    key = re.sub(r"(?<!^)[hwy]|[aeiou]", "", letters)
    return opening + re.sub(r"(.)\1+", r"\1", key)


@dataclass(frozen=True)
class SoundAlikes:
    """Names of parts by how they sound; `known` are the names themselves, which need no mending."""

    names: Mapping[str, str]
    known: frozenset[str]

    @classmethod
    def of(cls, phrases: Iterable[str]) -> SoundAlikes:
        """Make it from names in lower case, leaving out shorthand; of two that sound alike the shorter one stays."""
        listed = [phrase for phrase in sorted(set(phrases), key=lambda one: (len(one), one)) if _NAME_RE.fullmatch(phrase)]
        names: dict[str, str] = {}
        for phrase in listed:
            names.setdefault(sound_key(phrase), phrase)
        return cls(names, frozenset(listed) | {f"{phrase}s" for phrase in listed})

    def mend(self, text: str) -> str:
        """Put names in place of what sounds like them."""
        tokens = list(_TOKEN_RE.finditer(text))
        mended, place, end = [], 0, 0
        while place < len(tokens):
            taken, name = self._name_at(tokens, place, text)
            if name:
                mended += [text[end : tokens[place].start()], name]
                end = tokens[place + taken - 1].end()
            place += taken
        return "".join([*mended, text[end:]]) if mended else text

    def _name_at(self, tokens: list[re.Match[str]], place: int, text: str) -> tuple[int, str | None]:
        """How many tokens to go on by, and the name to put in their place."""
        for length in range(min(_MOST_WORDS, len(tokens) - place), 0, -1):
            window = tokens[place : place + length]
            words = [token.group().lower() for token in window]
            if " ".join(words) in self.known:
                return length, None
            if (
                words[0] in _LITTLE_WORDS
                or "'" in "".join(words)
                or re.search(r"[^\sa-z'-]", text[window[0].start() : window[-1].end()].lower())
            ):
                continue
            name, plural = self._sounding_like(words)
            if name and self._is_plausible(words, name):
                return length, name + plural
        return 1, None

    def _sounding_like(self, words: list[str]) -> tuple[str | None, str]:
        key = sound_key("".join(words))
        if key in self.names:
            return self.names[key], ""
        return (self.names.get(key[:-1]), "s") if key.endswith("s") else (None, "")

    def _is_plausible(self, words: list[str], name: str) -> bool:
        """Whether a likeness of sound is more than chance: it must look alike too, and hold nothing that is right as it is."""
        if any(" ".join(part) in self.known for part in (words[:-1], words[1:])):
            return False
        looks = SequenceMatcher(None, "".join(words), name.replace(" ", ""), autojunk=False).ratio()
        strange = [word for word in words if chance_of(word) is Chance.UNKNOWN and word not in self.known]
        if len(words) == 1:
            return bool(strange) and looks >= _LOOKS_THE_SAME
        if set(words) & _LITTLE_WORDS - _ENDINGS:
            return False
        spelt = len("".join(words)) >= (_SHORTEST if strange else _SHORTEST_OF_ENGLISH)
        return spelt and len(sound_key(name)) >= _SHORT_KEY and looks >= (_LOOKS_ALIKE if strange else _LOOKS_VERY_ALIKE)
