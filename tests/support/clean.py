"""What no sheet of ours may have, read from the finished file."""

from __future__ import annotations

from support.legibility import Note, faults

NONE = ("text_overlap", "text_on_heavy", "text_hidden", "text_outside", "leader_crossings", "leader_on_text",
        "text_too_small", "wrong_way", "ambiguous", "tight_texts", "masked_heavy", "dim_off_centre", "dim_bad_gap",
        "duplicate_lines")
"""Faults that no sheet of ours may have."""


def unclean(svg: str) -> list[Note]:
    """Return the faults of a finished sheet that no sheet of ours may have; figures of two heights are one."""
    counts, notes = faults(svg)
    found = [note for note in notes if note[0] in NONE]
    return found + ([("dim_text_heights", "", 0.0, 0.0)] if counts["dim_text_heights"] > 1 else [])
