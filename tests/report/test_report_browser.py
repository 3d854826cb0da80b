"""The page in a real browser: no errors, no requests, readable by an accessibility engine, rows whole on paper.

Skipped, with the reason said, where no Chromium is installed; `apt-get install chromium` brings one.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from report_hostile import hostile_page
from report_jobs import Bench, golden_page, golden_report, rules
from report_kept import album_bench, album_report

from firststart.job import inputs as i
from firststart.report.build import build_report
from firststart.report.html import to_html

playwright = pytest.importorskip("playwright", reason="playwright is not installed")
sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
CHROMIUM = next((p for n in ("chromium", "chromium-browser", "google-chrome") if (p := shutil.which(n))), None)
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed (apt-get install chromium)")

VIEWS = {"light": (1100, "light"), "dark": (1100, "dark"), "phone": (360, "light"), "dark phone": (360, "dark")}


@dataclass
class Seen:
    """What a browser told while it showed a page."""

    errors: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One headless Chromium for all tests here, driven by a program that may want a library of the system."""
    driver = Path(playwright.__file__).parent / "driver" / "node"
    tried = subprocess.run([driver, "--version"], capture_output=True, text=True, check=False)
    if "shared libraries" in tried.stderr:
        pytest.skip("Chromium cannot be driven: install libatomic1")
    with sync_api.sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield chromium
        chromium.close()


@pytest.fixture(scope="module")
def plain() -> str:
    """The page of the weekend."""
    return golden_page()


@pytest.fixture(scope="module")
def with_photos(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The page of a job with photos and sounds."""
    bench, drawer = album_bench(tmp_path_factory.mktemp("album"))
    return to_html(album_report(bench), (), drawer.get)


def _open(browser: Any, html: str, folder: Path, view: str = "light", **more: Any) -> tuple[Any, Seen]:
    """The page in a window of its own, and what happens in it."""
    path = folder / "report.html"
    path.write_text(html, encoding="utf-8")
    width, scheme = VIEWS[view]
    page = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme, **more).new_page()
    seen = Seen()
    page.on("console", lambda m: seen.errors.append(m.text) if m.type in ("error", "warning") else None)
    page.on("pageerror", lambda e: seen.errors.append(str(e)))
    page.on("dialog", lambda d: (seen.errors.append(d.message), d.dismiss()))
    page.on("request", lambda r: seen.asked.append(r.url))
    page.goto(path.as_uri(), wait_until="load")
    return page, seen


@pytest.mark.parametrize("view", VIEWS)
def test_the_page_is_shown_without_errors_requests_or_sideways_scrolling(
    browser: Any, plain: str, with_photos: str, tmp_path: Path, view: str
) -> None:
    """In each view: nothing on the console, nothing asked for but the page, nothing wider than the window. What is
    hostile and what is large is looked at in the widest and the narrowest."""
    more = (hostile_page(), with_photos) if view in ("light", "dark phone") else ()
    for html in (plain, *more):
        page, seen = _open(browser, html, tmp_path, view)
        wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")

        assert [] == seen.errors
        assert [(tmp_path / "report.html").as_uri()] == [u for u in seen.asked if not u.startswith("data:")]
        assert 0 >= wide
        assert "owned" != page.title()
        page.context.close()


def test_what_got_into_the_page_all_the_same_is_neither_run_nor_loaded(
    browser: Any, plain: str, tmp_path: Path
) -> None:
    """The policy of the page blocks a script, a picture and a style that were put into the file by hand."""
    planted = (
        "<script>document.title = 'owned'</script><img src='planted.png' onerror=\"document.title = 'owned'\">"
        "<style>h1 { display: none }</style><link rel='stylesheet' href='planted.css'>"
    )
    for name in ("planted.png", "planted.css"):
        (tmp_path / name).write_text("x", encoding="utf-8")
    page, seen = _open(browser, plain.replace("</main>", planted + "</main>"), tmp_path)

    assert golden_report().engine in page.title()
    assert page.is_visible("h1")
    assert 4 <= sum("Content Security Policy" in e for e in seen.errors)
    page.context.close()


QUICK = {"resultTypes": ["violations"]}  # what passes need not be told
RULES = {"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], **QUICK}
LOOKS = {"runOnly": {"type": "rule", "values": ["color-contrast", "target-size", "link-in-text-block"]}, **QUICK}


def _violations(page: Any, part: str = "body", options: dict[str, Any] = RULES) -> list[str]:
    """What the accessibility engine axe-core finds in a part of the page; by all rules, with all tables opened."""
    if options is RULES:
        page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        page.evaluate("document.querySelectorAll('input.fold').forEach(i => { i.checked = true })")
    page.evaluate(files("axe_playwright_python").joinpath("axe.min.js").read_text(encoding="utf-8"))
    found = page.evaluate("([part, options]) => axe.run(part, options)", [part, options])
    return [f"{v['id']}: {v['nodes'][0]['html'][:120]}" for v in found["violations"]]


@pytest.mark.parametrize(("view", "options"), [("light", RULES), ("dark phone", LOOKS)])
def test_an_accessibility_engine_finds_nothing_to_mend(
    browser: Any, plain: str, tmp_path: Path, view: str, options: dict[str, Any]
) -> None:
    """WCAG 2.2 level AA and axe-core's best practices; then, narrow and dark, the rules that looks can break."""
    pytest.importorskip("axe_playwright_python", reason="axe_playwright_python is not installed")
    page, _ = _open(browser, plain, tmp_path, view)

    assert [] == _violations(page, options=options)
    page.context.close()


def test_photos_and_sounds_are_shown_and_told(browser: Any, with_photos: str, tmp_path: Path) -> None:
    """Each photo is drawn, each sound can be played, and the accessibility engine finds nothing to mend in them."""
    pytest.importorskip("axe_playwright_python", reason="axe_playwright_python is not installed")
    page, _ = _open(browser, with_photos, tmp_path)
    page.wait_for_function("[...document.querySelectorAll('audio')].every(a => a.readyState > 0)")
    drawn = page.evaluate("[...document.images].map(i => [i.complete, i.naturalWidth, i.naturalHeight])")
    seconds = page.evaluate("[...document.querySelectorAll('audio')].map(a => a.duration)")

    assert [[True, 600, 800], [True, 300, 400]] == drawn
    assert [0.5, 1.2] == pytest.approx(seconds, abs=0.01)
    assert [] == _violations(page, "#notes")
    page.context.close()


CUT = """[...document.querySelectorAll('figure svg text')].filter(t => {
    const s = t.ownerSVGElement.getBoundingClientRect(), b = t.getBoundingClientRect();
    return b.left < s.left - 1 || b.right > s.right + 1 || b.top < s.top - 1 || b.bottom > s.bottom + 1;
}).map(t => t.textContent)"""


@pytest.mark.parametrize("view", ["light", "phone"])
def test_no_text_of_a_picture_is_cut_at_its_edge(browser: Any, plain: str, tmp_path: Path, view: str) -> None:
    """Every label lies whole inside its picture, also in the larger letters of a phone; one moved out is found."""
    page, _ = _open(browser, plain, tmp_path, view)
    found = page.evaluate(CUT)
    page.evaluate("document.querySelector('figure svg text').setAttribute('x', '-90')")

    assert [] == found
    assert 1 == len(page.evaluate(CUT))
    page.context.close()


def test_long_tables_are_folded_on_a_screen_and_whole_on_paper(browser: Any, plain: str, tmp_path: Path) -> None:
    """The log of a weekend is there at a press of its box, and on paper without one."""
    page, _ = _open(browser, plain, tmp_path)
    log = page.locator("#timeline > table")
    folded, label = log.is_visible(), page.locator("label[for=timeline-all]").inner_text()
    page.emulate_media(media="print")
    printed = log.is_visible()
    page.emulate_media(media="screen")
    page.press("#timeline-all", "Space")

    assert (False, True, True) == (folded, printed, log.is_visible())
    assert re.fullmatch(r"Show all \d+ events", label)
    page.context.close()


def test_the_accessibility_engine_would_find_weak_contrast(browser: Any, plain: str, tmp_path: Path) -> None:
    """A paler grey than the page's own is found at once: the check above can fail."""
    pytest.importorskip("axe_playwright_python", reason="axe_playwright_python is not installed")
    page, _ = _open(browser, plain, tmp_path)
    page.evaluate("document.documentElement.style.setProperty('--dim', '#a8b0ae')")

    assert any(v.startswith("color-contrast") for v in _violations(page, "#work"))
    page.context.close()


@cache
def _long_page() -> str:
    """A page whose notes are rows of many lines, each with a word at its beginning and one at its end."""
    bench = Bench()
    for n in range(28):
        middle = "what was seen and done that day " * (9 + 2 * (n % 9))
        bench.give(i.Note(f"BEGIN{n:02d} {middle} END{n:02d}"))
    return to_html(build_report(bench.facts, rules(), bench.clock.now() + timedelta(hours=1)))


def _cut_rows(page: Any, paper: str) -> tuple[int, list[int]]:
    """(pages printed, the notes that begin on one page and end on another)."""
    texts = [p.extract_text() for p in pypdf.PdfReader(io.BytesIO(page.pdf(format=paper))).pages]
    where: dict[str, int] = {}
    for n, text in enumerate(texts):
        for word in re.findall(r"(?:BEGIN|END)\d\d", text):
            where.setdefault(word, n)  # the timeline tells the first words of a note once more

    assert 56 == len(where)
    return len(texts), [n for n in range(28) if where[f"BEGIN{n:02d}"] != where[f"END{n:02d}"]]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_row_of_a_table_is_cut_by_the_end_of_a_page(browser: Any, tmp_path: Path, paper: str) -> None:
    """Rows of many lines over several pages: each begins and ends on the same one."""
    page, _ = _open(browser, _long_page(), tmp_path)
    pages, cut = _cut_rows(page, paper)

    assert 4 <= pages
    assert [] == cut
    page.context.close()


def test_rows_would_be_cut_without_the_rule_against_it(browser: Any, tmp_path: Path) -> None:
    """The same page without its break-inside rules has rows in two parts: the check above can fail."""
    page, _ = _open(browser, re.sub(r"break-inside: avoid;?", "", _long_page()), tmp_path, bypass_csp=True)

    assert [] != _cut_rows(page, "A4")[1]
    page.context.close()


def test_heads_of_tables_stand_on_every_page_of_paper(browser: Any, tmp_path: Path) -> None:
    """A table that goes on over pages repeats its head."""
    page, _ = _open(browser, _long_page(), tmp_path)
    texts = [p.extract_text() for p in pypdf.PdfReader(io.BytesIO(page.pdf(format="A4", page_ranges="2-4"))).pages]
    inside = [t for t in texts if "BEGIN" in t]

    assert len(inside) >= 2
    assert all(re.search(r"When\s+(Note|What)", text) for text in inside)
    page.context.close()


def test_paper_is_white_and_without_what_paper_cannot_do(browser: Any, plain: str, tmp_path: Path) -> None:
    """Printed from a dark screen the page is dark on white, with neither links to jump by nor folded tables."""
    page, _ = _open(browser, plain, tmp_path, "dark")
    page.emulate_media(media="print")

    assert "rgb(255, 255, 255)" == page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    assert not page.is_visible("nav")
    assert not page.is_visible("details >> nth=0")
    assert page.is_visible("figure svg >> nth=0")
    page.context.close()


def test_a_phone_shows_each_cell_beside_its_label(browser: Any, plain: str, tmp_path: Path) -> None:
    """On a narrow window rows become cards: the label of a column stands before each of its cells."""
    page, _ = _open(browser, plain, tmp_path, "phone")
    label = page.evaluate("getComputedStyle(document.querySelector('#measured td'), '::before').content")

    assert '"Value"' == label.replace("attr(data-label)", '"Value"')
    assert 11 <= page.evaluate("parseFloat(getComputedStyle(document.querySelector('td')).fontSize)")
    page.context.close()
