"""What happened beside the passes, on paper and in the text; moved and void records."""

import io

import pytest
from pypdf import PdfReader

from api.handover.pdf import render_pdf
from api.handover.phrases import BLANK
from api.handover.text import MAXIMUM_CHARACTERS, render_text
from tests.handover.sample import FACTS, MOVED, NAMES, VOIDED, eventful, one_pass, sample


def pages(record: dict) -> list[str]:
    reader = PdfReader(io.BytesIO(render_pdf(record, NAMES, FACTS)))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def paper(record: dict) -> str:
    return " ".join(pages(record))


def text(record: dict, **more: int) -> str:
    return render_text(record, NAMES, FACTS, **more)


def test_paper_and_text_say_that_the_laser_was_out_of_service():
    causes = [
        {"event_id": "v", "kind": "verification", "at": "x", "text": "Power check failed: 70 %"},
        {"event_id": "t", "kind": "taken_out", "at": "x", "text": "Taken out: beam off centre"},
    ]
    override = {
        "device_id": "d",
        "causes": causes,
        "reason": "Bleeding that nothing else here stops",
        "at": "2026-03-02T09:00:30.000+01:00",
        "by": None,
        "event_id": "o",
    }
    record = {**eventful(), "overrides": [override]}
    found = paper(record)
    assert "Laser out of service" in found
    assert "Power check failed: 70 %" in found and "Taken out: beam off centre" in found
    assert "Went on because Bleeding that nothing else here stops" in found
    line = "Laser out of service, went on: Bleeding that nothing else here stops"
    assert line in text(record)
    assert "Laser out of service" not in paper(eventful()) + text(eventful())


def test_the_paper_tells_the_course():
    found = paper(eventful())
    assert "Pauses From To Reason Noted by 09:08:00 09:10:30 Tip changed Pim Exampleby" in found
    assert "09:09:00 operator Dr Una" in found and "called away" in found
    assert "Heads in the room 3" in found
    assert "patient EW-7 9000-11500 nm 5" in found
    assert f"Dr Marl Testwood, DDS EW-8 {BLANK} {BLANK}" in found
    assert "Deviations third pair not found" in found
    assert "List before the patient" in found and "Room and laser, version 4" in found
    assert "Sign lit at the door no: lamp" in found
    assert "Photographs: 2" in found
    assert "9c" * 32 in found.replace(" ", "") and "5e" * 32 in found.replace(" ", "")
    assert "2048 x 1536 px" in found


def test_tip_and_operator_stand_at_a_pass_where_the_passes_differ():
    first, second = paper(eventful()).split("Pass 2 ")
    assert "Handpiece or tip Straight handpiece (focusing handpiece)" in first.split("Pass 1 ")[1]
    assert "Operator Dr Una Placeholder" in first.split("Pass 1 ")[1]
    assert "Handpiece or tip 0.4 mm tip (waveguide tip)" in second
    assert "Operator Dr Marl Testwood, DDS" in second
    same = paper(sample(2))
    assert same.count("Handpiece or tip") == 1
    assert same.count("Operator") == 1


def test_the_text_tells_the_course():
    found = text(eventful(), limit=4000)
    assert "Pauses: 09:08-09:10 (Tip changed)" in found
    assert "09:09 operator handed over: Dr Una Placeholder to Dr Marl Testwood, DDS" in found
    assert "List before the patient: 0 of 1 yes, 1 no, 08:50" in found
    assert (
        "Protection: 3 heads, 2 eyewear; evacuator: 5 cm from the site; masks: respirators; "
        "deviations: third pair not found" in found
    )
    assert "Photographs: 2 (Before 9c9c9c9c9c9c, 5e5e5e5e5e5e)" in found
    assert "Pass 1: by Dr Una Placeholder; pulsed" in found
    assert (
        "Pass 2: by Dr Marl Testwood, DDS; with 0.4 mm tip; settings and dose as pass 1; on 42 s"
        in found
    )


def test_the_passes_matter_more_than_what_is_beside_them():
    found = text(eventful())
    assert len(found) <= MAXIMUM_CHARACTERS
    assert "Pass 1: by Dr Una Placeholder; pulsed" in found
    assert "with 0.4 mm tip" in found
    assert (
        "Also recorded, see the PDF: lists answered 1, pauses 1, hand-overs 1, photographs 2"
        in found
    )
    assert "Protection: 3 heads, 2 eyewear; deviations: third pair not found" in found


def test_what_did_not_happen_is_not_told_and_protection_is_a_blank():
    found = text(sample())
    assert f"Protection: {BLANK}" in found
    for word in ("Pauses", "handed over", "Photographs", "VOID", "Moved"):
        assert word not in found
    printed = paper(sample())
    assert f"Protection {BLANK}" in printed
    for word in ("Pauses", "Hand-overs", "Photographs", "VOID", "Moved"):
        assert word not in printed


def test_a_moved_record_names_its_patient_and_never_the_other_number():
    record = eventful(reattributions=[MOVED], version=2, status="amended")
    for found in (paper(record), text(record)):
        assert "Moved from another chart number" in found
        assert "Opened on the wrong card" in found
        assert "C-20417" in found
        assert "C-99999" not in found and "ZZ" not in found


@pytest.mark.parametrize("passes", [1, 15])
def test_a_void_record_says_so_on_every_page_and_at_both_ends_of_the_text(passes):
    record = sample(passes, voided=VOIDED, status="void", version=2)
    for page in pages(record):
        assert "VOID since 2026-11-21 10:00 -05:00, Dr Marl Testwood, DDS: Recorded twice" in page
        # Once at the head, once across.
        assert page.count("VOID") == 2
    lines = text(record).splitlines()
    assert lines[0].startswith("VOID since 2026-11-21 10:00 -05:00")
    assert lines[-2] == "This record is VOID."


def test_a_long_reason_for_voiding_stands_in_full_once_and_short_at_each_head():
    reason = " ".join(f"because{number}" for number in range(900))
    printed = pages(sample(4, voided=VOIDED | {"reason": reason}, status="void", version=2))
    assert all("because3 " in page.split("Provider")[0] for page in printed)
    missing = [number for number in range(900) if f"because{number} " not in " ".join(printed)]
    assert missing == []


def test_void_survives_every_cut():
    long = "margin " * 900
    record = sample(voided=VOIDED | {"reason": long}, status="void", indication=long)
    record["passes"] = [one_pass(number + 1) for number in range(25)]
    for limit in (300, 600, MAXIMUM_CHARACTERS):
        found = text(record, limit=limit)
        assert len(found) <= limit
        assert found.startswith("VOID since")
    assert "This record is VOID." in found
