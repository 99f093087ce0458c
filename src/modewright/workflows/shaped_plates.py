"""Plates that choose modes, studied, mapped and drawn: what command and dossier share."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from modewright.chain.electrode_parts import joint_plates, sliced_plates
from modewright.chain.electrode_plates import shaped_plates
from modewright.chain.electrode_site import electrode_site
from modewright.chain.electrode_study import study_plates
from modewright.chain.place_map import map_places
from modewright.report.electrode_data import places_data, plates_data, study_data
from modewright.report.plots.electrode_plan import place_map_png, plates_png

if TYPE_CHECKING:
    from collections.abc import Callable

    from modewright.chain.body import Body
    from modewright.chain.electrode_plates import PlateSet
    from modewright.chain.electrode_site import ElectrodeSite
    from modewright.chain.electrode_study import ElectrodeStudy
    from modewright.chain.place_map import PlaceMap
    from modewright.electrodes.settings import ElectrodeSettings
    from modewright.transducers.operating_point import OperatingPoint

__all__ = ["ShapedPlates", "plate_names", "plates_picture", "shape_plates"]

Data = dict[str, Any]

_MAKE = {
    "single": shaped_plates,
    "pair": shaped_plates,
    "segments": sliced_plates,
    "joint": joint_plates,
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapedPlates:
    """Plates as `[electrodes]` asks for them.

    Parameters
    ----------
    settings : ElectrodeSettings
    site : ElectrodeSite
    made : PlateSet
    study : ElectrodeStudy
    places : PlaceMap or None
        None if the tried face fits nowhere.
    """

    settings: ElectrodeSettings
    site: ElectrodeSite
    made: PlateSet
    study: ElectrodeStudy
    places: PlaceMap | None

    @property
    def data(self) -> Data:
        """As plain data."""
        return {
            "arrangement": self.settings.arrangement,
            **plates_data(self.site, self.made),
            "study": study_data(self.study),
            "place": None if self.places is None else places_data(self.places),
        }

    @property
    def places_png(self) -> bytes | None:
        """Map of places, mode by mode; None without."""
        if self.places is None:
            return None
        captions = [
            f"mode {mode['number']}, {mode['label']}"
            + ("" if mode["is_wanted"] else " (to reject)")
            for mode in self.data["modes"]
        ]
        places = self.places
        return place_map_png(
            self.site.below.plan,
            places.points_m,
            places.coupling,
            captions,
            places.best,
            places.worst,
        )


def shape_plates(
    body: Body,
    point: OperatingPoint,
    settings: ElectrodeSettings,
    progress: Callable[[str], None] | None,
) -> ShapedPlates:
    """Choose outlines, study made pieces, and try a round face everywhere.

    Parameters
    ----------
    body : Body
    point : OperatingPoint
        Of that body.
    settings : ElectrodeSettings
    progress : callable, optional
        Told what is being done.

    Returns
    -------
    ShapedPlates

    Raises
    ------
    ModewrightError
        If no plates do what is asked for.
    """
    site = electrode_site(body, point, settings)
    made = _MAKE[settings.arrangement](site, settings, progress)
    return ShapedPlates(
        settings=settings,
        site=site,
        made=made,
        study=study_plates(site, made, settings, progress),
        places=map_places(site, settings.tried_m),
    )


def plate_names(shaped: ShapedPlates) -> list[str]:
    """Names of the plates, after the pickup."""
    name, count = shaped.site.pickup.name, len(shaped.made.plates)
    return [name] if count == 1 else [f"{name} {number}" for number in range(1, count + 1)]


def plates_picture(shaped: ShapedPlates, name: str) -> bytes:
    """The plates in plan under the body of a given name."""
    plan = shaped.site.below.plan
    return plates_png(plan, shaped.made.plates, plate_names(shaped), f"{name}: plates in plan")
