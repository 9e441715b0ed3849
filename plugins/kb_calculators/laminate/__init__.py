"""What a laminate and its core take, how they fill, how stiff they are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from kb import hookimpl
from kb_calculators.laminate.bag import vacuum_drop
from kb_calculators.laminate.core_edge import core_edge
from kb_calculators.laminate.core_kit import core_kit
from kb_calculators.laminate.infusion import infusion_fill
from kb_calculators.laminate.mixing import resin_mix
from kb_calculators.laminate.sandwich import sandwich_panel
from kb_calculators.laminate.stack import laminate_stack


@hookimpl
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return this plugin's calculators."""
    return laminate_stack, core_kit, core_edge, sandwich_panel, infusion_fill, resin_mix, vacuum_drop
