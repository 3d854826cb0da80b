"""to_html(report) -> str: one page that holds all it needs, runs nothing and asks for nothing.

Drawn by jinja2 with autoescape on, from values only: the template makes no decisions. The style sheet is
inline, and the page's own content security policy allows that one style sheet by its hash and nothing else.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from firststart.report.model import Report
from firststart.report.page import page
from firststart.report.shown import Album, Get, album
from firststart.report.wording import harmless


def to_html(report: Report, earlier: Sequence[Report] = (), get: Get | None = None) -> str:
    """The report as one HTML page; reports of `earlier` jobs on the same engine feed its trends.

    With `get` its photos and sounds are in it too, as far as they fit.
    """
    css, kept = _style(), album(report, get)
    template = _environment().get_template("report.html.j2")
    return template.render(page=page(report, earlier, kept), css=Markup(css), policy=_policy(css, kept))


def _policy(css: str, kept: Album) -> str:
    """What the page may load: its own style sheet, the photos and sounds inside it, and nothing from anywhere."""
    digest = base64.b64encode(hashlib.sha256(css.encode()).digest()).decode()
    inside = [("photo", "img-src data:"), ("sound", "media-src data:")]
    own = [rule for sort, rule in inside if any(x.sort == sort for x in kept.shown)]
    rules = ("default-src 'none'", f"style-src 'sha256-{digest}'", *own, "base-uri 'none'", "form-action 'none'")
    return "; ".join(rules)


@cache
def _style() -> str:
    return files("firststart.report").joinpath("templates/report.css").read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("firststart.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=_shown,
    )


def _shown(value: object) -> object:
    """Every text on its way into the page, made harmless once more; markup of the template's own stays as it is."""
    return harmless(value) if type(value) is str else value
