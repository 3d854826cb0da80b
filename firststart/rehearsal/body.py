"""The measures of a virtual engine: the true profile with every number filled in, and the day's air.

Sizes the scenario does not state are typical of the kind (common practice, no source; invented where the trade
has no usual figure). The person never hears them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from firststart.engine.profile import EngineProfile
from firststart.physics.atmosphere import pressure
from firststart.physics.compression import effective_ratio, trapped_share

ROOM_K = 288.15
_SWEPT = {"motorcycle": 200e-6, "car": 400e-6, "tractor": 700e-6, "mower": 160e-6, "generator": 200e-6,
          "pump": 160e-6, "outboard": 250e-6, "inboard": 600e-6, "snowmobile": 250e-6}  # m3, one cylinder  # fmt: skip
_CYLINDERS = {"motorcycle": 2, "car": 4, "tractor": 3, "inboard": 4, "outboard": 2, "snowmobile": 2}
_TURNS = {"electric": 4.5, "kick": 6.5, "recoil": 7.5, "hand": 2.5}  # crank revolutions a second, sound, 20 degC


@dataclass(frozen=True)
class Body:
    """Everything `physics` needs to know of one engine. SI units; `rps` crank turns a second when all is sound."""

    kind: str
    fuel: str
    cycle: str
    ignition: str
    feed: str
    starting: str
    system: str  # battery: none, 6, 12 or 24
    cylinders: int
    swept: float
    bore: float
    stroke: float
    rod: float
    ratio: float
    closes: float
    plug_gap: float
    cca: float
    air: float
    ambient: float
    years: float
    storage: str
    rps: float

    @property
    def numbers(self) -> range:
        """The numbers of its cylinders, from 1 on."""
        return range(1, self.cylinders + 1)

    @property
    def effective(self) -> float:
        """The ratio counted from where the intake closes."""
        return effective_ratio(self.ratio, trapped_share(self.stroke, self.rod, self.closes))

    @property
    def clearance(self) -> float:
        """The volume above the piston at its top, m3."""
        return self.swept / (self.ratio - 1)

    @property
    def volts(self) -> float:
        """The battery's nominal voltage, 0 without one."""
        return 0.0 if self.system == "none" else float(self.system)

    @property
    def petrol(self) -> bool:
        """Does it burn petrol?"""
        return self.fuel != "diesel"


def body_of(truth: EngineProfile) -> Body:
    """The measures of the engine that a scenario states, the rest typical of its kind."""
    word = _words(truth)
    cylinders = truth.cylinders or _CYLINDERS.get(word["kind"], 1)
    swept, bore, stroke = _sizes(truth, word["kind"])
    petrol = word["fuel"] == "petrol"
    number = _Numbers(truth)
    altitude = number("altitude", 0.0)
    rps = _TURNS[word["starting"]] * (1.0 if petrol else 0.75)
    return Body(
        kind=word["kind"], fuel=word["fuel"], cycle=word["cycle"], ignition=word["ignition"] if petrol else "none",
        feed=word["feed"], starting=word["starting"], system=word["battery"], cylinders=cylinders, swept=swept,
        bore=bore, stroke=stroke, rod=number("rod", stroke * 1.9),
        ratio=number("ratio", (7.0 if word["cycle"] == "two-stroke" else 8.5) if petrol else 20.0),
        closes=number("intake-closes", math.radians(80 if word["cycle"] == "two-stroke" else 50)),
        plug_gap=number("plug-gap", 0.7e-3),
        cca=number("cca", _usual_cca(swept * cylinders, petrol)),
        air=number("air-temperature", ROOM_K), ambient=pressure(altitude), years=number("years", 5 * 3.156e7) / 3.156e7,
        storage=word["storage"], rps=rps,
    )


def _words(truth: EngineProfile) -> dict[str, str]:
    usual = {"kind": "mower", "fuel": "petrol", "cycle": "four-stroke", "ignition": "magneto", "feed": "gravity",
             "starting": "electric", "battery": "12", "storage": "dry"}  # fmt: skip
    words = {**usual, **truth.words}
    if words["starting"] != "electric" and "battery" not in truth.words:
        words["battery"] = "none"
    return words


class _Numbers:
    def __init__(self, truth: EngineProfile) -> None:
        self.truth = truth

    def __call__(self, field: str, usual: float) -> float:
        value = self.truth.si(field)
        return usual if value is None else value


def _sizes(truth: EngineProfile, kind: str) -> tuple[float, float, float]:
    """(swept volume of one cylinder, bore, stroke); a square engine where only the volume is known."""
    bore, stroke = truth.si("bore"), truth.si("stroke")
    swept = truth.cylinder_volume or _SWEPT.get(kind, 200e-6)
    if bore is None and stroke is None:
        bore = stroke = (4 * swept / math.pi) ** (1 / 3)
    elif bore is None and stroke is not None:
        bore = math.sqrt(4 * swept / (math.pi * stroke))
    elif stroke is None and bore is not None:
        stroke = 4 * swept / (math.pi * bore**2)
    assert bore is not None and stroke is not None  # every branch above set both
    return math.pi / 4 * bore**2 * stroke, bore, stroke


def _usual_cca(swept: float, petrol: bool) -> float:
    """Cold cranking amperes of the usual battery for an engine of `swept` m3. Common practice, no source."""
    litres = swept * 1000
    return min(1200.0, 150 + (180 if petrol else 320) * litres)
