"""``modewright modes`` and ``modewright loop``: exit codes, texts and plain data."""

import json
import re

import pytest


def test_modes_of_a_bare_body_as_a_table(strip, call):
    ended = call("modes", strip, "--count", 3, "--accuracy", "draft")
    assert (ended.code, ended.err) == (0, "")
    lines = ended.out.splitlines()
    assert lines[0] == "strip: modes in vacuum (solid elements, draft), modal mass at tip"
    first = next(line for line in lines if line.strip().startswith("1 "))
    assert first.rstrip().endswith("bending 1")
    assert "Share of each loss in %" in lines
    assert re.search(r"^body 4\.73 g, A4 = 440 Hz, design [0-9a-f]{12}$", ended.out, re.MULTILINE)
    assert "\x1b" not in ended.out


def test_modes_as_plain_data(strip, call):
    ended = call("modes", strip, "--count", 3, "--accuracy", "draft", "--json")
    assert ended.code == 0
    found = json.loads(ended.out)
    assert re.fullmatch(r"[0-9a-f]{64}", found["design_hash"])
    assert found["accuracy"] == "draft"
    assert len(found["modes"]) == 3
    wanted = {"freq_hz", "cents_error_estimate", "q", "t60_s", "label", "note", "modal_mass_kg"}
    for mode in found["modes"]:
        assert wanted <= set(mode)
        # T60 = 3 ln 10 Q/(π f) = 2.1988 Q/f (Cremer & Heckl), at the frequency in air.
        in_air_hz = mode["freq_hz"] * 2 ** (mode["air_cents"] / 1200)
        assert mode["t60_s"] == pytest.approx(2.1988 * mode["q"] / in_air_hz, rel=3e-5)
        assert sum(mode["loss_shares"].values()) == pytest.approx(1)
        assert mode["cents_error_estimate"] >= 0
    # Euler-Bernoulli with E = 193 GPa and ρ = 7880 kg/m³, 1.8751² /(2π L²) sqrt(E h²/(12 ρ)); a
    # sheet is stiffer by up to 1/sqrt(1 - ν²), 5 per cent.
    beam_hz = 1.8751**2 / (2 * 3.14159265 * 0.06**2) * (193e9 * 1e-6 / (12 * 7880)) ** 0.5
    assert 1 <= found["modes"][0]["freq_hz"] / beam_hz < 1.05
    # 1.14 (π/4) ρ b of air on ρ h of steel, 10 mm on 1 mm: 866 cents times 0.00137, and the layer.
    # (1.14 for sides of 10 : 1, Blevins, Formulas for Natural Frequency and Mode Shape, 1979, table
    # 14-1, from memory.)
    assert -1.35 < found["modes"][0]["air_cents"] < -1.18


def test_loop_of_a_body_without_pickup_says_what_to_add(strip, call):
    ended = call("loop", strip, "--accuracy", "draft")
    assert (ended.code, ended.out) == (2, "")
    assert "loop: expected a pickup and a driver, got a design without. Add to" in ended.err


def test_what_loop_tells_to_add_makes_a_loop(strip, call):
    told = call("loop", strip).err
    strip.write_text(strip.read_text(encoding="utf-8") + told[told.index("\n\n") :])
    ended = call("loop", strip, "--accuracy", "draft")
    assert (ended.code, ended.err) == (0, "")
    assert "Stable: " in ended.out


def test_loop_of_a_body_without_driver_names_only_that(strip, call):
    plate = '[[pickups]]\n[pickups.plate]\nkind = "disc"\ncentre = ["50 mm", "0 mm"]\n'
    text = strip.read_text(encoding="utf-8") + plate + 'diameter = "6 mm"\n'
    strip.write_text(text, encoding="utf-8")
    ended = call("loop", strip)
    assert ended.code == 2
    assert "loop: expected a driver, got a design without." in ended.err
    assert "[[drivers]]" in ended.err
    assert "[[pickups]]" not in ended.err


def test_modes_of_the_loop_by_their_labels(example, bench_g3, tmp_path, call):
    labels = bench_g3.loop.plant.labels
    # Limits and targets after the loop know numbers only.
    head, strike, tail = example.read_text(encoding="utf-8").partition("[strike]")
    head = re.sub(
        r"(?m)^mode = (\d+)$", lambda m: f'mode = "{labels[int(m.group(1)) - 1].upper()}"', head
    )
    named = tmp_path / "named.toml"
    named.write_text(head + strike + tail, encoding="utf-8")
    ended = call("loop", named, "--accuracy", "draft", "--json")
    assert ended.code == 0
    assert [m["number"] for m in json.loads(ended.out)["loop"]["modes"]] == [1, 2, 3, 4, 5, 7]


def test_unknown_label_lists_those_there_are_with_its_line(example, bench_g3, tmp_path, call):
    first = bench_g3.loop.plant.labels[0]
    text = example.read_text(encoding="utf-8")
    text = text.replace("mode = 1\n", f'mode = "{first[:-1]}"\n', 1).replace(
        "mode = 2\n", 'mode = "wobble"\n', 1
    )
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(text, encoding="utf-8")
    ended = call("loop", wrong, "--accuracy", "draft")
    assert (ended.code, ended.out) == (2, "")
    line = text.split("\n").index(f'mode = "{first[:-1]}"') + 1
    assert f"wrong.toml:{line}: loop.modes[1].mode: expected a number from 1 to" in ended.err
    assert f'one of the labels "{first}", ' in ended.err
    assert f'Did you mean "{first}"' in ended.err
    assert 'got "wobble".' in ended.err
    assert ended.err.startswith("2 problems found:")


def test_loop_of_the_example(example, bench_g3, call):
    ended = call("loop", example, "--accuracy", "draft")
    assert (ended.code, ended.err) == (0, "")
    assert "Stable: " in ended.out
    for title in ("At rest", "Pickup plate: ", "Driver magnet: ", "Signal path", "Treated modes",
                  "Margins", "as stated", "all damped"):  # fmt: skip
        assert title in ended.out
    for number in bench_g3.loop.regulators.modes + 1:
        assert f"mode {number}" in ended.out


def test_loop_of_the_example_as_plain_data(example, bench_g3, call):
    ended = call("loop", example, "--accuracy", "draft", "--json")
    assert ended.code == 0
    found = json.loads(ended.out)
    assert found["design_hash"] == bench_g3.loaded.design_hash
    loop = found["loop"]
    assert loop["is_stable"] is True
    assert loop["delay_samples"] / loop["rate_hz"] == pytest.approx(1e-3)
    assert [m["number"] for m in loop["modes"]] == [1, 2, 3, 4, 5, 7]
    for case in loop["cases"]:
        assert len(case["poles"]) + len(case["held"]) == loop["modes_in_plant"]
        assert all(pole["decay_rate_per_s"] > 0 for pole in case["poles"])
        assert {"gain_db", "phase_deg", "delay_s"} <= set(case["margins"])


def test_loop_that_treats_no_mode(example, tmp_path, call):
    text = example.read_text(encoding="utf-8")
    head, _, tail = text.partition("[[loop.modes]]")
    bare = tmp_path / "bare.toml"
    bare.write_text(head + tail[tail.index("[strike]") :], encoding="utf-8")
    ended = call("loop", bare, "--accuracy", "draft")
    assert ended.code == 0
    assert "Stable: " in ended.out


def test_unstable_loop_names_modes_and_is_not_rendered(unstable, tmp_path, call):
    ended = call("loop", unstable, "--accuracy", "draft")
    assert ended.code == 0
    assert "UNSTABLE: " in ended.out
    assert re.search(r"Unstable \(all damped\): mode \d+ \(.+\) grows at [\d.]+ Hz", ended.out)

    score = tmp_path / "score.toml"
    score.write_text('length = "1 s"\nstart = "damped"\n[[strikes]]\nat = "0 s"\n')
    sound = tmp_path / "note.wav"
    words = ("render", unstable, "--accuracy", "draft", "-o", sound, "--score", score)
    ended = call(*words)
    assert ended.code == 2
    assert "got a howl from 0.00 s on: Unstable (" in ended.err
    assert not sound.exists()

    # Left free, the body can still be heard.
    score.write_text('length = "1 s"\nstart = "free"\n[[strikes]]\nat = "0 s"\n')
    assert call(*words).code == 0
    assert sound.exists()


def test_hopeless_delay_names_its_limit(example, tmp_path, call):
    text = example.read_text(encoding="utf-8")
    text, count = re.subn(r'(?m)^total_delay = ".*"$', 'total_delay = "400 ms"', text)
    assert count == 1
    slow = tmp_path / "slow.toml"
    slow.write_text(text, encoding="utf-8")
    ended = call("loop", slow, "--accuracy", "draft")
    assert ended.code == 2
    assert re.search(r"expected a total delay of at most [\d.]+ ms, got 400\.00 ms", ended.err)


@pytest.mark.parametrize("verb", ["modes", "loop"])
@pytest.mark.parametrize(
    ("name", "part"), [("none.toml", "nothing of this name"), (".", "got a folder")]
)
def test_missing_design(verb, name, part, tmp_path, call):
    ended = call(verb, tmp_path / name)
    assert (ended.code, ended.out) == (2, "")
    assert part in ended.err


@pytest.mark.parametrize("verb", ["modes", "loop"])
def test_every_problem_of_a_design_with_its_line(verb, strip, call):
    text = strip.read_text(encoding="utf-8")
    text = text.replace('"60 mm"', '"60"').replace("width", "widht").replace("stainless 301", "tin")
    strip.write_text(text, encoding="utf-8")
    ended = call(verb, strip)
    assert (ended.code, ended.out) == (2, "")
    for line, what in ((5, "material.name"), (10, "resonator.length"), (11, "resonator.widht")):
        assert (
            f"{strip}:{line}: {what}: expected" in ended.err
            or f"{strip}:{line}: {what}" in ended.err
        )
    assert re.match(r"\d problems found:", ended.err)


@pytest.mark.parametrize(
    ("words", "part"),
    [
        (("--count", "0"), "0 is not in the range"),
        (("--count", "many"), "'many' is not a valid integer"),
        (("--accuracy", "perfect"), "'perfect' is not one of"),
    ],
)
def test_wrong_options(words, part, strip, call):
    ended = call("modes", strip, *words)
    assert (ended.code, ended.out) == (2, "")
    assert part in ended.err


def test_unusable_cache_is_told(strip, tmp_path, monkeypatch, call):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("MODEWRIGHT_CACHE", str(tmp_path / "file"))
    ended = call("modes", strip, "--accuracy", "draft", "--count", 1)
    assert ended.code == 2
    assert "Set MODEWRIGHT_CACHE to a folder that can be written to." in ended.err


def test_place_beyond_every_sheet(example, tmp_path, call):
    text = example.read_text(encoding="utf-8")
    far = tmp_path / "far.toml"
    text, count = re.subn(r'(?<=centre = \[")-?[\d.]+(?= mm")', "5.8e251", text, count=1)
    assert count == 1
    far.write_text(text, encoding="utf-8")
    ended = call("loop", far)
    assert ended.code == 2
    assert "pickups[1].plate.centre[1]: expected at most 100000 mm" in ended.err
