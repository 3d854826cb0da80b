"""inline(svg, id, css) -> Markup: a plot as a part of the page.

What matplotlib writes is a file of its own: with a prolog, fixed colours, styles that the page's policy forbids and
names that another plot may have too. Here it becomes an element of the page: colours follow the reader's theme, text
stays text in the page's own letters, each name is the picture's own, and each thing with a tip shows it to a pointer.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from types import MappingProxyType
from xml.etree import ElementTree as ET

from markupsafe import Markup

from firststart.report.wording import harmless, one_line

# A colour to draw with, and what stands in its place on the page. The reader's theme decides what it looks like.
INK, DIM, HAIR, RULE, PAPER, ON = "#000001", "#000002", "#000003", "#000004", "#000005", "#000006"
ONE, TWO, THREE, BAD, BAND = "#000007", "#000008", "#000009", "#00000a", "#00000b"
THEME: Mapping[str, str] = MappingProxyType(
    {
        INK: "var(--ink)", DIM: "var(--dim)", HAIR: "var(--hair)", RULE: "var(--rule)", PAPER: "var(--paper)",
        ON: "var(--on)", ONE: "var(--one)", TWO: "var(--two)", THREE: "var(--three)", BAD: "var(--bad)",
        BAND: "var(--band)", "none": "none",
    }
)  # fmt: skip
TIP = "tip "  # what the name of a drawn thing begins with when the rest of it is shown to a pointer
_SVG, _LINK = "{http://www.w3.org/2000/svg}", "{http://www.w3.org/1999/xlink}href"
_KEPT = frozenset(
    {
        "fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-dashoffset", "stroke-linecap", "stroke-linejoin",
        "opacity", "fill-opacity", "stroke-opacity", "text-anchor", "clip-path", "d", "x", "y", "width", "height",
        "patternUnits", "transform",
    }
)  # fmt: skip
_NUMBERS = frozenset({"d", "x", "y", "width", "height", "transform", "stroke-dasharray"})
_LONG = re.compile(r"-?\d+\.\d{3,}")


def inline(svg: str, id: str) -> Markup:
    """The text of an SVG file as an element for the page, named and told by `id`-title and `id`-tells."""
    root = ET.fromstring(harmless(svg[svg.index("<svg") :]))
    names = {e.get("id", ""): f"{id}-{n}" for n, e in enumerate(root.iter()) if e.tag != f"{_SVG}g"}
    told = {
        "viewBox": root.get("viewBox", ""), "role": "img", "aria-labelledby": f"{id}-title {id}-tells",
        "stroke-linejoin": "round",
    }  # fmt: skip
    new = ET.Element("svg", told)
    for child in root:
        new.extend(_redrawn(child, names))
    return Markup(ET.tostring(new, encoding="unicode"))


def _redrawn(old: ET.Element, names: Mapping[str, str]) -> Iterator[ET.Element]:
    """An element as the page has it; a group that says nothing is its children, and what is not seen is left out."""
    tag, tip = old.tag.removeprefix(_SVG), old.get("id", "")
    if tag in ("metadata", "style"):
        return
    new = ET.Element(tag, _attributes(old, names))
    if tag == "g" and tip.startswith(TIP):
        ET.SubElement(new, "title").text = one_line(tip.removeprefix(TIP))
    for child in old:
        new.extend(_redrawn(child, names))
    if tag == "text":
        new.text = old.text
    if tag == "path" and not new.get("id") and new.get("fill") == "none" and "stroke" not in new.attrib:
        return
    if tag in ("g", "defs") and not len(new):
        return
    if tag == "g" and not new.attrib and new[0].tag != "title":
        yield from new
    else:
        yield new


def _attributes(old: ET.Element, names: Mapping[str, str]) -> dict[str, str]:
    """The attributes that the page keeps, with its own colours, names and letters."""
    told = dict(pair.split(": ", 1) for pair in old.get("style", "").split("; ") if ": " in pair)
    found = {k: _value(k, v, names) for k, v in {**old.attrib, **told}.items() if k in _KEPT}
    if found.get("transform", "").startswith("rotate(-0 "):
        del found["transform"]
    if old.tag == f"{_SVG}text" and told.get("font-weight", "400") not in ("400", "normal"):
        found["class"] = "val"
    if old.get("id") in names:
        found["id"] = names[old.get("id", "")]
    if _LINK in old.attrib:
        found["href"] = f"#{names[old.attrib[_LINK][1:]]}"
    return found


def _value(name: str, value: str, names: Mapping[str, str]) -> str:
    if value.startswith("url(#"):
        return f"url(#{names[value[5:-1]]})"
    if name in ("fill", "stroke"):
        return THEME.get(value, "currentColor")
    return _LONG.sub(lambda m: f"{float(m[0]):.2f}", " ".join(value.split())) if name in _NUMBERS else value
