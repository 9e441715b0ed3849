"""The hooks that a plugin may implement; there is one."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pluggy

PROJECT = "kb"
hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


@hookspec
def kb_calculators() -> Sequence[Callable[..., Any]]:
    """Return the functions that the plugin marked with `calculator`."""
    raise NotImplementedError
