"""Changing one value of an inputs file: exactly its span is replaced, or nothing is."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from kb.content.inputs import Layer, layer_from_text, read_layer
from kb.content.yamltext import Entries, Scalar, quoted, read_yaml
from kb.problem import BookError, Place, Problem, nearest


def edit_input(root: Path, layer: Layer, path: str, text: str, tables: str) -> Layer:
    """Replace the value of one input in its file; comments, order and line ends survive.

    The file is read again and every other value compared before anything is written; the new file takes
    the old one's place in one step.

    Args:
        root: the book's folder.
        layer: the layer as it was read.
        path: the dotted path of the input.
        text: the new value, as it would be typed.
        tables: the folder that names of CSV files are relative to.

    Raises `BookError`, with the file untouched.

    """
    if path not in layer.inputs:
        near = nearest(path, layer.inputs)
        fix = f"did you mean '{near}'?" if near else "name a value that the file holds"
        raise BookError([Problem(Place(layer.file), f"there is no '{path}' in this layer", fix)])
    file = root / layer.file
    try:
        with file.open(encoding="utf-8", newline="") as stream:
            before = stream.read()
    except UnicodeDecodeError:
        raise BookError(
            [Problem(Place(layer.file), "this file is not UTF-8 text", "save it as UTF-8")]
        ) from None
    except OSError as error:
        raise BookError(
            [
                Problem(
                    Place(layer.file), f"this file cannot be read ({error.strerror})", "read the book again"
                )
            ]
        ) from None
    current, _ = read_layer(root, layer.file, layer.name, tables)
    if _texts(current) != _texts(layer):
        raise BookError(
            [
                Problem(
                    Place(layer.file), "the file has changed since it was read", "read the book again first"
                )
            ]
        )
    start, end = _span(before, layer.file, path)
    new = quoted(text.strip(), always=before[start] in "'\"")
    after = before[:start] + new + before[end:]
    changed, problems = layer_from_text(after.removeprefix("\ufeff"), root, layer.file, layer.name, tables)
    if problems:
        raise BookError(problems)
    _compare(layer, changed, path, text.strip())
    _check_sort(layer, changed, path, text.strip())
    _write(file, after)
    return changed


def _texts(layer: Layer) -> dict[str, str]:
    return {path: one.text for path, one in layer.inputs.items()}


def _check_sort(old: Layer, new: Layer, path: str, text: str) -> None:
    """Refuse a value that would no longer be a quantity, a flag or whatever it was before."""
    before, after = old.inputs[path], new.inputs[path]
    if type(before.value) is not type(after.value):
        raise BookError(
            [Problem(before.place, f"'{text}' is not of the sort of '{before.text}'", "write one like it")]
        )


def _rest(layer: Layer) -> tuple[object, ...]:
    chosen = [cell.text for cell in layer.options]
    return ([(a.limit, a.by, a.why, a.at and a.at.text) for a in layer.accepted], chosen, [*layer.groups])


def _span(text: str, file: str, path: str) -> tuple[int, int]:
    """Return where the scalar of a path begins and ends in the file's text."""
    marked = text.startswith("\ufeff")
    node, problems = read_yaml(text.removeprefix("\ufeff"), file)
    if problems:
        raise BookError(problems)
    for key in path.split("."):
        if not isinstance(node, Entries):
            raise BookError([Problem(Place(file), f"'{path}' is not one value", "edit the file by hand")])
        node = node.entries[key][1]
    if not isinstance(node, Scalar):
        place = node.place if node is not None else Place(file)
        raise BookError([Problem(place, f"'{path}' is a list or a shape", "edit the file by hand")])
    return node.start + marked, node.end + marked


def _compare(old: Layer, new: Layer, path: str, text: str) -> None:
    """Refuse an edit that would change anything but the one value."""
    expected = {**_texts(old), path: text}
    if _texts(new) != expected or _rest(new) != _rest(old):
        place = old.inputs[path].place
        raise BookError(
            [Problem(place, f"'{text}' would change more than this value", "write it as one value")]
        )


def _write(file: Path, text: str) -> None:
    """Put the new text in the file's place in one step, so that a reader never sees half of it."""
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        temporary.chmod(file.stat().st_mode & 0o777)
        temporary.replace(file)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise
