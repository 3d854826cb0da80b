"""A job rendered as text, HTML or JSON: facts, library and rules in; strings out. No file, no network.

    build_report(facts, rules, now, diagnosis, other_cranks)   everything a job can say, as frozen values
    fromadvice.part_of(advice, rounds)          the diagnosis as that part; `rounds.rounds_of` asks it check by check
    text.to_text(report)                        80 columns
    html.to_html(report, earlier)               one self-contained page; `earlier` jobs feed its trends
    jsonform.to_json(report, facts)             for machines, by `schema.json`; `from_json` reads the facts back
    csvform.to_csv(report)                      the measurements
    compare.compare_runs, compare.compare_jobs  what changed, and whether the instruments can tell

The way of the page: `build` -> `Report` -> `page` (sections of `tables` and `pictures`, all values) -> templates,
which only draw. Pictures are plots of matplotlib (`plot`, its one door, loads it when a page is made and not
before), which `inline` makes parts of the page: text stays text, colours follow the reader's theme, nothing is drawn by
script. Each has a sentence and a table that say the same.
"""

from firststart.report.build import build_report
from firststart.report.model import DiagnosisPart, NextCheck, Report, Round, Shift, Suspect

__all__ = ["DiagnosisPart", "NextCheck", "Report", "Round", "Shift", "Suspect", "build_report"]
