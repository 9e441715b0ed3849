"""What stands on the paper of a drawing: paths and texts by kind, in the units of the drawing, y down."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import hypot

from kb.drawing import Point
from kb.pages.lettering import Anchor, Box, Lettering, box_at

_ARROW, _HALF = 10.0, 1.7  # length and half the width of an arrow


@dataclass(frozen=True, slots=True)
class Path:
    """A path of one kind; the theme says how thick and in which colour."""

    kind: str
    path: str


@dataclass(frozen=True, slots=True)
class Text:
    """A text: where its first line stands, and whether it reads upward."""

    x: str
    y: str
    words: Lettering
    anchor: Anchor
    is_upright: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """What belongs together: a dimension, a leader, an axis."""

    kind: str
    paths: tuple[Path, ...]
    texts: tuple[Text, ...]


@dataclass(slots=True)
class Ink:
    """What has been set down so far, and the room that it takes."""

    groups: list[Group] = field(default_factory=list)
    box: Box | None = None
    _paths: list[Path] = field(default_factory=list)
    _texts: list[Text] = field(default_factory=list)

    def reach(self, box: Box) -> None:
        """Take up room."""
        self.box = box if self.box is None else self.box.around(box)

    def line(self, kind: str, points: Sequence[Point], *, is_closed: bool = False) -> None:
        """Draw straight lines from point to point."""
        self.face(kind, (points,), is_closed=is_closed)

    def face(self, kind: str, rings: Sequence[Sequence[Point]], *, is_closed: bool = True) -> None:
        """Draw one face, or line, of several rings of points."""
        for points in rings:
            xs, ys = [x for x, _ in points], [y for _, y in points]
            self.reach(Box(min(xs), min(ys), max(xs), max(ys)))
        end = "Z" if is_closed else ""
        self._paths.append(Path(kind, "".join(f"M{'L'.join(map(_pair, points))}{end}" for points in rings)))

    def arc(
        self, kind: str, centre: Point, radius: float, start: Point, end: Point, *, is_long: bool = True
    ) -> None:
        """Draw an arc against the clock, or a whole circle where it ends at its start."""
        x, y = centre
        self.reach(Box(x - radius, y - radius, x + radius, y + radius))
        if start == end:
            half = f"A{number(radius)} {number(radius)} 0 0 0 "
            across = (2 * x - start[0], 2 * y - start[1])
            self._paths.append(Path(kind, f"M{_pair(start)}{half}{_pair(across)}{half}{_pair(start)}Z"))
            return
        turn = f"A{number(radius)} {number(radius)} 0 {int(is_long)} 0 "
        self._paths.append(Path(kind, f"M{_pair(start)}{turn}{_pair(end)}"))

    def arrow(self, tip: Point, tail: Point) -> None:
        """Draw an arrow whose tip points away from somewhere."""
        length = hypot(tip[0] - tail[0], tip[1] - tail[1])
        x, y = (tip[0] - tail[0]) / length, (tip[1] - tail[1]) / length
        foot = (tip[0] - _ARROW * x, tip[1] - _ARROW * y)
        wings = ((foot[0] - _HALF * y, foot[1] + _HALF * x), (foot[0] + _HALF * y, foot[1] - _HALF * x))
        self.face("arrow", ((tip, *wings),))

    def text(self, x: float, baseline: float, words: Lettering, anchor: Anchor = "middle") -> None:
        """Set a level text."""
        self.reach(box_at(x, baseline, anchor, words))
        self._texts.append(Text(number(x), number(baseline), words, anchor))

    def upright(self, x: float, y: float, words: Lettering, anchor: Anchor = "middle") -> None:
        """Set a text that is read from the right; it stands on an upright line at x."""
        level = box_at(-y, x, anchor, words)
        self.reach(Box(level.top, -level.right, level.bottom, -level.left))
        self._texts.append(Text(number(x), number(y), words, anchor, is_upright=True))

    def group(self, kind: str) -> None:
        """Close what has been drawn since the last time as one thing."""
        self.groups.append(Group(kind, tuple(self._paths), tuple(self._texts)))
        self._paths.clear()
        self._texts.clear()


def number(size: float) -> str:
    """Return a size to a hundredth of a unit, in the shortest way.

    >>> number(12.0), number(-0.001), number(3.14159)
    ('12', '0', '3.14')
    """
    text = f"{size:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _pair(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"
