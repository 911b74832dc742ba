"""The text for the chart: what it says, what it leaves blank, and that it never outgrows 1,500."""

import pytest

from api.handover.phrases import BLANK
from api.handover.text import MAXIMUM_CHARACTERS, render_text
from tests.handover.sample import FACTS, NAMES, OPERATOR, PASS, one_pass, sample


def test_four_passes_of_one_setting_fit_with_every_laser_on_time():
    text = render_text(sample(4), NAMES, FACTS)
    assert len(text) <= MAXIMUM_CHARACTERS
    for number in (1, 2, 3, 4):
        assert f"Pass {number}: " in text
    assert text.count("on 42 s (timer)") == 4
    assert "do not fit" not in text


def test_a_pass_shows_set_and_delivered_dose_and_the_date_of_the_check():
    line = next(
        line for line in render_text(sample(1), NAMES, FACTS).splitlines() if "Pass 1" in line
    )
    assert "4 W average, 400 us pulses, 140 Hz" in line
    assert "delivered 3.72 W" in line
    assert "verified 2026-11-16, 93 % of set" in line
    assert "fluence 58.2 J/cm² set / 54.1 J/cm² delivered" in line


def test_only_what_is_equal_is_left_unsaid():
    other_spot = PASS["settings"] | {"spot": {"diameter": "0.4 mm", "diameter_definition": "1/e2"}}
    passes = [one_pass(1), one_pass(2), one_pass(3, settings=other_spot), one_pass(4)]
    text = render_text(sample() | {"passes": passes}, NAMES, FACTS, limit=4000)
    lines = text.splitlines()
    second, third, fourth = (
        line for line in lines if line[:7] in ("Pass 2:", "Pass 3:", "Pass 4:")
    )
    assert second == "Pass 2: settings and dose as pass 1; on 42 s (timer)"
    assert "spot 0.4 mm (1/e2), focused" in third and "verified" not in third
    assert "spot 0.25 mm (1/e2), focused" in fourth


def test_times_are_those_of_the_location():
    # 14:00 UTC on 18 November is 09:00 in New York (UTC-5, after the end of daylight saving).
    assert "2026-11-18 09:00 -05:00 to 09:25" in render_text(sample(), NAMES, FACTS)


def test_empty_fields_are_visible_blanks():
    text = render_text(sample(anaesthesia=None, time_out=None, consent=None), NAMES, FACTS)
    assert f"anaesthesia: {BLANK}" in text
    assert f"Time-out: {BLANK}" in text
    assert f"Consent: {BLANK}" in text
    assert f"specimens: {BLANK}" in text


def test_a_pass_without_verification_claims_no_delivered_dose():
    unverified = one_pass(1, dose=PASS["dose"] | {"delivered": None, "basis": None})
    unverified["settings"].pop("delivery")
    text = render_text(sample(passes=0) | {"passes": [unverified]}, NAMES, FACTS)
    assert f"delivered {BLANK}; not verified with this handpiece and mode" in text
    assert "93 %" not in text


def test_a_dose_by_design_is_not_called_verified():
    # A ratio may stand in the settings and still not be what the delivered dose rests on.
    designed = one_pass(1, dose=PASS["dose"] | {"basis": "design"})
    text = render_text(sample(passes=0) | {"passes": [designed]}, NAMES, FACTS)
    assert "by design of the beam path, not verified" in text
    assert "verified 2026-11-16" not in text


def test_several_laser_on_entries_keep_their_sources():
    entries = [
        {"seconds": 10.0, "source": "timer", "pulses": None},
        {"seconds": 2.5, "source": "estimate", "pulses": 350},
    ]
    passes = [one_pass(1, laser_on=entries, laser_on_s=12.5)]
    text = render_text(sample() | {"passes": passes}, NAMES, FACTS)
    assert "on 12.5 s = 10 s (timer) + 2.5 s (estimate, 350 pulses)" in text


@pytest.mark.parametrize("passes", [0, 1, 7, 25])
@pytest.mark.parametrize("words", [1, 60, 900])
def test_never_longer_than_the_limit_and_says_what_it_cut(passes, words):
    long = "margin " * words
    different = [
        one_pass(
            number + 1,
            settings=PASS["settings"]
            | {"emission": PASS["settings"]["emission"] | {"power": f"{number + 1} W"}},
        )
        for number in range(passes)
    ]
    record = sample(indication=long, site=long, anaesthesia=long) | {"passes": different}
    text = render_text(record, NAMES, FACTS)
    assert len(text) <= MAXIMUM_CHARACTERS
    shown_passes = text.count("\nPass ")
    if shown_passes < passes:
        assert f"[{passes - shown_passes} of {passes} passes do not fit here: see the PDF]" in text
    if words == 900:
        assert "[...]" in text
    assert "log position 412" in text


def test_addenda_are_numbered_and_signed():
    addendum = {
        "text": "Suture removed",
        "reason": "Follow-up",
        "at": "2026-11-20T15:00:00.000+00:00",
        "by": OPERATOR,
    }
    text = render_text(sample(addenda=[addendum], version=2, status="amended"), NAMES, FACTS)
    assert "Addendum 1 (2026-11-20, Dr Marl Testwood, DDS): Suture removed" in text
    assert " v2," in text


def test_a_signature_that_covers_other_entries_is_not_shown_without_saying_so():
    flags = [
        {"code": code, "text": "x", "event_id": "s"}
        for code in ("signer_not_author", "content_hash_differs", "content_hash_differs")
    ]
    lines = render_text(sample(flags=flags), NAMES, FACTS).splitlines()
    remark = "Remarks on the entries, see the PDF: content_hash_differs, signer_not_author"
    assert lines.index(remark) < next(at for at, line in enumerate(lines) if "Signed:" in line)
    assert "Remarks" not in render_text(sample(), NAMES, FACTS)
