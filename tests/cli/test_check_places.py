import pytest

PLACES = [
    (
        'position = ["41.5 mm", "8 mm"]',
        'position = ["90 mm", "8 mm"]',
        "drivers[1].position",
        "mm off",
    ),
    ('name = "arm 2 tip"', 'name = "arm 9 tip"', "reference_point.name", '"arm 2 tip"'),
    ("[strike]\n", '[strike]\npoint = ["90 mm", "0 mm"]\n', "strike.point", "19.70 mm off"),
    ('centre = ["56.5 mm", "-8 mm"]', 'centre = ["56.5 mm", "-80 mm"]', "plate", "beside it"),
]


@pytest.mark.parametrize(("old", "new", "what", "told"), PLACES)
def test_check_names_what_lies_off_the_sheet(old, new, what, told, example, call, tmp_path):
    text = example.read_text(encoding="utf-8")
    assert old in text
    design = tmp_path / "design.toml"
    design.write_text(text.replace(old, new), encoding="utf-8")
    done = call("check", str(design))
    assert done.code == 2
    assert what in done.err
    assert told in done.err
