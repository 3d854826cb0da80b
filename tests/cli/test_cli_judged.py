"""`firststart reckon` for judges, amounts and the starter's permit."""

from __future__ import annotations

import json

import pytest

from firststart.cli import main
from firststart.judge.registry import AMOUNTS, JUDGES


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    """The answers of one calculation by name, from its machine-readable form."""
    assert main(["reckon", *words, "--format", "json"]) == 0
    return {a["name"]: a["value"] for a in json.loads(capsys.readouterr().out)["answers"]}


@pytest.mark.external
def test_published_rules_of_compression_disagree_by_name(capsys: pytest.CaptureFixture[str]) -> None:
    """120 118 117 96 psi passes 75 % of TM 5-4210-230-14&P-1, and fails the 10 psi of TM 10-3930-618-20."""
    readings = [f"compression.dry.{n}={v}psi" for n, v in enumerate((120, 118, 117, 96), 1)]
    found = told(capsys, "judge-compression-set", *readings)
    lines = [str(v) for name, v in found.items() if name.startswith("detail")]

    assert "even" == found["verdict"]
    assert any(line.startswith("ratio-75: pass") and "TM 5-4210-230-14" in line for line in lines)
    assert any(line.startswith("spread-10: fail") and "TM 10-3930-618-20" in line for line in lines)


def test_a_trend_needs_a_reading_from_before(capsys: pytest.CaptureFixture[str]) -> None:
    """`before.` names the reading of an earlier test."""
    found = told(capsys, "judge-compression-recheck", "before.compression.dry.1=90psi", "compression.dry.1=110psi")

    assert "better" == found["verdict"]


@pytest.mark.external
def test_the_permit_after_a_full_crank(capsys: pytest.CaptureFixture[str]) -> None:
    """Kohler CH11-16 p 8.11: ten seconds, then sixty of rest."""
    found = told(capsys, "starter-permit", "class=small-engine", "cranks=1", "crank=10s", "air=20degC")

    assert {"value": 60.0, "unit": "s"} == {k: found["wait"][k] for k in ("value", "unit")}  # type: ignore[index]
    assert found["tries-left"]["value"] == 2  # type: ignore[index]


def test_an_amount_says_what_a_prompt_would_say(capsys: pytest.CaptureFixture[str]) -> None:
    """The oil for a small cylinder, for the profile given."""
    assert "2.5 ml" == told(capsys, "amount-cylinder-oil", "displacement=125ml", "cylinders=1", "ratio=9:1")["text"]


def test_a_drop_is_judged_by_the_path_of_its_name(capsys: pytest.CaptureFixture[str]) -> None:
    """0.3 V is too much for an earth, and open between makers for a feed."""
    assert "high" == told(capsys, "judge-voltage-drop", "reading=0.3V", "name=drop.earth")["verdict"]
    assert "unsure" == told(capsys, "judge-voltage-drop", "reading=0.3V", "name=drop.feed")["verdict"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["judge-compression-dry"], "needs reading, one pressure"),
        (["judge-compression-set", "reading=5psi"], "judges the readings so far"),
        (["judge-battery-rest", "reading=12.6V", "batery=12"], "no profile field and no reading called 'batery'"),
        (["judge-battery-rest", "reading=12.6psi"], "not a unit of voltage"),
        (["judge-nothing"], "no subject called 'judge-nothing'"),
        (["amount-cylinder-oil", "kind=aircraft"], "Aircraft engines are out of scope"),
        (["starter-permit", "class=rocket"], "must be one of"),
        (["starter-permt"], "did you mean 'starter-permit'"),
    ],
)
def test_a_mistake_is_one_sentence(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Each names what is wrong and what may be given; exit status 2."""
    assert main(["reckon", *words]) == 2

    assert says in capsys.readouterr().err


def test_the_list_names_every_judge_and_amount(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing that a procedure may name is hidden from the command."""
    assert main(["reckon", "--list"]) == 0
    text = capsys.readouterr().out

    assert [n for n in JUDGES if f"judge-{n}: " not in text] == []
    assert [n for n in AMOUNTS if f"amount-{n}: " not in text] == []
    assert "Raises" not in text
