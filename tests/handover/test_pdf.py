"""The PDF, read back with pypdf, an independent reader."""

import io
import subprocess
import sys

import pytest
import segno
from pypdf import PdfReader

from api.handover.page import printable
from api.handover.pdf import qr_text, render_pdf
from api.handover.phrases import CAUTIONS
from tests.handover.sample import FACTS, HASH, LINK, NAMES, QUESTIONS, RECORD, one_pass, sample


def read(record: dict) -> PdfReader:
    return PdfReader(io.BytesIO(render_pdf(record, NAMES, FACTS)))


def words(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


@pytest.mark.parametrize("passes", [0, 1, 4, 15])
def test_every_page_names_patient_date_and_provider_and_counts_the_pages(passes):
    pages = read(sample(passes)).pages
    assert len(pages) >= 2
    for number, page in enumerate(pages, start=1):
        text = page.extract_text()
        assert "Chart C-20417 · RB" in text
        assert "Date of service 2026-11-18" in text
        assert "Provider Dr Marl Testwood, DDS" in text
        assert f"Page {number} of {len(pages)}" in text


def test_every_pass_shows_both_doses_with_the_date_of_the_check():
    text = words(read(sample(4)))
    for number in (1, 2, 3, 4):
        assert f"Pass {number} 09:05:00 to 09:07:30" in text
    assert text.count("Delivered: verified 2026-11-16, 93 % of set") == 4
    assert text.count("average power 4 W 3.72 W") == 4
    assert text.count("mean fluence of a pulse 58.2 J/cm² 54.1 J/cm²") == 4
    assert text.count("total energy of the pass 168 J 156 J") == 4
    assert text.count("Laser-on time 42 s (timer)") == 4


def test_proof_time_out_and_cautions_are_there():
    text = words(read(sample()))
    assert HASH in text.replace(" ", "")
    assert LINK in text.replace(" ", "")
    assert "Log position 412" in text
    assert RECORD in text
    for question in QUESTIONS:
        assert question in text
    assert "not applicable: room air" in text
    assert "Signed by Dr Marl Testwood, DDS" in text
    for caution in CAUTIONS:
        assert caution in text


def test_the_code_finds_the_entry_and_holds_nothing_of_the_patient():
    held = qr_text(sample(), FACTS)
    assert HASH in held and LINK in held and RECORD in held and "412" in held
    for secret in ("C-20417", "RB", "Testwood", "frenectomy"):
        assert secret not in held
    assert segno.make(held, error="m").error == "M"


def test_with_an_address_the_code_leads_there_and_the_paper_says_so():
    address = f"https://dose.practice.example/#/records/{RECORD}/proof/1/{LINK[:16]}"
    facts = FACTS | {"address": address}
    assert qr_text(sample(), facts) == address
    text = words(PdfReader(io.BytesIO(render_pdf(sample(), NAMES, facts))))
    assert f"Checkedat{address}" in text.replace(" ", "")
    for secret in ("C-20417", "RB", "Testwood", "frenectomy"):
        assert secret not in address
    # What is before the "#" is all that a browser sends, and all that a server's log can hold.
    assert RECORD not in address.partition("#")[0]


def test_long_texts_run_over_pages_without_losing_a_word():
    numbered = " ".join(f"word{number}" for number in range(3000))
    reader = read(sample(indication=numbered))
    assert len(reader.pages) > 4
    text = words(reader)
    missing = [number for number in range(3000) if f"word{number} " not in text]
    assert missing == []


def test_one_word_longer_than_a_line_is_broken_not_lost():
    text = words(read(sample(site="x" * 700)))
    assert text.count("x") >= 700


@pytest.mark.parametrize(
    "site", ["東京", "שלום", "\U0001f9b7", "a\x00b\u200bc", "\ud800", "Ελλ Жук Zoë"]
)
def test_characters_the_font_lacks_are_written_as_code_points(site):
    text = words(read(sample(site=site)))
    for character in site:
        assert character in text or f"<U+{ord(character):04X}>" in text


def test_letters_the_font_has_are_left_alone():
    assert printable("Zoë Ωµ² Жук\n4 W") == "Zoë Ωµ² Жук\n4 W"


def test_empty_fields_are_blanks_and_missing_groups_do_not_crash():
    bare = sample(passes=0, time_out=None, verification=None, outcome=None, consent=None)
    text = words(read(bare | {"handpiece": None, "device": None, "notes": []}))
    assert "Specimens ____" in text
    assert "Last verified ____" in text
    assert "Time-out ____" in text


def test_an_unverified_pass_has_no_delivered_figures():
    one = one_pass(1)
    one["settings"].pop("delivery")
    one["dose"] |= {"delivered": None, "basis": None}
    one["total_energy_j"] = {"set": 168.0, "delivered": None}
    text = words(read(sample() | {"passes": [one]}))
    assert "Delivered: not verified with this handpiece and mode" in text
    assert "average power 4 W ____" in text
    assert "3.72 W" not in text


def test_reasons_for_absent_results_are_printed():
    one = one_pass(1)
    one["dose"]["set"].pop("fluence_mean")
    one["dose"]["absent"] = {"fluence_mean": "power kind not stated"}
    text = words(read(sample() | {"passes": [one]}))
    assert "Not computed. mean fluence of a pulse: power kind not stated" in text


def test_addenda_and_remarks_are_printed_on_the_new_version():
    addendum = {
        "text": "Suture removed",
        "reason": "Follow-up visit",
        "at": "2026-11-20T15:00:00.000+00:00",
        "by": sample()["operator_id"],
    }
    flag = {"code": "two corrections", "text": "The entry was corrected twice", "event_id": "e"}
    text = words(read(sample(version=2, addenda=[addendum], flags=[flag])))
    assert "Addendum 1 Text Suture removed Reason Follow-up visit" in text
    assert "At 2026-11-20 10:00 -05:00" in text
    assert "two corrections The entry was corrected twice" in text


def test_the_font_is_embedded_as_a_subset_and_the_dates_are_the_records():
    reader = read(sample())
    for font in reader.pages[0]["/Resources"]["/Font"].values():
        descendant = font.get_object()["/DescendantFonts"][0].get_object()
        descriptor = descendant["/FontDescriptor"].get_object()
        assert "Roboto" in descriptor["/FontName"]
        assert len(descriptor["/FontFile2"].get_object().get_data()) < 60_000
    assert reader.metadata.creation_date.isoformat() == "2026-11-18T14:30:00+00:00"
    assert "modification_date" not in str(reader.metadata)


def test_two_renderings_in_two_processes_are_the_same_bytes():
    # Another process with another hash seed, so that neither the clock nor set order can show.
    script = (
        "import hashlib;from api.handover.pdf import render_pdf;"
        "from tests.handover.sample import *;"
        "print(hashlib.sha256(render_pdf(sample(3), NAMES, FACTS)).hexdigest())"
    )
    digests = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={"PYTHONHASHSEED": seed, "SOURCE_DATE_EPOCH": epoch, "PYTHONPATH": "."},
            check=True,
            capture_output=True,
            text=True,
        ).stdout
        for seed, epoch in (("1", "1000000000"), ("2", "1700000000"))
    }
    assert len(digests) == 1
