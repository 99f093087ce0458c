"""Names for the modes of strips and of bodies with arms."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from modewright.modes.strips import stem_motion, strip_motion, whole_strip

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from modewright.modes.plan_view import PlanView
    from modewright.modes.sheet_shapes import SheetShapes
    from modewright.modes.strips import Strip, StripMotion

__all__ = ["MIXED_SHARE", "arm_names", "strip_names"]

KINDS = ("bending", "torsion", "cross bending", "lateral", "extension")

# Share of the second strongest motion from which a mode is neither the one nor the other.
MIXED_SHARE = 0.4
# An arm that moves less than this, measured by the one that moves most, is still.
_STILL = 0.2
# A strip held softly away from its ends that bends less than this moves as a whole.
_RIGID = 0.99
# A lobe lower than this, measured by the highest on the way to the tip, is no lobe: an arm that
# swings against the others pushes its root back a little.
_LOBE = 0.2
_IN_PHASE, _ANTIPHASE = "in phase", "antiphase"
# Component of the displacement that tells the kind; the others show in the tilt across the strip.
_DIRECTIONS = {"extension": 0, "lateral": 1, "bending": 2}


def strip_names(plan: PlanView, shapes: SheetShapes, *, is_held: bool) -> list[str]:
    """Names of the modes of one strip.

    Parameters
    ----------
    plan : PlanView
    shapes : SheetShapes
    is_held : bool

    Returns
    -------
    list of str
        Numbered within each kind, as the modes of a beam come in the order of their node points.
    """
    motion = strip_motion(plan, whole_strip(plan), shapes)
    shares = _shares([motion])
    kinds = [KINDS[int(np.argmax(share))] for share in shares.T]
    if is_held and not _holds_an_end(plan):
        rigid = _rigid_share(motion)
        kinds = [
            "rigid" if share > _RIGID else kind for kind, share in zip(kinds, rigid, strict=True)
        ]
    names: list[str] = []
    for mode, kind in enumerate(kinds):
        number = kinds[: mode + 1].count(kind)
        names.append(f"{kind} {number}{_mixed(shares[:, mode])}")
    return names


def arm_names(
    plan: PlanView, arms: Sequence[Strip], shapes: SheetShapes, *, is_held: bool
) -> list[str]:
    """Names of the modes of a body with arms.

    Parameters
    ----------
    plan : PlanView
    arms : sequence of Strip
    shapes : SheetShapes
    is_held : bool

    Returns
    -------
    list of str
        Numbered by the node points on the way to the tip of the arm that moves most; in a free
        body, whose arms move alike or apart, by their order. Not yet distinct.
    """
    motions = [strip_motion(plan, arm, shapes) for arm in arms]
    stems = [stem_motion(plan, arm, shapes) for arm in arms]
    shares = _shares(motions)
    seen: list[tuple[str, str]] = []
    names: list[str] = []
    for mode in range(shapes.mode_count):
        kind = KINDS[int(np.argmax(shares[:, mode]))]
        courses = [_course(motion, kind, mode) for motion in motions]
        strength = [float(m.width_m @ c**2) for m, c in zip(motions, courses, strict=True)]
        loudest = int(np.argmax(strength))
        together = _together(courses)
        seen.append((kind, together))
        if is_held:
            way = courses[loudest]
            if kind in _DIRECTIONS:
                way = np.concatenate([stems[loudest][:, _DIRECTIONS[kind], mode], way])
            number = _turns(way) + 1
        elif together in (_IN_PHASE, _ANTIPHASE):
            number = seen.count(seen[-1])
        else:
            # Rolling about its length, a free body moves its arms in bending, without a node.
            number = max(1, _turns(courses[loudest]) + (kind != "bending"))
        names.append(f"{kind} {number}, {together}{_mixed(shares[:, mode])}")
    return names


def _mixed(shares: NDArray[np.float64]) -> str:
    return ", mixed" if np.sort(shares)[-2] > MIXED_SHARE else ""


def _shares(motions: Sequence[StripMotion]) -> NDArray[np.float64]:
    """Share of each kind of motion in the kinetic energy of the strips, shape (kinds, modes)."""
    total = np.zeros((len(KINDS), motions[0].tilt.shape[1]))
    for motion in motions:
        bending = motion.mean[:, 2] ** 2
        torsion = motion.tilt**2 / 3
        curved = np.maximum(motion.square[:, 2] - bending - torsion, 0.0)
        along, across = motion.mean[:, 0] ** 2, motion.mean[:, 1] ** 2
        # In the plane, what turns or breathes goes with the mean that is the larger.
        in_plane = motion.square[:, :2].sum(axis=1)
        is_lateral = motion.width_m @ across > motion.width_m @ along
        energy = np.stack([bending, torsion, curved, in_plane * is_lateral, in_plane * ~is_lateral])
        total += np.einsum("s,ksm->km", motion.width_m, energy)
    return total / total.sum(axis=0)


def _holds_an_end(plan: PlanView) -> bool:
    reach = 0.1 * plan.length_m
    ends = plan.held_m[..., 0]
    return bool(((ends < reach) | (ends > plan.length_m - reach)).any())


def _rigid_share(motion: StripMotion) -> NDArray[np.float64]:
    """Share of each mode that a motion of the whole strip without bending explains."""
    root = np.sqrt(motion.width_m)
    rigid = np.stack([np.ones_like(motion.place), motion.place], axis=1) * root[:, None]
    basis, _ = np.linalg.qr(rigid)
    parts = np.concatenate([motion.mean, motion.tilt[:, None] / np.sqrt(3)], axis=1)
    courses = root[:, None, None] * parts
    explained = np.einsum("si,scm->icm", basis, courses)
    # Along itself and about itself a strip moves as a whole only with one value everywhere.
    level = np.einsum("s,scm->cm", root / np.linalg.norm(root), courses)
    squares = (explained**2).sum(axis=0)
    squares[[0, 3]] = level[[0, 3]] ** 2
    return squares.sum(axis=0) / (courses**2).sum(axis=(0, 1))


def _course(motion: StripMotion, kind: str, mode: int) -> NDArray[np.float64]:
    """What an arm does along itself, in the direction of this kind of motion."""
    return motion.mean[:, _DIRECTIONS[kind], mode] if kind in _DIRECTIONS else motion.tilt[:, mode]


def _turns(course: NDArray[np.float64]) -> int:
    """Changes of sign between lobes that are not small."""
    starts = np.nonzero(np.diff(np.sign(course)) != 0)[0] + 1
    lobes = [lobe[np.argmax(np.abs(lobe))] for lobe in np.split(course, starts)]
    clear = [lobe for lobe in lobes if abs(lobe) > _LOBE * np.abs(course).max()]
    return int((np.diff(np.sign(clear)) != 0).sum())


def _together(courses: Sequence[NDArray[np.float64]]) -> str:
    """Which arms move, and which of them against the others, judged at their tips."""
    size = np.array([float(np.sqrt(np.mean(course**2))) for course in courses])
    moving = [i for i in range(len(courses)) if size[i] > _STILL * size.max()]
    if len(moving) == 1:
        return f"arm {moving[0] + 1}"
    up = [i for i in moving if courses[i][-1] > 0]
    down = [i for i in moving if i not in up]
    if len(moving) == len(courses):
        if not up or not down:
            return _IN_PHASE
        if len(courses) == 2:
            return _ANTIPHASE
    first, second = sorted([up, down], key=lambda group: (-len(group), group))
    words = "+".join(str(i + 1) for i in first) + "".join(f"-{i + 1}" for i in second)
    return f"arms {words}"
