"""Which hazard a sentence of caution is about: the particular one ("the edges are sharp") before the plug that comes with it."""

from __future__ import annotations

import re
from collections.abc import Mapping

from kbindex.reading.lexicon import Lexicon, plain

WARNING_RE = re.compile(
    r"\b(?:don'?t|do not|never|nobody|careful|(?:watch|mind) (?:your|the|yourself|out)|wear|mask|gloves?|before (?:you|i|we|anyone|opening|that)|b4|let (?:it|that|her) cool|unplug(?:ged)?|"
    r"(?:plug|cord|cable)(?:'s| is| comes?)?(?: from wall is)? out|breakers?(?:'s| is)? off|(?:switch|main|power|mcb|gas|cock)\w*(?:'s| is)? off|isolat\w+|proved?|kill the|burns|will (?:take|kill|crush|cut)|takes? (?:your|one|hands)|"
    r"danger\w*|catch fire|on fire|licen[sc]e\w*|papers|ticket|alone|by yourself|(?:can|will) bite|bites|holds? (?:a|two|\d)|not touching|not opening|keep your|go easy|checked? (?:it )?dead)\b",
    re.IGNORECASE,
)
"""Words that warn, or tell of a precaution."""

_CUES: Mapping[str, str] = {
    "bypassed switch": (
        r"bypass\w*|jump(?:er\w*|ed|ing)?\b|defeat\w*|cheat\w*|(?:cook|run|spin)\w* with (?:the|its|that) (?:door|lid) (?:open|up)|(?:open|taped) (?:door|lid)|"
        r"with (?:the|an?) (?:lid|door) (?:open|up)|(?:lid|door) (?:open|up) .{0,20}\b(?:hands?|arm)|safety (?:switch|device|interlock)|not a (?:fix|repair)\b|"
        r"magnet (?:on|over)|link(?:ed)? (?:it )?out"
    ),
    "capacitor": (
        r"capacitors?\b|\bcaps? (?:bite|hold|can|will|first|still|is|in there|in here)|caps in (?:here|there)|the caps?\b(?! (?:off|nut|screw))|(?:short|discharge|bleed) (?:the )?(?:cap|it\b)|"
        r"discharg\w*|(?:holds?|stored|holding) (?:a |its )?(?:charge|\d+ ?v)|thousands? (?:of )?volts|high voltage|\bhv\b|\bmicrowave cap|not open (?:the )?(?:main )?(?:case|cover)|take (?:the|off the) (?:metal )?cover"
    ),
    "refrigerant": (
        r"refrigera(?:nt|tion)\w*|sealed (?:system|side|circuit)|(?:cut|cutting|open|opening) (?:\w+ )?(?:into )?(?:the|that) (?:system|circuit|sealed)|re-?gas\w*|r?-?(?:600a?|134a|290|410a)\b|isobutane|"
        r"gas (?:comes? out|stays|circuit|out of it)|let the gas|braz\w+|recover(?:y|ed)?\b|608\b|\bepa\b"
    ),
    "dust": r"dust\w*|\bmask\b|respirator|asbestos|mou?ld\b|fib(?:re|er)(?:glass|s)|cough\w*|lungs|breath\w*|(?:lint|fluff)\b.{0,25}\b(?:fire|burns?|catch\w*)|droppings",
    "gas": (
        r"\bgas(?:'s)?\b|sniff\w*|smell(?:ed|s|t|ing)?\b|propane|\blpg?\b|\bcock\b|leak[- ]?test\w*|leak solution|soap(?:y|ed|ing)?\b|carbon monoxide|open (?:a |the )?windows?|window up|"
        r"the ticket\b|before you light|regulator|manometer|unburn\w*"
    ),
    "moving parts": (
        r"(?:fingers?|hands?|hair|sleeves?|arm)\b.{0,40}\b(?:fan|blades?|belt|ram|drum|pulley|spin\w*|moving|turning|grinder|impeller|gear|transmission)|"
        r"(?:fan|blades?|belt|\bram\b|drum|pulley|spinning|moving|turning|impeller|gears?|transmission)\b.{0,50}\b(?:fingers?|hands?|hair|sleeves?|arm|one off|reach)|"
        r"take[s]? (?:a|your|one|that|the) (?:\w+ )?(?:off|finger|hand|arm)|crush (?:a|your) hand|pinch(?:ed)? (?:your|a)|spring\w* .{0,20}\b(?:bite|snap|let go|loose|fly)|under tension|tongs|"
        r"not your (?:hand|fingers?)|hands? (?:clear|out|away)|loose clothing|eye protection|safety glasses|moving parts?"
    ),
    "sharp metal": (
        r"sharp\w*|\bedges?\b|razor\w*|\bglov\w*|slic\w*|\bcut(?:s|ting)? (?:you\w*|my\w*|me|a hand)|knuckles?|\bfins\b|grater|stitches|lacerat\w*|broken glass|shards|bleed\w*|blood|sheet metal"
    ),
    "weight": (
        r"heav\w+|\blift\w*|weighs?\b|\bweight|(?:pounds|lbs|kilos?|kg|stone)\b|(?:your|my|the one|bad) back\b|two (?:\w+ )?(?:people|men|man|person|of us|fellas?|guys)|\btoes\b|(?:your|my) (?:foot|feet|legs?)\b|"
        r"\bfall (?:on|over|forward|onto)|tip(?:s|ped|ping)? (?:over|on|forward|it over)|anti-?tip|block it|\bdrops?\b.{0,12}\bon|by yourself|\balone\b|one more person|\bstrap\b|dolly|hand truck|helper|concrete"
    ),
    "heat": (
        r"\bburn(?:s|ed|t|ing)?\b|scald\w*|(?:red|real|still|very|too|that's|it's|is) (?:good and )?hot\b|\bhot (?:water|oil|steam|surface|element|for)|cool (?:off|down|first|it|before)|let (?:it|her|him|that|them) cool|"
        r"red heat|boiler\b.{0,30}\b(?:degrees|hot)|steam\w*|catch fire|house fire|fire hazard|over \w+ degrees"
    ),
    "mains power": (
        r"unplug\w*|\bplug(?:'s|s)?\b(?! (?:off|of) )|plugged|breakers?\b|brkr|\bmcb\b|m c b|\bcord(?:'s)?\b|cable (?:is |from .{0,8})?out|power\b|current\b|\bvolt\w*|\b(?:120|230|240)\b|two[\s-]forty|one[\s-]twenty|"
        r"line voltage|\blive\b|proved? (?:it )?dead|\bdead\b|isolat\w*|main(?:s)?\b|hard[\s-]wired|wired straight|sparky|electrician|outlet\b|socket\b|fuse ?box|lock\w* (?:off|out)|tag\w* out|shock\w*|zap\w*|"
        r"electr\w*|fixed wiring|grounded|\bearth\w*|switch(?:ed)? (?:it )?off|amp circuit|wall\b|disconnect\w*"
    ),
}  # fmt: skip
"""Hazard -> how a sentence of caution speaks of it. They count in this order, "water near power" coming before "mains power"."""

_HAZARDS = {topic: re.compile(rf"(?:(?<=\W)|^|\b)(?:{cues})", re.IGNORECASE) for topic, cues in _CUES.items()}
_WATER_RE = re.compile(r"\b(?:water|wet|puddles?|kneel\w*|soaked|splash\w*|drip\w*|flood\w*|damp)\b", re.IGNORECASE)
_WATER_WORK_RE = re.compile(
    r"\bwater(?:'s| is)? (?:off|heater|valve|line|softener|column|shut)|(?:hot|inches of) water\b|clean water", re.IGNORECASE
)
_WET_HANDS_RE = re.compile(
    r"\b(?:wet|dry)(?: your| my)? hands?|hands? (?:are |is )?wet|standing in (?:the |a )?(?:water|puddle)", re.IGNORECASE
)
_GAS_WORK_RE = re.compile(
    r"\bgas (?:valve|off|cock|tap|line|pipe|shut|first|is off|leak)|\b(?:cock|burner|light|smell\w*|shut ?off|sniff\w*|oven|range)\b",
    re.IGNORECASE,
)
_OTHER_PLUG_RE = re.compile(
    r"\b(?:plug|unplug\w*|pull\w*) (?:off |out )?(?:the |that |of the |off the )*(?:coils?|connector|valve|sensor|harness|board|terminal)\b",
    re.IGNORECASE,
)


def find_hazard(text: str, lexicon: Lexicon) -> str | None:
    """Give the hazard that a sentence of caution is about; None where it names none."""
    text = plain(text)
    found = {topic for topic, cues in _HAZARDS.items() if cues.search(text)}
    if "gas" in found and "refrigerant" in found and _GAS_WORK_RE.search(text):
        found.discard("refrigerant")
    elif "refrigerant" in found:
        found.discard("gas")
    if _OTHER_PLUG_RE.search(text) and not re.search(r"\b(?:wall|breaker|power|volts?)\b", text, re.IGNORECASE):
        found.discard("mains power")
    wet = _WATER_RE.search(text) and not _WATER_WORK_RE.search(text)
    if _WET_HANDS_RE.search(text) or (wet and "mains power" in found):
        found = (found - {"mains power"}) | {"water near power"}
    ordered = [*list(_HAZARDS)[:-1], "water near power", "mains power"]
    first = next((topic for topic in ordered if topic in found), None)
    said = lexicon.hazards.find(text)
    return first or (said[0].name if said else None)
