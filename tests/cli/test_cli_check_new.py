"""Exit codes and texts of the command line, in processes of their own."""

import pathlib
import subprocess
import sys

import pytest


def run(*words: str, cwd: pathlib.Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "modewright", *words],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def test_starter_passes_the_check_and_is_never_overwritten(tmp_path):
    made = run("new", "a.toml", cwd=tmp_path)
    assert made.returncode == 0, made.stderr
    assert "modewright check a.toml" in made.stdout
    before = (tmp_path / "a.toml").read_bytes()
    assert before.startswith(b"# A design for modewright.")

    checked = run("check", "a.toml", cwd=tmp_path)
    assert checked.returncode == 0, checked.stderr
    assert checked.stderr == ""
    assert "# default" in checked.stdout
    assert "# design hash " in checked.stdout
    assert "\x1b" not in checked.stdout

    again = run("new", "a.toml", cwd=tmp_path)
    assert again.returncode == 2
    assert "nothing was overwritten" in again.stderr
    assert (tmp_path / "a.toml").read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["a.toml"]


def test_printed_design_checks_to_the_same_hash(tmp_path):
    run("new", "a.toml", cwd=tmp_path)
    first = run("check", "a.toml", cwd=tmp_path).stdout
    (tmp_path / "b.toml").write_text(first, encoding="utf-8")
    second = run("check", "b.toml", cwd=tmp_path).stdout
    assert first.splitlines()[-1].startswith("# design hash")
    assert first.splitlines()[-1] == second.splitlines()[-1]


def test_all_problems_with_lines_and_exit_code_2(tmp_path):
    text = '[material]\nname = "stainles 301"\n[stock]\nthickness = 1.0 mm\nthicknes = 3\n'
    (tmp_path / "bad.toml").write_text(text)
    bad = run("check", "bad.toml", cwd=tmp_path)
    assert bad.returncode == 2
    assert bad.stdout == ""
    assert "Traceback" not in bad.stderr
    for part in (
        'bad.toml:2: material.name: expected "stainless 301"',
        'Did you mean "stainless 301"?',
        "bad.toml:4: notation: expected a quantity in quotes",
        "bad.toml:5: stock.thicknes: ",
    ):
        assert part in bad.stderr


def test_values_that_make_no_body_are_told(tmp_path):
    run("new", "a.toml", cwd=tmp_path)
    file = tmp_path / "a.toml"
    hole = '\n[[features]]\nkind = "round hole"\ncentre = ["500 mm", "0 mm"]\ndiameter = "2 mm"\n'
    file.write_text(file.read_text(encoding="utf-8") + hole, encoding="utf-8")
    ended = run("check", "a.toml", cwd=tmp_path)
    assert ended.returncode == 2
    assert "hole 1: expected a place on the sheet" in ended.stderr
    assert "Traceback" not in ended.stderr


def test_example_passes(tmp_path):
    example = pathlib.Path(__file__).resolve().parents[2] / "examples/boathouse_bench/g3.toml"
    ended = run("check", str(example), cwd=tmp_path)
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == ""


def test_warnings_are_told_with_and_without_problems(tmp_path):
    run("new", "a.toml", cwd=tmp_path)
    file = tmp_path / "a.toml"
    text = file.read_text(encoding="utf-8").replace('thickness = "1 mm"', 'thickness = "60 mm"')
    file.write_text(text, encoding="utf-8")
    odd = run("check", "a.toml", cwd=tmp_path)
    assert odd.returncode == 0
    assert 'stock.thickness: expected something like 0.1 mm to 40 mm, got "60 mm"' in odd.stderr
    file.write_text(text + "[wrong]\n", encoding="utf-8")
    bad = run("check", "a.toml", cwd=tmp_path)
    assert bad.returncode == 2
    assert "(A warning.)" in bad.stderr
    assert "unknown section" in bad.stderr


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("check", "none.toml"), "nothing of this name"),
        (("check", "."), "got a folder"),
        (("check",), "Missing argument"),
        (("new", "no/such/folder/a.toml"), "got no folder no/such/folder. Make the folder first"),
        (("new", "."), "something that exists"),
        (("chek",), "No such command 'chek'"),
        (("--wrong",), "No such option"),
    ],
)
def test_bad_calls_end_with_2(words, part, tmp_path):
    ended = run(*words, cwd=tmp_path)
    assert ended.returncode == 2
    assert part in ended.stderr
    assert "Traceback" not in ended.stderr
    assert list(tmp_path.iterdir()) == []


def test_help_lists_the_verbs(tmp_path):
    for words in ((), ("--help",), ("-h",)):
        ended = run(*words, cwd=tmp_path)
        assert ended.returncode == 0
        assert "check" in ended.stdout
        assert "new" in ended.stdout
    assert run("--version", cwd=tmp_path).stdout.startswith("modewright, version ")


def test_check_loads_neither_field_solver_nor_plots(tmp_path):
    code = (
        "import sys; from modewright.workflows.check import check_design; "
        "print([m for m in ('ngsolve', 'netgen', 'matplotlib') if m in sys.modules])"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert ended.stdout.strip() == "[]"
