"""The air network against worked networks, scipy's root finder, and what must hold in any network."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from inshell.errors import InputRefused
from inshell.network.air import NOTHING_KG_S, _flows, _residual, solve_air
from inshell.network.compiled import run
from inshell.network.links import AirNetwork, Link, LinkKind, orifice_crack
from inshell.network.reference import run_reference
from inshell.network.system import Forcing, System, first_state
from inshell.network.thermal import ThermalNetwork
from inshell.network.tracers import age_of_air_s, steady_concentration
from inshell.physics.air import density_kg_m3
from inshell.physics.fan import FanCurve
from tests.evidence import CFM, assert_close

RHO20 = float(density_kg_m3(temperature_c=20.0))
PRINTED = "half a unit of the last printed digit"


def crack(name: str, a: int, b: int, c: float, n: float = 0.65, z: float = 0.0) -> Link:
    return Link(name, LinkKind.CRACK, a, b, low_m=z, coefficient_m3_s_pan=c, exponent=n)


def hole(name: str, a: int, b: int, area: float, z: float = 0.0, rho: float = RHO20) -> Link:
    return crack(name, a, b, *orifice_crack(area_m2=area, discharge=0.6, density_kg_m3=rho), z)


def fan(name: str, a: int, b: int, flow: float) -> Link:
    return Link(name, LinkKind.FAN, a, b, curve=FanCurve((0.0, 1e6), (flow, flow)))


@pytest.mark.published
def test_cracks_in_series_and_side_by_side() -> None:
    # C .01 and .02, n .65: series .0082506, at 10 Pa .036854 m3/s; side by side .134005 (computed)
    still = np.full(3, RHO20)
    series = AirNetwork(("a", "b"), (crack("in", 2, 0, 0.01), crack("out", 0, 1, 0.02), fan("f", 1, 2, 0.036854)))
    p = solve_air(series, density_kg_m3=still).pressure_pa
    assert_close(-p[1], 10.0, abs=6e-4, why="the flow is printed to five digits")
    both = AirNetwork(("a",), (crack("one", 1, 0, 0.01), crack("two", 1, 0, 0.02), fan("f", 0, 1, 0.134005)))
    assert_close(solve_air(both, density_kg_m3=still[:2]).pressure_pa[0], -10.0, abs=6e-4, why="flow to six digits")


@pytest.mark.published
@pytest.mark.parametrize(
    ("upper", "dp", "flow", "neutral"), [(0.01, 1.9104, 0.01358, 1.4191), (0.02, 3.1588, 0.01747, 2.3465)]
)
def test_stack_through_two_openings(upper: float, dp: float, flow: float, neutral: float) -> None:
    # Cd .6; .01 m2 below, 3 m apart, 20/-10 °C: total 4.0385 Pa; lower drop, mass flow, neutral height (computed)
    rho = np.array([RHO20, float(density_kg_m3(temperature_c=-10.0))])

    def two_way(name: str, area: float, z: float, up: bool) -> Link:
        # orifices follow the density of the air that passes: outdoor air below, indoor air above
        return hole(name, 0, 1, area, z, float(rho[0] if up else rho[1]))

    network = AirNetwork(("a",), (two_way("low", 0.01, 0.0, False), two_way("high", upper, 3.0, True)))
    state = solve_air(network, density_kg_m3=rho)
    assert_close((rho[1] - rho[0]) * 9.80665 * 3.0, 4.0385, abs=2e-3, why="densities carried to four digits")
    assert_close(-state.pressure_pa[0], dp, abs=2e-3, why="densities carried to four digits")
    assert_close(state.back_kg_s[0], flow, abs=2e-5, why="densities carried to four digits")
    assert_close(-state.pressure_pa[0] / ((rho[1] - rho[0]) * 9.80665), neutral, abs=1e-3, why=PRINTED)


def reference(exhaust_cfm: float, transfer_cfm: float) -> AirNetwork:
    """180 m3/h at 50 Pa split 60/30/10 % on main, bedroom, bath; door gaps Cd .6; exhaust in the bath."""
    c = 180 / 3600 / 50**0.65
    links = [crack(f"leak-{k}", k, 3, c * share) for k, share in enumerate((0.6, 0.3, 0.1))]
    links += [hole("gap-bed", 0, 1, 0.01), hole("gap-bath", 0, 2, 0.01), fan("exhaust", 2, 3, exhaust_cfm * CFM)]
    if transfer_cfm:
        links.append(fan("transfer", 0, 1, transfer_cfm * CFM))
    return AirNetwork(("main", "bed", "bath"), tuple(links))


@pytest.mark.published
@pytest.mark.parametrize(
    ("exhaust", "transfer", "pressures", "infiltration"),
    [
        (30, 0, (-7.016, -6.738, -9.607), (30.13, 14.68, 6.16)),
        (30, 60, (-12.732, 0.240, -15.086), (44.39, -1.68, 8.26)),
    ],
)
def test_reference_network(
    exhaust: int, transfer: int, pressures: tuple[float, ...], infiltration: tuple[float, ...]
) -> None:
    # computed by two solvers; a transfer fan with a small way back keeps outdoor air out of the bedroom
    state = solve_air(reference(exhaust, transfer), density_kg_m3=np.full(4, RHO20))
    assert_close(state.pressure_pa, pressures, abs=6e-4, why=PRINTED)
    assert_close(-state.net_kg_s[:3] / RHO20 * 3600, infiltration, abs=6e-3, why=PRINTED)


@pytest.mark.published
def test_age_of_air() -> None:
    # main 150, bed 30, bath 10 m3; outdoor 36 / 9 / 6; bed->main 9, main->bath 45, exhaust 51 m3/h: 4.0000, 3.3333, 3.7255 h
    flows = [(3, 0, 36), (3, 1, 9), (3, 2, 6), (1, 0, 9), (0, 2, 45), (2, 3, 51)]
    links = tuple(fan(f"{a}-{b}", a, b, q / 3600) for a, b, q in flows)
    leaks = tuple(crack(f"leak-{k}", k, 3, 1e-9) for k in range(3))
    network = AirNetwork(("main", "bed", "bath"), links + leaks)
    state = solve_air(network, density_kg_m3=np.full(4, 1.2))
    ages = age_of_air_s(network, state, mass_kg=np.array([150, 30, 10]) * 1.2) / 3600
    assert_close(ages, [4.0, 10 / 3, 3.7255], abs=6e-5, why=PRINTED)


@pytest.mark.invariant
def test_tracer_that_goes_in_comes_out() -> None:
    network = reference(30, 60)
    state = solve_air(network, density_kg_m3=np.full(4, RHO20))
    source = np.array([1e-6, 3e-6, 0.5e-6])
    level = steady_concentration(network, state, source_kg_s=source)
    out = sum(f * level[k.a] for k, f in zip(network.links, state.forward_kg_s, strict=True) if k.b == 3)
    assert_close(out, source.sum(), rel=1e-8, why="Newton closes mass to 1e-10 of the throughput")


@pytest.mark.published
def test_shut_door_alone_exchanges_as_the_reference_says() -> None:
    # 2 x .01 m2, 2 m apart, Cd .6: 3.3 4.7 5.7 7.4 cfm at 1 2 3 5 K; one opening alone exchanges nothing
    for dt, cfm in ((1, 3.3), (2, 4.7), (3, 5.7), (5, 7.4)):
        rho = np.array([float(density_kg_m3(temperature_c=21.0)), float(density_kg_m3(temperature_c=21.0 - dt)), 1.2])
        gaps = (hole("under", 0, 1, 0.01, 0.0, rho[1]), hole("over", 0, 1, 0.01, 2.0, rho[0]))
        network = AirNetwork(("warm", "cool"), (*gaps, crack("leak", 0, 2, 1e-6)))
        state = solve_air(network, density_kg_m3=rho)
        assert_close(state.forward_kg_s[1] / rho[0] / CFM, cfm, abs=0.06, why=PRINTED)
        single = AirNetwork(("warm", "cool"), (gaps[0], crack("leak", 0, 2, 1e-6)))
        assert_close(solve_air(single, density_kg_m3=rho).net_kg_s[0], 0.0, abs=1e-12, why="no second opening")


@st.composite
def networks(draw: st.DrawFn) -> tuple[AirNetwork, np.ndarray]:
    count = draw(st.integers(1, 15))
    rng = np.random.default_rng(draw(st.integers(0, 2**31)))
    links = [
        crack(f"leak{k}", k, count, 10 ** rng.uniform(-6, -2), rng.uniform(0.5, 1.0), rng.uniform(0, 8))
        for k in range(count)
    ]
    for k in range(1, count):
        other = int(rng.integers(0, k))
        if rng.random() < 0.4:
            links.append(Link(f"door{k}", LinkKind.DOOR, other, k, low_m=0.0, high_m=2.0, width_m=0.9))
        else:
            links.append(hole(f"gap{k}", other, k, 10 ** rng.uniform(-4, -1), rng.uniform(0, 2)))
    for k in range(int(rng.integers(0, 4))):
        a, b = rng.choice(count + 1, 2, replace=False)
        limit = 10 ** rng.uniform(1, 2.5)
        flow = rng.uniform(0.0, 0.08)
        links.append(Link(f"fan{k}", LinkKind.FAN, int(a), int(b), curve=FanCurve((0.0, limit), (flow, 0.0))))
    rho = 101325 / (287.055 * (273.15 + np.append(rng.uniform(10, 30, count), rng.uniform(-45, 45))))
    return AirNetwork(tuple(f"r{k}" for k in range(count)), tuple(links)), rho


@pytest.mark.invariant
@settings(max_examples=60)
@given(case=networks())
def test_any_network_closes_its_mass_and_hangs_nowhere(case: tuple[AirNetwork, np.ndarray]) -> None:
    network, rho = case
    state = solve_air(network, density_kg_m3=rho)
    assert np.all(np.isfinite(state.pressure_pa))
    assert np.max(np.abs(state.residual_kg_s)) <= max(1e-10 * state.throughput_kg_s, NOTHING_KG_S)
    assert state.iterations < 60


@pytest.mark.analytic
@settings(max_examples=25)
@given(case=networks())
def test_any_network_agrees_with_a_general_root_finder(case: tuple[AirNetwork, np.ndarray]) -> None:
    network, rho = case
    state = solve_air(network, density_kg_m3=rho)
    wind = np.zeros(len(network.links))

    def balance(p: np.ndarray) -> np.ndarray:
        forward, back, _ = _flows(network, np.append(p, 0.0), rho, wind)
        return _residual(network, forward - back)[:-1] / state.throughput_kg_s

    other = root(balance, state.pressure_pa + 0.01, method="lm", options={"xtol": 1e-14, "ftol": 1e-14})
    if np.max(np.abs(other.fun)) < 1e-9:
        assert_close(other.x, state.pressure_pa, abs=2e-3, rel=1e-5, why="a flat residual near closed rooms")


@pytest.mark.invariant
@settings(max_examples=20)
@given(case=networks(), seed=st.integers(0, 1000))
def test_renumbering_splitting_and_an_empty_room_change_nothing(case: tuple[AirNetwork, np.ndarray], seed: int) -> None:
    network, rho = case
    count = len(network.rooms)
    plain = solve_air(network, density_kg_m3=rho)
    order = np.random.default_rng(seed).permutation(count)
    place = np.append(np.argsort(order), count)
    from dataclasses import replace

    moved = [replace(link, a=int(place[link.a]), b=int(place[link.b])) for link in network.links]
    turned = solve_air(
        AirNetwork(tuple(network.rooms[k] for k in order), tuple(moved)),
        density_kg_m3=np.append(rho[:-1][order], rho[-1]),
    )
    assert_close(turned.pressure_pa, plain.pressure_pa[order], abs=1e-6, rel=1e-7, why="tolerance of the balance")
    first = network.links[0]
    half = replace(first, coefficient_m3_s_pan=first.coefficient_m3_s_pan / 2)
    split = solve_air(AirNetwork(network.rooms, (half, half, *network.links[1:])), density_kg_m3=rho)
    assert_close(split.pressure_pa, plain.pressure_pa, abs=1e-6, rel=1e-7, why="tolerance of the balance")
    shifted = [replace(k, a=k.a + (k.a == count), b=k.b + (k.b == count)) for k in network.links]
    more = solve_air(AirNetwork((*network.rooms, "empty"), tuple(shifted)), density_kg_m3=np.insert(rho, count, 1.2))
    assert more.isolated == ("empty",)
    assert_close(more.pressure_pa[:-1], plain.pressure_pa, abs=1e-6, rel=1e-7, why="tolerance of the balance")


@pytest.mark.invariant
def test_a_fan_that_nothing_feeds_is_refused_by_name() -> None:
    network = AirNetwork(("main", "vault"), (crack("leak", 0, 2, 0.01), fan("fan-7", 0, 1, 0.01)))
    with pytest.raises(InputRefused, match="fan-7"):
        solve_air(network, density_kg_m3=np.full(3, 1.2))


@pytest.mark.analytic
@pytest.mark.parametrize("leak", [1e-6, 1e-11, 1e-13])
@pytest.mark.parametrize("solver", ["readable", "either step"])
def test_a_room_that_hardly_leaks_stands_where_its_fan_ends(leak: float, solver: str) -> None:
    """0.01 m3/s up to 100 Pa and in a straight line to nothing at 110: 110 - 1000 Q there, Q = C P^0.65 (secant)."""
    curve = FanCurve((0.0, 100.0, 110.0), (0.01, 0.01, 0.0))
    links = (
        Link("crack", LinkKind.CRACK, 0, 1, coefficient_m3_s_pan=leak, exponent=0.65),
        Link("fan", LinkKind.FAN, 1, 0, curve=curve),
    )
    told = 110.0
    for _ in range(50):
        told = 110.0 - 1000.0 * leak * told**0.65
    network = AirNetwork(("room",), links)
    if solver == "readable":
        got = [solve_air(network, density_kg_m3=np.array([1.2, 1.2])).pressure_pa[0]]
    else:
        thermal = ThermalNetwork(rooms=1, boundaries=1)
        thermal.node(4e6)
        thermal.face(0, 0, 50.0)
        zero, none = np.zeros(1), np.full((1, 1), np.nan)
        system = System(thermal=thermal, air=network, mass_kg=np.array([40.0]), buffer_kg=zero, buffer_kg_s_pa=zero,
                        pressure_pa=101325.0, radiant=(0,))  # fmt: skip
        forcing = Forcing(
            outdoor_c=np.full(1, 20.0), outdoor_vapour=np.full(1, 0.003), boundary_c=np.full((1, 1), 20.0),
            source_w=np.zeros((1, 1)), vapour_kg_s=np.zeros((1, 1)), gas_kg_s=np.zeros((1, 1)),
            wind_pa=np.zeros((1, 2)), route_share=np.ones((1, 2)), heat_at_c=none, cool_at_c=none, most_w=none,
            least_w=none, permit=np.ones((1, 0)),
        )  # fmt: skip
        state = first_state(system, air_c=20.0)
        got = [step(system, forcing, state.copy(), step_s=600.0).pressure_pa[0, 0] for step in (run, run_reference)]
    assert_close(got, [told] * len(got), abs=0.02, why="vapour of the room moves its density a little")
