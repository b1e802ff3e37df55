from __future__ import annotations

import lidoff


def test_json_is_what_the_function_gives(lidoff_command) -> None:
    done = lidoff_command("decode", "104K", "--json")
    assert (done.status, done.err) == (0, "")
    assert done.json == lidoff.decode("104K")
    first = done.json["candidates"][0]
    # IEC 60062: 10 with four noughts in picofarads, K for 10 %.
    assert (first["kind"], first["unit"]) == ("capacitor", "F")
    assert abs(first["value"] / 100e-9 - 1) < 1e-9
    assert abs(first["tolerance"] - 0.10) < 1e-9
    assert set(first) >= {"kind", "value", "unit", "tolerance", "text", "why", "basis"}
    assert set(done.json) >= {"marking", "candidates", "settled", "would_settle", "warnings"}


def test_words_are_joined_to_one_marking(lidoff_command) -> None:
    done = lidoff_command("decode", "brown", "green", "red", "gold", "--json")
    assert done.json["marking"] == "brown green red gold"
    assert done.json["candidates"][0]["value"] == 1500.0  # IEC 60062: 15 x 100 ohm
    assert done.json == lidoff_command("decode", "brown green red gold", "--json").json


def test_for_people(lidoff_command) -> None:
    done = lidoff_command("decode", "104K")
    assert (done.status, done.err) == (0, "")
    assert "100 nF" in done.out.splitlines()[0], "the best reading stands first and large"
    assert "capacitor" in done.out


def test_kind_and_measured_reach_the_decoder(lidoff_command) -> None:
    assert lidoff_command("decode", "473", "--kind", "resistor", "--json").json == lidoff.decode("473", kind="resistor")
    assert lidoff_command("decode", "473", "--measured", "47 nF", "--json").json == lidoff.decode(
        "473", measured="47 nF"
    )


def test_an_impossible_marking_is_status_1_with_no_candidates(lidoff_command) -> None:
    done = lidoff_command("decode", "qqq zzz", "--json")
    assert done.status == 1
    assert done.json["candidates"] == []
    assert len(done.err.splitlines()) == 1
    assert "qqq zzz" in done.err
