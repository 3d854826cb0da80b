"""The page: whole, valid, self-contained, and deaf to hostile text."""

from __future__ import annotations

import base64
import hashlib
import re
from collections import Counter
from datetime import timedelta

import html5lib
import pytest
from hypothesis import HealthCheck, given, settings
from report_hostile import hostile_page
from report_jobs import START, Bench, golden_page, golden_report, rules
from report_random import jobs

from firststart.job import facts as f
from firststart.report.build import build_report
from firststart.report.html import to_html


def _dom(html: str) -> html5lib.treebuilders:
    """The page as a strict parser reads it. Raises on any error of HTML."""
    parser = html5lib.HTMLParser(strict=True, tree=html5lib.getTreeBuilder("etree"), namespaceHTMLElements=False)
    return parser.parse(html)


@pytest.fixture(scope="module")
def page() -> str:
    """The page of the weekend."""
    return golden_page()


@pytest.fixture(scope="module")
def hostile() -> str:
    """The page of the hostile job."""
    return hostile_page()


def test_the_page_is_valid_html(page: str, hostile: str) -> None:
    """A strict HTML parser finds no error, also where every text is hostile."""
    for html in (page, hostile):
        assert "html" == _dom(html).tag


def test_no_hostile_text_becomes_an_element_or_an_attribute(page: str, hostile: str) -> None:
    """The hostile page has the same kinds of elements and attributes as the plain one, and no script at all."""
    kinds = [{(e.tag, a) for e in _dom(html).iter() for a in ("", *e.attrib)} for html in (page, hostile)]

    assert set() == kinds[1] - kinds[0]
    assert not {"script", "img", "b", "iframe", "object", "form"} & {tag for tag, _ in kinds[1]}


def test_hostile_text_is_shown_as_it_was_written(hostile: str) -> None:
    """Nothing is run, and nothing is lost: the note reads as the person left it."""
    texts = "".join(_dom(hostile).itertext())

    assert "<script>document.title='owned'</script>" in texts
    assert "{{ 7*7 }}{% for x in y %}" in texts
    assert "49{%" not in texts
    assert "\u202e" not in hostile
    assert "\x1b" not in hostile


def test_the_page_asks_for_nothing_from_outside(page: str, hostile: str) -> None:
    """No address in any attribute but the page's own parts, and no import in the style sheet."""
    for html in (page, hostile):
        places = ("href", "src", "xlink:href", "action", "data", "srcset", "poster")
        links = [v for e in _dom(html).iter() for a, v in e.attrib.items() if a in places]
        style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)

        assert style is not None
        assert all(link.startswith("#") for link in links)
        assert not re.search(r"@import|url\(|https?:", style[1])


def test_the_policy_lets_the_one_style_sheet_in_and_nothing_else(page: str) -> None:
    """default-src none, and the hash is that of the style sheet as it stands in the page (CSP Level 3)."""
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)
    assert policy is not None
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()

    assert f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'" == policy[1].replace(
        "&#39;", "'"
    )
    assert "style=" not in page
    assert not re.search(r"\son[a-z]+=", page)


def test_each_name_is_used_once_and_each_reference_leads_somewhere(page: str) -> None:
    """Ids are unique; every link and every aria-labelledby names one of them."""
    elements = list(_dom(page).iter())
    ids = Counter(e.attrib["id"] for e in elements if "id" in e.attrib)
    wanted = {v[1:] for e in elements for a, v in e.attrib.items() if a == "href"}
    wanted |= {x for e in elements for x in e.attrib.get("aria-labelledby", "").split()}

    assert {1} == set(ids.values())
    assert set() == wanted - set(ids)


def test_every_table_has_a_caption_heads_and_row_heads(page: str) -> None:
    """Each column and each row of each table has its head, and each cell of a stacked table its label."""
    for table in _dom(page).iter("table"):
        heads = table.findall("./thead/tr/th")
        rows = table.findall("./tbody/tr")

        assert "".join(table.find("caption").itertext()).strip()
        assert heads
        assert {"col"} == {h.attrib["scope"] for h in heads}
        assert {len(heads)} == {len(list(row)) for row in rows}
        assert {"row"} == {row[0].attrib["scope"] for row in rows}
        assert all(cell.attrib["data-label"] for row in rows for cell in row[1:])


def test_every_picture_is_an_image_with_a_name_a_text_and_a_table(page: str) -> None:
    """Each drawing is one image to a screen reader, named and told, with its table beside it."""
    figures = list(_dom(page).iter("figure"))

    assert len(figures) >= 7
    for figure in figures:
        svg = figure.find("{http://www.w3.org/2000/svg}svg")

        assert "img" == svg.attrib["role"]
        assert 2 == len(svg.attrib["aria-labelledby"].split())
        assert figure.find("details/table") is not None


def test_every_reading_and_every_caution_stands_in_the_page(page: str) -> None:
    """All that the report holds can be read on the page."""
    texts = " ".join("".join(_dom(page).itertext()).split())
    report = golden_report()

    assert all(f"entry {r.number}," in texts for r in report.readings)
    assert all(line in texts for line in (*report.cautions, *report.silent))
    assert all(" ".join(n.text.split()) in texts for n in report.notes)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(facts=jobs((3, 60)))
def test_any_job_has_a_valid_page(facts: tuple[f.Fact, ...]) -> None:
    """Random jobs with any text in them: a strict parser reads each page."""
    html = to_html(build_report(facts, rules(), max(x.at for x in facts) + timedelta(hours=1)))

    assert "html" == _dom(html).tag


def test_the_same_report_gives_the_same_page(page: str) -> None:
    """Nothing of the moment or the machine gets in."""
    assert page == to_html(golden_report())


def test_earlier_jobs_feed_the_trends() -> None:
    """A job a year later has a trend only when it is given the one before."""
    bench = Bench("green-twin-2", start=START + timedelta(days=365))
    bench.work("place", "open air")
    bench.work("battery", "12.5 V")
    later = build_report(bench.facts, rules(), bench.clock.now())

    assert "from test to test" not in to_html(later)
    assert "Battery rest from test to test" in to_html(later, [golden_report()])
