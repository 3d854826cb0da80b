"""What is said to do next, and why: on the book that ships, through the one door of the room."""

from __future__ import annotations

import subprocess
import sys

import pytest
from diagnosis_engines import AT, PROFILES, Player, advised, draw_engine, shipped
from hypothesis import given, settings
from hypothesis import strategies as st

from firststart.diagnosis import Finding, NoStart, Ran, Repair, advise, infer
from firststart.diagnosis.network import fit
from firststart.diagnosis.words import chance_word, listed, minutes_word, number_word, percent

MOTORCYCLE = PROFILES["motorcycle"]


def record(*told, profile=MOTORCYCLE):
    """Evidence from (check, word) pairs, suspects' ids (a repair), "no start" and "ran", in order."""
    evidence, book = [], shipped()
    for seq, item in enumerate(told, start=1):
        if item == "no start":
            evidence.append(NoStart(10 * seq, AT))
        elif item == "ran":
            evidence.append(Ran(10 * seq, AT))
        elif isinstance(item, str):
            evidence.append(Repair(item, AT, 10 * seq))
        else:
            readings = book.read(*item, profile)
            evidence += [Finding(r.row, r.outcome, AT, 10 * seq, r.likelihood, None, item[1]) for r in readings]
    return evidence


def advice(*told, profile=MOTORCYCLE, available=None):
    return advise(shipped(), profile, 12, "damp", record(*told, profile=profile), available)


SILENT = (("cranking", "normal"), ("firing", "silent"), "no start")


def test_an_empty_tank_is_found_by_looking_in_it():
    """The dipstick proves it: found, to be mended first, and nothing else is called found."""
    got = advice(*SILENT, ("tank look", "empty"))

    assert [s.suspect for s in got.found] == ["tank_empty"]
    assert (got.next.kind, got.next.id) == ("fix", "tank_empty")
    assert got.spoken.startswith("Mend an empty tank")


def test_two_things_wrong_are_both_found():
    """The tank is empty and the fuse is blown: one does not explain the other away."""
    got = advice(*SILENT, ("tank look", "empty"), ("fuses look", "ignition blown"))

    assert {"tank_empty", "ignition_fuse"} <= {s.suspect for s in got.found}


def test_what_is_ruled_out_names_the_check_and_the_day():
    """A strong spark clears the coil: greyed with its reason, still in the list."""
    got = advice(*SILENT, ("spark", "strong"))
    cleared = {s.suspect: s for s in got.ruled_out}

    assert {"ignition_fuse", "coil_primary", "stop_set"} <= set(cleared)
    assert cleared["ignition_fuse"].reason == "the spark at a test gap: strong"
    assert cleared["ignition_fuse"].at == AT
    assert len(got.standing) == len(fit(shipped(), MOTORCYCLE).suspects)
    assert all(s.chance > 0.0 for s in got.standing)


def test_nothing_is_ruled_out_before_anything_was_checked():
    """A suspect that was never likely is not called ruled out for that."""
    assert advice("no start").ruled_out == ()


def test_after_a_repair_it_says_to_try():
    """One thing at a time: mended, then tried."""
    got = advice(*SILENT, ("tank look", "empty"), "tank_empty")

    assert got.next.kind == "try"
    assert [s.suspect for s in got.of("mended")] == ["tank_empty"]


def test_when_it_runs_there_is_nothing_left_to_do():
    """Mended, tried, running."""
    got = advice(*SILENT, ("tank look", "empty"), "tank_empty", "ran")

    assert got.next.kind == "done"
    assert got.spoken == "It runs: there is nothing left to find."


def test_an_engine_that_does_not_turn_is_made_to_turn_first():
    """One click and nothing else: every check it proposes speaks of battery, starter or a stuck engine."""
    told = [("cranking", "click"), "no start"]
    zones = set()
    for _ in range(4):
        got = advice(*told)
        check = shipped().checks[got.next.id]
        zones |= {shipped().suspects[s].zone for row in check.rows for s in row.bad_if}
        told.append((check.id, check.ok_when[0]))

        assert {"battery", "starter", "mechanical"} & zones


@pytest.mark.parametrize("name", [n for n in PROFILES if n != "unknown"])
def test_a_check_is_proposed_only_when_what_it_needs_is_so(name):
    """Played to the end, no proposed check lacks its precondition, and none is proposed that it does not have."""
    network = fit(shipped(), PROFILES[name], 12, "damp")
    seen = []

    def pick(view):
        choice = advised(view)
        if choice.kind == "check":
            seen.append((choice.score.check, view.settled.current))
        return choice

    played = Player(network, draw_engine(network, 2, 17), pick).play()

    assert played.ran
    assert all(check in network.checks for check, _ in seen)
    assert [c.id for c, now in seen for need in c.needs if need in {x.id for x in network.checks} and not any(
        row.id in now for row in shipped().checks[need].rows)] == []


def test_not_cranking_leaves_the_cranking_checks_undone():
    """It would not turn: compression and spark wait for that, and are not counted as good."""
    got = advice(("cranking", "click"), "no start", ("spark", "could not"))

    assert "ignition_fuse" not in {s.suspect for s in got.ruled_out}
    assert got.next.id not in ("compression", "spark")


def test_a_check_the_job_does_not_allow_is_listed_with_its_reason_and_not_chosen():
    """Safety comes before the score: whatever it would tell, it waits."""
    first = advice(*SILENT).next.id
    got = advice(*SILENT, available=lambda check: "the leak check has gone stale" if check == first else None)
    held = {b.id: b for b in got.blocked}

    assert got.next.id != first
    assert held[first].why == "the leak check has gone stale"
    assert held[first].by_job


def test_when_nothing_is_allowed_it_says_wait_and_why():
    """All checks are held, and nothing is likely enough to be mended without one: it chooses none all the same."""
    why = "fire readiness has gone stale"
    got = advise(shipped(), MOTORCYCLE, 1, "dry", record(*SILENT), lambda check: why)

    assert got.next.kind == "wait"
    assert why in got.spoken


def test_when_nothing_is_allowed_what_is_likely_is_mended():
    """All checks are held, and a fault is more likely than not: mending it is the only way on."""
    got = advice(*SILENT, ("bowl drain", "dirt or varnish"), available=lambda check: "the stop could not be had")

    assert (got.next.kind, got.next.id) == ("fix", "fuel_stale")


def test_a_likely_costly_fault_is_named_before_a_specialist_is_asked():
    """No check that can be done says more of it: it is named, with its price, and not tried."""
    good = (("tank look", "fuel"), ("fuel sniff", "fresh"), ("tap flow", "good"))
    told = (*SILENT, *good, ("pump delivery", "none or weak"))
    got = advice(*told, profile=PROFILES["car"], available=lambda check: "it was tried, and could not tell")

    assert got.next.kind == "specialist"
    assert got.spoken == "It is most likely a dead fuel pump, but it costs parts: ask a specialist first."
    assert got.next.do == shipped().zones["fuel"].specialist


def test_a_costly_fix_is_never_a_trial():
    """Played where one comes up: no repair that costs parts, has hazards or cannot be undone below the found limit."""
    network = fit(shipped(), MOTORCYCLE, 12, "damp")
    trials = []

    def pick(view):
        choice = advised(view)
        if choice.kind == "fix" and choice.suspect.fix.costly:
            trials.append((choice.suspect.id, view.now(choice.suspect)))
        return choice

    for seed in (2, 9, 14):
        Player(network, draw_engine(network, 1 + seed % 3, seed), pick).play()

    assert trials, "no costly fix came up, so this test proves nothing"
    assert [t for t in trials if t[1] < shipped().policy.found] == []


def test_the_same_record_gives_the_same_advice():
    """Twice in one process, and whatever order the evidence is handed over in."""
    told = (*SILENT, ("spark", "weak"), ("plug look", "wet"))
    evidence = record(*told)

    assert advice(*told) == advice(*told)
    assert advise(shipped(), MOTORCYCLE, 12, "damp", evidence) == advise(
        shipped(), MOTORCYCLE, 12, "damp", sorted(evidence, key=lambda e: -e.seq))


def of_suspects(got):
    """(suspect, chance) for each."""
    return [(one.suspect, one.chance) for one in got.standing]


def test_where_exact_sums_would_be_too_slow_it_says_that_it_sampled(monkeypatch):
    """The long form names the draws that the chances are worth, and they stay near the exact ones."""
    told = (*SILENT, ("spark", "none"), ("plug look", "dry"), ("prime", "fires"), ("fuel flow", "none"))
    exact = advice(*told)
    monkeypatch.setattr(infer, "WIDEST", 2)
    sampled = advice(*told)
    line = f"Too many findings overlap for exact sums: these chances are {sampled.method}."

    assert exact.method == "exact" and not [t for t in exact.lines if "exact sums" in t]
    assert sampled.method.startswith("sampled, worth ")
    assert line in sampled.lines
    assert pytest.approx(dict(of_suspects(exact)), abs=0.06) == dict(of_suspects(sampled))
    assert sampled == advice(*told)


def test_stale_evidence_does_not_count_and_is_shown():
    """The spark was proved, but the coil was changed since: it is asked again and the record says why."""
    evidence = [
        e if not isinstance(e, Finding) or not e.check.startswith("spark")
        else Finding(e.check, e.outcome, e.at, e.seq, None, "the coil was changed")
        for e in record(*SILENT, ("spark", "strong"))
    ]
    got = advise(shipped(), MOTORCYCLE, 12, "damp", evidence)

    assert "ignition_fuse" not in {s.suspect for s in got.ruled_out}
    assert any("stale: the coil was changed" in line for line in got.ignored)


def test_runners_up_are_within_ten_per_cent():
    """Shown only when close, best first."""
    for told in (SILENT, (*SILENT, ("spark", "none")), (*SILENT, ("spark", "strong"))):
        got = advice(*told)
        best = got.next.bits / got.next.minutes
        assert all(r.bits / r.minutes <= best * 1.001 or r.bits < 0.05 for r in got.runners_up)


def test_it_says_what_would_change_its_mind():
    """Each outcome of the next check with its chance, and the finding the likeliest suspect rests on."""
    got = advice(*SILENT, ("spark", "none"), ("coil feed", "pass"), ("points look", "dark or pitted"))
    all_words = " ".join(got.change_mind)

    assert got.change_mind
    assert "wrong, it would be" in all_words


def test_the_end_of_the_book_is_said_honestly():
    """Everything good and still no start: a specialist, and the chance that it is not in the book has grown."""
    told = list(SILENT)
    for _ in range(80):
        got = advice(*told)
        if got.next.kind not in ("check", "fix", "try"):
            break
        if got.next.kind == "check":
            told.append((got.next.id, shipped().checks[got.next.id].ok_when[0]))
        else:
            told.append(got.next.id if got.next.kind == "fix" else "no start")

    assert got.next.kind == "specialist"
    assert got.next.do
    assert got.outside > 3 * advice(*SILENT).outside


@settings(max_examples=8)
@given(st.integers(0, 10_000), st.sampled_from(sorted(PROFILES)))
def test_every_spoken_sentence_is_short_and_the_chances_are_chances(seed, name):
    """Whatever the record holds: at most 20 words, no digit of minutes left to the ear, all chances from 0 to 1."""
    book, profile = shipped(), PROFILES[name]
    network = fit(book, profile, 12, "damp")
    told = ["no start"]
    state = seed
    for check in network.checks:
        state = (state * 1103515245 + 12345) % 2**31
        if state % 5 == 0:
            told.append((check.id, check.words[(state // 7) % len(check.words)]))
    got = advise(book, profile, 12, "damp", record(*told, profile=profile))

    assert len(got.spoken.split()) <= 20
    assert len(got.why_not.split()) <= 20
    assert all(0.0 <= s.chance <= 1.0 for s in got.standing)
    assert 0.0 <= got.outside <= 1.0
    assert got.next.kind in ("check", "fix", "try", "wait", "specialist", "done")


def test_importing_the_room_does_not_load_numpy():
    """A command that needs no advice must not pay for numpy."""
    code = "import sys, firststart.diagnosis; print('numpy' in sys.modules)"

    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "False\n"


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        (number_word(0), "zero"), (number_word(21), "twenty one"), (number_word(118), "one hundred eighteen"),
        (minutes_word(0.5), "half a minute"), (minutes_word(1), "one minute"), (minutes_word(12.4), "twelve minutes"),
        (percent(0.001), "under 1 %"), (percent(0.999), "over 99 %"), (percent(0.5), "50 %"),
        (chance_word(0.93), "almost certain"), (chance_word(0.75), "probable"), (chance_word(0.5), "about even"),
        (chance_word(0.3), "probably not"), (chance_word(0.07), "almost certainly not"),
        (listed(["a", "b", "c"]), "a, b and c"), (listed([]), ""),
    ],
)
def test_numbers_and_chances_in_words(told, expected):
    """Kent's five words (1964) at his own figures; small numbers as they are spoken."""
    assert expected == told
