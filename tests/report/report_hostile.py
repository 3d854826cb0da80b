"""A job in which every text that comes from a person tries to run, to load or to break the page."""

from __future__ import annotations

from datetime import timedelta
from functools import cache

from report_jobs import PSI, Bench, rules

from firststart.job import facts as f
from firststart.job import inputs as i
from firststart.report.build import build_report
from firststart.report.html import to_html
from firststart.report.model import DiagnosisPart, NextCheck, Round, Shift, Suspect
from firststart.units import measured

HOSTILE = (
    "<script>document.title='owned'</script>",
    "\"><img src=x onerror=alert(1)>",
    "'><svg onload=alert(1)>",
    "</title></style><b>",
    "{{ 7*7 }}{% for x in y %}",
    "]]><!-- --> &lt; &amp; $E=mc^2$",
    "javascript:alert(1)",
    "\u202ereversed\u202c \x00\x1b[2J",
    "https://example.invalid/x.png url(//example.invalid)",
)


@cache
def hostile_page() -> str:
    """A page in which every text that comes from a person is hostile."""
    bad = " ".join(HOSTILE)
    bench = Bench(place=bad)
    for text in HOSTILE:
        bench.give(i.Note(text), i.Mend(text))
    at = bench.clock.now()
    judged = f.Judgement(judge=bad, word=bad, say=bad, low=1.0, high=2.0, unit="psi", limit=bad, source=bad, mark=bad)
    opened = bench.facts[0].model_copy(update={"job": bad[:200], "engine": bad})  # no bench takes such names any more
    facts = [opened, *bench.facts[1:], f.RunStarted(at=at, run=1, procedure=bad, digest=bad, why=bad)]
    for cylinder in (1, 2):
        facts.append(
            f.ValueMeasured(
                at=at, run=1, state=bad, name="compression." + HOSTILE[0], value=measured(90, "psi", "pressure"),
                instrument=bad, resolution=PSI, cylinder=cylinder, judged=judged, said=bad,
            )
        )  # fmt: skip
    facts.append(
        f.ValueMeasured(
            at=at, run=1, state=bad, name=HOSTILE[1], value=measured(9, "V", "voltage"), instrument=bad, judged=judged
        )
    )
    facts.append(f.AnswerGiven(at=at, run=1, state=bad, event=bad, said=bad, observe=bad))
    facts.append(f.RunEnded(at=at, run=1, procedure=bad, result=bad, outcome="bad", say=bad))
    part = DiagnosisPart(
        left=(Suspect(bad, bad, 0.5, bad, bad),), next_check=NextCheck(bad, bad, bad, 3, bad),
        rounds=(Round(bad, bad, None, (Shift(bad, 0.1, 0.9),)),),
    )  # fmt: skip
    return to_html(build_report(facts, rules(), at + timedelta(hours=1), part))
