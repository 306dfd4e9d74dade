"""Fresh-air rules against printed tables and worked values."""

from __future__ import annotations

import itertools

import pytest

from inshell.design.fresh_air import (
    Leakage,
    calculate_fresh_air,
    intermittent_factor,
    printed_table_cfm,
    required_flow_m3_s,
    rules,
)
from tests.evidence import CFM, FT, assert_close

FT2 = FT**2
LITRE = 1e-3
PRINTED = "half a unit of the last printed digit"

# ASHRAE 62.2-2013 and later, printed table (UMC Appendix E): rows <500, 501–1000 … 4501–5000 ft2; 1 to 5 bedrooms
TABLE = """
30 38 45 53 60
45 53 60 68 75
60 68 75 83 90
75 83 90 98 105
90 98 105 113 120
105 113 120 128 135
120 128 135 143 150
135 143 150 158 165
150 158 165 173 180
165 173 180 188 195
"""


@pytest.mark.published
def test_printed_table_cell_by_cell() -> None:
    rows = [[int(v) for v in line.split()] for line in TABLE.strip().splitlines()]
    got = [[printed_table_cfm(area_ft2=500 * (k + 1) - 10, bedrooms=b) for b in range(1, 6)] for k in range(10)]
    assert got == rows


@pytest.mark.published
@pytest.mark.parametrize(("area", "cell"), [(500.0, 38), (500.5, 53), (501.0, 53), (1000.0, 53)])
def test_printed_table_bands_end_at_their_top(area: float, cell: int) -> None:
    # 37.5 rounds to 38 and 52.5 to 53: half up, not to even
    assert printed_table_cfm(area_ft2=area, bedrooms=2) == cell


@pytest.mark.published
@pytest.mark.parametrize(
    ("area", "bedrooms", "cfm"), [(400, 1, 27.0), (640, 1, 34.2), (800, 2, 46.5), (1200, 3, 66.0), (2400, 3, 102.0)]
)
@pytest.mark.parametrize("year", ["2013", "2016", "2019", "2022"])
def test_rate_of_2013_and_later(area: float, bedrooms: int, cfm: float, year: str) -> None:
    got = required_flow_m3_s(rule=f"ashrae-62.2-{year}", area_m2=area * FT2, bedrooms=bedrooms)
    assert_close(got / CFM, cfm, abs=1e-9, why="the formula is exact")


@pytest.mark.published
def test_rate_of_2010_and_irc_equation_by_hand() -> None:
    # 0.01 A + 7.5 (Nbr + 1): 800 ft2, 2 bedrooms: 8 + 22.5
    for rule in ("ashrae-62.2-2010", "irc-2018-equation"):
        got = required_flow_m3_s(rule=rule, area_m2=800 * FT2, bedrooms=2)
        assert_close(got / CFM, 30.5, abs=1e-9, why="the formula is exact")


@pytest.mark.published
def test_si_form_is_not_the_ip_form_converted() -> None:
    # 1,000 ft2, 2 bedrooms: 52.5 cfm = 24.78 L/s; SI form 0.15 x 92.903 + 3.5 x 3 = 24.44 L/s (SI form from memory)
    kwargs = {"rule": "ashrae-62.2-2019", "area_m2": 1000 * FT2, "bedrooms": 2}
    ip = required_flow_m3_s(system="us", **kwargs)  # type: ignore[arg-type]
    si = required_flow_m3_s(system="si", **kwargs)  # type: ignore[arg-type]
    assert_close(ip / LITRE, 24.78, abs=6e-3, why=PRINTED)
    assert_close(si / LITRE, 24.44, abs=6e-3, why=PRINTED)


@pytest.mark.published
def test_no_bedroom_counts_as_one_and_known_people_count() -> None:
    def rate(bedrooms: int, people: int | None) -> float:
        return (
            required_flow_m3_s(rule="ashrae-62.2-2019", area_m2=1000 * FT2, bedrooms=bedrooms, occupants=people) / CFM
        )

    assert_close(rate(0, None), rate(1, None), abs=1e-12, why="Nbr is at least 1")
    assert_close(rate(2, 5) - rate(2, 3), 15.0, abs=1e-9, why="7.5 cfm for each known occupant above Nbr + 1")
    assert_close(rate(2, 1), rate(2, None), abs=1e-12, why="fewer people than Nbr + 1 change nothing")


# IRC 2018 table M1505.4.3(1): 0–1, 2–3, 4–5, 6–7, >7 bedrooms
IRC = {
    1000: (30, 45, 60, 75, 90),
    1500: (30, 45, 60, 75, 90),
    2000: (45, 60, 75, 90, 105),
    4000: (60, 75, 90, 105, 120),
    5000: (75, 90, 105, 120, 135),
    7000: (90, 105, 120, 135, 150),
    8000: (105, 120, 135, 150, 165),
}


@pytest.mark.published
@pytest.mark.parametrize("area", list(IRC))
def test_irc_table(area: int) -> None:
    got = [required_flow_m3_s(rule="irc-2018-table", area_m2=area * FT2, bedrooms=b) / CFM for b in (1, 3, 4, 7, 9)]
    assert_close(got, IRC[area], abs=1e-9, why="table cells")


CREDITS = [
    (120, 1000, 9.0, 0.6, 2, 0.04745, 3.900, 52.5, 48.600, 52.210),
    (300, 1500, 8.2, 0.6, 3, 0.07620, 9.394, 75.0, 65.606, 73.823),
]


@pytest.mark.published
@pytest.mark.parametrize("row", CREDITS)
def test_infiltration_credit(row: tuple[float, ...]) -> None:
    # ASHRAE 62.2-2019 4.1.2 (from memory), 8.2 ft, n .65, 1.2 kg/m3; computed and cross-checked
    cfm50, area, height, wsf, bedrooms, nl, qinf, qtot, balanced, unbalanced = row
    leak = Leakage(cfm50 * CFM, height * FT, wsf)
    for is_balanced, fan in ((True, balanced), (False, unbalanced)):
        r = calculate_fresh_air(
            rule="ashrae-62.2-2019", area_m2=area * FT2, bedrooms=int(bedrooms), leakage=leak, balanced=is_balanced
        )
        assert r.normalised_leakage is not None
        assert_close(r.normalised_leakage, nl, abs=6e-6, why=PRINTED)
        assert_close(r.infiltration_flow_m3_s / CFM, qinf, abs=6e-4, why=PRINTED)
        assert_close(r.required_flow_m3_s / CFM, qtot, abs=1e-9, why="exact")
        assert_close(r.fan_flow_m3_s / CFM, fan, abs=6e-4, why=PRINTED)


@pytest.mark.published
def test_older_editions_take_the_credit_whole() -> None:
    leak = Leakage(120 * CFM, 9 * FT, 0.6)
    for rule in ("ashrae-62.2-2013", "ashrae-62.2-2016"):
        r = calculate_fresh_air(rule=rule, area_m2=1000 * FT2, bedrooms=2, leakage=leak)
        assert_close(r.fan_flow_m3_s / CFM, 48.600, abs=6e-4, why=PRINTED)
    for rule in ("ashrae-62.2-2010", "irc-2018-table", "irc-2018-equation"):
        assert (
            calculate_fresh_air(rule=rule, area_m2=1000 * FT2, bedrooms=2, leakage=leak).infiltration_credit_m3_s == 0.0
        )


@pytest.mark.published
def test_new_houses_take_at_most_two_thirds() -> None:
    leaky = Leakage(6000 * CFM, 20 * FT, 1.0)
    kwargs = {"rule": "ashrae-62.2-2013", "area_m2": 1000 * FT2, "bedrooms": 2, "leakage": leaky}
    new = calculate_fresh_air(new_house=True, **kwargs)  # type: ignore[arg-type]
    old = calculate_fresh_air(new_house=False, **kwargs)  # type: ignore[arg-type]
    assert_close(new.fan_flow_m3_s / CFM, 52.5 / 3, abs=1e-9, why="Qinf at most 2/3 Qtot")
    assert old.fan_flow_m3_s == 0.0


@pytest.mark.published
def test_credit_needs_a_weather_factor_and_a_usual_one() -> None:
    none = calculate_fresh_air(rule="ashrae-62.2-2019", area_m2=1000 * FT2, bedrooms=2)
    assert none.infiltration_credit_m3_s == 0.0
    assert [f.code for f in none.findings] == ["no-infiltration-credit"]
    odd = calculate_fresh_air(
        rule="ashrae-62.2-2019", area_m2=1000 * FT2, bedrooms=2, leakage=Leakage(120 * CFM, 9 * FT, 1.9)
    )
    assert "weather-factor-unusual" in [f.code for f in odd.findings]


@pytest.mark.published
def test_intermittent_factor() -> None:
    # IRC 2018 table M1505.4.3(2); interpolation allowed, extrapolation not (from memory)
    got = [intermittent_factor(share=s) for s in (0.25, 0.33, 0.5, 0.66, 0.75, 1.0)]
    assert got == [4.0, 3.0, 2.0, 1.5, 1.3, 1.0]
    assert_close(intermittent_factor(share=0.415), 2.5, abs=1e-9, why="middle of .33 and .50")
    with pytest.raises(ValueError, match="25 %"):
        intermittent_factor(share=0.2)


@pytest.mark.invariant
def test_a_larger_house_or_family_never_needs_less() -> None:
    for rule in rules():
        flows = [
            [required_flow_m3_s(rule=rule, area_m2=a, bedrooms=b) for b in range(9)] for a in (40, 90, 150, 300, 800)
        ]
        assert all(x <= y for row in flows for x, y in itertools.pairwise(row))
        assert all(x <= y for one, two in itertools.pairwise(flows) for x, y in zip(one, two, strict=True))
