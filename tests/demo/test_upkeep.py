"""What the demo's first location has in its registers, and what is due there."""

from api.registers.due import due_rows
from tests.demo.conftest import NOW


def test_eyewear_keys_and_a_meter_are_registered_and_seen_at_the_inventory(demo):
    eyewear = {one["label"]: one for one in demo.documents("eyewear")}
    # By the fixtures: three pieces for each of two rooms, of which one was not found and retired.
    assert {label for label, one in eyewear.items() if one["status"] == "retired"} == {"Goggles 6"}
    assert len(eyewear) == 6
    assert {one["room_id"] for one in eyewear.values()} == {"room-1", "room-2"}
    [inventory] = demo.documents("inventory")
    # Two lasers, four handpieces and tips, six pieces of eyewear, two keys and a meter.
    assert len(inventory["items"]) == 15
    assert [one["label"] for one in inventory["items"] if not one["seen"]] == ["Goggles 6"]
    [moved] = [one for one in demo.documents("key") if one.get("movements")]
    assert moved["movements"][0]["direction"] == "out"


def test_power_was_checked_with_the_meter_of_the_register(demo):
    [meter] = demo.documents("meter")
    used = {
        (one["meter"]["serial"], one["meter"]["calibrated_on"])
        for one in demo.documents("verification")
    }
    assert used == {(meter["serial"], meter["calibrated_on"])}


def test_a_weekly_list_is_overdue_and_a_service_due_soon(demo):
    kinds = ("eyewear", "meter", "inventory", "location", "device", "device_check", "list")
    kinds += ("verification", "maintenance", "person")
    documents = {kind: demo.documents(kind) for kind in kinds}
    rows = due_rows(documents, NOW, "America/Chicago")
    lasers = {one["device_id"]: one["model"] for one in documents["device"]}
    about = {(one.what, lasers.get(one.subject_id), one.state) for one in rows}
    # By hand from the fixtures, on Wednesday 25 November 2026. The waveguide's last weekly list is
    # of the 13th, so due on the 20th; the arm's of the 20th is due on the 27th, more than the
    # quarter of a week ahead that is called soon. 29 working days ago was 15 October: 68 days on,
    # on 22 December, the arm's service is due, which is within the 30 days that are called soon.
    assert ("weekly", "Guide Nine", "overdue") in about
    assert not [one for one in about if one[:2] == ("weekly", "Arm Twenty")]
    assert ("maintenance", "Arm Twenty", "soon") in about
    # The list after that service was answered when the practice was opened.
    assert not [one for one in about if one[0] == "after_move"]
