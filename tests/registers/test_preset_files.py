"""Presets in files: out and in again is the same, and what a file would do is said row by row."""

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.errors import BadInput
from api.presets import exchange, files
from api.presets.row import COLUMNS, flat, to_row, to_settings

DEVICE = {
    "device_id": "d1",
    "label": "Arm laser",
    "wavelength": "10.6 um",
    "modes": ["continuous", "pulsed"],
    "limits": {"average_power": {"max": "15 W"}},
}
SETTINGS = {
    "wavelength": "10.6 um",
    "emission": {
        "mode": "pulsed",
        "power": "3 W",
        "power_kind": "average",
        "pulse_duration": "250 us",
        "repetition_rate": "120 Hz",
    },
    "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
}
PRESET = {
    "preset_id": "p1",
    "status": "current",
    "withdrawn": None,
    "version": 2,
    "name": "Frenum, fine",
    "procedure_kind_id": "k1",
    "device_id": "d1",
    "handpiece_id": "h1",
    "settings": SETTINGS,
    "spot_known": "label",
    "focus": "focused",
    "coolant": "air",
    "note": None,
    "reviewed_by": "dent",
}


NO_NAMES = {name: {} for name in ("procedure", "laser", "handpiece", "reviewer")}


def house(*presets):
    return exchange.House(
        presets={one["preset_id"]: one for one in presets},
        devices={"d1": DEVICE, "d2": {**DEVICE, "device_id": "d2", "label": "Guide laser"}},
        handpieces={
            "h1": {"handpiece_id": "h1", "device_id": "d1", "label": "Fine tip"},
            "h2": {"handpiece_id": "h2", "device_id": "d2", "label": "Fine tip"},
            "h3": {"handpiece_id": "h3", "device_id": "d1", "label": "Broad tip"},
            "h4": {"handpiece_id": "h4", "device_id": "d1", "label": "Broad tip"},
        },
        kinds={"k1": {"procedure_kind_id": "k1", "text": "Labial frenectomy"}},
        people={"dent": {"person_id": "dent", "display_name": "Dr Test"}},
    )


def again(rows, form):
    return files.read(files.write(rows, form), form)


def filled(row):
    return {name: text for name, text in row.items() if text != ""}


def outcomes(text, *presets, form="csv"):
    return exchange.plan(files.read(text, form), house(*presets), importer="dent")


def table(*rows):
    """Write a CSV by hand: the columns of the first row, comma between cells."""
    out = io.StringIO()
    writer = csv.DictWriter(out, fieldnames=list(rows[0]))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


BY_HAND = {
    "name": "Frenum, fine",
    "laser": "Arm laser",
    "handpiece": "Fine tip",
    "procedure": "Labial frenectomy",
    "wavelength": "10.6 um",
    "emission.mode": "continuous",
    "emission.power": "4 W",
    "spot.diameter": "0.25 mm",
    "spot.diameter_definition": "1/e2",
    "spot_known": "label",
    "focus": "focused",
    "coolant": "air",
}

# Every character that JSON and the log can carry: no half surrogate pairs, no NUL.
TEXT = st.text(
    st.characters(exclude_categories=("Cs",), exclude_characters="\x00"), min_size=1, max_size=12
) | st.sampled_from(
    ["=1+1", "+1", "-1", "@a", "'=1", "''", "'", "\t1", '"', "a,b", "a;b", "ä\r\nb"]
)
ROWS = st.lists(
    st.fixed_dictionaries(
        {"name": TEXT, "note": TEXT},
        optional={
            "emission.power": TEXT,
            "spot.focal_length": TEXT,
            "delivery.mirror_count": TEXT,
            "reviewer": TEXT,
        },
    ),
    min_size=1,
    max_size=5,
)


@given(ROWS)
def test_rows_come_back_from_both_kinds_of_file_as_they_were(rows):
    assert [filled(row) for row in again(rows, "csv")] == rows
    assert again(rows, "json") == rows
    assert [filled(row) for row in again(again(rows, "json"), "csv")] == rows


@given(TEXT)
def test_no_cell_is_left_that_a_spreadsheet_would_take_for_a_formula(text):
    written = files.write([{"name": text}], "csv").removeprefix("\ufeff")
    [_, line] = list(csv.reader(io.StringIO(written, newline="")))
    assert not line[COLUMNS.index("name")].startswith(("=", "+", "-", "@", "\t", "\r", "\n"))


def test_without_the_guard_a_formula_would_stand_in_the_file(monkeypatch):
    # The known-bad stub that the test above must catch.
    monkeypatch.setattr(files, "_guarded", lambda cell: cell)
    assert "=1+1" in files.write([{"name": "=1+1"}], "csv").splitlines()[1].split(",")


@pytest.mark.parametrize("form", files.FORMATS)
def test_what_is_exported_is_the_same_when_it_is_imported(form):
    text = files.write(exchange.export_rows(house(PRESET)), form)
    [one] = outcomes(text, PRESET, form=form)
    assert (one.outcome, one.version, one.errors) == (exchange.SAME, 2, {})


@pytest.mark.parametrize("form", files.FORMATS)
def test_into_an_empty_practice_and_out_again_is_equal(form):
    text = files.write(exchange.export_rows(house(PRESET)), form)
    [one] = outcomes(text, form=form)
    assert (one.outcome, one.preset_id, one.payload["version"]) == (exchange.NEW, "p1", 1)
    published = {**PRESET, **one.payload, "preset_id": "p1"}
    first = again(exchange.export_rows(house(PRESET)), form)
    second = again(exchange.export_rows(house(published)), form)
    assert [{**row, "version": "1"} for row in first] == second


def test_settings_and_rows_are_the_same_both_ways():
    by_lens = {
        **SETTINGS,
        "spot": {"focal_length": "125 mm", "beam_diameter_at_lens": "9 mm", "beam_quality_m2": 1},
        "motion": {"speed": "5 mm/s"},
    }
    row = to_row({**PRESET, "settings": by_lens}, {name: {} for name in exchange.NAMED})
    # A whole number is written as its digits: a cell has no types.
    assert to_settings(row) == {**by_lens, "spot": {**by_lens["spot"], "beam_quality_m2": "1"}}
    assert flat({"emission": {"power": {"value": 4, "unit": "W"}}}) == {"emission.power": "4 W"}


def test_withdrawn_presets_and_drafts_are_not_exported():
    gone = {**PRESET, "preset_id": "p2", "status": "withdrawn"}
    shell = {"preset_id": "p3", "status": "draft", "drafts": [PRESET]}
    assert [row["preset_id"] for row in exchange.export_rows(house(gone, shell, PRESET))] == ["p1"]


def test_a_table_written_by_hand_is_understood():
    [one] = outcomes(table(BY_HAND))
    assert (one.outcome, one.errors) == (exchange.NEW, {})
    assert one.payload == {
        "version": 1,
        "name": "Frenum, fine",
        "procedure_kind_id": "k1",
        "device_id": "d1",
        "handpiece_id": "h1",
        "settings": {
            "wavelength": "10.6 um",
            "emission": {"mode": "continuous", "power": "4 W"},
            "spot": {"diameter": "0.25 mm", "diameter_definition": "1/e2"},
        },
        "spot_known": "label",
        "focus": "focused",
        "coolant": "air",
        "note": None,
        "reviewed_by": "dent",
    }


def test_semicolons_and_a_byte_order_mark_are_understood():
    text = "\ufeff" + table(BY_HAND).replace("Frenum, fine", "Frenum").replace(",", ";")
    assert [one.outcome for one in outcomes(text)] == [exchange.NEW]


def test_by_its_name_laser_and_tip_a_row_is_the_next_version():
    [one] = outcomes(table(BY_HAND), PRESET)
    assert (one.outcome, one.preset_id, one.version, one.base_version) == (
        exchange.NEXT,
        "p1",
        3,
        2,
    )


@pytest.mark.parametrize(
    ("change", "column", "words"),
    [
        ({"emission.power": "1,5 W"}, "emission.power", 'such as "4.5 W"'),
        ({"emission.power": "4"}, "emission.power", "W"),
        ({"emission.power": "16 W"}, "emission.power", "above the device's maximum"),
        ({"emission.mode": "gated"}, "emission.mode", "does not have this mode"),
        ({"emission.mode": ""}, "emission.mode", "required"),
        ({"wavelength": "9.3 um"}, "wavelength", "10.6 um"),
        ({"spot.diameter": "", "spot.diameter_definition": ""}, "spot", "needed"),
        ({"name": ""}, "name", "is needed"),
        ({"name": "  "}, "name", "is needed"),
        ({"focus": "sharp"}, "focus", "one of"),
        ({"laser": "Other"}, "laser", "not known here"),
        ({"laser": ""}, "laser", "is needed"),
        ({"handpiece": "Broad tip"}, "handpiece", "there are 2 of this name"),
        ({"procedure": "Unheard of"}, "procedure", "not known here"),
        ({"reviewer": "Somebody"}, "reviewer", "not known here"),
        ({"version": "1"}, "version", "version 2 is in force, not 1"),
        ({"preset_id": "p9"}, "name", "has this name"),
        ({"emission.gate_on": "5 ms"}, "emission.gate_on", "gated emission only"),
        ({"delivery.verified_ratio": "0.9"}, "delivery.verified_ratio", "power checks"),
    ],
)
def test_a_bad_row_is_refused_in_words_at_its_column(change, column, words):
    [one] = outcomes(table({**BY_HAND, **change}), PRESET)
    assert one.outcome == exchange.REFUSED
    assert words.lower() in " ".join(one.errors.get(column, [])).lower(), one.errors


def test_values_that_contradict_each_other_are_refused():
    row = {
        **BY_HAND,
        "emission.mode": "pulsed",
        "emission.power": "3 W",
        "emission.power_kind": "average",
        "emission.pulse_energy": "50 mJ",
        # 50 mJ at 120 Hz are 6 W, by hand.
        "emission.repetition_rate": "120 Hz",
    }
    [one] = outcomes(table(row))
    assert one.outcome == exchange.REFUSED
    said = " ".join(text for texts in one.errors.values() for text in texts)
    assert "3 W" in said and "6 W" in said


def test_a_withdrawn_preset_is_not_put_back_by_a_file():
    withdrawn = {"event_id": "e2", "version": 2, "reason": "too hot", "at": "2026-03-02T09:30"}
    gone = {**PRESET, "status": "withdrawn", "withdrawn": withdrawn}
    [one] = outcomes(table({**BY_HAND, "preset_id": "p1"}), gone)
    assert one.errors["preset_id"] == ["was withdrawn on 2026-03-02: too hot"]


def test_two_rows_about_one_preset_are_not_both_done():
    rows = outcomes(table(BY_HAND, {**BY_HAND, "emission.power": "5 W"}), PRESET)
    assert [one.outcome for one in rows] == [exchange.NEXT, exchange.REFUSED]
    fresh = outcomes(table(BY_HAND, {**BY_HAND, "emission.power": "5 W"}))
    assert [one.outcome for one in fresh] == [exchange.NEW, exchange.REFUSED]


@pytest.mark.parametrize(
    ("form", "text", "words"),
    [
        ("csv", "", "no preset"),
        ("csv", "name,laser\r\n", "no preset"),
        ("csv", "name,colour\r\na,b\r\n", "not known"),
        ("csv", "name,name\r\na,b\r\n", "given twice"),
        ("csv", "name,laser\r\na\r\n", "Row 2 has 1 cells"),
        ("csv", 'name,laser\r\n"a,b\r\n', "cannot be read"),
        ("csv", "name\r\n" + "a\r\n" * 501, "at most 500"),
        ("csv", "x" * (files.MOST_CHARACTERS + 1), "characters"),
        ("json", "[]", "not JSON"),
        ("json", "{}", '"format"'),
        ("json", json.dumps({"format": "presets", "version": 2, "presets": []}), '"version": 1'),
        ("json", json.dumps({"format": "presets", "version": 1, "presets": []}), "no preset"),
        ("json", json.dumps({"format": "presets", "version": 1, "presets": [1]}), "not an object"),
        (
            "json",
            json.dumps({"format": "presets", "version": 1, "presets": [{"colour": "red"}]}),
            "not known",
        ),
        (
            "json",
            json.dumps({"format": "presets", "version": 1, "presets": [{"emission.power": 4}]}),
            "must be a text",
        ),
    ],
)
def test_what_is_no_such_file_is_refused_in_words(form, text, words):
    with pytest.raises(BadInput) as refused:
        files.read(text, form)
    assert words in refused.value.message
    assert list(refused.value.errors) == ["content"]


def test_two_rows_whose_names_differ_in_case_only_are_about_one_preset():
    row = {**to_row(PRESET, NO_NAMES), "preset_id": "", "version": ""}
    twice = [row, {**row, "name": row["name"].upper()}]
    first, second = exchange.plan(twice, house(), importer="dent")
    assert (first.outcome, second.outcome) == (exchange.NEW, exchange.REFUSED)
    assert second.errors == {"name": ["an earlier row is about the same preset"]}
