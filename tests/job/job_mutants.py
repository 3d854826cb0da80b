# ruff: noqa: E501 - a table, one mutant a line
"""The mutants of the safety code: each guard, lifetime, undoing, rule of place, of the permit and of merging, switched off.

A mutant is a change of the source of one function. It is made in the running process by exchanging the
function's code, so that everybody who holds the function runs the changed one; and it is taken back after.
"""

from __future__ import annotations

import contextlib
import importlib
import inspect
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from types import CodeType, FunctionType


@dataclass(frozen=True)
class Mutant:
    """`old` in the source of `function` (module:qualname) becomes `new`. `tests` are looked at first."""

    name: str
    function: str
    old: str
    new: str
    tests: str = "rounds"


@contextlib.contextmanager
def switched(mutant: Mutant) -> Iterator[None]:
    """While inside, the mutant is alive."""
    function = _function(mutant.function)
    before = function.__code__
    function.__code__ = _changed(mutant, function)
    try:
        yield
    finally:
        function.__code__ = before


def _function(name: str) -> FunctionType:
    module, path = name.split(":")
    found: object = importlib.import_module(module)
    for part in path.split("."):
        found = inspect.getattr_static(found, part)
    found = found.fget if isinstance(found, property) else found
    assert isinstance(found, FunctionType), f"{name} is no function"
    return found


def _changed(mutant: Mutant, function: FunctionType) -> CodeType:
    """The code of the function with its source changed in one place."""
    source = textwrap.dedent(inspect.getsource(function))
    assert source.count(mutant.old) >= 1, f"{mutant.name}: {mutant.old!r} is not in {mutant.function}"
    lines = source.replace(mutant.old, mutant.new, 1)
    while lines.startswith("@"):
        lines = lines.split("\n", 1)[1]
    space = dict(function.__globals__)
    exec(compile(f"from __future__ import annotations\n{lines}", mutant.name, "exec"), space)
    return space[function.__name__].__code__


J, M, P, S, B = (
    "firststart.job.", "firststart.machine.", "firststart.procedure.", "firststart.starter.", "firststart.bench.",
)  # fmt: skip

GUARDS = (
    Mutant("a crank is of no class by itself", P + "needs:hazards_of", "if step.crank is not None", "if False", "folders"),
    Mutant("a start is a crank like another", P + "needs:hazards_of", "OF_CRANKS[step.crank.purpose]", 'OF_CRANKS["spin"]', "folders"),
    Mutant("no gate before a hazard", M + "compile:_Compiler._enter", "if hazards_of(step) else", "if False else", "proofs"),
    Mutant("the gate demands nothing", M + "compile:_Compiler._add_step", "name, frozenset(needs)))", "name))", "proofs"),
    Mutant("no falling back", M + "compile:_Compiler._add_step", "if holding:", "if False:", "proofs"),
    Mutant("falling back the wrong way", M + "compile:_Compiler._add_step", "lacking=True", "lacking=False", "proofs"),
    Mutant("prerequisites demand nothing", M + "compile:_Compiler._prereq_gate", "if not needs:", "if True:", "proofs"),
    Mutant("unknown engines need less", M + "compile:_Compiler._hold_applies", "unknown=True", "unknown=False", "folders"),
    Mutant("no permit before a crank", M + "compile:_Compiler._needs", "(*holds, PERMIT) if", "holds if", "folders"),
    Mutant("unknown hold points pass", M + "compile:_Compiler._hold_applies", "if hold not in", "if False and hold not in", "folders"),
    Mutant("unknown classes pass", M + "compile:_Compiler._needs", "if hazard not in", "if False and hazard not in", "folders"),
    Mutant("arrows ask for nothing", M + "table:Arrow.enabled", "self.needs.issubset(truths) != self.lacking", "not self.lacking", "decide"),
    Mutant("arrows ask for any one", M + "table:Arrow.enabled", "self.needs.issubset(truths)", "(not self.needs.isdisjoint(truths))", "decide"),
    Mutant("go asks for nothing", J + "draft:Draft.require", "if not lacking:", "if True:"),
    Mutant("answers do not look at the gate", J + "draft:Draft.settled_state", "self.settle()", "None", "decide"),
    Mutant("work goes on while the starter turns", J + "draft:Draft.refuse_while_turning", "is not None", "is Ellipsis"),
    Mutant("work goes on while stopped", J + "draft:Draft.refuse_while_stopped", "if self.situation.stopped", "if False"),
    Mutant("settling while stopped", J + "draft:Draft.settle", "if self.situation.stopped and", "if False and"),
    Mutant("work that does not fit stays", J + "draft:Draft.settle", "if not self._fits():", "if False:"),
    Mutant("a state that is gone stays", J + "draft:Draft.settle", "not in self.table().states", "in ()"),
    Mutant("an answer leads on from a state that is gone", J + "draft:Draft.fire", "not self._fits() or run.state not in self.table().states", "False", "vanishing"),
    Mutant("a crank can be answered like a question", J + "decide:_say", 'if state.sort == "crank":', "if False:"),
    Mutant("any event is an answer", J + "decide:_say", "if given.event not in d.table().events(state.name) or (", "if (False and ", "decide"),
    Mutant("a wait ends when the person says so", J + "decide:_tick", "d.now >= run.wait_until", "True"),
    Mutant("readings that cannot be are taken", J + "draft:Draft.check_range", "if not low <= number <= high:", "if False:", "decide"),
    Mutant("a reading of another quantity is taken", J + "draft:Draft.check_range", "if value.kind != measure.quantity:", "if False:", "decide"),
    Mutant("the table of another engine is taken", J + "rules:Rules.table", "self._of_profile[0] is not situation.profile", "False", "vanishing"),
    Mutant("a refused question refuses all", J + "draft:Draft.attempt", "except FirststartError:", "except ZeroDivisionError:"),
)  # fmt: skip

LIFETIMES = (
    Mutant("hold points last for ever", J + "holds:_now", "situation.latest(now) >= expires", "False", "decide"),
    Mutant("what is withheld ages nothing", J + "situation:Situation.latest", "self.withheld_s", "0", "clock"),
    Mutant("undone holds", J + "holds:_now", "if held.undone:", "if False:"),
    Mutant("any place will do", J + "holds:_now", "held.place != situation.place", "False", "places"),
    Mutant("short sleeps age no check", J + "holds:_now", "situation.uncounted_s - held.uncounted_s", "0", "clock"),
    Mutant("a new check is as old as all sleeps", J + "fold:_hold_met", "uncounted_s=s.uncounted_s", "uncounted_s=0.0", "clock"),
    Mutant("a doubted place will do", J + "holds:_now", "point.place and situation.place_doubted", "False", "clock"),
    Mutant("a hold point keeps no place", J + "fold:_hold_met", "Hold(now, s.place,", 'Hold(now, "",', "decide"),
    Mutant("what was undone is not kept", J + "fold:_hold_undone", "if old is None or old.undone:", "if True:", "decide"),
    Mutant("a gap doubts no place", J + "fold:_job_resumed", "place_doubted=True", "place_doubted=False", "clock"),
    Mutant("hold points that apply to other engines only", J + "rules:Rules.fresh", "fresh_holds(self.library.safety, situation, now)", "frozenset(self.library.safety.hold_points)", "decide"),
)  # fmt: skip

UNDOING = (
    Mutant("crank, start and stop undo nothing", J + "draft:Draft.undo", "if trigger in point.undone_by:", "if False:"),
    Mutant("a crank undoes nothing", J + "draft:Draft.end_crank", 'self.undo("crank"', '(lambda *_: None)("crank"', "decide"),
    Mutant("a start undoes nothing", J + "decide:_go", 'd.undo("start"', '(lambda *_: None)("start"'),
    Mutant("a stop undoes nothing", J + "decide:_stop", 'd.undo("stop"', '(lambda *_: None)("stop"', "decide"),
    Mutant("told cranking undoes no all clear", J + "decide:_tell_crank", 'd.undo("crank"', '(lambda *_: None)("crank"', "decide"),
    Mutant("told cranking undoes no dead ignition", J + "decide:_tell_crank", 'd.undo("start"', '(lambda *_: None)("start"'),
    Mutant("steps undo nothing", J + "draft:Draft._enter", "for name in state.step.undoes:", "for name in ():", "undoing"),
    Mutant("results undo nothing", J + "draft:Draft._end", "for name in result.undoes:", "for name in ():", "undoing"),
    Mutant("results mend nothing", J + "draft:Draft._end", "for suspect in result.repairs:", "for suspect in ():", "undoing"),
    Mutant("no evidence goes stale", J + "draft:Draft._undo_one", "self.add(f.EvidenceStaled,", "(lambda *_, **__: None)(f.EvidenceStaled,", "undoing"),
    Mutant("all evidence goes stale", J + "fold:_evidence_staled", "if o.name == fact.observe and not o.stale", "if not o.stale", "undoing"),
    Mutant("going back undoes nothing", J + "decide:_back", "for hold in run.met:", "for hold in ():", "undoing"),
    Mutant("going back keeps what was seen", J + "fold:_went_back", "if o.run == fact.run", "if False", "decide"),
    Mutant("a new place undoes nothing", J + "draft:Draft.undo_place", "if point.place:", "if False:"),
    Mutant("stale evidence still counts", J + "situation:Situation.newest", "and not seen.stale", "", "undoing"),
    Mutant("short checks outlive an unknown gap", J + "draft:Draft.undo_short", "<= _SHORT_MINUTES", "<= 0", "clock"),
)  # fmt: skip

STOPPING = (
    Mutant("stop leads nowhere", J + "decide:_stop", "if not d.making_safe():", "if False:"),
    Mutant("stop leaves the starter turning", J + "decide:_stop", "d.situation.open_crank is not None", "False"),
    Mutant("stop waits for other work", J + "draft:Draft.begin", "if why != STOP:", "if True:"),
    Mutant("stop is not kept", J + "fold:_stopped", "stopped=True", "stopped=False", "decide"),
    Mutant("making safe can be left", J + "decide:_leave", "if run.procedure == MAKE_SAFE:", "if False:"),
    Mutant("leave as an answer", J + "decide:_say", "if given.event == LEAVE:", "if False:"),
    Mutant("carrying on before things are safe", J + "decide:_carry_on", "if d.making_safe():", "if False:"),
    Mutant("carrying on without a stop", J + "decide:_carry_on", "if not d.situation.stopped:", "if False:"),
    Mutant("work begins while stopped", J + "decide:_begin", "if d.situation.stopped:", "if False:"),
    Mutant("work begins around a crank", J + "decide:_begin", "    d.refuse_while_turning()\n", ""),
    Mutant("work is left around a crank", J + "decide:_leave", "    d.refuse_while_turning()\n", ""),
    Mutant("work is closed around a crank", J + "decide:_close", "    d.refuse_while_turning()\n", ""),
    Mutant("work is closed while stopped", J + "decide:_close", "if d.situation.stopped:", "if False:"),
    Mutant("the pedal held down is no stop", "firststart.prompt.onekey:press", "if kind == HELD:", "if False:", "stopping"),
    Mutant("stop waits for the question that stands", B + "conductor:Conductor._general", 'case "stop":', 'case "stop" if not self._aside(prompt):', "questions"),
    Mutant("stop is lost when the record fails", B + "conductor:Conductor.stop", "except RecordError as error:", "except ZeroDivisionError as error:", "failing"),
    Mutant("a finished job goes on", J + "decide:steps", "if situation.closed and", "if False and"),
    Mutant("a job is opened twice", J + "decide:_open", "if d.situation.job:", "if False:"),
)  # fmt: skip

PERMITS = (
    Mutant("no rest by the duty rule", S + "permit:_duty_wait", "return max(0.0, still, past.owed) if max(still, past.owed) > _NOTHING else 0.0", "return 0.0", "permit"),
    Mutant("no pause after a crank", S + "permit:_duty_wait", "still = past.last_end + duty.pause_s - past.at", "still = 0.0", "permit"),
    Mutant("an over-run costs nothing more", S + "permit:_past", "(end - start) * duty.rest_s / duty.crank_s", "duty.rest_s", "permit"),
    Mutant("no end to tries", S + "permit:_tries_budget", "- sum(seconds for _, seconds in past.recent)", "", "permit"),
    Mutant("tries come back at once", S + "permit:_tries_wait", "left, wait = left + seconds, end + duty.long_rest_s - past.at", "left, wait = left + seconds, 0.0", "permit"),
    Mutant("cranking while rest is owed", S + "permit:_duty_room", "0.0 if _duty_wait(past, duty) > 0 else", "", "permit"),
    Mutant("the tries set no bound to a crank", S + "permit:_tries_room", "min(duty.crank_s, _tries_budget(past, duty))", "duty.crank_s", "permit"),
    Mutant("the mildest rule speaks", S + "permit:permit", "min(rooms.values())", "max(rooms.values())", "permit"),
    Mutant("the shortest wait is enough", S + "permit:permit", "max(waits.values())", "min(waits.values())", "permit"),
    Mutant("a wish may be anything", S + "permit:_check_wish", "if wanted_s is not None and not", "if False and not", "permit"),
    Mutant("the winding is cold at once", S + "heat:amounts", "one * exp(fast * (at - before)), two * exp(slow * (at - before))", "0.0, 0.0", "permit"),
    Mutant("the crank to come heats nothing", S + "heat:HeatRule.peak", "+ self.duty.hot_rate * share * grown(rate, seconds)", "", "permit"),
    Mutant("air nobody measured is cold", S + "heat:air_or_warm", "WARM_K if ambient_k is None", "COLDEST_K if ambient_k is None", "permit"),
    Mutant("overlapping cranks count once", S + "crank:in_order", "max(crank.start, free)", "crank.start", "permit"),
    Mutant("a crank of no length, or for ever", S + "crank:Crank.__post_init__", "if not 0 <= self.seconds <= LONGEST_S:", "if False:", "permit"),
    Mutant("an unknown starter is the strongest", S + "duty:DutyClasses.choose", "unknown=False", "unknown=True", "permit"),
    Mutant("the permit of another moment is taken", J + "rules:Rules.permit", "self._permit[0] != asked", "False", "decide"),
    Mutant("a crank that began is not known to turn", J + "fold:_crank_began", "open_crank=OpenCrank(fact.run, fact.state, now, fact.limit_s)", "open_crank=None", "decide"),
    Mutant("no heat rule", S + "heat:HeatRule.wait", "if self.room(state) >= wish - NOTHING_S:", "if True:", "permit"),
    Mutant("no heat in a crank", S + "heat:HeatRule.room", "if self.air + sum(state) > self.duty.limit_k:", "return self.duty.crank_s\n    if False:", "permit"),
    Mutant("an end nobody saw counts as told", S + "crank:in_order", "crank.seconds if crank.sure else max(crank.seconds, duty.crank_s)", "crank.seconds", "permit"),
    Mutant("the permit is not asked", J + "rules:Rules.truths", "if self.permit(situation, now).allowed else holds", "", "decide"),
    Mutant("cranks of other jobs do not count", J + "situation:Situation.all_cranks", "*self.other_cranks", "", "decide"),
    Mutant("an unknown starter needs no rest", J + "rules:Rules.starts_by_motor", '"unknown")', '"never")', "motor"),
    Mutant("a changed profile ends a rest", J + "draft:Draft.note_profile", "rest_s=math.ceil(owed)", "rest_s=0"),
    Mutant("a kept rest is not looked at", J + "rules:Rules._permit_at", "if owed <= 0:", "if True:"),
    Mutant("a kept rest is forgotten", J + "fold:_profile_noted", "if until is not None and", "if False and"),
    Mutant("as long as wished", J + "draft:Draft.crank_limit", "min(wanted, self.rules.permit(self.situation, self.now, wanted).seconds)", "wanted", "motor"),
    Mutant("the told count is believed", J + "draft:Draft.end_crank", "if counted < passed - _COUNT_SLACK_S:", "if False:"),
    Mutant("a crank nobody saw end is short", J + "draft:Draft.end_crank", "if seen else MAX_CRANK_S", "if seen else 0.0"),
    Mutant("a starter stands while the machine sleeps", J + "draft:Draft.end_crank", "min(crank.unseen_s, MAX_CRANK_S)", "0.0", "clock"),
    Mutant("what was withheld before counts as cranking", J + "fold:_clock_set", "fact.shift_s < 0 or fact.withheld_s < 0", "fact.shift_s < 0", "clock"),
    Mutant("an open bench did not look", J + "decide:_resume", "seen=given.steady", "seen=False"),
    Mutant("a closed bench looked", J + "decide:_resume", "seen=given.steady", "seen=True"),
    Mutant("a crank cut off is not closed", J + "decide:_resume", "if crank is not None:", "if False:", "decide"),
    Mutant("told cranking is not counted", J + "fold:_crank_told", "(*s.cranks, Crank(start, fact.seconds, False))", "s.cranks", "decide"),
    Mutant("a told length moves the clock", J + "fold:_crank_ended", "min(seconds_of(s.open_crank.began), seconds_of(now) - fact.seconds)", "seconds_of(s.open_crank.began)"),
    Mutant("a class that is gone stops all", J + "rules:Rules.duty", "if named is not None and named not in", "if False and named not in"),
    Mutant("any word for a starter class", J + "rules:Rules.check_open_word", "if known is not None and", "if False and"),
)  # fmt: skip

CLOCKS = (
    Mutant("a clock set back is not noticed", J + "draft:Draft._catch_clock", "if behind > _SLACK_S:", "if False:", "clock"),
    Mutant("a clock set back leaves checks fresh", J + "draft:Draft._catch_clock", "self.undo_short(", "(lambda *_: None)(", "clock"),
    Mutant("a gap counts at once", J + "clock:resume", "if doubtful and not given.steady:", "if False:", "clock"),
    Mutant("a gap while resting counts at once", J + "clock:resume", "doubtful = gap > LONG_GAP_S or (gap > DRIFT_S and owing)", "doubtful = gap > LONG_GAP_S", "clock"),
    Mutant("the place is not asked", J + "clock:resume", "if gap > LONG_GAP_S:\n        d.add(", "if False:\n        d.add(", "clock"),
    Mutant("a jump back is not mended", J + "clock:jumped", "if given.ahead_s < -DRIFT_S:", "if False:", "clock"),
    Mutant("a jump forward counts", J + "clock:jumped", "elif given.ahead_s > SHORT_GAP_S:", "elif False:", "clock"),
    Mutant("small jumps forward count", J + "clock:jumped", "elif given.ahead_s > DRIFT_S:", "elif False:", "clock"),
    Mutant("time can be put forward", J + "clock:shift", "<= 0:", "< math.inf:", "clock"),
    Mutant("a wrong date leaves checks fresh", J + "clock:confirm", "d.undo_short(", "(lambda *_: None)(", "clock"),
    Mutant("no counts like yes", J + "clock:confirm", "if given.right:", "if True:", "clock"),
    Mutant("yes to no question", J + "clock:confirm", "if withheld <= 0:", "if False:", "clock"),
    Mutant("withheld for ever", J + "clock:withhold", "held = min(seconds, passed)", "held = seconds", "clock"),
    Mutant("a correction comes too late", J + "fold:fold", "if isinstance(fact, f.ClockSet):", "if False:", "clock"),
    Mutant("time runs back", J + "situation:Situation.effective", "max(shifted, self.now) if self.now is not None else shifted", "shifted", "clock"),
    Mutant("the bench does not look at its clocks", B + "desk:Desk._notice", "if abs(ahead) <= DRIFT_S:", "if True:", "clock"),
    Mutant("the shown time jumps", B + "desk:Desk.wall", "if abs(ahead) > DRIFT_S else", "if False else", "clock"),
    Mutant("other benches are not looked at", B + "desk:Desk._share", "if others != self.situation.other_cranks:", "if False:"),
    Mutant("cranking elsewhere is not looked at before go", B + "desk:Desk.submit", "elif isinstance(given, i.Go | i.Begin | i.CarryOn | i.Tick):", "elif False:"),
    Mutant("a crank under way elsewhere does not count", B + "sharing:_turns", "if opened is not None else found", "if False else found"),
    Mutant("what was told elsewhere does not count", B + "sharing:_turns", "isinstance(fact, f.CrankTold)", "False", "sharing"),
    Mutant("facts are spoken and not kept", B + "desk:Desk._decided", "self.journal.append(self.job, self.situation.count, tuple(fact for fact, _ in decided))", "None", "decide"),
    Mutant("another bench's work is taken for a note", B + "desk:Desk._caught_up", "not all(isinstance(fact, _BESIDE) for fact in newer)", "False", "place-of-record"),
    Mutant("what is kept for speed is believed over the record", B + "desk:Desk.restore", "kept.digest == self.journal.digest(self.job, kept.situation.count)", "True", "opening"),
    Mutant("capitals make another starter", B + "sharing:_plain", '" ".join(name.casefold().split())', "name"),
    Mutant("another job's clock is taken as it is", B + "sharing:OtherCranks._placed", "for wall in turn.walls", "for wall in turn.walls[:1]"),
    Mutant("what a clock ahead says is waited for", B + "sharing:OtherCranks._placed", "min(self._ahead.setdefault(turn, now), now)", "now"),
    Mutant("the latest meaning is not taken", B + "sharing:Axis.latest", "max((min(m, now) for", "min((min(m, now) for", "sharing"),
    Mutant("gaps mean nothing to other jobs", B + "sharing:Axis.latest", "for a, b, after in self.gaps", "for a, b, after in ()", "sharing"),
    Mutant("a right date means nothing to other jobs", B + "sharing:Axis.follow", "if fact.shift_s > 0:", "if False:", "sharing"),
    Mutant("a crank that lies ahead breaks the permit", J + "rules:Rules._permit_at", "if ahead > _ROUNDING_S:", "if False:", "sharing"),
    Mutant("taking up again can be refused", J + "decide:_resume", "d.attempt(d.settle)", "d.settle()", "sharing"),
)  # fmt: skip

MERGING = (
    Mutant("a folder may meet hold points lightly", P + "merge:own_problems", "for hold in sorted(", "for hold in () and sorted(", "folders"),
    Mutant("a replacement may leave out", P + "merge:own_problems", "if old is not None:", "if False:", "folders"),
    Mutant("a replacement may leave out a class", P + "merge:_left_out", "_hazards(old) - _hazards(own)", "set()", "folders"),
    Mutant("a replacement may begin without a check", P + "merge:_left_out", "set(old.prereq) - set(own.prereq)", "set()", "folders"),
    Mutant("a replacement may undo less", P + "merge:_left_out", "(_undone(old) - _undone(own))", "set()", "folders"),
    Mutant("what ships is not looked at under new hazards", B + "verify:refuse_unproved", "None if library.own_safety else library.own", "library.own", "folders"),
    Mutant("what a stop leads to may be replaced", P + "merge:own_problems", "if own.id in NOT_REPLACED:", "if False:", "folders"),
    Mutant("replaces may name another", P + "merge:own_problems", "if replaces is not None and replaces != own.id:", "if False:", "folders"),
    Mutant("a shipped hold point may be rewritten", P + "merge:merge_safety", "if name in points:", "if False:", "folders"),
    Mutant("a class may be rewritten", P + "merge:_joined", "if more is None:", "if more is not None:\n        return more\n    if True:", "folders"),
    Mutant("a class loses its permit", P + "merge:_joined", "old.permit or more.permit", "more.permit", "folders"),
    Mutant("unknown hold points in classes pass", P + "merge:safety_problems", "if hold not in known", "if False", "folders"),
    Mutant("unknown triggers pass", P + "merge:safety_problems", "if trigger not in TRIGGERS:", "if False:", "folders"),
    Mutant("the bench leads through work that nobody proved", B + "shop:make_rules", "if library.own or", "if False and", "folders"),
    Mutant("one id in two folders", P + "catalogue:_load_procedures", "if model.id in procedures or (model.id in before and replaces != model.id):", "if False:", "folders"),
)  # fmt: skip

PROVING = (
    Mutant("prerequisites are not proved", M + "proofs:begun", "if not wanted:", "if True:", "proofs"),
    Mutant("gates are not proved", M + "proofs:gated", "if not state.hazardous or", "if True or", "proofs"),
    Mutant("ways round are not looked for", M + "proofs:gated", "if around:", "if False:", "proofs"),
    Mutant("gates may demand less", M + "proofs:gated", "(not demanded <= arrow.needs or arrow.lacking)", "False", "proofs"),
    Mutant("steps may ask for less", M + "proofs:gated", "if not demanded <= set(state.needs):", "if False:", "proofs"),
    Mutant("falling back is not proved", M + "proofs:_kept", "if holds and not", "if False and not", "proofs"),
    Mutant("safe ends are not proved", M + "proofs:ends", "if name not in safe:", "if False:", "proofs"),
    Mutant("leaving is not proved", M + "proofs:ends", "elif states[name].sort != FINAL and", "elif False and", "proofs"),
    Mutant("answers are not proved", M + "proofs:covered", "if told.count(event) != 1:", "if False:", "proofs"),
    Mutant("loops are not looked for", M + "proofs:rests", "if loop:", "if False:", "proofs"),
    Mutant("unreachable states pass", M + "prove:_never_reached", "if name not in found:", "if False:", "refusals"),
    Mutant("circles of work pass", M + "prove:_waiting", "if name not in told and", "if False and", "folders"),
    Mutant("stop work may wait", M + "prove:_stop_work", "if hazards_of(step) or", "if False and", "folders"),
    Mutant("stop work may have conditions", M + "prove:_stop_work", "if work.applies or work.prereq:", "if False:", "folders"),
    Mutant("kinds of engine are left out", M + "kinds:_marks", "(UNKNOWN, *words)", "words", "proofs"),
    Mutant("too many kinds are cut off", M + "prove:_tables", "if len(every) > MOST_KINDS:", "if False:", "proofs"),
    Mutant("a crank without a class passes", P + "checks:_hazards", "if step.crank is not None and", "if False and", "refusals"),
    Mutant("a crank in words alone passes", P + "checks:_hazards", "if step.crank is None and", "if False and", "refusals"),
    Mutant("hold points nobody meets pass", P + "checks:_established", "and not any(", "and not any([True], ) and any(", "folders"),
    Mutant("steps may undo what they need", P + "checks:_undoings", "if hold in demanded:", "if False:", "refusals"),
    Mutant("unknown hazard classes pass", P + "checks:_hazards", "yield from c.known(", "yield from () and c.known(", "refusals"),
    Mutant("steps may take themselves away", P + "checks:_vanishing", 'if step.sets in (field, "kind"):', "if False:", "refusals"),
    Mutant("cylinders may take themselves away", P + "checks:_vanishing", "if step.foreach and", "if False and", "refusals"),
    Mutant("results that are not ok establish", P + "checks:_hold_points", 'if result.establishes and result.outcome != "ok":', "if False:", "refusals"),
)  # fmt: skip

MUTANTS = (*GUARDS, *LIFETIMES, *UNDOING, *STOPPING, *PERMITS, *CLOCKS, *MERGING, *PROVING)
