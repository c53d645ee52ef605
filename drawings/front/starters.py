"""The starter gardens that `pegbook new` copies."""

from __future__ import annotations

from importlib.resources import files


def starters() -> dict[str, tuple[str, bytes]]:
    """Return each starter's name, its first comment line, and its bytes, sorted by name."""
    found: dict[str, tuple[str, bytes]] = {}
    folder = files("pegbook.templates").joinpath("starters")
    for item in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if item.name.endswith(".yaml"):
            data = item.read_bytes()
            first = data.decode("utf-8").splitlines()[0]
            found[item.name.removesuffix(".yaml")] = (first.lstrip("# ").strip(), data)
    return found
