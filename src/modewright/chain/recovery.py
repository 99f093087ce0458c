"""How the preamplifiers of a design bear its strike."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.transducers.overload import Overload, overload_after, strike_ringing

if TYPE_CHECKING:
    from modewright.chain.body import Body
    from modewright.chain.hearing import Hearing
    from modewright.design.schema import Design

__all__ = ["analyse_recovery"]


def analyse_recovery(design: Design, body: Body, hearing: Hearing) -> tuple[Overload, ...]:
    """Every preamplifier after a strike at full strength, all modes ringing freely.

    Parameters
    ----------
    design, body, hearing : Design, Body, Hearing

    Returns
    -------
    tuple of Overload
        In the order of the pickups.
    """
    strike, basis = design.strike, hearing.operating_point.basis
    place_m = body.reference.point_m if strike.point_m is None else strike.point_m
    struck = basis.shapes.displacement(np.array([place_m]))[0, 2]
    return tuple(
        overload_after(
            pickup,
            biased.gap.permeance,
            strike_ringing(
                heard.port.volts_per_coordinate,
                struck,
                basis.freq_hz,
                basis.damping_ratio * basis.omega_rad_s,
                force_n=strike.force_n,
                width_s=strike.width_s,
            ),
        )
        for pickup, biased, heard in zip(
            body.pickups, hearing.operating_point.pickup_gaps, hearing.pickups, strict=True
        )
    )
