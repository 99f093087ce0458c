"""Spread of a note as plain data and as tables."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from modewright.report.tables import finite
from modewright.report.text_tables import TextTable
from modewright.studies.trial import MARGINS
from modewright.tolerances.settings import MarginLimit, PitchLimit, RatioLimit
from modewright.tolerances.strays import strays

if TYPE_CHECKING:
    from modewright.studies.spread import Spread
    from modewright.studies.temperature import TemperatureCourse
    from modewright.tolerances.settings import Limit
    from modewright.tolerances.verdict import Yield

__all__ = ["spread_data", "spread_tables", "temperature_data"]

Data = dict[str, Any]

# Misses of no matter: cents, decibels of sensitivity, then the margins.
_NO_MATTER = (3.0, 0.5, 0.5, 2.0, 0.5)


def spread_data(found: Spread) -> Data:
    """Everything that was found, one standard deviation throughout."""
    modes, sigma = found.settings.modes, found.sigma
    batch = np.array([entry.batch_share for entry in found.inputs])[:, None]
    first = np.sqrt((found.derivative_cents**2).sum(axis=0))
    error = np.sqrt((found.errors**2).mean(axis=0)) if len(found.errors) else sigma[0] * np.nan
    common, own = (np.sqrt((share * sigma**2).sum(axis=0)) for share in (batch, 1 - batch))
    names, left = _names(modes), found.left[np.isfinite(found.trim)]
    return {
        "samples": len(found.changes),
        "seed": found.settings.seed,
        "tolerances": [
            {"name": e.name, "amount": e.amount, "distribution": e.distribution,
             "batch_share": e.batch_share, "source": e.source}
            for e in found.inputs
        ],
        "figures": [
            {
                "name": name,
                "first_order": finite(float(first[i])) if i < modes else None,
                "sampled": finite(float(found.changes[:, i].std())),
                "low": finite(float(np.quantile(found.changes[:, i], 0.025))),
                "high": finite(float(np.quantile(found.changes[:, i], 0.975))),
                "common": finite(float(common[i])),
                "individual": finite(float(own[i])),
                "trimmed": finite(float(left[:, i].std())),
                "error": finite(float(error[i])),
            }
            for i, name in enumerate(names)
        ],
        "ratios": _ratios(found),
        "contributors": _contributors(found),
        "limits": [
            {"what": _limit_text(limit), "as_cut": cut, "trimmed": trimmed}
            for limit, cut, trimmed in zip(
                found.settings.limits, found.as_cut.by_limit, found.as_trimmed.by_limit, strict=True
            )
        ],
        "yield": {"as_cut": _yield(found.as_cut), "trimmed": _yield(found.as_trimmed)},
        "trim": _trim(found),
        "checked": len(found.checked),
        "faults": list(found.faults),
        "strays": _strays(found),
    }  # fmt: skip


def _names(modes: int) -> list[str]:
    return [
        *(f"mode {i + 1} cents" for i in range(modes)),
        *(f"sensitivity {i + 1} dB" for i in range(modes)),
        *MARGINS,
    ]


def _strays(found: Spread) -> list[str]:
    """Sentences on figures that are not to be trusted."""
    modes = found.settings.modes
    names = _names(modes)
    untrimmed = int(np.isnan(found.trim).sum())
    told = f"{untrimmed} of {len(found.trim)} pieces cannot be trimmed by {found.settings.trim}"
    first = (
        [f"{told}: it would have to change farther than it can. They count as bad."]
        if untrimmed
        else []
    )
    least = np.repeat(_NO_MATTER, [modes, modes, *[1] * len(MARGINS)])
    return first + [
        f"{names[stray.figure]}: the parabolas miss a solved piece by {stray.error:.3g}, where one "
        f"standard deviation is {stray.sigma:.3g}; do not trust this line. Tighten the tolerances, "
        "or look at how the figure moves (modewright sweep)."
        for stray in strays(found.changes, found.errors, least)
    ]


def _ratios(found: Spread) -> list[Data]:
    left = found.left[np.isfinite(found.trim)]
    return [
        {
            "mode": number + 1,
            "sampled": float((found.changes[:, number] - found.changes[:, 0]).std()),
            "trimmed": float((left[:, number] - left[:, 0]).std()),
        }
        for number in range(1, found.settings.modes)
    ]


def _trim(found: Spread) -> Data:
    """How much is filed, as shares of the number, and how near that comes."""
    settings = found.settings
    trim = found.trim[np.isfinite(found.trim)]
    return {
        "path": settings.trim,
        "relative": float(trim.std()),
        "low": float(np.quantile(trim, 0.025)),
        "high": float(np.quantile(trim, 0.975)),
        "amount": f"{settings.trim_error_cents:g} cents",
        "distribution": settings.trim_distribution,
        "source": settings.trim_source,
        "cents": float(found.missed_cents.std()),
        "trimmed_yield_if_halved": found.bought_by_trim.share,
    }


def _contributors(found: Spread) -> list[Data]:
    """Tolerances, the largest share of the variance of the pitch first."""
    variance = found.sigma[:, 0] ** 2
    total = float(variance.sum()) or 1.0
    modes = found.settings.modes
    rows = [
        {
            "name": entry.name,
            "cents": float(found.sigma[number, 0]),
            "share": float(variance[number]) / total,
            "sensitivity_db": finite(float(found.sigma[number, modes])),
            "gain_margin_db": finite(float(found.sigma[number, 2 * modes])),
            "phase_margin_deg": finite(float(found.sigma[number, 2 * modes + 1])),
            "yield_if_halved": found.bought[number][0].share,
            "trimmed_yield_if_halved": found.bought[number][1].share,
        }
        for number, entry in enumerate(found.inputs)
    ]
    return sorted(rows, key=lambda row: -row["share"])


def _yield(found: Yield) -> Data:
    return {"share": found.share, "low": found.interval[0], "high": found.interval[1]}


def _limit_text(limit: Limit) -> str:
    if isinstance(limit, PitchLimit):
        return f"pitch of mode {limit.mode} within {limit.within_cents:g} cents"
    if isinstance(limit, RatioLimit):
        return f"mode {limit.mode} over mode {limit.above} within {limit.within_cents:g} cents"
    if isinstance(limit, MarginLimit):
        return f"margins of {limit.least_gain_db:g} dB and {limit.least_phase_deg:g} deg"
    return f"sensitivity to mode {limit.mode} within {limit.within_db:g} dB"


def temperature_data(found: TemperatureCourse) -> Data:
    """Warmth as plain data."""
    return {
        "temperature_k": found.temperature_k.tolist(),
        "law_cents_per_k": found.law_cents_per_k,
        "modes": [
            {
                "mode": number + 1,
                "cents_per_k": float(found.cents_per_k[number]),
                "drift_hz": found.drift_hz[:, number].tolist(),
                "drift_over_bandwidth": found.drift_share[:, number].tolist(),
                "path_deg": [finite(float(value)) for value in found.path_deg[:, number]],
                "loop_deg": _turn(found, number + 1),
            }
            for number in range(len(found.cents_per_k))
        ],
        "gaps": [
            {"name": name, "gap_m": found.gap_m[:, number].tolist()}
            for number, name in enumerate(found.gap_names)
        ],
        "margins": [
            {"name": name, "values": [finite(float(value)) for value in found.margins[:, number]]}
            for number, name in enumerate(MARGINS)
        ],
    }


def _turn(found: TemperatureCourse, mode: int) -> list[float | None]:
    if mode not in found.treated:
        return [None] * len(found.temperature_k)
    return found.turn_deg[:, found.treated.index(mode)].tolist()


def spread_tables(data: Data) -> list[TextTable]:
    """What `spread_data` and `temperature_data` gave, to read."""
    tables = [
        _figures(data),
        _contributor_table(data),
        _sources(data),
        _yields(data),
    ]
    if data["trim"]["path"]:
        tables.append(_trimming(data["trim"]))
    else:
        tables = [_without(table, _TRIMMED) for table in tables]
    return [*tables, _warmth(data["temperature"]), *_warm_parts(data["temperature"])]


_TRIMMED = ("after trimming", "trimmed yield %", "trimmed %")


def _without(table: TextTable, columns: tuple[str, ...]) -> TextTable:
    kept = [i for i, name in enumerate(table.columns) if name not in columns]
    return replace(
        table,
        columns=tuple(table.columns[i] for i in kept),
        rows=tuple(tuple(row[i] for i in kept) for row in table.rows),
    )


def _figures(data: Data) -> TextTable:
    heads = ("first_order", "sampled", "low", "high", "common", "individual", "trimmed", "error")
    rows = tuple(
        (row["name"], *("" if row[h] is None else f"{round(row[h], 6):.3g}" for h in heads))
        for row in data["figures"]
        if row["sampled"] is not None
    )
    return TextTable(
        title=(
            f"{data['name']}: standard deviation over {data['samples']} pieces; error of the "
            f"sum of parabolas on {data['checked']} solved ones"
        ),
        columns=(
            "figure", "by derivatives", "sampled", "2.5 %", "97.5 %", "of the batch",
            "of the piece", "after trimming", "error",
        ),
        rows=rows,
    )  # fmt: skip


def _contributor_table(data: Data) -> TextTable:
    rows: list[tuple[str, ...]] = [
        (
            row["name"],
            f"{row['cents']:+z.2f}",
            f"{100 * row['share']:.1f}",
            *(
                "" if row[key] is None else f"{row[key]:+z.2f}"
                for key in ("sensitivity_db", "gain_margin_db", "phase_margin_deg")
            ),
            f"{100 * row['yield_if_halved']:.1f}",
            f"{100 * row['trimmed_yield_if_halved']:.1f}",
        )
        for row in data["contributors"]
    ]
    trim = data["trim"]
    if trim["path"]:
        after = f"{100 * trim['trimmed_yield_if_halved']:.1f}"
        rows.append(("trimming, afterwards", f"{trim['cents']:+z.2f}", *[""] * 5, after))
    return TextTable(
        title=(
            "Tolerances by what one standard deviation of each does, and the yield with it halved"
        ),
        columns=(
            "tolerance", "cents", "% of variance", "sensitivity dB", "gain margin dB",
            "phase margin deg", "yield %", "trimmed yield %",
        ),
        rows=tuple(rows),
    )  # fmt: skip


def _sources(data: Data) -> TextTable:
    rows = [
        (
            row["name"],
            row["amount"],
            row["distribution"],
            f"{100 * row['batch_share']:.0f}",
            row["source"],
        )
        for row in data["tolerances"]
    ]
    trim = data["trim"]
    if trim["path"]:
        rows.append(("trimming", trim["amount"], trim["distribution"], "0", trim["source"]))
    return TextTable(
        title="Where they come from",
        columns=("tolerance", "±", "distribution", "% common", "source"),
        rows=tuple(rows),
    )


def _trimming(trim: Data) -> TextTable:
    return TextTable(
        title="Trimming to pitch, in % of the number; to be filed, draw it larger by so much",
        columns=("number", "standard deviation", "2.5 % of pieces", "97.5 %", "leaves cents"),
        rows=(
            (
                trim["path"],
                *(f"{100 * trim[key]:+z.3f}" for key in ("relative", "low", "high")),
                f"{trim['cents']:.2f}",
            ),
        ),
    )


def _yields(data: Data) -> TextTable:
    rows = [
        (row["what"], f"{100 * row['as_cut']:.1f}", f"{100 * row['trimmed']:.1f}")
        for row in data["limits"]
    ]
    cut, trimmed = data["yield"]["as_cut"], data["yield"]["trimmed"]
    rows.append(("all of them", f"{100 * cut['share']:.1f}", f"{100 * trimmed['share']:.1f}"))
    ranges = [f"as cut {100 * cut['low']:.1f} to {100 * cut['high']:.1f} %"]
    if data["trim"]["path"]:
        ranges.append(f"trimmed {100 * trimmed['low']:.1f} to {100 * trimmed['high']:.1f} %")
    return TextTable(
        title=f"Yield; {', '.join(ranges)} (95 %)",
        columns=("limit", "as cut %", "trimmed %"),
        rows=tuple(rows),
    )


def _warmth(data: Data) -> TextTable:
    has_loop = any(mode["loop_deg"][0] is not None for mode in data["modes"])
    rows = tuple(
        (
            str(mode["mode"]),
            f"{mode['cents_per_k']:+.4f}",
            *(f"{value:+z.2f}" for value in mode["drift_hz"]),
            f"{max(mode['drift_over_bandwidth']):.3f}" if has_loop else "",
            *(
                "" if value is None else f"{value:+z.2f}"
                for key in ("path_deg", "loop_deg")
                for value in (mode[key][0], mode[key][-1])
            ),
        )
        for mode in data["modes"]
    )
    shown = [f"Hz at {text}" for text in _temperatures(data)]
    return TextTable(
        title=f"Warmth; by the metal's constants {data['law_cents_per_k']:+.4f} cents per kelvin",
        columns=(
            "mode", "cents/K", *shown, "drift/bandwidth", "path deg, cold", "path deg, warm",
            "loop deg, cold", "loop deg, warm",
        ),
        rows=rows,
    )  # fmt: skip


def _temperatures(data: Data) -> list[str]:
    return [f"{value - 273.15:.0f} °C" for value in data["temperature_k"]]


def _warm_parts(data: Data) -> list[TextTable]:
    """Gaps and margins, where there are any."""
    rows = [
        (f"gap of {gap['name']}, um", *(f"{1e6 * value:.2f}" for value in gap["gap_m"]))
        for gap in data["gaps"]
    ]
    rows += [
        (margin["name"], *(f"{value:.2f}" for value in margin["values"]))
        for margin in data["margins"]
        if None not in margin["values"]
    ]
    if not rows:
        return []
    return [
        TextTable(
            title="Warmth: gaps as bias leaves them, and margins of the controller as designed",
            columns=("figure", *_temperatures(data)),
            rows=tuple(rows),
        )
    ]
