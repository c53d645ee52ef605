"""Makes the font subsets of templates/fonts and their table of widths; run by hand when a face or its range changes.

    python tests/support/make_fonts.py FOLDER_WITH_THE_FULL_FACES

The folder is searched through for LiberationSans-*.ttf (version 2, OFL 1.1) and DejaVuSans*.ttf. "Liberation" is a
reserved font name, so the subset of it calls itself "Pegbook Sans". No clock: the files' dates are those of the faces.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

from fontTools import subset
from fontTools.ttLib import TTFont

FACES = {
    "sans-regular": ("LiberationSans-Regular.ttf", "Pegbook Sans", "Regular"),
    "sans-bold": ("LiberationSans-Bold.ttf", "Pegbook Sans", "Bold"),
    "sans-italic": ("LiberationSans-Italic.ttf", "Pegbook Sans", "Italic"),
    "booklet-bold": ("DejaVuSans-Bold.ttf", "", ""),
    "booklet-condensed": ("DejaVuSansCondensed.ttf", "", ""),
    "booklet-condensed-bold": ("DejaVuSansCondensed-Bold.ttf", "", ""),
}
RANGES = ((0x20, 0x7E), (0xA0, 0x17F), (0x18F, 0x192), (0x218, 0x21B), (0x2C6, 0x2DD), (0x384, 0x3CE), (0x400, 0x45F),
          (0x490, 0x491), (0x1E80, 0x1E85), (0x1E9E, 0x1E9E), (0x2013, 0x2015), (0x2018, 0x201E), (0x2020, 0x2022),
          (0x2026, 0x2026), (0x2030, 0x2033), (0x2039, 0x203A), (0x2044, 0x2044), (0x20AC, 0x20AC), (0x2116, 0x2116),
          (0x2122, 0x2122), (0x2153, 0x2154), (0x215B, 0x215E), (0x2190, 0x2195), (0x2206, 0x2206), (0x2211, 0x2212),
          (0x221A, 0x221A), (0x221E, 0x221E), (0x2248, 0x2248), (0x2260, 0x2265), (0x25A0, 0x25A1), (0x25B2, 0x25B3),
          (0x25BC, 0x25BD), (0x25CB, 0x25CB), (0x25CF, 0x25CF), (0x2610, 0x2612), (0x2713, 0x2713))


def find(folder: Path, name: str) -> Path:
    """Return the newest version of a face below `folder` (the one whose name table says the highest version)."""
    found = sorted(folder.rglob(name), key=lambda p: TTFont(p)["name"].getDebugName(5))
    if not found:
        raise SystemExit(f"{name} is not in {folder}")
    return found[-1]


def rename(font: TTFont, family: str, style: str) -> None:
    """Give the face another name; copyright, licence and trade mark lines stay."""
    ps = family.replace(" ", "") + "-" + style
    for record in list(font["name"].names):
        new = {1: family, 2: style, 3: ps, 4: f"{family} {style}".replace(" Regular", ""), 6: ps}.get(record.nameID)
        if new:
            font["name"].setName(new, record.nameID, record.platformID, record.platEncID, record.langID)
        elif record.nameID in {16, 17, 18, 21, 22}:
            font["name"].removeNames(nameID=record.nameID)


def cut(source: Path, family: str, style: str) -> TTFont:
    """Return the subset of one face: our characters, no layout tables (kerning is off everywhere), no hints."""
    options = subset.Options(layout_features=[], hinting=False, name_IDs=["*"], name_languages=[0x409],
                             notdef_outline=True, recalc_timestamp=False,
                             drop_tables=["GPOS", "GSUB", "GDEF", "kern", "FFTM"])
    font = TTFont(source, recalcTimestamp=False)
    cutter = subset.Subsetter(options)
    cutter.populate(unicodes=[u for a, b in RANGES for u in range(a, b + 1)])
    cutter.subset(font)
    if family:
        rename(font, family, style)
    return font


def main(folder: Path) -> None:
    """Write the faces and `widths.json`: for each face its em and the advance of every character, in font units."""
    target = Path(__file__).resolve().parents[2] / "templates" / "fonts"
    table: dict[str, object] = {}
    for name, (file, family, style) in FACES.items():
        font = cut(find(folder, file), family, style)
        font.save(target / f"{name}.ttf")
        advances = {chr(u): font["hmtx"][g][0] for u, g in sorted(font.getBestCmap().items())}
        os2 = font["OS/2"]
        table[name] = {"em": font["head"].unitsPerEm, "capitals": round(capital(font), 4),
                       "ascent": os2.sTypoAscender, "descent": os2.sTypoDescender, "advances": advances}
    text = json.dumps(table, ensure_ascii=False, separators=(",", ":"))
    (target / "widths.json").write_text(text + "\n", encoding="utf-8")


def capital(font: TTFont) -> float:
    """Return the drawn height of H in em."""
    return font["glyf"][font.getBestCmap()[ord("H")]].yMax / font["head"].unitsPerEm


if __name__ == "__main__":
    main(Path(sys.argv[1]))
