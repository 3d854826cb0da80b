"""The parts of the README that are made from elsewhere: `python tests/readme_parts.py` puts them in anew.

The transcript is a piece of the golden twin of a scenario; the page "when it goes wrong" is the tool's own.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))

from firststart.cli.trouble import table  # noqa: E402

README, TWIN = ROOT / "README.md", ROOT / "scenarios" / "twin-eight-years.out"
FIRST, LAST = "Turn the fuel on. Is the tap open?", "Look at the oil lamp or gauge. Is there oil pressure?"
_TRANSCRIPT = re.compile(r"(<!-- transcript -->\n```text\n).*?(```\n<!-- end of transcript -->)", re.DOTALL)
_TABLE = re.compile(r"\| what you see \| what to do \|\n.*?(?=\n\n)", re.DOTALL)


def transcript() -> str:
    """The first start of the twin that stood eight years, as its golden twin has it."""
    lines = TWIN.read_text(encoding="utf-8").splitlines()
    last = max(n for n, line in enumerate(lines) if line.endswith(LAST))
    first = max(n for n, line in enumerate(lines[:last]) if line.endswith(FIRST))
    return "\n".join(lines[first : last + 1]) + "\n"


def renewed(readme: str) -> str:
    """The README with all its made parts as they are now."""
    told = _TRANSCRIPT.sub(lambda found: found[1] + transcript() + found[2], readme)
    return _TABLE.sub(lambda _found: table(), told)


if __name__ == "__main__":
    README.write_text(renewed(README.read_text(encoding="utf-8")), encoding="utf-8")
