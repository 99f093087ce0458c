"""``modewright control`` as a user meets it."""

import json


def test_methods_are_compared_and_one_is_recommended(call, example):
    found = json.loads(call("control", example, "--accuracy", "draft", "--json").out)
    assert found["recommended"] == found["stated"] == "joint observer"
    methods = {one["method"]: one for one in found["methods"]}
    assert methods["joint observer"]["serves"]
    for got, mode in zip(methods["joint observer"]["t60_s"], found["modes"], strict=True):
        assert abs(got / mode["wanted_t60_s"] - 1) < 0.05
    ended = call("control", example, "--accuracy", "draft")
    assert ended.code == 0
    assert "Take the joint observer" in ended.out


def test_another_method_in_the_design_is_played_and_named(call, example, tmp_path):
    text = example.read_text(encoding="utf-8").partition("\n[tune]\n")[0]
    design = tmp_path / "band.toml"
    design.write_text(text.replace("[loop]\n", '[loop]\nmethod = "band-pass"\n'), encoding="utf-8")
    ended = call("control", design, "--accuracy", "draft")
    assert 'The design states loop.method = "band-pass".' in ended.out
    told = json.loads(call("firmware", design, "--accuracy", "draft", "--json").out)
    assert told["observed"] == told["regulated"] == 6


def test_a_method_that_cannot_hold_is_refused_with_its_line(call, example, tmp_path):
    text = example.read_text(encoding="utf-8").partition("\n[tune]\n")[0]
    design = tmp_path / "damping.toml"
    design.write_text(
        text.replace("[loop]\n", '[loop]\nmethod = "velocity feedback"\n'), encoding="utf-8"
    )
    ended = call("loop", design, "--accuracy", "draft")
    assert ended.code == 2
    assert "loop.method: expected joint observer or band-pass, since mode 1 is held" in ended.err
