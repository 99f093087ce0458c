"""The whole Boathouse bench: every note on its pitch, in time, and true when solved afresh."""

from __future__ import annotations

import math
import time

import pytest

from modewright.chain.body import analyse_placed
from modewright.chain.hearing import analyse_hearing
from modewright.chain.instrument import make_instrument
from modewright.chain.places import place_design
from modewright.design.instrument_plan import load_plan

# Pure intervals above G3, by hand.
RATIOS = (1, 9 / 8, 7 / 6, 5 / 4, 4 / 3, 3 / 2, 5 / 3, 7 / 4, 2)
G3_HZ = 442 * 2 ** (-14 / 12)


@pytest.mark.slow
def test_nine_notes_within_a_cent_in_three_minutes(example):
    loaded = load_plan(example.with_name("bench.toml"))
    plan = loaded.plan
    start = time.process_time()
    made = make_instrument(plan, loaded.family.design, loaded.family.folder)
    assert time.process_time() - start < 180
    notes, base_cents = made.compass.notes, made.together.base_cents
    assert len(notes) == 9
    for note, ratio, cents in zip(notes, RATIOS, base_cents, strict=True):
        assert note.note.freq_hz == pytest.approx(G3_HZ * ratio, rel=1e-9)
        found = float(note.body.sample.freq_hz[note.place])
        assert abs(1200 * math.log2(found / note.note.freq_hz) + cents) <= 1.0
    for place in range(2):
        kept = [note.even_cents[place] for note in notes]
        assert max(kept) - min(kept) < 2 * plan.compass.even_within_cents + 1
    assert made.together.mechanical is not None
    assert made.together.mechanical.asymmetry <= 1e-8
    assert {place.sheet for place in made.laid.placements} == {0}
    # The highest note from its design alone.
    design = notes[-1].design
    body = analyse_placed(place_design(design, loaded.family.folder), count=9)
    alone = float(analyse_hearing(design, body).operating_point.basis.freq_hz[0])
    assert 1200 * math.log2(alone / notes[-1].note.freq_hz) + base_cents[-1] == pytest.approx(
        0.0, abs=1.0
    )
