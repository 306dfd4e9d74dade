"""The cases that every joint is run through, and what a joint's skin comes to in each."""

from __future__ import annotations

from dataclasses import dataclass

from inshell.design.leak_places import Share
from inshell.physics.mould import LIMIT

START_KG_KG, YEARS, MOST_YEARS = 0.12, 2, 8
RISES_KG_KG, RISES_INDEX = 0.002, 0.05  # from one year to the next: less has settled
WET_SUPPLY = 1.5
COLDER_K, DAMPER = 1.0, 1.05  # of a wet year beside the typical one: skin and outdoor vapour (declared)
ACT, DECAY = 0.20, 0.26  # of dry mass (common practice)


@dataclass(frozen=True)
class Case:
    """One set of assumptions: strip [m], share of the leak that touches it, which leakage, indoor vapour supply."""

    name: str
    width_m: float = 0.3
    catch: float = 0.5
    leakage: str = "best"
    supply: float = 1.0
    covering: int = 1
    """which of the covering's least, middle and greatest resistance"""
    colder_k: float = 0.0
    damper: float = 1.0


CASES = (
    Case("central"), Case("strip 0.1 m", width_m=0.1), Case("strip 1 m", width_m=1.0), Case("catch 0.2", catch=0.2),
    Case("catch 1", catch=1.0), Case("least leakage", leakage="least"), Case("most leakage", leakage="most"),
    Case("leakage half way", leakage="half_way"),
    Case("wet household", supply=WET_SUPPLY), Case("wet year", colder_k=COLDER_K, damper=DAMPER),
    Case("open covering", covering=0), Case("tight covering", covering=2),
    Case("all mild", width_m=1.0, catch=0.2, leakage="least", covering=0),
    *(Case(f"all harsh, {words}", width_m=0.1, catch=1.0, leakage=leakage, supply=WET_SUPPLY, covering=2,
           colder_k=COLDER_K, damper=DAMPER)
      for leakage, words in (("best", "best leakage"), ("half_way", "half way"), ("most", "most leakage"))),
)  # fmt: skip
VARIED = {
    "strip": ("strip 0.1 m", "strip 1 m"),
    "catch": ("catch 0.2", "catch 1"),
    "leakage": ("least leakage", "leakage half way", "most leakage"),
    "indoor humidity": ("central", "wet household"),
    "weather": ("central", "wet year"),
    "covering": ("open covering", "tight covering"),
}


@dataclass(frozen=True)
class SkinYear:
    """One case of one joint in the last year run, a metre of it: water that came and its board's state.

    `rises`: moisture or mould index had not settled by then.
    """

    case: str
    deposit_kg_m: float
    most_kg_kg: float
    hours_act: int
    hours_decay: int
    mould: float
    gains_kg_kg: float
    years: int = YEARS
    rises: bool = False


@dataclass(frozen=True)
class JointYear:
    """One place: hours in which air leaves through it, air a metre, and its skin in every case.

    `rules` is the assumption that moves the wettest hour most; `board` is what is wetted, empty where the assembly has
    no wooden board to the outside.
    """

    share: Share
    board: str
    outward_h: int
    outward_kg_m: float
    inward_kg_m: float
    mean_pa: float
    cases: tuple[SkinYear, ...]
    rules: str

    def of(self, case: str) -> SkinYear:
        """One case."""
        return next(c for c in self.cases if c.case == case)

    def span(self, name: str) -> tuple[float, float]:
        """Least and greatest of a quantity over all cases: more leakage also dries, so that no one case bounds it."""
        values = [float(getattr(case, name)) for case in self.cases]
        return min(values), max(values)

    @property
    def wettest_kg_kg(self) -> float:
        """The wettest hour of any case."""
        return self.span("most_kg_kg")[1]

    @property
    def is_bad(self) -> bool:
        """Whether the central case passes decay or the limit of the mould index."""
        return bool(self.cases) and passes(self.of("central"))

    @property
    def may_be_bad(self) -> bool:
        """Whether any case does."""
        return any(passes(case) or case.rises for case in self.cases)

    @property
    def worst(self) -> str:
        """What the cases say, never that it is safe."""
        if self.cases and all(passes(case) for case in self.cases):
            return "rots or moulds in every case"
        if self.is_bad:
            return "rots or moulds in the central case"
        if self.may_be_bad:
            return "may rot or mould"
        wet = self.wettest_kg_kg > ACT
        return "below decay and mould in all cases run" + (", above 20 % in some" if wet else "")


def passes(case: SkinYear) -> bool:
    """Whether a case passes decay or the limit of the mould index."""
    return case.most_kg_kg > DECAY or case.mould > LIMIT


def rules_most(cases: tuple[SkinYear, ...]) -> str:
    """The assumption among whose values the wettest hour moves most."""
    wettest = {case.case: case.most_kg_kg for case in cases}
    moved = {name: [wettest[case] for case in among] for name, among in VARIED.items()}
    return max(moved, key=lambda name: max(moved[name]) - min(moved[name]))
