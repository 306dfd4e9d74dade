"""Sun through glass at an angle."""

from __future__ import annotations

import numpy as np

from inshell.physics.types import Array, Floats

# ASHRAE Handbook Fundamentals, clear double 3 mm glass (from memory): incidence [°], SHGC over SHGC at normal
ANGLES_DEG = (0.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0)
SHGC_RATIO = (1.0, 0.74 / 0.76, 0.71 / 0.76, 0.64 / 0.76, 0.50 / 0.76, 0.26 / 0.76, 0.0)
DIFFUSE_RATIO = 0.66 / 0.76


def pane_transmittance(*, angle_deg: Array, panes: int, index: float, extinction: float) -> Array:
    """Solar transmittance of clear glass, polarisations kept apart.

    Formula: Snell and Fresnel for each polarisation, absorption exp(-KL/cos r), panes stacked with all reflections
    between them (net-radiation method)
    Arguments: angle_deg [°] of incidence; panes; index [-] of refraction; extinction [-] KL of one pane
    Returns: transmittance [-]
    Valid: clear, uncoated glass, angles below 90°
    Source: Duffie and Beckman, Solar Engineering of Thermal Processes, chapter 5

    >>> round(float(pane_transmittance(angle_deg=60.0, panes=2, index=1.526, extinction=0.0622)), 4)
    0.6474
    """
    incident = np.radians(np.clip(np.asarray(angle_deg, dtype=float), 1e-6, 89.9999))
    refracted = np.arcsin(np.sin(incident) / index)
    absorbed = np.exp(-extinction / np.cos(refracted))
    across = np.sin(refracted - incident) ** 2 / np.sin(refracted + incident) ** 2
    along = np.tan(refracted - incident) ** 2 / np.tan(refracted + incident) ** 2
    return 0.5 * (_stack(across, absorbed, panes) + _stack(along, absorbed, panes))


def _stack(reflected: Floats, absorbed: Floats, panes: int) -> Floats:
    """Transmittance of like panes for one polarisation."""
    inside = 1.0 - (reflected * absorbed) ** 2
    tau = absorbed * (1.0 - reflected) ** 2 / inside
    rho = reflected * (1.0 + absorbed * tau)
    total_tau, total_rho = tau, rho
    for _ in range(panes - 1):
        between = 1.0 - total_rho * rho
        total_tau, total_rho = total_tau * tau / between, total_rho + total_tau**2 * rho / between
    return np.asarray(total_tau)


def shgc_angle_ratio(*, angle_deg: Array) -> Array:
    """Solar heat gain coefficient at an angle over that at normal incidence.

    Formula: linear between the rows 0 40 50 60 70 80 90°: 1 .97 .93 .84 .66 .34 0
    Arguments: angle_deg [°] of incidence
    Returns: ratio [-]
    Valid: clear double glass; coated glass differs by a few hundredths
    Source: ASHRAE Handbook Fundamentals, Fenestration (from memory)

    >>> round(float(shgc_angle_ratio(angle_deg=60.0)), 2)
    0.84
    """
    return np.interp(np.asarray(angle_deg, dtype=float), ANGLES_DEG, SHGC_RATIO)
