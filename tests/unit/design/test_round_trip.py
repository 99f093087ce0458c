"""Whatever can be designed can be saved, printed and read back to the same design and hash."""

import dataclasses
import pathlib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from modewright.design.hash import content_hash, short_hash
from modewright.design.load import load_design, parse_design
from modewright.design.read import is_required, section_keys
from modewright.design.schema import Design
from modewright.design.show import complete_text, saved_text, starter_text
from modewright.design.starter import starter_design_text
from modewright.errors import DesignError
from modewright.parameters import SelfChecking
from modewright.tune.settings import FreeDimension

HERE = pathlib.Path()


def known_parts(part):
    found = {type(part): part}
    for field in dataclasses.fields(part):
        inner = getattr(part, field.name)
        for entry in inner if isinstance(inner, tuple) else (inner,):
            if dataclasses.is_dataclass(entry):
                found |= known_parts(entry)
    return found


ROOT = pathlib.Path(__file__).resolve().parents[3]
EXAMPLES = [ROOT / "examples" / "boathouse_bench" / "g3.toml"]
TUNED = b"""
[tune]
[[tune.free]]
path = "stock.thickness"
lowest = "0.5 mm"
highest = "2 mm"
[[tune.targets]]
kind = "pitch"
mode = 1
note = "G3"
[[tune.targets]]
kind = "interval"
mode = 2
above = 1
interval = "octave + fifth"
[[tune.targets]]
kind = "partials"
modes = [1, 2, "bending 3"]
ratios = "1 : 4 : 10"
[[tune.targets]]
kind = "keep away"
distance = "50 cents"
"""
KNOWN = {}
for example in EXAMPLES:
    KNOWN |= known_parts(load_design(example).design)
    bare = example.read_bytes().partition(b"\n[tune]\n")[0]
    tuned = parse_design(bare + TUNED, folder=example.parent)
    KNOWN |= known_parts(tuned.design.tune)


def limits_of(spec):
    low = max((n for n in (spec.above, spec.at_least) if n is not None), default=None)
    high = min((n for n in (spec.below, spec.at_most) if n is not None), default=None)
    usual_low, usual_high = spec.plausible or (-1e3, 1e3)
    low = usual_low if low is None else max(low, usual_low)
    high = usual_high if high is None else min(high, usual_high)
    return low, high, spec.above, spec.below


def quantity(spec):
    low, high, above, below = limits_of(spec)
    floats = st.floats(low, high, allow_subnormal=False)
    # A file holds at most fifteen digits.
    rounded = floats.map(lambda value: float(f"{value:.15g}"))
    return rounded.filter(lambda v: low <= v <= high and v not in (above, below))


def place():
    coordinate = st.integers(-(10**6), 10**6).map(lambda nm: float(f"{nm * 1e-6:.15g}"))
    return st.tuples(coordinate, coordinate)


def mode(spec):
    return st.one_of(
        st.integers(spec.at_least or 1, 12), st.sampled_from(["torsion 1", "bending 2, arm 1"])
    )


def words():
    return st.text(st.characters(exclude_categories=["Cs"]), max_size=20)


def value(field, spec):
    if field.name in ("pickup", "driver"):
        # A random word would name none.
        return st.just(field.default)
    strategies = {
        "quantity": lambda: quantity(spec),
        "quantities": lambda: st.lists(
            quantity(spec), min_size=spec.length or 0, max_size=spec.length or 4
        ).map(tuple),
        "count": lambda: st.integers(spec.at_least or 0, spec.at_most or 1000),
        "flag": st.booleans,
        "mode": lambda: mode(spec),
        "modes": lambda: st.lists(mode(spec), max_size=4).map(tuple),
        "text": words,
        "texts": lambda: st.lists(words(), max_size=3).map(tuple),
        "choice": lambda: st.sampled_from(spec.choices),
        "point": place,
        "points": lambda: st.lists(place(), min_size=3, max_size=5).map(tuple),
        "section": lambda: st.one_of([section(member) for member in without_files(spec)]),
        "sections": lambda: st.lists(
            st.one_of([section(member) for member in without_files(spec)]), max_size=3
        ).map(tuple),
    }
    drawn = strategies[spec.kind]()
    return drawn if is_required(field) else st.one_of(st.just(field.default), drawn)


def without_files(spec):
    return [member for member in spec.members if "file" not in section_keys(member)]


def section(member):
    if member is FreeDimension:
        # Random words would be the address of nothing.
        return st.just(KNOWN[FreeDimension])
    fields = {field.name: value(field, spec) for field, spec in section_keys(member).values()}
    return st.fixed_dictionaries(fields).map(lambda values: sound_or_known(member(**values)))


def sound_or_known(part):
    """The part, or a known one of its type if its fields contradict each other."""
    if isinstance(part, SelfChecking) and list(part.problems()):
        return KNOWN.get(type(part), part)
    return part


def is_sound(part) -> bool:
    if isinstance(part, SelfChecking) and list(part.problems()):
        return False
    for field in dataclasses.fields(part):
        inner = getattr(part, field.name)
        for entry in inner if isinstance(inner, tuple) else (inner,):
            if dataclasses.is_dataclass(entry) and not is_sound(entry):
                return False
        names = (
            [entry.name for entry in inner if getattr(entry, "name", "")]
            if inner and isinstance(inner, tuple)
            else []
        )
        if len(set(names)) < len(names):
            return False
    return True


def check_round_trip(design):
    if not is_sound(design):
        with pytest.raises(DesignError):
            parse_design(saved_text(design).encode(), folder=HERE)
        return
    for text in (saved_text(design), starter_text(design), complete_text(design, frozenset())):
        again = parse_design(text.encode(), folder=HERE)
        assert again.design == design, text
        assert again.design_hash == content_hash(design, HERE)


_QUIET = [HealthCheck.filter_too_much, HealthCheck.too_slow, HealthCheck.data_too_large]


@settings(max_examples=10, deadline=None, suppress_health_check=_QUIET)
@given(section(Design))
def test_save_and_read_back(design):
    check_round_trip(design)


@pytest.mark.slow
@settings(max_examples=200, deadline=None, suppress_health_check=_QUIET)
@given(section(Design))
def test_save_and_read_many_back(design):
    check_round_trip(design)


MINIMAL = """
[material]
name = "stainless 301"

[stock]
thickness = "1 mm"

[resonator]
kind = "strip reed"
length = "64 mm"
width = "16 mm"

[support]
kind = "clamped"
"""


def test_hash_does_not_depend_on_the_writing():
    first = parse_design(MINIMAL.encode(), folder=HERE)
    blocks = MINIMAL.strip().split("\n\n")
    rewritten = "# other\n" + "\n\n".join(reversed(blocks))
    rewritten = rewritten.replace('thickness = "1 mm"', 'thickness = "0.1 cm"  # same')
    rewritten += '\n[design]\na4 = "0.44 kHz"\n'
    second = parse_design(rewritten.encode(), folder=HERE)
    assert second.design_hash == first.design_hash
    assert len(first.design_hash) == 64
    assert short_hash(first.design, HERE) == first.design_hash[:12]


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('thickness = "1 mm"', 'thickness = "1.0001 mm"'),
        ('name = "stainless 301"', 'name = "stainless 304"'),
        ('kind = "strip reed"', 'kind = "plate"'),
        ("[material]", '[design]\na4 = "442 Hz"\n[material]'),
    ],
)
def test_hash_changes_with_the_design(old, new):
    assert old in MINIMAL
    changed = parse_design(MINIMAL.replace(old, new).encode(), folder=HERE)
    assert changed.design_hash != parse_design(MINIMAL.encode(), folder=HERE).design_hash


DRAWN = MINIMAL.replace(
    'kind = "strip reed"\nlength = "64 mm"\nwidth = "16 mm"',
    'kind = "drawn outline"\nfile = "reed.dxf"',
)


def test_hash_goes_by_the_content_of_a_drawing(tmp_path):
    drawing = tmp_path / "reed.dxf"
    drawing.write_bytes(b"one")
    first = parse_design(DRAWN.encode(), folder=tmp_path).design_hash
    drawing.write_bytes(b"two")
    assert parse_design(DRAWN.encode(), folder=tmp_path).design_hash != first
    drawing.rename(tmp_path / "other.dxf")
    (tmp_path / "other.dxf").write_bytes(b"one")
    renamed = DRAWN.replace("reed.dxf", "other.dxf")
    assert parse_design(renamed.encode(), folder=tmp_path).design_hash == first


def test_missing_drawing_is_told_with_its_line(tmp_path):
    with pytest.raises(DesignError, match=r"f:10: resonator.file: .* nothing of this name"):
        parse_design(DRAWN.encode(), folder=tmp_path, file="f")


def test_complete_print_marks_exactly_what_was_not_written():
    text = MINIMAL.replace("[stock]", 'temperature = "20 degC"\n\n[stock]')
    loaded = parse_design(text.encode(), folder=HERE)
    printed = complete_text(loaded.design, loaded.written)
    lines = {line.split(" ")[0]: line for line in printed.splitlines()}
    assert lines["temperature"] == 'temperature = "20 degC"'
    assert lines["a4"].endswith("# default")
    assert lines["[loop]"].endswith("# default")
    assert "# youngs_modulus" in printed


def test_starter_says_what_can_be_used():
    text = starter_design_text()
    loaded = parse_design(text.encode(), folder=HERE)
    assert loaded.warnings == ()
    assert '"strip reed", "forked reed"' in text
    assert max(len(line) for line in text.splitlines()) <= 100
