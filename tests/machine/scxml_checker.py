"""A strict checker of SCXML documents, written from the tables of the Recommendation of 1 September 2015.

Which children and attributes an element may have: sections 3.2 (scxml), 3.3 (state), 3.4 (parallel), 3.5
(transition), 3.7 (final). Identifiers and references: sections 3.14 and 3.3.2. Event descriptors: section 3.12.1.
Conditions of the null data model: appendix B.1. Elements that our documents do not use are refused.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator

NAMESPACE = "{http://www.w3.org/2005/07/scxml}"
CHILDREN = {
    "scxml": {"state", "parallel", "final"},
    "state": {"transition", "state", "parallel", "final"},
    "parallel": {"transition", "state", "parallel"},
    "final": set[str](),
    "transition": set[str](),
}
ATTRIBUTES = {
    "scxml": {"initial", "name", "version", "datamodel", "binding"},
    "state": {"id", "initial"},
    "parallel": {"id"},
    "final": {"id"},
    "transition": {"event", "cond", "target", "type"},
}
NCNAME = re.compile(r"[A-Za-z_][\w.-]*", re.ASCII)
EVENT = re.compile(r"[\w-]+(\.[\w-]+)*(\.\*)?|\*", re.ASCII)
IN = re.compile(r"In\('([^']+)'\)")


def faults(text: str) -> list[str]:
    """Everything in which `text` is no SCXML document as the Recommendation has it."""
    root = ET.fromstring(text)
    if root.tag != f"{NAMESPACE}scxml":
        return [f"the root is {root.tag}"]
    ids = [e.get("id", "") for e in root.iter() if _tag(e) in ("state", "parallel", "final")]
    found = [f"the id {i!r} is no NCName" for i in ids if not NCNAME.fullmatch(i)]
    found += [f"the id {i!r} stands twice" for i in sorted({i for i in ids if ids.count(i) > 1})]
    if root.get("version") != "1.0":
        found.append("version must be 1.0")
    if root.get("datamodel") != "null":
        found.append("only the null data model is known here")
    return [*found, *(fault for element in root.iter() for fault in _element(element, set(ids)))]


def _tag(element: ET.Element) -> str:
    return element.tag.removeprefix(NAMESPACE)


def _element(element: ET.Element, ids: set[str]) -> Iterator[str]:
    tag = _tag(element)
    if tag not in CHILDREN:
        yield f"there is no element {tag}"
        return
    for child in element:
        if _tag(child) not in CHILDREN[tag]:
            yield f"{_tag(child)} inside {tag}"
    for name in element.attrib:
        if not name.startswith("{") and name not in ATTRIBUTES[tag]:
            yield f"{tag} has no attribute {name}"
        if name.startswith(NAMESPACE):
            yield f"an attribute of {tag} in the namespace of elements"
    if (element.text or "").strip() or (element.tail or "").strip():
        yield f"text inside {tag}"
    yield from _references(element, tag, ids)
    if tag == "transition":
        yield from _transition(element, ids)


def _references(element: ET.Element, tag: str, ids: set[str]) -> Iterator[str]:
    for name in ("initial", "target"):
        for reference in element.get(name, "").split():
            if reference not in ids:
                yield f"{name} of {tag} refers to {reference!r}, which is no state"
    if tag == "state" and element.get("initial") is not None:
        inside = {e.get("id") for e in element.iter() if e is not element}
        if element.get("initial") not in inside:
            yield f"initial of {element.get('id')} is not inside it"


def _transition(element: ET.Element, ids: set[str]) -> Iterator[str]:
    if not {"event", "cond", "target"} & set(element.attrib):
        yield "a transition needs an event, a condition or a target"
    for event in element.get("event", "").split():
        if not EVENT.fullmatch(event):
            yield f"{event!r} is no event descriptor"
    if "cond" in element.attrib:
        match = IN.fullmatch(element.get("cond", ""))
        if match is None or match[1] not in ids:
            yield f"the null data model knows no condition {element.get('cond')!r}"
