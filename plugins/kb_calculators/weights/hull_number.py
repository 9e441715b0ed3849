"""The hull identification number: what it says, and whether its form is right."""

from __future__ import annotations

from dataclasses import dataclass
from string import ascii_lowercase, ascii_uppercase, digits
from typing import Annotated

from kb import Caution, Limit, NoAnswer, Q, Source, calculator

_LENGTH = 12
_COUNTRY = "US-"
_IN_SERIAL = digits + "".join(letter for letter in ascii_uppercase if letter not in "IOQ")
_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_FIRST_YEAR = 1972  # hull numbers began then: two figures are read as a year from it to 99 years on
_CAPITALS = str.maketrans(ascii_lowercase, ascii_uppercase)


@dataclass(frozen=True, slots=True)
class HullNumber:
    """What a hull identification number says, and what is wrong or odd about it."""

    maker_code: Annotated[str | NoAnswer, Q("", "Code of the maker or importer")]
    serial: Annotated[str | NoAnswer, Q("", "The maker's serial number")]
    built: Annotated[str | NoAnswer, Q("", "Month and year of certification or manufacture")]
    model_year: Annotated[str | NoAnswer, Q("", "Model year")]
    problems: Annotated[str, Q("", "What is wrong with its form (empty: nothing)")]
    warnings: Annotated[str, Q("", "What is odd about it (empty: nothing)")]


@calculator(
    limits=[Limit("format", 'problems = ""', "a boat that registers, recalls and searches can find")],
    cautions=[
        Caution(
            "notice",
            "There is no check digit: a wrong character that fits the form is not found. Compare it with the"
            " yard's register, character by character, before it is cut.",
        ),
        Caution(
            "notice",
            "It is put on for good, in characters of 1/4 in or more, in two places: outside on the transom to"
            " starboard, and hidden inside or under hardware; never on a part that comes off.",
        ),
        Caution(
            "notice",
            "A right form does not show that the code is assigned to this maker, nor that the serial is used"
            " once.",
        ),
    ],
    sources=[
        Source(
            "33 CFR 181.25",
            "boats to which 46 USC 4301 applies (181.21): twelve characters and what each says",
            "read",
        ),
        Source("33 CFR 181.27", "US- stands before the number and is no part of it", "read"),
        Source("33 CFR 181.29 (2015 edition)", "the two places, the size of the characters", "read"),
        Source(
            "33 CFR 181.3 (2015 edition) and 175.3",
            "a model year ends 31 July of its year and begins 1 August or 1 June before; the wider is used,"
            " and a date outside it warns only",
            "read",
        ),
        Source(
            "hull numbers began in 1972", "model years 72 to 99 are 1972 to 1999, 00 to 71 later", "memory"
        ),
    ],
    example={"number": "ZZZ0A123C626"},
    use="before the number is cut into the hull, and when a boat comes in for work.",
    not_for="hulls from before the twelve-character form, or telling whose code it is: the Coast Guard's"
    " register of makers does that.",
)
def hull_number(
    number: Annotated[
        str, Q("", "Hull identification number", note="as it stands on the hull, US- in front or not")
    ],
) -> HullNumber:
    """Read and check a hull identification number.

    Characters 1 to 3 are the maker's code, 4 to 8 the serial number without I, O and Q, 9 the month from A
    to L, 10 the last figure of the year, 11 and 12 the model year. The year is the one that ends in that
    figure nearest to the model year and not after it.

    >>> hull_number("US-ZZZ0A123C626").built
    'March 2026'
    """
    text, warnings = _plain(number)
    if len(text) != _LENGTH:
        what = f"it has {len(text)} characters, not {_LENGTH}"
        marks = ", ".join(
            name for mark, name in ((" ", "spaces"), ("-", "hyphens"), ("/", "slashes")) if mark in text
        )
        none = NoAnswer(what)
        problems = [what, f"it must not hold {marks}"] if marks else [what]
        return HullNumber(none, none, none, none, "; ".join(problems), "; ".join(warnings))

    problems = []

    def read(part: str, allowed: str, what: str) -> str | NoAnswer:
        wrong = sorted({mark for mark in part if mark not in allowed})
        if not wrong:
            return part
        problem = f"{what} (found {', '.join(_quoted(mark) for mark in wrong)})"
        problems.append(problem)
        return NoAnswer(problem)

    maker_code = read(text[:3], ascii_uppercase, "characters 1 to 3, the maker's code, must be letters")
    serial = read(
        text[3:8],
        _IN_SERIAL,
        "characters 4 to 8, the serial, must be figures, or letters other than I, O and Q",
    )
    month = read(text[8], ascii_uppercase[:12], "character 9, the month, must be a letter from A to L")
    figure = read(text[9], digits, "character 10, the year, must be a figure")
    model = read(text[10:], digits, "characters 11 and 12, the model year, must be figures")
    built, model_year, odd = _dated(month, figure, model)
    return HullNumber(
        maker_code, serial, built, model_year, "; ".join(problems), "; ".join([*warnings, *odd])
    )


def _plain(number: str) -> tuple[str, list[str]]:
    """Return the number without its country code and in capitals, and what was odd about it."""
    text, warnings = number.strip(), []
    capitals = text.translate(_CAPITALS)
    if capitals != text:
        warnings.append("small letters are read as capitals")
    if capitals.startswith(_COUNTRY):
        capitals = capitals.removeprefix(_COUNTRY)
        warnings.append("US- is the country in front, no part of the number")
    return capitals, warnings


def _quoted(mark: str) -> str:
    return f"'{mark}'" if mark.isprintable() else "an unprintable one"


def _dated(
    month: str | NoAnswer, figure: str | NoAnswer, model: str | NoAnswer
) -> tuple[str | NoAnswer, str | NoAnswer, list[str]]:
    """Return when she was built and her model year, and what is odd about the two."""
    if isinstance(model, NoAnswer):
        return NoAnswer("without a model year the figure of the year repeats every ten years"), model, []
    model_year = _FIRST_YEAR + (int(model) - _FIRST_YEAR) % 100
    for unread in (month, figure):
        if isinstance(unread, NoAnswer):
            return unread, str(model_year), []
    assert isinstance(month, str)
    assert isinstance(figure, str)
    year = model_year - (model_year - int(figure)) % 10
    at = ascii_uppercase.index(month)
    built = f"{_MONTHS[at]} {year}"
    june_before, july = (model_year - 1, 5), (model_year, 6)
    if june_before <= (year, at) <= july:
        return built, str(model_year), []
    odd = (
        f"{built} is not in model year {model_year}: June {model_year - 1} to July {model_year} at the widest"
    )
    return built, str(model_year), [odd]
