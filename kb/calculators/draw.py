"""What a calculator draws of one run."""

from __future__ import annotations

from kb.calculators.declare import Calculator
from kb.calculators.door import DoorError, Outcome, failed
from kb.drawing import Picture
from kb.language.quantity import NoAnswer


def draw(calculator: Calculator, outcome: Outcome) -> Picture | NoAnswer:
    """Draw a run of a calculator that draws. Raises `DoorError` where its drawing fails.

    A run that gave no answer, since something it takes had none, has no drawing either.
    """
    if calculator.draws is None:
        raise ValueError(f"{calculator.name} draws nothing")
    if outcome.plain is None:
        return next(one for one in outcome.values.values() if isinstance(one, NoAnswer))
    arguments = {name: one.default for name, one in calculator.parameters.items()} | dict(outcome.plain)
    try:
        picture = calculator.draws(arguments, outcome.results)
    except Exception as error:
        # What draws is a plugin's code, as the calculator itself is.
        raise failed(calculator, "failed at its drawing", error) from error
    if not isinstance(picture, Picture | NoAnswer):
        raise DoorError.one(
            "",
            f"the calculator {calculator.name} of the plugin '{calculator.plugin}' gave {picture!r:.60}"
            " for a drawing",
            "its 'draws' returns a Drawing, a Chart or NoAnswer(why)",
        )
    return picture
