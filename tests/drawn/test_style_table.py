"""The table of layers: every role has its entry, and names have the form of ISO 13567."""

from __future__ import annotations

import itertools
import re

import pytest

from pegbook.drawings.sheet import LAYERS
from pegbook.drawings.style import PENS, house_style, style_with
from pegbook.drawings.textures import NAMES, UNIT_LAID
from pegbook.geometry.errors import DrawingError
from pegbook.geometry.features import Role, Status

STYLE = house_style()


@pytest.mark.parametrize("role", list(Role), ids=lambda r: r.value)
def test_every_role_has_a_layer_of_its_own(role: Role) -> None:
    assert role.value in STYLE.roles, f"templates/layers.yaml has no entry for the role '{role.value}'"
    assert STYLE.layer(role.value).what


def test_no_two_roles_share_a_layer() -> None:
    names = [STYLE.layer(role, status.value, presentation).name
             for role in STYLE.roles for status in Status for presentation in ("", "H-", "H1", "T-")]
    # a control mark's lettering and the like are layers of their own as well
    assert len(set(names)) == len(names)


def test_every_group_of_a_sheet_has_a_layer_on_paper() -> None:
    assert tuple(STYLE.groups) == LAYERS
    assert len({g.layer.name for g in STYLE.groups.values()}) == len(LAYERS)


@pytest.mark.parametrize("name", [n for n in NAMES if n not in UNIT_LAID and n != "steel"])
def test_every_texture_that_is_no_unit_has_a_pattern(name: str) -> None:
    assert STYLE.patterns[name]


def test_no_gap_of_a_dash_closes_at_half_size() -> None:
    for name, lengths in STYLE.dashes.items():
        assert min(lengths[1::2]) >= 1.0, name
        assert len(lengths) % 2 == 0


def test_roles_use_pens_and_dashes_that_exist() -> None:
    for role, look in STYLE.roles.items():
        assert look.pen in PENS, role
        assert not look.dash or look.dash in STYLE.dashes, role


def test_tints_are_a_ladder_of_lightness() -> None:
    # L* of CIE 1976 from sRGB (IEC 61966-2-1 transfer function); each surface has a rung of its own
    def lightness(colour: str) -> float:
        parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
        r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        y = 0.2126 * r + 0.7152 * g + 0.0722 * b
        return 116 * y ** (1 / 3) - 16
    surfaces = {n: c for n, c in STYLE.tints.items() if n not in {"shade", "dark"}}    # those serve the booklet
    rungs = [lightness(c) for c in surfaces.values()]
    steps = [a - b for a, b in itertools.pairwise(rungs)]
    assert min(steps) > 3.5


def test_a_garden_may_override_one_entry() -> None:
    own = style_with({"roles": {"wall": {"colour": 3}}, "dashes": {"division": {"lengths": [4, 1]}}})
    assert own.roles["wall"].colour == 3
    assert own.roles["wall"].element == STYLE.roles["wall"].element
    assert own.dash("division") == (4.0, 1.0)


@pytest.mark.parametrize("bad", [{"roles": {"wall": {"shade": 3}}}, {"pens": 3}, {"groups": {"x": {}}}])
def test_entries_that_do_not_fit_are_refused(bad: dict[str, object]) -> None:
    with pytest.raises(DrawingError, match="cannot be read"):
        style_with(bad)


@pytest.mark.parametrize("call", [lambda: STYLE.dash("wavy"), lambda: STYLE.colour("mauve"),
                                  lambda: STYLE.layer("moat"), lambda: STYLE.layer("wall", "gone")])
def test_unknown_names_are_refused(call: object) -> None:
    with pytest.raises(DrawingError):
        call()  # type: ignore[operator]


def test_layer_names_are_plain_enough_for_the_oldest_form() -> None:
    for role in STYLE.roles:
        for sheets in ((), ("07",), ("01", "01P", "02", "03", "04")):
            assert re.fullmatch(r"[A-Z0-9$_-]{1,31}", STYLE.layer(role, sheets=sheets).name)
