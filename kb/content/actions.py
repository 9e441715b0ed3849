"""What a step asks for: the sentences and clauses that begin with a verb of the trade."""

from __future__ import annotations

import re


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_VERBS = _words(
    """
    abrade adjust align apply assemble attach balance bleed bond bring burn bury caulk centre chamfer chock
    climb close compare connect copy count crimp deburr degas dig dilute disconnect draw dress etch
    evacuate fasten find flip gather grind hang hoist inject insert inspect install lace laminate lay loosen
    lubricate measure melt move peel photograph pick polish pour pressurise pull push put raise read ream
    recoat remove replace rinse rotate rout rub scribe send set shake shave soak solder spike stir
    take thin tighten tilt tow transfer trowel uncover unload unplug unscrew wait weigh wipe zero
    """
)
"""What a step begins with; what only judges, records or warns (accept, sign, call, keep) is no action."""

_LIKE_NOUNS = _words(
    """
    bead bed bend blow bolt bore brace break brush cap clamp clean coat cover cut dip drain drill drop dry
    empty face fair feed file fill fit flush fold glass glue grease guide hammer heat hook jack join knife
    label lap lead level lift list load lock lower mark mask mix mount nail notch oil open pack paint patch
    pin place plane plug press prime print probe pump punch purge rivet roll rope run sand saw scrape screw
    seal seat separate shim shut slide smooth soap splice sponge spray spread squeeze stack stamp stand
    stitch store strap stretch strip support swing switch tack tap tape taper tear test thread tie time tip
    torque touch trace trim turn twist vacuum vent warm wash watch weld wet wind wire wrap
    """
)
"""Verbs that are as often a thing or a state: only before a word such as `the` they are verbs."""

_ACTED_ON = _words(
    """
    a about across again against all along an another any around aside at away back before behind below
    beside between both by down each either every everything fast firmly first for forward four from gently
    her here him his home in into it its just level lightly loose more nothing off on once one only onto open
    out over part past round six slowly square straight the their them then these this those three through
    tight to together twice two under until up upright with within your
    """
)
_LEADS = _words("and then now next first finally again afterwards also slowly gently carefully lightly")
_NEVER_AFTER = _words("is are was were must may can cannot could should will would has have had does do not")
_SENTENCE_ENDS = re.compile(r"""(?<=[.!?])["'”’)]*\s+(?=\S)""")
_CLAUSE_ENDS = re.compile(r"(?:;\s+|,\s+(?:and\s+)?then\s+|\s+and\s+then\s+)(?=\S)")
_WORD = re.compile(r"[A-Za-z]+(?:['’-][A-Za-z]+)*")


def actions(text: str) -> list[str]:
    """Return the verbs that the sentences and clauses of a step begin with, in its order.

    A sentence that states a fact, forbids, or begins with a condition is none.

    >>> actions("Lower the deck, then clamp it. It must sit flush. No gap: go on.")
    ['lower', 'clamp']
    """
    found = []
    for sentence in _SENTENCE_ENDS.split(text):
        for clause in _CLAUSE_ENDS.split(sentence):
            verb = _verb(clause)
            if not verb:
                break  # what follows a fact or a condition rests on it
            found.append(verb)
    return found


def _verb(clause: str) -> str:
    """Return the verb that a clause begins with, or "" where it asks for no action."""
    words = [word.lower() for word in _WORD.findall(clause[:80])[:5]]
    while words and words[0] in _LEADS:
        words.pop(0)
    if not words or not _begins_with_words(clause):
        return ""
    verb, following = words[0], words[1] if len(words) > 1 else ""
    if verb in _LIKE_NOUNS:
        return verb if following in _ACTED_ON or not following or _is_alone(clause, verb) else ""
    return verb if verb in _VERBS and following not in _NEVER_AFTER else ""


def _begins_with_words(clause: str) -> bool:
    """Tell whether nothing but an opening mark stands before the first word: `3 lift` is no sentence."""
    return clause.lstrip(" \n\"'“‘(")[:1].isalpha()


def _is_alone(clause: str, verb: str) -> bool:
    """Tell whether a verb that may be a noun has no word straight behind it, as in `Zero, then …`."""
    at = clause.lower().find(verb) + len(verb)
    return not clause[at:].lstrip()[:1].isalpha()
