"""Outcomes to what is ruled out, left and found; the next check and why.

    Book.from_data(data, place, file)          the book of suspects and checks, or every problem at once
    book.read(check or observable, word)       what an outcome says, row by row -> Finding
    advise(book, profile, years, storage, evidence, available) -> Advice

Model: independent faults below, one leaky noisy-OR row for each outcome above (Heckerman 1989, Diez 1993 for the leak).
numpy is loaded at the first call of `advise`, not when this room is imported.
"""

from firststart.diagnosis.advice import Advice, BlockedCheck, Standing, Step
from firststart.diagnosis.advise import advise
from firststart.diagnosis.book import Book
from firststart.diagnosis.evidence import Evidence, Finding, NoStart, Ran, Repair
from firststart.diagnosis.model import Check, Reading, Suspect

__all__ = [
    "Advice", "BlockedCheck", "Book", "Check", "Evidence", "Finding", "NoStart", "Ran", "Reading", "Repair", "Standing",
    "Step", "Suspect", "advise",
]
