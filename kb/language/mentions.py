"""Quantities in running text: what a reader takes for a number with its unit."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from kb.language.literal import FEET_MARKS, INCH_MARKS, ReadError, Scanned, scan_quantity
from kb.language.quantity import Quantity
from kb.language.units import unit_words


@dataclass(frozen=True, slots=True)
class Mention:
    """A quantity that a text mentions: where it begins, how it is written, and its value."""

    at: int
    text: str
    quantity: Quantity


NO_WORD = "\ufffc"
"""What stands in a text for something that is no word: a live value, code, a picture."""

_WINDOW = 80  # no quantity is longer; what is read beyond it would make long texts slow
_SPELLED = {
    "in": ("inch", "inches"), "ft": ("foot", "feet"), "yd": ("yard", "yards"),
    "mm": ("millimeter", "millimeters", "millimetre", "millimetres"),
    "m": ("meter", "meters", "metre", "metres"), "L": ("liter", "liters", "litre", "litres"),
    "gal": ("gallon", "gallons", "gals"), "qt": ("quart", "quarts"), "pt": ("pint", "pints"),
    "lb": ("pound", "pounds", "lbs"), "oz": ("ounce", "ounces"), "g": ("gram", "grams"),
    "kg": ("kilogram", "kilograms"), "s": ("second", "seconds", "sec", "secs"),
    "min": ("minute", "minutes", "mins"), "hr": ("hour", "hours", "hrs"), "day": ("days",),
    "week": ("weeks",), "A": ("amp", "amps"), "V": ("volt", "volts"), "W": ("watt", "watts"),
    "deg": ("degree", "degrees"), "%": ("percent",),
}  # fmt: skip
_WORDS = {word: one for one, words in _SPELLED.items() for word in words}
_SPELLED_OUT = re.compile(rf"(?<=[0-9½⅓⅔¼¾⅛⅜⅝⅞])[ \u00a0-]?({'|'.join(sorted(_WORDS, reverse=True))})\b")
_NUMBER = re.compile(r"(?:[0-9]+|\.[0-9]+|[½⅓⅔¼¾⅛⅜⅝⅞])")
_AHEAD = re.compile(rf"[0-9./ \u00a0½⅓⅔¼¾⅛⅜⅝⅞-]{{0,40}}([{FEET_MARKS}{INCH_MARKS}]|[A-Za-z_µ°Ω%]+)")
_GLUED = re.compile(r"[\w.,:/#$€£+\-−–±'’]")
_RANGE = re.compile(r"(?<![\w.,:/#$€£+\-−–±'’])[0-9./]+[-–]$")
_BETWEEN = re.compile(r"[ \u00a0]*(?:±|\+/[-−])[ \u00a0]*")
_NEXT = re.compile(rf"[ \u00a0\n]+([A-Za-z]+|{NO_WORD})")
_NAMED = re.compile(
    r"\b(?:(?:step|sheet|page|figure|type|number|part|item|bay|line)s?|no|class|grade|revision)\.? "
    r"(?:[0-9]+,? (?:(?:and|or|to) )?)*$",
    re.IGNORECASE,
)
"""Words after which a number is a name: the `in` of `steps 2 and 3 in the list` is no inch."""
_NOT_AFTER_INCH = re.compile(
    r"(?:a|all|an|any|both|case|each|either|every|front|half|her|hers|his|it|its|line|my|one|order|our|pairs"
    r"|place|reach|sight|some|stock|stead|that|the|their|them|these|this|those|total|turn|two|use|which|your"
    rf"|{NO_WORD})",
    re.IGNORECASE,
)
"""Words before which `in` is a word."""


def mentions(text: str) -> Iterator[Mention]:
    """Go through the quantities of a text, in its order; what may as well be plain words is passed over.

    >>> [one.text for one in mentions("Wait 30 minutes, put 2 in the box, torque 1 1/2 lbf*ft.")]
    ['30 minutes', '1 1/2 lbf*ft']
    """
    plain = _SPELLED_OUT.sub(_shortened, text.replace("\n", " "))
    at, last = 0, -1
    while match := _NUMBER.search(plain, at):
        start, at = match.start(), match.end()
        before = plain[max(0, start - _WINDOW) : start]
        goes_on = 0 <= last == start - 1 and before[-1] in "-–"
        if before and _GLUED.match(before[-1]) and not goes_on and not _RANGE.search(before):
            continue
        ahead = _AHEAD.match(plain, at)
        if ahead is None or (ahead[1][0] not in FEET_MARKS + INCH_MARKS and ahead[1] not in _units()):
            continue
        try:
            found = scan_quantity(plain[start : start + _WINDOW], 0)
        except ReadError:
            continue
        at = start + found.end
        if not found.has_unit or _is_plain_words(plain, before, start, at, found):
            continue
        while at < len(text) and plain[at] == " " and text[at].isalpha():
            at += 1  # the rest of a unit that is spelled out
        is_tolerance = last >= 0 and _BETWEEN.fullmatch(plain, last, start)
        last = at
        if not is_tolerance:
            yield Mention(start, " ".join(text[start:at].split()), found.quantity)


@cache
def _units() -> frozenset[str]:
    """Return the words that a unit may begin with; to have others refused by name would take its time."""
    return frozenset(re.split("[ ^]", word)[0] for word in unit_words())


def _shortened(match: re.Match[str]) -> str:
    """Return the unit that a word spells out, filled up so that every place in the text stays."""
    one = _WORDS[match[1]]
    head = match[0][: -len(match[1])]
    return f"{' ' * len(head)}{one}".ljust(len(match[0]))


def _is_plain_words(text: str, before: str, start: int, end: int, found: Scanned) -> bool:
    """Tell whether what reads as a quantity is a number beside a word, a quote, a name or a time of day."""
    if _NAMED.search(before) or (text[end - 1] == "h" and before.lower().endswith("at ")):
        return True
    if found.mark:
        return text[end : end + 1].isalnum() or _is_quoted(before, found.mark)
    if text[end - 1] == "s" and text[end - 2].isdigit():
        return True  # the 1990s
    if text[start:end].endswith("in") and (following := _NEXT.match(text, end)):
        return bool(_NOT_AFTER_INCH.fullmatch(following[1]))
    return False


def _is_quoted(before: str, mark: str) -> bool:
    """Tell whether a mark of feet or inches ends what was quoted before it."""
    if mark in "’”":
        return "‘“"["’”".index(mark)] in before
    if mark not in FEET_MARKS[:1] + INCH_MARKS[:1]:
        return False
    return sum(1 for one in re.finditer(rf"(?<![0-9½⅓⅔¼¾⅛⅜⅝⅞]){mark}(?=\S)", before)) % 2 == 1
