"""A job rendered as text, HTML or JSON: facts, library and rules in; strings out. No file, no network.

    build_report(facts, rules, now, diagnosis)   everything a job can say, as frozen values
    text.to_text(report)                         80 columns
    html.to_html(report)                         one self-contained page
    jsonform.to_json(report, facts)              for machines; `from_json` reads the facts back
    csvform.to_csv(report)                       the measurements
    compare.compare_jobs(before, after)          what changed, and whether the instruments can tell
"""

from firststart.report.build import build_report
from firststart.report.model import DiagnosisPart, NextCheck, Report, Round, Shift, Suspect

__all__ = ["DiagnosisPart", "NextCheck", "Report", "Round", "Shift", "Suspect", "build_report"]
